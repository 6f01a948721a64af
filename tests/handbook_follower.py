"""What the library computes for the handbook's followers of disc cams."""

from __future__ import annotations

import math

from mechlib.cams import Law, Piece, Programme, Segment
from mechlib.cams.disc import cam_shape, smallest_base
from mechlib.cams.follower import FlatFace, TranslatingRoller
from mechlib.cams.motion import Motion


def computed() -> dict[tuple[str, str], float]:
    return _tangent_cam() | _parabola() | _offset() | _harmonic()


def _tangent_cam():
    follower, found = TranslatingRoller(base_mm=30, roller_mm=17.5), {}
    for degrees in (10, 20):
        t = math.radians(degrees)
        lift, slope = 47.5 * (1 / math.cos(t) - 1), 47.5 * math.sin(t) / math.cos(t) ** 2
        stand = follower.stand(Motion(float(degrees), lift, slope))
        found["C1", f"pressure angle {degrees}° up the flank"] = float(stand.pressure_deg)
    return found


def _parabola():
    slowing = Law("slowing", (Piece(0.0, (-2.0,)),), start_velocity=2.0)
    gaining = Law("gaining", (Piece(0.0, (2.0,)),))
    top = 4 * math.pi**2
    programme = Programme((Segment(0, 180, 0, top, slowing), Segment(180, 360, top, 0, gaining)), 360)
    return {("C4", "base radius"): smallest_base(programme, FlatFace(base_mm=1), radius_mm=40).base_mm}


def _offset():
    found = {}
    for name, offset in (("to the right", 12), ("to the left", -12), ("none", 0)):
        follower = TranslatingRoller(base_mm=16, roller_mm=4, offset_mm=offset)
        found["C6", f"pressure angle, offset {name}"] = float(
            follower.stand(Motion(0.0, 4.0, 32.0)).pressure_deg
        )
    return found


def _harmonic():
    up, down = Segment(0, 60, 0, 10, "simple harmonic"), Segment(60, 120, 10, 0, "simple harmonic")
    lobe = Programme((up, down, Segment(120, 360, 0, 0)), 360)
    whole = (Segment(0, 180, 0, 50, "simple harmonic"), Segment(180, 360, 50, 0, "simple harmonic"))
    shape = cam_shape(Programme(whole, 360), FlatFace(base_mm=25))
    return {
        ("C7", "base radius"): smallest_base(lobe, FlatFace(base_mm=1)).base_mm,
        ("C8", "radius of the outline"): shape.sharpest.value,
        ("C8", "length of the face"): sum(shape.face_mm),
    }
