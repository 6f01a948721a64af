"""A chart of power flow: what drives, what is driven, what is lost, and the hold that bears without power."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Polygon

from mechlib.bench.follow_power import PowerPath
from mechlib.draw import page as paper
from mechlib.draw.style import INK, PAPER, SKY_BLUE, SMALL_PT, TEXT_PT, TITLE_PT, YELLOW, figure, look
from mechlib.errors import MechError
from mechlib.gears.exact import sign
from mechlib.gears.planetary import FRAME, Held, Locked
from mechlib.gears.planetary_torque import Torques, torques
from mechlib.say import listing, say

MOST_CHARTS = 2
WIDE = 490  # of one chart; all lengths are page pixels
LEFT, SET, RIGHT = (16, 104), (194, 296), (386, 474)  # boxes from, to: what drives, the sets, what is driven
TITLE_Y, LOST_Y, SET_Y = 18, 50, 92
THICK = 44  # the widest arrow, and the height of a member's box
ROW, HOLD_ROW = 108, 60  # from one member, or one hold, to the next
LINE = 16  # of text
HEAD, BARB = 14, 5  # length of an arrow's head; how far it stands out beside the shaft
BIG = {"fontsize": TEXT_PT}
BOLD = {"fontweight": "bold", **BIG}
GROUND = 6  # the hatched strip below what stands


class Flow(NamedTuple):
    """What one chart shows: torques and powers, a title, and the words for what stands under a torque."""

    found: Torques
    title: str
    stands: str = "held"
    why: tuple[str, ...] = ()

    def members(self, way: int) -> list[str]:
        """The members by which power comes in (``way`` 1) or goes out (−1)."""
        return [member for member, power in self.found.powers_W.items() if sign(power) == way]

    @property
    def standing(self) -> list[str]:
        """What bears a torque without power."""
        return [m for m, torque in self.found.outside.items() if torque and not self.found.powers_W[m]]

    @property
    def bottom(self) -> float:
        """Lower edge of the box of the sets."""
        rows = max(len(self.members(1)), len(self.members(-1)))
        return SET_Y + max((rows - 1) * ROW + THICK + LINE, (len(self.found.tooth_power_W) + 2) * LINE)

    @property
    def height(self) -> float:
        """Down to below the words of the last member and of the last hold."""
        return self.bottom + max(2.5 * LINE, len(self.standing) * HOLD_ROW + 1.5 * LINE)


def flow_of(found: PowerPath | Torques) -> Flow:
    """Torques and powers of what was found, and a title; a path with nothing held has an output that stands.

    Raises MechError for something else, and where no power comes in, as there is nothing to draw then.

    >>> from mechlib.bench.follow_power import follow
    >>> from mechlib.gears.planetary import simple_set
    >>> from mechlib.gears.power import Load
    >>> loads = {"ring": Load(60), "carrier": Load(80)}
    >>> shown = flow_of(follow(simple_set(16, 16, 48), 100, loads, "ring"))
    >>> shown.title, round(shown.found.powers_W["sun"], 4)
    ('ring held: from sun to carrier', 0.2094)
    """
    if not isinstance(found, PowerPath | Torques):
        raise MechError(f"{found!r} has no power flow", "give what follow() or torques() returns")
    flow = found if isinstance(found, Torques) else _torques(found)
    how = f"{listing(flow.holds)} held" if flow.holds else listing(map(str, flow.locks))
    shown = Flow(flow, how if flow.holds or flow.locks else "nothing held")
    if isinstance(found, PowerPath) and found.held is None:
        shown = Flow(flow, "nothing held", "stands", ("by its own load",))
    if not shown.members(1):
        raise MechError("no power comes in", "let the input turn and put a load on an output")
    out = f" to {listing(shown.members(-1))}" if shown.members(-1) else ""
    return shown._replace(title=f"{shown.title}: from {listing(shown.members(1))}{out}")


def _torques(path: PowerPath) -> Torques:
    """All torques along a path; with nothing held one output stands by its load, or all turn as a block."""
    if path.held is None and not path.free.as_block:
        return next(way.flow for way in path.free.ways if way.moving == path.moving)
    if path.held is None:
        fixed, loaded = Locked(path.driven.member, path.moving), path.loads
    else:
        fixed, loaded = Held(path.held), (path.moving,)
    senses = {member: sign(path.speeds[member]) for member in loaded}
    against = {member: -sense * path.loads[member].needed_Nmm(sense) for member, sense in senses.items()}
    return torques(path.one, (path.driven, fixed), against)


def power_flow(found: PowerPath | Torques | Sequence[PowerPath | Torques], scale: int = 1) -> Figure:
    """Return the chart of one power flow, or of two side by side, drawn to one scale.

    ``found``: what ``follow`` or ``torques`` returns, or two of these; ``scale`` 1 to 4 as for
    ``style.figure``.  The width of an arrow is the power that passes there, in by a member, out by one, or
    lost.  What is held bears a torque and has no arrow.  Raises MechError as ``flow_of``, and for none or
    more than two.

    >>> from mechlib.gears.planetary import Driven, Held, simple_set
    >>> one = torques(simple_set(16, 16, 48), [Driven("sun", 100), Held("ring")], {"carrier": -80})
    >>> power_flow([one, one]).canvas.get_width_height()
    (980, 284)
    """
    several = found if isinstance(found, Sequence) and not isinstance(found, str) else (found,)
    if not 1 <= len(several) <= MOST_CHARTS:
        raise MechError(f"{len(several)} power flows", f"one to {MOST_CHARTS} go beside one another")
    flows = [flow_of(one) for one in several]
    most = max(abs(power) for flow in flows for power in flow.found.powers_W.values())
    size = WIDE * len(flows), round(max(flow.height for flow in flows)) + 3 * LINE
    with look():
        made = figure(*size, scale=scale)
        axes = paper.sheet(made, size)
        for number, flow in enumerate(flows):
            _draw(axes, flow, number * WIDE, most)
        for y, text in (
            (size[1] - 2 * LINE, "The width of an arrow shows the power that passes there."),
            (size[1] - LINE, "What comes in goes out or is lost (all figures are rounded)."),
        ):
            paper.put(axes, 16, y, text, **BIG)
    return made


def _draw(axes: Axes, flow: Flow, x0: float, most: float) -> None:
    """One chart whose left edge is at ``x0``; the power ``most`` makes the widest arrow."""
    found, middle = flow.found, x0 + sum(SET) / 2
    unit = (1, "W", 3) if most >= 1 else (1000, "mW", 1)  # factor, name, digits
    title = {"fontweight": "bold", "fontsize": TITLE_PT}
    paper.put(axes, x0 + 16, TITLE_Y, flow.title, (WIDE - 32) * SMALL_PT / TITLE_PT, **title)
    _draw_standing(axes, flow, x0)
    sets = list(found.tooth_power_W)
    _box(axes, (x0 + SET[0], x0 + SET[1]), SET_Y, flow.bottom, sets if len(sets) == 1 else ["sets", *sets])
    for way in (1, -1):
        for row, member in enumerate(flow.members(way)):
            _draw_member(axes, found, member, x0, SET_Y + (THICK + LINE) / 2 + row * ROW, most, unit)
    if not found.loss_W:
        paper.put(axes, middle, LOST_Y + LINE, "nothing is lost", ha="center", **BIG)
        return
    wide = THICK * found.loss_W / most
    _arrow(axes, YELLOW, (middle, SET_Y), (middle, LOST_Y - LINE / 2), wide)
    beside = middle + wide / 2 + BARB + 8
    paper.put(axes, beside, LOST_Y, say(found.loss_W * unit[0], *unit[1:]), **BOLD)
    paper.put(axes, beside, LOST_Y + LINE, "lost in the teeth", **BIG)


def _draw_member(axes, found: Torques, member: str, x0, y, most, unit) -> None:
    """A member that brings power in or takes it out: its box, the arrow, torque and speed."""
    power = found.powers_W[member]
    comes = power > 0
    near, far = (x0 + edge for edge in (LEFT if comes else RIGHT))
    ends = (far, x0 + SET[0]) if comes else (x0 + SET[1], near)
    _box(axes, (near, far), y - THICK / 2, y + THICK / 2, [member])
    _arrow(axes, SKY_BLUE, (ends[0], y), (ends[1], y), THICK * abs(power) / most)
    carried = say(abs(power) * unit[0], *unit[1:])
    paper.put(axes, sum(ends) / 2, y - THICK / 2 - 14, carried, ha="center", **BOLD)
    speed = say(float(found.speeds[member]), "rev/min", 2, sign=True)
    for line, text in enumerate((say(abs(found[member]), "N·mm"), speed)):
        words = {"ha": "left" if comes else "right", **BIG}
        paper.put(axes, near if comes else far, y + THICK / 2 + 12 + line * LINE, text, **words)


def _draw_standing(axes, flow: Flow, x0: float) -> None:
    """Below the sets, on hatched ground, what bears a torque and stands."""
    left, right = (x0 + edge for edge in SET)
    for row, member in enumerate(flow.standing):
        y = flow.bottom + 2 * LINE + row * HOLD_ROW
        low = y + 2 * LINE + 4
        start = low + GROUND - HOLD_ROW if row else flow.bottom
        axes.plot([(left + right) / 2] * 2, (start, y), color=INK, linestyle=(0, (3, 2)))
        _box(axes, (left, right), y, low, [member, "fixed" if member == FRAME else flow.stands])
        paper.bars(axes, [(left, right, low, low + GROUND)], facecolors=PAPER, edgecolors=INK, hatch="/////")
        bears = f"bears {say(abs(flow.found[member]), 'N·mm')}"
        for line, text in enumerate((bears, "no power: it stands", *flow.why)):
            paper.put(axes, right + 12, y + 10 + line * LINE, text, **BIG)


def _box(axes, across: tuple[float, float], top: float, bottom: float, texts: list[str]) -> None:
    """A box with lines of text in its middle, the first of them bold."""
    paper.bars(axes, [(*across, top, bottom)], facecolors=PAPER, edgecolors=INK, linewidths=1.4)
    first = (top + bottom - (len(texts) - 1) * LINE) / 2
    for line, text in enumerate(texts):
        words = {"ha": "center", **(BIG if line else BOLD)}
        room = (across[1] - across[0] - 6) * SMALL_PT / TEXT_PT  # ``put`` measures small letters
        paper.put(axes, sum(across) / 2, first + line * LINE, text, room, **words)


def _arrow(axes, colour: str, start: tuple[float, float], end: tuple[float, float], wide: float) -> None:
    """An arrow along x or y whose shaft is ``wide``: its corners from the tail round to the tail."""
    (x, y), length = start, max(abs(end[0] - start[0]), abs(end[1] - start[1]))
    along = (end[0] - x) / length, (end[1] - y) / length
    half, neck = wide / 2, length - HEAD
    outline = [(0, half), (neck, half), (neck, half + BARB), (length, 0)]
    outline += [(far, -beside) for far, beside in reversed(outline[:-1])]
    corners = [
        (x + far * along[0] - side * along[1], y + far * along[1] + side * along[0]) for far, side in outline
    ]
    axes.add_patch(Polygon(corners, facecolor=colour, edgecolor=INK, linewidth=0.8, zorder=3))
