"""A transport's file while it is being filled in: its values, what was done to them, and back again."""

from __future__ import annotations

from collections.abc import Mapping
from copy import deepcopy
from pathlib import Path

from mechlib.bench.own_asked import TOP, Field, Section
from mechlib.bench.own_check import Checked, check, tables_of
from mechlib.bench.own_form import SECTIONS
from mechlib.bench.own_toml import write_file
from mechlib.bench.own_typed import KINDS
from mechlib.bench.own_values import put_at, rename, value_at
from mechlib.bench.own_words import file_text
from mechlib.errors import MechError
from mechlib.say import listing
from mechlib.transports.files import DATA, shipped
from mechlib.transports.model import Transport
from mechlib.transports.read_table import parse

EMPTY = "an empty form"
OWN_FILE = "my_machine.toml"
MOST_STEPS_BACK = 100


class Draft:
    """The values of one file; every change can be taken back.

    ``values`` are nested as in the file; change them only by ``put``, ``add``, ``remove`` and ``replace``.
    ``source`` is where they come from, as for ``values_from``; ``file`` the file that they belong to: the one
    read or saved last, or (what comes with the library keeps its own) ``OWN_FILE``.

    >>> draft = Draft(values_from("dogwood"))
    >>> draft.enter("Main gear and travel", "teeth of the main gear", "3")
    >>> draft.checked.sentence()
    'Dogwood: 1 mistake. Once that is right, the form looks whether all goes together.'
    >>> draft.undo(), len(draft.checked.remarks)
    (True, 0)
    """

    def __init__(self, values: Mapping | None = None, source: str | Path = EMPTY):
        self.values = deepcopy(dict(values or {}))
        self.file = _own_file(source)
        self._kept = {self.file: deepcopy(self.values)}
        self._before: list[tuple[dict, str | None]] = []
        self._checked: Checked | None = None

    @property
    def saved(self) -> bool:
        """Whether nothing would be lost: the values are those that were read in or saved last."""
        return self.values == self._kept.get(self.file)

    @property
    def checked(self) -> Checked:
        """What is wrong with it as it stands."""
        if self._checked is None:
            self._checked = check(self.values)
        return self._checked

    def tables(self, section: Section) -> list[Mapping]:
        """The tables of a section: those of its list, or the one that there is."""
        return [table for _, table in tables_of(self.values, section)]

    def value(self, section: Section, row: int | None, field: Field):
        """The value of a field; None where there is none."""
        return value_at(self.tables(section)[row or 0], field)

    def put(self, section: Section, row: int | None, field: Field, value) -> None:
        """Give a field a value; None makes it empty, and takes out a table in which nothing is left.

        Where something gets another name, all that names it follows.
        """
        self._remember()
        if section.one:
            before = [table.get("name") for table in self.tables(section)]
            put_at(self.tables(section)[row], field, value)
            old = before[row]
            named = field.key == "name" and all(isinstance(name, str) and name for name in (old, value))
            if named and before.count(old) == 1 and value not in before:
                rename(self.values, section.table, old, value)
        elif section.table == TOP:
            put_at(self.values, field, value)
        else:
            if not isinstance(self.values.get(section.table), dict):
                self.values[section.table] = {}
            put_at(self.values[section.table], field, value)
            if not self.values[section.table]:
                del self.values[section.table]

    def enter(self, where: str, label: str, typed: str, unit: str = "teeth") -> None:
        """Type into a box, named as on its page: a title or "contact 2", then the label of the box.

        ``unit`` is that of an angle without one: teeth, deg or turns.  Several lines may stand in one, with
        semicolons between.  Raises MechError where there is no such box, or where it isn't one to type in.
        """
        section, row = self._place(where)
        field = next((field for field in section.fields if field.label == label), None)
        if field is None or field.kind not in (*KINDS, "choice"):
            typed_in = (one.label for one in section.fields if one.kind in (*KINDS, "choice"))
            raise MechError(f"{where} has no box {label!r} to type in", f"there is {listing(typed_in)}")
        unit = field.unit if field.kind == "number" else unit
        self.put(
            section, row, field, KINDS[field.kind].read(typed, unit).value if field.kind in KINDS else typed
        )

    def _place(self, where: str) -> tuple[Section, int | None]:
        """The table that is meant by a title, or by what it is and its number."""
        places = {}
        for section in SECTIONS.values():
            for row, _ in tables_of(self.values, section):
                places[f"{section.one} {row + 1}" if section.one else section.title] = (section, row)
        if where not in places:
            raise MechError(f"there is no {where!r}", f"there is {listing(places)}")
        return places[where]

    def add(self, section: Section) -> None:
        """Add an empty table at the end of a list of tables."""
        self._remember()
        if not isinstance(self.values.get(section.table), list):
            self.values[section.table] = []
        self.values[section.table].append({})

    def remove(self, section: Section, row: int) -> None:
        """Take a table out of a list of tables, and the list if nothing is left in it."""
        self._remember()
        gone = self.tables(section)[row]
        left = [table for table in self.values[section.table] if table is not gone]
        self.values[section.table] = left
        if not left:
            del self.values[section.table]

    def undo(self) -> bool:
        """Take the last change back; False where there is none."""
        if not self._before:
            return False
        (self.values, file), self._checked = self._before.pop(), None
        self.file = file or self.file
        return True

    def replace(self, values: Mapping, source: str | Path = EMPTY) -> None:
        """Put other values, those of a source, in place of all; this can be taken back, too."""
        self._remember(self.file)
        self.values, self.file = deepcopy(dict(values)), _own_file(source)
        self._kept[self.file] = deepcopy(self.values)

    def text(self) -> str:
        """The text of the file."""
        return file_text(self.values)

    def transport(self) -> Transport:
        """Return the transport; MechError with every remark where something is missing or wrong."""
        if self.checked.transport is None:
            raise MechError(self.checked.text(), problems=tuple(r.sentence() for r in self.checked.remarks))
        return self.checked.transport

    def save(self, path: str | Path, replace: bool = False) -> Path:
        """Write the file as ``write_file`` does, right or not; return its path."""
        path = write_file(self.text(), path, replace)
        self.file = str(path)
        self._kept[self.file] = deepcopy(self.values)
        return path

    def _remember(self, file: str | None = None) -> None:
        """Keep the values as they are, to go back to; and the file that they belong to, if it changes now."""
        self._before = [*self._before[-MOST_STEPS_BACK + 1 :], (deepcopy(self.values), file)]
        self._checked = None


def _own_file(source: str | Path) -> str:
    """The file that a source's values belong to."""
    return str(source) if Path(source).suffix == ".toml" else OWN_FILE


def values_from(source: str | Path) -> dict:
    """Return the values of a file, right or not: of a shipped transport by its name, or from a path.

    ``EMPTY`` gives a form in which nothing but the tables that every machine has is begun.
    Raises MechError for a file that can't be read and for text that isn't TOML.

    >>> values_from("birch")["name"], values_from(EMPTY)
    ('Birch', {'part': [{}], 'follower': [{}], 'contact': [{}], 'mode': [{}]})
    """
    if source == EMPTY:
        return {table: [{}] for table in SECTIONS if table in ("part", "follower", "contact", "mode")}
    path = Path(source)
    if path.suffix != ".toml":
        if str(source) not in shipped():
            right = f"shipped: {listing(shipped())}; the path of a file of your own ends in .toml"
            raise MechError(f"no transport is called {str(source)[:80]!r}", right)
        path = DATA / f"{source}.toml"
    return parse(path)
