"""The panel of a slipped tooth: every slip of Alder at both ends of the cursor, and other transports."""

import itertools
import random
from html import unescape

import pytest
from crowded_chart import crowded
from share import share, times
from small_machine import TEXT, small
from transport_makers import make

from mechlib.bench import slip_effect
from mechlib.errors import MechError
from mechlib.panels.slipped_tooth import BEYOND_A_JAM, CANNOT_START, controls, slipped_tooth
from mechlib.transports import change, load, slip
from mechlib.transports.files import transport_from
from mechlib.transports.model import SENSE
from mechlib.transports.timing import arrival

ALDER = load("alder")


def put(panel, **values):
    for name, value in values.items():
        panel.controls[name].value = value
    return panel


def shown(panel) -> str:
    """The text of the list below the picture, as the page shows it."""
    page = panel.children[-2].value
    return unescape(page[page.index(">") + 1 : page.index("</pre>")])


def test_the_controls_of_alder():
    panel = slipped_tooth()
    mesh, teeth, theta = panel.controls.values()
    assert list(panel.controls) == ["mesh", "teeth", "theta_deg"]
    assert mesh.description == "mesh" and mesh.options == ALDER.mesh_names and mesh.value == "mode switch"
    assert teeth.description == "teeth ahead (+) / behind (−)"
    assert (teeth.min, teeth.max, teeth.step, teeth.value) == (-4, 4, 1, 0)
    assert theta.description == "cursor θ (°)"
    assert (theta.min, theta.max, theta.step, theta.value) == (-118, 268, 0.5, 0)


def test_every_slip_at_both_ends_of_the_cursor():
    panel = slipped_tooth()
    low, *_, high = panel.ranges["theta_deg"].positions()
    for mesh, teeth in share(itertools.product(ALDER.mesh_names, panel.ranges["teeth"].positions()), 6):
        for theta in (low, high):
            put(panel, mesh=mesh, teeth=teeth, theta_deg=theta)
            told = slip_effect(ALDER, mesh, teeth, theta).sentence()
            assert panel.error is None and panel.text == panel.image.tooltip == told
            assert "nan" not in panel.text and repr(panel) == told


@pytest.mark.few(2)
@pytest.mark.parametrize(
    "transport",
    [small(), crowded(3, 4, 4, 1), *(transport_from(make(seed, seed > 1), "h.toml") for seed in range(4))],
    ids=lambda transport: f"{transport.name[:8]} of {len(transport.followers)} and {len(transport.modes)}",
)
def test_corners_and_random_points_of_other_transports(transport):
    panel, dice = slipped_tooth(transport), random.Random(1)
    low, *_, high = panel.ranges["theta_deg"].positions()
    corners = [(mesh, n, at) for mesh in transport.mesh_names[::3] for n in (-4, 4) for at in (low, high)]
    anywhere = [tuple(dice.choice(r.positions()) for r in panel.ranges.values()) for _ in range(times(2, 10))]
    for mesh, teeth, theta in corners + anywhere:
        put(panel, mesh=mesh, teeth=teeth, theta_deg=theta)
        assert panel.error is None and panel.text == slip_effect(transport, mesh, teeth, theta).sentence()
    assert len({frame := panel.image.value, put(panel, teeth=0).image.value, frame}) == 2


def test_the_list_tells_every_change_that_fails():
    panel = slipped_tooth("alder", mesh="mode switch", teeth=1)
    faulty = ALDER.with_faults(slip("mode switch", 1))
    names = ALDER.mode_names
    tried = [change(faulty, a, b) for a in names for b in names if a != b]
    wanted = [one.sentence() for one in tried if not one.good]
    assert 0 < len(wanted) < len(tried)
    assert panel.listed.split("\n") == wanted and shown(panel) == panel.listed
    put(panel, teeth=0)
    assert shown(panel) == panel.listed == "Every mode change works."
    assert 'tabindex="0"' in panel.children[-2].value  # reached and scrolled from the keyboard, too


def test_it_says_from_where_a_change_is_taken_where_one_jams_or_cannot_start():
    told = {}
    for mesh, teeth in (("loading gear", -1), ("carriage gear", 1), ("mode switch", 1)):
        panel = slipped_tooth("alder", mesh=mesh, teeth=teeth)
        table = panel.picture.result.table
        told[mesh] = [line for line in panel.listed.split("\n") if line in (BEYOND_A_JAM, CANNOT_START)]
        assert shown(panel) == panel.listed and len(panel.listed.split("\n")) == len(told[mesh]) + sum(
            not cell.change.good for cell in table.values()
        )
    assert told == {"loading gear": [BEYOND_A_JAM], "carriage gear": [CANNOT_START], "mode switch": []}
    # what the words tell of: all ways to these five jam, and from them on it is told how changes end
    table, beyond = slip_effect(ALDER, "loading gear", -1).table, ALDER.mode_names[3:]
    assert {table[a, b].change.outcome for a in ALDER.mode_names[:3] for b in beyond} == {"jammed"}
    assert all(table[a, b].change.good for a in beyond for b in beyond if a != b)
    # and nowhere between the stops does a machine with this gear a tooth ahead stop in EJECT
    faulty = ALDER.with_faults(slip("carriage gear", 1))
    assert all(came is None or not came.possible for came in (arrival(faulty, "EJECT", s) for s in SENSE))


def test_names_of_a_file_are_no_mark_up(tmp_path):
    path = tmp_path / "mine.toml"
    path.write_text(TEXT.replace("HALF", "<b>HALF & x"))
    panel = slipped_tooth(path, mesh="switch", teeth=-1)
    assert "<b>HALF & x" in panel.listed and shown(panel) == panel.listed
    assert "<b>" not in panel.children[-2].value
    assert slipped_tooth(str(path)).text == slip_effect(load(path), "switch", 0).sentence()


def test_what_it_starts_with():
    panel = slipped_tooth(small(), mesh="hook cam", teeth=-2, theta_deg=50.5)
    assert {name: each.value for name, each in panel.controls.items()} == {
        "mesh": "hook cam", "teeth": -2, "theta_deg": 50.5,
    }  # fmt: skip
    assert panel.text == slip_effect(small(), "hook cam", -2, 50.5).sentence()
    ranges = controls(crowded(1, 1, 1, 0))  # stops at -20.5 and 20.25: the cursor keeps inside
    assert (ranges["theta_deg"].low, ranges["theta_deg"].high) == (-20.5, 20.0)


@pytest.mark.parametrize(
    "given",
    [{"mesh": "belt"}, {"teeth": 5}, {"teeth": 0.5}, {"theta_deg": 300}, {"theta_deg": "middle"},
     {"transport": "birchwood"}, {"transport": 7}],
    ids=str,
)  # fmt: skip
def test_what_it_cannot_start_with(given):
    with pytest.raises(MechError):
        slipped_tooth(**given)


def test_the_picture_can_be_saved(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    panel = slipped_tooth(small(), teeth=1)
    for name in ("slipped_tooth.png", "chart.svg"):
        panel.file_name.value = name
        panel.save_button.click()
        assert (tmp_path / name).stat().st_size > 10_000 and panel.error is None
    page = (tmp_path / "chart.svg").read_text(encoding="utf-8")
    assert "The switch is 1 tooth ahead of its mark" in page  # the sentence goes along
