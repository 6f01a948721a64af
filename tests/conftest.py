"""Settings that all tests share."""

import os
import shutil
import sys
from pathlib import Path

import guard
import pytest
from hypothesis import settings
from share import share, times
from strictness import KERNEL_WARNINGS

collect_ignore = ["benchmarks"]  # scripts, run by hand; one of them is read by another program

# Kernels started by the notebook tests inherit these.
os.environ["PYTHONWARNINGS"] = KERNEL_WARNINGS
# Nothing that a test does is written down as a reader's progress, nor is a developer's own read.
os.environ["MECHLIB_PROGRESS"] = "off"
os.environ["IPYTHONDIR"] = guard.kernel_profile()
ROOT = Path(__file__).resolve().parents[1]
guard.watch((str(ROOT / ".pytest_cache"), str(ROOT / "pytest-cache-files")))  # pytest's own, if switched on

# The same examples on every run and every machine; no database on disk, no wall-clock limit.
examples = times(12, settings.default.max_examples)
settings.register_profile("steady", derandomize=True, deadline=None, database=None, max_examples=examples)
settings.load_profile("steady")


def pytest_collection_modifyitems(config, items):
    """Of tests marked few(n) leave n sets of parameters, always the same, unless all are to run."""
    sets: dict = {}
    for item in items:
        if mark := item.get_closest_marker("few"):
            sets.setdefault((item.path, item.originalname, *mark.args), []).append(item)
    out = {item for (*_, few), each in sets.items() for item in set(each) - set(share(each, few))}
    if out:
        config.hook.pytest_deselected(items=[item for item in items if item in out])
        items[:] = [item for item in items if item not in out]


@pytest.fixture(scope="module", autouse=True)
def kept_for_a_module():
    """What is kept for thousands of machines would fill the memory of a worker that runs every test."""
    yield
    if kept := sys.modules.get("mechlib.transports.kept"):
        kept.Kept.forget_all()


def pytest_unconfigure():
    shutil.rmtree(os.environ["IPYTHONDIR"], ignore_errors=True)
