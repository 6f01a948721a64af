"""The index of the start page and of the README is fresh, and leads to every page."""

import re

import nbformat
from refresh_index import README, START, index, refreshed_readme, refreshed_start
from refresh_notebooks import NOTEBOOKS

STALE = "stale index: run python tests/refresh_index.py"


def test_the_index_is_fresh():
    assert refreshed_readme(README.read_text("utf-8")) == README.read_text("utf-8"), STALE
    assert refreshed_start(START.read_text("utf-8")) == START.read_text("utf-8"), STALE


def test_both_have_it_once_and_whole():
    cells = nbformat.read(START, as_version=4).cells
    assert sum(cell.source.count(index()) for cell in cells) == 1
    assert README.read_text("utf-8").count(index("notebooks/")) == 1


def test_a_stale_index_is_seen():
    for text, refreshed in ((README, refreshed_readme), (START, refreshed_start)):
        stale = text.read_text("utf-8").replace("about 40 minutes", "about 41 minutes")
        assert stale != text.read_text("utf-8") == refreshed(stale)


def test_every_page_is_in_it_with_its_own_words():
    linked = re.findall(r"\]\(([^)]+)\)", index())
    assert sorted(linked) == sorted(path.name for path in NOTEBOOKS.glob("[0-9][0-9]_*") if path != START)
    for path in NOTEBOOKS.glob("[01][0-9]_*.ipynb"):
        if path != START:
            first = nbformat.read(path, as_version=4).cells[0].source
            (line,) = [line for line in index().splitlines() if path.name in line]
            for goal in re.findall(r"^- (.*?)[,.]?$", first, re.M):
                assert goal in line


def test_every_link_between_pages_leads_somewhere():
    for path in NOTEBOOKS.glob("*.ipynb"):
        for cell in nbformat.read(path, as_version=4).cells:
            if cell.cell_type == "markdown":
                links = re.findall(r"(?<!!)\[[^\]]*\]\(([^)#]+)\)", cell.source)
                assert not [link for link in links if not (NOTEBOOKS / link).exists()], path.name


def test_the_trainers_plan_has_every_lesson_that_it_speaks_of():
    plan = nbformat.read(NOTEBOOKS / "21_teach_a_course.ipynb", as_version=4).cells[1].source
    lessons = {path.name for path in NOTEBOOKS.glob("[01][0-9]_*.ipynb")}
    assert set(re.findall(r"\]\(([^)]+)\)", plan)) == lessons
