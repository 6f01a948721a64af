"""Cams: lift laws and the programme of dwells and moves that a track gives its follower."""

from mechlib.cams.laws import LAWS, Law, Peaks, Piece, law
from mechlib.cams.programme import DWELL, Programme, Segment

__all__ = ["DWELL", "LAWS", "Law", "Peaks", "Piece", "Programme", "Segment", "law"]
