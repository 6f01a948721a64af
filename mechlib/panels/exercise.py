"""The box for an exercise and the box for a guess; both work from the keyboard alone."""

from __future__ import annotations

import asyncio
from contextlib import suppress
from html import escape

import ipywidgets as widgets

from mechlib.errors import MechError
from mechlib.panels.base import Told, spoken
from mechlib.teaching.exercises import MOST_SEED, Exercise, OneOf
from mechlib.teaching.predictions import Prediction
from mechlib.teaching.progress import Progress, here

SETTLE_S = 0.2  # the page holds a second change back until the first is dealt with; hardly felt
_LOOK = {"style": {"description_width": "initial"}, "layout": {"width": "auto", "max_width": "40em"}}


class ExerciseBox(Told):
    """An exercise: a box or a list of choices for each field; buttons to check, for a hint, for new numbers.

    ``controls`` holds the widgets to fill in, by their labels; Enter in a box checks, as the button does.
    ``numbers`` is the box with the seed: whoever types the same there gets the same numbers.
    ``drawn`` is the exercise as it stands; the text form of the box is its question.  Each check is written
    down in ``progress`` (None: beside the page); ``kept`` says it where that can't be done.
    """

    def __init__(self, exercise: Exercise, seed: int = 1, progress: Progress | None = None):
        self.exercise, self.progress = exercise, progress or here()
        super().__init__(exercise.draw(seed).question)
        self.controls = {
            field.label: _choices(field.label, field.options)
            if isinstance(field, OneOf)
            else typed(field.label, field.unit, settled(self._check))
            for field in exercise.fields
        }
        self.question, self.hint, self.kept = widgets.HTML(), widgets.HTML(), widgets.HTML()
        self.check_button = _button(
            "Check", settled(self._check), "Judge the answer (Enter in a box does the same)"
        )
        self.hint_button = _button("Hint", self._next_hint, "Show the next hint; none gives the answer")
        self.new_button = _button("New numbers", self._renew, "The same question with other numbers")
        self.numbers = _numbers(seed)
        self.numbers.observe(self._other_numbers, "value")
        buttons = [self.check_button, *([self.hint_button] if exercise.hints else []), self.new_button]
        self.children = (
            widgets.HTML(f"<strong>{escape(exercise.title)}</strong>"),
            self.question,
            *self.controls.values(),
            widgets.HBox([*buttons, self.numbers], layout={"flex_flow": "row wrap"}),
            self.words,
            self.hint,
            self.kept,
        )
        self._ask(seed)

    def _ask(self, seed: int) -> None:
        self.drawn = self.exercise.draw(seed)
        self.text = self.drawn.question
        self.question.value = spoken(self.text)
        self.hint.value, self._hints_shown = "", 0
        self.words.value = ""
        for control in self.controls.values():
            control.value = "" if isinstance(control, widgets.Text) else None

    def _check(self) -> None:
        with self.watched():
            answers = [control.value for control in self.controls.values()]
            feedback = self.drawn.check(answers)
            self.say(feedback.sentence())
            kept = (self.exercise.lesson, self.exercise.title, self.drawn.seed, feedback.kind)
            _tell(self.kept, self.progress.checked(*kept))

    def _next_hint(self, _) -> None:
        with self.watched():
            hints = self.drawn.hints
            at = self._hints_shown % len(hints)
            self.hint.value = spoken(f"Hint {at + 1} of {len(hints)}: {hints[at]}")
            self._hints_shown += 1

    def _renew(self, _) -> None:
        self.numbers.value += 1

    def _other_numbers(self, change) -> None:
        with self.watched():
            self._ask(change["new"])


class PredictBox(Told):
    """A question to guess at before looking.  The guess is kept once, then stands beside what happened.

    What happened may be told before the guess is made, as when a whole page is run at once: the box keeps it
    to itself until then.  ``prediction`` holds the question and the guess; the text form of the box is its
    sentence.  A guess is written down in ``progress`` (None: beside the page), and stands there again when
    the page is opened anew.
    """

    def __init__(self, prediction: Prediction, progress: Progress | None = None):
        super().__init__(prediction.sentence())
        self.prediction, self.progress, self.kept = prediction, progress or here(), widgets.HTML()
        self._came: float | str | None = None  # what happened, once that is known
        self._written: float | str | None = None  # the outcome that was written down last
        label, choices = "Your guess", prediction.choices
        self.input = (
            _choices(label, choices) if choices else typed(label, prediction.unit, settled(self._keep))
        )
        self.controls = {label: self.input}
        self.keep_button = _button("Keep my guess", settled(self._keep), "Once kept it can't be changed")
        question = widgets.HTML(escape(prediction.question))
        self.children = (question, self.input, self.keep_button, self.words, self.kept)
        with self.watched():
            self._recall()

    def compare(self, actual: float | str) -> str:
        """Return the guess set beside what happened as a sentence; the box shows it, too.

        Without a guess the sentence asks for one, and the box shows what happened as soon as one is kept.
        Raises MechError if ``actual`` is no finite number, or not among the choices.
        """
        sentence = self.prediction.compare(actual)
        self._came = actual
        if self.prediction.guess is not None:
            self.say(sentence)
            self._write()
        return sentence

    def _keep(self) -> None:
        with self.watched():
            try:
                self._commit(self.input.value)
            except MechError as refused:
                self.say(f"Not kept: {refused}.")
                return
            self.text = self.prediction.sentence()
            self.say(f"Kept. {self.text}" if self._came is None else self.prediction.compare(self._came))
            self._write()

    def _commit(self, guess) -> None:
        self.prediction = self.prediction.committed(guess)
        self.input.disabled = self.keep_button.disabled = True

    def _recall(self) -> None:
        """Take up the guess that was made when the page ran before; the text form stays the question."""
        before = self.progress.guess(self.prediction.question)
        if before is None or self.prediction.guess is not None:
            return
        with suppress(MechError):  # the question may have changed since: then it is asked anew
            self._commit(before.guess)
            came = None if before.came is None else self.prediction.compare(before.came)
            self.say(f"From before: {came or self.prediction.sentence()}")
            self._written = before.came

    def _write(self) -> None:
        """Write the guess down, but not again each time that the same outcome is looked at."""
        if self._came is None or self._came != self._written:
            self._written = self._came
            kept = (self.prediction.question, self.prediction.guess, self._came)
            _tell(self.kept, self.progress.guessed(*kept))


def exercise_box(exercise: Exercise, seed: int = 1) -> ExerciseBox:
    """Show an exercise with the numbers of ``seed`` (0 to 10⁹); "New numbers" goes on to the next seed,
    and a box takes any.

    Raises MechError for a bad seed.

    >>> from mechlib.teaching.slipped_tooth import DEGREES_A_TOOTH
    >>> box = exercise_box(DEGREES_A_TOOTH, seed=1)
    >>> box.text == DEGREES_A_TOOTH.draw(1).question
    True
    """
    return ExerciseBox(exercise, seed)


def predict_box(prediction: Prediction) -> PredictBox:
    """Show a question to guess at.

    >>> predict_box(Prediction("How far does the row move?", unit="°"))
    How far does the row move?
    """
    return PredictBox(prediction)


def _tell(line: widgets.HTML, trouble: str) -> None:
    """Show what kept a record from being written down; nothing is shown, nor read out, where all is well."""
    line.value = spoken(trouble) if trouble else ""


def _choices(label: str, options: tuple[str, ...]) -> widgets.RadioButtons:
    return widgets.RadioButtons(options=options, value=None, description=label, **_LOOK)


def typed(label: str, unit: str, entered) -> widgets.Text:
    """A text box in which Enter calls ``entered``; leaving the box only brings its value."""
    box = widgets.Text(description=f"{label} ({unit})" if unit else label, continuous_update=False, **_LOOK)

    def told(_, content, buffers):
        if content.get("event") == "submit":
            entered()

    box.on_msg(told)
    return box


def settled(act):
    """Return a callback that lets what was typed or chosen last arrive before it acts."""

    def later(*_):
        try:
            asyncio.get_running_loop().call_later(SETTLE_S, act)
        except RuntimeError:  # a plain script: everything is there already
            act()

    return later


def _numbers(seed: int) -> widgets.BoundedIntText:
    """The box for the seed, in which it is called the numbers of the exercise."""
    label = "numbers"
    tip = "The same number gives the same exercise on every copy"
    look = {
        "style": {"description_width": "initial"},
        "layout": {"width": "13em", "margin": "2px 2px 2px 1em"},
    }
    return widgets.BoundedIntText(seed, min=0, max=MOST_SEED, description=label, tooltip=tip, **look)


def _button(label: str, pressed, tooltip: str) -> widgets.Button:
    button = widgets.Button(description=label, tooltip=tooltip)
    button.on_click(pressed)
    return button
