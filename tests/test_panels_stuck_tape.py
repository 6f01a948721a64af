"""The panel of a stuck tape: every choice alone, random walks, and that picture and text are the plan's."""

from __future__ import annotations

import json
import random
import re
from html import unescape
from pathlib import Path

import pytest
from crowded_chart import crowded
from share import times
from small_machine import going_round, small
from transport_makers import make

from mechlib.bench.stuck_tape import stuck_tape as plan_of
from mechlib.bench.where import sights_to_choose, where_it_stands
from mechlib.errors import MechError
from mechlib.panels.stuck_tape import NOT_SEEN, TARGET, controls, stuck_tape
from mechlib.transports import load, slip
from mechlib.transports.files import transport_from

ALDER = load("alder")


def planned(transport, panel):
    chosen = {name: control.value for name, control in panel.controls.items()}
    target = chosen.pop(TARGET)
    seen = {name: how for name, how in chosen.items() if how != NOT_SEEN}
    return plan_of(transport, where_it_stands(transport, seen), target)


def shown(panel) -> str:
    page = panel.children[-2].value
    return unescape(page[page.index(">") + 1 : page.index("</pre>")])


def test_the_lists_of_alder():
    panel = stuck_tape()
    assert list(panel.controls) == [TARGET, *sights_to_choose(ALDER)]
    assert panel.controls[TARGET].value == "EJECT" and panel.controls[TARGET].options == ALDER.mode_names
    assert panel.controls["pinch lever"].options == (NOT_SEEN, "off", "ready", "pressed", "between")
    assert panel.controls["contact A"].options == (NOT_SEEN, "closed", "open")


@pytest.mark.few(1)
@pytest.mark.parametrize("name", ["alder", "birch"])
def test_every_choice_alone(name):
    transport, panel = load(name), stuck_tape(name)
    for control, choice in panel.ranges.items():
        for option in choice.positions():
            panel.controls[control].value = option
            plan = planned(transport, panel)
            assert panel.error is None and panel.text == panel.image.tooltip == plan.sentence()
            assert panel.listed == shown(panel) == plan.text() and "nan" not in panel.text
        panel.controls[control].value = choice.default


@pytest.mark.few(3)
@pytest.mark.parametrize(
    "transport",
    [
        ALDER.with_faults(slip("idler cam", 3)),
        small(),
        going_round(),
        crowded(3, 4, 4, 1),
        *(transport_from(make(seed, seed > 1), "h.toml") for seed in range(4)),
    ],
    ids=lambda transport: transport.name[:8],
)
def test_random_choices_of_other_transports(transport):
    panel, dice = stuck_tape(transport), random.Random(2)
    for _ in range(times(3, 25)):
        name = dice.choice(list(panel.ranges))
        panel.controls[name].value = dice.choice(panel.ranges[name].positions())
        assert panel.error is None and panel.text == planned(transport, panel).sentence()


def test_what_is_given_at_first():
    panel = stuck_tape("alder", "STOP", {"main brakes": "off"})
    assert panel.controls[TARGET].value == "STOP" and "is not decided" in panel.text
    for bad in ({"target": "GONE"}, {"seen": {"laver": "on"}}, {"seen": {"pinch lever": "up"}}):
        with pytest.raises(MechError):
            stuck_tape("alder", **bad)
    assert controls(ALDER)[TARGET].default == "EJECT"


def test_the_lesson_counts_on_by_the_steps_of_its_own_panel():
    """From the step at which the pinch lever leaves ready for pressed to the last turn of the list."""
    lesson = Path(__file__).parents[1] / "notebooks" / "09_get_a_stuck_tape_out_by_hand.ipynb"
    cells = {cell["id"]: "".join(cell["source"]) for cell in json.loads(lesson.read_text())["cells"]}
    assert (
        'stuck_tape_panel("alder", seen={"pinch lever": "ready", "contact C": "open"})' in cells["stuck-22"]
    )
    listed = stuck_tape("alder", seen={"pinch lever": "ready", "contact C": "open"}).listed
    move = r"(\d+)\. MOVES: After ([\d.]+) turns \([\d.]+°\): pinch lever from ready \(.* to pressed"
    number, on = re.search(move, listed).groups()
    last = re.search(r"STOP: Stop after ([\d.]+) turns", listed).group(1)
    left = f"`{last} − {on} = {float(last) - float(on):.1f}` turns are left."
    left = f"The last turn of the list is {last}, so {left}"
    assert f'That is step `{number}`: "After `{on}` turns". {left}' in cells["stuck-23"]
