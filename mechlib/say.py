"""The one way in which the workbook prints a number: with its unit and a stated number of digits."""

from __future__ import annotations

from mechlib.errors import CLOSE_UNITS

MINUS = "\N{MINUS SIGN}"


def say(value: float, unit: str = "", digits: int = 1, sign: bool = False) -> str:
    """Print ``value`` with ``digits`` decimals and its unit; ``sign`` shows a plus too.

    Zero never carries a sign, and a minus is a real minus sign, as on the axes of the pictures.

    >>> say(5, "°"), say(-0.04, "mm"), say(1.25, "mm", 2), say(3, "teeth", 0, sign=True)
    ('5.0°', '0.0 mm', '1.25 mm', '+3 teeth')
    >>> say(-2.5, "°", 1)
    '−2.5°'
    """
    text = f"{abs(value):.{digits}f}"
    mark = "" if float(text) == 0 else MINUS if value < 0 else "+" if sign else ""
    return mark + text + (unit if unit in CLOSE_UNITS else f" {unit}")


def count(number: float, noun: str, digits: int = 0) -> str:
    """Print a number with a noun in the singular or plural.

    >>> count(1, "tooth"), count(3, "tooth"), count(0.5, "turn", 1), count(2, "mode change")
    ('1 tooth', '3 teeth', '0.5 turns', '2 mode changes')
    """
    text = say(number, "", digits)
    plural = {"tooth": "teeth"}.get(noun, noun + "s")
    return f"{text} {noun if float(abs(number)) == 1 else plural}"


def listing(words) -> str:
    """Join words as in a sentence.

    >>> listing(["A"]), listing(["A", "B"]), listing(["A", "B", "C"]), listing([])
    ('A', 'A and B', 'A, B and C', 'none')
    """
    words = list(words)
    if not words:
        return "none"
    return words[0] if len(words) == 1 else ", ".join(words[:-1]) + " and " + words[-1]


def columns(header: tuple[str, ...], rows, left: int = 1) -> str:
    """Rows of text as aligned columns that can be copied; the first ``left`` columns are set left.

    >>> print(columns(("mode", "margin"), [("PLAY", "3.8°"), ("STOP", "12.0°")]))
    mode  margin
    PLAY    3.8°
    STOP   12.0°
    """
    lines = [header, *rows]
    widths = [max(len(line[i]) for line in lines) for i in range(len(header))]
    return "\n".join(
        "  ".join(
            cell.ljust(w) if i < left else cell.rjust(w)
            for i, (cell, w) in enumerate(zip(line, widths, strict=True))
        ).rstrip()
        for line in lines
    )
