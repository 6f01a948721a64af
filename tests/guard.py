"""A guard in a Python process: nothing leaves the machine, nothing is written but where it may be.

Python tells its audit hooks of every connection and every file that it opens, from whatever library; a hook
that raises stops it.  Tests run under this guard, and so do the kernels of the notebooks: see conftest.py.
"""

from __future__ import annotations

import os
import sys
import tempfile
from ipaddress import ip_address
from pathlib import Path

ROOT = str(Path(__file__).resolve().parents[1])
WRITES = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC | os.O_APPEND
CONNECTS = ("socket.connect", "socket.sendto")
RESOLVES = ("socket.getaddrinfo", "socket.gethostbyname")
STARTUP = """
import sys

sys.path.append({tests!r})
import guard

guard.watch({folders!r})
"""


def is_loopback(host) -> bool:
    """Whether an address stays on this machine; a name that must be looked up elsewhere doesn't.

    >>> [is_loopback(host) for host in ("127.0.0.1", "::1", "localhost", None, "192.0.2.1", "example.org")]
    [True, True, True, True, False, False]
    """
    if host in (None, "", "localhost"):
        return True
    try:
        return ip_address(host).is_loopback
    except ValueError:
        return False


def writes(mode, flags) -> bool:
    """Whether a file is opened to be changed.

    >>> writes("r", 0), writes("w", 0), writes(None, os.O_WRONLY), writes("rb+", 0)
    (False, True, True, True)
    """
    return bool(set("wax+") & set(mode)) if isinstance(mode, str) else bool((flags or 0) & WRITES)


def trespass(event: str, arguments: tuple, folders: tuple[str, ...]) -> str:
    """Words for what must not be done; empty where all is well."""
    if event in CONNECTS and isinstance(arguments[1], tuple) and not is_loopback(arguments[1][0]):
        return f"a connection to {arguments[1][0]}"
    if event in RESOLVES and not is_loopback(arguments[0]):
        return f"looking up {arguments[0]}"
    if event == "open" and isinstance(arguments[0], (str, bytes)) and writes(*arguments[1:]):
        path = os.path.abspath(os.fsdecode(arguments[0]))
        if "__pycache__" not in path and not within(path, folders):
            return f"writing {path}"
    return ""


def within(path: str, folders: tuple[str, ...]) -> bool:
    """Whether a path lies in one of these folders; in the project only folders of the project count.

    A copy of the project may itself lie among the temporary files.

    >>> within("/elsewhere/a.txt", ("/elsewhere",)), within(f"{ROOT}/a.txt", (ROOT[:1],))
    (True, False)
    """
    at, root = Path(path), Path(ROOT)
    around = [Path(folder) for folder in folders if at.is_relative_to(folder)]
    return any(not at.is_relative_to(root) or folder.is_relative_to(root) for folder in around)


def may_be_written() -> tuple[str, ...]:
    """Temporary files, devices, and the cache in which matplotlib keeps its list of fonts."""
    home = Path.home()
    kept = (tempfile.gettempdir(), "/dev", home / ".cache" / "matplotlib", home / ".config" / "matplotlib")
    return tuple(map(str, kept))


def watch(folders: tuple[str, ...] = ()) -> None:
    """From now on this process refuses connections beyond loopback and writing outside these folders."""
    allowed = (*may_be_written(), *folders)

    def hook(event: str, arguments: tuple) -> None:
        if wrong := trespass(event, arguments, allowed):
            raise PermissionError(f"not allowed here: {wrong}")

    sys.addaudithook(hook)


def kernel_profile() -> str:
    """A folder of IPython's whose start-up file puts every kernel under the guard; for IPYTHONDIR."""
    folder = Path(tempfile.mkdtemp(prefix="guarded-"))
    startup = folder / "profile_default" / "startup"
    startup.mkdir(parents=True)
    words = STARTUP.format(tests=str(Path(__file__).parent), folders=(str(folder),))
    (startup / "00_watch.py").write_text(words, encoding="utf-8")
    return str(folder)
