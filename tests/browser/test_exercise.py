"""Exercises and guesses in a real page, by the keyboard alone; what is done is there again afterwards."""

import json

import lab
from playwright.sync_api import expect

from mechlib.teaching.predictions import GUESS_FIRST
from mechlib.teaching.stuck_tape import STUCK_TAPE
from mechlib.teaching.trains import TRAINS

START, TRAIN = "00_start_here.ipynb", "02_read_a_gear_train.ipynb"


def written(jupyter) -> list[dict]:
    files = (jupyter.notebooks / "progress").glob("*.jsonl")
    return [json.loads(line) for file in files for line in file.read_text("utf-8").splitlines()]


def guesses(jupyter) -> list[dict]:
    return [each for each in written(jupyter) if "guess" in each]


def wait_until(notebook, is_written) -> None:
    """Wait until the files say so: the words can be seen a moment before the disk has them."""
    for _ in range(lab.PATIENCE_MS // 20):
        if is_written():
            return
        notebook.page.wait_for_timeout(20)
    raise AssertionError("it was not written down")


def test_an_exercise_is_answered_by_the_keyboard_alone(open_notebook, jupyter):
    lesson = open_notebook("09_get_a_stuck_tape_out_by_hand.ipynb")
    lesson.run_all()
    exercise = STUCK_TAPE[4].draw(1)
    box = lesson.widgets(f'.widget-vbox:has(> .widget-html strong:text-is("{exercise.title}"))')
    entry, radio = box.locator("input[type=text]"), box.locator("input[type=radio]")
    keys = lesson.page.keyboard
    entry.focus()
    keys.type(f"{exercise.slips[3].answers[0]:.2f}".replace(".", ","))
    options = exercise.fields[1].options
    for option in options:  # each has a stop of its own; the space bar takes it
        keys.press("Tab")
        if option == exercise.right[1]:
            keys.press("Space")
    expect(radio.nth(options.index(exercise.right[1]))).to_be_checked()
    for label in ("Check", "Hint"):
        keys.press("Tab")
        expect(box.get_by_role("button", name=label)).to_be_focused()
        keys.press("Space" if label == "Hint" else "Enter")
    expect(box.get_by_text(f"Not yet: {exercise.slips[3].feedback}")).to_be_visible()
    expect(box.get_by_text("Hint 1 of 3")).to_be_visible()
    entry.focus()
    keys.press("Control+a")
    keys.type(f"{exercise.right[0]:.1f} turns")
    keys.press("Enter")
    expect(box.get_by_text(f"Right. {exercise.because}")).to_be_visible()
    wanted = [exercise.slips[3].name, "right"]
    wait_until(
        lesson,
        lambda: [e["found"] for e in written(jupyter) if e.get("exercise") == exercise.title] == wanted,
    )
    assert lesson.faults == []


def test_what_is_asked_with_a_pairs_numbers_stands_on_the_trainers_sheet(open_notebook):
    lesson, trainer = open_notebook(TRAIN), open_notebook("21_teach_a_course.ipynb")
    lesson.run_all()
    trainer.run_all()
    drawn = TRAINS[0].draw(7)
    box = lesson.widgets(f'.widget-vbox:has(> .widget-html strong:text-is("{drawn.title}"))')
    sheet = trainer.widgets('.widget-vbox:has(pre[aria-label="answer sheet"])')
    page = "02 Read a gear train".replace(" ", "\u00a0")  # so the list writes its options
    sheet.locator("select").select_option(label=page)
    for each in (box, sheet):
        each.locator("input[type=number]").fill("7")
        each.locator("input[type=number]").press("Enter")
    expect(box.get_by_text(drawn.question)).to_be_visible()
    expect(sheet.locator("pre")).to_contain_text(drawn.question)  # line ends count as spaces
    expect(sheet.get_by_text("Page 02, 5 exercises with the numbers 7.")).to_be_visible()
    assert lesson.faults == trainer.faults == []


def test_a_guess_made_after_all_has_run_is_answered_in_the_box_and_is_there_again(
    open_notebook, chromium, jupyter
):
    lesson = lab.OpenNotebook(chromium, jupyter, TRAIN)
    lesson.run_all()
    told, keys = lesson.page.get_by_text("it came out"), lesson.page.keyboard
    expect(lesson.page.get_by_text(GUESS_FIRST).first).to_be_visible()
    assert told.count() == 0
    lesson.widgets("input[type=text]").first.focus()
    keys.type("300")
    keys.press("Enter")
    outcome = "You guessed 300 rev/min; it came out at 100 rev/min, which is 200 rev/min less."
    expect(lesson.page.locator("[role=status]").first).to_have_text(outcome)  # and no cell was run again
    choices = lesson.widgets(".widget-vbox:has(> .widget-radio)").first
    choices.locator("input[type=radio]").first.focus()
    keys.press("Space")
    for _ in ("the other choice", "the button"):
        keys.press("Tab")
    expect(choices.get_by_role("button", name="Keep my guess")).to_be_focused()
    keys.press("Enter")
    which = "You guessed “yes”; it came out as “no”, which is something else."
    expect(choices.locator("[role=status]")).to_have_text(which)
    both = [(300.0, 100.0), ("yes", "no")]
    wait_until(lesson, lambda: [(e["guess"], e.get("came")) for e in guesses(jupyter)] == both)
    lesson.close()
    again = open_notebook(TRAIN)
    again.run_all()
    expect(again.page.locator("[role=status]").first).to_have_text(outcome)
    expect(again.page.get_by_text(outcome)).to_have_count(2)  # in the box, and printed by the cell
    expect(again.widgets("input[type=text]").first).to_be_disabled()
    assert len(guesses(jupyter)) == 2  # once each
    assert again.faults == []


def test_the_start_page_shows_what_is_done_and_takes_a_name(open_notebook, jupyter):
    lesson = open_notebook(TRAIN)
    lesson.run_all()
    exercise = TRAINS[1].draw(1)
    box = lesson.widgets(f'.widget-vbox:has(> .widget-html strong:text-is("{exercise.title}"))')
    box.locator("input[type=text]").focus()
    lesson.page.keyboard.type(f"{exercise.right[0]:.1f}")
    lesson.page.keyboard.press("Enter")
    expect(box.get_by_text(f"Right. {exercise.because}")).to_be_visible()
    wait_until(lesson, lambda: any(e.get("exercise") == exercise.title for e in written(jupyter)))
    start = open_notebook(START)
    start.run_all()
    row = start.widgets("table tr").filter(has_text="Read a gear train")
    expect(row).to_contain_text("1 of 5")
    start.widgets("input[type=text]").first.focus()
    start.page.keyboard.type("Ann")
    start.page.keyboard.press("Tab")
    start.page.keyboard.press("Enter")
    expect(start.page.get_by_text("From now on you are “Ann” here.")).to_be_visible()
    expect(row).to_contain_text("0 of 5")
    box.locator("input[type=text]").focus()
    lesson.page.keyboard.press("Enter")  # the other kernel goes by the new name
    wait_until(lesson, lambda: any(each["reader"] == "Ann" for each in written(jupyter)))
    start.page.get_by_role("button", name="Look again").press("Enter")
    expect(row).to_contain_text("1 of 5")
    (jupyter.notebooks / "progress" / "name.txt").unlink()
    assert start.faults == lesson.faults == []
