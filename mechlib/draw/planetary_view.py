"""What the picture of a planetary set shows: the wheels with their teeth, and where each stands."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from math import pi, sin

from mechlib.errors import MechError, check_count, check_number
from mechlib.gears.planetary import PlanetarySet, Speeds
from mechlib.gears.racks import ISO_53_A
from mechlib.gears.spur import TEETH, Gear, Ring
from mechlib.gears.spur_mesh import mesh_angle, ring_for
from mechlib.say import listing

MOST_PLANETS = 12
SUN, CARRIER, RING, PLANET = ROLES = ("sun", "carrier", "ring", "planet")


@dataclass(frozen=True)
class View:
    """What the picture shows, in plain numbers; ``told`` is the finding that goes with it.

    ``teeth``: of sun, planet and ring, 6 to 1000 each, ring = sun + 2·planet; ``planets``: 1 to 12;
    ``rev_min`` and ``names``: of each of ROLES; ``sun_deg``, ``carrier_deg``: how far these two have turned
    since a tooth of the sun and planet 1 stood on the x axis; ``driven``, ``held``: any of ROLES.  Raises
    MechError for other values, and where the wheels don't fit together.
    """

    teeth: tuple[int, int, int]
    planets: int
    module_mm: float
    rev_min: Mapping[str, float]
    names: Mapping[str, str]
    sun_deg: float
    carrier_deg: float
    driven: tuple[str, ...]
    held: tuple[str, ...]
    told: str

    def __post_init__(self):
        check_count("planets", self.planets, 1, MOST_PLANETS)
        check_number("sun_deg", self.sun_deg)
        check_number("carrier_deg", self.carrier_deg)
        for role in ROLES:
            check_number(f"rev_min of the {role}", self.rev_min.get(role))
        if wrong := {*self.driven, *self.held} - set(ROLES):
            raise MechError(f"there is no {listing(sorted(wrong))}", f"the parts are {listing(ROLES)}")
        self._check_room()

    def _check_room(self) -> None:
        sun, planet, ring = (
            check_count(f"teeth of the {role}", number, *TEETH)
            for role, number in zip((SUN, PLANET, RING), self.teeth, strict=True)
        )
        if ring != sun + 2 * planet:
            problem = f"to run on one axis without profile shift it needs sun + 2·planet, {sun + 2 * planet}"
            raise MechError(f"the ring has {ring} teeth", problem)
        places = [*self._steps, sun + ring]
        nearest = min(after - at for at, after in zip(places, places[1:], strict=False))
        apart = 2 * self.centre_mm * sin(pi * nearest / (sun + ring))
        if self.planets > 1 and apart <= self.wheels[1].tip_mm:
            problem = "with tips of ISO 53 A they would run into each other; use fewer"
            raise MechError(f"{self.planets} planets of {planet} teeth", problem)

    @property
    def wheels(self) -> tuple[Gear, Gear, Ring]:
        """Sun, planet and ring as gears with teeth."""
        return _wheels(*self.teeth, self.module_mm)

    @property
    def centre_mm(self) -> float:
        """Distance of the planets' pins from the axis."""
        return self.module_mm * (self.teeth[0] + self.teeth[1]) / 2

    @property
    def _steps(self) -> list[int]:
        """Where the planets stand, in steps of 360°/(sun + ring): they go in at whole ones only."""
        total = self.teeth[0] + self.teeth[2]
        return [round(at * total / self.planets) for at in range(self.planets)]

    @property
    def equally_spaced(self) -> bool:
        """Whether the planets can be spaced equally."""
        return (self.teeth[0] + self.teeth[2]) % self.planets == 0

    @property
    def directions_deg(self) -> list[float]:
        """Where each planet stands: equally spaced, or as near to that as it goes in."""
        step = 360 / (self.teeth[0] + self.teeth[2])
        return [self.carrier_deg + step * at for at in self._steps]

    def planet_deg(self, direction_deg: float) -> float:
        """The angle of the planet that stands there."""
        sun, planet, _ = self.wheels
        return mesh_angle(sun, planet, self.centre_mm, self.sun_deg, direction_deg)

    @property
    def ring_deg(self) -> float:
        """The angle of the ring, found through planet 1."""
        _, planet, ring = self.wheels
        direction = self.directions_deg[0]
        return mesh_angle(planet, ring, self.centre_mm, self.planet_deg(direction), direction)

    def sentence(self) -> str:
        """The finding."""
        return self.told


@lru_cache(maxsize=64)
def _wheels(sun: int, planet: int, ring: int, module_mm: float) -> tuple[Gear, Gear, Ring]:
    """Sun, planet and ring with teeth of ISO 53 A: so they are drawn, and so planets clear one another."""
    mate = Gear(planet, module_mm, ISO_53_A)
    return Gear(sun, module_mm, ISO_53_A), mate, ring_for(mate, ring)


def view(
    one: PlanetarySet, turned: Speeds, planets: int, seconds: float,
    driven=(), held=(), told: str = "", module_mm: float = 1.0,
) -> View:  # fmt: skip
    """What to draw of a simple set ``seconds`` after its start, turning at the speeds found for it.

    ``one``: a sun, equal planets and a ring; ``turned``: its speeds; ``planets``: 1 to 12; ``driven`` and
    ``held``: names of members; ``told``: the sentence for the picture; ``module_mm``: 0.05 to 50 mm.  Raises
    MechError for another kind of set, and where the wheels don't fit together.

    >>> from mechlib.gears.planetary import Driven, Held, simple_set, speeds
    >>> one = simple_set(16, 16, 48)
    >>> shown = view(one, speeds(one, [Driven("sun", 60), Held("ring")]), 4, 0.5, ["sun"], ["ring"])
    >>> shown.sun_deg, shown.carrier_deg, shown.ring_deg
    (180.0, 45.0, 67.5)
    """
    simple = len(one.planets) == 1 and one.planets[0][0] == one.planets[0][1]
    if not simple or one.first.internal or not one.second.internal:
        raise MechError(f"{one.name} can't be drawn", "the picture is of a sun, equal planets and a ring")
    seconds = check_number("seconds", seconds)
    names = dict(zip((SUN, CARRIER, RING), one.members, strict=True))
    role = {name: role for role, name in names.items()}
    if strangers := {*driven, *held} - set(role):
        raise MechError(f"there is no {listing(sorted(strangers))}", f"the members are {listing(role)}")
    wheel = next(planet for planet in turned.planets if planet.set == one.name)
    rev_min = {role: float(turned[name]) for role, name in names.items()} | {PLANET: float(wheel.rev_min)}
    return View(
        teeth=(one.first.teeth, one.planets[0][0], one.second.teeth),
        planets=planets,
        module_mm=module_mm,
        rev_min=rev_min,
        names=names | {PLANET: "planet"},
        sun_deg=6 * seconds * rev_min[SUN],  # 1 rev/min is 6° a second
        carrier_deg=6 * seconds * rev_min[CARRIER],
        driven=tuple(role[name] for name in driven),
        held=tuple(role[name] for name in held),
        told=told,
    )
