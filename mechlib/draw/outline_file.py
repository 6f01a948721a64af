"""The outline of a gear as a file at true scale, for printer, cutter or laser: SVG or DXF, lengths in mm.

Both have the outline, the bore and a scale bar, and nothing that changes from one writing to the next.
"""

from __future__ import annotations

from pathlib import Path
from xml.sax.saxutils import escape

import numpy as np

from mechlib.bench.gear_to_make import GearToMake
from mechlib.draw.print_sheet import write_whole
from mechlib.errors import MechError

BARS_MM = (1, 2, 5, 10, 20, 50, 100, 200)
EDGE_MM = 2.0  # left free round the outline
LINE_MM, LETTERS_MM = 0.05, 2.0
DIGITS = 4  # of a coordinate in mm


def bar_mm(gear: GearToMake) -> int:
    """Length of the scale bar: the longest of BARS_MM that is no longer than the outline is wide.

    >>> from mechlib.bench.gear_to_make import to_make
    >>> from mechlib.gears.racks import FINE
    >>> from mechlib.gears.spur import Gear
    >>> bar_mm(to_make(Gear(24, 0.5, FINE), 2, 3))
    10
    """
    wide = np.ptp(gear.outline_mm()[:, 0])
    return max((bar for bar in BARS_MM if bar <= wide), default=BARS_MM[0])


def svg_text(gear: GearToMake) -> str:
    """The outline as SVG: one unit is a millimetre, and the picture's size is given in mm.

    >>> from mechlib.bench.gear_to_make import to_make
    >>> from mechlib.gears.racks import FINE
    >>> from mechlib.gears.spur import Gear
    >>> svg_text(to_make(Gear(24, 0.5, FINE), 2, 3)).splitlines()[1][:66]
    '<svg xmlns="http://www.w3.org/2000/svg" width="17.1000mm" height="'
    """
    points, bar = gear.outline_mm(), bar_mm(gear)
    half = np.abs(points).max() + EDGE_MM
    width, height = 2 * half, 2 * half + 3 * LETTERS_MM
    path = " L ".join(f"{_n(x)} {_n(-y)}" for x, y in points[:-1])  # y counts downwards there
    y = half + LETTERS_MM
    label = f"{bar} mm"
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{_n(width)}mm" height="{_n(height)}mm" '
        f'viewBox="{_n(-half)} {_n(-half)} {_n(width)} {_n(height)}">',
        f"<title>{escape(gear.title)}</title>",
        f"<desc>{escape(gear.sentence())} {escape(gear.allowances or 'Drawn without allowances.')}</desc>",
        f'<g fill="none" stroke="black" stroke-width="{LINE_MM}">',
        f'<path id="outline" d="M {path} Z"/>',
        f'<circle id="bore" cx="0" cy="0" r="{_n(gear.drawn_bore_mm / 2)}"/>',
        f'<path id="scale-bar" d="M {_n(-bar / 2)} {_n(y)} L {_n(bar / 2)} {_n(y)}"/>',
        "</g>",
        f'<text x="0" y="{_n(y + 1.2 * LETTERS_MM)}" font-size="{LETTERS_MM}" text-anchor="middle" '
        f'font-family="sans-serif">{label}</text>',
        "</svg>",
    ]
    return "\n".join(lines) + "\n"


def dxf_text(gear: GearToMake) -> str:
    """The outline as DXF, release 12 in ASCII: layers OUTLINE, BORE and SCALE_BAR, one unit is a millimetre.

    Release 12 has no unit of its own; the scale bar says it.  Source: the published DXF reference, group
    codes of POLYLINE, VERTEX, CIRCLE, LINE and TEXT, from memory.

    >>> from mechlib.bench.gear_to_make import to_make
    >>> from mechlib.gears.racks import FINE
    >>> from mechlib.gears.spur import Gear
    >>> dxf_text(to_make(Gear(24, 0.5, FINE), 2, 3)).split()[:4]
    ['0', 'SECTION', '2', 'HEADER']
    """
    points, bar = gear.outline_mm()[:-1], bar_mm(gear)
    half = np.abs(points).max() + EDGE_MM
    y = -half - LETTERS_MM
    groups = [(0, "SECTION"), (2, "HEADER"), (9, "$ACADVER"), (1, "AC1009"), (0, "ENDSEC")]
    groups += _layers("OUTLINE", "BORE", "SCALE_BAR")
    groups += [(0, "SECTION"), (2, "ENTITIES")]
    groups += [(0, "POLYLINE"), (8, "OUTLINE"), (66, 1), (10, 0.0), (20, 0.0), (30, 0.0), (70, 1)]
    for x, up in points:
        groups += [(0, "VERTEX"), (8, "OUTLINE"), (10, x), (20, up), (30, 0.0)]
    groups += [(0, "SEQEND"), (8, "OUTLINE")]
    groups += [(0, "CIRCLE"), (8, "BORE"), (10, 0.0), (20, 0.0), (30, 0.0), (40, gear.drawn_bore_mm / 2)]
    groups += [(0, "LINE"), (8, "SCALE_BAR"), (10, -bar / 2), (20, y), (30, 0.0)]
    groups += [(11, bar / 2), (21, y), (31, 0.0)]
    groups += [(0, "TEXT"), (8, "SCALE_BAR"), (10, -bar / 2), (20, y - 1.5 * LETTERS_MM), (30, 0.0)]
    groups += [(40, LETTERS_MM), (1, f"{bar} mm")]
    groups += [(0, "ENDSEC"), (0, "EOF")]
    return "".join(
        f"{code:>3}\n{_n(value) if isinstance(value, float) else value}\n" for code, value in groups
    )


def _layers(*names: str) -> list[tuple]:
    """The table of layers, all drawn in a solid line."""
    groups = [(0, "SECTION"), (2, "TABLES"), (0, "TABLE"), (2, "LTYPE"), (70, 1)]
    groups += [(0, "LTYPE"), (2, "CONTINUOUS"), (70, 0), (3, "Solid line"), (72, 65), (73, 0), (40, 0.0)]
    groups += [(0, "ENDTAB"), (0, "TABLE"), (2, "LAYER"), (70, len(names))]
    for number, name in enumerate(names, 1):
        groups += [(0, "LAYER"), (2, name), (70, 0), (62, number), (6, "CONTINUOUS")]
    return [*groups, (0, "ENDTAB"), (0, "ENDSEC")]


def _n(value: float) -> str:
    """A coordinate, without a minus before nought."""
    return f"{round(float(value), DIGITS) + 0.0:.{DIGITS}f}"


def save_outline(gear: GearToMake, path: str | Path) -> Path:
    """Write the outline to a file that ends in .svg or .dxf, and return its path.

    The same gear gives the same bytes; the file is there whole or not at all.  Raises MechError for another
    suffix or a folder that isn't there.

    >>> from mechlib.bench.gear_to_make import to_make
    >>> from mechlib.gears.racks import FINE
    >>> from mechlib.gears.spur import Gear
    >>> save_outline(to_make(Gear(24, 0.5, FINE), 2, 3), "gear.png")
    Traceback (most recent call last):
    mechlib.errors.MechError: the file name 'gear.png': it must end in .svg or .dxf
    """
    path = Path(path)
    writers = {".svg": svg_text, ".dxf": dxf_text}
    if path.suffix.lower() not in writers:
        raise MechError(f"the file name {path.name!r}", "it must end in .svg or .dxf")
    if not path.parent.is_dir():
        raise MechError(f"there is no folder {str(path.parent)!r}", "make it first, or name another")
    write_whole(path, writers[path.suffix.lower()](gear).encode())
    return path
