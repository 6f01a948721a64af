"""What each page of the workbook says of itself: title, goals, time, exercises and guesses.

Read from the notebook files; nothing in them is run.
"""

from __future__ import annotations

import ast
import json
import re
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from mechlib.errors import MechError
from mechlib.say import count
from mechlib.teaching.records import Check, Guess

FIRST_NO_LESSON = 20  # pages with this number and above are to look things up, and for trainers
LARGEST_PAGE = 20_000_000  # characters
_GOALS = re.compile(r"you will be able to\s*\n\s*\n((?:- .*\n?)+)")
_TIME = re.compile(r"\*\*Time:\*\* ([^.;,*\n]+)")
_COPY = re.compile(r"-Copy\d*\.ipynb$")  # how JupyterLab names a copy that it makes
_LESSON = re.compile(r"^from mechlib\.(?:teaching|panels)\.(\w+) import ", re.M)


@dataclass(frozen=True)
class Page:
    """A page: its file name, title, goals and time as it gives them; what there is to do on it.

    ``lessons`` are the modules from which it takes exercises (and panels), ``exercises`` and ``guesses`` how
    many boxes it has, ``texts`` all texts in its code, by which a guess is known to belong to it.
    """

    file: str
    title: str
    goals: tuple[str, ...]
    time: str
    lessons: tuple[str, ...]
    exercises: int
    guesses: int
    texts: frozenset[str]

    @property
    def number(self) -> int:
        """The number with which its file name begins."""
        return int(self.file[:2])

    @property
    def is_lesson(self) -> bool:
        """True unless it is the start page, or one to look things up or to teach by."""
        return 0 < self.number < FIRST_NO_LESSON

    def sentence(self) -> str:
        """Title, time, and how much there is to do."""
        to_do = f"{count(self.exercises, 'exercise')}, {self.guesses} to guess"
        return f"{self.title}: {self.time or 'no time given'}; {to_do}."


def read_page(path: Path) -> Page:
    """Read a notebook file as a page.

    Parameters: ``path``, a notebook whose name begins with two digits.
    Returns the page; what it doesn't say of itself is left empty.
    Raises MechError if the file can't be read or is no notebook.  Source: none needed, our own pages.
    """
    try:
        text = path.read_text("utf-8")
        cells = json.loads(text)["cells"] if len(text) < LARGEST_PAGE else None
        sources = [(cell["cell_type"], "".join(cell["source"])) for cell in cells]
    except (OSError, ValueError, RecursionError, KeyError, TypeError):
        raise MechError(f"{path.name} can't be read as a page") from None
    if not path.name[:2].isdigit():
        raise MechError(f"{path.name} is no page of the workbook", "a page's name begins with two digits")
    prose = next((source for kind, source in sources if kind == "markdown"), "")
    code = [source for kind, source in sources if kind == "code"]
    goals, time = _GOALS.search(prose + "\n"), _TIME.search(prose)
    calls, texts = _calls_and_texts(code)
    return Page(
        file=path.name,
        title=prose.partition("\n")[0].removeprefix("# ").strip(),
        goals=tuple(line[2:].rstrip(" ,.") for line in goals[1].splitlines()) if goals else (),
        time=time[1].strip() if time else "",
        lessons=tuple(dict.fromkeys(_LESSON.findall("\n".join(code)))),
        exercises=calls.count("exercise_box"),
        guesses=calls.count("predict_box"),
        texts=frozenset(texts),
    )


def pages(folder: Path) -> tuple[Page, ...]:
    """Return the pages in a folder, in their order; what isn't one, or a copy of one, is left out.

    Raises MechError if there is none.

    >>> pages(Path("no such folder"))
    Traceback (most recent call last):
    mechlib.errors.MechError: no pages in “no such folder”: give the folder of the notebooks
    """
    found = tuple(page for page, _ in _each(folder) if page)
    if not found:
        raise MechError(f"no pages in “{folder}”", "give the folder of the notebooks")
    return found


def unread(folder: Path) -> tuple[str, ...]:
    """Return a sentence for each page in a folder that can't be read, such as a damaged one.  Raises nothing.

    >>> unread(Path("no such folder"))
    ()
    """
    return tuple(
        f"{trouble}: left out. How to get a clean one stands on the start page."
        for _, trouble in _each(folder)
        if trouble
    )


def _each(folder: Path) -> list[tuple[Page | None, str]]:
    """Each page that stands in a folder, or None and what is the matter with its file."""
    each = []
    for path in sorted(folder.glob("[0-9][0-9]_*.ipynb")):
        if _COPY.search(path.name):
            continue  # else its exercises would be there twice
        try:
            each.append((read_page(path), ""))
        except MechError as error:  # the others are still of use
            each.append((None, str(error)))
    return each


def page_of(record: Check | Guess, among: tuple[Page, ...]) -> Page | None:
    """Return the page to which a record belongs: the first with its lesson or its question; None for none."""
    if isinstance(record, Check):
        return next((page for page in among if record.lesson in page.lessons), None)
    return next((page for page in among if record.question in page.texts), None)


def _calls_and_texts(code: list[str]) -> tuple[list[str], set[str]]:
    """The names of all functions called in the code, and all texts in it; what is no Python is left out."""
    nodes = []
    for source in code:
        with suppress(SyntaxError, ValueError, RecursionError, MemoryError):
            nodes += ast.walk(ast.parse(source))
    called = [node.func for node in nodes if isinstance(node, ast.Call)]
    values = [node.value for node in nodes if isinstance(node, ast.Constant)]
    names = [function.id for function in called if isinstance(function, ast.Name)]
    return names, {value for value in values if isinstance(value, str)}
