"""What the library computes for the handbook's springs and guides on cams."""

from __future__ import annotations

from mechlib.cams import Segment
from mechlib.cams.force import Friction, Spring
from mechlib.cams.load import Cam, Load, energy


def computed() -> dict[tuple[str, str], float]:
    load, found = Load(Spring(2, 0.15)), {}
    for law in ("constant velocity", "simple harmonic", "3-4-5"):
        found["C5", f"rise, {law}"] = energy([Segment(0, 90, 0, 10, law)], load, Cam(20)).put_in_mJ
    turn = [Segment(0, 90, 0, 10, "cycloidal"), Segment(90, 360, 10, 0, "3-4-5")]
    found["C5", "whole turn without friction"] = energy(turn, load, Cam(20)).put_in_mJ
    for friction in ("0.10", "0.15"):
        guided = Friction(guide=float(friction), overhang_mm=20, bearing_mm=20)
        found["guide jam", f"friction {friction}"] = guided.jams_at_deg
    return found
