"""A class at a glance, from a folder of progress files: who did what, what recurs, where people stop."""

from __future__ import annotations

import csv
import io
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

from mechlib.say import columns, count
from mechlib.teaching.done import Done, PageDone, done
from mechlib.teaching.pages import Page, page_of
from mechlib.teaching.records import CASES, GIVEN_UP, ONE_OF_TWO, RIGHT, Check, Guess, read_each

NO_PAGE = "(no page of this workbook)"
NOT_TRIED = "empty"  # what an answer is found to be when nothing was filled in: no slip
# What can't be judged, or is only written otherwise, is no slip either.
UNREAD = ("not a number", "too large", "wrong unit", "rounding", "thousands")
NO_SLIPS = (RIGHT, ONE_OF_TWO, GIVEN_UP, NOT_TRIED, *UNREAD)
UNRECOGNISED = "unrecognised"  # an answer to which no known slip leads
OPEN, AFTER_GIVING_UP = "not yet right", "right, given up first"
EXERCISE, CASE, GUESS = "exercise", "bench case", "guess"  # kinds of tasks
CSV_HEADER = ("reader", "page", "task", "kind", "tries", "outcome", "slips", "last on")


@dataclass(frozen=True)
class Task:
    """One exercise or guess of one reader: how often tried, how it stands, the slips made, the last time.

    A bench case is a task with the ``number`` of the case; its name is that of all cases of its level.
    """

    reader: str
    page: str
    name: str
    kind: str
    tries: int
    outcome: str
    slips: tuple[tuple[str, int], ...]
    last: str
    number: int | None = None

    @property
    def right(self) -> bool:
        """True once it came right, though it was given up first."""
        return self.outcome in (RIGHT, AFTER_GIVING_UP)

    @property
    def told(self) -> str:
        """Its name, and the number of a case."""
        return self.name if self.number is None else f"{self.name}, number {self.number}"

    def sentence(self) -> str:
        """The finding for this task."""
        slips = f" Slips: {_counted(self.slips)}." if self.slips else ""
        return f"{self.reader}, “{self.told}”: {self.outcome} ({_tries(self.tries)}).{slips}"


@dataclass(frozen=True)
class ClassTable:
    """What a class has done: one ``Done`` a reader, every task, and what was the matter with files."""

    readers: tuple[Done, ...]
    tasks: tuple[Task, ...]
    troubles: tuple[str, ...]

    def sentence(self) -> str:
        """How many readers, how much was done, what recurs most, and how many files were damaged."""
        right = sum(task.outcome == RIGHT and task.kind == EXERCISE for task in self.tasks)
        most = next(iter(self.slip_rows()), None)
        recurs = f" Most made: “{most[2]}” ({most[1]})." if most else ""
        damaged = f" {count(len(self.troubles), 'trouble')} in reading." if self.troubles else ""
        done_in_all = f"{count(right, 'exercise')} right in all."
        return f"{count(len(self.readers), 'reader')}; {done_in_all}{recurs}{damaged}"

    def who_rows(self) -> list[tuple[str, ...]]:
        """Who did what: reader, page, exercises right, guesses made, last day; only what was begun.

        What stands on no page of this workbook comes last, in one row for each reader.
        """
        rows = []
        for reader in self.readers:
            shown = zip(reader.rows, reader.table(), strict=True)
            rows += [(reader.reader, *cells) for row, cells in shown if row.last]
            gone = [task for task in self.tasks if (task.reader, task.page) == (reader.reader, NO_PAGE)]
            right = sum(task.kind == EXERCISE and task.outcome == RIGHT for task in gone)
            guesses = sum(task.kind == GUESS for task in gone)
            if gone:
                last = max(task.last for task in gone)[:10]
                rows.append((reader.reader, NO_PAGE, str(right), str(guesses), last))
        return rows

    def slip_rows(self) -> list[tuple[str, ...]]:
        """Which slips recur: page, exercise, slip, readers who made it, times; what most make comes first.

        Left out is what was made only once.
        """
        readers, times = {}, Counter()
        for task in self.tasks:
            for slip, often in task.slips:
                readers.setdefault((task.page, task.name, slip), set()).add(task.reader)
                times[task.page, task.name, slip] += often
        again = [slip for slip in times if times[slip] > 1]
        people = {slip: len(readers[slip]) for slip in again}
        order = sorted(again, key=lambda slip: (-people[slip], -times[slip], slip))
        return [(_short(slip[0]), *slip[1:], str(people[slip]), str(times[slip])) for slip in order]

    def stop_rows(self) -> list[tuple[str, ...]]:
        """Where people stop: page, exercise, and how many left it there.

        That is the last exercise tried on a page, if it stayed unsolved; on the page that a reader worked on
        last also a right one, if some of that page are still to do.
        """
        last = {}
        for task in self.tasks:
            place = (task.reader, task.page)
            if task.kind != GUESS and (place not in last or task.last > last[place].last):
                last[place] = task
        left = {(done.reader, _label(row.page)) for done in self.readers for row in _left(done)}
        stuck = Counter(
            (task.page, f"after “{task.name}”" if task.right else task.name)
            for place, task in last.items()
            if not task.right or place in left
        )
        order = sorted(stuck, key=lambda place: (-stuck[place], place))
        return [(_short(page), exercise, str(stuck[page, exercise])) for page, exercise in order]

    def text(self) -> str:
        """The three tables in columns, and the troubles."""
        parts = [self.sentence()]
        for (title, header, left), rows in zip(
            TABLES, (self.who_rows(), self.slip_rows(), self.stop_rows()), strict=True
        ):
            parts.append(f"{title}\n{columns(header, rows, left) if rows else 'nothing yet'}")
        return "\n\n".join([*parts, *self.troubles])

    def csv(self) -> str:
        """Every task as a line of comma-separated values, for a spreadsheet (UTF-8; RFC 4180)."""
        file = io.StringIO()
        writer = csv.writer(file)
        writer.writerow(CSV_HEADER)
        for t in self.tasks:
            row = (t.reader, t.page, t.told, t.kind, t.tries, t.outcome, _counted(t.slips), _minute(t.last))
            writer.writerow([_harmless(cell) for cell in row])
        return file.getvalue()


# Title, header and how many columns are set left.
TABLES = (
    ("Who did what", ("reader", "page", "exercises right", "guesses made", "last on"), 2),
    ("Which slips recur", ("page", "exercise", "slip", "readers", "times"), 3),
    ("Where people stop", ("page", "exercise left unsolved, or last before", "readers"), 2),
)


def class_table(folder: Path, among: tuple[Page, ...]) -> ClassTable:
    """Read a folder of progress files, one or more for each reader, into one table.

    Parameters: ``folder`` with the files, or with a folder for each reader; ``among`` the workbook's pages.
    A reader without a name is called after the place of the file; where one name comes from several folders
    that stand side by side, each is told by the folder, too.  Damaged files are told in ``troubles``.
    Returns the table.  Raises MechError if there is no such folder.  Source: none needed, counting.

    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as place:
    ...     _ = Path(place, "ann.jsonl").write_text("torn")
    ...     print(class_table(Path(place), ()).sentence())
    0 readers; 0 exercises right in all. 1 trouble in reading.
    """
    read = read_each(folder)
    places = {}
    for place, found in read:
        for record in found.records:
            places.setdefault(record, place)  # a file that was copied counts once
    tops = {(record.reader, _top(place)) for record, place in places.items()}
    several = Counter(reader for reader, _ in tops)
    records = {record: _shown(record.reader, place, several) for record, place in places.items()}
    return table_of(records, among, tuple(trouble for _, found in read for trouble in found.troubles))


def _top(place: Path) -> str:
    """The folder beside others in which a file lies, however deep; "" for none."""
    return place.parts[0] if len(place.parts) > 1 else ""


def _shown(reader: str, place: Path, several: Counter) -> str:
    """What a reader is called."""
    if not reader:
        return f"no name ({place.parent if place.parent.name else place.stem})"
    return f"{reader} ({_top(place)})" if several[reader] > 1 and _top(place) else reader


def table_of(
    records: dict[Check | Guess, str], among: tuple[Page, ...], troubles: tuple[str, ...] = ()
) -> ClassTable:
    """Return the table for records, each with the name to show for its reader.  Raises nothing."""
    by_reader = {}
    for record in sorted(records, key=lambda record: record.at):
        by_reader.setdefault(records[record], []).append(record)
    names = sorted(by_reader, key=str.casefold)
    sums = tuple(_summed(name, by_reader[name], among) for name in names)
    return ClassTable(
        sums, tuple(task for name in names for task in _tasks(name, by_reader[name], among)), troubles
    )


def _label(page: Page) -> str:
    return f"{page.number:02} {page.title}"


def _left(done: Done) -> list[PageDone]:
    """The page that a reader worked on last, if it isn't finished."""
    latest = max(done.rows, key=lambda row: row.last, default=None)
    return [] if latest is None or latest.finished or not latest.last else [latest]


def _summed(name: str, records: list, among: tuple[Page, ...]) -> Done:
    own = records[0].reader  # "" where the name was made from the file's place
    return Done(name, done([r for r in records if r.reader == own], among, own).rows)


def _tasks(reader: str, records: list, among: tuple[Page, ...]) -> list[Task]:
    """One reader's exercises and guesses in the order in which they were begun."""
    grouped = {}
    for record in records:
        page = page_of(record, among)
        name = record.exercise if isinstance(record, Check) else record.question
        label = _label(page) if page else NO_PAGE
        number = record.seed if isinstance(record, Check) and record.lesson == CASES else None
        grouped.setdefault((label, name, number, type(record)), []).append(record)
    return [_task(reader, *key, own) for key, own in grouped.items()]


def _task(reader: str, page: str, name: str, number: int | None, kind_of_record: type, own: list) -> Task:
    last = own[-1].at
    if kind_of_record is Guess:
        latest = own[-1]
        came = "" if latest.came is None else f", came {latest.came}"
        return Task(reader, page, name, GUESS, 1, f"guessed {latest.guess}{came}", (), last)
    found = [check.found for check in own if check.found != NOT_TRIED]
    tries = len(found) - found.count(GIVEN_UP)
    kind = EXERCISE if number is None else CASE
    slips = tuple(_slips(own).most_common())
    return Task(reader, page, name, kind, tries, _outcome(found), slips, last, number)


def _outcome(found: list[str]) -> str:
    """How it stands; only what was given up before it came right counts as given up."""
    if RIGHT in found:
        return AFTER_GIVING_UP if GIVEN_UP in found[: found.index(RIGHT)] else RIGHT
    return GIVEN_UP if GIVEN_UP in found else OPEN


def _slips(own: list[Check]) -> Counter:
    """How often each slip was made.

    One that comes twice in a row with the same numbers is the same answer, checked again, and counts once;
    a case has many repairs that are found to be the same, and many answers are unrecognised.
    """
    slips, before = Counter(), None
    for check in own:
        again = before == (check.seed, check.found) and check.lesson != CASES and check.found != UNRECOGNISED
        slips[check.found] += check.found not in NO_SLIPS and not again
        before = check.seed, check.found
    return +slips


def _minute(at: str) -> str:
    return at[:16].replace("T", " ")


def _short(page: str) -> str:
    """The number of a page alone, where there is little room."""
    return page[:2] if page != NO_PAGE else "–"


def _counted(slips) -> str:
    return "; ".join(f"{slip} × {often}" for slip, often in slips)


def _tries(number: int) -> str:
    return "1 try" if number == 1 else f"{number} tries"


def _harmless(cell) -> str:
    """A cell that no spreadsheet takes for a formula, whatever a file said."""
    text = str(cell)
    return f"'{text}" if text.startswith(("=", "+", "-", "@", "\t", "\r")) else text
