"""JupyterLab settings of the workbook: the README says `jupyter lab --config=.jupyter_lab.py`.

A slider sends many small messages to the kernel and each waits for its picture.  The web server keeps
small messages back until the last one is acknowledged, which costs about 50 ms a picture.  Sending
them at once (TCP "no delay") makes the pictures follow the hand.
"""

from jupyter_server.services.kernels.connection.channels import ZMQChannelsWebsocketConnection


class PromptConnection(ZMQChannelsWebsocketConnection):
    """The usual link between page and kernel, with no delay for small messages."""

    def connect(self):
        self.websocket_handler.set_nodelay(True)
        return super().connect()


c = get_config()  # noqa: F821  (given by Jupyter)
c.ServerApp.kernel_websocket_connection_class = PromptConnection
