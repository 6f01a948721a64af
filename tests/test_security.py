"""No text is run as code, nothing leaves the machine, nothing is written but the reader's own files."""

import ast
import re
import socket
import subprocess
import sys
from pathlib import Path

import guard
import pytest

ROOT = Path(__file__).resolve().parents[1]
SOURCES = sorted((ROOT / "mechlib").rglob("*.py"))
NOTEBOOKS = sorted((ROOT / "notebooks").glob("*.ipynb"))
RUNS_TEXT = {
    "eval",
    "exec",
    "compile",
    "__import__",
    "sympify",
    "parse_expr",
    "literal_eval",
    "system",
    "popen",
}
UNSAFE = {"pickle", "marshal", "shelve", "dill", "joblib", "ctypes", "subprocess", "multiprocessing"}
NETWORK = {
    "socket",
    "ssl",
    "http",
    "urllib",
    "requests",
    "ftplib",
    "smtplib",
    "xmlrpc",
    "socketserver",
    "httpx",
}
OPENS_THE_SERVER = r"token\s*=|password\s*=|disable_check_xsrf|allow_origin|\bip\s*=|allow_remote"
OF_THIS_MACHINE = [
    r"/(?:home|root|Users|work|tmp|var|opt|usr)/",
    r"\b[A-Z]:\\",
    r"site-packages",
    r"ipykernel_\d+",
    r"0x[0-9a-f]{8,}",
    re.escape(socket.gethostname()) if len(socket.gethostname()) > 5 else r"(?!)",
]


def unsafe(source: str) -> list[str]:
    """What a module calls or imports that runs text as code, unpacks objects or opens connections."""
    found = []
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Call):
            called = node.func.id if isinstance(node.func, ast.Name) else getattr(node.func, "attr", "")
            if called in RUNS_TEXT and not _is_pattern(node):
                found.append(f"line {node.lineno}: {called}()")
        if isinstance(node, (ast.Import, ast.ImportFrom)):
            names = [node.module or ""] if isinstance(node, ast.ImportFrom) else [a.name for a in node.names]
            rooms = {name.split(".")[0] for name in names} & (UNSAFE | NETWORK)
            found += [f"line {node.lineno}: import {room}" for room in sorted(rooms)]
    return found


def _is_pattern(call: ast.Call) -> bool:
    """re.compile makes a pattern of text, not code."""
    return ast.unparse(call.func) == "re.compile"


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: path.relative_to(ROOT).as_posix())
def test_module_runs_no_text_unpacks_nothing_and_opens_no_connection(path):
    assert unsafe(path.read_text(encoding="utf-8")) == []


@pytest.mark.parametrize(
    "source",
    [
        "eval('1')",
        "import pickle",
        "from urllib.request import urlopen",
        "import sympy\nsympy.sympify(text)",
        "import os\nos.system('ls')",
        "np.load(x)\nimport http.client as h",
    ],
)
def test_an_unsafe_module_is_caught(source):
    assert unsafe(source) and not unsafe("import re\nre.compile('a')\nmodel.evaluate('x')")


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.name)
def test_saved_notebook_holds_nothing_of_the_machine_that_made_it(path):
    text = re.sub(r'"image/png": "[^"]*"', "", path.read_text(encoding="utf-8"))
    assert [found[0] for pattern in OF_THIS_MACHINE for found in re.finditer(pattern, text)] == []


def test_a_fact_of_the_machine_is_caught():
    for text in ("/home/ann/a.py", "C:\\users", "<x at 0x7f00deadbeef>", "in ipykernel_4711"):
        assert any(re.search(pattern, text) for pattern in OF_THIS_MACHINE), text


def test_tests_run_under_the_guard(tmp_path):
    for attempt in (
        lambda: socket.create_connection(("192.0.2.1", 9), timeout=0.1),
        lambda: socket.getaddrinfo("example.org", 80),
        lambda: (ROOT / "mechlib" / "trespass.txt").write_text("x"),
    ):
        with pytest.raises(PermissionError, match="not allowed here"):
            attempt()
    (tmp_path / "kept.txt").write_text("own file", encoding="utf-8")
    assert not (ROOT / "mechlib" / "trespass.txt").exists()


def test_loopback_may_be_reached():
    with socket.create_server(("127.0.0.1", 0)) as server:
        socket.create_connection(server.getsockname()).close()


def test_kernels_run_under_the_guard():
    """A kernel started as the notebook tests start theirs can't reach out either."""
    started = subprocess.run(
        [sys.executable, "-m", "IPython", "--no-banner", "-c", "import guard; open('trespass.txt', 'w')"],
        capture_output=True,
        text=True,
        cwd=ROOT / "notebooks",
    )
    assert "not allowed here: writing" in started.stdout + started.stderr
    assert guard.STARTUP and not (ROOT / "notebooks" / "trespass.txt").exists()


def test_the_readers_server_keeps_its_token():
    """Neither the settings nor the README switch JupyterLab's token or its limits off."""
    for name in (".jupyter_lab.py", "README.md"):
        text = (ROOT / name).read_text(encoding="utf-8")
        assert not re.search(
            r"token\s*=|password\s*=|disable_check_xsrf|allow_origin|ip\s*=|allow_remote", text
        )
