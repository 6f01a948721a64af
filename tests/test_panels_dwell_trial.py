"""The panel of a dwell: ends, corners and random points, its list, and dwells that can't be."""

import math
import random
from html import unescape
from itertools import product

import pytest
from dwell_pictures import asked, maker
from share import times
from small_machine import going_round, small

from mechlib.bench import dwell_trial as compute
from mechlib.bench import trial_ranges
from mechlib.errors import MechError
from mechlib.panels.dwell_trial import dwell_trial
from mechlib.transports import bent_lever, budget_table, load

ALDER = load("alder")
ASKED = ("PLAY", "reel idler")
RANGES = trial_ranges(ALDER, *ASKED)
DEFAULTS = {name: control.default for name, control in RANGES.items()}
ENDS = {name: (control.positions()[0], control.positions()[-1]) for name, control in RANGES.items()}


@pytest.fixture(scope="module")
def panel():
    return dwell_trial("alder", *ASKED)


def put(panel, **values):
    """Set every control (those not named to their defaults)."""
    for name, value in (DEFAULTS | values).items():
        panel.controls[name].value = value
    return panel


def listed(panel) -> str:
    """The text below the picture, as the page shows it."""
    page = panel.children[-2].value
    return unescape(page[page.index(">") + 1 : page.index("</pre>")])


def check(panel, transport, asks, **values):
    """Put the values; the panel must tell what the library finds, or refuse, say why and keep its frame."""
    for name, value in values.items():
        panel.controls[name].value = value
    assert panel.error is None
    assert panel.text == panel.image.tooltip == repr(panel) and "nan" not in panel.text + listed(panel)
    try:
        found = compute(transport, *asks, **values)
    except MechError as refused:
        assert panel.text == str(refused) and dict(panel.picture.values) != values
        return False
    assert panel.text == found.sentence() and dict(panel.picture.values) == values
    assert listed(panel) == panel.listed == below(found)
    return True


def below(found) -> str:
    """What must stand below: this follower's rows of the mode's whole budget, then who lost margin."""
    head, *rows = (line.split("  ") for line in budget_table(found.transport, found.mode).splitlines())
    rows = [row for row in rows if row[0] == found.follower]
    budget = found.budget.table().splitlines()
    assert [line.split() for line in budget] == [" ".join(row).split() for row in [head, *rows]]
    names = [one.name[0].upper() + one.name[1:] for one in found.lost]
    lost = [one.sentence() for one in found.past]
    lost += [f"{name} goes from" for name in names] or ["Nothing else lost margin."]
    told = found.losses()
    assert all(line.startswith(start) for line, start in zip(told, lost, strict=True))
    return "\n".join([*budget, "", *told])


def test_the_controls():
    told = {
        name: (each.description, each.value) for name, each in dwell_trial(ALDER, *ASKED).controls.items()
    }
    assert told == {
        "length_deg": ("length of the dwell (°)", 6),
        "move_deg": ("dwell moved by (°)", 0),
        "law_name": ("law of the moves beside it", "as it is"),
        "coast_deg": ("coasting (°)", 1.6),
        "contact_deg": ("width of the contact (°)", 8),
    }


@pytest.mark.parametrize("name", RANGES)
def test_both_ends_of_every_control(panel, name):
    for end in ENDS[name]:
        assert check(panel, ALDER, ASKED, **DEFAULTS | {name: end})


def test_corners(panel):
    shown = [
        check(panel, ALDER, ASKED, **dict(zip(RANGES, corner, strict=True)))
        for corner in product(*ENDS.values())
    ]
    assert 8 <= sum(shown) < 32  # the greatest length leaves nothing once it is moved


def test_random_points(panel):
    dice, number = random.Random(1), times(10, 40)
    points = [{name: dice.choice(each.positions()) for name, each in RANGES.items()} for _ in range(number)]
    shown = [check(panel, ALDER, ASKED, **point) for point in points]
    assert number / 4 < sum(shown) < number


@pytest.mark.few(2)
@pytest.mark.parametrize(
    "transport", [small(), going_round(), maker(0)[1], maker(1, True)[1]], ids=lambda t: t.name
)
def test_panels_of_other_transports(transport):
    dice = random.Random(transport.name)
    for asks in dice.sample(asked(transport), min(2, len(asked(transport)))):
        panel = dwell_trial(transport, *asks)
        for _ in range(3):
            names = trial_ranges(transport, *asks)
            check(panel, transport, asks, **{n: dice.choice(c.positions()) for n, c in names.items()})


def test_what_cannot_be_keeps_the_old_frame(panel):
    frame, sentence, rows = put(panel, length_deg=36).image.value, panel.text, listed(panel)
    panel.controls["move_deg"].value = -1
    assert panel.text.startswith("a dwell 36.00° long, moved by −1.00°, leaves nothing for a move beside it")
    assert panel.image.value == frame and listed(panel) == rows and panel.error is None
    panel.controls["move_deg"].value = 0
    assert panel.text == sentence and panel.image.value == frame


def test_rooms_on_paper(panel):
    """PLAY stops at 210.4; the idler's dwell from 210 to 216, its moves from 194 and to 236, 5 mm each.

    It is right from 0.3 mm under the dwell on, which a cycloidal move (s = x - sin(2 pi x) / 2 pi) has left
    when it has a part u of its length to go.
    """
    low, high = 0.0, 0.5
    for _ in range(60):
        u = (low + high) / 2
        low, high = (u, high) if u - math.sin(2 * math.pi * u) / (2 * math.pi) < 0.3 / 5 else (low, u)
    for move, length in ((0, 6), (-2.4, 6), (1.6, 12.4)):
        found = put(panel, length_deg=length, move_deg=move).picture.result.distances[0]
        start, end = 213 + move - length / 2, 213 + move + length / 2
        assert found.sense == "loading" and panel.error is None
        assert found.below_deg == pytest.approx(210.4 - start + u * (start - 194))
        assert found.above_deg == pytest.approx(end + u * (236 - end) - 210.4)


def test_the_list_tells_who_pays(panel):
    assert listed(put(panel)).endswith("\n\nNothing else lost margin.")
    put(panel, length_deg=36)
    assert "SLOW and the interlock idler and brakes lost margin" in panel.text
    slow, brakes = listed(panel).splitlines()[-2:]
    assert slow.startswith("SLOW goes from 12.7° to ") and brakes.startswith(
        "The interlock idler and brakes goes from 5.4° to "
    )


def test_the_list_is_reached_from_the_keyboard_and_keeps_its_height(panel):
    page = put(panel).children[-2].value
    assert 'tabindex="0"' in page and "height: 18em" in page and "monospace" in page


def test_where_it_starts():
    panel = dwell_trial(
        "alder", "WIND", "loading arms", length_deg=4, move_deg=0.4, law_name="3-4-5", coast_deg=2
    )
    assert {name: each.value for name, each in panel.controls.items()} == {
        "length_deg": 4, "move_deg": 0.4, "law_name": "3-4-5", "coast_deg": 2, "contact_deg": 8
    }  # fmt: skip
    assert panel.text.startswith("WIND has a margin of ") and "(it was 3.9°)" in panel.text


@pytest.mark.parametrize(
    "asks, values",
    [(("PAUSE", "carriage"), {}), (("PLAY", "code"), {}), (("PAY", "reel idler"), {}),
     (ASKED, {"length_deg": 37}), (ASKED, {"law_name": "bouncing"}), (ASKED, {"teeth": 1}),
     (ASKED, {"length_deg": 36, "move_deg": -2})],
    ids=str,
)  # fmt: skip
def test_what_it_cannot_start_with(asks, values):
    with pytest.raises(MechError):
        dwell_trial("alder", *asks, **values)


def test_faults_are_refused():
    with pytest.raises(MechError, match="this transport has faults"):
        dwell_trial(ALDER.with_faults(bent_lever("reel idler", 1)), *ASKED)


def test_the_picture_can_be_saved(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    panel = dwell_trial("alder", *ASKED, length_deg=10)
    panel.file_name.value = "dwell.svg"
    panel.save_button.click()
    assert panel.error is None
    assert "PLAY has a margin of" in (tmp_path / "dwell.svg").read_text(encoding="utf-8")
