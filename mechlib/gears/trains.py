"""Gear trains on fixed axes, from one line that a technician writes: ratio, sense, speed, torque, play.

``:`` stands between two wheels that mesh, ``+`` between two on one shaft, from the input to the output:

    worm 1 : 24+18 : 18          a worm drives a 24, on whose shaft an 18 drives another 18
    12 : 30 : 40                 12 drives the idler 30, which drives 40
    15 : ring 60                 a ring has its teeth inside
    20+10 : rack m0.5            a rack of module 0.5 mm ends the train
    12 :(98 %, 0.4°) 36          what a mesh lets through, and its play at the driven wheel (mm for a rack)
    worm 2 left (lead 12°) : 30  two starts, left hand, lead angle

A mesh without a percentage is reckoned as if it lost nothing, and results say that its friction isn't given;
whether a worm without one can be driven back isn't told.  A mesh without degrees is reckoned without play.

External meshes reverse the sense, internal ones don't.  A worm and its wheel cross: lay the worm on top, look
at the wheel from the front and at the worm from its right-hand end; then a right-hand worm turns its wheel in
its own sense.  A rack lies below its pinion: + moves it to the right, as a pinion that turns
anticlockwise (+) does.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from math import atan, pi, prod, radians, tan

from mechlib.errors import MechError, check_count, check_number
from mechlib.gears.exact import exact
from mechlib.say import listing, say

KINDS = {"gear": (4, 2000), "ring": (10, 2000), "worm": (1, 12), "rack": (0, 0)}
LEAST_EFFICIENCY = 0.05
MOST_PLAY = 45.0  # degrees, or mm at a rack
LEAD_DEG = (0.5, 60.0)
MODULE_MM = (0.05, 50.0)
MOST_MESHES = 40


@dataclass(frozen=True)
class Wheel:
    """A wheel of a train: a "gear" (teeth outside), "ring" (inside), "worm" (teeth: its starts) or "rack".

    ``teeth``: 4 to 2000, of a ring 10 to 2000, of a worm 1 to 12, of a rack 0.  A worm has a ``hand``,
    "right" or "left", and may have its ``lead_deg``, 0.5 to 60°; a rack has its ``module_mm``, 0.05 to 50 mm.
    Raises MechError otherwise.
    """

    kind: str
    teeth: int
    hand: str = "right"
    lead_deg: float | None = None
    module_mm: float | None = None

    def __post_init__(self):
        if self.kind not in KINDS:
            raise MechError(f"wheel is a {self.kind!r}", f"it must be one of: {listing(KINDS)}")
        what = "starts" if self.kind == "worm" else "teeth"
        object.__setattr__(self, "teeth", check_count(f"{what} of {self}", self.teeth, *KINDS[self.kind]))
        if self.kind != "worm" and (self.hand != "right" or self.lead_deg is not None):
            raise MechError(str(self), "only a worm has a hand and a lead angle here")
        if self.hand not in ("right", "left"):
            raise MechError(f"hand of {self} is {self.hand!r}", "it must be right or left")
        if self.lead_deg is not None:
            check_number(f"lead angle of {self}", self.lead_deg, *LEAD_DEG, "°")
        if self.kind == "rack":
            check_number(f"module of {self}", self.module_mm, *MODULE_MM, "mm", "write it as in: rack m0.5")

    def __str__(self):
        if self.kind == "rack":
            return "rack" if self.module_mm is None else f"rack m{self.module_mm:g}"
        name = str(self.teeth) if self.kind == "gear" else f"{self.kind} {self.teeth}"
        return name + (" left" if self.hand == "left" else "")


@dataclass(frozen=True)
class Mesh:
    """Two wheels in mesh, with what gets through and how loose it is.

    ``efficiency``: 0.05 to 1, with the driver driving, None where it isn't given; ``play``: 0 to 45, in
    degrees of the driven wheel or mm of a rack.  Raises MechError for wheels that can't mesh, and for values
    out of range.
    """

    driver: Wheel
    driven: Wheel
    efficiency: float | None = None
    play: float = 0.0

    def __post_init__(self):
        for wheel in (self.driver, self.driven):
            if not isinstance(wheel, Wheel):
                raise MechError(f"a wheel of the mesh is {wheel!r}", 'make it as in Wheel("gear", 24)')
        if self.efficiency is not None:
            check_number(f"efficiency of {self}", self.efficiency, LEAST_EFFICIENCY, 1)
        check_number(f"play of {self}", self.play, 0, MOST_PLAY)
        kinds = {self.driver.kind, self.driven.kind}
        if kinds not in ({"gear"}, {"gear", "ring"}, {"gear", "worm"}, {"gear", "rack"}):
            raise MechError(str(self), "only a plain gear meshes with a ring, a worm or a rack")
        if self.driver.kind == "rack":
            raise MechError(str(self), "a rack ends a train; write the train from the gear's side")
        inside, ring = sorted((self.driver, self.driven), key=lambda wheel: wheel.kind)
        if ring.kind == "ring" and ring.teeth <= inside.teeth:
            raise MechError(str(self), "a ring must have more teeth than the wheel inside it")

    def __str__(self):
        return f"{self.driver} : {self.driven}"

    @property
    def ratio(self) -> Fraction:
        """Turns of the driven wheel (teeth moved, of a rack) for one turn of the driver, signed.

        >>> Mesh(Wheel("gear", 12), Wheel("gear", 36)).ratio, Mesh(Wheel("worm", 2), Wheel("gear", 30)).ratio
        (Fraction(-1, 3), Fraction(1, 15))
        """
        if self.driven.kind == "rack":
            return Fraction(self.driver.teeth)
        reverses = self.driver.kind == self.driven.kind or "left" in (self.driver.hand, self.driven.hand)
        return Fraction(self.driver.teeth, -self.driven.teeth if reverses else self.driven.teeth)

    @property
    def passes(self) -> float:
        """The efficiency to reckon with: 1 where none is given."""
        return 1.0 if self.efficiency is None else self.efficiency

    @property
    def worm(self) -> Wheel | None:
        """The worm, if one of the two is one."""
        return next((wheel for wheel in (self.driver, self.driven) if wheel.kind == "worm"), None)

    @property
    def back_efficiency(self) -> float:
        """What it lets through when the driven wheel drives: 0 if it locks itself.

        The same both ways for spur meshes.  A worm rubs like a screw: tan γ/tan(γ + ρ) of the power comes
        through from worm to wheel, tan(γ − ρ)/tan γ from wheel to worm; the friction angle ρ follows from the
        one and gives the other.  If the lead angle γ isn't known it is taken as small: then η′ = 2 − 1/η.
        Source: the screw as an inclined plane, in any handbook of machine design.  Raises MechError for a
        worm whose efficiency isn't given.

        >>> Mesh(Wheel("worm", 1), Wheel("gear", 24), 0.4).back_efficiency
        0.0
        >>> round(Mesh(Wheel("worm", 2, lead_deg=20), Wheel("gear", 30), 0.8).back_efficiency, 4)
        0.7638
        """
        worm = self.worm
        if worm is None:
            return float(self.passes)
        if self.efficiency is None:
            right = f"write what it lets through, as in {self.driver} :(40 %) {self.driven}"
            raise MechError(f"whether {self} can be driven back depends on its friction", right)
        drives = worm is self.driver
        if worm.lead_deg is None:
            return max(0.0, 2 - 1 / self.efficiency) if drives else 1 / (2 - self.efficiency)
        lead = radians(worm.lead_deg)
        if drives:
            friction = atan(tan(lead) / self.efficiency) - lead
            return max(0.0, tan(lead - friction) / tan(lead))
        friction = lead - atan(tan(lead) * self.efficiency)
        return tan(lead) / tan(lead + friction)


@dataclass(frozen=True)
class Train:
    """Meshes one after the other: the driven wheel of each is on one shaft with the next driver.

    ``meshes``: 1 to 40; a rack only in the last.  Raises MechError otherwise.
    """

    meshes: tuple[Mesh, ...]

    def __post_init__(self):
        if not isinstance(self.meshes, tuple) or not all(isinstance(mesh, Mesh) for mesh in self.meshes):
            raise MechError(f"the meshes are {self.meshes!r}", "give a tuple of Mesh, or write train(text)")
        if not 1 <= len(self.meshes) <= MOST_MESHES:
            raise MechError(f"the train has {len(self.meshes)} meshes", f"it must have 1 to {MOST_MESHES}")
        for mesh in self.meshes[:-1]:
            if mesh.driven.kind == "rack":
                raise MechError(str(mesh), "a rack ends a train; it has no shaft to go on from")

    @property
    def ends_in_rack(self) -> bool:
        """Whether the last mesh moves a rack."""
        return self.meshes[-1].driven.kind == "rack"

    @cached_property
    def ratios(self) -> tuple[Fraction, ...]:
        """Turns of every shaft for one turn of the first, which comes first itself; teeth for a rack."""
        found = [Fraction(1)]
        for mesh in self.meshes:
            found.append(found[-1] * mesh.ratio)
        return tuple(found)

    @property
    def ratio(self) -> Fraction:
        """Output over input speed, exact and signed; for a rack, the teeth that it moves in one turn.

        >>> from mechlib.gears.read_train import train
        >>> train("12 : 30 : 40").ratio, train("15 : ring 60").ratio
        (Fraction(3, 10), Fraction(1, 4))
        """
        return self.ratios[-1]

    @property
    def travel_mm(self) -> float:
        """Travel of the rack for one turn of the input, z·π·m, signed.  Raises MechError without a rack.

        >>> from mechlib.gears.read_train import train
        >>> round(train("20 : rack m0.5").travel_mm, 4)
        31.4159
        """
        if not self.ends_in_rack:
            raise MechError(f"{self} ends in a gear", "only a rack has a travel in mm")
        return float(self.ratio) * pi * self.meshes[-1].driven.module_mm

    @property
    def efficiency(self) -> float:
        """Power out over power in, driven from the input: the product over all meshes, see ``untold``."""
        return prod(mesh.passes for mesh in self.meshes)

    @property
    def untold(self) -> tuple[Mesh, ...]:
        """The meshes whose efficiency isn't given: they are reckoned as if they lost nothing."""
        return tuple(mesh for mesh in self.meshes if mesh.efficiency is None)

    def lost(self, efficiency: float) -> str:
        """The share of the power that is lost, in words, with the meshes of which no one has said it."""
        lost = f"{say(100 * (1 - efficiency), '%')} of the power is lost"
        if not self.untold:
            return f"; {lost}"
        if len(self.untold) == len(self.meshes):
            return ": friction isn't given"
        return f": the friction of {listing(map(str, self.untold))} isn't given, elsewhere {lost}"

    @property
    def back_efficiency(self) -> float:
        """The same driven from the output: 0 if a mesh locks itself.  Raises MechError as Mesh does."""
        return 0.0 if self.locked_by else prod(mesh.back_efficiency for mesh in self.meshes)

    @property
    def locked_by(self) -> Mesh | None:
        """The mesh nearest to the output that is known not to be driven back, if there is one."""
        known = [mesh for mesh in reversed(self.meshes) if mesh.efficiency is not None]
        return next((mesh for mesh in known if not mesh.back_efficiency), None)

    def __str__(self):
        text = str(self.meshes[0])
        for before, mesh in zip(self.meshes, self.meshes[1:], strict=False):
            text += f" : {mesh.driven}" if mesh.driver == before.driven else f"+{mesh}"
        return text

    def sentence(self) -> str:
        """Ratio and sense."""
        ratio, first = self.ratio, "One turn of the input"
        if self.ends_in_rack:
            way = "right" if ratio > 0 else "left"
            return f"{first} moves the rack {say(abs(self.travel_mm), 'mm', 3)} to the {way}."
        sense = "in the same sense" if ratio > 0 else "the other way round"
        turns = "of a turn" if abs(ratio) < 1 else "turn" if abs(ratio) == 1 else "turns"
        return f"{first} gives {abs(ratio)} {turns} of the output, {sense}."


@dataclass(frozen=True)
class TrainAtWork:
    """A train that its input drives: exact speed (rev/min) and torque (N·mm) of every shaft in turn.

    Both are signed alike, since power goes forward.  At a rack the last speed is in teeth a minute,
    ``torques_Nmm`` ends at its pinion and ``force_N`` is what it pushes with.
    """

    train: Train
    speeds: tuple[Fraction, ...]
    torques_Nmm: tuple[float, ...]
    force_N: float | None

    def sentence(self) -> str:
        """Speed and torque at the output, and what is lost on the way, as far as it is given."""
        lost, most = self.train.lost(self.train.efficiency), "at most " if self.train.untold else ""
        for mesh in self.train.untold:
            if mesh.driven is mesh.worm:
                lost += f"; whether {mesh.driver} can turn {mesh.driven} depends on that"
        if self.force_N is None:
            speed = say(float(self.speeds[-1]), "rev/min", 2, sign=True)
            return f"The output turns at {speed} with {most}{say(abs(self.torques_Nmm[-1]), 'N·mm')}{lost}."
        speed = say(float(self.speeds[0]) / 60 * self.train.travel_mm, "mm/s", 2, sign=True)
        return f"The rack moves at {speed} and pushes with {most}{say(self.force_N, 'N', 2)}{lost}."


def _check_train(train) -> None:
    if not isinstance(train, Train):
        raise MechError(f"the train is {train!r}", 'read it from a line first, as in train("12 : 36")')


def drive(train: Train, rev_min: float | Fraction, torque_Nmm: float) -> TrainAtWork:
    """Speeds and torques along a train that its input drives: n_k = n_1·i_k, T_k = T_1·Π η/i_k.

    ``rev_min``: of the input, signed; ``torque_Nmm``: at the input, 0 to 1e9, in the sense of motion.  A rack
    is pushed with F = 2π·T_1·Π η/travel.  Raises MechError for values out of range.

    >>> from mechlib.gears.read_train import train
    >>> drive(train("12 :(98 %) 36"), 90, 10).sentence()
    'The output turns at −30.00 rev/min with 29.4 N·mm; 2.0% of the power is lost.'
    """
    _check_train(train)
    turned = exact("rev_min", rev_min)
    torque = check_number("torque_Nmm", torque_Nmm, 0, 1e9, "N·mm")
    torques = [-torque if turned < 0 else torque]
    for mesh in train.meshes:
        if mesh.driven.kind != "rack":
            torques.append(torques[-1] * mesh.passes / float(mesh.ratio))
    force = 2 * pi * torque * train.efficiency / abs(train.travel_mm) if train.ends_in_rack else None
    return TrainAtWork(train, tuple(turned * ratio for ratio in train.ratios), tuple(torques), force)


@dataclass(frozen=True)
class DrivenBack:
    """A train driven from its output: what arrives at the input, in N·mm; 0 if a mesh locks itself."""

    train: Train
    torque_Nmm: float

    def sentence(self) -> str:
        """What arrives, or where it stops."""
        if lock := self.train.locked_by:
            return f"Driven from the output nothing moves: {lock} locks itself."
        lost, most = self.train.lost(self.train.back_efficiency), "at most " if self.train.untold else ""
        return f"Driven from the output, the input gives {most}{say(self.torque_Nmm, 'N·mm', 2)}{lost}."


def drive_back(train: Train, load: float) -> DrivenBack:
    """What a load at the output gives at the input: T_in = T_out·|i|·Π η′, for a rack F·travel/2π·Π η′.

    ``load``: torque in N·mm, or force on the rack in N, 0 to 1e9.  Raises MechError out of range, and for a
    worm whose efficiency isn't given, unless another mesh locks the train.

    >>> from mechlib.gears.read_train import train
    >>> drive_back(train("worm 1 :(40 %) 24+18 : 18"), 50).sentence()
    'Driven from the output nothing moves: worm 1 : 24 locks itself.'
    """
    _check_train(train)
    load = check_number("load", load, 0, 1e9, "N" if train.ends_in_rack else "N·mm")
    lever = abs(train.travel_mm) / (2 * pi) if train.ends_in_rack else abs(float(train.ratio))
    return DrivenBack(train, load * lever * train.back_efficiency)


@dataclass(frozen=True)
class TrainPlay:
    """Play of each mesh as felt at the output with the input held, in degrees, or mm of a rack."""

    train: Train
    parts: tuple[float, ...]

    @property
    def total(self) -> float:
        """Their sum."""
        return sum(self.parts)

    @property
    def input_turns(self) -> float:
        """Turns of the input that only take up the play after a reversal."""
        return abs(float(hand_turns(self.train, self.total)))

    def sentence(self) -> str:
        """The sum, the mesh that has most of it, and what it costs at the input."""
        unit = "mm" if self.train.ends_in_rack else "°"
        if not self.total:
            return "No mesh of the train is given any play."
        most = max(range(len(self.parts)), key=self.parts.__getitem__)
        share = "most of it" if self.parts[most] > self.total / 2 * (1 + 1e-9) else "the largest share"
        text = f"Play at the output {say(self.total, unit, 3)}, {share} from {self.train.meshes[most]}"
        turns = say(self.input_turns, "", 3)
        return f"{text} ({say(self.parts[most], unit, 3)}); a reversal costs {turns} input turns."


def play(train: Train) -> TrainPlay:
    """Play at the output, mesh by mesh: that of each driven wheel times the ratio from there, b·|i_out/i_k|.

    >>> from mechlib.gears.read_train import train
    >>> play(train("12 :(0.6°) 36+12 :(0.5°) 24")).sentence()
    'Play at the output 0.800°, most of it from 12 : 24 (0.500°); a reversal costs 0.013 input turns.'
    """
    _check_train(train)
    whole = train.travel_mm / 360 if train.ends_in_rack else float(train.ratio)
    last = len(train.meshes) if train.ends_in_rack else 0  # the play of a rack is in mm already
    parts = [
        mesh.play if number == last else mesh.play * abs(whole / float(ratio))
        for number, (mesh, ratio) in enumerate(zip(train.meshes, train.ratios[1:], strict=True), 1)
    ]
    return TrainPlay(train, tuple(parts))


def hand_turns(train: Train, amount: float | Fraction) -> Fraction | float:
    """Turns of the input that move the output by ``amount``: degrees/360/i (exact), or mm/travel for a rack.

    ``amount``: signed.  Raises MechError if it is no number.

    >>> from mechlib.gears.read_train import train
    >>> hand_turns(train("worm 1 : 24+20 : 80"), -90)
    Fraction(24, 1)
    """
    _check_train(train)
    if train.ends_in_rack:
        return check_number("amount", amount) / train.travel_mm
    return exact("amount", amount) / 360 / train.ratio
