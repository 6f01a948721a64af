"""The box for an exercise and the box for a guess; both work from the keyboard alone."""

from __future__ import annotations

import asyncio
from html import escape

import ipywidgets as widgets

from mechlib.errors import MechError
from mechlib.panels.base import Told, spoken
from mechlib.teaching.exercises import Exercise, OneOf
from mechlib.teaching.predictions import Prediction

SETTLE_S = 0.2  # the page holds a second change back until the first is dealt with; hardly felt
_LOOK = {"style": {"description_width": "initial"}, "layout": {"width": "auto", "max_width": "40em"}}


class ExerciseBox(Told):
    """An exercise: a box or a list of choices for each field; buttons to check, for a hint, for new numbers.

    ``controls`` holds the widgets to fill in, by their labels; Enter in a box checks, as the button does.
    ``drawn`` is the exercise as it stands; the text form of the box is its question.
    """

    def __init__(self, exercise: Exercise, seed: int = 1):
        self.exercise = exercise
        super().__init__(exercise.draw(seed).question)
        self.controls = {
            field.label: _choices(field.label, field.options)
            if isinstance(field, OneOf)
            else _typed(field.label, field.unit, _settled(self._check))
            for field in exercise.fields
        }
        self.question, self.hint = widgets.HTML(), widgets.HTML()
        self.check_button = _button(
            "Check", _settled(self._check), "Judge the answer (Enter in a box does the same)"
        )
        self.hint_button = _button("Hint", self._next_hint, "Show the next hint; none gives the answer")
        self.new_button = _button("New numbers", self._renew, "The same question with other numbers")
        buttons = [self.check_button, *([self.hint_button] if exercise.hints else []), self.new_button]
        self.children = (
            widgets.HTML(f"<strong>{escape(exercise.title)}</strong>"),
            self.question,
            *self.controls.values(),
            widgets.HBox(buttons),
            self.words,
            self.hint,
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
            self.say(self.drawn.check(answers).sentence())

    def _next_hint(self, _) -> None:
        with self.watched():
            hints = self.drawn.hints
            at = self._hints_shown % len(hints)
            self.hint.value = spoken(f"Hint {at + 1} of {len(hints)}: {hints[at]}")
            self._hints_shown += 1

    def _renew(self, _) -> None:
        with self.watched():
            self._ask(self.drawn.seed + 1)


class PredictBox(Told):
    """A question to guess at before looking.  The guess is kept once, then stands beside what happened.

    ``prediction`` holds the question and the guess; the text form of the box is its sentence.
    """

    def __init__(self, prediction: Prediction):
        super().__init__(prediction.sentence())
        self.prediction = prediction
        label, choices = "Your guess", prediction.choices
        self.input = (
            _choices(label, choices) if choices else _typed(label, prediction.unit, _settled(self._keep))
        )
        self.controls = {label: self.input}
        self.keep_button = _button("Keep my guess", _settled(self._keep), "Once kept it can't be changed")
        question = widgets.HTML(escape(prediction.question))
        self.children = (question, self.input, self.keep_button, self.words)

    def compare(self, actual: float | str) -> str:
        """Return the guess set beside what happened as a sentence; the box shows it, too, if a guess is kept.

        Raises MechError if ``actual`` is no finite number, or not among the choices.
        """
        sentence = self.prediction.compare(actual)
        if self.prediction.guess is not None:  # else the box would give the answer away before the guess
            self.say(sentence)
        return sentence

    def _keep(self) -> None:
        with self.watched():
            try:
                self.prediction = self.prediction.committed(self.input.value)
            except MechError as refused:
                self.say(f"Not kept: {refused}.")
                return
            self.text = self.prediction.sentence()
            self.input.disabled = self.keep_button.disabled = True
            self.say(f"Kept. {self.text}")


def exercise_box(exercise: Exercise, seed: int = 1) -> ExerciseBox:
    """Show an exercise with the numbers of ``seed`` (0 to 10⁹); "New numbers" goes on to the next seed.

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


def _choices(label: str, options: tuple[str, ...]) -> widgets.RadioButtons:
    return widgets.RadioButtons(options=options, value=None, description=label, **_LOOK)


def _typed(label: str, unit: str, entered) -> widgets.Text:
    """A text box in which Enter calls ``entered``; leaving the box only brings its value."""
    box = widgets.Text(description=f"{label} ({unit})" if unit else label, continuous_update=False, **_LOOK)

    def told(_, content, buffers):
        if content.get("event") == "submit":
            entered()

    box.on_msg(told)
    return box


def _settled(act):
    """Return a callback that lets what was typed or chosen last arrive before it acts."""

    def later(*_):
        try:
            asyncio.get_running_loop().call_later(SETTLE_S, act)
        except RuntimeError:  # a plain script: everything is there already
            act()

    return later


def _button(label: str, pressed, tooltip: str) -> widgets.Button:
    button = widgets.Button(description=label, tooltip=tooltip)
    button.on_click(pressed)
    return button
