"""The panel of a planetary set: ends, corners and random points, its table, and sets that can't be."""

import itertools
import math
import random
from html import unescape

import pytest
from share import share, times

from mechlib.bench.follow_power import follow
from mechlib.errors import MechError
from mechlib.gears.planetary import simple_set
from mechlib.gears.power import Load
from mechlib.panels.planetary import CONTROLS, planetary_set

DEFAULTS = {"sun": 16, "planet": 16, "planets": 4, "held": "none", "rev_min": 120, "ring_Nmm": 60,
            "carrier_Nmm": 120, "seconds": 0.0}  # fmt: skip
ENDS = {name: (control.positions()[0], control.positions()[-1]) for name, control in CONTROLS.items()}


@pytest.fixture(scope="module")
def panel():
    return planetary_set()


def put(panel, **values):
    """Set every control (those not named to their defaults)."""
    for name, value in (DEFAULTS | values).items():
        panel.controls[name].value = value
    return panel


def table(panel) -> str:
    """The text below the picture, as the page shows it."""
    page = panel.children[-2].value
    return unescape(page[page.index(">") + 1 : page.index("</pre>")])


def path_of(sun, planet, held, rev_min, ring_Nmm, carrier_Nmm, **_):
    """What the library finds for these values, without the panel."""
    loads = {"ring": Load(ring_Nmm), "carrier": Load(carrier_Nmm)}
    return follow(simple_set(sun, planet, sun + 2 * planet), rev_min, loads, None if held == "none" else held)


def goes_together(sun, planet, planets, **_) -> bool:
    """Whether neighbouring tips clear each other, from coordinates; tips stand a module outside.

    Planets go in at whole steps of 360°/(sun + ring) only: the nearest to equal shares.
    """
    steps = 2 * (sun + planet)
    at = [2 * math.pi * round(n * steps / planets) / steps for n in range(planets)]
    pins = [((sun + planet) / 2 * math.cos(a), (sun + planet) / 2 * math.sin(a)) for a in at]
    return all(math.dist(a, b) > planet + 2 for a, b in itertools.combinations(pins, 2))


def check(panel, **values):
    """Put the values; the panel must tell what the library finds, or refuse and keep its frame."""
    values = DEFAULTS | values
    put(panel, **values)
    assert panel.error is None
    assert panel.text == panel.image.tooltip == repr(panel) and "nan" not in panel.text + table(panel)
    if not values["rev_min"]:
        assert panel.text.endswith("stands still: the input must turn")
    elif not goes_together(**values):
        assert panel.text.endswith("they would run into each other; use fewer")
    else:
        found = path_of(**values)
        assert panel.text == found.sentence() and table(panel) == panel.listed == found.table()
        assert dict(panel.picture.values) == values
        seen = panel.picture.result.view
        numbers = (seen.sun_deg, seen.carrier_deg, seen.ring_deg, *seen.rev_min.values())
        assert all(map(math.isfinite, numbers))
        return True
    assert dict(panel.picture.values) != values
    return False


def test_the_controls(panel):
    told = {name: (each.description, each.value) for name, each in planetary_set().controls.items()}
    assert told == {
        "sun": ("teeth of the sun", 16),
        "planet": ("teeth of each planet", 16),
        "planets": ("number of planets", 4),
        "held": ("held (none: the loads decide)", "none"),
        "rev_min": ("input speed (rev/min)", 120),
        "ring_Nmm": ("load at the ring (N·mm)", 60),
        "carrier_Nmm": ("load at the carrier (N·mm)", 120),
        "seconds": ("time (s)", 0),
    }
    assert ENDS["held"] == ("none", "ring") and panel.controls["held"].options == CONTROLS["held"].options


@pytest.mark.few(3)
@pytest.mark.parametrize("name", [name for name in CONTROLS if name != "held"])
def test_both_ends_of_every_slider_with_each_member_held(panel, name):
    no_room = {("sun", 8), ("planet", 40), ("planets", 6)}  # the rest as at first: 4 planets of 16, sun of 16
    for held, end in itertools.product(CONTROLS["held"].options, ENDS[name]):
        assert check(panel, held=held, **{name: end}) == ((name, end) not in no_room)


def test_corners(panel):
    names = ("sun", "planet", "planets", "rev_min", "seconds")
    dice = random.Random(2)
    corners = list(itertools.product(*(ENDS[name] for name in names)))
    for corner in share(corners, 10):
        rest = {name: dice.choice(ENDS[name]) for name in ("ring_Nmm", "carrier_Nmm")}
        check(
            panel, held=dice.choice(CONTROLS["held"].options), **dict(zip(names, corner, strict=True)), **rest
        )


def test_random_points(panel):
    dice, number = random.Random(1), times(6, 60)
    points = [{name: dice.choice(each.positions()) for name, each in CONTROLS.items()} for _ in range(number)]
    shown = [check(panel, **point) for point in points]
    assert number / 3 < sum(shown) < number


def test_what_cannot_be_keeps_the_old_frame(panel):
    frame, sentence, rows = put(panel).image.value, panel.text, table(panel)
    panel.controls["planets"].value = 6
    assert (
        panel.text == "6 planets of 16 teeth: with tips of ISO 53 A they would run into each other; use fewer"
    )
    assert panel.image.value == frame and table(panel) == rows and panel.error is None
    panel.controls["planets"].value = 4
    panel.controls["rev_min"].value = 0
    assert panel.text == "sun stands still: the input must turn" and panel.image.value == frame
    assert put(panel).text == sentence and panel.image.value == frame


def test_the_set_turns_with_time(panel):
    """At 120 rev/min the sun is round in 0.5 s; the ring turns a third of that, backwards."""
    start = put(panel).image.value
    assert put(panel, seconds=0.25).image.value != start
    view = panel.picture.result.view
    assert view.sun_deg == 180 and view.carrier_deg == 0
    assert view.ring_deg - put(panel).picture.result.view.ring_deg == pytest.approx(-60)
    held = put(panel, held="ring", seconds=1.0).picture.result.view
    assert held.sun_deg == 720 and held.carrier_deg == 180


def test_what_the_picture_marks(panel):
    marks = {"none": (("sun",), ()), "sun": (("ring",), ("sun",)), "carrier": (("sun",), ("carrier",)),
             "ring": (("sun",), ("ring",))}  # fmt: skip
    for held, wanted in marks.items():
        view = put(panel, held=held).picture.result.view
        assert (view.driven, view.held) == wanted


def test_the_load_decides_at_the_change_over(panel):
    """The ring asks the sun for a third of its load, the carrier for a quarter: 90 is level with 120."""
    assert put(panel, ring_Nmm=89).text.startswith("Ring moves at −40.00 rev/min")
    assert "Here ring does" in put(panel, ring_Nmm=90).text
    assert put(panel, ring_Nmm=91).text.startswith("Carrier moves at +30.00 rev/min")
    assert "this is the change-over" in put(panel, ring_Nmm=0, carrier_Nmm=0).text


def test_the_table_is_reached_from_the_keyboard_and_keeps_its_height(panel):
    page = put(panel).children[-2].value
    assert 'tabindex="0"' in page and "height: 15em" in page and "monospace" in page


def test_where_it_starts():
    panel = planetary_set(sun=24, planet=14, planets=5, held="sun", rev_min=-60, seconds=0.3)
    assert panel.controls["planets"].value == 5 and panel.picture.result.view.teeth == (24, 14, 52)
    assert panel.text.startswith("With sun held the power can only go to carrier: it moves at −41.05 rev/min")


@pytest.mark.parametrize(
    "values",
    [{"sun": 7}, {"planets": 7}, {"planets": 6}, {"held": "worm"}, {"rev_min": 0}, {"ring_Nmm": -1},
     {"seconds": math.nan}, {"ring": 48}],
    ids=str,
)  # fmt: skip
def test_what_it_cannot_start_with(values):
    with pytest.raises(MechError):
        planetary_set(**values)


def test_the_picture_can_be_saved(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    panel = planetary_set(held="ring")
    panel.file_name.value = "set.svg"
    panel.save_button.click()
    assert panel.error is None
    assert "With ring held the power can only go to carrier" in (tmp_path / "set.svg").read_text(
        encoding="utf-8"
    )
