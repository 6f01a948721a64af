"""How a form is described: what is asked, in which table of the file it stands, on which page it is shown."""

from __future__ import annotations

import re
from dataclasses import dataclass

NO_UNIT = "no unit"
TOP = ""  # the table of what stands before all tables
CHOSEN = ("choice", "tick", "codes", "needs", "need")  # kinds that are chosen, not typed


@dataclass(frozen=True)
class Field:
    """One thing that is asked.

    ``key`` is its key in the table, with a dot where it lies in a table inside; ``label`` its words, with the
    unit; ``kind`` one of ``own_typed.KINDS`` or of ``CHOSEN``; ``help`` how to find it.  ``options`` are the
    words to choose from, or the name of a list of ``Names``.  ``more``: not everybody needs it.
    """

    key: str
    label: str
    kind: str
    help: str
    options: tuple[str, ...] | str = ()
    more: bool = False

    @property
    def unit(self) -> str:
        """The unit of a number that its label names in brackets; "" where there is none."""
        if self.kind != "number":
            return ""
        named = re.search(r"\(([^()]*)\)$", self.label)
        return named[1].partition(" of the ")[0] if named and named[1] != NO_UNIT else ""

    @property
    def path(self) -> tuple[str, ...]:
        """The keys that lead to it."""
        return tuple(self.key.split("."))


@dataclass(frozen=True)
class Section:
    """A table of the file, or (``one`` not empty) a list of tables, each of which is one such thing."""

    table: str
    title: str
    words: str
    fields: tuple[Field, ...]
    one: str = ""

    def field(self, key: str) -> Field | None:
        """The field of a key, if there is one."""
        return next((field for field in self.fields if field.key == key), None)


@dataclass(frozen=True)
class Page:
    """What is filled in together."""

    name: str
    sections: tuple[Section, ...]
