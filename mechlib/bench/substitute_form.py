"""The form for a broken gear: what is asked, invented examples, and the Case that what was typed makes.

Everything is text as typed into a box, or chosen from a list; a box left empty says that it isn't known.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from mechlib.bench.broken_gear import Case, Mate, Seat, Work, broken_gear
from mechlib.bench.mark_place import MarkPlace, Ring, mark_place, ring_at
from mechlib.bench.measured_gear import RACKS_TO_TRY, racks_of
from mechlib.bench.other_teeth import DRIVEN, DRIVER, timed_at
from mechlib.bench.own_typed import read_number
from mechlib.drives.reels import Pack
from mechlib.errors import MechError
from mechlib.gears.materials import MATERIALS
from mechlib.gears.unknown_gear import OUTSIDE, SIZES, SPAN, Candidate, Reading, identify
from mechlib.say import listing
from mechlib.transports import load
from mechlib.transports.model import Transport

YES, NO = "yes", "no"
MEASURED = "from what was measured"
NO_MACHINE = "none"
REEL_TAPE_MM = 0.018  # the pull at both ends of a pack doesn't depend on it, but a pack must have one
MARK_UNITS = "°, mm"  # of a gear or sector, of a rack
FROM, ON = "power comes from it", "power goes on to it"
GROUPS = (
    "The broken gear",
    "Its mates",
    "Its place",
    "What it does",
    "Its timing mark, if it has one",
    "If you know it",
)


@dataclass(frozen=True)
class Asked:
    """One box of the form: under which heading, its label, its unit, and what can be chosen, if not typed."""

    group: str
    label: str
    unit: str = ""
    options: tuple[str, ...] = ()
    needed: bool = False

    @property
    def title(self) -> str:
        """The label with its unit."""
        return f"{self.label} ({self.unit})" if self.unit else self.label


_GEAR, _MATES, _PLACE, _WORK, _MARK, _KNOWN = GROUPS
ASKED: dict[str, Asked] = {
    "teeth": Asked(_GEAR, "teeth of the broken gear", needed=True),
    "size": Asked(_GEAR, "size of its teeth", "", (MEASURED, *(size.name for size in SIZES))),
    "outside_mm": Asked(_GEAR, "outside, as the caliper reads it", "mm"),
    "span_mm": Asked(_GEAR, "span over some teeth", "mm"),
    "span_teeth": Asked(_GEAR, "teeth between the jaws"),
    "off_mm": Asked(_GEAR, "the caliper may be off by", "mm", needed=True),
    "made_to": Asked(_GEAR, "teeth are cut to", "", tuple(RACKS_TO_TRY)),
    "width_mm": Asked(_GEAR, "its width", "mm"),
    "made_of": Asked(_GEAR, "made of", "", tuple(MATERIALS)),
    "mate1": Asked(_MATES, "name of the first mate", needed=True),
    "mate1_teeth": Asked(_MATES, "teeth of the first mate", needed=True),
    "mate1_mm": Asked(_MATES, "first mate, shaft to shaft", "mm", needed=True),
    "mate1_is": Asked(_MATES, "first mate", "", (FROM, ON)),
    "mate2": Asked(_MATES, "name of the second mate"),
    "mate2_teeth": Asked(_MATES, "teeth of the second mate"),
    "mate2_mm": Asked(_MATES, "second mate, shaft to shaft", "mm"),
    "mate2_is": Asked(_MATES, "second mate", "", (FROM, ON)),
    "shaft_mm": Asked(_PLACE, "its shaft", "mm", needed=True),
    "most_width_mm": Asked(_PLACE, "room for its width", "mm"),
    "most_hub_mm": Asked(_PLACE, "room for its hub", "mm"),
    "most_outside_mm": Asked(_PLACE, "room for its outside", "mm"),
    "torque_Nmm": Asked(_WORK, "torque at it", "N·mm"),
    "moves_tape": Asked(_WORK, "it sets the tape's speed", "", (NO, YES)),
    "reel_torque_Nmm": Asked(_WORK, "take-up reel: torque", "N·mm"),
    "reel_hub_mm": Asked(_WORK, "reel: radius of the hub", "mm"),
    "reel_full_mm": Asked(_WORK, "reel: radius of the full pack", "mm"),
    "clutch_after": Asked(_WORK, "a slipping clutch sits before the reel", "", (NO, YES)),
    "machine": Asked(_WORK, "machine (a name, or your file)"),
    "mesh": Asked(_WORK, "which mesh of the machine"),
    "side": Asked(_WORK, "at that mesh the gear is", "", (DRIVEN, DRIVER)),
    "mark": Asked(_MARK, "old one: flat to marked tooth", MARK_UNITS),
    "first_tooth": Asked(_MARK, "new one: flat to first tooth", MARK_UNITS),
    "mate1_made_of": Asked(_KNOWN, "first mate, made of", "", tuple(MATERIALS)),
    "mate1_shift": Asked(_KNOWN, "first mate, profile shift"),
    "mate2_made_of": Asked(_KNOWN, "second mate, made of", "", tuple(MATERIALS)),
    "mate2_shift": Asked(_KNOWN, "second mate, profile shift"),
    "plate": Asked(_KNOWN, "its shafts stand in", "", tuple(MATERIALS)),
    "cold_C": Asked(_KNOWN, "it must run from", "°C"),
    "warm_C": Asked(_KNOWN, "it must run up to", "°C"),
}
BLANK = {key: asked.options[0] if asked.options else "" for key, asked in ASKED.items()}
BLANK |= {"off_mm": "0.05", "made_to": "20°, usual or fine teeth", "machine": NO_MACHINE}
# What is usual, and taken where such a box is left empty: common practice, no source.
USUAL = {"mate1_shift": "0", "mate2_shift": "0", "cold_C": "5", "warm_C": "50"}
BLANK |= USUAL | {"plate": "steel"}
_HALF = {"size": "module 0.5", "width_mm": "3"}
# Invented, all of them.
EXAMPLES: dict[str, dict[str, str]] = {
    "capstan wheel of a cassette deck": {
        **_HALF, "teeth": "24", "size": MEASURED, "outside_mm": "13.1", "mate1": "pinion",
        "mate1_teeth": "18", "mate1_mm": "10.56", "shaft_mm": "2", "most_width_mm": "3", "most_hub_mm": "6",
        "most_outside_mm": "14", "torque_Nmm": "20", "moves_tape": YES,
    },
    "idler between a pinion and a reel gear": {
        **_HALF, "teeth": "24", "mate1": "pinion", "mate1_teeth": "18", "mate1_mm": "10.56",
        "mate2": "reel gear", "mate2_teeth": "48", "mate2_mm": "18.06", "mate2_is": ON, "shaft_mm": "2",
        "most_width_mm": "3", "torque_Nmm": "10",
    },
    "wheel of a take-up reel": {
        **_HALF, "teeth": "40", "mate1": "motor gear", "mate1_teeth": "20", "mate1_mm": "15.06",
        "shaft_mm": "2", "most_width_mm": "3", "torque_Nmm": "20", "reel_torque_Nmm": "5",
        "reel_hub_mm": "11", "reel_full_mm": "24",
    },
    "carriage gear of Alder, on its mark": {
        **_HALF, "teeth": "40", "mate1": "transfer ring", "mate1_teeth": "54", "mate1_mm": "23.58",
        "shaft_mm": "2.5", "most_width_mm": "3", "most_hub_mm": "8", "torque_Nmm": "20", "machine": "alder",
        "mesh": "carriage gear", "mark": "91", "first_tooth": "2",
    },
    "gear on Alder's sun gear shaft": {
        **_HALF, "teeth": "18", "mate1": "gear of the worm wheel", "mate1_teeth": "18", "mate1_mm": "9.15",
        "shaft_mm": "2", "most_width_mm": "4", "width_mm": "4", "torque_Nmm": "20", "machine": "alder",
        "mesh": "sun gear shaft",
    },
}  # fmt: skip


def filled(example: str = "", **typed: str) -> dict[str, str]:
    """A form as text: an example of ``EXAMPLES`` or a blank one, with some boxes filled in anew.

    Raises MechError for an example or a box that there isn't, and for what a list doesn't have.

    >>> filled("wheel of a take-up reel", teeth="41")["teeth"]
    '41'
    """
    if example and example not in EXAMPLES:
        raise MechError(f"there is no example {example!r}", f"there are {listing(EXAMPLES)}")
    for key, text in typed.items():
        if key not in ASKED:
            raise MechError(f"{key} isn't asked for", f"asked for are {', '.join(ASKED)}")
        if ASKED[key].options and text not in ASKED[key].options:
            raise MechError(f"{key} is {text!r}", f"it must be one of: {', '.join(ASKED[key].options)}")
    return BLANK | EXAMPLES.get(example, {}) | {key: str(text) for key, text in typed.items()}


def case_of(form: Mapping[str, str]) -> Case:
    """The broken gear that a filled-in form tells.  Raises MechError with all that is missing or wrong.

    >>> case_of(filled("idler between a pinion and a reel gear")).idler
    True
    >>> case_of(filled("wheel of a take-up reel", shaft_mm=""))
    Traceback (most recent call last):
    mechlib.errors.MechError: its shaft: fill it in
    """
    given = _Given(form)
    sizes = given.tried(lambda: _sizes(given))
    mates = [given.tried(lambda which=which: _mate(given, which)) for which in ("mate1", "mate2")]
    seat = given.tried(
        lambda: Seat(*map(given.number, ("shaft_mm", "most_width_mm", "most_hub_mm", "most_outside_mm")))
    )
    work = given.tried(lambda: _work(given))
    given.refuse()
    fields = {"width_mm": given.number("width_mm"), "made_of": form["made_of"]}
    mates = tuple(mate for mate in mates if mate)
    if isinstance(sizes, tuple):
        return Case(given.number("teeth"), sizes, mates, seat, work, **fields)
    return broken_gear(sizes, mates, seat, work, **fields)


def ring_of(form: Mapping[str, str]) -> Ring | None:
    """The row of teeth on which the broken gear's mark stands, if the form says where; None without a mark.

    Raises MechError for a machine that there isn't, and where its file doesn't say enough.

    >>> ring_of(filled("carriage gear of Alder, on its mark")).sentence()[:70]
    'Measure on the old carriage gear from its flat, key or pin to the midd'
    """
    mesh, side, machine = form["mesh"].strip(), form["side"], _machine(form)
    if machine is None or mesh not in machine.mesh_names or not timed_at(machine, mesh, side):
        return None
    return ring_at(machine, mesh, side)


def mark_of(form: Mapping[str, str]) -> MarkPlace | None:
    """Where the mark of a new gear, sector or rack goes, if the form says enough.

    The pitch of a rack follows from the size of its teeth.  Raises MechError for what can't be.
    """
    ring = ring_of(form)
    if ring is None:
        return None
    reads = {key: read_number(form[key], ring.unit) for key in ("mark", "first_tooth")}
    if wrong := tuple(f"{ASKED[key].label}: {one.trouble}" for key, one in reads.items() if one.trouble):
        raise MechError("; ".join(wrong), problems=wrong)
    if any(one.value is None for one in reads.values()):
        return None
    module = next((size.module_mm for size in SIZES if size.name == form["size"]), None)
    values = (one.value for one in reads.values())
    return mark_place(_machine(form), form["mesh"].strip(), *values, form["side"], module)


class _ToldAlready(Exception):
    """Something that is needed is among the problems."""


class _Given:
    """What was typed, read box by box; the problems are kept."""

    def __init__(self, form: Mapping[str, str]):
        self.form, self.problems, self.wrong = form, [], set()
        for key, asked in ASKED.items():
            trouble = ""
            if asked.needed and not form[key].strip():
                trouble = "fill it in"
            elif not asked.options and (asked.unit or key.endswith(("teeth", "shift"))):
                trouble = read_number(form[key], asked.unit).trouble
            if trouble:
                self.problems.append(f"{asked.label}: {trouble}")
                self.wrong.add(key)

    def number(self, key: str):
        """The number in a box; None if it is empty and nothing is usual.  What is wrong with it is told."""
        if key in self.wrong:
            raise _ToldAlready
        return read_number(self.form[key].strip() or USUAL.get(key, ""), ASKED[key].unit).value

    def tried(self, make):
        """What ``make`` returns; what it refuses is a problem."""
        try:
            return make()
        except _ToldAlready:
            return None
        except MechError as refused:
            self.problems += refused.problems
        return None

    def refuse(self) -> None:
        """Raise MechError with all problems, if there are any."""
        if self.problems:
            raise MechError("; ".join(self.problems), problems=tuple(self.problems))


def _sizes(given: _Given):
    readings, size, racks = _readings(given), given.form["size"], racks_of(given.form["made_to"])
    known = size != MEASURED
    if not readings and not known:
        raise MechError(
            f"{ASKED['outside_mm'].label}: fill it in, or the span, or choose the size of the teeth"
        )
    teeth, sizes = given.number("teeth"), tuple(one for one in SIZES if one.name == size or not known)
    if not readings:
        return tuple(Candidate(sizes[0], rack, 0.0, 0.0) for rack in racks(sizes[0]))
    found = identify(teeth, readings, racks, sizes)
    if not found.candidates:
        read = listing(one.words() for one in readings)
        raise MechError(f"{teeth} teeth, {read}", "no such size explains that; measure again")
    return found


def _readings(given: _Given) -> list[Reading]:
    """What the caliper read, across the tips and over some teeth."""
    outside, off = given.number("outside_mm"), given.number("off_mm")
    span, over = given.number("span_mm"), given.number("span_teeth")
    if (span is None) != (over is None):
        empty = ASKED["span_mm" if span is None else "span_teeth"].label
        raise MechError(f"{empty}: fill it in, or leave the span out")
    readings = [] if outside is None else [Reading(OUTSIDE, outside, off)]
    return readings if span is None else [*readings, Reading(SPAN, span, off, over)]


def _mate(given: _Given, which: str) -> Mate | None:
    """One of the mates; None for a second that there isn't."""
    form, keys = given.form, (which, f"{which}_teeth", f"{which}_mm")
    empty = [key for key in keys if not form[key].strip()]
    if len(empty) == 3 and not ASKED[which].needed:
        return None
    missing = [f"{ASKED[key].label}: fill it in" for key in empty if key not in given.wrong]
    if missing:
        raise MechError("; ".join(missing), problems=tuple(missing))
    teeth, centre = given.number(keys[1]), given.number(keys[2])
    shift, off = given.number(f"{which}_shift"), given.number("off_mm")
    drives, made_of = form[f"{which}_is"] == FROM, form[f"{which}_made_of"]
    return Mate(form[which].strip(), teeth, centre, drives, shift, off, made_of)


def _work(given: _Given) -> Work:
    form, torque = given.form, given.number("reel_torque_Nmm")
    radii = given.number("reel_hub_mm"), given.number("reel_full_mm")
    if torque is not None and None in radii:
        raise MechError("take-up reel", "give the radius of its hub and of its full pack as well")
    reel = {} if torque is None else {"reel": Pack(*radii, REEL_TAPE_MM), "reel_torque_Nmm": torque}
    machine = _machine(form)
    place = {"transport": machine, "mesh": form["mesh"].strip(), "side": form["side"]} if machine else {}
    return Work(
        given.number("torque_Nmm"),
        moves_tape=form["moves_tape"] == YES,
        clutch_after=form["clutch_after"] == YES,
        cold_C=given.number("cold_C"),
        warm_C=given.number("warm_C"),
        plate=form["plate"],
        **reel,
        **place,
    )


def _machine(form: Mapping[str, str]) -> Transport | None:
    name = form["machine"].strip()
    return None if name in ("", NO_MACHINE) else load(name)
