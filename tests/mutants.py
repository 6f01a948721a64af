"""Put small faults into the mathematics, one at a time, and see whether the tests notice.

    .venv/bin/python tests/mutants.py [--count 60] [--seed 1] [--jobs 2] [--only cams/laws]

A mutant is one change in the syntax tree of a module: another constant, the other sign, the other way of
comparing, + for -, and for or, min for max.  60 are drawn by seed, and each runs against the tests that bear
its module's name (mechlib/cams/laws.py: tests/test_cams_laws*.py) or, where there are none, its room's name.
A mutant that no test notices is a survivor: a hole in the tests, or a change that cannot be noticed, which
EQUIVALENT then gives a reason for.  Messages, docstrings and the reading of files are left alone, and tests
marked slow are not run: sixty times a few seconds is too long.

Python, pytest and the large libraries are loaded once; each mutant runs in a fork of that process.  The
tests that noticed mutants are then run without any, and must pass.
"""

from __future__ import annotations

import argparse
import ast
import copy
import hashlib
import os
import resource
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from functools import cache
from importlib import import_module
from importlib.machinery import SourceFileLoader
from importlib.util import spec_from_file_location
from math import ceil
from pathlib import Path
from typing import NamedTuple

import hypothesis
import pytest

TESTS = Path(__file__).resolve().parent
ROOT = TESTS.parent
ROOMS = ("gears", "cams", "drives", "transports", "bench")
READERS = ("__init__", "files", "tables", "read_")  # they read files and lay out text
PLUGIN = "_hypothesis_pytestplugin"
SECONDS = 30  # of processor time that a test may take: those that need more than a few are marked slow
# These say how close is close enough, not what is right: they and the sums with them are left alone.
TOLERANCES = {"TINY", "CLOSE", "ROUNDING", "TIE"}
LARGEST_TOLERANCE = 1e-5

# Modules without test files of their own, and those of their room in which they are tested.
TESTED_WITH = {
    "bench/checks": ("next_check", "readings"),
    "bench/observations": ("fault_finding",),
    "bench/predictions": ("fault_finding", "next_check"),
    "bench/severities": ("suspects",),
    "bench/own_asked": ("own_draft",),
    "bench/own_form": ("own_draft",),
    "bench/own_mechanism": ("own_draft",),
    "bench/own_values": ("own_draft", "own_check"),
    "bench/own_words": ("own_draft",),
    "gears/racks": ("spur", "spur_outline"),
    "transports/ahead": ("mode_change_force", "mode_change_skips", "mode_change"),
    "transports/branch_loads": ("effort", "mode_change_force", "many_tables"),
    "transports/course": ("mode_change", "hand_over", "released", "many_tables"),
    "transports/obstacle_words": ("mode_change", "hand_over"),
    "transports/bench_entries": ("bench_practice", "read_bench"),
    "transports/change_table": ("mode_change", "timing"),
    "transports/chart": ("timing",),
    "transports/checks": ("files", "files_released", "read_motors"),
    "transports/clock": ("effort", "mode_change_force"),
    "transports/decides": ("many_tables",),
    "transports/dwell_budget": ("dwell_budget", "dwell_budget_corners", "released"),
    "transports/effort": ("effort", "effort_cedar", "mode_change_force", "mode_change_skips"),
    "transports/effort_pieces": ("mode_change_force", "mode_change_skips", "effort", "many_tables"),
    "transports/ends": ("mode_change", "mode_change_force", "released", "hand_over"),
    "transports/faults": ("mode_change", "timing"),
    "transports/kept": ("many_tables",),
    "transports/leg_pieces": ("mode_change_force", "mode_change_skips", "effort", "many_tables"),
    "transports/leg_walk": ("mode_change", "mode_change_skips", "released"),
    "transports/interlocks": ("timing", "mode_change", "released"),
    "transports/model": ("timing", "mode_change", "effort", "hand_over", "read_motors"),
    "transports/outcomes": ("mode_change", "mode_change_skips", "released"),
    "transports/refit": ("alike", "mode_change"),
    "transports/release": ("released",),
    "transports/release_faults": ("released",),
    "transports/lost_drive_faults": ("lost_drive",),
    "transports/runs": ("timing", "mode_change", "mode_change_force", "released", "lost_drive", "hand_over"),
    "transports/track_loads": ("effort", "mode_change_force"),
    "transports/timing": ("timing", "mode_change", "released"),
}

# Mutants that no test can notice, and so are not run: the name under which each is listed, and the reason.
EQUIVALENT: dict[str, str] = {
    "mechlib/bench/severities.py, split_gears: abs(teeth) * pitch <= 180 -> abs(teeth) * pitch < 180 in "
    "for teeth in SPLIT_TEETH if abs(teeth) * pitch <= 180": "no mesh has a pitch of just 45°",
    "mechlib/gears/unknown_gear.py, _explaining: 6 -> 7 in round(abs(one.shift), 6)": (
        "it only says which shifts count as equal"
    ),
    "mechlib/gears/part_toothed.py, ReleasedGear.kick: 1.0 -> 2.0 in Gear(teeth, 1.0, rack)": (
        "angles are the same with any module"
    ),
    "mechlib/gears/spur.py, _Wheel._check_tip: self.half_angle(self.tip_mm / 2) <= 0 -> "
    "self.half_angle(self.tip_mm / 2) < 0 in if self.half_angle(self.tip_mm / 2) <= 0:": (
        "no tooth comes to a width of exactly nought"
    ),
    "mechlib/gears/planetary_fit.py, _roomiest_pair: ring - sun -> ring + sun in ring - sun - 4": (
        "pinions that large have less room than others and are not taken"
    ),
    "mechlib/transports/timing.py, arrival: 720 -> 721 in 0 <= read < 720": (
        "a reading beyond the seam is met a turn earlier, too, and the earlier one is taken"
    ),
}

OTHER = {
    **{ast.Add: [ast.Sub], ast.Sub: [ast.Add], ast.Mult: [ast.Div], ast.Div: [ast.Mult]},
    **{ast.And: [ast.Or], ast.Or: [ast.And], ast.Eq: [ast.NotEq], ast.NotEq: [ast.Eq]},
    **{ast.Lt: [ast.LtE, ast.GtE], ast.LtE: [ast.Lt, ast.Gt]},
    **{ast.Gt: [ast.GtE, ast.LtE], ast.GtE: [ast.Gt, ast.Lt]},
}
EDGES = (ast.Lt, ast.LtE, ast.Gt, ast.GtE)  # their first change only moves the edge itself
WORDING_CALLS = {"say", "count", "listing", "MechError"}
LIMIT_CALLS = {"check_number", "check_count"}
WORDING_FUNCTIONS = {"sentence", "sentences", "table", "__repr__", "__str__"}


class Mutant(NamedTuple):
    """A change waiting to be made: a name that outlives changes of other code, and how to make it."""

    name: str
    make: Callable[[], None]


def changed(node: ast.AST, **fields) -> ast.AST:
    """Return a copy of a node with other fields."""
    new = copy.copy(node)
    for name, value in fields.items():
        setattr(new, name, value)
    return new


def changes(node: ast.AST) -> Iterator[ast.AST]:
    """Yield what may stand in the place of a node.

    >>> [ast.unparse(new) for new in changes(ast.parse("a < b", mode="eval").body)]
    ['a <= b', 'a >= b']
    >>> [ast.unparse(new) for new in changes(ast.parse("-min(a, 2)", mode="eval").body)]
    ['min(a, 2)']
    """
    if isinstance(node, ast.Constant) and type(node.value) in (int, float):
        yield changed(node, value=node.value + 1)
    elif isinstance(node, (ast.BinOp, ast.BoolOp, ast.AugAssign)):
        yield from (changed(node, op=other()) for other in OTHER.get(type(node.op), []))
    elif isinstance(node, ast.Compare):
        near = any(is_tolerance(part) for part in ast.walk(node))  # then the edge itself can't matter
        for place, operator in enumerate(node.ops):
            for other in OTHER.get(type(operator), [])[near and type(operator) in EDGES :]:
                yield changed(node, ops=[*node.ops[:place], other(), *node.ops[place + 1 :]])
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub):
        yield node.operand
    elif isinstance(node, ast.Name) and node.id in ("min", "max"):
        yield changed(node, id="max" if node.id == "min" else "min")


def is_tolerance(node: ast.AST) -> bool:
    """Whether a node says how close is close enough."""
    if isinstance(node, ast.Constant) and type(node.value) is float:
        return 0 < node.value < LARGEST_TOLERANCE
    return isinstance(node, ast.Name) and node.id in TOLERANCES


def is_wording(node: ast.AST) -> bool:
    """Whether a node is about words, or about which values are let in, and not about the mathematics."""
    if isinstance(node, ast.Call):
        return _called(node) in WORDING_CALLS | LIMIT_CALLS
    if isinstance(node, ast.BinOp):
        return any(_is_text(side) or is_tolerance(side) for side in (node.left, node.right))
    if isinstance(node, ast.FunctionDef):
        return node.name in WORDING_FUNCTIONS
    return isinstance(node, (ast.Raise, ast.JoinedStr))


def _called(node: ast.Call) -> str:
    return ast.unparse(node.func).split(".")[-1]


def _is_text(node: ast.AST) -> bool:
    if isinstance(node, ast.Call):
        return _called(node) in WORDING_CALLS
    return isinstance(node, ast.JoinedStr) or isinstance(node, ast.Constant) and isinstance(node.value, str)


def places(node: ast.AST, inside: str = "") -> Iterator[tuple[ast.AST, ast.AST, Callable, str]]:
    """Yield, for each node below: its parent, itself, how to replace it, and the function it is in."""
    for field, value in ast.iter_fields(node):
        if field in ("annotation", "returns", "decorator_list"):
            continue
        for index, child in enumerate(value) if isinstance(value, list) else [(None, value)]:
            if not isinstance(child, ast.AST) or is_wording(child) or is_tolerance(child):
                continue

            def replace(new, field=field, index=index):
                if index is None:
                    setattr(node, field, new)
                else:
                    getattr(node, field)[index] = new

            yield node, child, replace, inside
            name = getattr(child, "name", "") if isinstance(child, (ast.FunctionDef, ast.ClassDef)) else ""
            yield from places(child, f"{inside}.{name}".strip(".") if name else inside)


def mutants(tree: ast.Module, module: str) -> Iterator[Mutant]:
    """Yield every change that can be made in a module's tree."""
    seen: dict[str, int] = {}
    for parent, child, replace, inside in places(tree):
        for new in changes(child):
            change = f"{ast.unparse(child)} -> {ast.unparse(new)}"
            name = f"{module}, {inside or 'top'}: {change} in {ast.unparse(parent).strip().splitlines()[0]}"
            seen[name] = seen.get(name, 0) + 1
            name += f" ({seen[name]})" if seen[name] > 1 else ""
            yield Mutant(name, lambda replace=replace, new=new: replace(new))


def module_of(name: str) -> Path:
    """Return the file that a mutant's name begins with."""
    return ROOT / name.split(",")[0]


def drawn(count: int, seed: int, only: str = "") -> list[str]:
    """Return the names of ``count`` mutants; while other code changes, the draw mostly stays as it is."""
    return sorted(every(only), key=lambda name: hashlib.sha256(f"{seed} {name}".encode()).hexdigest())[:count]


@cache
def every(only: str) -> list[str]:
    """Return the names of all mutants of the modules with ``only`` in their path."""
    names = []
    for room in ROOMS:
        for path in sorted((ROOT / "mechlib" / room).glob("*.py")):
            if not path.name.startswith(READERS) and only in str(path):
                tree = ast.parse(path.read_text(encoding="utf-8"))
                names += [mutant.name for mutant in mutants(tree, str(path.relative_to(ROOT)))]
    return names


def its_tests(path: Path) -> list[str]:
    """Return the test files of a module: those with its own name, else those of its room."""
    room = path.parent.name
    modules = {module.stem for module in path.parent.glob("*.py")}
    about: dict[str, str] = {}
    for test in sorted(TESTS.glob(f"test_{room}_*.py")):
        name = test.stem.removeprefix(f"test_{room}_")
        # The longest name that fits: test_gears_spur_mesh.py is about spur_mesh.py, and not about spur.py.
        fitting = (module for module in modules if f"{name}_".startswith(f"{module}_"))
        about[str(test)] = max(fitting, key=len, default="")
    if not about:
        raise RuntimeError(f"there are no tests for {path}")
    if other := TESTED_WITH.get(f"{room}/{path.stem}"):
        return [str(TESTS / f"test_{room}_{name}.py") for name in other]
    return [file for file, module in about.items() if module == path.stem] or list(about)


class MutantLoader(SourceFileLoader):
    """Loads a module with one change made in it; it also stands first among Python's finders."""

    def __init__(self, mutant: str):
        self.mutant = mutant
        path = module_of(mutant)
        super().__init__(".".join(path.relative_to(ROOT).with_suffix("").parts), str(path))

    def find_spec(self, name, path=None, target=None):
        return spec_from_file_location(name, self.path, loader=self) if name == self.name else None

    def get_code(self, fullname):
        tree = ast.parse(Path(self.path).read_text(encoding="utf-8"))
        found = mutants(tree, self.mutant.split(",")[0])
        next(mutant for mutant in found if mutant.name == self.mutant).make()
        return compile(ast.fix_missing_locations(tree), self.path, "exec")


class Pace:
    """Notes each test as it begins, and gives it its processor time: with a mutant it may never end."""

    def __init__(self, note: Path):
        self.note = note

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtest_setup(self, item):
        _file, name = item.nodeid.split("::", 1)
        self.note.write_text(f"{item.path}::{name}", encoding="utf-8")
        used = resource.getrusage(resource.RUSAGE_SELF)
        give(ceil(used.ru_utime + used.ru_stime) + SECONDS)


def give(seconds: int) -> None:
    """Let this process have so much processor time, all in all."""
    resource.setrlimit(resource.RLIMIT_CPU, (seconds, resource.RLIM_INFINITY))


def run(tests: list[str], mutant: str, note: Path) -> int:
    """Run tests in this process, with a mutant if one is named; return 0 if none failed (or all are slow)."""
    if mutant:
        sys.meta_path.insert(0, MutantLoader(mutant))
    os.environ["PYTEST_DISABLE_PLUGIN_AUTOLOAD"] = "1"  # the notebooks' plugins load slowly
    options = ["-x", "-q", "-p", PLUGIN, "-p", "no:cacheprovider", "-o", "addopts=--import-mode=importlib"]
    options += ["-W", "ignore::pytest.PytestAssertRewriteWarning"]  # hypothesis is loaded already
    options += ["-c", str(ROOT / ".pytest.ini"), "-m", "not slow", "--hypothesis-profile=first fault"]
    # One example that fails is enough, it need not be made small.
    phases = [hypothesis.Phase.explicit, hypothesis.Phase.generate]
    same = {"derandomize": True, "deadline": None, "database": None}
    hypothesis.settings.register_profile("first fault", phases=phases, **same)
    answer = pytest.main([*options, *tests], plugins=[Pace(note)])
    return 0 if answer == pytest.ExitCode.NO_TESTS_COLLECTED else answer


def forked(tests: list[str], mutant: str, note: Path) -> int:
    """Start ``run`` in a fork of this process, silent and not for ever, and return its number."""
    process = os.fork()
    if process == 0:
        give(SECONDS)
        silence = os.open(os.devnull, os.O_WRONLY)
        os.dup2(silence, 1)
        os.dup2(silence, 2)
        os.chdir(ROOT)
        os._exit(run(tests, mutant, note))
    return process


class End(NamedTuple):
    """How a piece of work ended: its place in the list, the test begun last, if any, and processor time."""

    place: int
    passed: bool
    last: str
    seconds: float


def outcomes(work: list[tuple[list[str], str]], jobs: int) -> Iterator[End]:
    """Run all the work (tests, mutant), ``jobs`` at a time, and yield how each piece ends, as it ends."""
    waiting, running = list(reversed(list(enumerate(work)))), {}
    with tempfile.TemporaryDirectory() as notes:
        while waiting or running:
            while waiting and len(running) < jobs:
                place, piece = waiting.pop()
                running[forked(*piece, Path(notes, str(place)))] = place
            process, status, used = os.wait4(-1, 0)
            note = Path(notes, str(place := running.pop(process)))
            last = note.read_text(encoding="utf-8") if note.exists() else ""
            yield End(place, status == 0, last, used.ru_utime + used.ru_stime)


def survivors(names: list[str], jobs: int) -> list[str]:
    """Run the mutants, each against its tests, and return those that no test noticed.

    Raises RuntimeError where a test that noticed one fails without it, too: nothing is learnt from that.
    """
    tests = {name: its_tests(module_of(name)) for name in names}
    found, noticed = [], []
    for number, end in enumerate(outcomes([(tests[name], name) for name in names], jobs), 1):
        name, word = names[end.place], "SURVIVED" if end.passed else "noticed "
        print(f"{number:3} {word} {end.seconds:4.1f} s {name}", flush=True)
        if end.passed:
            found.append(name)
        else:  # where not even one test began, its files can't be loaded
            noticed += [end.last] if end.last else tests[name]
    sound = [(noticed[job::jobs], "") for job in range(min(jobs, len(noticed)))]
    if failing := [end.last or sound[end.place][0] for end in outcomes(sound, jobs) if not end.passed]:
        raise RuntimeError(f"without any mutant these fail, or take more than {SECONDS} s: {failing}")
    return found


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--count", type=int, default=60, help="how many mutants")
    parser.add_argument("--seed", type=int, default=1, help="another seed draws others")
    parser.add_argument("--jobs", type=int, default=os.cpu_count() or 1, help="how many at a time")
    parser.add_argument("--only", default="", help="only modules with this in their path")
    chosen = parser.parse_args()
    for library in (PLUGIN, "numpy", "scipy.integrate", "scipy.optimize", "sympy"):
        import_module(library)  # once, before the forks

    start = time.perf_counter()
    names = drawn(chosen.count, chosen.seed, chosen.only)
    found = survivors([name for name in names if name not in EQUIVALENT], chosen.jobs)
    print(f"{len(names)} mutants, {len(found)} survived, in {time.perf_counter() - start:.0f} s")
    print(*found, sep="\n")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
