"""The settings of JupyterLab that the README's command names do what they say."""

import asyncio
import shlex
from pathlib import Path

from jupyter_server.serverapp import ServerApp
from jupyter_server.services.kernels.connection.channels import ZMQChannelsWebsocketConnection
from jupyterlab.handlers.announcements import NeverCheckForUpdate
from jupyterlab.labapp import LabApp
from traitlets.config.loader import PyFileConfigLoader

ROOT = Path(__file__).resolve().parents[1]
SETTINGS = ".jupyter_lab.py"


def settings():
    return PyFileConfigLoader(SETTINGS, path=str(ROOT)).load_config()


class Handler:
    """Stands for the server's end of the websocket, and notes what it is told."""

    def __init__(self):
        self.told = []

    def set_nodelay(self, value):
        self.told.append(value)


def test_the_link_between_page_and_kernel_sends_at_once(monkeypatch):
    link_class = ServerApp(config=settings()).kernel_websocket_connection_class
    assert issubclass(link_class, ZMQChannelsWebsocketConnection)
    monkeypatch.setattr(ZMQChannelsWebsocketConnection, "__init__", lambda self, handler: None)
    monkeypatch.setattr(ZMQChannelsWebsocketConnection, "connect", lambda self: "connected")
    monkeypatch.setattr(link_class, "websocket_handler", handler := Handler())
    assert link_class(handler).connect() == "connected"
    assert handler.told == [True]


def test_nothing_is_fetched_from_elsewhere():
    lab = LabApp(config=settings())
    assert lab.news_url is None and asyncio.run(lab.check_for_updates_class("4.0")()) is None
    assert issubclass(lab.check_for_updates_class, NeverCheckForUpdate)


def test_the_page_has_the_style_of_the_workbook():
    found = settings()
    assert LabApp(config=found).custom_css
    (folder,) = found.ServerApp.tornado_settings["static_custom_path"]
    assert Path(folder) == ROOT / ".jupyter_custom" and Path(folder, "custom.css").is_file()


def test_the_readme_names_the_settings():
    words = shlex.split((ROOT / "README.md").read_text(encoding="utf-8").replace("'", " ").replace('"', " "))
    assert f"--config={SETTINGS}" in words
