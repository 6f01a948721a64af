"""The rules of a lesson, each a function from a notebook to the faults found in it.

A fault is one line that names the cell (counted from 1) and says what is wrong.  `faults(notebook, path)`
runs every rule.  The numbers quoted in the prose are looked after in quoted_numbers.py.
"""

from __future__ import annotations

import ast
import re
import sys
from collections.abc import Iterator
from pathlib import Path

from quoted_numbers import quoted_numbers

from mechlib.teaching.pages import FIRST_NO_LESSON
from mechlib.teaching.predictions import GUESS_FIRST

SECTIONS = ("Predict", "Exercises", "Check against the handbook", "What you can now do", "Cautions")
CLOSING_SECTIONS = ("What you can now do", "Cautions")
MOST_CODE_LINES = 5

# Cells whose output is not compared: {"notebook.ipynb": {"cell id": "the reason"}}.
NOT_COMPARED: dict[str, dict[str, str]] = {}

# What the cell that sets a guess beside what happened shows while no guess is kept.
ASKS = {"output_type": "stream", "name": "stdout", "text": GUESS_FIRST + "\n"}

_IMAGE = re.compile(r"!\[(?P<alt>[^\]]*)\]\((?P<path>[^)\s]*)[^)]*\)|<img\b(?P<html>[^>]*)>")
_PLACES = tuple({str(Path(__file__).resolve().parents[1]), str(Path.home()), sys.prefix, sys.base_prefix})
_PATH = re.compile(r"/(home|Users|tmp|root|usr|opt|var)/\w|\b[A-Z]:\\\w|0x[0-9a-f]{6,}")


def headings(cell) -> list[tuple[int, str]]:
    """Return (level, text) of each heading of a prose cell; lines in code fences are none."""
    text = re.sub(r"^```.*?^```", "", cell.source, flags=re.S | re.M)
    return [(len(marks), words.strip()) for marks, words in re.findall(r"^(#{1,6})\s+(.*)$", text, re.M)]


def _numbered(notebook, kind: str) -> list[tuple[int, object]]:
    return [(number, cell) for number, cell in enumerate(notebook.cells, 1) if cell.cell_type == kind]


def _all_headings(notebook) -> list[tuple[int, int, str]]:
    prose = _numbered(notebook, "markdown")
    return [(number, level, text) for number, cell in prose for level, text in headings(cell)]


def is_lesson(path: Path) -> bool:
    """Whether a notebook is a lesson, by the number in its name."""
    return 0 < int(path.name[:2]) < FIRST_NO_LESSON


def title(notebook, path: Path) -> Iterator[str]:
    """One title, and it opens the first cell."""
    first = notebook.cells[0] if notebook.cells else None
    if first is None or first.cell_type != "markdown" or not first.source.startswith("# "):
        yield "cell 1: must be prose that opens with the title (one # and a space)"
    titles = [number for number, level, _ in _all_headings(notebook) if level == 1]
    if len(titles) != 1:
        yield f"there must be exactly one title, but cells {titles} have one"


def heading_order(notebook, path: Path) -> Iterator[str]:
    """No level is left out on the way down."""
    before = 0
    for number, level, text in _all_headings(notebook):
        if level > before + 1:
            yield f"cell {number}: heading '{text}' goes from level {before} to {level}"
        before = level


def sections(notebook, path: Path) -> Iterator[str]:
    """A lesson has its sections; the start page and the pages to look up and to teach by need not."""
    if not is_lesson(path):
        return
    present = [text.lower() for _, _, text in _all_headings(notebook)]
    for section in SECTIONS:
        if not any(text.startswith(section.lower()) for text in present):
            yield f"no heading '{section}'"


def last_cell(notebook, path: Path) -> Iterator[str]:
    """The last cell is prose, and in a lesson it closes it."""
    if not notebook.cells or notebook.cells[-1].cell_type != "markdown":
        yield "the last cell must be prose"
        return
    found = [text for _, _, text in _all_headings(notebook)]
    closes = found and found[-1].lower().startswith(tuple(section.lower() for section in CLOSING_SECTIONS))
    if is_lesson(path) and not closes:
        yield "the last heading must be one of: " + ", ".join(CLOSING_SECTIONS)


def prose_first(notebook, path: Path) -> Iterator[str]:
    """Before each code cell stands prose."""
    for number, _ in _numbered(notebook, "code"):
        before = notebook.cells[number - 2] if number > 1 else None
        if before is None or before.cell_type != "markdown" or not before.source.strip():
            yield f"cell {number}: code without prose before it"


def short_code(notebook, path: Path) -> Iterator[str]:
    """At least one line of plain Python and at most five, comments and blank lines apart."""
    for number, cell in _numbered(notebook, "code"):
        lines = (line.strip() for line in cell.source.splitlines())
        count = sum(bool(line) and not line.startswith("#") for line in lines)
        if not 1 <= count <= MOST_CODE_LINES:
            yield f"cell {number}: {count} lines of code; it must be 1 to {MOST_CODE_LINES}"
        try:
            ast.parse(cell.source)
        except SyntaxError:
            yield f"cell {number}: not plain Python"


def outputs_stored(notebook, path: Path) -> Iterator[str]:
    """Each code cell was run, in order, and what it shows is stored."""
    for order, (number, cell) in enumerate(_numbered(notebook, "code"), 1):
        if cell.execution_count != order:
            yield f"cell {number}: its count is {cell.execution_count}, not {order}; refresh the notebook"
        if _shows_something(cell.source) and not cell.outputs:
            yield f"cell {number}: its output is not stored; refresh the notebook"


def _shows_something(source: str) -> bool:
    try:
        body = ast.parse(source).body
    except SyntaxError:
        return True
    prints = any(isinstance(node, ast.Name) and node.id == "print" for node in ast.walk(ast.Module(body, [])))
    return prints or bool(body) and isinstance(body[-1], ast.Expr)


def clean_outputs(notebook, path: Path) -> Iterator[str]:
    """No error, nothing on the error stream, no path or address of the machine it ran on."""
    for number, cell in _numbered(notebook, "code"):
        for output in cell.outputs:
            if output.output_type == "error":
                yield f"cell {number}: an error is stored: {output.ename}"
            if output.get("name") == "stderr":
                yield f"cell {number}: text on the error stream is stored"
        text = output_text(cell)
        if any(place in text for place in _PLACES if len(place) > 1) or _PATH.search(text):
            yield f"cell {number}: the output holds a path or an address of one machine"


def output_text(cell) -> str:
    """Return all that a code cell shows as text, one output after another."""
    parts = []
    for output in cell.outputs:
        parts.append(output.get("text", ""))
        data = output.get("data", {})
        parts += [text for kind, text in data.items() if kind.startswith("text/") and isinstance(text, str)]
    return "\n".join(parts)


def pictures(notebook, path: Path) -> Iterator[str]:
    """Each picture in the prose says in words what it shows, and its file is there."""
    for number, cell in _numbered(notebook, "markdown"):
        for found in _IMAGE.finditer(cell.source):
            alt, source = found["alt"], found["path"]
            if found["html"] is not None:
                attributes = dict(re.findall(r"""(\w+)\s*=\s*["']([^"']*)["']""", found["html"]))
                alt, source = attributes.get("alt", ""), attributes.get("src", "")
            if not alt.strip():
                yield f"cell {number}: picture {source} has no alt text"
            if not source or not (path.parent / source).is_file():
                yield f"cell {number}: there is no file {source}"


def compared(notebook, path: Path) -> Iterator[str]:
    """A cell's output is left out of the comparison only for a reason, kept in NOT_COMPARED."""
    excused = NOT_COMPARED.get(path.name, {})
    for number, cell in _numbered(notebook, "code"):
        marks = " ".join(cell.metadata.get("tags", []) + re.findall("#.*", cell.source))
        marked = re.search(r"nbval|raises-exception|PYTEST_VALIDATE", marks, re.I)
        if marked and not excused.get(cell.get("id")):
            yield f"cell {number}: marked not to be compared, with no reason in NOT_COMPARED"


def guess_first(notebook, path: Path) -> Iterator[str]:
    """The cell that sets a guess beside what happened shows nothing else, and as stored only asks for one."""
    for number, cell in compare_cells(notebook):
        if [dict(output) for output in cell.outputs] != [ASKS]:
            yield f"cell {number}: a cell with compare shows that and nothing else, stored without a guess"


def compare_cells(notebook) -> list[tuple[int, object]]:
    """Return the number and the cell of each code cell in which a guess is set beside what happened."""
    return [(number, cell) for number, cell in _numbered(notebook, "code") if _compares(cell.source)]


def _compares(source: str) -> bool:
    try:
        nodes = list(ast.walk(ast.parse(source)))
    except SyntaxError:  # another rule reports it
        return False
    called = (node.func for node in nodes if isinstance(node, ast.Call))
    return any(isinstance(func, ast.Attribute) and func.attr == "compare" for func in called)


def given_away(notebook, outcomes: list[str]) -> Iterator[str]:
    """Yield a fault for each outcome that can be read above the cell that sets the guess beside it.

    ``outcomes``: of each such cell in turn what came out, a number with its unit, or "" for one of some
    choices: whether words tell that, no rule can say.  The unit must follow a whole number below 100; one
    without a unit might stand for anything, and is left to the eye.
    """
    for (place, _), outcome in zip(compare_cells(notebook), outcomes, strict=True):
        found = re.fullmatch(r"(?P<number>[\d.]+)\s*(?P<unit>.*)", outcome.lstrip("−"))
        short = found and "." not in found["number"] and len(found["number"]) < 3
        if found is None or short and not found["unit"]:
            continue
        unit = r"[\s`]*" + re.escape(found["unit"]) if short else ""
        told = re.compile(rf"(?<![\w.,]){re.escape(found['number'])}(?![\d]|\.\d){unit}")
        for number, cell in enumerate(notebook.cells[: place - 1], 1):
            text = cell.source if cell.cell_type == "markdown" else output_text(cell)
            if told.search(text):
                yield f"cell {number}: gives away {outcome}, which is to be guessed before cell {place}"


def numbers(notebook, path: Path) -> Iterator[str]:
    """Numbers with a unit or with decimals in the prose are computed beside it."""
    outputs = [output_text(cell) if cell.cell_type == "code" else "" for cell in notebook.cells]
    cells = [(cell.cell_type, cell.source) for cell in notebook.cells]
    yield from quoted_numbers(cells, outputs, path.name)


RULES = (
    *(title, heading_order, sections, last_cell, prose_first, short_code),
    *(outputs_stored, clean_outputs, pictures, compared, guess_first, numbers),
)


def faults(notebook, path: Path) -> list[str]:
    """Return all faults of a notebook, each as "rule: what is wrong"."""
    return [f"{rule.__name__}: {fault}" for rule in RULES for fault in rule(notebook, path)]


_UNIT_IN_LABEL = re.compile(
    r"\((?:[^)]*[\s,])?(?:mm|°|N|N·mm|N/mm|rev/min|s|ms|V|A|mA|Ω|%|mm/s|°/s|g|°C|no unit)\)"
    r"|\b(?:teeth|tooth|turns?|degrees|millimetres|seconds)\b"
    r"|\bnumber of \w+"
)


def label_has_unit(label: str) -> bool:
    """Whether a slider's label says the unit: in brackets, or in plain words: teeth, number of planets.

    >>> label_has_unit("centre distance (mm)"), label_has_unit("teeth ahead (+) / behind (−)")
    (True, True)
    >>> label_has_unit("centre distance"), label_has_unit("friction (no unit)")
    (False, True)
    """
    return bool(_UNIT_IN_LABEL.search(label))
