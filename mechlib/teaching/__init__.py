"""Exercises that know the usual slips, and guesses kept: pure, no widgets, no pictures."""

from mechlib.teaching.exercises import Drawn, Exercise, Feedback, Number, OneOf, Slip
from mechlib.teaching.predictions import Prediction
from mechlib.teaching.typed import Reading, read_number

__all__ = [
    "OneOf",
    "Drawn",
    "Exercise",
    "Feedback",
    "Number",
    "Prediction",
    "Reading",
    "Slip",
    "read_number",
]
