"""Text that a panel saves beside its page."""

from __future__ import annotations

from pathlib import Path

from mechlib.errors import MechError
from mechlib.panels.base import unused


def save_text(name: str, ending: str, text: str) -> str:
    """Write ``text`` into a file that isn't there yet, and return what came of it in words.

    Parameters: ``name`` of the file as typed, which must have the ``ending`` (such as ".txt").  Where there
    is such a file, name-2, name-3… is taken.  Raises nothing.

    >>> save_text("class.doc", ".txt", "anything")
    'Not saved: the file name is class.doc: it must end in .txt.'
    """
    try:
        path = Path(name.strip())
        if path.suffix != ending:
            raise MechError(f"the file name is {path.name or 'empty'}", f"it must end in {ending}")
        # The mark at the front tells spreadsheets and old editors that it is UTF-8.
        with open(unused(path), "x", encoding="utf-8-sig", newline="") as file:
            file.write(text)
    except (MechError, OSError, ValueError) as refused:
        return f"Not saved: {refused}."
    return f"Saved as {file.name}."
