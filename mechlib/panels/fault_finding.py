"""The panel that finds a fault: what was seen, what it can be, what to check next, how to mend it."""

from __future__ import annotations

import asyncio
from collections.abc import Iterable, Iterator
from pathlib import Path

import ipywidgets as widgets

from mechlib.bench.fault_search import Search
from mechlib.bench.next_check import Advice, Step
from mechlib.bench.observations import Observation, checked
from mechlib.bench.suspects import NOTHING, Repair
from mechlib.draw import LivePicture
from mechlib.draw import fault_finding as scene
from mechlib.errors import MechError
from mechlib.panels.base import PROSE, ListedPanel, Told, Working, drop_down, headed, line
from mechlib.panels.search_entries import Entered
from mechlib.panels.seen_form import SeenForm
from mechlib.panels.timing_card import proof_sheet, timing_card
from mechlib.say import listing, say
from mechlib.transports import load, shipped
from mechlib.transports.model import Transport

BREATH_S = 0.05  # between two pieces of work that nobody waits for, so that all else goes on
_AUTO = {"width": "auto"}
_COVER = {"width": "auto", "margin": "2px 1.5em 2px 2px"}  # so a box stands nearer to its name than to others
_WRAP = {"flex_flow": "row wrap", "align_items": "center"}


class Ranking(ListedPanel):
    """The bars, with everything to copy below: what was seen, the ranking, the checks, the steps."""

    label = "what was seen, the ranking, the checks and the steps"
    height, font, wrap = "18em", "monospace", PROSE

    @property
    def listed(self) -> str:
        """All of it, to select and copy."""
        return self.picture.result.text()

    def show(self, search: Search) -> None:
        """Show another state of the search."""
        with self.watched():
            self._show(self.picture.set(search=search))


class FaultFinding(Told):
    """The panel.  Its text form is the finding and what to do next.

    ``search`` is where the search stands, ``entered`` what it was made of.  ``form`` is where a thing seen is
    entered, ``ranking`` the bars; ``check_buttons``, ``remove_buttons``, ``back_buttons`` (of repairs made in
    vain), ``cover_boxes`` and the buttons of the repair are made anew with each state.
    """

    def __init__(self, machine: Transport, seen: Iterable[Observation], off: Iterable[str]):
        super().__init__("")
        off = frozenset(off)
        self.entered = Entered(machine, off=off, by_hand=off)
        for one in seen:
            self.entered = self.entered.added(checked(machine, one))
        self.search = self.entered.search()
        names = list(dict.fromkeys((machine.name, *(name.capitalize() for name in shipped()))))
        self._of_machine = {machine.name: self.entered}  # what was last entered of each
        self.machine = drop_down("machine", names)
        self.machine.observe(self._other_machine, "value")
        self.bar = Working("working out")
        picture = LivePicture(lambda search: search, scene, {"search": self.search}, scene.size_px())
        self.ranking = Ranking(picture, {}, name="fault_finding")
        self.entry = widgets.VBox(layout={"flex": "0 0 auto", "width": "min(100%, 42em)"})
        self.entries = widgets.VBox()
        self.covers, self.checks, self.repair = widgets.VBox(), widgets.VBox(), widgets.VBox()
        self.card = widgets.VBox()
        self.anew_button = _button("Start anew", lambda _: self.start_anew())
        self.anew_button.layout.align_self = "flex-start"
        self._new_form()
        self._show()
        done = widgets.VBox([self.entries, self.covers, self.anew_button], layout={"flex": "1 1 24em"})
        seen_row = widgets.HBox([self.entry, done], layout={"flex_flow": "row wrap"})
        self.children = (
            widgets.HBox([self.machine, self.bar], layout=_WRAP),
            *(headed("What was seen"), seen_row, self.words),
            *(headed("What to do next"), self.checks, self.repair),
            *(headed("What it can be"), self.ranking, self.card),
        )

    @property
    def transport(self) -> Transport:
        """The machine."""
        return self.entered.machine

    @property
    def observations(self) -> list[Observation]:
        """What was seen."""
        return list(self.entered.observations)

    # ---- What the reader does ----

    def add(self, seen: Observation) -> None:
        """Take one more thing that was seen; what had to come off for it is off now."""
        self._work_out(self.entered.added(seen))

    # While it works out, the page takes further presses of buttons as they stand, and hands them on later:
    # each says what it was made for, and one whose time has gone by is left out.

    def remove(self, seen: Observation) -> None:
        """Take a thing out again."""
        if any(one is seen for one in self.entered.observations):
            self._work_out(self.entered.removed(seen))

    def fails_still(self, step: Step) -> None:
        """The repair of the plan was made, and the machine fails as before."""
        if self._is_asked(step):
            self._work_out(self.entered.in_vain(step.repairs))

    def take_back(self, repair: Repair) -> None:
        """A repair wasn't made, or not in vain."""
        if repair in self.entered.mended:
            self._work_out(self.entered.taken_back(repair))

    def start_anew(self) -> None:
        """Take out all that was entered of this machine."""
        self._work_out(Entered(self.transport))

    def _is_asked(self, step: Step) -> bool:
        """Whether the plan still asks for just these repairs."""
        now = self.search.step
        return now is not None and now.repairs == step.repairs

    def _other_machine(self, _) -> None:
        with self.watched():
            name = self.machine.value
            if name not in self._of_machine:
                self._of_machine[name] = Entered(load(name.lower()))
            if self._of_machine[name].machine is not self.transport:
                self._work_out(self._of_machine[name])
                self.machine.value = self.transport.name

    def _cover(self, machine: Transport, name: str, off: bool) -> None:
        if machine is self.transport:
            self._work_out(self.entered.covered(name, off))

    # ---- What the panel shows ----

    def _work_out(self, entered: Entered) -> None:
        """Compute the search anew, a bar showing how far it is; where that can't be, all stays as it was."""
        with self.watched():
            self.form.add_button.disabled = True
            try:
                found = entered.search(self.bar.told)
                other = entered.machine is not self.transport
                self.search, self.entered = found, entered
                self._of_machine[entered.machine.name] = entered
                if other:
                    self.card.children = ()
                    self._new_form()
                self.ranking.show(self.search)
                self._show()
                self._work_ahead(found, found.ahead())
            except MechError as refused:
                self.say(f"{refused}.")
            finally:
                self.bar.hide()
                self.form.add_button.disabled = False

    def _work_ahead(self, search: Search, steps: Iterator[float]) -> None:
        """While the reader looks, work out what answers will need, until the next one is asked for."""
        try:
            loop = asyncio.get_running_loop()
        except RuntimeError:  # a plain script: nobody is looking
            return

        def one_step() -> None:
            with self.watched():
                if self.search is search and next(steps, None) is not None:
                    self._work_ahead(search, steps)

        loop.call_later(BREATH_S, one_step)

    def _new_form(self) -> None:
        machine = self.transport
        self.form = SeenForm(machine, lambda seen: self.add(seen) if machine is self.transport else None)
        self.entry.children = (self.form,)

    def _show(self) -> None:
        self.text = self.search.sentence()
        self.say("" if self.search.step else "Enter what the machine does, and press the button.")
        self._show_entries()
        self._show_covers()
        self._show_checks()
        self._show_repair()

    def _show_entries(self) -> None:
        doubtful = {number for group in self.search.finding.doubtful for number in group}
        self.remove_buttons, self.back_buttons, rows = [], [], []
        for number, one in enumerate(self.observations):
            button = _button(f"Remove {number + 1}", lambda _, one=one: self.remove(one))
            self.remove_buttons.append(button)
            doubt = " ▸ Look again: this doesn't go together with the rest." if number in doubtful else ""
            rows.append(_entry(button, f"{number + 1}. {one.sentence()}{doubt}"))
        for one in self.entered.mended:
            button = _button("Take back", lambda _, one=one: self.take_back(one))
            self.back_buttons.append(button)
            rows.append(_entry(button, f"{one.done}; and it still fails."))
        self.entries.children = rows or [line("Nothing is entered yet.")]
        self.anew_button.disabled = self.entered == Entered(self.transport)

    def _show_covers(self) -> None:
        off, machine = self.entered.off, self.transport
        self.cover_boxes = {
            cover.name: widgets.Checkbox(
                value=cover.name in off, description=cover.name, indent=False, layout=_COVER
            )
            for cover in machine.covers
        }
        for name, box in self.cover_boxes.items():
            box.observe(lambda change, name=name: self._cover(machine, name, change["new"]), "value")
        boxes = list(self.cover_boxes.values())
        self.covers.children = [widgets.HBox([line("off already:"), *boxes], layout=_WRAP)] if boxes else []

    def _show_checks(self) -> None:
        self.check_buttons, rows, form = [], [], self.form
        for one in self.search.advice:
            planned = one.check == self.search.step.check
            words = f"{'▸ the plan: ' if planned else ''}{one.check.words}"
            button = _button(words, lambda _, one=one: form.show(one.check))
            button.tooltip = "Make this check, then choose its result above"
            button.button_style = "info" if planned else ""
            self.check_buttons.append(button)
            back = self.search.to_put_back(one.check)
            rows.append(widgets.HBox([button, line(_told(one, back))], layout=_WRAP))
        if rows:
            rows.insert(0, line("Make a check, press its button, and choose above what you saw."))
        rows += [line(f"Caution: {words}") for words in self.search.cautions]
        self.checks.children = rows

    def _show_repair(self) -> None:
        step = self.search.step
        if step is None or step.check:
            self.repair.children = ()
            return
        self.works_button = _button("It works now", lambda _: self._works(step))
        self.fails_button = _button("It fails as before", lambda _: self.fails_still(step))
        self.card_button = _button("Timing card and proof sheet", self._show_card)
        steps = self.search.repair_steps()
        told = f"▸ the plan: {step.sentence()}"
        told += " The steps stand in the list below." if steps else " Then try what failed."
        buttons = [self.works_button, self.fails_button, self.card_button]
        self.repair.children = (line(told), widgets.HBox(buttons, layout=_WRAP))

    def _works(self, step: Step) -> None:
        if not self._is_asked(step):
            return
        if all(one.kind == NOTHING for one in step.repairs):
            self.say("Proved: no fault was found.")
            return
        words = self.search.to_mend.words
        told = "Put every cover on, then prove every mode change with the proof sheet."
        self.say(f"Most probably it was: {words}. {told}")

    def _show_card(self, _) -> None:
        with self.watched():
            self.card.children = (timing_card(self.transport), proof_sheet(self.transport))


def _told(advice: Advice, back: tuple[str, ...]) -> str:
    """What a check tells for its time, in numbers, and which covers come off or are put ``back`` for it."""
    told = f"{say(advice.bits_per_minute, '', 3)} bits a minute; {say(advice.minutes, 'min')}"
    if back:
        told += f"; first put back the {listing(back)}"
    return f"{told}, with taking off the {listing(advice.covers)}" if advice.covers else told


def _entry(button: widgets.Button, told: str) -> widgets.HBox:
    """A row of the list: the button that takes it out, and its words."""
    words = line(told)
    words.layout.flex, button.layout.flex = "1 1 0", "0 0 auto"
    return widgets.HBox([button, words], layout={"align_items": "flex-start"})


def _button(words: str, pressed) -> widgets.Button:
    button = widgets.Button(description=words, layout=_AUTO)
    button.on_click(pressed)
    return button


def fault_finding(
    transport: Transport | str | Path = "alder",
    seen: Iterable[Observation] = (),
    off: Iterable[str] = (),
) -> FaultFinding:
    """Return the panel that finds a fault of a transport.

    ``transport``: one that was loaded, the name of a shipped one, or the path of a file of your own.
    ``seen``: observations, made as for ``find``; ``off``: names of the covers that are off besides those that
    came off for what was seen.  Raises MechError for a file with mistakes, and for what can't be observed on
    this machine.

    >>> fault_finding("alder").text[:59]
    'Nothing is observed yet; most often on Alder: belt slack. E'
    """
    machine = transport if isinstance(transport, Transport) else load(transport)
    return FaultFinding(machine.sound, seen, off)
