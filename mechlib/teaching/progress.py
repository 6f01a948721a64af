"""Writes down what a reader has done, in the folder ``progress`` beside the pages; nothing goes elsewhere.

Each kernel (each page that runs) has a file of its own there, so two of them can't disturb each other.  After
every check it writes its whole file anew under another name, waits until that is on the disk, and puts it in
the place of the old one: at every moment there is a whole file, whatever ends the kernel.  Where nothing can
be written the reader is told and goes on; the next check tries again with all that has happened since, which
is lost if the kernel ends before.

The environment variable MECHLIB_PROGRESS names another folder, or says "off".
"""

from __future__ import annotations

import os
import secrets
from contextlib import suppress
from datetime import datetime
from functools import cache
from pathlib import Path

from mechlib.errors import MechError
from mechlib.teaching.records import ENDING, LONGEST_NAME, Check, Found, Guess, now, read_folder, written

FOLDER, NAME_FILE, VARIABLE = "progress", "name.txt", "MECHLIB_PROGRESS"
TOLD = (
    "Not written down, because the folder “{folder}” beside this page refused ({reason}). Go on, but don't "
    "close the page: until there is room it is kept in memory only, and the next check tries again."
)


class Progress:
    """What one kernel writes down in ``folder``; None: nothing is written.

    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as place:
    ...     mine = Progress(Path(place, "progress"))
    ...     mine.choose_name("Ann")
    ...     mine.guessed("Which way?", "later")
    ...     mine.checked("stuck_tape", "How many turns?", 1, "sign lost")
    ...     [record.sentence() for record in mine.read().records]
    'From now on you are “Ann” here.'
    ''
    ''
    ['Which way? Ann guessed later.', 'Ann answered “How many turns?”: sign lost.']
    """

    def __init__(self, folder: Path | None):
        self.folder = folder
        self._mine: list[Check | Guess] = []
        self._unwritten_name: str | None = None  # chosen here, while the folder refused
        self._file = f"{datetime.now():%Y-%m-%d_%H%M%S}_{secrets.token_hex(4)}{ENDING}"

    @property
    def name(self) -> str:
        """The name that the reader chose, or "" for none."""
        if self.folder is None:
            return ""
        if self._unwritten_name is not None:
            return self._unwritten_name
        path = self.folder / NAME_FILE
        try:
            if not path.is_file():  # a pipe would keep us waiting for ever
                return ""
            with path.open("rb") as file:
                text = file.read(4 * LONGEST_NAME).decode("utf-8", "replace")
        except OSError:
            return ""
        return _tidy(text)[:LONGEST_NAME]

    def choose_name(self, typed: str) -> str:
        """Keep the name under which all that follows is written ("" for none); return what came of it.

        Raises MechError for a name of more than 40 characters.
        """
        name = _tidy(str(typed))
        if len(name) > LONGEST_NAME:
            raise MechError(f"the name has {len(name)} characters", f"it may have up to {LONGEST_NAME}")
        trouble = self._put(NAME_FILE, name)
        self._unwritten_name = name if trouble and self.folder else None
        return trouble or (f"From now on you are “{name}” here." if name else "From now on without a name.")

    def checked(self, lesson: str, exercise: str, seed: int, found: str) -> str:
        """Write down an answer to an exercise and what was found; return "" or why it couldn't be written."""
        return self._add(Check(now(), self.name, lesson, exercise, seed, found))

    def guessed(self, question: str, guess: float | str, came: float | str | None = None) -> str:
        """Write down a guess, with its outcome once that is seen; return "" or why it couldn't be written."""
        return self._add(Guess(now(), self.name, question, guess, came))

    def guess(self, question: str) -> Guess | None:
        """Return the last guess at a question that this reader made, here or when the page ran before."""
        name = self.name
        guesses = [r for r in self.read().records if isinstance(r, Guess) and r.reader == name]
        return next((guess for guess in reversed(guesses) if guess.question == question), None)

    def read(self) -> Found:
        """Read all that is written here, and what this kernel couldn't write."""
        if self.folder is None or not self.folder.is_dir():
            return Found(tuple(self._mine))
        found = read_folder(self.folder)
        records = dict.fromkeys((*found.records, *self._mine))
        return Found(tuple(sorted(records, key=lambda record: record.at)), found.troubles)

    def _add(self, record: Check | Guess) -> str:
        if self.folder is None:
            return ""
        self._mine.append(record)
        if self._unwritten_name is not None and not self._put(NAME_FILE, self._unwritten_name):
            self._unwritten_name = None
        return self._put(self._file, "".join(written(each) + "\n" for each in self._mine))

    def _put(self, name: str, text: str) -> str:
        """Put a whole file in its place, or leave the old one; return "" or why it couldn't be done."""
        if self.folder is None:
            return "Nothing is written down here: it is switched off."
        part = self.folder / f".{self._file}.part"
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            with open(part, "wb") as file:
                file.write(text.encode("utf-8"))
                file.flush()
                os.fsync(file.fileno())
            os.replace(part, self.folder / name)
        except OSError as error:
            with suppress(OSError):
                part.unlink()
            return TOLD.format(folder=self.folder.name, reason=error.strerror or error)
        return ""


@cache
def here() -> Progress:
    """Return what this kernel writes down, beside the page that it runs."""
    asked = os.environ.get(VARIABLE, "")
    return Progress(None if asked == "off" else Path(asked or FOLDER).absolute())


def _tidy(text: str) -> str:
    """One line, without what can't be printed."""
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())
