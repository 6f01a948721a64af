"""What gears and the plates under them are made of: how they grow in the warm, what a tooth bears, shrinkage.

Rough values of whole families of materials.  A strength here is for comparing gears, not for rating one:
grade, heat, moisture, grease, age and the way of making change it by far more than its digits say.
"""

from __future__ import annotations

from dataclasses import dataclass

from mechlib.errors import MechError
from mechlib.say import listing, say

PSI_MPA = 6.894757e-3
CAUTION = (
    "The strength is a rough guide for comparing gears: grade, heat, moisture, grease and age change it. "
    "Where a broken tooth could hurt someone, leave the choice to qualified people."
)

_LIST = "list of coefficients of linear thermal expansion, tigerquesttech.com, published"
_BOOK = "Fundamentals of Materials Science and Engineering, 3e, table B.6, published"
_SAFE = "safe stress of plastics for gears, in psi, from handbook tables, from memory"
_SHRINK = "physical properties of plastics used in gears, engineersedge.com, published"
_PRACTICE = "common practice, no source"


@dataclass(frozen=True)
class Material:
    """A material: linear expansion per K, bending stress that a tooth may carry, shrinkage in the mould.

    ``shrinkage_percent`` is None for what isn't moulded; ``source`` says where each value is from.
    ``cautions`` says what to mind when a gear is made of it: common practice, from memory.
    """

    name: str
    expansion_per_K: float
    bending_MPa: float
    shrinkage_percent: float | None
    source: str
    cautions: tuple[str, ...] = ()

    def sentence(self) -> str:
        """The material in a sentence, with what to mind."""
        grows = say(self.expansion_per_K * 1e6, "µm a metre and kelvin", 0)
        bears = f"a tooth may bear {say(self.bending_MPa, 'MPa', 0)}"
        return f"{self.name[:1].upper()}{self.name[1:]} grows by {grows}; {bears}. {CAUTION}"


def _plastic(
    name: str, per_K: float, psi: float, shrinks: float, grows_source: str, flame: str = ""
) -> Material:
    source = f"expansion: {grows_source}; strength: {_SAFE}; shrinkage: {_SHRINK}"
    burns = f"it burns{flame} and gives off poisonous gas"
    laser = f"Never put {name} under a laser: {burns}. Have it cut on a machine."
    return Material(name, per_K * 1e-6, psi * PSI_MPA, shrinks, source, (laser,))


def _metal(name: str, per_K: float, bears_MPa: float, grows_source: str) -> Material:
    return Material(name, per_K * 1e-6, bears_MPa, None, f"expansion: {grows_source}; strength: {_PRACTICE}")


MATERIALS = {
    material.name: material
    for material in (
        _plastic("acetal", 106.5, 5000, 2.2, _LIST, " with a flame that is hard to see"),
        _plastic("nylon", 144, 6000, 1.5, f"{_BOOK} (other lists print 81)"),
        _plastic("ABS", 73.8, 3000, 0.7, _LIST),
        _plastic("polycarbonate", 122, 6000, 0.7, f"{_BOOK} (other lists print 65)"),
        _metal("brass", 19, 40, _LIST),
        _metal("steel", 11.7, 100, f"{_BOOK}, steel A36"),
        _metal("aluminium", 24, 40, _LIST),
    )
}


SHORT = {"pom": "acetal", "pa": "nylon", "pa6": "nylon", "pa66": "nylon", "pc": "polycarbonate"}


def usual_name(name: str) -> str:
    """A material's name as MATERIALS has it, also from its short name; any other name comes back as it is.

    >>> usual_name("POM"), usual_name("abs"), usual_name("pear wood")
    ('acetal', 'ABS', 'pear wood')
    """
    plain = name.strip().lower()
    plain = SHORT.get(plain.replace(" ", ""), plain)
    return next((known for known in MATERIALS if known.lower() == plain), name.strip())


def material(name: str) -> Material:
    """The material of that name, in capitals or not; MechError that lists all for an unknown one.

    >>> material("Acetal").sentence().partition(". ")[0]
    'Acetal grows by 106 µm a metre and kelvin; a tooth may bear 34 MPa'
    """
    if isinstance(name, str) and usual_name(name) in MATERIALS:
        return MATERIALS[usual_name(name)]
    raise MechError(f"material is {str(name)[:40]!r}", f"it must be one of: {listing(MATERIALS)}")
