"""Every transport that comes with the library, through everything that takes one."""

from __future__ import annotations

import re
import tomllib
from functools import cache
from importlib import resources

import pytest
from share import share

from mechlib import bench
from mechlib import transports as tr
from mechlib.bench.dwell_trial import dwell_trial
from mechlib.bench.effort_trial import effort_ranges, effort_trial
from mechlib.bench.stuck_tape import stuck_tape
from mechlib.bench.where import sights_to_choose, where_it_stands
from mechlib.draw.proof_sheet import proof_sheet_pages
from mechlib.draw.timing_card import timing_card_pages
from mechlib.errors import MechError
from mechlib.panels.dwell_trial import dwell_trial as dwell_panel
from mechlib.panels.effort import effort_trial as effort_panel
from mechlib.panels.slipped_tooth import slipped_tooth
from mechlib.panels.stuck_tape import stuck_tape as stuck_panel
from mechlib.transports.arcs import holding
from mechlib.transports.chart import chart
from mechlib.transports.mode_change import standing_start
from mechlib.transports.model import SENSE
from mechlib.transports.outcomes import RIGHT

pytestmark = pytest.mark.slow  # not run for each mutant
load = cache(tr.load)
each = pytest.mark.parametrize("name", tr.shipped())


@each
def test_it_is_invented_and_says_what_it_is(name):
    transport = load(name)
    assert transport.invented and transport.about and transport.name.lower() == name
    assert 3 <= len(transport.modes) <= 8


@each
def test_a_caution_names_a_spring_that_is_there(name):
    """Nothing is held back on account of a lever's spring that the lever hasn't."""
    data = tomllib.loads((resources.files("mechlib.transports") / "data" / f"{name}.toml").read_text())
    sprung = {row["name"] for row in data["follower"] if "spring" in row}
    cautions = [row.get("caution", "") for row in (data["drive"], *data["part"], *data.get("output", []))]
    named = [lever for words in cautions for lever in re.findall(r"the ([\w ]+)'s (?:\w+ )?spring\b", words)]
    assert set(named) <= sprung and (named or name == "dogwood")


@each
def test_every_margin_is_positive(name):
    transport = load(name)
    for found in tr.margins(transport):
        assert found.margin_deg > 0 and not found.never, found.sentence()
        assert found.distances and found.sentence()
    locks = [found.margin_deg for found in tr.interlock_margins(transport)]
    assert all(margin is None or margin > 0 for margin in locks)


@each
def test_every_change_works_from_both_ways_of_arriving(name):
    transport = load(name)
    table = tr.change_table(transport)
    assert len(table) == len(transport.modes) * (len(transport.modes) - 1)
    for (start, target), cell in table.items():
        assert cell.change.outcome == RIGHT and not cell.differs, cell.change.story()
        assert all(leg.time_s < transport.controller.time_out_s for leg in cell.change.legs)
        for sense in SENSE:
            if standing_start(transport, start, sense):
                assert tr.change(transport, start, target, sense).outcome == RIGHT


@each
def test_every_slip_is_told(name):
    """One tooth at each timed part costs margin somewhere or spoils a change; upstream it changes nothing."""
    transport = load(name)
    for row in tr.slip_table(transport):
        upstream = row.mesh in {mesh.name for mesh in transport.upstream}
        assert upstream == (row.silent and row.margin_lost_deg <= 0), row.sentence()


@pytest.mark.few(2)
@each
def test_chart_and_printed_sheets(name):
    transport = load(name)
    for sense in transport.senses:
        made = chart(transport, sense)
        assert [row.name for row in made.followers] == [f.name for f in transport.followers]
        assert all(row.stops for row in made.modes)
    card = bench.timing_card(transport)
    assert card.half_teeth and all(table.text() for table in card.tables)
    for paper in share(("A4", "Letter"), 1):
        assert len(timing_card_pages(card, paper)) == 1, paper
        assert proof_sheet_pages(card, paper)
    steps = bench.proof_steps(transport)
    assert {(step.start, step.target) for step in steps} == set(tr.change_table(transport))


@each
def test_a_card_tells_the_motors(name):
    transport = load(name)
    told = dict(bench.timing_card(transport).keys).get("motors", "")
    assert bool(told) == (len(transport.motors) > 1)
    assert all(stage.motor in told for stage in transport.stages if stage.motor)


@each
def test_retiming_sets_every_slip_right(name):
    transport = load(name)
    for part in transport.parts:
        for teeth in (-1, 1):
            found = bench.retiming(transport.with_faults(tr.slip(part.name, teeth)))
            assert [(move.part, move.teeth) for move in found.moves] == [(part.name, -teeth)]
            assert found.steps


@each
def test_dwells_have_a_budget(name):
    transport = load(name)
    assert len(tr.budget_summary(transport).splitlines()) == len(transport.modes) + 1
    for mode in transport.mode_names:
        needs = {need.follower for need in transport.mode(mode).needs}
        assert {found.follower for found in tr.mode_budgets(transport, mode)} >= needs
    mode = transport.mode(transport.mode_names[-1])
    assert dwell_trial(transport, mode.name, mode.needs[-1].follower, move_deg=0.5).sentence()


@each
def test_where_it_stands_and_how_it_is_got_out(name):
    """What is seen in each mode allows its stop angle; from there the way by hand is free."""
    transport = load(name)
    stands = [standing_start(transport, mode, s) for mode in transport.mode_names for s in transport.senses]
    for stand in filter(None, stands):
        theta = stand.theta % 360 if transport.cyclic else stand.theta
        seen = {f.name: f.state(stand.places[f.part]) for f in transport.followers}
        found = where_it_stands(transport, seen)
        assert not found.doubtful and holding(found.arcs, theta)
        got = stuck_tape(transport, theta)
        assert got.way is not None and got.way.blocked is None and got.steps
        assert got.target == transport.controller.home.mode
    assert set(sights_to_choose(transport)) >= {follower.name for follower in transport.followers}


@each
def test_every_motor_can_be_tried(name):
    transport = load(name)
    for motor in transport.motors or (None,):
        if motor is None:
            with pytest.raises(MechError, match="gives no motor"):
                effort_trial(transport, *transport.mode_names[:2])
            continue
        first, last = transport.mode_names[0], transport.mode_names[-1]
        found = effort_trial(transport, first, last, motor=motor.name, motor_percent=90)
        assert found.change.outcome == RIGHT and found.table()
        assert found.worst.asked_Nmm < found.drive.limit_Nmm


@pytest.mark.few(2)
@each
def test_every_panel_takes_it(name):
    transport = load(name)
    modes = transport.mode_names
    panels = [slipped_tooth(transport), stuck_panel(transport)]
    panels.append(dwell_panel(transport, modes[-1], transport.mode(modes[-1]).needs[-1].follower))
    for motor in transport.motors:
        panel = effort_panel(transport, motor=motor.name, start=modes[0], target=modes[-1])
        panels.append(panel)
        for control in share(("voltage_V", "motor_percent", "grease_Nmm", "stiff_N"), 2):
            for at in (0, -1):
                panel.controls[control].value = effort_ranges(transport, motor.name)[control].positions()[at]
                assert panel.error is None and "nan" not in panel.text + panel.listed
    for panel in panels:
        assert panel.error is None and panel.text and panel.listed is not None


@each
def test_the_belt_can_be_tried_where_there_is_one(name):
    for motor in load(name).motors:
        ranges = effort_ranges(load(name), motor.name)
        assert ("grown_percent" in ranges) == (motor.belt is not None)
        assert ranges["voltage_V"].default == motor.motor.voltage_V
