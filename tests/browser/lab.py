"""A JupyterLab of the tests' own, and a notebook opened in it in a real page.

Nothing here waits by the clock: each step waits for what it needs (a kernel at rest, a new picture).
"""

from __future__ import annotations

import os
import re
import secrets
import shutil
import socket
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import NamedTuple
from urllib.parse import urlsplit

ROOT = Path(__file__).resolve().parents[2]
PATIENCE_MS = 60_000  # for a loaded machine; a step that takes this long has failed
CHROMIUM_FLAGS = [
    *("--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-sync"),
    *("--disable-background-networking", "--disable-component-update"),
    # Nothing outside is reached.  (To ask of each request would stop it, too, but then nothing is kept.)
    "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1, EXCLUDE localhost",
]
PAGE_PX = {"width": 1280, "height": 1400}
NOTICE = ".Toastify__toast"  # a box over the page, in which JupyterLab tells or asks something
# Asked and done in the page, of the application itself: menus come and go, these do not.
IS_FREE = """() => window.jupyterapp?.shell !== undefined
    && ![...window.jupyterapp.shell.widgets('main')].some(each => each.sessionContext)"""
OPEN = "path => window.jupyterapp.commands.execute('docmanager:open', {path}).then(() => true)"
HAS_NOTEBOOK = "() => window.jupyterapp?.shell?.currentWidget?.sessionContext !== undefined"
READY = """async () => {
    const panel = window.jupyterapp.shell.currentWidget;
    await window.jupyterapp.restored;
    await panel.context.ready;
    await panel.sessionContext.ready;
    return true;
}"""
RUN_ALL = "() => window.jupyterapp.commands.execute('notebook:run-all-cells').then(() => true, () => true)"
AT_REST = """() => window.jupyterapp.shell.currentWidget.sessionContext.session.kernel.status === 'idle'
    && [...document.images].every(picture => picture.complete)"""
CUT_OFF = "label => label.scrollWidth > label.clientWidth"
SHUT_DOWN = """async () => {
    const panel = window.jupyterapp.shell.currentWidget;
    await panel.sessionContext.shutdown();
    panel.dispose();  // unasked whether to save
    return true;
}"""
CODE_CELLS = """() => window.jupyterapp.shell.currentWidget.content.widgets
    .filter(cell => cell.model.type === 'code')
    .map(cell => ({count: cell.model.executionCount, outputs: cell.model.outputs.toJSON()}))"""


class Served(NamedTuple):
    """Where the server answers, its token, and the folder of the notebooks that it serves."""

    address: str
    token: str
    notebooks: Path


@contextmanager
def server(home: Path) -> Iterator[Served]:
    """Serve a copy of the notebooks and their figures with the settings of the README's command.

    Home and all folders of Jupyter are inside ``home``, so that nothing of the user's is read or changed.
    """
    for folder in ("notebooks", "figures"):
        shutil.copytree(ROOT / folder, home / folder, ignore=shutil.ignore_patterns(".*", "progress"))
    places = {f"JUPYTER_{name}": home / name.lower() for name in ("CONFIG_DIR", "DATA_DIR", "RUNTIME_DIR")}
    places |= {f"JUPYTERLAB_{name}_DIR": home / f"lab_{name.lower()}" for name in ("SETTINGS", "WORKSPACES")}
    places |= {"HOME": home, "IPYTHONDIR": home / "ipython"}
    token = secrets.token_hex(16)
    command = [
        *(sys.executable, "-m", "jupyterlab", f"--config={ROOT / '.jupyter_lab.py'}"),
        *("--no-browser", "--allow-root", "--ServerApp.ip=127.0.0.1", "--ServerApp.port=0"),
        *(f"--ServerApp.root_dir={home}", f"--IdentityProvider.token={token}"),
        *("--LabApp.expose_app_in_browser=True", "--LabApp.extension_manager=readonly"),
    ]
    environment = os.environ | {name: str(place) for name, place in places.items()}
    environment.pop("PYTHONWARNINGS", None)  # strict in the kernels of the notebook tests, not in the server
    environment.pop("MECHLIB_PROGRESS", None)  # in this copy progress is written down
    with subprocess.Popen(command, stderr=subprocess.PIPE, text=True, env=environment, cwd=home) as process:
        # The rest of the log must be read, or the server would stand still when the pipe is full.
        reader = threading.Thread(target=process.stderr.read)
        try:
            address = _address(process.stderr)
            reader.start()
            _wait_until_it_listens(process, address)
            yield Served(address, token, home / "notebooks")
        finally:
            process.terminate()
            if reader.is_alive():
                reader.join()


def _address(log) -> str:
    """Read the server's log up to the line with its address."""
    read = []
    for line in log:
        read.append(line)
        if found := re.search(r"http://127\.0\.0\.1:\d+", line):
            return found[0]
    raise RuntimeError("JupyterLab did not start:\n" + "".join(read))


def _wait_until_it_listens(process: subprocess.Popen, address: str) -> None:
    """Knock until the door opens: the server tells its address a moment before it listens there."""
    parts = urlsplit(address)
    while True:
        try:
            socket.create_connection((parts.hostname, parts.port)).close()
            return
        except ConnectionRefusedError:
            with suppress(subprocess.TimeoutExpired):
                raise RuntimeError(f"JupyterLab has ended with code {process.wait(timeout=0.02)}") from None


def is_local(url: str) -> bool:
    """Whether a request stays on this machine.

    >>> is_local("http://127.0.0.1:8888/lab"), is_local("data:image/png;base64,")
    (True, True)
    >>> is_local("https://example.org/"), is_local("wss://127.0.0.1.example.org/")
    (False, False)
    """
    parts = urlsplit(url)
    return parts.scheme in ("data", "blob", "about") or parts.hostname in ("127.0.0.1", "localhost", "::1")


class OpenNotebook:
    """A notebook in a page: run it, move its sliders by keyboard, read its words, look for faults.

    To load JupyterLab takes longer than most notebooks do: a page in which one was closed takes the next.
    """

    def __init__(self, browser, served: Served, name: str):
        self.served, self.faults = served, []
        pages = [context.pages[0] for context in browser.contexts]  # two in one context would hide each other
        free = [page for page in pages if page.evaluate(IS_FREE)]
        self.page = free[0] if free else browser.new_page(viewport=PAGE_PX)
        self.page.set_default_timeout(PATIENCE_MS)
        self._listeners = {
            "pageerror": lambda error: self.faults.append(f"error in the page: {error}"),
            "console": self._said,
            "websocket": lambda socket: self._asked(socket.url),
            "request": lambda request: self._asked(request.url),
        }
        for event, listener in self._listeners.items():
            self.page.on(event, listener)
        if free:
            self._wait(OPEN, f"notebooks/{name}")
        else:
            self.page.goto(f"{served.address}/doc/tree/notebooks/{name}?token={served.token}&reset")
        self._wait(HAS_NOTEBOOK)
        self._wait(READY)

    def _said(self, message) -> None:
        if message.type == "error":
            self.faults.append(f"error on the console: {message.text} ({message.location.get('url')})")

    def _asked(self, url: str) -> None:
        if not is_local(url):
            self.faults.append(f"asked for something from outside: {url}")

    def _wait(self, question: str, argument=None) -> None:
        """Wait until the page answers yes; unlike ``evaluate`` this gives up when patience ends."""
        self.page.wait_for_function(question, arg=argument)

    def run_all(self) -> None:
        """Run every cell and wait until the kernel is at rest; what went wrong is added to the faults."""
        self._wait(RUN_ALL)
        self.come_to_rest()
        for number, cell in enumerate(self.page.evaluate(CODE_CELLS), 1):
            if not cell["count"]:
                self.faults.append(f"code cell {number} was not run")
            for output in cell["outputs"]:
                if output["output_type"] == "error":
                    self.faults.append(f"code cell {number}: {output['ename']}: {output['evalue']}")
                if output.get("name") == "stderr":
                    self.faults.append(f"code cell {number}, on the error stream: {output['text']}")
        notices = self.page.locator(NOTICE).all_inner_texts()
        self.faults += [f"a notice stands over the page: {words}" for words in notices]

    def come_to_rest(self) -> None:
        """Wait until the kernel has done all that it was asked, and every picture is there."""
        self._wait(AT_REST)

    def widgets(self, selector: str):
        """Return what the selector finds in the outputs of the notebook, once there is at least one."""
        found = self.page.locator(f".jp-OutputArea-output {selector}")
        found.first.wait_for(state="attached")
        return found

    def slider(self, label: str):
        """Return the handle of the slider with a label."""
        row = self.page.locator(".jp-OutputArea-output .widget-slider").filter(has_text=label)
        return row.locator(".noUi-handle").first

    def move(self, slider, key: str, picture) -> None:
        """Press a key on a slider's handle and wait until the picture is another.

        The words can come a moment later, and a sharper picture after that: wait for words with
        ``expect(...).to_have_text(...)``.
        """
        before = picture.get_attribute("src")
        slider.focus()
        slider.press(key)
        self._wait("([picture, before]) => picture.src !== before", [picture.element_handle(), before])

    def screenshot(self, path: Path) -> None:
        self.page.screenshot(path=path)

    def close(self) -> None:
        """End the notebook's kernel and close the notebook; its page is free for another."""
        for event, listener in self._listeners.items():
            self.page.remove_listener(event, listener)
        self._wait(SHUT_DOWN)
