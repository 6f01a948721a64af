"""One gear judged as a substitute: does it mesh, does it go in, what does it bear, what does it change."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from fractions import Fraction

from mechlib.bench.broken_gear import Case, Mate, SoundGear
from mechlib.bench.mark_place import SECTOR
from mechlib.bench.other_teeth import OtherTeeth, other_teeth
from mechlib.drives.capstan import SpeedError
from mechlib.drives.reels import TensionRange, tension_range
from mechlib.errors import MechError
from mechlib.gears.materials import MATERIALS, material
from mechlib.gears.spur import Gear
from mechlib.gears.spur_checks import findings
from mechlib.gears.spur_contact import contact
from mechlib.gears.spur_heat import WarmMesh, warmed
from mechlib.gears.spur_mesh import SpurMesh, mesh, tight_centre_mm, tip_gap_mm
from mechlib.gears.strength import tooth_force_N, tooth_stress_MPa
from mechlib.say import count, say

MEASURED_C = 20.0  # lengths are those at this temperature
# Limits of the judgement: common practice, no source.
FIT_MM = 0.02  # a bore this close to the shaft goes on as it is
RIM = 1.2  # of the teeth's height: what should be left between bore and root
LEAST_RIM = 0.5
CLEARANCE = 0.1  # modules, from a tip to the mate's root
SLACK = 0.3  # modules of backlash from which a pair is called slack
DIG = 0.02  # modules by which a tip may cut into a root before the pair is refused
TAPE_PERCENT = 1.5  # by which the tape may run too fast or too slow
WEAK = 0.8  # of what the broken gear bore
MARK_IT = (
    "mark it where the old one was marked, as many teeth from its flat, key or pin as there: it has no "
    "mark of its own (see where its mark goes)"
)
CUT_DOWN = "cut it down to the sector that the old one is, or see that a whole gear has room all the way"


@dataclass(frozen=True)
class Offer:
    """A gear that might go in; ``hub_mm`` is 0 without a hub."""

    gear: Gear
    bore_mm: float
    width_mm: float
    hub_mm: float
    made_of: str


@dataclass(frozen=True)
class MateFound:
    """The offered gear (gear 1) in mesh with one mate: as measured, at its coldest and at its warmest."""

    mate: Mate
    mesh: SpurMesh
    cold: WarmMesh
    warm: WarmMesh

    @property
    def ratio(self) -> float:
        """The least contact ratio, cold or warm."""
        return min(self.cold.ratio, self.warm.ratio)

    @property
    def clearance_mm(self) -> float:
        """The least room from a tip to the mate's root, cold or warm, either way."""
        return min(*self.cold.clearance_mm, *self.warm.clearance_mm)

    @property
    def least_mm(self) -> float:
        """The least backlash, cold or warm; below 0 the teeth bind."""
        return min(self.cold.least_mm, self.warm.least_mm)

    @property
    def most_mm(self) -> float:
        """The most backlash, cold or warm."""
        return max(self.cold.backlash_mm, self.warm.backlash_mm)

    def sentence(self) -> str:
        """Backlash, room at the tips and contact ratio."""

        def ends(cold: float, warm: float) -> str:
            return f"{say(cold, '', 3)} mm cold, {say(warm, 'mm', 3)} warm"

        gaps = ends(self.cold.least_mm, self.warm.least_mm)
        tips = ends(min(self.cold.clearance_mm), min(self.warm.clearance_mm))
        told = f"With the {self.mate.name}: backlash {gaps}; from tip to root {tips}"
        return f"{told}; contact ratio at least {say(self.ratio, '', 2)}."


@dataclass(frozen=True)
class Effects:
    """What a gear changes in the machine.

    ``speed_ratio``: of what follows, over the speed before; ``tape``: the error of its speed; ``reel``: the
    tension at the take-up reel before and after; ``machine``: the transport before and after.  None for what
    the case doesn't say.
    """

    speed_ratio: Fraction
    tape: SpeedError | None = None
    reel: tuple[TensionRange, TensionRange] | None = None
    machine: OtherTeeth | None = None

    @property
    def none(self) -> bool:
        """Whether the machine runs as before."""
        return self.speed_ratio == 1 and (self.machine is None or self.machine.exact)

    def sentence(self) -> str:
        """What changes."""
        if self.none:
            return "It changes nothing in the machine."
        percent = say(100 * float(self.speed_ratio - 1), "%", 2, sign=True)
        said = [f"What follows runs at {self.speed_ratio} of its speed, {percent}."]
        if self.tape:
            said.append(self.tape.sentence())
        if self.reel:
            before, after = self.reel
            pull = f"{say(before.empty_N, 'N', 2)} and {say(before.full_N, 'N', 2)}"
            said.append(f"At the reel {after.sentence()}")
            said.append(f"Before it was {say(before.torque_Nmm, 'N·mm')}, with {pull}.")
        if self.machine:
            said.append(self.machine.sentence())
        return " ".join(said)


@dataclass(frozen=True)
class Judged:
    """What was found out about an offer.

    ``against``: why it can't be used; ``to_do``: what must be done to it first; ``caveats``: what to mind;
    ``bears``: the torque that its teeth bear over what the broken gear's did, ``safety``: what its material
    may bear over what the torque asks of it; None where the case doesn't say enough.
    """

    offer: Offer
    against: tuple[str, ...]
    to_do: tuple[str, ...]
    caveats: tuple[str, ...]
    meshes: tuple[MateFound, ...]
    effects: Effects
    bears: float | None = None
    safety: float | None = None


def judge_offer(given: Case, sound: SoundGear, offer: Offer) -> Judged:
    """Judge a gear of the right module and pressure angle for a place.

    ``given``: the case; ``sound``: the size that the broken gear is taken to have had; ``offer``: the gear.
    Too high tips are cut short if that is all that is wrong.  Returns a Judged; raises MechError for nothing
    that concerns the offer: that is among its reasons.
    """
    notes = _Notes()
    offer = _shortened(given, sound, offer, notes)
    meshes = tuple(
        found
        for pair in zip(given.mates, sound.mates, strict=True)
        if (found := _with_mate(given, sound, offer, *pair, notes))
    )
    _seat(given, offer, notes)
    if not notes.against:  # where teeth bind, or there is no room outside, nobody asks for more
        notes.against += notes.too_high
    bears, safety = _strength(given, sound, offer, notes)
    effects = _changes(given, offer.gear.teeth, notes)
    return Judged(
        offer, tuple(notes.against), tuple(notes.to_do), tuple(notes.caveats), meshes, effects, bears, safety
    )


class _Notes:
    """What is found, as it is found."""

    def __init__(self):
        self.against, self.to_do, self.caveats = [], [], []
        self.too_high = []


def _shortened(given: Case, sound: SoundGear, offer: Offer, notes: _Notes) -> Offer:
    """The offer with tips cut short where they come too close to a mate's root, shafts at their nearest."""
    gear, module = offer.gear, offer.gear.module_mm
    pairs = zip(sound.mates, given.mates, strict=True)
    gaps = (tip_gap_mm(gear, mate, at.centre_mm - at.off_mm) for mate, at in pairs)
    lacking = min(gaps) - CLEARANCE * module
    if lacking >= -0.005 * module:
        return offer
    try:
        shorter = replace(gear, tip_alteration=gear.tip_alteration + lacking / module)
    except MechError:  # no such gear: nothing would be left of its teeth
        notes.too_high.append(f"its tips are {say(-lacking, 'mm', 2)} too high: so much can't be turned off")
        return offer
    before, after = say(gear.tip_mm, "", 2), say(shorter.tip_mm, "mm", 2)
    notes.to_do.append(f"turn its outside down from {before} to {after}, else it touches a root")
    return replace(offer, gear=shorter)


def _with_mate(
    given: Case, sound: SoundGear, offer: Offer, mate: Mate, gear: Gear, notes: _Notes
) -> MateFound | None:
    """The mesh with one mate, or None with the reason among the notes."""
    try:
        pair = mesh(offer.gear, gear, mate.centre_mm)
    except MechError as error:
        notes.against.append(f"with the {mate.name} {_too_near(offer.gear, gear, mate.centre_mm) or error}")
        return None
    work = given.work
    names = (offer.made_of if offer.made_of in MATERIALS else given.made_of, mate.material, work.plate)
    grows = tuple(material(name).expansion_per_K for name in names)
    try:
        cold, warm = (warmed(pair, (at - MEASURED_C,) * 3, grows) for at in (work.cold_C, work.warm_C))
    except MechError as error:  # so cold or warm that the base circles don't reach any more
        notes.against.append(f"with the {mate.name}, {error}")
        return None
    found = MateFound(mate, pair, cold, warm)
    _judge_mesh(found, offer.gear.module_mm, sound.gear.undercut, notes)
    return found


def _too_near(offered: Gear, gear: Gear, centre: float) -> str:
    """How far apart the shafts would have to be, where that is further than they are; else nothing."""
    try:
        needed = tight_centre_mm(offered, gear)
    except MechError:
        return ""
    if needed <= centre:
        return ""
    digits = 2 if needed - centre > 0.01 else 4  # mm
    apart = f"it would need {say(needed, 'mm', digits)} from shaft to shaft"
    return f"the teeth bind: {apart}, there are {say(centre, 'mm', digits)}"


def _judge_mesh(found: MateFound, module: float, was_undercut: bool, notes: _Notes) -> None:
    name, path = found.mate.name, contact(found.mesh)
    if found.ratio < 1:
        when = "" if path.ratio < 1 else " cold" if found.ratio == found.cold.ratio else " warm"
        least = say(found.ratio, "", 3 if found.ratio >= 0.995 else 2)
        notes.against.append(f"with the {name} teeth lose touch{when}: contact ratio {least}")
    if max(path.dig_mm) > DIG * module:
        deep = say(max(path.dig_mm), "mm", 3)
        notes.against.append(f"with the {name} tips cut {deep} into the roots")
    for state, words in ((found.cold, "cold"), (found.warm, "warm")):
        if state.binds:
            least = say(min(state.least_mm, *state.clearance_mm), "mm", 3)
            notes.against.append(f"{words} it binds with the {name}: {least} left")
    notes.caveats += _if_the_shafts_are_off(found)
    if found.most_mm > SLACK * module:
        notes.caveats.append(f"it is slack: {say(found.most_mm, 'mm', 3)} of backlash with the {name}")
    notes.caveats += _told(found, found.ratio < 1, was_undercut)


def _if_the_shafts_are_off(found: MateFound) -> list[str]:
    """What would be wrong with the shafts as far off as they may be, at the coldest and at the warmest."""
    name, centre, off = found.mate.name, found.mesh.centre_mm, found.mate.off_mm
    said, lean = [], math.tan(math.radians(found.mesh.working_angle_deg))
    gap = found.clearance_mm
    if min(found.least_mm, gap) >= 0 > min(found.least_mm - 2 * off * lean, gap - off):
        said.append(f"it binds with the {name} if the shafts are only {say(centre - off, 'mm', 2)} apart")
    apart = mesh(found.mesh.gear1, found.mesh.gear2, centre + off)
    states = (warmed(apart, one.rise_K, one.expansion_per_K) for one in (found.cold, found.warm))
    if found.ratio >= 1 > min(state.ratio for state in states):
        said.append(f"it loses touch with the {name} if the shafts are {say(centre + off, 'mm', 2)} apart")
    return said


def _told(found: MateFound, loses_touch: bool, was_undercut: bool) -> list[str]:
    """What else speaks against a mesh, but for what is told already, or was so with the broken gear too.

    Backlash and room at the tips are judged cold, warm and with the shafts off.
    """
    said = []
    for one in findings(found.mesh, least_clearance=0.0, least_backlash=0.0):
        known = one.startswith("Gear 2") or (loses_touch and "contact ratio" in one)
        if known or (was_undercut and "is undercut" in one):
            continue
        about_it = one.startswith("Gear 1")
        rest = one.split(", ", 2)[2] if about_it else f"{one[0].lower()}{one[1:]}"
        said.append(f"it {rest[:-1]}" if about_it else f"with the {found.mate.name} {rest[:-1]}")
    return said


def _seat(given: Case, offer: Offer, notes: _Notes) -> None:
    """Whether it goes in, and what must be done to it for that."""
    seat, gear = given.seat, offer.gear
    if seat.most_outside_mm is not None and gear.tip_mm > seat.most_outside_mm:
        across = (
            f"{say(gear.tip_mm, '', 2)} mm across, there is room for {say(seat.most_outside_mm, 'mm', 2)}"
        )
        notes.against.append(f"it is {across}")
    height = gear.module_mm * (gear.rack.addendum + gear.rack.dedendum)
    wall = (gear.root_mm - max(offer.bore_mm, seat.shaft_mm)) / 2
    if wall < LEAST_RIM * height:
        notes.against.append(f"only {say(wall, 'mm', 2)} would be left between its bore and its teeth")
    elif wall < RIM * height:
        notes.caveats.append(f"{say(wall, 'mm', 2)} between bore and teeth is little")
    bores = f"from {say(offer.bore_mm, '', 2)} to {say(seat.shaft_mm, 'mm', 2)}"
    if offer.bore_mm < seat.shaft_mm - FIT_MM:
        notes.to_do.append(f"bore it out {bores}, true to the teeth")
    elif offer.bore_mm > seat.shaft_mm + FIT_MM:
        notes.to_do.append(f"bush its bore {bores}, true to the teeth")
    if seat.most_width_mm is not None and offer.width_mm > seat.most_width_mm:
        notes.to_do.append(
            f"face it from {say(offer.width_mm, '', 1)} to {say(seat.most_width_mm, 'mm')} wide"
        )
    if seat.most_hub_mm is not None and offer.hub_mm > seat.most_hub_mm:
        notes.to_do.append(f"turn its hub from {say(offer.hub_mm, '', 1)} to {say(seat.most_hub_mm, 'mm')}")


def _strength(
    given: Case, sound: SoundGear, offer: Offer, notes: _Notes
) -> tuple[float | None, float | None]:
    """What it bears beside the broken gear, and beside the torque."""
    if offer.made_of not in MATERIALS:
        notes.caveats.append(f"made of {offer.made_of or 'an unknown material'}, whose strength isn't known")
        return None, None
    most = given.seat.most_width_mm
    width = offer.width_mm if most is None else min(offer.width_mm, most)
    bears = may_carry_Nmm(offer.gear, width, offer.made_of)
    share = safety = None
    if given.width_mm is not None:
        share = bears / may_carry_Nmm(sound.gear, given.width_mm, given.made_of)
        if share < WEAK:
            notes.caveats.append(f"its teeth bear {say(100 * share, '%', 0)} of what the broken gear's did")
    if given.work.torque_Nmm:
        safety = bears / given.work.torque_Nmm
        if safety < 1:
            asked = say(given.work.torque_Nmm, "N·mm")
            notes.against.append(f"its teeth may carry {say(bears, 'N·mm')}, the work asks {asked}")
    return share, safety


def may_carry_Nmm(gear: Gear, width_mm: float, made_of: str) -> float:
    """Torque at which the bending stress by Lewis is what the material may bear: T = σ·b·m·Y·d/2.

    ``width_mm``: 0.1 to 500; ``made_of``: of ``gears.materials``.  A rough guide only, see there.  Raises
    MechError out of range.

    >>> from mechlib.gears.racks import FINE
    >>> round(may_carry_Nmm(Gear(24, 0.5, FINE), 3, "acetal"))
    81
    """
    one = 1.0  # N·mm; the stress grows with the torque
    stress = tooth_stress_MPa(gear, tooth_force_N(gear, one), width_mm)
    return one * material(made_of).bending_MPa / stress


def effects_of(given: Case, teeth: int) -> Effects:
    """What another count does to the speed, the reel and the machine.

    ``teeth``: 6 to 2000.  Raises MechError out of range, and where the transport can't be with that count.
    """
    ratio, work = given.speed_ratio(teeth), given.work
    tape = SpeedError(float(ratio)) if work.moves_tape else None
    reel = None
    if work.reel is not None:
        # Without a clutch behind it the reel gets what the motor's side gives: slower is stronger.
        torque = work.reel_torque_Nmm if work.clutch_after else work.reel_torque_Nmm / float(ratio)
        reel = tension_range(work.reel, work.reel_torque_Nmm), tension_range(work.reel, torque)
    machine = other_teeth(work.transport, work.mesh, work.side, teeth) if work.transport else None
    return Effects(ratio, tape, reel, machine)


def _changes(given: Case, teeth: int, notes: _Notes) -> Effects:
    """What a gear changes in the machine, and what speaks against that."""
    if notes.against:  # refused already: no machine need be worked out for it
        return Effects(given.speed_ratio(teeth))
    try:
        effects = effects_of(given, teeth)
    except MechError as error:  # there is no such machine
        notes.against.append(str(error))
        return Effects(given.speed_ratio(teeth))
    if effects.machine and not effects.machine.exact and given.work.timed:
        needed = f"the {given.work.mesh} is meshed on marks and needs {given.teeth} teeth exactly"
        notes.against.append(f"{needed}: with another count every event moves")
    elif effects.tape and abs(effects.tape.percent) > TAPE_PERCENT:
        notes.against.append(effects.tape.sentence()[:-1].replace("The tape", "the tape"))
    elif effects.machine and effects.machine.failing:
        notes.against.append(f"{count(len(effects.machine.failing), 'mode change')} would fail")
    if given.work.timed and not notes.against:
        notes.to_do += [*([CUT_DOWN] if given.work.ring.kind == SECTOR else []), MARK_IT]
    return effects
