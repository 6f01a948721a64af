"""What is wrong with a form's values, in the words of the form and at the field where it is."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from mechlib.bench.own_asked import CHOSEN, TOP, Field, Section
from mechlib.bench.own_form import PAGES, SECTIONS
from mechlib.bench.own_typed import AN_ANGLE, KINDS
from mechlib.bench.own_values import rows, shown, value_at
from mechlib.errors import MechError
from mechlib.say import count, listing, say
from mechlib.transports.checks import hasty
from mechlib.transports.files import AFTER, transport_from
from mechlib.transports.model import Transport
from mechlib.transports.read_table import ANGLE, OF_WHICH
from mechlib.transports.read_tracks import READING
from mechlib.transports.timing import margins

NEEDED = ("drive", "mode_switch", "controller")  # tables that every file has
MISSING, UNKNOWN = "it is missing", "this key is not known here"
INNER = {
    "end_deg": "its end",
    "start_deg": "the end before",
    "from_mm": "the lower lift",
    "to_mm": "the upper lift",
}
FILE = "my.toml"
_HEAD = re.compile(r'\[\[(?P<many>\w+)\]\] (?:"|number (?P<number>\d+))|\[(?P<single>\w+)\]|top level')
_NUMBER = r"-?\d+(?:\.\d+)?"
_DEGREES = re.compile(
    rf"(?P<angles>{_NUMBER}(?: (?:to|and) {_NUMBER})*)"
    r"(?: degrees(?! of the part| of the main cam a)|(?P<after> or (?:below|above)))"
)
_KEY = re.compile(r"key ([^,:]+)")


@dataclass(frozen=True)
class Remark:
    """One thing that is wrong (or, ``open``, still to be filled in).

    ``table`` and ``row`` say where (the row counts from 0; None for a table that isn't a list, or for the
    whole list), ``key`` which field ("" for none of them).  ``page`` is "" for what the form doesn't ask for.
    """

    page: str
    table: str
    row: int | None
    key: str
    words: str
    open: bool = False

    def sentence(self) -> str:
        """The remark with its place."""
        section = SECTIONS.get(self.table)
        if section is None:
            return self.words
        field = section.field(self.key)
        places = [f"page {self.page}", *([f"{section.one} {self.row + 1}"] if self.row is not None else [])]
        return f"{', '.join(places)}{f', {field.label}' if field else ''}: {self.words}"


@dataclass(frozen=True)
class Checked:
    """What was found: the remarks, and the transport if there are none.

    ``half_way``: whether all goes together is looked at only once these are put right.
    """

    name: str
    remarks: tuple[Remark, ...]
    transport: Transport | None
    half_way: bool = False

    @property
    def mistakes(self) -> tuple[Remark, ...]:
        """The remarks on what is filled in."""
        return tuple(remark for remark in self.remarks if not remark.open)

    def on(self, page: str) -> tuple[Remark, ...]:
        """The remarks on one page."""
        return tuple(remark for remark in self.remarks if remark.page == page)

    def sentence(self) -> str:
        """Whether the file is right, and if it isn't, how much is missing and wrong."""
        if self.transport is None:
            empty = len(self.remarks) - len(self.mistakes)
            found = [count(len(self.mistakes), "mistake")] if self.mistakes else []
            found += [f"{count(empty, 'blank')} to fill in"] if empty else []
            then = " Once that is right, the form looks whether all goes together." if self.half_way else ""
            return f"{self.name}: {listing(found)}.{then}"
        machine = self.transport
        made = (
            count(len(some), noun)
            for some, noun in (
                (machine.parts, "timed part"),
                (machine.followers, "follower"),
                (machine.contacts, "contact"),
                (machine.modes, "mode"),
            )
        )
        worst = min(margins(machine), key=lambda margin: margin.margin_deg)
        least = f"{say(worst.margin_deg, '°')}, {say(machine.teeth_of(worst.margin_deg), 'teeth', 2)}"
        return f"{self.name} is right: {listing(made)}; the smallest margin is {least}, in {worst.mode}."

    def text(self) -> str:
        """The sentence, then each remark on a line."""
        return "\n".join([self.sentence(), *(remark.sentence() for remark in self.remarks)])


def check(values: Mapping, file: str = FILE) -> Checked:
    """Look for everything that is wrong with a form's values, as ``load`` would with their file.

    A table that every file has is taken as begun, so that each thing missing in it is told.

    >>> print(check({"drive": {"main_gear_teeth": "many"}}).remarks[0].sentence())
    page machine, teeth of the main gear: “many” is no number: write it in figures, such as 12 or 12.5
    """
    transport, problems, half_way = None, (), False
    try:
        transport = transport_from({table: {} for table in NEEDED} | dict(values), file)
    except MechError as refused:
        problems = tuple(problem.removeprefix(f"{file}, ") for problem in refused.problems)
        half_way = str(refused).endswith(AFTER)
    if transport and (found := [f"{place}: {what}; {right}" for place, what, right in hasty(transport)]):
        transport, problems = None, tuple(found)
    typed = _typed(values)
    places = {(remark.table, remark.row, remark.key) for remark in typed}
    told = (_told(values, problem) for problem in problems)
    more = {_alike(one): one for one in reversed([*told]) if (one.table, one.row, one.key) not in places}
    order = {page.name: number for number, page in enumerate(PAGES)}
    found = [*typed, *reversed(more.values())]
    remarks = sorted(found, key=lambda one: (one.open, order.get(one.page, len(order)), one.row or 0))
    name = values.get("name")
    return Checked(
        name if isinstance(name, str) and name else "The machine", tuple(remarks), transport, half_way
    )


def _alike(remark: Remark) -> tuple:
    """What two remarks share that differ in numbers only: what is wrong in both senses is told for one."""
    return remark.table, remark.row, remark.key, re.sub(r"[\d.\N{MINUS SIGN}-]+", "0", remark.words)


def _typed(values: Mapping) -> list[Remark]:
    """A remark for each box in which something stands that can't be read."""
    found = []
    for page in PAGES:
        for section in page.sections:
            for row, table in tables_of(values, section):
                for field in section.fields:
                    if field.kind in CHOSEN or value_at(table, field) is None:
                        continue
                    read = KINDS[field.kind].read(shown(table, field), field.unit)
                    if read.trouble and read.value == value_at(table, field):  # else it wasn't typed here
                        found.append(Remark(page.name, section.table, row, field.key, read.trouble))
    return found


def tables_of(values: Mapping, section: Section) -> list[tuple[int | None, Mapping]]:
    """The tables of a section with their numbers: each of a list, or the one table (it may be empty)."""
    if section.one:
        return list(enumerate(rows(values, section.table)))
    table = values if section.table == TOP else values.get(section.table)
    return [(None, table if isinstance(table, Mapping) else {})]


def _told(values: Mapping, problem: str) -> Remark:
    """What ``load`` said, put where it belongs, in the words of the form."""
    table, numbers, rest = _head(values, problem)
    place, words = _split(rest)
    section, keys = SECTIONS.get(table), _KEY.findall(place)
    if section is not None and section.table == TOP and keys and keys[0] in SECTIONS:
        section, keys = SECTIONS[keys[0]], []  # "top level, key part: it is missing"
    elif section is not None and section.table == TOP and _field(section, keys) is None:
        section = None
    if section is None:
        return Remark("", "", None, "", problem)
    row = None if not numbers else numbers[-1] if "there already" in words else numbers[0]
    if section.table == "follower":
        keys = _of_the_track(keys, "track step" in place, rows(values, "follower")[row or 0 :][:1])
    field = _field(section, keys)
    if field is None and keys:
        return Remark(_page(section), section.table, row, "", problem)
    what, key = words.partition("; ")[0], field.key if field else ""
    if what == MISSING or "has no state ''" in what:
        wanted = field.help if field else f"at least one {section.one}"
        return Remark(_page(section), section.table, row, key, f"to fill in: {wanted}", open=True)
    if what == UNKNOWN:
        words = "it doesn't go together with the rest of this page; leave it empty"
    inner = [key for key in keys if field and key not in field.path]
    words = _plain(": ".join([*inner, words]), section, values)
    return Remark(_page(section), section.table, row, key, words)


def _of_the_track(keys: list[str], step: bool, follower: list[Mapping]) -> list[str]:
    """The keys, or those of the readings where a track is spoken of and the follower has none."""
    if step:
        return ["track"]
    if (
        keys[:1] in (["track"], ["track_from"])
        and follower
        and not {"track", "track_from"} & set(follower[0])
    ):
        return ["readings"]
    return keys


def _head(values: Mapping, problem: str) -> tuple[str | None, list[int], str]:
    """The table of which ``load`` spoke, the numbers of those of that name in its list, what is said of it.

    The names are looked up, since one may hold anything: quotes, colons, "key teeth".
    """
    head = _HEAD.match(problem)
    if head is None:
        return None, [], problem
    table, rest = head["many"] or head["single"] or TOP, problem[head.end() :]
    if head["number"] or not head["many"]:
        return table, [int(head["number"]) - 1] if head["number"] else [], rest
    names = [str(row.get("name"))[:60] for row in rows(values, table)]
    found = (name for name in names if rest.startswith((f'{name}", ', f'{name}": ')))
    meant = max(found, key=len, default="")
    return table, [at for at, name in enumerate(names) if name == meant], rest[len(meant) + 1 :]


def _split(problem: str) -> tuple[str, str]:
    """Place and words of what ``load`` said; a name in quotes may hold a colon."""
    found = re.match(r'((?:[^":]|"[^"]*")*): (.*)', problem, re.DOTALL)
    return found.groups() if found else ("", problem)


def _field(section: Section, keys: list[str]) -> Field | None:
    if not keys:
        return None
    inside = (field for field in section.fields if field.path[0] == keys[0])  # "key home: it is missing"
    return section.field(".".join(keys[:2])) or section.field(keys[0]) or next(inside, None)


def _page(section: Section) -> str:
    return next(page.name for page in PAGES if section in page.sections)


def _plain(words: str, section: Section, values: Mapping) -> str:
    """Words for somebody who sees the form and not the file: labels for keys, titles for tables, teeth."""
    a_reading = KINDS["readings"].read("?", "").trouble.partition(": ")[2]
    words = words.replace(ANGLE, f"write {AN_ANGLE}").replace(READING, a_reading)
    shaft = next((row["name"] for row in rows(values, "hand_shaft") if "name" in row), "worm shaft")
    words = words.replace(OF_WHICH, f"say of which, such as 3.5 turns of {shaft}")
    words = words.replace("theta is 0 where", "0 is where")
    words = re.sub(r'\bname = "([^"]*)"', r"\1", words)
    words = re.sub(r"\[\[?(\w+)\]\]?", lambda found: _title(found[1]), words)
    every = [field for some in (*SECTIONS.values(), section) for field in some.fields]  # its own come last
    labels = INNER | {field.path[-1]: f"“{field.label}”" for field in every}
    words = re.sub(r"\b[a-zA-Z]+(?:_[a-zA-Z]+)+\b", lambda found: labels.get(found[0], found[0]), words)
    teeth = _main_teeth(values)
    return re.sub(_DEGREES, lambda found: _in_teeth(found, teeth), words) if teeth else words


def _main_teeth(values: Mapping) -> int | None:
    drive = values.get("drive")
    teeth = drive.get("main_gear_teeth") if isinstance(drive, Mapping) else None
    return teeth if isinstance(teeth, int) and teeth > 0 else None


def _in_teeth(found: re.Match, teeth: int) -> str:
    """Angles in degrees, each in degrees and in teeth of the main gear."""

    def both(angle: re.Match) -> str:
        deg = float(angle[0])
        return f"{say(deg, '°')} ({say(deg * teeth / 360, 'teeth', 2)})"

    return re.sub(_NUMBER, both, found["angles"]) + (found["after"] or "")


def _title(table: str) -> str:
    return f"“{SECTIONS[table].title}”" if table in SECTIONS else table
