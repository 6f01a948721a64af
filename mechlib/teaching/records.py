"""What is written down of a reader's work, line by line, and read again though a file be damaged.

A progress file is text in UTF-8, one JSON object a line (JSON Lines).  Every line stands for itself:

    {"progress": 1, "at": "2031-03-01T10:15:02.123+00:00", "reader": "Ann",
     "lesson": "stuck_tape", "exercise": "How many turns?", "seed": 1, "found": "sign lost"}
    {"progress": 1, "at": "2031-03-01T10:17:40.008+00:00", "reader": "Ann",
     "question": "How many arcs are left?", "guess": 4.0, "came": 2.0}

``progress`` is the version of the form, ``at`` the time, ``reader`` the name that the reader chose, or "".
``found`` is "right", the name of a slip, or why the answer couldn't be judged; ``came`` is missing until the
outcome is seen.  What was typed into an exercise isn't kept.
"""

from __future__ import annotations

import json
import math
import os
import unicodedata
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from pathlib import Path

from mechlib.errors import MechError
from mechlib.say import count, listing

VERSION = 1
ENDING = ".jsonl"
CASES, RIGHT = "bench_cases", "right"  # the lesson of a bench case; what an answer is found to be
# What work on a bench case is found to be that is no slip.
ONE_OF_TWO, GIVEN_UP = "one of two faults", "given up"
LONGEST_NAME, LONGEST_TEXT = 40, 500  # characters
LARGEST_FILE, MOST_FILES, MOST_FOLDERS, DEEPEST = 5_000_000, 2000, 5000, 6


@dataclass(frozen=True)
class Check:
    """One answer to an exercise of a lesson, and what was found: "right", a slip's name, or what else."""

    at: str
    reader: str
    lesson: str
    exercise: str
    seed: int
    found: str

    @property
    def right(self) -> bool:
        """True for the right answer."""
        return self.found == RIGHT

    def sentence(self) -> str:
        """Who answered what, and what was found."""
        return f"{self.reader or 'Somebody'} answered “{self.exercise}”: {self.found}."


@dataclass(frozen=True)
class Guess:
    """A guess that was kept, and (once it was seen) how it came out: a number or one of the choices."""

    at: str
    reader: str
    question: str
    guess: float | str
    came: float | str | None = None

    def sentence(self) -> str:
        """The question, the guess, and how it came out."""
        came = "" if self.came is None else f" It came out as {self.came}."
        return f"{self.question} {self.reader or 'Somebody'} guessed {self.guess}.{came}"


def now() -> str:
    """Return the time as it is written down, with its zone (UTC)."""
    return datetime.now(UTC).isoformat(timespec="milliseconds")


def written(record: Check | Guess) -> str:
    """Return a record as its line.

    >>> print(written(Guess("2031-03-01T10:15:02.123+00:00", "Ann", "Which way?", "later")))
    {"progress": 1, "at": "2031-03-01T10:15:02.123+00:00", "reader": "Ann", "question": "Which way?", "guess": "later"}
    """  # noqa: E501
    entries = {name: value for name, value in asdict(record).items() if value is not None}
    return json.dumps({"progress": VERSION, **entries}, ensure_ascii=False, allow_nan=False)


def read_line(line: str) -> Check | Guess:
    """Read one line.

    Parameters: ``line``, a text of any kind.
    Returns the record.  Raises MechError that says what is wrong with it.  Source: none needed, our own form.

    >>> line = '{"progress": 1, "at": "2031-03-01T10:15:02", "reader": "", "question": "Q?", "guess": 6}'
    >>> read_line(line).guess
    6.0
    >>> read_line(line[:40])
    Traceback (most recent call last):
    mechlib.errors.MechError: a line is cut short or no JSON
    """
    try:
        entries = json.loads(line)
    except (ValueError, RecursionError):
        raise MechError("a line is cut short or no JSON") from None
    if not isinstance(entries, dict) or "progress" not in entries:
        raise MechError("a line is no progress")
    if entries.pop("progress") != VERSION:
        raise MechError("a line has another version", f"this workbook reads version {VERSION}")
    kind = Check if "exercise" in entries else Guess
    try:
        record = kind(**entries)
    except TypeError:
        raise MechError("a line has other entries than it should") from None
    return _checked(record)


def _checked(record: Check | Guess) -> Check | Guess:
    """Return the record if every entry is of its kind and its time has a zone; else raise MechError."""
    entries = dict(vars(record))
    for name, value in entries.items():
        if name == "seed":
            good = type(value) is int and 0 <= value <= 10**9
        elif name in ("guess", "came") and type(value) in (int, float):
            good = abs(value) <= 1e12  # False for what is no number
            entries[name] = float(value) if good else math.nan
        else:
            good = (name == "came" and value is None) or _is_text(value, name == "reader")
        if not good:
            raise MechError(f"{name} of a line can't be right")
    try:
        entries["at"] = _in_utc(datetime.fromisoformat(entries["at"]))
    except (ValueError, OverflowError):
        raise MechError("the time of a line can't be read") from None
    return type(record)(**entries)


def _is_text(value, is_name: bool) -> bool:
    """Whether a value is text of a sensible length, without control characters or broken ones."""
    if not isinstance(value, str) or len(value) > (LONGEST_NAME if is_name else LONGEST_TEXT):
        return False
    return value.isprintable() or not any(unicodedata.category(each) in ("Cc", "Cs") for each in value)


def _in_utc(time: datetime) -> str:
    time = time if time.tzinfo else time.replace(tzinfo=UTC)
    return time.astimezone(UTC).isoformat(timespec="milliseconds")  # so that times can be sorted as text


@dataclass(frozen=True)
class Found:
    """What was read from files: the records in the order of time, each once, and what was the matter."""

    records: tuple[Check | Guess, ...]
    troubles: tuple[str, ...] = ()

    def sentence(self) -> str:
        """How much was read, and how many files were damaged."""
        damaged = f"; {count(len(self.troubles), 'trouble')} in reading" if self.troubles else ""
        return f"{count(len(self.records), 'record')} read{damaged}."


def read_file(path: Path, called: str = "") -> Found:
    """Read one progress file; what can't be read is told, and the rest is used.  Raises nothing.

    ``called`` is what the file is called in what is told, its name where none is given.
    """
    called = called or path.name
    try:
        if path.exists() and not path.is_file():  # a pipe would keep us waiting for ever
            return Found((), (f"{called} is a folder or a device, no file: not read.",))
        if path.stat().st_size > LARGEST_FILE:
            return Found((), (f"{called} is far too large for a progress file: not read.",))
        lines = path.read_bytes().split(b"\n")
    except OSError as error:
        return Found((), (f"{called} can't be read: {error.strerror or error}.",))
    records, bad = [], []
    for number, line in enumerate(lines, 1):
        if not line.strip():
            continue
        try:
            records.append(read_line(line.decode("utf-8-sig", errors="strict")))
        except UnicodeDecodeError:
            bad.append((number, "it is no text"))
        except MechError as error:
            bad.append((number, str(error)))
    if not bad:
        return Found(tuple(records))
    if not records:
        return Found((), (f"{called} holds no progress that can be read ({bad[0][1]}): left out.",))
    places = [str(number) for number, _ in bad[:5]] + ([f"{len(bad) - 5} more"] if len(bad) > 5 else [])
    noun = "line" if len(bad) == 1 else "lines"
    return Found(
        tuple(records), (f"{called}: {noun} {listing(places)} can't be read ({bad[0][1]}); the rest is.",)
    )


def read_folder(folder: Path) -> Found:
    """Read every progress file in a folder and in the folders in it; a record found twice counts once.

    Parameters: ``folder``, where to look, down to 6 folders deep.
    Returns what was found, with a sentence for each damaged file.
    Raises MechError if there is no such folder.  Source: none needed, our own form.
    """
    read = read_each(folder)
    records = dict.fromkeys(record for _, found in read for record in found.records)
    troubles = tuple(trouble for _, found in read for trouble in found.troubles)
    return Found(tuple(sorted(records, key=lambda record: record.at)), troubles)


def read_each(folder: Path) -> list[tuple[Path, Found]]:
    """Read every progress file as ``read_folder`` does, and return what each holds, with its path in there.

    Raises MechError if there is no such folder.

    >>> read_each(Path("no such folder"))
    Traceback (most recent call last):
    mechlib.errors.MechError: there is no folder “no such folder”: give the path of one with progress files
    """
    try:
        there = folder.is_dir()
    except (OSError, ValueError):
        there = False
    if not there:
        raise MechError(f"there is no folder “{folder}”", "give the path of one with progress files")
    files, troubles = _files(folder)
    whole = [(folder, Found((), tuple(troubles)))] if troubles else []
    places = [path.relative_to(folder) for path in files]
    return whole + [(place, read_file(folder / place, place.as_posix())) for place in places]


def _files(folder: Path) -> tuple[list[Path], list[str]]:
    """The progress files, and what was left out because there is too much."""
    files, too_much = [], False
    for seen, (place, folders, names) in enumerate(os.walk(folder)):
        depth = len(Path(place).relative_to(folder).parts)
        folders[:] = sorted(name for name in folders if not name.startswith(".")) if depth < DEEPEST else []
        files += [Path(place, name) for name in sorted(names) if name.endswith(ENDING)]
        if seen > MOST_FOLDERS:
            too_much = True
            break
    if len(files) > MOST_FILES:  # the newest stay: the names begin with the day
        newest = set(sorted(files, key=lambda path: path.name)[-MOST_FILES:])
        files, too_much = [path for path in files if path in newest], True
    trouble = "There is too much in this folder; only a part was read. Give a smaller one."
    return files, [trouble] * too_much
