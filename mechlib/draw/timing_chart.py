"""The timing chart of a transport with one slip: a scene for the live picture.

Above, over theta, a row for every follower, switch contact and mode, with stop angles and margins; beneath,
the margins of modes and interlocks as bars, and the grid of mode changes.  It shows a
``mechlib.bench.slip_effect.SlipEffect`` of any transport; what stands for the sound machine, and all limits,
come from the transport alone and never change with the slip.
"""

from __future__ import annotations

from types import SimpleNamespace

from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from mechlib.draw import change_grid, chart_frame, margins
from mechlib.draw import page as paper
from mechlib.draw.chart_rows import RIGHT_FILL, ChartRows
from mechlib.draw.style import BLUE, FAINT, FILLS, INK, PAPER, SMALL_PT, VERMILLION
from mechlib.say import say
from mechlib.transports.model import Transport

WIDTH = 1080  # fits beside the cell numbers of a notebook in a window of 1280
TITLE, LEGEND, EDGE = 22, 22, 8  # heights in page pixels
MOST_MESH = 170


def size_px(transport: Transport) -> tuple[int, int]:
    """Width and height in page pixels of the chart of a transport: it grows with its rows.

    >>> from mechlib.transports import load
    >>> size_px(load("alder"))[0]
    1080
    """
    beneath = max(margins.height(transport), change_grid.height(transport))
    return WIDTH, round(TITLE + chart_frame.height(transport) + LEGEND + beneath + EDGE)


def create(figure, result):
    """Draw everything on an empty figure of ``size_px``; return the artists for ``update``."""
    transport = result.transport.sound
    page = paper.sheet(figure, size_px(transport))
    rows = ChartRows(page, result, TITLE)
    top = TITLE + chart_frame.height(transport)
    _legend(page, top)
    left = WIDTH - change_grid.width(transport)
    parts = [
        rows,
        margins.Margins(page, result, top + LEGEND, left - 8),
        change_grid.ChangeGrid(page, result, top + LEGEND, left),
    ]
    invented = " (an invented transport)" if transport.invented else ""
    widest = max(paper.width_px(_settings(mesh, -10, -100.0)) for mesh in transport.mesh_names)
    title = f"{transport.name}{invented}: timing chart, loading sense"
    paper.put(page, 8, TITLE / 2, title, WIDTH - 40 - widest, fontweight="bold")
    settings = paper.word(page, WIDTH - 8, TITLE / 2, ha="right")
    moving = [artist for part in parts for artist in part.moving]
    return SimpleNamespace(parts=parts, settings=settings, moving=[*moving, settings])


def update(artists, result) -> None:
    """Show another result of the same transport."""
    for part in artists.parts:
        part.update(result)
    artists.settings.set_text(_settings(result.mesh, result.teeth, result.shift_deg))


def _settings(mesh: str, teeth: int, shift_deg: float) -> str:
    out, shift = say(teeth, "", 0, sign=True), say(shift_deg, "°", sign=True)
    mesh = paper.fitted(mesh, MOST_MESH)
    return f"mesh: {mesh}    teeth ahead (+) / behind (−): {out}    shift of its rows: {shift}"


def _legend(page, top: float) -> None:
    """One line that explains the signs of the rows."""
    stop = {"linestyle": "none", "markerfacecolor": PAPER, "markeredgecolor": INK, "markersize": 6}
    entries = {
        "as it is": Line2D([], [], color=BLUE, linewidth=1.7),
        "with every mark right": Line2D([], [], color=chart_frame.SOUND, linewidth=1.2),
        "row that moved": Line2D([], [], color=INK, marker="<", linestyle="none", markersize=6),
        "code shows": Patch(facecolor=FILLS[0].facecolor, edgecolor=INK),
        "followers right": Patch(facecolor=RIGHT_FILL, edgecolor=FAINT),
        "stop, loading": Line2D([], [], marker=">", **stop),
        "unloading": Line2D([], [], marker="<", **stop),
        "margin": Line2D([], [], color=INK, linewidth=1.6, marker="|", markevery=[1], markersize=7),
        "stands wrong": Line2D([], [], color=VERMILLION, marker="x", linestyle="none", markeredgewidth=2),
    }
    page.legend(
        entries.values(),
        entries.keys(),
        ncols=len(entries),
        fontsize=SMALL_PT,
        frameon=False,
        loc="center",
        bbox_to_anchor=(WIDTH / 2, top + LEGEND / 2 - 2),
        bbox_transform=page.transData,
        handlelength=1.4,
        handletextpad=0.4,
        columnspacing=1.1,
        borderpad=0,
    )
