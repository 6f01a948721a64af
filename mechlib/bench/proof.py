"""What the results of a proof sheet say: what is proved, what isn't, and what one slip would explain."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable
from dataclasses import dataclass

from mechlib.bench.change_walk import Pair
from mechlib.bench.proof_sheet import HEADER, proof_steps
from mechlib.errors import MechError, check_number
from mechlib.say import columns, count, listing, say
from mechlib.transports.change_table import change_table, slip_table
from mechlib.transports.faults import slip
from mechlib.transports.model import Transport

TOLERANCE, LEAST_S = 0.25, 0.3  # of the expected time, and seconds: common practice, no source
SLIPS = (-2, -1, 1, 2)  # teeth out that are looked at for a hint
MOST_S = 3600.0
YES, NO = ("yes", "y", "true", "1"), ("no", "n", "false", "0")
FAILED, SLOW, QUICK = "failed", "too slow", "too quick to be true"
UNEXPECTED, UNTRIED = "worked, but cannot as filed", "not tried"
PROVED, AS_FILED = "proved", "cannot work as filed"
AGAINST = (FAILED, SLOW, QUICK, UNEXPECTED, UNTRIED)  # giving the machine back, the gravest first
FINDINGS = (*AGAINST, PROVED, AS_FILED)
TIME_AGAIN = (
    "The machine can't go that fast: time such a change again, from the key to the last lever at rest, and "
    "see that the decimal sign is in its place."
)
FEW = 3  # of anything told in a sentence; the table has them all


@dataclass(frozen=True)
class Result:
    """One row of the sheet as it was filled in; ``time_s`` is None where no time was taken."""

    start: str
    target: str
    worked: bool
    time_s: float | None = None
    remark: str = ""

    @property
    def pair(self) -> Pair:
        """The change."""
        return self.start, self.target


def read_results(transport: Transport, results: str | Iterable) -> tuple[Result, ...]:
    """Read a proof sheet: CSV text (comma, semicolon or tab), or rows (start, target, worked, time, remark).

    A first row that begins with "start" is the heading; rows with nothing said about the change were not
    tried and are left out.  ``worked``: yes or no; time: seconds, 0 to 3600, or nothing.  A comma between
    two bare figures where the time stands is a decimal comma, also where commas part the columns: a remark
    that is a bare figure says nothing, and the longer time never proves too much.  Raises MechError that
    names every row that can't be read and what would be right.

    >>> from mechlib.transports import load
    >>> read_results(load("alder"), "DOWN; EJECT; yes; 1,5; slow belt")[0].time_s
    1.5
    """
    rows = _rows(results)
    if rows and str(rows[0][0]).strip().lower() == HEADER[0]:
        rows[0] = []
    read, problems = [], []
    for number, row in enumerate(rows, 1):
        try:
            found = _result(transport, row)
        except MechError as error:
            problems.append(f"row {number}: {error}")
        else:
            read += [found] if found else []
    if problems:
        raise MechError("; ".join(problems), problems=tuple(problems))
    return tuple(read)


def _rows(results) -> list[list]:
    if isinstance(results, str):
        first = next((line for line in results.splitlines() if line.strip()), "")
        delimiter = max(",;\t", key=first.count)
        rows = csv.reader(results.splitlines(), delimiter=delimiter, skipinitialspace=True)
        rows = [row for row in rows if any(map(str.strip, row))]
        return [_time_in_one(row) for row in rows] if delimiter == "," else rows
    if not isinstance(results, Iterable):
        raise MechError(f"the results are {results!r}", "give CSV text, or a list with a tuple for each row")
    rows = list(results)
    for number, row in enumerate(rows, 1):
        if not isinstance(row, (tuple, list)):
            raise MechError(f"row {number} is {row!r}", f"it must hold {', '.join(HEADER)}")
    return [list(row) for row in rows if row]


def _time_in_one(row: list[str]) -> list[str]:
    """A row in which a decimal comma parted the time, such as 1,4 or 1,4 s, with its time put together."""
    at = HEADER.index("time_s")
    whole, parts = (cell.strip() for cell in (*row[at : at + 2], "", "")[:2])
    if not (re.fullmatch(r"\d+", whole) and re.fullmatch(r"\d+ ?s?", parts)):
        return row
    return [*row[:at], f"{whole}.{parts}", *(row[at + 2 :] or [""])]


def _result(transport: Transport, row: list) -> Result | None:
    if not row:
        return None
    if not 3 <= len(row) <= len(HEADER):
        raise MechError(f"it has {count(len(row), 'column')}", f"it must hold {', '.join(HEADER)}")
    start, target, worked, time, remark = [*row, *[None] * (len(HEADER) - len(row))]
    start, target = _mode(transport, start), _mode(transport, target)
    if start == target:
        raise MechError(f"it goes from {start} to {start}", "a change ends in another mode")
    time, remark = _seconds(time), str(remark or "").strip()
    said = str("" if worked is None else worked).strip().lower()
    if not said and time is None:
        return None
    if said not in (*YES, *NO):
        raise MechError(f"worked is {worked!r}", 'it must be "yes" or "no"')
    return Result(start, target, said in YES, time, remark)


def _mode(transport: Transport, name) -> str:
    wanted = str(name).strip().lower()
    for mode in transport.mode_names:
        if mode.lower() == wanted:
            return mode
    known = ", ".join(transport.mode_names)
    raise MechError(f"no mode is called {str(name).strip()!r}", f"there are {known}")


def _seconds(time) -> float | None:
    if time is None or (isinstance(time, str) and not time.strip()):
        return None
    if isinstance(time, str):
        try:
            time = float(time.strip().removesuffix("s").strip().replace(",", "."))
        except ValueError:
            raise MechError(f"the time is {time.strip()!r}", "it must be seconds, such as 2.5") from None
    return check_number("the time", time, 0, MOST_S, "s")


# ---- Judging ----


@dataclass(frozen=True)
class Judged:
    """One change of the machine: the finding (one of FINDINGS), the slowest time taken, what was expected."""

    start: str
    target: str
    finding: str
    time_s: float | None
    expected_s: float | None
    remark: str = ""

    @property
    def pair(self) -> Pair:
        """The change."""
        return self.start, self.target


@dataclass(frozen=True)
class SlipHint:
    """A single slip set against what was seen.

    ``missed``: changes that failed and would work under it; ``extra``: those that worked and would fail.
    """

    mesh: str
    teeth: int
    missed: tuple[Pair, ...]
    extra: tuple[Pair, ...]

    @property
    def off(self) -> int:
        """How many of the changes that were tried it tells wrong."""
        return len(self.missed) + len(self.extra)

    def sentence(self) -> str:
        """The slip and how well it agrees."""
        fault = slip(self.mesh, self.teeth).sentence()[:-1]
        if not self.off:
            return f"{fault}: of the changes tried it would make just those fail that did."
        told = [f"{len(self.missed)} that failed would work"] if self.missed else []
        told += [f"{len(self.extra)} that worked would fail"] if self.extra else []
        return f"{fault}: it comes near, but {listing(told)}."


@dataclass(frozen=True)
class Verdict:
    """What a proof sheet says.  ``hints`` are the single slips that agree best; only a hint, no finding."""

    changes: tuple[Judged, ...]
    hints: tuple[SlipHint, ...]

    def pairs(self, finding: str) -> tuple[Pair, ...]:
        """The changes with one finding, in the order of the modes."""
        return tuple(change.pair for change in self.changes if change.finding == finding)

    @property
    def all_proved(self) -> bool:
        """True if every change that the machine has is proved and none was too slow."""
        return all(change.finding in (PROVED, AS_FILED) for change in self.changes)

    def sentence(self) -> str:
        """How many changes are proved, what stands against giving the machine back, and the hint."""
        proved = len(self.pairs(PROVED))
        of = sum(change.finding not in (AS_FILED, UNEXPECTED) for change in self.changes)
        grave = ((finding, self.pairs(finding)) for finding in AGAINST)
        against = [f"{_named(pairs)} {finding}" for finding, pairs in grave if pairs]
        text = f"{proved} of {count(of, 'mode change')} proved"
        if self.all_proved:
            return f"{text}: the machine may be given back."
        text += f"; {'; '.join(against)}: the machine must not be given back yet."
        text += f" {TIME_AGAIN}" if self.pairs(QUICK) else ""
        hints = [f"A hint only: {hint.sentence()}" for hint in self.hints[:FEW]]
        more = len(self.hints) - len(hints)
        hints += [f"{count(more, 'more slip')} {'agrees' if more == 1 else 'agree'} as well."] if more else []
        return " ".join([text, *hints])

    def text(self) -> str:
        """Every change with its finding, the gravest first, and all hints."""
        rows = []
        for change in sorted(self.changes, key=lambda one: FINDINGS.index(one.finding)):
            times = ("-" if s is None else say(s) for s in (change.time_s, change.expected_s))
            rows.append((f"{change.start} to {change.target}", change.finding, change.remark, *times))
        table = columns(("change", "finding", "remark", "took (s)", "expected (s)"), rows, left=3)
        return "\n".join([table, *(hint.sentence() for hint in self.hints)])


def _named(pairs: tuple[Pair, ...]) -> str:
    shown = [f"{start} to {target}" for start, target in pairs[:FEW]]
    more = len(pairs) - len(shown)
    return listing([*shown, f"{more} more"] if more else shown)


def judge(
    transport: Transport, results: str | Iterable, tolerance: float = TOLERANCE, least_s: float = LEAST_S
) -> Verdict:
    """Judge a filled-in proof sheet.

    A change is proved if it worked each time that it was tried, and the longest time taken is off what the
    sheet expects by no more than ``tolerance``·expected or ``least_s``, whichever is more (common practice,
    no source).  Above that it is too slow; below it the time can't be right, and proves nothing.  Where
    changes failed, single slips of 1 and 2 teeth at every mesh are set against the changes that were tried,
    and those that tell the fewest wrong are hints; a slip that is no better than none is not named.

    ``results``: as for ``read_results``; ``tolerance``: 0 to 5; ``least_s``: 0 to 60 s.  Faults of the
    transport are left out.  Returns a Verdict; raises MechError for values out of range and rows that can't
    be read.

    >>> from mechlib.transports import load
    >>> judge(load("alder"), [("DOWN", "EJECT", "yes", 30)]).pairs("too slow")
    (('DOWN', 'EJECT'),)
    """
    sound = transport.sound
    tolerance = check_number("tolerance", tolerance, 0, 5)
    least_s = check_number("least_s", least_s, 0, 60, "s")
    tries: dict[Pair, list[Result]] = {}
    for result in read_results(sound, results):
        tries.setdefault(result.pair, []).append(result)
    changes = []
    times = {(step.start, step.target): step.expected_s for step in proof_steps(sound)}
    for pair in change_table(sound):
        expected = times[pair]
        most_off = None if expected is None else max(tolerance * expected, least_s)
        changes.append(_judged(pair, tries.get(pair, ()), expected, most_off))
    failed = {change.pair for change in changes if change.finding == FAILED}
    return Verdict(tuple(changes), _hints(sound, failed, set(tries)) if failed else ())


def _judged(pair: Pair, tries, expected: float | None, most_off: float | None) -> Judged:
    time = max((one.time_s for one in tries if one.time_s is not None), default=None)
    remark = "; ".join(one.remark for one in tries if one.remark)
    worked = bool(tries) and all(one.worked for one in tries)
    if expected is None:
        finding = UNEXPECTED if worked else AS_FILED
    elif not tries:
        finding = UNTRIED
    elif not worked:
        finding = FAILED
    else:
        off = 0.0 if time is None else time - expected
        finding = PROVED if abs(off) <= most_off + 1e-9 else SLOW if off > 0 else QUICK
    return Judged(*pair, finding, time, expected, remark)


def _hints(transport: Transport, failed: set[Pair], tried: set[Pair]) -> tuple[SlipHint, ...]:
    """The single slips that agree best with the changes that failed, the fewest teeth first."""
    found = []
    can = {pair for pair, cell in change_table(transport).items() if cell.change.good} & tried
    for row in slip_table(transport, SLIPS):
        would = set(row.failing) & can
        missed, extra = tuple(sorted(failed - would)), tuple(sorted(would - failed))
        found.append(SlipHint(row.mesh, row.teeth, missed, extra))
    best = min((hint.off for hint in found), default=len(failed))
    if best >= len(failed):  # as well told by no slip at all
        return ()
    return tuple(sorted((hint for hint in found if hint.off == best), key=lambda hint: abs(hint.teeth)))
