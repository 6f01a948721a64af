"""A track looked at in many places at once: all its pieces in one table, so that an array needs no loop."""

from __future__ import annotations

import numpy as np


class Table:
    """Lift in mm and slope in mm a degree of segments that join, over whole arrays of angles.

    Each piece of each segment's law is a column: where it starts, what a degree is of u, and for lift
    and slope Σ poly[k]·u^k + Σ amplitude·sin(omega·u + phase).

    >>> from mechlib.cams.programme import Segment
    >>> table = Table((Segment(0, 10, 0, 4, "3-4-5"), Segment(10, 20, 4, 4)))
    >>> [found.round(6).tolist() for found in table.lift_and_slope(np.array([0.0, 5.0, 15.0]))]
    [[0.0, 2.0, 4.0], [0.0, 0.75, 0.0]]
    """

    def __init__(self, segments):
        columns = [column for segment in segments for column in _columns(segment)]
        starts, by_length, lifts, slopes = zip(*columns, strict=True)
        self._starts, self._by_length = np.array(starts), np.array(by_length)
        self._curves = _stacked(lifts), _stacked(slopes)

    def lift_and_slope(self, x_deg: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Both at angles from the first segment's start to the last one's end."""
        column = np.searchsorted(self._starts, x_deg, side="right") - 1
        u = (x_deg - self._starts[column]) * self._by_length[column]
        return tuple(_value(*curve, column, u) for curve in self._curves)


def _columns(segment):
    """Start, what a degree is of x, and the curve of lift and of slope: polynomial and waves."""
    if segment.is_dwell:
        return [(segment.start_deg, 0.0, ((segment.start_mm,), ()), ((0.0,), ()))]
    rise, length = segment.end_mm - segment.start_mm, segment.end_deg - segment.start_deg
    found = []
    for start, position, velocity in zip(
        segment.pieces_deg, segment.law_pieces(0), segment.law_pieces(1), strict=True
    ):
        lift, slope = _scaled(position, rise), _scaled(velocity, rise / length)
        poly = lift[0] or (0.0,)
        lift = (poly[0] + segment.start_mm, *poly[1:]), lift[1]
        found.append((start, 1 / length, lift, slope))
    return found


def _scaled(piece, factor: float):
    piece = piece.scaled(factor)
    return piece.poly, tuple((wave.amplitude, wave.omega, wave.phase) for wave in piece.waves)


def _stacked(curves):
    """Coefficients, a row a power, and waves, three rows each; a column a piece, filled up with zeros."""
    powers, waves = (max(len(curve[n]) for curve in curves) for n in (0, 1))
    poly, sines = np.zeros((powers, len(curves))), np.zeros((waves, 3, len(curves)))
    for column, (coefficients, of_piece) in enumerate(curves):
        poly[: len(coefficients), column] = coefficients
        for number, wave in enumerate(of_piece):
            sines[number, :, column] = wave
    return poly, sines


def _value(poly, sines, column, u) -> np.ndarray:
    total = poly[-1][column] if len(poly) else np.zeros(u.shape)
    for row in poly[-2::-1]:
        total = total * u + row[column]
    for amplitude, omega, phase in sines:
        total = total + amplitude[column] * np.sin(omega[column] * u + phase[column])
    return total
