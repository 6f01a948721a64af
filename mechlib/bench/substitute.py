"""The substitute for a gear that can't be bought: from stock or to be made, ranked, with reasons."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from mechlib.bench.broken_gear import Case, Mate, SoundGear
from mechlib.bench.gear_to_make import across_tips
from mechlib.bench.stock import Stock, StockGear
from mechlib.bench.substitute_check import CLEARANCE, MEASURED_C, Judged, Offer, judge_offer
from mechlib.errors import MechError, check_count
from mechlib.gears.materials import CAUTION, material
from mechlib.gears.measure_by import span_for
from mechlib.gears.measuring import span_mm
from mechlib.gears.racks import BasicRack
from mechlib.gears.spur import SHIFT, Gear
from mechlib.gears.spur_mesh import tip_gap_mm
from mechlib.gears.spur_shift import shift_sum
from mechlib.gears.unknown_gear import Candidate
from mechlib.say import columns, count, listing, say

FITS, AFTER_WORK, TO_MAKE, CHANGES, NO = (
    "fits",
    "fits after work",
    "to be made",
    "fits, but changes the machine",
    "no",
)
VERDICTS = (FITS, AFTER_WORK, TO_MAKE, CHANGES, NO)  # the best first
SEVERAL = {FITS: "fit", AFTER_WORK: "fit after work", CHANGES: "fit, but change the machine"}
SAME_MODULE = 0.002  # two modules this close, relatively, differ by rounding only
MADE_BACKLASH = 0.04  # modules, at the smallest distance of the shafts: common practice, no source
LEAST_TIP = 0.2  # modules; narrower tips of a gear to be made are cut short: common practice, no source
MOST_MADE = 3  # teeth more or fewer than the broken gear's that are tried


@dataclass(frozen=True)
class Substitute:
    """A gear that might replace the broken one, and what was found.

    ``name``: where it lies, or "to be made"; ``size``: module or diametral pitch; ``judged`` is None for
    one that was refused before it was meshed, so that nothing more was looked at; ``against``: why it is
    refused.
    """

    name: str
    teeth: int
    size: str
    verdict: str
    against: tuple[str, ...]
    stock: StockGear | None = None
    judged: Judged | None = None
    caveats: tuple[str, ...] = ()

    @property
    def gear(self) -> Gear | None:
        """The gear as it would run, with tips cut short where that is to be done."""
        return self.judged.offer.gear if self.judged else None

    @property
    def to_do(self) -> tuple[str, ...]:
        """What must be done to it."""
        return self.judged.to_do if self.judged else ()

    def check(self) -> str:
        """What it should read on the caliper, so that list and gear can be compared.

        "" for one that was refused before it was meshed.
        """
        if self.judged is None:
            return ""
        given = self.gear
        whole = replace(given, tip_alteration=0.0) if self.stock else given
        if (over := span_for(given)) is None:
            return f"It should read {across_tips(whole)}."
        span = span_mm(given.teeth, given.module_mm, given.rack, over, given.shift)
        return f"It should read {across_tips(whole)} and {say(span, 'mm', 3)} over {count(over, 'tooth')}."

    def sentence(self) -> str:
        """The verdict with its reasons, work and caveats."""
        told = f"{self.name[:1].upper()}{self.name[1:]}, {self.teeth} teeth, {self.size}: {self.verdict}"
        if self.verdict == NO:
            against = f"{told}, because {listing(self.against)}."
            return f"{against} Its teeth are taken as those of {self.taken}." if self.taken else against
        said = [f"{told}; {'; '.join(self.to_do)}." if self.to_do else f"{told}."]
        if self.stock is None:
            said.append(f"Its teeth are cut as those of its mates: {self.gear.rack.name}.")
        said += [one.sentence() for one in self.judged.meshes]
        said.append(self.judged.effects.sentence())
        strength = self._strength()
        said += strength
        if caveats := (*self._heights(), *self.caveats):
            said.append(f"Mind: {'; '.join(caveats)}.")
        said += [self.check(), *([CAUTION] if strength else [])]
        return " ".join(said)

    @property
    def taken(self) -> str:
        """The basic rack that a gear of the list is taken to be cut to, since the list doesn't say that.

        "" for one to be made, and for one that was refused before it was meshed.
        """
        return self.gear.rack.name if self.stock and self.judged else ""

    def _heights(self) -> list[str]:
        """That the heights of its teeth are taken, if they are."""
        says = "the list doesn't say how high its teeth are"
        return [f"{says}: those of {self.taken} are taken, compare its outside diameter"] * bool(self.taken)

    def _strength(self) -> list[str]:
        """What it bears beside the broken gear, and beside what is asked of it, as far as that is known."""
        said, judged = [], self.judged
        if judged.bears is not None:
            said.append(f"Its teeth bear {say(100 * judged.bears, '%', 0)} of what the broken gear's did.")
        if judged.safety is not None:
            said.append(f"They may carry {say(judged.safety, '', 1)} times what the work asks.")
        return said


@dataclass(frozen=True)
class Substitutes:
    """All gears that were looked at, the best first."""

    given: Case
    rows: tuple[Substitute, ...]

    @property
    def usable(self) -> tuple[Substitute, ...]:
        """Those that aren't refused."""
        return tuple(row for row in self.rows if row.verdict != NO)

    @property
    def best(self) -> Substitute | None:
        """The best; None if all are refused."""
        return self.rows[0] if self.usable else None

    def of(self, verdict: str) -> tuple[Substitute, ...]:
        """Those with one verdict of VERDICTS."""
        return tuple(row for row in self.rows if row.verdict == verdict)

    def tally(self) -> str:
        """How many were looked at, and how many there are of each verdict."""
        looked = f"{count(len(self.rows), 'gear')} looked at"
        found = [_how_many(len(self.of(verdict)), verdict) for verdict in VERDICTS[:-1] if self.of(verdict)]
        return f"{looked}: {listing(found)}." if found else f"{looked}, none can be used."

    def sentence(self) -> str:
        """How many can be used, and the best."""
        if self.best is None:
            return f"{self.tally()[:-1]}: {self.given.sentence()}"
        return f"{self.tally()} The best: {self.best.sentence()}"

    def text(self, rows: int = 12) -> str:
        """The first rows as a table that can be copied, reasons and work below, and what to mind of "bears".

        ``rows``: 1 to 10 000, else MechError.
        """
        shown = self.rows[: check_count("rows", rows, 1, 10_000)]
        head = (
            "gear",
            "size",
            "verdict",
            "teeth",
            "shift",
            "backlash mm",
            "tip mm",
            "contact",
            "bears",
            "speed",
        )
        table = columns(head, [_cells(row) for row in shown], left=3)
        notes = [_note(number, row) for number, row in enumerate(shown, 1) if _note(number, row)]
        weighed = any(row.judged and row.judged.bears is not None for row in shown)
        return "\n".join([table, *notes, *_heights_of(shown), *([CAUTION] if weighed else [])])


def _how_many(number: int, verdict: str) -> str:
    """A number of gears with what is said of them: one fits, two fit."""
    return f"{number} {verdict if number == 1 else SEVERAL.get(verdict, verdict)}"


def _cells(row: Substitute) -> tuple[str, ...]:
    start = (row.name, row.size, row.verdict, str(row.teeth))
    if row.judged is None or not row.judged.meshes:
        return (*start, *"------")
    judged = row.judged
    least, most = (min(m.least_mm for m in judged.meshes), max(m.most_mm for m in judged.meshes))
    return (
        *start,
        say(row.gear.shift, "", 2, sign=True),
        f"{say(least, '', 3)} to {say(most, '', 3)}",
        say(min(m.clearance_mm for m in judged.meshes), "", 3),
        say(min(m.ratio for m in judged.meshes), "", 2),
        "-" if judged.bears is None else say(100 * judged.bears, "%", 0),
        say(100 * float(judged.effects.speed_ratio - 1), "%", 2, sign=True),
    )


def _heights_of(rows: tuple[Substitute, ...]) -> list[str]:
    """What all gears of the list have in common, said once: the heights that are taken."""
    taken = dict.fromkeys(row.taken for row in rows if row.taken)
    says = "The list doesn't say how high teeth are"
    return [f"{says}: those of {name} are taken; compare outside diameters." for name in taken]


def _note(number: int, row: Substitute) -> str:
    if row.verdict == NO:
        return f"{number}. {row.name}: no, {'; '.join(row.against)}."
    told = [*row.to_do, *row.caveats]
    return f"{number}. {row.name}: {'; '.join(told)}." if told else ""


def substitutes(
    given: Case, stock: Stock | None = None, make: bool = True, more_teeth: int = 1
) -> Substitutes:
    """Look for a substitute: every gear of the stock, and gears to be made.

    Each must have the module and pressure angle of the mates, mesh with all of them cold and warm, go in,
    bear the torque, and leave the machine working; a gear at a timed mesh must have the same count.  A gear
    to be made has the profile shift with which it doesn't bind at the smallest distances of the shafts, warm
    or cold.  ``given``: the case; ``stock``: a list that was read, if any; ``make``: whether gears to be made
    are looked at, with up to ``more_teeth`` (0 to 3) teeth more or fewer.

    Ranked by verdict (``VERDICTS``), then by work to be done, caveats, change of speed and strength.  Raises
    MechError for values out of range and where no size of the broken gear fits between its mates.

    >>> from mechlib.bench.broken_gear import Mate, Seat, known_size
    >>> from mechlib.gears.racks import FINE
    >>> lost = Case(24, (known_size(0.5, FINE),), (Mate("pinion", 18, 10.56, True),), Seat(2.0))
    >>> found = substitutes(lost)
    >>> found.best.verdict, found.best.teeth
    ('to be made', 24)
    """
    more = check_count("more_teeth", more_teeth, 0, MOST_MADE)
    if not given.possible:
        raise MechError("no size of the broken gear fits", given.sentence())
    sound, *rivals = given.possible
    rows = [_of_stock(given, sound, one) for one in stock.gears] if stock else []
    if make:
        rows += _to_make(given, sound, more)
    return Substitutes(given, tuple(sorted((_with_rivals(row, rivals, given) for row in rows), key=_rank)))


def _rank(row: Substitute) -> tuple:
    judged = row.judged
    at = VERDICTS.index(row.verdict)
    if judged is None:
        return at, 99, 0, 0.0, 0.0, row.stock.row if row.stock else 0
    off = abs(math.log(judged.effects.speed_ratio))
    doings = len(row.against) if row.verdict == NO else len(row.to_do)
    return at, doings, len(row.caveats), off, -(judged.bears or 0.0), row.stock.row if row.stock else 0


def _of_stock(given: Case, sound: SoundGear, one: StockGear) -> Substitute:
    """A gear of the stock list as a substitute."""
    name = one.name or f"row {one.row}"
    size, rack = sound.candidate.size, sound.candidate.rack
    against = [] if one.count else ["none is left"]
    off = one.module_mm / size.module_mm - 1
    if abs(off) > SAME_MODULE:
        steps = f"its teeth stand {say(abs(100 * off), '%', 1)} too {'far apart' if off > 0 else 'close'}"
        against.append(f"{one.size} doesn't mesh with {size.name}: {steps}")
    angle = one.pressure_angle_deg
    if angle is not None and abs(angle - rack.pressure_angle_deg) > 1e-6:
        needed = say(rack.pressure_angle_deg, "°", 1)
        against.append(f"its pressure angle is {say(angle, '°', 1)}, the mates' is {needed}")
    if not against:
        try:
            gear = Gear(one.teeth, size.module_mm, rack, one.shift or 0.0)
        except MechError as error:
            against.append(str(error))
    if against:
        return Substitute(name, one.teeth, one.size, NO, tuple(against), one)
    judged = judge_offer(given, sound, Offer(gear, one.bore_mm, one.width_mm, one.hub_mm, one.material))
    unknown = ["the list gives no pressure angle: roll it on a mate first"] if angle is None else []
    unknown += ["nor a shift: 0 is taken" if unknown else "the list gives no shift: 0 is taken"] * (
        one.shift is None
    )
    verdict = _verdict(judged, AFTER_WORK if judged.to_do else FITS)
    caveats = (*unknown, *judged.caveats)
    return Substitute(name, one.teeth, one.size, verdict, judged.against, one, judged, caveats)


def _verdict(judged: Judged, otherwise: str) -> str:
    if judged.against:
        return NO
    return otherwise if judged.effects.none else CHANGES


def _to_make(given: Case, sound: SoundGear, more: int) -> Iterator[Substitute]:
    """Gears to be made, with the same count and with some teeth more or fewer."""
    seat, size = given.seat, sound.candidate.size
    width = given.width_mm or seat.most_width_mm or 6 * size.module_mm  # a usual width: practice, no source
    width = min(width, seat.most_width_mm or width)
    for teeth in range(given.teeth - more, given.teeth + more + 1):
        try:
            gear = made_gear(given, sound, teeth)
        except MechError:
            continue  # there is no such gear
        judged = judge_offer(given, sound, Offer(gear, seat.shaft_mm, width, 0.0, given.made_of))
        verdict = _verdict(judged, TO_MAKE)
        yield Substitute(
            "to be made", teeth, size.name, verdict, judged.against, None, judged, judged.caveats
        )


def made_gear(given: Case, sound: SoundGear, teeth: int) -> Gear:
    """A gear to be made for a place: module and rack of its mates, and the profile shift that the shafts ask.

    x = least of (x1 + x2 for the backlash at the distance) − x_mate over all mates; the distance is the
    smallest that it may be.  The backlash is 0.04 modules and what warming or cooling takes of it.  Tips are
    cut until they clear the mates' roots and are 0.2 modules wide.  ``teeth``: 6 to 2000.  Raises MechError
    where there is no such gear.

    >>> from mechlib.bench.broken_gear import Mate, Seat, known_size
    >>> from mechlib.gears.racks import FINE
    >>> lost = Case(24, (known_size(0.5, FINE),), (Mate("pinion", 18, 10.5, True, off_mm=0.0),), Seat(2.0))
    >>> made_gear(lost, lost.possible[0], 23).shift > 0.4
    True
    """
    size, rack = sound.candidate.size, sound.candidate.rack
    module, shifts = size.module_mm, []
    for mate in given.mates:
        centre = mate.centre_mm - mate.off_mm
        base = module * (teeth + mate.teeth) * math.cos(rack.angle) / 2
        backlash = MADE_BACKLASH * module + _lost_mm(given, teeth, mate, centre, base)
        shifts.append(shift_sum(teeth, mate.teeth, module, rack, centre, backlash) - mate.shift)
    shift = min(shifts)
    if not SHIFT[0] <= shift <= SHIFT[1]:
        raise MechError(f"with {teeth} teeth its shift would be {shift:.2f}", "try another count")
    short = 0.0
    for _ in range(20):
        try:
            gear = Gear(teeth, module, rack, shift, short)
        except MechError:
            short -= 0.05
            continue
        pairs = zip(sound.mates, given.mates, strict=True)
        gap = min(tip_gap_mm(gear, one, mate.centre_mm - mate.off_mm) for one, mate in pairs)
        lacking = max(CLEARANCE - gap / module, 0.0)
        if lacking <= 1e-9 and gear.thickness_mm(gear.tip_mm) >= LEAST_TIP * module:
            return gear
        short -= max(lacking, 0.02)
    raise MechError(f"with {teeth} teeth and shift {shift:.2f} its tips are too narrow", "try another count")


def _lost_mm(given: Case, teeth: int, mate: Mate, centre: float, base: float) -> float:
    """Backlash that warming or cooling takes, to first order: 2·tan α_w by what the gears outgrow the plate.

    ``base``: half the sum of the base diameters, a·cos α_w.
    """
    plate, own, other = (
        material(m).expansion_per_K for m in (given.work.plate, given.made_of, mate.material)
    )
    share = teeth / (teeth + mate.teeth)
    each = (own * share + other * (1 - share) - plate) * centre
    rises = (given.work.cold_C - MEASURED_C, given.work.warm_C - MEASURED_C)
    slope = math.sqrt(max((centre / base) ** 2 - 1, 0.0))  # tan α_w
    return 2 * slope * max(each * rise for rise in (*rises, 0.0))


def _with_rivals(row: Substitute, rivals: list[SoundGear], given: Case) -> Substitute:
    """A usable gear with the caveats that the broken one may have been of another size or other heights."""
    if row.verdict == NO:
        return row
    others = [one.candidate for one in rivals if _other_size(one.candidate, row.gear)]
    heights = [one for one in rivals if not _other_size(one.candidate, row.gear)]
    caveats = []
    if others:
        names = listing(f"{one.size.name} with {say(one.rack.pressure_angle_deg, '°', 1)}" for one in others)
        decide = given.next_reading.sentence()[:-1] if given.next_reading else "measure the mates"
        caveats.append(f"wrong if the broken gear was {names}: {decide[0].lower()}{decide[1:]}")
    heights = [one for one in heights if _heights(one.candidate.rack) != _heights(row.gear.rack)]
    if heights and not row.stock:  # of a gear of the list the heights aren't known anyway: see ``taken``
        names = listing(one.candidate.rack.name for one in heights)
        caveats.append(
            f"its teeth are of other heights if the mates' are {names}: measure those across the tips"
        )
    return replace(row, caveats=(*caveats, *row.caveats))


def _other_size(rival: Candidate, gear: Gear) -> bool:
    """Whether another module or pressure angle would be needed."""
    angle = gear.rack.pressure_angle_deg != rival.rack.pressure_angle_deg
    return angle or abs(gear.module_mm / rival.size.module_mm - 1) > SAME_MODULE


def _heights(rack: BasicRack) -> tuple[float, float]:
    return rack.addendum, rack.dedendum
