"""The page that the browser tests look at: one JupyterLab and one Chromium for all of them."""

import os
import shutil
from pathlib import Path

import lab
import pytest
from playwright.sync_api import expect, sync_playwright

HERE = Path(__file__).parent

expect.set_options(timeout=lab.PATIENCE_MS)


def pytest_collection_modifyitems(items):
    for item in items:
        if item.path.is_relative_to(HERE):
            item.add_marker(pytest.mark.browser)


@pytest.fixture(scope="package")  # no longer: while it is open an event loop runs, and panels wait for it
def chromium():
    """The machine's Chromium; without one the tests skip, or fail if MECHLIB_REQUIRE_BROWSER is set."""
    program = shutil.which("chromium")
    if program is None:
        missing = "no chromium on this machine: the notebooks were not looked at in a real page"
        (pytest.fail if os.environ.get("MECHLIB_REQUIRE_BROWSER") else pytest.skip)(missing)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=program, args=lab.CHROMIUM_FLAGS)
        yield browser
        browser.close()


@pytest.fixture(scope="package")
def jupyter(chromium, tmp_path_factory):
    """A JupyterLab that serves a copy of the notebooks."""
    with lab.server(tmp_path_factory.mktemp("home")) as served:
        yield served


@pytest.fixture
def open_notebook(chromium, jupyter):
    """A function that opens a notebook by its file name; what it opened is closed at the end."""
    opened = []

    def open_one(name: str) -> lab.OpenNotebook:
        opened.append(lab.OpenNotebook(chromium, jupyter, name))
        return opened[-1]

    yield open_one
    for notebook in opened:
        notebook.close()
