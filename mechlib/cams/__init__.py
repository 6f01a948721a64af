"""Cams: lift laws and the programme of dwells and moves that a track gives its follower."""

from mechlib.cams.laws import LAWS, Law, Peaks, law
from mechlib.cams.measured import measured, programme_from_readings
from mechlib.cams.pieces import Piece, Wave
from mechlib.cams.polynomial import polynomial, polynomial_coefficients
from mechlib.cams.programme import DWELL, Programme, Segment

__all__ = [
    "DWELL",
    "LAWS",
    "Law",
    "Peaks",
    "Piece",
    "Programme",
    "Segment",
    "Wave",
    "law",
    "measured",
    "polynomial",
    "polynomial_coefficients",
    "programme_from_readings",
]
