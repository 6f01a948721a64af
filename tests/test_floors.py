"""The plan of the house: what stands where, what may import what, and how large a piece may grow."""

from __future__ import annotations

import ast
import json
import subprocess
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
MODULES = sorted((ROOT / "mechlib").rglob("*.py"))
SOURCES = MODULES + sorted((ROOT / "tests").rglob("*.py"))
AT_THE_TOP = {"README.md", "DEVELOPERS.md", "requirements.txt", "notebooks", "mechlib", "tests", "figures"}

# A room imports from lower floors only; on the ground floor each from those that stand before it.
FLOORS = {
    **{"errors": 0, "say": 0.1, "ranges": 0.2, "handbook": 0.3, "units": 0.4},
    **{"gears": 1, "cams": 1, "drives": 1},
    **{"transports": 2, "bench": 3, "draw": 4, "teaching": 4, "panels": 5},
}
# Besides Python itself and numpy a room imports only what is named here.
LIBRARIES = {
    "draw": {"matplotlib", "PIL", "isal"},
    "panels": {"matplotlib", "PIL", "ipywidgets", "traitlets", "IPython"},
}
# The modules in which a formula is derived or shown: they alone may import sympy.
DERIVATIONS: set[str] = set()

HEAVY = {"matplotlib", "sympy", "ipywidgets", "PIL", "scipy"}

MOST_LINES_IN_A_FILE = 300
MOST_LINES_IN_A_FUNCTION = 40
FUNCTIONS = (ast.FunctionDef, ast.AsyncFunctionDef)
# What may be longer: {"tests/test_x.py" or "mechlib/x.py:function": "the reason"}.
LONGER: dict[str, str] = {}


def name_of(path: Path) -> str:
    """Return mechlib.cams.laws for mechlib/cams/laws.py, mechlib.cams for its __init__.py."""
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


parsed = cache(ast.parse)


@pytest.fixture(scope="module", autouse=True)
def parsed_for_this_module():
    """All the trees together take 200 MB."""
    yield
    parsed.cache_clear()


def imports(source: str, name: str, is_package: bool) -> set[str]:
    """Return the full names of all modules that a source imports, also inside functions and by name."""
    found = set()
    package = name.split(".") if is_package else name.split(".")[:-1]
    for node in ast.walk(parsed(source)):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            base = package[: len(package) - node.level + 1] if node.level else []
            start = ".".join(base + ([node.module] if node.module else []))
            # What is taken is named too, as it may be a module: from mechlib import cams.
            found |= {f"{start}.{alias.name}" for alias in node.names}
        elif isinstance(node, ast.Call) and _called(node) in ("import_module", "__import__"):
            first = node.args[0]
            found.add(first.value if isinstance(first, ast.Constant) else "a name made up while running")
    return found


def _called(node: ast.Call) -> str:
    """The last part of the name that is called; empty where it has none."""
    return getattr(node.func, "attr", getattr(node.func, "id", ""))


def allowed(imported: str, name: str) -> bool:
    """Return whether the module ``name`` may import ``imported``."""
    room = (name.split(".") + [""])[1]
    top, other = (imported.split(".") + [""])[:2]
    if top == "mechlib":
        return bool(room) and (other == room or FLOORS.get(other, 9) < FLOORS.get(room, -1))
    if top == "sympy":
        return name in DERIVATIONS
    plain = {*sys.stdlib_module_names, "numpy"} | LIBRARIES.get(room, set())
    return top in plain and not imported.startswith("matplotlib.pyplot")


def wrong_imports(source: str, name: str, is_package: bool = False) -> list[str]:
    """Return the imports of a module that its floor does not allow."""
    return [imported for imported in sorted(imports(source, name, is_package)) if not allowed(imported, name)]


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_module_imports_only_what_its_floor_allows(path):
    source = path.read_text(encoding="utf-8")
    assert wrong_imports(source, name_of(path), path.name == "__init__.py") == []


@pytest.mark.parametrize(
    ("name", "source"),
    [
        ("mechlib.cams.laws", "from mechlib.transports import load"),
        ("mechlib.cams.laws", "from mechlib import bench"),
        ("mechlib.cams.laws", "from ..gears import spur"),
        ("mechlib.cams.laws", "import mechlib.gears.spur as spur"),
        ("mechlib.cams.laws", "def f():\n    import mechlib.draw"),
        ("mechlib.cams.laws", "import importlib\nimportlib.import_module('mechlib.draw')"),
        ("mechlib.teaching.exercises", "from mechlib.draw import style"),
        ("mechlib.transports.timing", "import matplotlib"),
        ("mechlib.draw.live", "import ipywidgets"),
        ("mechlib.draw.live", "from matplotlib.pyplot import figure"),
        ("mechlib.draw.live", "from matplotlib import pyplot"),
        ("mechlib.gears.planetary", "import sympy"),
        ("mechlib.gears.planetary", "from scipy.optimize import brentq"),
        ("mechlib.errors", "from mechlib.say import say"),
        ("mechlib.unplanned", "import mechlib.errors"),
        ("mechlib", "from mechlib import cams"),
    ],
)
def test_a_wrong_import_is_caught(name, source):
    assert wrong_imports(source, name) != []


def test_right_imports_are_let_through():
    source = "from __future__ import annotations\nimport numpy as np\nfrom mechlib.errors import MechError\n"
    source += "from . import laws\nfrom .laws import LAWS"
    assert wrong_imports(source, "mechlib.cams.programme") == []
    assert wrong_imports("from .laws import LAWS", "mechlib.cams", is_package=True) == []


def loaded_by(statement: str) -> set[str]:
    """Return the top names of all modules loaded after a statement in a Python of its own."""
    command = f"{statement}\nimport json, sys\nprint(json.dumps(sorted(sys.modules)))"
    run = subprocess.run([sys.executable, "-c", command], capture_output=True, text=True, check=True)
    return {name.split(".")[0] for name in json.loads(run.stdout)}


def test_import_mechlib_is_light():
    assert loaded_by("import mechlib") & {"numpy", *HEAVY} == set()
    assert "numpy" in loaded_by("import mechlib, numpy")


@pytest.mark.parametrize("room", [room for room, floor in FLOORS.items() if floor < 5])
def test_a_room_loads_no_more_than_its_floor_allows(room):
    assert loaded_by(f"import mechlib.{room}") & HEAVY <= LIBRARIES.get(room, set())


def test_what_stands_at_the_top_is_planned():
    assert {path.name for path in ROOT.iterdir() if not path.name.startswith(".")} == AT_THE_TOP


def statements(node: ast.AST) -> Iterator[ast.AST]:
    """Yield a node and every statement in it, without the expressions, which are most of a tree."""
    yield node
    for child in ast.iter_child_nodes(node):
        if isinstance(child, (ast.stmt, ast.excepthandler, ast.match_case)):
            yield from statements(child)


def apart(tree: ast.AST) -> set[int]:
    """Return the lines that don't count: docstrings, and tables of plain data given a name at the top."""
    spans = []
    for node in statements(tree):
        body = getattr(node, "body", None)
        first = body[0] if isinstance(body, list) and body else None
        documented = isinstance(node, (ast.Module, ast.ClassDef, *FUNCTIONS))
        if documented and isinstance(first, ast.Expr) and isinstance(first.value, ast.Constant):
            spans.append(first)
    for node in tree.body:
        table = isinstance(node, (ast.Assign, ast.AnnAssign)) and node.value
        if isinstance(table, (ast.Dict, ast.List, ast.Tuple, ast.Set)):
            spans.append(node)
    return {line for node in spans for line in range(node.lineno, node.end_lineno + 1)}


def too_long(source: str, name: str) -> list[str]:
    """Return what in a source is longer than planned; docstrings, data and blank lines apart."""
    tree = parsed(source)
    blank = {number for number, line in enumerate(source.splitlines(), 1) if not line.strip()}
    counted = set(range(1, len(source.splitlines()) + 1)) - blank - apart(tree)
    found = [f"{name}: {len(counted)} lines"] if len(counted) > MOST_LINES_IN_A_FILE else []
    for node in statements(tree):
        if isinstance(node, FUNCTIONS):
            lines = len(counted & set(range(node.lineno, node.end_lineno + 1)))
            if lines > MOST_LINES_IN_A_FUNCTION:
                found.append(f"{name}:{node.name}: {lines} lines")
    return [one for one in found if not LONGER.get(one.rsplit(":", 1)[0])]


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: str(path.relative_to(ROOT)))
def test_file_and_functions_are_short(path):
    assert too_long(path.read_text(encoding="utf-8"), str(path.relative_to(ROOT))) == []


def test_a_long_function_is_caught_and_words_and_data_are_not_counted():
    words = '    """Say.\n' + "    more\n" * 400 + '    """\n\n'
    data = "TABLE = [\n" + "    1,\n" * 400 + "]\n"
    function = "def f():\n" + words + "    x = 1\n"
    assert too_long(data + function * 5, "a.py") == []
    assert too_long(data + function + "    x = 1\n" * 39, "a.py") == ["a.py:f: 41 lines"]
    assert too_long(function * 151, "a.py") == ["a.py: 302 lines"]
    deep = "try:\n    pass\nexcept OSError:\n    class A:\n        def f():\n" + "            x = 1\n" * 40
    assert too_long(deep, "a.py") == ["a.py:f: 41 lines"]


def test_code_is_tidy():
    ruff = [sys.executable, "-m", "ruff", "check", "--no-cache", "--output-format=concise", str(ROOT)]
    run = subprocess.run(ruff, capture_output=True, text=True)
    assert run.returncode == 0, run.stdout + run.stderr
