"""The lists in which a reader enters one thing that was seen at the bench."""

from __future__ import annotations

from collections.abc import Callable

import ipywidgets as widgets

from mechlib.bench.checks import CONTACT, CURRENT, LOOK, MARK, TIME, TRY, VOLTS, Check
from mechlib.bench.observations import (
    ERROR_RATE,
    SURE,
    UNSURE,
    Observation,
    observed,
    results_to_choose,
)
from mechlib.bench.readings import CLOSES, HELD_UP, RAN_ON, READS, STANDS_WRONG, TEETH_OFF, Reading
from mechlib.errors import MechError
from mechlib.panels.base import drop_down, offer, spoken
from mechlib.teaching.typed import read_number
from mechlib.transports.bench_practice import check_places
from mechlib.transports.model import Transport

KINDS = {
    "a change was asked for": TRY,
    "a contact was read": CONTACT,
    "a mark was looked at": MARK,
    "a part was looked at": LOOK,
    "a change was timed": TIME,
    "volts at the motor": VOLTS,
    "current of the motor": CURRENT,
}
FAIRLY = "fairly sure"
SURENESS = {FAIRLY: ERROR_RATE, "quite sure": SURE, "not sure": UNSURE}
CHOOSE, NOT_LOOKED = "choose…", "not looked at"
ELSEWHERE = {CONTACT: "through the whole travel, by hand", MARK: "where the drive stands at 0"}
NEEDED = (READS, TEETH_OFF)  # results that mean nothing without their number
NUMBERS = {
    HELD_UP: "stands at (° of the cam), if known",
    RAN_ON: "stands at (° of the cam), if known",
    CLOSES: "closed over (°), if counted",
    TEETH_OFF: "teeth ahead + / behind −",
}
ROW_PX, OTHERS = 32, 4  # a list; those besides what a check is of: kind, result, number or detail, how sure
_LOOK = {"style": {"description_width": "17em"}, "layout": {"width": "auto"}}


class SeenForm(widgets.VBox):
    """Lists for one observation, and a button that adds it.

    ``controls`` holds the lists by name; only those that a kind of check has are shown.  ``added`` is called
    with the observation.  ``show(check)`` chooses a check, so that only its result is left to choose.
    """

    def __init__(self, transport: Transport, added: Callable[[Observation], None]):
        self.transport, self.added, self._quiet = transport, added, False
        kinds = [words for words, kind in KINDS.items() if check_places(transport, kind)]
        self.controls = {
            "kind": drop_down("what was done", kinds, **_LOOK),
            "of": drop_down("of", **_LOOK),
            "mode": drop_down("where", **_LOOK),
            "start": drop_down("from", transport.mode_names, **_LOOK),
            "target": drop_down("to", transport.mode_names, **_LOOK),
            "sense": drop_down("sense asked for", transport.senses, **_LOOK),
            "what": drop_down("what was seen", **_LOOK),
            "detail": drop_down("which one stands wrong", **_LOOK),
            "number": widgets.Text(continuous_update=False, **_LOOK),
            "sure": drop_down("how sure", SURENESS, **_LOOK),
        }
        self.add_button = widgets.Button(description="Add what was seen", layout={"width": "auto"})
        self.add_button.on_click(lambda _: self.add())
        self.note = widgets.HTML()
        most = OTHERS + max(len(_used(transport, KINDS[words])) for words in kinds)
        room = {"min_height": f"{ROW_PX * most}px"}  # so that what stands below doesn't jump
        self.lists = widgets.VBox([*self.controls.values()], layout=room)
        super().__init__([self.lists, widgets.HBox([self.add_button, self.note])])
        for name in ("kind", "of", "mode", "start", "target", "sense", "what"):
            self.controls[name].observe(self._changed, "value")
        self.controls["target"].value = transport.mode_names[:2][-1]
        self._fill()

    @property
    def kind(self) -> str:
        """The kind of check that is chosen."""
        return KINDS[self.controls["kind"].value]

    @property
    def check(self) -> Check:
        """The check that is chosen."""
        chosen = {name: self.controls[name].value for name in _used(self.transport, self.kind)}
        if chosen.get("mode") == ELSEWHERE.get(self.kind):
            chosen.pop("mode", None)
        return Check(self.kind, **chosen)

    def show(self, check: Check) -> None:
        """Choose a check; the reader has to choose its result, where the keyboard now stands."""
        self._quiet = True
        self.controls["kind"].value = next(words for words, kind in KINDS.items() if kind == check.kind)
        self._fill()
        for name in _used(self.transport, check.kind):
            self.controls[name].value = getattr(check, name) or ELSEWHERE[check.kind]
        self._fill(anew=True)
        self._quiet = False
        shown = self.controls["number" if self.controls["what"].layout.display == "none" else "what"]
        shown.focus()

    def observation(self) -> Observation:
        """What is entered; MechError without a result, or for a number that can't be read or can't be."""
        what, detail = self.controls["what"].value, self.controls["detail"].value
        if what == CHOOSE:
            raise MechError(f"{self.controls['what'].description} isn't chosen", "choose it from the list")
        number, given = None, self.controls["number"].value.strip()
        if self._unit() is not None and (given or what in NEEDED):
            found = read_number(given, self._unit())
            if found.kind:
                raise MechError(self.controls["number"].description, found.words)
            number = float(found.value)
        seen = detail if what == STANDS_WRONG and detail != NOT_LOOKED else None
        rate = SURENESS[self.controls["sure"].value]
        return observed(self.transport, self.check, Reading(what, seen, number), rate)

    def add(self) -> None:
        """Hand over what is entered, or say what is wrong with it."""
        try:
            seen = self.observation()
        except MechError as refused:
            self.note.value = spoken(f"Not added: {refused}.")
            return
        self.note.value = ""
        self.controls["number"].value = ""
        self.controls["sure"].value = FAIRLY  # of the next entry nothing is said yet
        self._fill(anew=True)  # pressed twice, it isn't added twice
        self.added(seen)

    def _unit(self) -> str | None:
        """The unit of the number that goes with the result; None where there is none."""
        what, check = self.controls["what"].value, self.check
        if what not in (READS, *NUMBERS) or what == CLOSES and check.mode:
            return None
        into_itself = check.start is not None and check.start == check.target
        scale = None if into_itself else results_to_choose(self.transport, check)[1]
        return {VOLTS: "V", CURRENT: "A", TIME: "s"}.get(check.kind, scale.unit if scale else "°")

    def _changed(self, _) -> None:
        if not self._quiet:
            self._fill()

    def _fill(self, anew: bool = False) -> None:
        """Show the lists that this kind has, with what can be chosen in them; ``anew``: without a result."""
        before, self._quiet = self._quiet, True
        kind, used = self.kind, _used(self.transport, self.kind)
        if "of" in used:
            offer(self.controls["of"], check_places(self.transport, kind))
        if "mode" in used:
            offer(self.controls["mode"], (ELSEWHERE[kind], *self.transport.mode_names))
        start, target = self.controls["start"].value, self.controls["target"].value
        labels = (READS,)
        if start != target or "start" not in used:
            labels = results_to_choose(self.transport, self.check)[0]
        results = (CHOOSE, *labels) if len(labels) > 1 else labels
        offer(self.controls["what"], results, results[0] if anew else None)
        offer(self.controls["detail"], (NOT_LOOKED, *(one.name for one in self.transport.followers)))
        unit, what = self._unit(), self.controls["what"].value
        self.controls["number"].description = NUMBERS.get(what, f"it reads ({unit})")
        shown = {*used, "kind", "sure", *(["what"] if len(labels) > 1 else [])}
        shown |= {"detail"} if what == STANDS_WRONG else set()
        shown |= {"number"} if unit is not None else set()
        for name, control in self.controls.items():
            control.layout.display = None if name in shown else "none"
        self._quiet = before


def _used(transport: Transport, kind: str) -> tuple[str, ...]:
    """The lists that say what a check of this kind is of; a motor is named where there are several."""
    named = ("of",) if check_places(transport, kind) != (None,) else ()
    others = {CONTACT: ("mode",), MARK: ("mode",), LOOK: (), VOLTS: ("sense",)}
    return (*named, *others.get(kind, ("start", "target")))
