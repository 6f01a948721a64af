"""The trainer's plan: its hours are those that the lessons give themselves, its sections are there."""

import re

import lesson_rules
import nbformat
from test_teaching_pages import NOTEBOOKS

from mechlib.teaching.pages import FIRST_NO_LESSON, pages

PLAN = nbformat.read(NOTEBOOKS / "21_teach_a_course.ipynb", 4).cells[1].source
SESSIONS, GROUP = 10, 1.5  # two hours each, one of them at the page; how much longer a group takes


def alone_hours() -> float:
    """What the start page and the lessons give themselves, added up."""
    times = [page.time for page in pages(NOTEBOOKS) if page.number < FIRST_NO_LESSON]
    found = [re.fullmatch(r"about (\d+) (minute|hour)s?", time) for time in times]
    return sum(int(each[1]) * (60 if each[2] == "hour" else 1) for each in found) / 60


def test_the_hours_are_those_of_the_lessons():
    alone = alone_hours()
    said = [int(number) for number in re.findall(r"`(\d+)`", PLAN)]
    without_homework = (alone * GROUP + SESSIONS) / 2
    assert said == [round(alone), round(alone - SESSIONS / GROUP), round(without_homework)]
    assert abs(SESSIONS / GROUP / alone - 2 / 5) < 0.05  # two fifths are done in class


def test_every_lesson_is_planned_and_no_section_that_it_has_not():
    rows = [row for row in PLAN.splitlines() if re.match(r"\| \d+ \|", row)]
    assert len(rows) == SESSIONS
    names = {}
    for text, file in re.findall(r"\[([^\]]+)\]\((\d\d_\w+\.ipynb)\)", PLAN):
        names.setdefault(file, text)
    lessons = [page.file for page in pages(NOTEBOOKS) if page.is_lesson]
    assert set(lessons) <= set(names)
    for file in lessons:
        cells = nbformat.read(NOTEBOOKS / file, 4).cells
        prose = [cell for cell in cells if cell.cell_type == "markdown"]
        heads = [text for cell in prose for level, text in lesson_rules.headings(cell) if level == 2]
        there = {int(number[1]) for head in heads if (number := re.match(r"(\d+)\. ", head))}
        asked = re.findall(rf"{re.escape(names[file])}(?:\]\([^)]*\))?((?: \d+| to|,(?= \d)| and)+)", PLAN)
        numbers = {int(number) for part in asked for number in re.findall(r"\d+", part)}
        assert numbers <= there, (file, numbers)
        assert numbers or file[:2] in ("11", "14")  # these two are given out whole
