"""The steps of a re-timing done as written, on a model of the gears that knows no formula of mechlib.

What is in mesh turns together, tooth for tooth; what is lifted or hangs on a lifted gear stays as it is, or
is turned by what the steps say.  At the end every mark must meet.
"""

from __future__ import annotations

import re
import tomllib
from fractions import Fraction
from importlib import resources
from itertools import combinations, product

import pytest

from mechlib import transports as tr
from mechlib.bench import retiming

DATA = resources.files("mechlib.transports") / "data"


class Bench:
    """The gears of a file on the bench: how far each part stands off its mark, in teeth of its own."""

    def __init__(self, name: str, slips: dict[str, int]):
        data = tomllib.loads((DATA / f"{name}.toml").read_text("utf-8"))
        self.rows = {row["name"]: row for row in data["part"]}
        self.teeth = {"main gear": data["drive"]["main_gear_teeth"]}
        self.teeth |= {row["name"]: row.get("teeth") for row in data.get("output", [])}
        self.slips, self.off = slips, dict.fromkeys(self.teeth, Fraction(0))
        while len(self.off) < len(self.rows) + len(self.teeth):
            for part, row in self.rows.items():
                if part not in self.off and row["meshes_with"] in self.off:
                    self.off[part] = self.at_mesh(row) + slips.get(part, 0)

    def at_mesh(self, row: dict) -> Fraction:
        """By how many teeth of its mesh with this part the parent stands off."""
        parent = row["meshes_with"]
        own = self.teeth.get(parent) or self.rows.get(parent, {}).get("teeth") or row["parent_teeth"]
        return self.off[parent] * Fraction(row.get("parent_teeth", own), own)

    def turn(self, words: str) -> None:
        """Turn one part by hand by what a step says that it turns."""
        part, told = re.match(rf"The ({'|'.join(self.rows)}) (.*)", words).groups()
        first = told.partition(". ")[0] if "which turns as well" in told else told
        if first.startswith("stays"):
            return
        way = 1 if " on, in its loading sense" in first else -1
        row = self.rows[part]
        if deg := re.search(r"([\d.]+)° of its own|by ([\d.]+)° ", first):
            by = float(deg.group(1) or deg.group(2)) * row["teeth"] / 360
        else:
            by = float(re.search(r"([\d.]+) (?:tooth|teeth|of its teeth)", first).group(1))
        self.off[part] += Fraction(way * by)

    def right(self, part: str) -> bool:
        """Whether its mark meets its parent's: less than the rounding of the words is off."""
        row = self.rows[part]
        return abs(self.off[part] - self.at_mesh(row)) < 0.06 + 0.06 * row["teeth"] / 360


def slipped():
    """Every single slip of up to two teeth, and every pair on one chain."""
    for name in tr.shipped():
        parts = [part.name for part in tr.load(name).parts]
        chains = tr.load(name).chains
        for part, n in product(parts, (-2, -1, 1, 2)):
            yield name, {part: n}
        for pair in combinations(parts, 2):
            if set(pair) <= set(chains[pair[0]]) or set(pair) <= set(chains[pair[1]]):
                for teeth in product((-3, -2, -1, 1, 2, 3), repeat=2):
                    yield name, dict(zip(pair, teeth, strict=True))


@pytest.mark.parametrize(("name", "slips"), list(slipped()))
def test_done_as_written_from_the_marks_every_mark_is_right(name, slips):
    """Lifted where the drive stands at 0, each part turned by the degrees or teeth told."""
    plan = retiming(tr.load(name).with_faults(*(tr.slip(part, n) for part, n in slips.items())), 0.0)
    bench = Bench(name, slips)
    assert any(not bench.right(part) for part in bench.rows)
    for step in plan.steps:
        if step.kind in ("turn along", "move"):
            bench.turn(step.words)
    assert all(bench.right(part) for part in bench.rows), {p: float(o) for p, o in bench.off.items()}
