"""General laws of transports: what slips, names and units may and may not change."""

from __future__ import annotations

import copy
import dataclasses
import math
import tomllib
from functools import cache
from importlib import resources

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize_scalar
from share import times
from transport_makers import make

from mechlib import transports as tr
from mechlib.transports.chart import chart
from mechlib.transports.files import transport_from
from mechlib.transports.mode_change import change_from, standing_start
from mechlib.transports.outcomes import OUTCOMES

ALDER = tomllib.loads((resources.files("mechlib.transports") / "data" / "alder.toml").read_text("utf-8"))
SEEDS, TEETH = st.integers(0, 59), st.integers(-4, 4)


@cache
def values_of(seed: int | None, cyclic: bool = False) -> dict:
    return ALDER if seed is None else make(seed, cyclic)


@cache
def transport_of(seed: int | None, cyclic: bool = False):
    return transport_from(values_of(seed, cyclic), "drawn.toml")


def meshes(transport) -> list[str]:
    return [part.name for part in transport.parts]


def same(first, second, close: float = 0.0) -> bool:
    """True if two results are equal all the way down, numbers within ``close``."""
    if isinstance(first, np.ndarray):
        return np.allclose(first, second, rtol=0, atol=close)
    if dataclasses.is_dataclass(first):
        names = [f.name for f in dataclasses.fields(first) if f.compare or f.name == "lift_mm"]
        return type(first) is type(second) and all(
            same(getattr(first, n), getattr(second, n), close) for n in names
        )
    if isinstance(first, (tuple, list)):
        return len(first) == len(second) and all(map(lambda a, b: same(a, b, close), first, second))
    if isinstance(first, float) and isinstance(second, (int, float)):
        return first == second or math.isclose(first, second, rel_tol=0, abs_tol=close)
    return first == second


def results(transport) -> tuple:
    """All that a transport is asked for, as plain results."""
    table = {pair: (c.change.outcome, c.change.stand and c.change.stand.theta, c.differs)
             for pair, c in tr.change_table(transport).items()}  # fmt: skip
    margins = [dataclasses.astuple(m) for m in tr.margins(transport)]
    locks = [dataclasses.astuple(m) for m in tr.interlock_margins(transport)]
    return table, margins, locks


# ---- Slips ----


@given(st.one_of(st.none(), SEEDS), st.integers(0, 9), st.integers(1, 4), st.booleans())
@settings(max_examples=times(4, 25))
def test_a_slip_and_back_restores(seed, which, teeth, cyclic):
    sound = transport_of(seed, cyclic and seed is not None)
    mesh = meshes(sound)[which % len(sound.parts)]
    there = sound.with_faults(tr.slip(mesh, teeth))
    back = there.with_faults(tr.slip(mesh, -teeth))
    assert back == sound and there != sound
    for sense in ("loading", "unloading"):
        assert same(chart(back, sense), chart(sound, sense))
    assert results(back) == results(sound)


@given(SEEDS, st.integers(0, 9), st.integers(0, 9), TEETH, TEETH)
@settings(max_examples=times(3, 15))
def test_slips_add_up_in_any_order(seed, one, other, n, k):
    sound = transport_of(seed)
    a, b = (tr.slip(meshes(sound)[i % len(sound.parts)], t) for i, t in ((one, n), (other, k)))
    assert sound.with_faults(a, b) == sound.with_faults(b, a) == sound.with_faults(a).with_faults(b)
    if a.mesh == b.mesh:
        assert sound.with_faults(a, b) == sound.with_faults(tr.slip(a.mesh, n + k))


def pitch_deg(values: dict, name: str) -> tuple[float, list[str]]:
    """360/(z_parent·|ρ|) from the counts in the file, with the chain of parents up to the output."""
    drive, chain = values["drive"], [name]
    rows = {row["name"]: row for row in values["part"]}
    while chain[-1] in rows:
        chain.append(rows[chain[-1]]["meshes_with"])
    root = chain.pop()
    count, rho = drive["main_gear_teeth"], 1.0
    for row in values.get("output", []):
        if row["name"] == root:
            count, rho = row["teeth"], abs(row["speed"])
    for child in reversed(chain):
        z_parent, own = rows[child].get("parent_teeth", count), rows[child]["teeth"]
        pitch, rho, count = 360 / (z_parent * rho), rho * z_parent / own, own
    return pitch, chain


def driven_arc(values: dict, name: str) -> tuple[float, float]:
    """The travel in which the part's output is driven."""
    rows = {row["name"]: row for row in values["part"]}
    while name in rows:
        name = rows[name]["meshes_with"]
    name = "main cam" if name == "main gear" else name
    drive = values["drive"]
    whole = [{"from": drive["low_stop"], "to": drive["high_stop"], "drives": ["main cam"]}]
    stage = next(s for s in values.get("stage", whole) if name in s["drives"])
    return stage["from"]["deg"], stage["to"]["deg"]


def measured_shift(before, after, theta, inner, about: float) -> float:
    """The shift (degrees) that best lays one lift curve on the other."""

    def misfit(shift):
        return float(np.sum((after[inner] - np.interp(theta[inner] - shift, theta, before)) ** 2))

    around = sorted((0.5 * about, 1.5 * about))
    return minimize_scalar(misfit, bounds=around, method="bounded", options={"xatol": 1e-4}).x


def check_shift(values: dict, sound, mesh: str, teeth: int) -> int:
    """Each follower that hangs on the slipped part shifts by −n·360/(z_parent·|ρ|), the others not at all."""
    expected, measured = -teeth * pitch_deg(values, mesh)[0], 0
    before, after = chart(sound), chart(sound.with_faults(tr.slip(mesh, teeth)))
    theta, carriers = before.theta_deg, {f["name"]: f["part"] for f in values["follower"]}
    for row, moved in zip(before.followers, after.followers, strict=True):
        carrier = carriers[row.name]
        if carrier == "main cam" or mesh not in pitch_deg(values, carrier)[1]:
            assert np.array_equal(row.lift_mm, moved.lift_mm)
            continue
        low, high = driven_arc(values, carrier)
        inner = (theta > low + 1.6 * abs(expected)) & (theta < high - 1.6 * abs(expected))
        if not inner.any() or np.ptp(row.lift_mm[inner]) < 1.0:
            continue  # nothing to measure a shift by
        shift = measured_shift(row.lift_mm, moved.lift_mm, theta, inner, expected)
        assert shift == pytest.approx(expected, abs=0.05), (row.name, mesh, teeth)
        measured += 1
    return measured


@pytest.mark.parametrize("mesh", [row["name"] for row in ALDER["part"] if row["name"] != "mode switch"])
@pytest.mark.parametrize("teeth", [-2, 1])
def test_shift_of_the_lift_curves_of_alder(mesh, teeth):
    assert check_shift(ALDER, transport_of(None), mesh, teeth) > 0


def test_shift_of_the_lift_curves_of_drawn_transports():
    measured = 0
    for seed in range(12):
        for mesh in meshes(transport_of(seed)):
            measured += check_shift(values_of(seed), transport_of(seed), mesh, 1)
    assert measured > 12


def test_contacts_of_the_mode_switch_shift_with_its_slip_and_no_others():
    sound = transport_of(None)
    for teeth in (-3, 2):
        shift = -teeth * 360 / 80
        moved = chart(sound.with_faults(tr.slip("mode switch", teeth)))
        for row, after in zip(chart(sound).contacts, moved.contacts, strict=True):
            by = shift if row.part == "mode switch" else 0.0
            assert same(after.closed, tuple((a + by, b + by) for a, b in row.closed), 1e-9)


@given(st.one_of(st.none(), SEEDS), st.integers(-5, 5))
@settings(max_examples=10)
def test_a_slip_upstream_changes_nothing(seed, teeth):
    values = copy.deepcopy(values_of(seed))
    values["upstream_mesh"] = [{"name": "worm wheel", "driver_teeth": 1, "driven_teeth": 30}]
    sound = transport_from(values, "drawn.toml")
    slipped = sound.with_faults(tr.slip("worm wheel", teeth))
    assert same(chart(slipped), chart(sound)) and results(slipped) == results(sound)


# ---- Names and units ----


def renamed(values: dict) -> tuple[dict, dict]:
    """The same file with every part, follower, contact, mode and so on named anew, in another order."""
    tables = ("output", "upstream_mesh", "stage", "part", "follower", "contact", "mode", "interlock")
    old = [row["name"] for table in tables for row in values.get(table, [])]
    new = {name: f"{chr(122 - i % 26)}{len(old) - i} new" for i, name in enumerate(dict.fromkeys(old))}

    def walk(value):
        if isinstance(value, dict):
            return {new.get(key, key): walk(inner) for key, inner in value.items()}
        if isinstance(value, list):
            return [walk(inner) for inner in value]
        return new.get(value, value) if isinstance(value, str) else value

    return {key: walk(value) for key, value in values.items()}, new


def translated(value, new: dict):
    if isinstance(value, dict):
        return {translated(key, new): translated(inner, new) for key, inner in value.items()}
    if isinstance(value, (tuple, list)):
        return type(value)(translated(inner, new) for inner in value)
    return new.get(value, value) if isinstance(value, str) else value


@given(st.one_of(st.none(), SEEDS), st.booleans(), st.integers(0, 9), TEETH)
@settings(max_examples=times(4, 25))
def test_renaming_changes_nothing_but_names(seed, cyclic, which, teeth):
    cyclic = cyclic and seed is not None
    values, new = renamed(values_of(seed, cyclic))
    first, second = transport_of(seed, cyclic), transport_from(values, "renamed.toml")
    mesh = meshes(first)[which % len(first.parts)]
    first = first.with_faults(tr.slip(mesh, teeth))
    second = second.with_faults(tr.slip(new[mesh], teeth))
    assert translated(results(first), new) == results(second)
    for row, other in zip(chart(first).followers, chart(second).followers, strict=True):
        assert new[row.name] == other.name and same(row.lift_mm, other.lift_mm)
        assert [s[1:] for s in row.states] == [s[1:] for s in other.states]


def in_unit(value, unit: str, scale: float, extra: dict):
    """The same values with every {deg = …} written in another unit."""
    if isinstance(value, dict):
        if set(value) == {"deg"}:
            return {unit: value["deg"] * scale, **extra}
        return {key: in_unit(inner, unit, scale, extra) for key, inner in value.items()}
    return [in_unit(inner, unit, scale, extra) for inner in value] if isinstance(value, list) else value


@pytest.mark.parametrize("seed, cyclic", [(None, False), (0, False), (1, False), (2, False), (0, True)])
def test_units_mean_the_same(seed, cyclic):
    values = {**values_of(seed, cyclic), "hand_shaft": [{"name": "crank", "turns_per_cam_turn": 7.25}]}
    sound = transport_from(values, "drawn.toml")
    teeth = in_unit(values, "teeth", values["drive"]["main_gear_teeth"] / 360, {})
    turns = in_unit(values, "turns", 7.25 / 360, {})
    named = in_unit(values, "turns", 40 / 360, {"of": "worm"})
    named["hand_shaft"] = [*values["hand_shaft"], {"name": "worm", "turns_per_cam_turn": 40}]
    for written in (teeth, turns, named):
        other = transport_from(written, "drawn.toml")
        assert same(dataclasses.replace(other, hand_shafts=sound.hand_shafts), sound, 1e-9)


# ---- Drawn transports run ----


def check_runs(transport, low: float, high: float):
    """Every change ends in a known way, told in a sentence, and the drive never passes a stop."""
    for cell in tr.change_table(transport).values():
        found = cell.change
        assert found.outcome in OUTCOMES and found.sentence().endswith(".") and found.story()
        assert math.isfinite(found.time_s) and found.time_s >= 0
        for run in found.legs:
            assert low - 1e-9 <= run.end_deg <= high + 1e-9
        assert found.stand is None or low - 1e-9 <= found.stand.theta <= high + 1e-9
    for margin in (*tr.margins(transport), *tr.interlock_margins(transport)):
        assert margin.sentence().endswith(".") and math.isfinite(margin.margin_deg or 0.0)


@given(st.integers(0, 10**6), st.integers(0, 9), TEETH, st.floats(-40, 40), st.floats(-8, 8))
@settings(max_examples=times(4, 25))
def test_drawn_transports_run(seed, which, teeth, split, bend):
    sound = transport_from(make(seed), "drawn.toml")
    mesh = meshes(sound)[which % len(sound.parts)]
    follower = sound.followers[which % len(sound.followers)].name
    for faults in ((), (tr.slip(mesh, teeth),), (tr.split_gear(mesh, split), tr.bent_lever(follower, bend))):
        check_runs(sound.with_faults(*faults), *sound.ends)


@given(st.integers(0, 10**6), st.integers(0, 9), TEETH, st.floats(0, 8))
@settings(max_examples=12)
def test_drawn_cams_that_go_round_run(seed, which, teeth, dirt):
    sound = transport_from(make(seed, cyclic=True), "drawn.toml")
    mesh, contact = meshes(sound)[which % len(sound.parts)], sound.contacts[which % len(sound.contacts)].name
    reach = sound.speed_deg_s * sound.controller.time_out_s + 360
    for faults in ((), (tr.slip(mesh, teeth),), (tr.dirty_contact(contact, dirt),)):
        check_runs(sound.with_faults(*faults), -reach, reach + 360)


@given(SEEDS, st.integers(0, 9), st.integers(0, 9))
@settings(max_examples=times(3, 20))
def test_a_change_goes_on_from_where_the_last_one_ended(seed, one, other):
    """Whatever one change did, the next can be asked for; asking for the mode reached turns nothing."""
    sound = transport_of(seed)
    names = sound.mode_names
    start, target = names[one % len(names)], names[other % len(names)]
    stand = standing_start(sound, start) or standing_start(sound, start, "unloading")
    first = change_from(sound, stand, start, target)
    again = change_from(sound, first.stand, target, target)
    assert again.outcome in OUTCOMES
    if first.good and sound.coast_deg + sound.settle_deg < 8:
        assert again.stand == first.stand.rounded() and again.time_s == 0
