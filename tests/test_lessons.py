"""Every notebook keeps the rules of a lesson, and every rule catches the fault that it is for."""

import copy
from pathlib import Path

import ipywidgets
import lesson_rules
import nbformat
import pytest
import quoted_numbers
from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook, new_output
from refresh_notebooks import NOTEBOOKS, canonical

from mechlib.panels.exercise import PredictBox
from mechlib.say import say
from mechlib.teaching import Prediction
from mechlib.teaching.predictions import GUESS_FIRST

LESSONS = sorted(NOTEBOOKS.glob("*.ipynb"))


def read(path: Path):
    return nbformat.read(path, as_version=4)


def test_there_is_a_start_page_and_a_lesson():
    assert NOTEBOOKS / "00_start_here.ipynb" in LESSONS
    assert len(LESSONS) > 1


@pytest.mark.parametrize("path", LESSONS, ids=lambda path: path.stem)
def test_lesson_keeps_the_rules(path):
    assert lesson_rules.faults(read(path), path) == []


@pytest.mark.parametrize("path", LESSONS, ids=lambda path: path.stem)
def test_lesson_is_stored_in_its_canonical_form(path):
    assert path.read_text(encoding="utf-8") == canonical(read(path))


def made_widgets(notebook, folder: Path, monkeypatch) -> list:
    """Run a notebook's code here, in its own folder, and return the widgets that it makes."""
    made = []
    monkeypatch.chdir(folder)
    monkeypatch.syspath_prepend(str(folder))
    ipywidgets.Widget.on_widget_constructed(made.append)
    try:
        names = {"__name__": "__main__", "display": lambda *_, **__: None}
        for cell in notebook.cells:
            if cell.cell_type == "code":
                exec(compile(cell.source, str(folder), "exec"), names)
    finally:
        ipywidgets.Widget.on_widget_constructed(None)
    return made


def unlabelled(made: list) -> list[str]:
    models = [(str(widget.trait_values().get("_model_name")), widget) for widget in made]
    labels = [widget.description for model, widget in models if model.endswith("SliderModel")]
    return [label for label in labels if not lesson_rules.label_has_unit(label)]


def guessed_before_sliding(made: list) -> bool:
    """Whether a page with sliders asks for a guess before the first of them."""
    slid = [str(widget.trait_values().get("_model_name")).endswith("SliderModel") for widget in made]
    asked = [isinstance(widget, PredictBox) for widget in made]
    return True not in slid or True in asked[: slid.index(True)]


@pytest.fixture
def outcomes(monkeypatch) -> list[str]:
    """What is set beside a guess from now on: numbers with their unit, "" for one of some choices."""
    told, compare = [], Prediction.compare

    def listened(self, actual):
        told.append("" if self.choices else say(actual, self.unit, self.digits))
        return compare(self, actual)

    monkeypatch.setattr(Prediction, "compare", listened)
    return told


@pytest.mark.few(6)
@pytest.mark.parametrize("path", LESSONS, ids=lambda path: path.stem)
def test_a_lesson_runs_asks_before_it_tells_and_its_sliders_say_their_unit(path, monkeypatch, outcomes):
    notebook = read(path)
    made = made_widgets(notebook, path.parent, monkeypatch)
    assert unlabelled(made) == []
    assert [widget.error for widget in made if getattr(widget, "error", None)] == []
    assert guessed_before_sliding(made)
    assert list(lesson_rules.given_away(notebook, outcomes)) == []


def test_a_slider_without_a_unit_is_caught(tmp_path, monkeypatch):
    source = "from ipywidgets import IntSlider\n_ = [IntSlider(description=name) for name in ('x (mm)', 'x')]"
    made = made_widgets(new_notebook(cells=[new_code_cell(source)]), tmp_path, monkeypatch)
    assert unlabelled(made) == ["x"]


def test_a_slider_before_the_first_guess_is_caught(tmp_path, monkeypatch):
    slider = "from ipywidgets import IntSlider\n_ = IntSlider(description='x (mm)')"
    box = "from mechlib.panels.exercise import predict_box\nfrom mechlib.teaching import Prediction\n"
    cells = [new_code_cell(slider), new_code_cell(box + "predict_box(Prediction('How far?', unit='mm'))")]
    for order, right in ((cells, False), (cells[::-1], True), (cells[1:], True), (cells[:1], False)):
        made = made_widgets(new_notebook(cells=order), tmp_path, monkeypatch)
        assert guessed_before_sliding(made) is right


def shown_number(source: str, text: str, count: int):
    output = new_output("stream", name="stdout", text=text)
    return new_code_cell(source, execution_count=count, outputs=[output])


def good_lesson():
    """A lesson with nothing wrong, in a folder with picture.png."""
    return new_notebook(
        cells=[
            new_markdown_cell("# Say how far it moves\n\nAbout 5 minutes; see ISO 21771, section 4.3."),
            new_markdown_cell("## Predict\n\nOne of 42 teeth: how much?\n\n![a gear](picture.png)"),
            shown_number("print(say(360 / 42, '°', 2))", "8.57°", 1),
            new_markdown_cell("It is 8.57°, about 8.6°, of 360°.\n\n## Exercises\n\n### One\n\nTry it."),
            shown_number("exercise(1)", "How many degrees?", 2),
            new_markdown_cell("## Check against the handbook\n\nBoth say the same."),
            shown_number("print(table())", "agrees", 3),
            new_markdown_cell("## What you can now do\n\nCount teeth.\n\n## Cautions\n\nUnplug it first."),
        ]
    )


def faults(notebook, folder: Path, name: str = "01_tooth.ipynb") -> list[str]:
    (folder / "picture.png").write_bytes(b"")
    return lesson_rules.faults(notebook, folder / name)


def test_a_good_lesson_has_no_fault(tmp_path):
    assert faults(good_lesson(), tmp_path) == []


def lesson_with_a_guess(above: str = "How far does it move?", shows: str = GUESS_FIRST):
    """The good lesson with a guess set beside 8.57° in cell 5; ``above``: the prose of the cell before."""
    notebook = good_lesson()
    cell = shown_number("print(guess.compare(360 / 42))", shows + "\n", 2)
    notebook.cells[3:3] = [new_markdown_cell(above), cell]
    notebook.cells[2].outputs[0].text = "42 teeth"
    notebook.cells[5].source = notebook.cells[5].source.replace("8.57°, about 8.6°, of ", "little beside ")
    for count, each in enumerate([each for each in notebook.cells if each.cell_type == "code"], 1):
        each.execution_count = count
    return notebook


def test_an_outcome_that_is_stored_or_printed_beside_it_is_caught(tmp_path):
    assert faults(lesson_with_a_guess(), tmp_path) == []
    for shows in ("You guessed 6.00°; it came out at 8.57°.", f"{GUESS_FIRST}\nIt moves by 8.57°.", ""):
        found = faults(lesson_with_a_guess(shows=shows), tmp_path)
        assert [fault for fault in found if fault.startswith("guess_first: cell 5: ")]


@pytest.mark.parametrize(
    ("above", "outcome", "gives_away"),
    [
        ("How far does it move?", "8.57°", False),
        ("By pencil it is `360 ÷ 42 = 8.57`.", "8.57°", True),
        ("It moves by 8.571° or 18.57°.", "8.57°", False),
        ("It is 9 mm thick and takes 19 turns.", "9 turns", False),
        ("It takes `9` turns.", "9 turns", True),
        ("By pencil: `1200 × 3 = 3600`.", "3600 rev/min", True),
        ("It takes 9 turns.", "9", False),
        ("It stays.", "", False),
    ],
)
def test_an_outcome_told_above_is_caught(above, outcome, gives_away):
    found = list(lesson_rules.given_away(lesson_with_a_guess(above), [outcome]))
    assert [fault.split(":")[0] for fault in found] == ["cell 4"] * gives_away


# The rule, the cell to spoil (from 0), the text there and what it becomes.
SPOILT_TEXTS = [
    ("title", 0, "# Say", "Say"),
    ("title", 1, "## Predict", "# Predict"),
    ("heading_order", 3, "### One", "#### One"),
    ("sections", 1, "## Predict", "## Guess"),
    ("sections", 3, "## Exercises", "## More"),
    ("sections", 5, "## Check against the handbook", "## Check"),
    ("sections", 7, "## Cautions", "## Care"),
    ("sections", 7, "## What you can now do", "## The end"),
    ("last_cell", 7, "Unplug it first.", "Unplug it first.\n\n## More"),
    ("prose_first", 3, None, ""),
    ("short_code", 2, None, "a = 1\n" * 6),
    ("short_code", 2, None, "# nothing but a remark"),
    ("short_code", 2, None, "%matplotlib inline"),
    ("clean_outputs", 2, "8.57°", "8.57° from /home/bench/x"),
    ("clean_outputs", 2, "8.57°", "8.57° from " + str(Path(__file__).resolve().parents[1])),
    ("clean_outputs", 2, "8.57°", "8.57° <object at 0x7f145a9f4590>"),
    ("pictures", 1, "![a gear]", "![]"),
    ("pictures", 1, "picture.png", "missing.png"),
    ("pictures", 1, "![a gear](picture.png)", '<img src="picture.png">'),
    ("compared", 2, "print", "# NBVAL_IGNORE_OUTPUT\nprint"),
    ("numbers", 3, "8.57°", "8.58°"),
    ("numbers", 3, "about 8.6°", "about 9°"),
    ("numbers", 3, "about 8.6°", "about 8.5°"),
    ("numbers", 1, "42 teeth", "43 teeth"),
    ("numbers", 1, "how much?", "is it 0.75?"),
    ("numbers", 7, "Unplug", "Wait 30 s. Unplug"),
]


@pytest.mark.parametrize(("rule", "place", "old", "new"), SPOILT_TEXTS)
def test_rule_catches_a_spoilt_text(rule, place, old, new, tmp_path):
    notebook = good_lesson()
    cell = notebook.cells[place]
    spot = cell.outputs[0] if rule == "clean_outputs" else cell
    key = "text" if rule == "clean_outputs" else "source"
    assert old is None or old in spot[key]
    spot[key] = new if old is None else spot[key].replace(old, new)
    assert {fault.split(":")[0] for fault in faults(notebook, tmp_path)} >= {rule}


def without_count(notebook):
    notebook.cells[2].execution_count = None


def without_output(notebook):
    notebook.cells[4].outputs = []


def with_error(notebook):
    notebook.cells[2].outputs.append(new_output("error", ename="MechError", evalue="", traceback=[]))


def with_error_stream(notebook):
    notebook.cells[2].outputs.append(new_output("stream", name="stderr", text="a warning"))


def with_ignoring_tag(notebook):
    notebook.cells[2].metadata["tags"] = ["nbval-ignore-output"]


def ending_in_code(notebook):
    notebook.cells.append(shown_number("print(1)", "1", 4))


def without_prose(notebook):
    del notebook.cells[5]


@pytest.mark.parametrize(
    ("rule", "spoil"),
    [
        ("outputs_stored", without_count),
        ("outputs_stored", without_output),
        ("clean_outputs", with_error),
        ("clean_outputs", with_error_stream),
        ("compared", with_ignoring_tag),
        ("last_cell", ending_in_code),
        ("prose_first", without_prose),
    ],
)
def test_rule_catches_a_spoilt_notebook(rule, spoil, tmp_path):
    notebook = good_lesson()
    spoil(notebook)
    assert {fault.split(":")[0] for fault in faults(notebook, tmp_path)} >= {rule}


def test_every_rule_is_seen_to_catch_something():
    seen = {rule for rule, *_ in SPOILT_TEXTS} | {"outputs_stored", "guess_first"}
    assert seen == {rule.__name__ for rule in lesson_rules.RULES}


def test_a_number_is_not_known_before_its_cell(tmp_path):
    notebook = good_lesson()
    notebook.cells[0].source += "\n\nIt will be 8.57°."  # the next cell shows it: right
    assert faults(notebook, tmp_path) == []
    notebook.cells.insert(1, shown_number("print('hello')", "hello", 1))
    assert any(fault.startswith("numbers: cell 1: 8.57") for fault in faults(notebook, tmp_path))


def test_a_given_number_needs_a_reason_and_a_use(tmp_path, monkeypatch):
    notebook = good_lesson()
    notebook.cells[7].source += " Wait 30 s."
    monkeypatch.setitem(quoted_numbers.GIVEN, "01_tooth.ipynb", {"30": "the time that a capacitor needs"})
    assert faults(notebook, tmp_path) == []
    assert any("without need" in fault for fault in faults(good_lesson(), tmp_path))


def test_the_start_page_needs_no_lesson_sections(tmp_path):
    page = new_notebook(cells=[new_markdown_cell("# Start here\n\nOpen the first lesson.")])
    assert faults(page, tmp_path, "00_start_here.ipynb") == []
    assert faults(page, tmp_path) != []


def test_canonical_form_drops_what_changes_from_run_to_run():
    notebook = good_lesson()
    plain = canonical(notebook)
    noisy = copy.deepcopy(notebook)
    noisy.metadata.update(widgets={"state": {}}, language_info={"name": "python", "version": "3.11.7"})
    noisy.cells[2].metadata["execution"] = {"iopub.execute_input": "2024-01-01T00:00:00Z"}
    assert canonical(noisy) == plain
    view = {"application/vnd.jupyter.widget-view+json": {"model_id": "4b1d"}, "text/plain": "8.57°"}
    noisy.cells[2].outputs = [new_output("execute_result", data=view, execution_count=1)]
    assert "4b1d" not in canonical(noisy) and "8.57°" in canonical(noisy)
    assert canonical(nbformat.reads(plain, as_version=4)) == plain
