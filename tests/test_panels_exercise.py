"""The boxes for exercises and guesses, used as the page uses them."""

import asyncio
import dataclasses

import pytest

from mechlib.errors import MechError
from mechlib.panels import exercise as room
from mechlib.panels.exercise import ExerciseBox, PredictBox, exercise_box, predict_box
from mechlib.teaching import Prediction
from mechlib.teaching.predictions import GUESS_FIRST
from mechlib.teaching.progress import Progress
from mechlib.teaching.slipped_tooth import CHART_SHIFT, DOES_IT_STAND, SLIPPED_TOOTH

VIEW = "application/vnd.jupyter.widget-view+json"


def fill(box, answers):
    for control, answer in zip(box.controls.values(), answers, strict=True):
        control.value = answer if isinstance(answer, str) else f"{answer:.2f}"


def shown(box) -> str:
    """The line of words, without its mark-up."""
    return box.words.value.removeprefix('<div role="status" aria-live="polite">').removesuffix("</div>")


def press_enter(widget):
    """What the page sends for Enter in a text box."""
    widget._handle_custom_msg({"event": "submit"}, [])


@pytest.mark.parametrize("exercise", SLIPPED_TOOTH, ids=lambda exercise: exercise.title)
def test_right_and_slips_are_told_in_words(exercise):
    box = exercise_box(exercise, seed=4)
    drawn = exercise.draw(4)
    assert box.drawn == drawn
    for answers, begins in [(drawn.right, "Right. "), *((slip.answers, "Not yet: ") for slip in drawn.slips)]:
        fill(box, [drawn.right[at] if entry is None else entry for at, entry in enumerate(answers)])
        box.check_button.click()
        assert shown(box).startswith(begins)
    assert box.error is None


def test_text_form_is_the_question_and_comes_with_the_view():
    box = exercise_box(CHART_SHIFT, seed=3)
    bundle = box._repr_mimebundle_()
    assert bundle["text/plain"] == repr(box) == CHART_SHIFT.draw(3).question
    assert bundle[VIEW]["model_id"] == box.model_id
    assert CHART_SHIFT.draw(3).question in box.question.value
    assert str(box.controls["Shift"].description) == "Shift (°)"
    with pytest.raises(MechError, match="seed"):
        exercise_box(CHART_SHIFT, seed=-1)


def test_new_numbers_clear_what_belonged_to_the_old_ones():
    box = exercise_box(DOES_IT_STAND, seed=1)
    fill(box, box.drawn.right)
    box.check_button.click()
    box.hint_button.click()
    box.new_button.click()
    assert box.text == DOES_IT_STAND.draw(2).question
    assert [control.value for control in box.controls.values()] == ["", None]
    assert (box.words.value, box.hint.value) == ("", "")
    box.check_button.click()
    assert "nothing is filled in here yet" in shown(box)
    box.hint_button.click()
    assert "Hint 1 of 3" in box.hint.value


def test_hints_come_one_by_one_and_then_again():
    box = exercise_box(CHART_SHIFT)
    for at in (1, 2, 3, 1):
        box.hint_button.click()
        assert f"Hint {at} of 3: " in box.hint.value
        assert box.hint.value.count("Hint") == 1


def acted_before_it_is_typed(make, act, type_in, sight):
    """The box once it has acted on what came only after Enter or the button; ``sight``: what changes."""

    async def page():
        box = make()
        before = sight(box)
        act(box)
        type_in(box)  # the page's next message
        assert sight(box) == before
        async with asyncio.timeout(60):
            while sight(box) == before:
                await asyncio.sleep(0)
        return box

    return asyncio.run(page())


def test_enter_checks_and_leaving_the_box_does_not():
    box = exercise_box(CHART_SHIFT)
    fill(box, box.drawn.right)
    assert box.words.value == ""
    press_enter(box.controls["Shift"])
    assert shown(box).startswith("Right.")
    assert not box.controls["Shift"].continuous_update  # the value is sent before a button's message


@pytest.mark.parametrize(
    "act",
    [lambda box: press_enter(box.controls["Shift"]), lambda box: box.check_button.click()],
    ids=["Enter", "Check"],
)
def test_enter_and_check_wait_for_the_value_that_follows_them(monkeypatch, act):
    monkeypatch.setattr(room, "SETTLE_S", 0)
    box = acted_before_it_is_typed(
        lambda: exercise_box(CHART_SHIFT), act, lambda box: fill(box, box.drawn.right), shown
    )
    assert shown(box).startswith("Right.")


def test_what_is_typed_is_shown_as_text_not_as_mark_up():
    box = exercise_box(CHART_SHIFT)
    box.controls["Shift"].value = "<b onclick=x>"
    box.check_button.click()
    assert "&lt;b onclick=x&gt;" in box.words.value and "<b" not in box.words.value
    assert "1 &lt; 2" in predict_box(Prediction("1 < 2?", ("yes", "no"))).children[0].value
    assert "1 &lt; 2" in exercise_box(dataclasses.replace(CHART_SHIFT, title="1 < 2")).children[0].value


def test_a_fault_of_our_own_is_shown_and_kept(monkeypatch):
    box, guess = exercise_box(CHART_SHIFT), predict_box(Prediction("Which way?", ("earlier", "later")))
    monkeypatch.setattr(type(box.drawn), "check", lambda *_: 1 / 0)
    monkeypatch.setattr(Prediction, "committed", lambda *_: 1 / 0)
    box.check_button.click()
    guess.keep_button.click()
    for each in (box, guess):
        assert isinstance(each.error, ZeroDivisionError)
        assert "ZeroDivisionError" in shown(each)


def test_a_guess_is_kept_and_later_set_beside_what_happened():
    box = predict_box(Prediction("How far does the row move?", unit="°"))
    assert box._repr_mimebundle_()["text/plain"] == "How far does the row move?"
    assert list(box.controls) == ["Your guess"] and box.input.description == "Your guess (°)"
    box.input.value = "a bit"
    press_enter(box.input)
    assert shown(box).startswith("Not kept: ") and not box.input.disabled
    box.input.value = "6"
    press_enter(box.input)
    assert shown(box) == "Kept. How far does the row move? Your guess: 6.0°."
    assert box.input.disabled and box.keep_button.disabled and box.error is None
    sentence = box.compare(-7.5)
    assert sentence == shown(box) == "You guessed 6.0°; it came out at −7.5°, which is 13.5° less."


def test_a_guess_among_choices_starts_with_none_chosen():
    box = predict_box(Prediction("Which way?", ("earlier", "later")))
    assert box.input.value is None
    box.keep_button.click()
    assert "nothing is chosen here yet" in shown(box)
    assert "later" not in box.compare("later") + box.words.value + box.text
    assert "nothing is chosen here yet" in shown(box)
    box.input.value = "later"
    box.keep_button.click()
    sentence = "You guessed “later”; it came out as “later”, as you thought."
    assert shown(box) == box.compare("later") == sentence


@pytest.mark.parametrize(
    "act", [lambda box: press_enter(box.input), lambda box: box.keep_button.click()], ids=["Enter", "button"]
)
def test_a_guess_after_the_whole_page_has_run_is_set_beside_the_outcome_at_once(act, tmp_path):
    asked = Prediction("How far does the row move?", unit="°")
    box = PredictBox(asked, Progress(tmp_path))
    for outcome in (-3.25, -7.5):  # the last one counts
        said = box.compare(outcome)
        assert said == GUESS_FIRST
        assert not [text for text in (said, box.text, box.words.value) if "7.5" in text or "3.25" in text]
    box.input.value = "a bit"
    act(box)
    assert shown(box).startswith("Not kept: ") and "7.5" not in shown(box)
    assert list(tmp_path.iterdir()) == []
    box.input.value = "6"
    act(box)
    sentence = "You guessed 6.0°; it came out at −7.5°, which is 13.5° less."
    assert shown(box) == box.compare(-7.5) == sentence
    assert 'role="status"' in box.words.value  # so that it is read out
    (record,) = Progress(tmp_path).read().records  # once, and with its outcome
    assert (record.question, record.guess, record.came) == (asked.question, 6.0, -7.5)
    again = PredictBox(asked, Progress(tmp_path))
    assert shown(again) == f"From before: {sentence}" and again.compare(-7.5) == sentence
    assert len(Progress(tmp_path).read().records) == 1 and box.error is None and again.error is None


def test_every_check_is_written_down(tmp_path):
    progress = Progress(tmp_path)
    box = ExerciseBox(CHART_SHIFT, 4, progress)
    box.check_button.click()
    fill(box, box.drawn.right)
    press_enter(box.controls["Shift"])
    found = [(r.lesson, r.exercise, r.seed, r.found) for r in Progress(tmp_path).read().records]
    assert found == [("slipped_tooth", CHART_SHIFT.title, 4, kind) for kind in ("empty", "right")]
    assert box.kept.value == "" and box.error is None


def test_where_nothing_can_be_written_the_reader_is_told_and_goes_on(tmp_path):
    (tmp_path / "progress").write_text("in the way")
    progress = Progress(tmp_path / "progress")
    box, guess = ExerciseBox(CHART_SHIFT, 4, progress), PredictBox(Prediction("Far?", unit="°"), progress)
    fill(box, box.drawn.right)
    box.check_button.click()
    assert shown(box).startswith("Right.") and "Not written down" in box.kept.value
    guess.input.value = "6"
    guess.keep_button.click()
    assert shown(guess).startswith("Kept.") and "Not written down" in guess.kept.value
    (tmp_path / "progress").unlink()
    fill(box, [""])  # another record, should it come within the same millisecond
    box.check_button.click()
    assert box.kept.value == "" and len(Progress(tmp_path / "progress").read().records) == 3
    assert box.error is None and guess.error is None


def test_a_guess_is_there_again_when_the_page_is_opened_anew(tmp_path):
    asked = Prediction("How far?", unit="°")
    first = PredictBox(asked, Progress(tmp_path))
    first.input.value = "6,04"
    first.keep_button.click()
    again = PredictBox(asked, Progress(tmp_path))
    assert shown(again) == "From before: How far? Your guess: 6.0°." and again.input.disabled
    assert again._repr_mimebundle_()["text/plain"] == "How far?"  # what is stored doesn't depend on it
    for _ in range(2):
        assert again.compare(-7.5) == "You guessed 6.0°; it came out at −7.5°, which is 13.5° less."
    third = PredictBox(asked, Progress(tmp_path))
    assert shown(third) == "From before: You guessed 6.0°; it came out at −7.5°, which is 13.5° less."
    third.compare(-7.5)
    assert len(Progress(tmp_path).read().records) == 2  # the same outcome is written once
    third.compare(-7.0)
    assert Progress(tmp_path).guess("How far?").came == -7.0
    changed = PredictBox(dataclasses.replace(asked, unit="", choices=("far", "near")), Progress(tmp_path))
    assert not changed.input.disabled and changed.error is None  # the question has become another


def test_without_a_guess_nothing_is_written(tmp_path):
    box = PredictBox(Prediction("How far?", unit="°"), Progress(tmp_path))
    box.compare(3)
    assert list(tmp_path.iterdir()) == []


def test_the_same_numbers_typed_are_the_same_exercise():
    box = exercise_box(CHART_SHIFT)
    assert (box.numbers.description, box.numbers.value) == ("numbers", 1)
    fill(box, box.drawn.right)
    box.numbers.value = 7
    assert box.text == exercise_box(CHART_SHIFT, seed=7).text != exercise_box(CHART_SHIFT).text
    assert box.controls["Shift"].value == "" and box.drawn.seed == 7
    box.new_button.click()
    assert (box.numbers.value, box.drawn.seed) == (8, 8) and box.error is None
    box.numbers.value = 10**9
    box.new_button.click()
    assert box.drawn.seed == 10**9 and box.error is None
