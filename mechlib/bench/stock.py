"""The shop's stock list of gears: a CSV file, read so that bad rows are told and good rows are used.

    name;teeth;module_mm;bore_mm;width_mm;hub_mm;material;count
    drawer 4;24;0,5;2;3;5;acetal;6

A row gives ``module_mm`` or ``diametral_pitch``; ``shift`` and ``pressure_angle_deg`` may be
given, and ``name`` is where the gear lies.  Commas, semicolons and tabs part the columns; decimals may have a
comma where commas don't part columns.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from errno import EINVAL
from pathlib import Path

from mechlib.errors import MechError, check_count, check_number
from mechlib.gears.materials import usual_name
from mechlib.gears.measuring import module_of_pitch
from mechlib.gears.spur import MODULE_MM, SHIFT, TEETH
from mechlib.say import count, listing, say

MOST_BYTES, MOST_ROWS = 5_000_000, 20_000
MOST_TOLD = 20  # bad rows told in a message
BORE_MM, WIDTH_MM, HUB_MM, COUNT = (0.0, 200.0), (0.1, 200.0), (0.0, 500.0), (0, 100_000)
ANGLE_DEG, PITCH = (10.0, 30.0), (0.5, 500.0)
SIZES = ("module_mm", "diametral_pitch")
NEEDED = ("teeth", "bore_mm", "width_mm", "count")
OPTIONAL = ("name", "hub_mm", "material", "shift", "pressure_angle_deg")
SPARES_BIN = Path(__file__).parent / "data" / "spares_bin.csv"


@dataclass(frozen=True)
class StockGear:
    """A kind of gear that the shop has, from a row of the list; ``size``: its module or DP as listed.

    ``hub_mm`` is 0 without a hub; ``shift`` and ``pressure_angle_deg`` are None and ``material`` "" where
    nothing is said.
    """

    row: int
    name: str
    teeth: int
    module_mm: float
    size: str
    bore_mm: float
    width_mm: float
    hub_mm: float
    material: str
    count: int
    shift: float | None = None
    pressure_angle_deg: float | None = None

    def sentence(self) -> str:
        """The gear in one sentence."""
        where = f" ({self.name})" if self.name else ""
        made = self.material or "unknown material"
        sizes = f"bore {say(self.bore_mm, 'mm', 2)}, {say(self.width_mm, 'mm', 2)} wide"
        return (
            f"Row {self.row}{where}: {self.teeth} teeth, {self.size}, {made}, {sizes}, {self.count} of them."
        )


@dataclass(frozen=True)
class BadRow:
    """A row that can't be used, and why."""

    row: int
    reason: str

    def sentence(self) -> str:
        """Row and reason."""
        return f"Row {self.row}: {self.reason}."


@dataclass(frozen=True)
class Stock:
    """What a stock list holds: the gears that can be used, and the rows that can't."""

    gears: tuple[StockGear, ...]
    bad: tuple[BadRow, ...]

    def sentence(self) -> str:
        """How many rows are good and which are bad."""
        good = f"{count(len(self.gears), 'row')} of gears can be used"
        if not self.bad:
            return f"{good}."
        shown = " ".join(one.sentence() for one in self.bad[:MOST_TOLD])
        more = len(self.bad) - MOST_TOLD
        rest = f" And {count(more, 'more bad row')}." if more > 0 else ""
        return f"{good}; {count(len(self.bad), 'row')} can't: {shown}{rest}"


def spares_bin() -> Stock:
    """The invented spares bin of 150 kinds of gears that comes with the library.

    >>> spares_bin().sentence()
    '150 rows of gears can be used.'
    """
    return read_stock(SPARES_BIN)


def read_stock(source: str | Path | bytes) -> Stock:
    """Read a stock list: from a path to a .csv file, from its bytes (an upload), or from CSV text.

    Rows are counted as in the file, from 1, the heading included.  Empty rows and rows that begin with # are
    left out; rows with fewer columns than the heading miss what stands at the end.  Units: mm and degrees;
    teeth 6 to 2000, module 0.05 to 50 mm or diametral pitch 0.5 to 500, shift −1 to 1.5, count 0 to 100 000.
    A material that ``gears.materials`` doesn't know is kept as written.

    Returns a Stock with good and bad rows.  Raises MechError for a file that isn't there, is larger than 5 MB
    or no text, for an empty list, and for missing, unknown or doubled columns.

    >>> stock = read_stock("teeth;module_mm;bore_mm;width_mm;count\\n24;0,5;2;3;6\\nx;0,5;2;3;6")
    >>> stock.gears[0].module_mm, stock.bad[0].sentence()
    (0.5, "Row 3: teeth is 'x': write a whole number.")
    """
    text = _text(source)
    lines = _rows(text)
    if not lines:
        raise MechError("the stock list is empty", f"its first row names the columns: {listing(NEEDED)}, …")
    (_, heading), *rows = lines
    if isinstance(heading, str):
        raise MechError("the heading of the stock list", heading)
    names = _heading(heading)
    if len(rows) > MOST_ROWS:
        raise MechError(f"the stock list has {len(rows)} rows", f"at most {MOST_ROWS} are read; split it")
    gears, bad = [], []
    for number, cells in rows:
        if isinstance(cells, str):
            bad.append(BadRow(number, cells))
            continue
        try:
            gears.append(_gear(number, names, cells))
        except MechError as error:
            bad.append(BadRow(number, "; ".join(error.problems)))
    return Stock(tuple(gears), tuple(bad))


def _text(source) -> str:
    if isinstance(source, str) and "\n" not in source and "\r" not in source:
        if not source.strip():
            return ""
        source = Path(source)
    if isinstance(source, Path):
        source = _bytes_of(source)
    if isinstance(source, (bytes, bytearray, memoryview)):
        source = bytes(source)
        if len(source) > MOST_BYTES:
            raise MechError(f"the stock list has {len(source)} bytes", f"at most {MOST_BYTES} are read")
        return _decoded(source)
    if not isinstance(source, str):
        raise MechError(f"the stock list is a {type(source).__name__}", "give a path, text or bytes")
    if len(source) > MOST_BYTES:
        raise MechError(f"the stock list has {len(source)} letters", f"at most {MOST_BYTES} are read")
    return source.removeprefix("\ufeff")


def _bytes_of(path: Path) -> bytes:
    try:
        if path.exists() and not path.is_file():  # a pipe would keep us waiting for ever
            raise OSError(EINVAL, "it is a folder or a device, no file")
        with open(path, "rb") as file:
            return file.read(MOST_BYTES + 1)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "it is no name of a file"
        hint = "give the path of a .csv file, or its text with a row of headings"
        raise MechError(f"can't read the stock list {str(path)[:80]!r} ({reason})", hint) from None


def _decoded(raw: bytes) -> str:
    """Text of a file as spreadsheets write it: UTF-8, UTF-16 with its mark, or the usual single bytes."""
    marked = raw[:2] in (b"\xff\xfe", b"\xfe\xff")
    encodings = ("utf-16",) if marked else ("utf-8-sig", "cp1252")
    for encoding in encodings:
        try:
            text = raw.decode(encoding)
        except UnicodeDecodeError:
            continue
        if "\0" not in text:
            return text
        break
    raise MechError("the stock list is no text", "save it as CSV with UTF-8 letters and try again")


def _rows(text: str) -> list[tuple[int, list[str] | str]]:
    """The rows with something in them, with their numbers: cells, or what is wrong with the row.

    A row is a line, whatever its quotation marks say, so that one that isn't closed spoils no other row.
    """
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    heading = next((line for line in lines if _counts(line)), "")
    delimiter = max(",;\t", key=heading.count)
    found = []
    for number, line in enumerate(lines, 1):
        if not _counts(line):
            continue
        try:
            (cells,) = csv.reader([line], delimiter=delimiter, skipinitialspace=True, strict=True)
            found.append((number, [cell.strip() for cell in cells]))
        except (csv.Error, ValueError):
            found.append((number, "it can't be parted into columns; look at its quotation marks"))
    return found


def _counts(line: str) -> bool:
    """Whether a line holds anything but blanks and a remark."""
    return bool(line.strip(" \t,;")) and not line.lstrip(' \t"').startswith("#")


def _heading(cells: list[str]) -> list[str]:
    names = [cell.lower().replace(" ", "_") for cell in cells]
    problems = []
    for name in names:
        if name and name not in (*NEEDED, *SIZES, *OPTIONAL):
            problems.append(f"there is no column {name[:40]!r}")
    doubled = sorted({name for name in names if name and names.count(name) > 1})
    problems += [f"the column {name!r} is there twice" for name in doubled]
    problems += [f"the column {name!r} is missing" for name in NEEDED if name not in names]
    if not set(SIZES) & set(names):
        problems.append("module_mm or diametral_pitch is missing")
    if problems:
        known = listing((*NEEDED[:1], *SIZES, *NEEDED[1:], *OPTIONAL))
        message = f"the heading of the stock list: {'; '.join(problems)}"
        raise MechError(message, f"the columns are {known}", problems=tuple(problems))
    return names


def _gear(row: int, names: list[str], cells: list[str]) -> StockGear:
    """One row as a gear; MechError with every problem in it."""
    if len(cells) > len(names) and any(cells[len(names) :]):
        hint = "a decimal comma among commas needs quotation marks, or part the columns by semicolons"
        raise MechError(f"it has {len(cells)} columns, the heading {len(names)}", hint)
    cell = _Cells({name: cell for name, cell in zip(names, cells, strict=False) if name and cell})
    module, size = cell.size()
    fields = dict(
        teeth=cell.read("teeth", TEETH, whole=True),
        bore_mm=cell.read("bore_mm", BORE_MM),
        width_mm=cell.read("width_mm", WIDTH_MM),
        hub_mm=cell.read("hub_mm", HUB_MM, 0.0),
        material=usual_name(cell.given.get("material", "")),
        count=cell.read("count", COUNT, whole=True),
    )
    for name, limits in (("shift", SHIFT), ("pressure_angle_deg", ANGLE_DEG)):
        if name in cell.given:
            fields[name] = cell.read(name, limits)
    if cell.problems:
        raise MechError("; ".join(cell.problems), problems=tuple(cell.problems))
    return StockGear(row, cell.given.get("name", ""), module_mm=module, size=size, **fields)


class _Cells:
    """The cells of a row by column, read one by one; problems are kept."""

    def __init__(self, given: dict[str, str]):
        self.given, self.problems = given, []

    def read(self, name: str, limits, missing=None, whole: bool = False):
        """A number of a column; ``missing`` is what stands for an empty cell, if it may be empty."""
        if name not in self.given and missing is not None:
            return missing
        try:
            if name not in self.given:
                raise MechError(f"{name} is missing")
            number = _number(name, self.given[name], whole)
            return (check_count if whole else check_number)(name, number, *limits)
        except MechError as error:
            self.problems.append(str(error))
            return missing

    def size(self) -> tuple[float | None, str]:
        """Module and how the list says it."""
        sizes = [name for name in SIZES if name in self.given]
        if len(sizes) != 1:
            self.problems.append("give module_mm or diametral_pitch" + (", not both" if sizes else ""))
        elif sizes == ["module_mm"]:
            module = self.read("module_mm", MODULE_MM)
            return module, f"module {module:g}" if module else ""
        elif pitch := self.read("diametral_pitch", PITCH):
            return module_of_pitch(pitch), f"{pitch:g} DP"
        return None, ""


def _number(name: str, cell: str, whole: bool) -> float | int:
    try:
        if whole:
            return int(cell)
        return float(cell.replace(",", ".").replace("−", "-"))
    except ValueError:
        right = "write a whole number" if whole else "write a number such as 2.5"
        raise MechError(f"{name} is {cell[:40]!r}", right) from None
