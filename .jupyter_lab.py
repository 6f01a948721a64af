"""JupyterLab settings of the workbook: the README says `jupyter lab --config=.jupyter_lab.py`.

A slider sends many small messages to the kernel and each waits for its picture.  The web server keeps
small messages back until the last one is acknowledged, which costs about 50 ms a picture.  Sending
them at once (TCP "no delay") makes the pictures follow the hand.

Nothing is fetched from elsewhere: JupyterLab would look there for a newer version of itself, and ask in a box
over the page whether to look for news.

The folder .jupyter_custom has the page's own style: lines that a cell prints are broken between words.
"""

from pathlib import Path

from jupyter_server.services.kernels.connection.channels import ZMQChannelsWebsocketConnection


class PromptConnection(ZMQChannelsWebsocketConnection):
    """The usual link between page and kernel, with no delay for small messages."""

    def connect(self):
        self.websocket_handler.set_nodelay(True)
        return super().connect()


def without_news(handler, page_config):
    """What the page is told of itself, its part that asks for news left out."""
    left_out = page_config.setdefault("disabledExtensions", [])
    left_out.append("@jupyterlab/apputils-extension:announcements")
    return page_config


c = get_config()  # noqa: F821  (given by Jupyter)
c.ServerApp.kernel_websocket_connection_class = PromptConnection
c.ServerApp.tornado_settings = {
    "page_config_hook": without_news,
    "static_custom_path": [str(Path(__file__).resolve().parent / ".jupyter_custom")],
}
c.LabApp.custom_css = True
c.LabApp.check_for_updates_class = "jupyterlab.handlers.announcements.NeverCheckForUpdate"
c.LabApp.news_url = None
