"""Every change between two modes, for the sound machine and for every single slip."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import permutations

from mechlib.say import listing, say
from mechlib.transports.arcs import TINY
from mechlib.transports.faults import slip
from mechlib.transports.interlocks import interlock_margins
from mechlib.transports.mode_change import change
from mechlib.transports.model import LOADING, UNLOADING, Transport
from mechlib.transports.outcomes import NO_START, OUTCOMES, Change
from mechlib.transports.timing import margins


@dataclass(frozen=True)
class Cell:
    """One change of the table; ``differs`` where the other way of arriving at the start ends otherwise."""

    change: Change
    differs: bool


@lru_cache(maxsize=256)
def change_table(transport: Transport) -> dict[tuple[str, str], Cell]:
    """Every change from one mode to another, keyed by (start, target).

    Each starts from an arrival in the loading sense, unloading where that cannot be.

    >>> from mechlib.transports import load
    >>> table = change_table(load("alder"))
    >>> len(table), all(cell.change.good for cell in table.values())
    (56, True)
    """
    cells = {}
    for start, target in pairs(transport):
        usual = change(transport, start, target)
        came = usual.arrived
        other = change(transport, start, target, UNLOADING if came == LOADING else LOADING)
        differs = NO_START not in (usual.outcome, other.outcome) and usual.outcome != other.outcome
        cells[start, target] = Cell(usual, differs)
    return cells


def pairs(transport: Transport) -> tuple[tuple[str, str], ...]:
    """Every start and target of a change, in the order of the modes.

    >>> from mechlib.transports import load
    >>> pairs(load("birch"))[:2]
    (('STOP', 'PAUSE'), ('STOP', 'PLAY'))
    """
    return tuple(permutations(transport.mode_names, 2))


@dataclass(frozen=True)
class SlipRow:
    """What one slip does: how many changes end in each way, and the margin that it leaves."""

    mesh: str
    teeth: int
    counts: tuple[tuple[str, int], ...]
    failing: tuple[tuple[str, str], ...]
    margin_lost_deg: float
    margin_of: str

    @property
    def silent(self) -> bool:
        """True if every change still ends right."""
        return not self.failing

    def sentence(self) -> str:
        what = slip(self.mesh, self.teeth).sentence()[:-1]
        if not self.silent:
            ways = listing(f"{n} {outcome}" for outcome, n in self.counts)
            return f"{what}: {ways}."
        if not self.margin_of:
            return f"{what}: silent, every change works and no margin changes."
        lost = say(self.margin_lost_deg, "°")
        return f"{what}: silent, every change works; {self.margin_of} loses {lost} of margin."


def slip_table(transport: Transport, teeth: tuple[int, ...] = (-1, 1)) -> tuple[SlipRow, ...]:
    """Every single slip by these numbers of teeth at every mesh, and every change under it.

    >>> from mechlib.transports import load
    >>> slip_table(load("alder"), teeth=(1,))[0].counts
    (('reached', 48), ('reached but wrong', 2), ('reached, then powered off', 6))
    """
    return tuple(_slip_row(transport, mesh, n) for mesh in transport.mesh_names for n in teeth)


def _slip_row(transport: Transport, mesh: str, teeth: int) -> SlipRow:
    slipped = transport.with_faults(slip(mesh, teeth))
    table = change_table(slipped)
    outcomes = [cell.change.outcome for cell in table.values()]
    counts = tuple((outcome, outcomes.count(outcome)) for outcome in OUTCOMES if outcome in outcomes)
    failing = tuple(pair for pair, cell in table.items() if not cell.change.good)
    lost, name = max(_margin_lost(transport, slipped), default=(0.0, ""))
    return SlipRow(mesh, teeth, counts, failing, lost, name if lost > TINY else "")


def _margin_lost(sound: Transport, faulty: Transport) -> list[tuple[float, str]]:
    """For every mode and interlock the margin that the fault takes away, in degrees of theta."""
    modes = [
        (before.margin_deg - after.margin_deg, before.mode)
        for before, after in zip(margins(sound), margins(faulty), strict=True)
    ]
    locks = [
        (before.margin_deg - after.margin_deg, f"the interlock {before.name}")
        for before, after in zip(interlock_margins(sound), interlock_margins(faulty), strict=True)
        if before.margin_deg is not None and after.margin_deg is not None
    ]
    return modes + locks
