"""Every exercise and every guess of every notebook is found here by itself: no new lesson is forgotten.

The sets are read off the notebooks' own code.  Each must have a test of its own that works every answer and
every slip out a second way and keeps the rules of exercise_rules.py over 200 seeds.
"""

import ast
import importlib
import json
import re
from collections import Counter
from pathlib import Path

import pytest

from mechlib.teaching import Exercise, Number, OneOf
from mechlib.teaching.pages import page_of, pages
from mechlib.teaching.records import Check, Guess

TESTS = Path(__file__).parent
NOTEBOOKS = TESTS.parent / "notebooks"
PAGES = pages(NOTEBOOKS)
SET = re.compile(r"^from (mechlib\.teaching\.(\w+)) import ([A-Z][A-Z_]+)$", re.M)
SHOWN = re.compile(r"\bexercise_box\((\w+)\[(\d+)\]")


def code_of(file: str) -> list[str]:
    cells = json.loads((NOTEBOOKS / file).read_text("utf-8"))["cells"]
    return ["".join(cell["source"]) for cell in cells if cell["cell_type"] == "code"]


def sets_of(file: str) -> dict[str, tuple[str, tuple[Exercise, ...]]]:
    """The name of each set of exercises that a notebook shows, with its module and the set itself."""
    code = "\n".join(code_of(file))
    used = {name for name, _ in SHOWN.findall(code)}
    found = [(name, module, full) for full, module, name in SET.findall(code) if name in used]
    return {name: (module, vars(importlib.import_module(full))[name]) for name, module, full in found}


LESSONS = [page for page in PAGES if page.is_lesson]
SETS = [
    pytest.param(page, name, *found, id=f"{page.file[:2]} {name}")
    for page in LESSONS
    for name, found in sets_of(page.file).items()
]


@pytest.mark.parametrize("page", LESSONS, ids=lambda page: page.file)
def test_every_exercise_box_of_a_lesson_belongs_to_a_set_that_is_found_here(page):
    exercises = [len(found) for _, found in sets_of(page.file).values()]
    assert exercises and sum(exercises) == page.exercises == len(SHOWN.findall("\n".join(code_of(page.file))))


@pytest.mark.parametrize(("page", "name", "module", "exercises"), SETS)
class TestSet:
    def test_all_of_it_is_shown_in_its_order(self, page, name, module, exercises):
        shown = [int(at) for each, at in SHOWN.findall("\n".join(code_of(page.file))) if each == name]
        assert shown == list(range(len(exercises)))

    def test_its_answers_are_worked_out_a_second_way(self, page, name, module, exercises):
        text = (TESTS / f"test_teaching_{module}.py").read_text("utf-8")
        assert re.search(rf"@rules\.each_of\({name}, \w+\)\nclass \w+\(rules\.KeepsTheRules\)", text)

    def test_it_rises_from_counting_to_deciding(self, page, name, module, exercises):
        """The first ones ask for numbers only, the last ones for a decision."""
        decides = [any(isinstance(field, OneOf) for field in exercise.fields) for exercise in exercises]
        assert len(exercises) >= 4 and not decides[0] and decides[-1] and decides == sorted(decides)
        assert all(len(exercise.slips) >= 4 for exercise in exercises)

    def test_it_has_no_mark_up_since_its_box_shows_plain_text(self, page, name, module, exercises):
        for exercise in exercises:
            assert not set(repr(exercise) + repr(exercise.draw(1))) & set("*`"), exercise.title

    def test_what_is_written_down_of_it_is_known_to_be_of_this_page(self, page, name, module, exercises):
        assert len({exercise.title for exercise in exercises}) == len(exercises)
        for exercise in exercises:
            assert exercise.lesson == module, f'write part_of="{module}" into “{exercise.title}”'
            assert page_of(Check("", "", exercise.lesson, exercise.title, 1, "right"), PAGES) is page


DECIMALS = {"no": 0, "one": 1, "two": 2, "three": 3, "four": 4}


@pytest.mark.parametrize(("page", "name", "module", "exercises"), SETS)
def test_an_answer_between_two_counts_as_right_either_way(page, name, module, exercises):
    """28.75 to one decimal is 28.7 or 28.8; where no decimals are asked for, it comes out even."""
    for exercise in exercises:
        draws = [exercise.draw(seed) for seed in range(20)]
        asked = re.findall(r"(\w+) decimals?\b", draws[0].question)
        digits = max(map(DECIMALS.get, asked), default=0)
        for at, field in enumerate(exercise.fields):
            if not isinstance(field, Number):
                continue
            if not asked and "whole" not in draws[0].question:
                assert all(draw.right[at] == round(draw.right[at], 1) for draw in draws), exercise.title
            elif not field.whole:
                half = 0.5 * 10**-digits
                for below in (draw.right[at] // (2 * half) * 2 * half for draw in draws):
                    assert field.agrees(below, below + half) and field.agrees(below + 2 * half, below + half)


def questions(code: list[str]) -> list[str]:
    """The questions of a notebook's guesses; each must stand there as plain text."""
    assigned, asked = {}, []
    for statement in (statement for source in code for statement in ast.parse(source).body):
        if isinstance(statement, ast.Assign) and isinstance(statement.targets[0], ast.Name):
            assigned[statement.targets[0].id] = statement.value
        for node in ast.walk(statement):
            if isinstance(node, ast.Call) and ast.unparse(node.func) == "Prediction":
                first = node.args[0]
                asked.append((assigned[first.id] if isinstance(first, ast.Name) else first).value)
    return asked


@pytest.mark.parametrize("page", LESSONS, ids=lambda page: page.file)
def test_every_guess_is_set_beside_what_was_computed(page):
    """Each box of a guess is compared, on the same page, with something that isn't typed there."""
    boxes, compared, lists = set(), set(), set()
    for node in (node for source in code_of(page.file) for node in ast.walk(ast.parse(source))):
        if isinstance(node, ast.Assign) and "predict_box" in ast.unparse(node.value):
            boxes.add(node.targets[0].id)
        if isinstance(node, ast.Assign) and isinstance(node.value, ast.Tuple):
            lists.add(ast.unparse(node.targets[0]))
        if isinstance(node, ast.Call) and getattr(node.func, "attr", "") == "compare":
            compared.add(node.func.value.id)
            came = node.args[0]
            assert not isinstance(came, ast.Constant), ast.unparse(node)
            typed = isinstance(came, ast.Subscript) and isinstance(came.slice, ast.Constant)
            assert not typed or ast.unparse(came.value) not in lists, ast.unparse(node)
    assert boxes == compared


def test_every_guess_is_known_by_its_question_which_has_no_mark_up():
    asked = {page.file: questions(code_of(page.file)) for page in PAGES}
    for page in PAGES:
        assert len(asked[page.file]) == page.guesses
        for question in asked[page.file]:
            assert page_of(Guess("", "", question, 1.0), PAGES) is page, question
            assert not set(question) & set("*`"), question
    counted = Counter(question for each in asked.values() for question in each)
    assert max(counted.values()) == 1, "two guesses ask the same, so one would be taken for the other"
