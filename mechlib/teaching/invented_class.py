"""An invented class, to show a trainer what the class table tells.  No such people, and no such day."""

from __future__ import annotations

import random
from datetime import UTC, datetime, timedelta

from mechlib.teaching.class_table import ClassTable, table_of
from mechlib.teaching.exercises import Exercise
from mechlib.teaching.pages import Page
from mechlib.teaching.records import Check, Guess
from mechlib.teaching.slipped_tooth import SLIPPED_TOOTH
from mechlib.teaching.trains import TRAINS

BEGIN = datetime(2031, 3, 3, 9, 0, tzinfo=UTC)
# How far each got, in exercises; the slip out of each exercise's list that this reader tends to make; how
# many guesses this reader made.
READERS = {
    "apprentice A": (10, 1, 6),
    "apprentice B": (7, 0, 3),
    "apprentice C": (4, 0, 4),
    "apprentice D": (9, 2, 5),
}
MOST_TRIES = 3
# Questions of the two lessons, with an invented guess and what came.
GUESSES = (
    ("The main gear of some machine has 60 teeth. How many degrees of its main cam is one tooth?", 5.0, 6.0),
    (
        "The mode switch is one tooth behind its mark. How does STOP to WIND end?",
        "jammed",
        "reached but wrong",
    ),
    (
        "Loading gear one tooth out: which way round do arms and tension lever meet from WIND to STOP?",
        "neither way",
        "one tooth behind",
    ),
    ("Loading gear 1 tooth behind, pinch cam (hanging on it) 2 ahead: how many gears to lift?", 2.0, 1.0),
    (
        "12 teeth drive 36; on the same shaft 10 drive 40. The motor makes 1200 rev/min. And the output?",
        100.0,
        100.0,
    ),
    ("Can this train be driven from the output?", "yes", "no"),
)


def invented_class(among: tuple[Page, ...]) -> ClassTable:
    """Return the table of four invented readers who worked on two real lessons of the workbook.

    Parameters: ``among``, the pages of the workbook.  Returns the table, the same each time.  Raises nothing.

    >>> invented_class(()).sentence()[:10]
    '4 readers;'
    """
    stream = random.Random("an invented class")
    records = {}
    for reader, (reached, slip, guessed) in READERS.items():
        time = BEGIN
        for at, guess in enumerate(GUESSES[:guessed], 1):
            stamp = (time - timedelta(minutes=5 * at)).isoformat(timespec="milliseconds")
            records[Guess(stamp, reader, *guess)] = reader
        for at, exercise in enumerate((SLIPPED_TOOTH + TRAINS)[:reached]):
            solves = at + 1 < reached  # the last one that each tried stays open
            for numbers, found in enumerate(_tries(exercise, slip, solves, stream), 1):
                time += timedelta(minutes=2 + int(6 * stream.random()))
                stamp = time.isoformat(timespec="milliseconds")
                records[Check(stamp, reader, exercise.lesson, exercise.title, numbers, found)] = reader
    return table_of(records, among)


def _tries(exercise: Exercise, slip: int, solves: bool, stream: random.Random) -> list[str]:
    """What one reader's answers were found to be: some slips, and at the end the right one, or not."""
    slips = [exercise.slips[slip].name] * int(MOST_TRIES * stream.random())
    return [*slips, "right"] if solves else [*slips, exercise.slips[slip].name]
