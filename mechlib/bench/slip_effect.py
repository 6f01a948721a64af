"""One slip seen whole: the chart before and after, the margins, and every mode change under it."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from mechlib.bench.tooth_offset import mesh_shift_deg
from mechlib.say import count, listing, say
from mechlib.transports.change_table import Cell, change_table
from mechlib.transports.chart import Chart, chart
from mechlib.transports.faults import slip
from mechlib.transports.interlocks import InterlockMargin, interlock_margins
from mechlib.transports.model import Transport
from mechlib.transports.outcomes import OUTCOMES
from mechlib.transports.timing import ModeMargin, margins


@dataclass(frozen=True, eq=False)
class SlipEffect:
    """What one slip does, and what a cursor at ``theta_deg`` sees on the slipped chart.

    ``shift_deg`` is the shift of the slipped rows, ``moved`` the parts that shift with it.
    """

    transport: Transport
    mesh: str
    teeth: int
    theta_deg: float
    shift_deg: float
    moved: frozenset[str]
    sound: Chart
    chart: Chart
    margins: tuple[ModeMargin, ...]
    interlocks: tuple[InterlockMargin, ...]
    table: dict[tuple[str, str], Cell]

    @property
    def failing(self) -> tuple[tuple[str, str], ...]:
        """The changes that no longer end right."""
        return tuple(pair for pair, cell in self.table.items() if not cell.change.good)

    def sentence(self) -> str:
        """The slip, the shift, the changes that fail and the tightest mode."""
        fault = slip(self.mesh, self.teeth).sentence()[:-1]
        if self.teeth and self.shift_deg:
            way = "left" if self.shift_deg < 0 else "right"
            fault += f", so its rows move {say(abs(self.shift_deg), '°')} to the {way}"
        tight = min(self.margins, key=lambda m: m.margin_deg)
        amount = "never in range" if tight.never else f"margin {say(tight.margin_deg, '°')}"
        margin = f"the tightest is {tight.mode} ({tight.ruled_by}, {amount})"
        return f"{fault}; {self._changes()}; {margin}."

    def _changes(self) -> str:
        if not self.table:
            return "there is no mode to change to"
        if not self.failing:
            return f"all {len(self.table)} mode changes work"
        ends = Counter(self.table[pair].change.outcome for pair in self.failing)
        ways = listing(f"{ends[outcome]} {outcome}" for outcome in OUTCOMES if outcome in ends)
        fail = "fails" if len(self.failing) == 1 else "fail"
        return f"{len(self.failing)} of {count(len(self.table), 'mode change')} {fail} ({ways})"


def slip_effect(transport: Transport, mesh: str, teeth: int, theta_deg: float = 0.0) -> SlipEffect:
    """Everything that ``teeth`` out at one mesh does to a transport; ``theta_deg`` only places the cursor.

    Raises MechError for a mesh that does not exist or teeth that are no whole number.

    >>> from mechlib.transports import load
    >>> slip_effect(load("alder"), "worm wheel", 1).failing
    ()
    """
    slipped = transport.with_faults(slip(mesh, teeth))
    moved = frozenset(part for part, chain in transport.chains.items() if mesh in chain)
    return SlipEffect(
        slipped,
        mesh,
        teeth,
        theta_deg,
        mesh_shift_deg(transport, mesh, teeth),
        moved,
        chart(transport),
        chart(slipped),
        margins(slipped),
        interlock_margins(slipped),
        change_table(slipped),
    )
