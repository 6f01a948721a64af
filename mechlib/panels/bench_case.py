"""The panel of a bench case: checks that cost minutes, the fault to name, the score and a replay."""

from __future__ import annotations

from html import escape

import ipywidgets as widgets

from mechlib.bench.checks import covers_for
from mechlib.bench.observations import holds_up
from mechlib.bench.outlook import HELD_BEFORE
from mechlib.bench.suspects import SLIP
from mechlib.errors import MechError
from mechlib.panels.base import Told, Working, drop_down, framed, headed, offer, spoken
from mechlib.panels.exercise import settled
from mechlib.say import listing, say
from mechlib.teaching.bench_cases import (
    LEVELS,
    MOST_NUMBER,
    MOST_TEETH,
    bench_case,
    checks_by_kind,
    repairs_to_choose,
)
from mechlib.teaching.case_plan import planned, reckoned, replay, score
from mechlib.teaching.case_work import CaseWork
from mechlib.teaching.progress import Progress, here
from mechlib.teaching.records import CASES, GIVEN_UP
from mechlib.transports.bench_practice import repair_covers

GIVE_UP, SEE = "Give up and see the plan", "See the score and the replay"
LOG = "max-height: 11em; display: flex; flex-direction: column-reverse"  # so its end is in sight
TWO_LINES = "60px"  # kept free, so that nothing jumps
TEETH = "teeth: ahead (+) / behind (−)"
_LOOK = {"style": {"description_width": "11em"}, "layout": {"width": "min(100% - 4px, 44em)"}}
_WRAP = {"flex_flow": "row wrap", "align_items": "center"}


class BenchCasePanel(Told):
    """The panel.  Its text form is the log: the complaint, every step with the clock, how far it is.

    ``work`` is the reader's work, ``plan`` the plan's (None before it is asked for).  ``controls`` holds the
    lists and boxes by name.  What a repair was found to be is written down in ``progress``.
    """

    def __init__(self, level: int, number: int, progress: Progress | None = None):
        super().__init__("")
        self.progress = progress or here()
        self.plan: CaseWork | None = None
        self._make_controls(level, number)
        self._make_buttons()
        self.level_words, self.clock, self.kept = widgets.HTML(), widgets.HTML(), widgets.HTML()
        self.check_takes, self.mend_takes = widgets.HTML(), widgets.HTML()
        self.bar = Working("the plan works")
        self.log_text, self.replay_text = (
            widgets.HTML(layout={"width": "auto"}),
            widgets.HTML(layout={"width": "auto"}),
        )
        c = self.controls
        self.children = (
            widgets.HBox([c["level"], c["number"], self.open_button], layout=_WRAP),
            *(self.level_words, self.words, self.clock),
            *(headed("Check"), c["kind of check"], c["check"], self.check_takes, self.check_button),
            *(headed("Name the fault"), c["kind of fault"], c["of"], self.mend_takes),
            *(widgets.HBox([c["teeth"]], layout={"min_height": "36px"}), self.mend_button),
            *(headed("Log"), self.log_text, widgets.HBox([self.score_button, self.bar], layout=_WRAP)),
            *(self.replay_text, self.kept),
        )
        for some in (self.level_words, self.words):
            some.layout.min_height = TWO_LINES
        self._tell_level()
        self.open_case(level, number)

    def _make_controls(self, level: int, number: int) -> None:
        levels = [(one.title, key) for key, one in LEVELS.items()]
        self.controls = {
            "level": drop_down("level", levels, value=level, **_LOOK),
            "number": widgets.Text(str(number), description="case number", **_LOOK),
            "kind of check": drop_down("kind of check", **_LOOK),
            "check": drop_down("check", **_LOOK),
            "kind of fault": drop_down("kind of fault", **_LOOK),
            "of": drop_down("of what", **_LOOK),
            "teeth": widgets.IntSlider(0, -MOST_TEETH, MOST_TEETH, description=TEETH, tooltip=TEETH, **_LOOK),
        }
        self.controls["check"].layout.width = "min(100% - 4px, 62em)"
        self.controls["teeth"].style.description_width = "15em"
        self.controls["number"].layout.width = "20em"
        self.controls["level"].observe(self._tell_level, "value")
        self.controls["kind of check"].observe(self._fill_checks, "value")
        self.controls["check"].observe(self._price_check, "value")
        self.controls["kind of fault"].observe(self._fill_faults, "value")
        self.controls["of"].observe(self._price_mend, "value")

    def _make_buttons(self) -> None:
        def button(words: str, pressed, tooltip: str) -> widgets.Button:
            layout = {"width": "auto", "align_self": "flex-start"}
            made = widgets.Button(description=words, tooltip=tooltip, layout=layout)
            made.on_click(settled(pressed))
            return made

        self.open_button = button("Open this case", self.open_typed, "Begin it anew")
        self.check_button = button("Make this check", self.check, "It costs the minutes beside it")
        self.mend_button = button("Mend it and prove it", self.mend, "A wrong repair costs its minutes, too")
        self.score_button = button(GIVE_UP, self.see, "Your minutes beside those of the plan")

    # ---- What the reader does ----

    def open_typed(self) -> None:
        """Open the case whose level is chosen and whose number is typed, if that is a number of a case."""
        typed = self.controls["number"].value.strip()
        if not (typed.isascii() and typed.isdecimal()):
            self.say(f"Not opened: {typed!r} is no case number. Type a whole number from 1 to {MOST_NUMBER}.")
            return
        self.open_case(self.controls["level"].value, int(typed))

    def open_case(self, level: int, number: int) -> None:
        """Begin a case anew."""
        with self.watched():
            try:
                self.work, self.plan = CaseWork(bench_case(level, number)), None
            except MechError as refused:
                self.say(f"Not opened: {refused}.")
                return
            self.machine = self.work.case.filed
            self.replay_text.value, self.score_button.disabled = "", False
            self._checks = checks_by_kind(self.machine)
            self._faults = repairs_to_choose(self.machine, self.work.case.level.kinds)
            offer(self.controls["kind of check"], self._checks)
            offer(self.controls["kind of fault"], self._faults)
            self._fill()
            self._show(self.work.case.sentence())

    def check(self) -> None:
        """Make the check that is chosen."""
        with self.watched():
            chosen = self.controls["check"].value
            try:
                read = self.work.check(chosen)
            except MechError as refused:
                self.say(f"Not checked: {refused}.")
                return
            self._fill()
            self._show(f"{chosen.words[0].upper()}{chosen.words[1:]}: {read}.")

    def mend(self) -> None:
        """Mend what is named, and prove the machine."""
        with self.watched():
            kind, of, teeth = (self.controls[name].value for name in ("kind of fault", "of", "teeth"))
            try:
                found = self.work.mend(self.work.named(kind, of, teeth if kind == SLIP else 0))
            except MechError as refused:
                self.say(f"Not mended: {refused}.")
                return
            self._fill()
            self._write(found)
            self._show(self.work.did[-1].sentence())

    def see(self) -> None:
        """Let the plan work on the same machine; show the score and both replays."""
        with self.watched():
            self._close()
            self.score_button.disabled = True
            self.plan = planned(self.work.case, self.bar.told)
            result = score(self.work, self.plan).sentence()
            yours = replay(self.work, True, self.bar.told)
            hidden = " ".join(one.sentence() for one in self.work.case.hidden)
            lines = [f"What was wrong: {hidden}", result, *reckoned(self.work.case.level)]
            lines += ["", "YOUR STEPS", yours or "none"]
            lines += ["", "THE PLAN'S STEPS", replay(self.plan, False, self.bar.told)]
            self.replay_text.value = framed(
                "score and replay", "\n".join(lines), "max-height: 22em", font="inherit"
            )
            self.bar.hide()
            if not self.work.closed:
                self._write(GIVEN_UP)
            self.say(result)

    # ---- What the panel shows ----

    def _tell_level(self, _=None) -> None:
        self.level_words.value = escape(LEVELS[self.controls["level"].value].sentence())

    def _fill(self) -> None:
        self._fill_checks()
        self._fill_faults()

    def _fill_checks(self, _=None) -> None:
        checks = self._checks.get(self.controls["kind of check"].value, ())
        priced = [(f"{say(self.work.minutes_of(check), 'min')}: {check.words}", check) for check in checks]
        offer(self.controls["check"], priced)
        self._price_check()

    def _price_check(self, _=None) -> None:
        check = self.controls["check"].value
        if check is None:  # while the list is filled
            return
        warm = f" Mind: {HELD_BEFORE}." if holds_up(check, self.work.known.seen) else ""
        takes = self._takes(self.work.minutes_of(check), covers_for(self.machine, check))
        self.check_takes.value = f"{takes}{warm}"

    def _fill_faults(self, _=None) -> None:
        kind = self.controls["kind of fault"].value
        repairs = self._faults.get(kind, {})
        offer(
            self.controls["of"],
            [(f"{say(self.work.minutes_to(repair), 'min')}: {of}", of) for of, repair in repairs.items()],
        )
        self.controls["teeth"].layout.display = None if kind == SLIP else "none"
        self._price_mend()

    def _price_mend(self, _=None) -> None:
        repairs = self._faults.get(self.controls["kind of fault"].value, {})
        repair = repairs.get(self.controls["of"].value)
        if repair is None:  # while the list is filled
            return
        covers = repair_covers(self.machine, repair.kind, repair.of)
        takes = self._takes(self.work.minutes_to(repair), covers)
        self.mend_takes.value = f"{takes} The try after it is counted in."

    def _takes(self, minutes: float, covers) -> str:
        """What it takes now, and what comes off for it first."""
        off = [cover.name for cover in covers if cover.name not in self.work.known.off]
        first = f"the {listing(off)}" if off else "nothing more" if covers else "nothing"
        return f"It takes {say(minutes, 'min')}. To come off first: {escape(first)}."

    def _close(self) -> None:
        self.check_button.disabled = self.mend_button.disabled = True

    def _show(self, told: str) -> None:
        work = self.work
        self.check_button.disabled = self.mend_button.disabled = bool(work.closed)
        self.score_button.description = SEE if work.closed else GIVE_UP
        off = listing(sorted(work.known.off))
        self.clock.value = f"<strong>Clock: {say(work.minutes, 'min')}.</strong> Covers off: {escape(off)}."
        self.text = work.text()
        self.log_text.value = framed("log of the case", self.text, LOG, font="inherit")
        self.say(told)

    def _write(self, found: str) -> None:
        case = self.work.case
        trouble = self.progress.checked(CASES, f"Bench case of level {case.level.number}", case.number, found)
        self.kept.value = spoken(trouble) if trouble else ""


def bench_case_panel(level: int = 1, number: int = 1) -> BenchCasePanel:
    """Return the panel of a bench case, opened at a level (1 to 3) and a number (1 to 999999).

    Raises MechError for anything else.

    >>> print(bench_case_panel(1, 5).text.splitlines()[1][:44])
    Case 5 of level 1, Birch. The complaint: ask
    """
    bench_case(level, number)
    return BenchCasePanel(level, number)
