"""Read a gear train from the one line that a technician writes; the head of ``trains`` shows how."""

from __future__ import annotations

import re

from mechlib.errors import MechError
from mechlib.gears.trains import Mesh, Train, Wheel

_WHEEL = re.compile(
    r"(?:(?P<kind>ring|worm)\s+)?(?P<teeth>\d+)(?:\s+(?P<hand>left|right))?"
    r"(?:\s*\(lead\s*(?P<lead>\d*\.?\d+)\s*°?\))?"
    r"|rack\s+m\s*(?P<module>\d*\.?\d+)"
)
_MESH = re.compile(r":\s*(?:\((?P<values>[^()]*)\))?")
_VALUE = re.compile(r"(\d*\.?\d+)\s*(%|°|mm)")


def train(text: str) -> Train:
    """Read a train from one line, as the head of this module shows.

    Raises MechError that names the piece which can't be read, or is wrong.

    >>> train("worm 1 : 24+18 : 18").ratio
    Fraction(-1, 24)
    >>> train("12 : 30 40")
    Traceback (most recent call last):
    mechlib.errors.MechError: '30 40' in the train can't be read: write 24, ring 60, worm 1 or rack m0.5
    """
    if not isinstance(text, str):
        raise MechError(f"the train is {text!r}", 'write it as text, such as "worm 1 : 24+18 : 54"')
    marks = list(_MESH.finditer(text))
    ends = [0, *(mark.end() for mark in marks)]
    starts = [*(mark.start() for mark in marks), len(text)]
    shafts = [_shaft(text[end:start]) for end, start in zip(ends, starts, strict=True)]
    if not marks:
        raise MechError(f"{text.strip()!r} has no mesh", "write a : between two wheels that mesh")
    if len(shafts[0]) > 1 or len(shafts[-1]) > 1:
        raise MechError(f"{text.strip()!r}", "only a shaft between two meshes has two wheels")
    meshes = []
    for before, after, mark in zip(shafts, shafts[1:], marks, strict=False):
        unit = "mm" if after[0].kind == "rack" else "°"
        meshes.append(Mesh(before[-1], after[0], *_values(mark["values"] or "", unit)))
    return Train(tuple(meshes))


def _shaft(text: str) -> list[Wheel]:
    """One shaft: the wheel that is driven, and the next driver if it is another."""
    wheels = [_wheel(piece.strip()) for piece in text.split("+")]
    if len(wheels) > 2:
        raise MechError(f"{text.strip()!r} in the train", "a shaft has one driven wheel and one driver")
    return wheels


def _wheel(text: str) -> Wheel:
    match = _WHEEL.fullmatch(text)
    if match is None:
        raise MechError(f"{text!r} in the train can't be read", "write 24, ring 60, worm 1 or rack m0.5")
    if match["module"]:
        return Wheel("rack", 0, module_mm=float(match["module"]))
    kind = match["kind"] or "gear"
    lead = float(match["lead"]) if match["lead"] else None
    return Wheel(kind, int(match["teeth"]), match["hand"] or "right", lead)


def _values(text: str, unit: str) -> tuple[float | None, float]:
    """Efficiency (None if not given) and play of a mesh, from the brackets behind its colon."""
    found = {"%": None, unit: 0.0}
    for piece in text.split(",") if text.strip() else ():
        match = _VALUE.fullmatch(piece.strip())
        if match is None or match[2] not in found:
            raise MechError(
                f"{piece.strip()!r} in the train can't be read", f"write it as in (98 %, 0.4 {unit})"
            )
        found[match[2]] = float(match[1])
    return None if found["%"] is None else found["%"] / 100, found[unit]
