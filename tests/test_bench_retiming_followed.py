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
from mechlib.bench.hand_turn import to_reference
from mechlib.transports.mode_change import standing_start
from mechlib.transports.model import SENSE

DATA = resources.files("mechlib.transports") / "data"


class Bench:
    """The gears of a file on the bench: how far each part stands off its mark, in teeth of its own."""

    def __init__(self, name: str, slips: dict[str, int], theta: float = 0.0):
        data = tomllib.loads((DATA / f"{name}.toml").read_text("utf-8"))
        self.rows = {row["name"]: row for row in data["part"]}
        self.teeth = {"main gear": data["drive"]["main_gear_teeth"]}
        self.teeth |= {row["name"]: row.get("teeth") for row in data.get("output", [])}
        self.off = {root: Fraction(theta) * (teeth or 1) / 360 for root, teeth in self.teeth.items()}
        self.out: set[str] = set()
        while len(self.off) < len(self.rows) + len(self.teeth):
            for part, row in self.rows.items():
                if part not in self.off and row["meshes_with"] in self.off:
                    self.off[part] = self.at_mesh(row) + slips.get(part, 0)

    def at_mesh(self, row: dict) -> Fraction:
        """By how many teeth of its mesh with this part the parent stands off."""
        parent = row["meshes_with"]
        own = self.teeth.get(parent) or self.rows.get(parent, {}).get("teeth") or row["parent_teeth"]
        return self.off[parent] * Fraction(row.get("parent_teeth", own), own)

    def drive_to_marks(self) -> None:
        """Turn the drive to 0: what is in mesh with it, gear by gear, turns along; the rest stays."""
        before = dict(self.off)
        moving = {root for root in self.teeth if root not in self.out}
        self.off |= dict.fromkeys(moving, Fraction(0))
        for _ in self.rows:
            for part, row in self.rows.items():
                parent = row["meshes_with"]
                if part not in self.out | moving and parent in moving:
                    after = self.at_mesh(row)
                    self.off, now = before | {parent: before[parent]}, self.off
                    slip = self.off[part] - self.at_mesh(row)
                    self.off = now | {part: after + slip}
                    moving.add(part)

    def to_marks(self, words: str) -> None:
        """Turn by hand all that is named until its mark meets, parents first."""
        for part in [*self.rows, *self.rows]:
            if f"the {part}" in words:
                self.off[part] = self.at_mesh(self.rows[part])

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


def follow(plan, bench: Bench, mode: str, theta: float) -> None:
    """All steps up to the gears' going back, from where the machine stands."""
    counted = True
    for step in plan.steps:
        if step.kind in ("bring", "bring open"):
            lines = [line for line in step.words.split("\n") if re.match(rf"from .*\b{mode}\b.*: ", line)]
            if not mode or any("don't turn" not in line for line in lines):
                counted = not bench.out
                bench.drive_to_marks()
                told = lines[0] if mode else step.words
                if turns := re.findall(r"([\d.]+) turns?\b", told.partition("\nCounted")[0]):
                    assert "flywheel" in told or 0 < len(turns) <= 2
        elif step.kind == "lift":
            bench.out |= {re.search(r"[Ll]ift the (.*?) (?:\(|off)", step.words).group(1)}
        elif step.kind == "by marks" and not counted:
            bench.to_marks(step.words)
        elif step.kind in ("turn along", "move") and counted:
            bench.turn(step.words)


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
    follow(plan, bench, "", 0.0)
    assert all(bench.right(part) for part in bench.rows), {p: float(o) for p, o in bench.off.items()}


@pytest.mark.few(40)
@pytest.mark.parametrize(("name", "slips"), list(slipped()))
def test_done_as_written_from_every_mode_every_mark_is_right(name, slips):
    """Where the way is barred the gears come out first, and nothing is turned against them before."""
    slipped_machine = tr.load(name).with_faults(*(tr.slip(part, n) for part, n in slips.items()))
    every = retiming(slipped_machine)
    for mode in slipped_machine.mode_names:
        stands = [stand for sense in SENSE if (stand := standing_start(slipped_machine, mode, sense))]
        if not stands:
            continue
        theta = stands[0].theta
        barred = bool(to_reference(slipped_machine, theta).barred)
        for plan, said in ((every, mode), (retiming(slipped_machine, mode), "")):
            bench = Bench(name, slips, theta)
            follow(plan, bench, said, theta)
            assert all(bench.right(part) for part in bench.rows), (mode, said)
        kinds = [step.kind for step in retiming(slipped_machine, mode).steps]
        assert ("bring open" in kinds) == barred != ("bring" in kinds)
        if barred:
            order = [kinds.index(kind) for kind in ("lift", "bring open", "by marks", "marks")]
            assert order == sorted(order) and not {"move", "turn along"} & set(kinds)
            assert "springs" not in kinds or kinds.index("springs") < order[0]
            assert not set(every.lifts) & {root.name for root in slipped_machine.roots}
            assert f"from {mode}: " in words_of(every, "bring open")


def test_nothing_is_turned_first_where_the_springs_are_on_and_the_way_is_barred():
    """The loading gear a tooth behind: arms and tension lever collide on the way from PLAY, not from WIND."""
    out = tr.load("alder").with_faults(tr.slip("loading gear", -1))
    play = [step.kind for step in retiming(out, "PLAY").steps]
    assert play.index("springs") < play.index("lift") < play.index("bring open") and "bring" not in play
    wind = [step.kind for step in retiming(out, "WIND").steps]
    assert wind.index("bring") < wind.index("springs") and "bring open" not in wind
    assert "from STOP, REVIEW, PAUSE, PLAY and SLOW: don't turn yet" in words_of(retiming(out), "bring")
    drawer = retiming(tr.load("cedar").with_faults(tr.slip("drawer rack", -1)))
    kinds = [step.kind for step in drawer.steps]
    assert kinds.index("lift") < kinds.index("bring open") and "hold it" in words_of(drawer, "lift")
    assert "tooth on" not in " ".join(step.words for step in drawer.steps)


def words_of(plan, kind: str) -> str:
    return "\n".join(step.words for step in plan.steps if step.kind == kind)
