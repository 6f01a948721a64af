"""What one reader has done, page by page, from what was written down."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from mechlib.say import columns, count
from mechlib.teaching.pages import Page, page_of
from mechlib.teaching.records import CASES, GIVEN_UP, RIGHT, Check, Guess


@dataclass(frozen=True)
class PageDone:
    """What is done on one page: exercises that came right, guesses made, the time of the last record.

    ``cases``: bench cases that were mended, each once; they are no exercises.  ``given_up``: those whose plan
    was seen first, mended afterwards or not; they aren't among ``cases``.
    """

    page: Page
    right: int
    guesses: int
    last: str
    cases: int = 0
    given_up: int = 0

    @property
    def finished(self) -> bool:
        """True when every exercise of the page came right once."""
        return self.right >= self.page.exercises

    def sentence(self) -> str:
        """The finding for this page."""
        if not self.last:
            return f"{self.page.title}: not begun."
        right, guesses = _share(self.right, self.page.exercises), _share(self.guesses, self.page.guesses)
        mended = f", {count(self.cases, 'case')} mended" if self.cases else ""
        mended += f", {count(self.given_up, 'case')} given up" if self.given_up else ""
        when = f"last on {self.last[:10]}"
        return f"{self.page.title}: {right} exercises right{mended}, {guesses} guesses made, {when}."

    @property
    def told(self) -> str:
        """The exercises that came right, and the cases, for a table."""
        cases = f", {count(self.cases, 'case')}" if self.cases else ""
        cases += f", {self.given_up} given up" if self.given_up else ""
        return _share(self.right, self.page.exercises) + cases


@dataclass(frozen=True)
class Done:
    """What one reader has done on all pages that have something to do."""

    reader: str
    rows: tuple[PageDone, ...]

    @property
    def next_page(self) -> Page | None:
        """The page to go on with: the one begun last, while it isn't finished, else the first unfinished."""
        open_rows = [row for row in self.rows if not row.finished]
        begun = [row for row in open_rows if row.last]
        best = max(begun, key=lambda row: row.last, default=open_rows[0] if open_rows else None)
        return best.page if best else None

    def sentence(self) -> str:
        """How much is done in all, and what comes next."""
        who = self.reader or "You"
        total = sum(row.page.exercises for row in self.rows)
        right = sum(min(row.right, row.page.exercises) for row in self.rows)
        guesses = sum(row.guesses for row in self.rows)
        then = f"Go on with: {self.next_page.title}." if self.next_page else "Every exercise came right once."
        return f"{who}: {right} of {count(total, 'exercise')} right; guesses made: {guesses}. {then}"

    def table(self) -> tuple[tuple[str, str, str, str], ...]:
        """One row a page: its title, exercises right, guesses made, and the day of the last of them."""
        return tuple(
            (
                row.page.title,
                row.told,
                _share(row.guesses, row.page.guesses),
                row.last[:10] or "not begun",
            )
            for row in self.rows
        )

    def text(self) -> str:
        """The table in columns."""
        return columns(HEADER, self.table())


HEADER = ("page", "exercises right", "guesses made", "last on")


def done(records: Iterable[Check | Guess], among: tuple[Page, ...], reader: str = "") -> Done:
    """Sum up what ``reader`` has done on the pages ``among``.

    Parameters: ``records`` as read; ``among`` the pages of the workbook; ``reader`` the name ("" for none).
    Returns one row for each page with exercises or guesses.  Raises nothing.  Source: none needed, counting.

    >>> page = Page("02_gears.ipynb", "Read gears", (), "", ("trains",), 5, 0, frozenset())
    >>> print(done([Check("2031-03-01T10:15:02", "", "trains", "Worm", 1, "right")], (page,)).text())
    page        exercises right  guesses made     last on
    Read gears           1 of 5             0  2031-03-01
    """
    own = [record for record in records if record.reader == reader]
    rows = []
    for page in among:
        here = [record for record in own if page_of(record, among) is page]
        checks = [record for record in here if isinstance(record, Check)]
        if page.exercises or page.guesses or here:
            right = len({check.exercise for check in checks if check.right and check.lesson != CASES})
            cases, given_up = _cases([check for check in checks if check.lesson == CASES])
            guesses = len({record.question for record in here if isinstance(record, Guess)})
            rows.append(
                PageDone(page, right, guesses, max((r.at for r in here), default=""), cases, given_up)
            )
    return Done(reader, tuple(rows))


def _cases(checks: list[Check]) -> tuple[int, int]:
    """How many cases were mended before their plan was seen, and how many were given up before that."""
    first = {}
    for check in sorted(checks, key=lambda check: check.at):
        if check.found in (RIGHT, GIVEN_UP):
            first.setdefault((check.exercise, check.seed), check.found)
    found = list(first.values())
    return found.count(RIGHT), found.count(GIVEN_UP)


def _share(part: int, whole: int) -> str:
    return f"{part} of {whole}" if whole else str(part)
