"""The picture of a planetary set: it turns as Willis says, its teeth mesh, and nothing is cut off."""

import math
from fractions import Fraction
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from matplotlib.path import Path
from second_way_teeth import distances
from share import times

from mechlib.draw import LivePicture, planetary
from mechlib.draw import page as paper
from mechlib.draw.planetary_view import CARRIER, PLANET, RING, SUN, View, view
from mechlib.draw.style import figure
from mechlib.errors import MechError
from mechlib.gears.planetary import Driven, Held, double_pinion_set, simple_set, speeds, stepped_set
from mechlib.gears.spur_mesh import mesh_angle

START = {"sun": 16, "planet": 16, "planets": 4, "driven": "sun", "held": "ring", "rev_min": 120,
         "seconds": 0.0}  # fmt: skip


def compute(sun, planet, planets, driven, held, rev_min, seconds):
    one = simple_set(sun, planet, sun + 2 * planet)
    if driven == held:
        raise MechError(f"the {driven} is held", "drive another part")
    turned = speeds(one, [Driven(driven, rev_min), Held(held)])
    return view(one, turned, planets, seconds, [driven], [held], turned.sentence())


def picture(**values):
    return LivePicture(compute, planetary, START | values, planetary.SIZE_PX)


def drawn(values):
    """The artists of one drawing, and what they show."""
    result = compute(**START | values)
    artists = planetary.create(figure(*planetary.SIZE_PX), result)
    planetary.update(artists, result)
    return artists, result


VALUES = st.fixed_dictionaries(
    {
        "sun": st.integers(8, 40),
        "planet": st.integers(9, 30),
        "planets": st.integers(1, 6),
        "driven": st.sampled_from([SUN, CARRIER, RING]),
        "held": st.sampled_from([SUN, CARRIER, RING]),
        "rev_min": st.integers(-200, 200),
        "seconds": st.floats(-2, 2),
    }
)
SETS = [
    {},
    {"sun": 12, "planet": 30, "planets": 3, "held": SUN, "driven": RING, "seconds": 0.1},
    {"sun": 40, "planet": 10, "planets": 9, "held": CARRIER, "seconds": 0.07},
    {"sun": 23, "planet": 16, "planets": 1, "driven": CARRIER, "rev_min": -60, "seconds": 0.3},
    {"sun": 18, "planet": 12, "planets": 5, "seconds": 0.41},
]


def shown(values):
    try:
        return compute(**values)
    except MechError:
        return None


@given(VALUES)
def test_drawn_angles_turn_as_willis_says(values):
    """The wheels are placed by their teeth; how far they get must follow from the tooth counts alone."""
    now, start = shown(values), shown(values | {"seconds": 0.0})
    if now is None:
        return
    sun, planet, ring = now.teeth
    about = now.sun_deg - now.carrier_deg
    ring_turned = now.ring_deg - start.ring_deg
    assert ring_turned == pytest.approx(now.carrier_deg - about * sun / ring, abs=1e-8)
    assert ring_turned == pytest.approx(6 * values["seconds"] * now.rev_min[RING], abs=1e-8)
    for after, before in zip(now.directions_deg, start.directions_deg, strict=True):
        turned = now.planet_deg(after) - start.planet_deg(before)
        assert turned == pytest.approx(now.carrier_deg - about * sun / planet, abs=1e-8)
        assert turned == pytest.approx(6 * values["seconds"] * now.rev_min[PLANET], abs=1e-8)


@given(VALUES)
def test_every_planet_meshes_with_the_one_ring(values):
    """Found through any planet, the ring stands at the same angle but for whole teeth."""
    now = shown(values)
    if now is None:
        return
    _, wheel, ring = now.wheels
    for direction in now.directions_deg:
        through = mesh_angle(wheel, ring, now.centre_mm, now.planet_deg(direction), direction)
        teeth = (through - now.ring_deg) * ring.teeth / 360
        assert teeth == pytest.approx(round(teeth), abs=1e-7)


def test_planets_stand_as_evenly_as_they_go_in():
    even, odd = compute(**START), compute(**START | {"planets": 3})
    assert even.equally_spaced and np.diff(even.directions_deg) == pytest.approx([90, 90, 90])
    step = Fraction(360, 64)
    places = [Fraction(each).limit_denominator(1000) / step for each in odd.directions_deg]
    assert not odd.equally_spaced and places == [0, 21, 43]  # thirds of 64, rounded


@pytest.mark.parametrize("values", SETS)
def test_drawn_teeth_do_not_overlap_and_touch(values):
    """The polygons on the picture themselves, in modules: planets against sun, ring and one another."""
    artists, result = drawn(values)
    scale = result.wheels[2].root_mm / 2 / result.module_mm + planetary.RIM
    sun, hole, *planets = (
        path.vertices[:-1] * scale
        for role, chosen in ((SUN, slice(0, 1)), (RING, slice(1, 2)), (PLANET, slice(None)))
        for path in artists.bodies[role].get_paths()[chosen]
    )
    assert len(planets) == result.planets
    for at, planet in enumerate(planets):
        line = planet @ (1, 1j)
        for other, outside in ((sun, False), (hole, True), *((one, False) for one in planets[:at])):
            within = Path(other).contains_points(planet)
            wrong = line[within != outside]
            if len(wrong):
                assert distances(wrong, other @ (1, 1j)).max() < 2 * planetary.FINENESS
        for other in (sun, hole):  # without backlash they touch
            assert distances(line, other @ (1, 1j)).min() < 2 * planetary.FINENESS


@settings(max_examples=times(2, 12))
@given(st.lists(VALUES, max_size=3), VALUES)
def test_after_any_walk_the_picture_is_the_fresh_one(steps, end):
    if shown(end) is None:
        end = START
    walked = picture()
    artists = [id(artist) for artist in walked.figure.findobj()]
    for step in steps:
        walked.set(**step)
    assert walked.set(**end) == picture(**end).frame()
    assert [id(artist) for artist in walked.figure.findobj()] == artists


def test_refused_sets_leave_the_picture():
    live = picture()
    before = live.frame()
    assert live.set(planets=7) == before
    assert (
        live.sentence
        == "7 planets of 16 teeth: with tips of ISO 53 A they would run into each other; use fewer"
    )
    assert live.set(sun=5, planets=3) == before
    assert live.sentence == "teeth of the sun is 5: it must be a whole number from 6 to 2000"
    assert live.set(sun=16, driven="ring") == before
    assert live.sentence == "the ring is held: drive another part"


@pytest.mark.parametrize("values", SETS)
def test_signs_of_held_driven_and_turning(values):
    artists, result = drawn(values)
    assert len(artists.driven.get_paths()) == 1 and len(artists.plates.get_paths()) == 1
    turning = [role for role in (SUN, CARRIER, RING, PLANET) if result.rev_min[role]]
    assert len(artists.arrows.get_paths()) == len(turning) - 1
    # The driven arrow goes about the axis in the sense of the speed: its corners on the way to the head.
    corners = artists.driven.get_paths()[0].vertices @ (1, 1j)
    on = np.angle(corners[1] / corners[0])
    assert np.sign(on) == np.sign(result.rev_min[result.driven[0]])
    # The ground sign stands where the held part is: at the rim, or within the pins' circle.
    foot = artists.grounds.get_segments()[0][0] @ (1, 1j)
    expected = {RING: 1.0, CARRIER: result.centre_mm, SUN: 0.0}[result.held[0]]
    rim = result.wheels[2].root_mm / 2 + planetary.RIM * result.module_mm
    if result.held[0] == SUN:
        assert abs(foot) < result.wheels[0].root_mm / 2 / rim
    else:
        assert abs(foot) == pytest.approx(expected if result.held[0] == RING else expected / rim)
    states = {role: artists.cells[role, "state"].get_text() for role in (SUN, CARRIER, RING)}
    assert states[result.held[0]] == "held" and states[result.driven[0]] == "driven"


def test_a_standing_set_has_no_arrows_and_says_so():
    artists, _ = drawn({"rev_min": 0})
    assert not artists.arrows.get_paths() and not artists.driven.get_paths()
    assert artists.cells[CARRIER, "state"].get_text() == "stands"
    assert artists.cells[SUN, "speed"].get_text() == "0.00"


@pytest.mark.parametrize("values", [*SETS, {"rev_min": -99999, "sun": 120, "planet": 100}])
def test_words_have_room(values):
    artists, _ = drawn(values)
    columns = ("name", "teeth", "speed", "state")
    for role in (SUN, PLANET, RING, CARRIER):
        edge = planetary.LEFT + 24
        for column in columns:
            text = artists.cells[role, column].get_text()
            x, side = planetary.COLUMNS[column]
            width = paper.width_px(text)
            left = x - width if side == "right" else x
            assert left >= edge or not text, (role, column, text)
            edge = max(edge, left + width)
        assert edge <= planetary.SIZE_PX[0]
    for word in (artists.title, *artists.foot):
        size, weight = word.get_fontsize(), word.get_fontweight()
        assert planetary.LEFT + paper.width_px(word.get_text(), size, weight) <= planetary.SIZE_PX[0]
    # What moves in the square stays within it.
    for body in (*artists.bodies.values(), artists.arrows, artists.driven, artists.plates):
        for path in body.get_paths():
            assert abs(path.vertices).max() < planetary.VIEW
    for word in artists.letters.values():
        assert max(abs(np.array(word.get_position()))) < planetary.VIEW


def test_letters_are_not_under_arrows():
    for values in SETS:
        for sense in (1, -1):
            artists, _ = drawn(values | {"rev_min": sense * 100})
            for role in (RING, SUN, PLANET):
                at = complex(*artists.letters[role].get_position())
                for arrows in (artists.arrows, artists.driven):
                    for path in arrows.get_paths():
                        line = path.vertices @ (1, 1j)
                        about = {RING: 0, SUN: 0, PLANET: line.mean()}[role]
                        own = abs(abs(line - about).mean() - abs(at - about)) < 0.01
                        assert not own or distances(np.array([at]), line)[0] > 0.02


def test_dots_stand_apart_and_clear_of_the_carriers_letter():
    """Where two marked teeth come near each other in a mesh; 13 pixels are a letter and its dot."""
    pictures = [(values, drawn(values)[0]) for values in SETS]
    for (values, artists), seconds in product(pictures, np.linspace(0, 1, 9)):
        planetary.update(artists, compute(**START | values | {"seconds": seconds}))
        dots = artists.dots.get_offsets() @ (1, 1j)
        letter = complex(*artists.letters[CARRIER].get_position())
        assert abs(dots - letter).min() * planetary.PIXELS > 13
        near = abs(dots[:, None] - dots) + 9 * np.eye(len(dots))
        assert near.min() * planetary.PIXELS > 6  # a dot is 5 wide


STANDS = [
    {"seconds": 0.165},
    {"sun": 48, "planet": 8, "planets": 6, "seconds": 0.0},
    {"sun": 12, "planet": 8, "planets": 5},
    {"sun": 16, "planets": 1},
    {"sun": 16, "planets": 2, "held": CARRIER},
    {"held": SUN, "driven": RING},
    {"sun": 8, "planet": 40, "planets": 2},
    {"sun": 8, "planet": 32, "planets": 3},
    {"sun": 9, "planet": 27, "planets": 3, "held": SUN, "driven": RING},
]


def within(letter, bodies) -> bool:
    return any(path.contains_point(letter) for body in bodies for path in body.get_paths())


@pytest.mark.parametrize("values", STANDS)
def test_the_suns_letter_stands_on_the_sun_or_has_a_leader_to_it(values):
    """Never on the carrier, an arrow, a sign or a planet, however the set has turned."""
    artists, result = drawn(values)
    for seconds in values.get("seconds", 0.0) + np.linspace(0, 0.6, times(13, 61)):
        result = compute(**START | values | {"seconds": seconds})
        planetary.update(artists, result)
        letter = artists.letters[SUN].get_position()
        assert not within(letter, [artists.bodies[CARRIER], artists.arrows, artists.driven, artists.plates])
        lines = [each.vertices @ (1, 1j) for each in artists.bodies[CARRIER].get_paths()]
        assert distances(np.array([complex(*letter)]), np.concatenate(lines)).min() * planetary.PIXELS > 9
        leader = artists.leader.get_segments()
        assert within(letter, [artists.bodies[SUN]]) is (not leader)
        if leader:
            assert result.teeth[0] < 12
            assert within(leader[0][1], [artists.bodies[SUN]])
            assert not within(letter, [artists.bodies[PLANET]])


def test_the_planets_letter_is_on_no_arm():
    for values in STANDS:
        if values.get("planet", 16) < 12:
            continue  # too small a planet has no room beside its pin
        for seconds in np.linspace(0, 0.6, times(13, 61)):
            artists, _ = drawn(values | {"seconds": seconds})
            letter = artists.letters[PLANET].get_position()
            assert not within(letter, [artists.bodies[CARRIER], artists.arrows, artists.driven])
            assert within(letter, [artists.bodies[PLANET]])


def test_names_of_members_and_sentence():
    one = simple_set(16, 16, 48, ("motor gear", "main cam", "transfer ring"))
    turned = speeds(one, [Driven("motor gear", 100), Held("main cam")])
    made = view(one, turned, 4, 1.5, ["motor gear"], ["main cam"], "told", module_mm=0.5)
    assert made.names == {SUN: "motor gear", CARRIER: "main cam", RING: "transfer ring", PLANET: "planet"}
    assert (made.driven, made.held, made.sentence()) == ((SUN,), (CARRIER,), "told")
    assert made.rev_min == pytest.approx({SUN: 100, CARRIER: 0, RING: -100 / 3, PLANET: -100})
    assert made.sun_deg == 900 and made.carrier_deg == 0 and made.centre_mm == 8
    artists = planetary.create(figure(*planetary.SIZE_PX), made)
    planetary.update(artists, made)
    assert artists.cells[RING, "name"].get_text() == "transfer ring"


STILL = dict.fromkeys((SUN, CARRIER, RING, PLANET), 0.0)
GOOD = {"teeth": (16, 16, 48), "planets": 4, "module_mm": 1.0, "rev_min": STILL, "names": {},
        "sun_deg": 0.0, "carrier_deg": 0.0, "driven": (), "held": (), "told": ""}  # fmt: skip


@pytest.mark.parametrize(
    ("values", "said"),
    [
        ({"teeth": (16, 16, 49)}, "the ring has 49 teeth: to run on one axis"),
        ({"teeth": (5, 16, 37)}, "teeth of the sun is 5"),
        ({"planets": 0}, "planets is 0"),
        ({"planets": 13}, "planets is 13"),
        ({"planets": 6}, "6 planets of 16 teeth: with tips of ISO 53 A they would run into each other"),
        ({"sun_deg": math.nan}, "sun_deg is nan"),
        ({"carrier_deg": math.inf}, "carrier_deg is inf"),
        ({"rev_min": {}}, "rev_min of the sun"),
        ({"held": ("frame",)}, "there is no frame: the parts are sun, carrier, ring and planet"),
        ({"module_mm": 0}, "module_mm is 0 mm"),
    ],
)
def test_views_that_cannot_be(values, said):
    with pytest.raises(MechError, match=said):
        View(**GOOD | values)


def test_sets_that_cannot_be_drawn():
    double, stepped = double_pinion_set(20, 15, 16, 70), stepped_set(20, 15, 16, 70)
    for one in (double, stepped):
        turned = speeds(one, [Driven("sun", 1), Held("ring")])
        with pytest.raises(MechError, match="can't be drawn"):
            view(one, turned, 3, 0.0)
    one = simple_set(16, 16, 48)
    with pytest.raises(MechError, match="there is no worm: the members are sun, carrier and ring"):
        view(one, speeds(one, [Driven("sun", 1), Held("ring")]), 3, 0.0, driven=["worm"])
