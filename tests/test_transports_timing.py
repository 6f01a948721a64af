"""Margins, stop angles and slips survived of a machine small enough to be worked out on paper."""

import pytest
from small_machine import going_round, small, values

from mechlib.errors import MechError
from mechlib.transports import interlock_margins, load, margins, slip, slips_survived
from mechlib.transports.chart import chart
from mechlib.transports.hardware import Root
from mechlib.transports.model import Stage
from mechlib.transports.runs import steady
from mechlib.transports.tables import interlock_table, margin_table, part_table, silent_slips, survival_table
from mechlib.transports.timing import THE_CODE, arrival, mode_margin


def distances(transport, mode):
    return {
        (d.follower, d.sense): (pytest.approx(d.below_deg), pytest.approx(d.above_deg))
        for d in mode_margin(transport, mode).distances
    }


def test_stop_angles():
    # arcs of 10 degrees around 0, 50, 100; a code counts after 1 degree, the cam coasts by 2
    stands = {
        (m, s): arrival(small(), m, s).stand_deg
        for m in ("IN", "HALF", "OUT")
        for s in ("loading", "unloading")
    }
    assert stands == pytest.approx(
        {
            ("IN", "loading"): -2,
            ("IN", "unloading"): 2,
            ("HALF", "loading"): 48,
            ("HALF", "unloading"): 52,
            ("OUT", "loading"): 98,
            ("OUT", "unloading"): 102,
        }
    )


def test_distances_on_paper():
    # the lever is on from 39 (1 mm of tolerance is 1 degree), 3 degrees earlier when unloading (play)
    assert distances(small(), "IN") == {("lever", "unloading"): (22, 16), ("hook", "unloading"): (22, 66)}
    assert distances(small(), "HALF") == {
        ("lever", "loading"): (9, 72),
        ("latch", "loading"): (68, 8),
        ("lever", "unloading"): (16, 68),
        ("latch", "unloading"): (72, 4),
    }
    assert distances(small(), "OUT") == {("lever", "loading"): (59, 22), ("hook", "loading"): (9, 22)}


def test_ruling_margins():
    found = [(m.mode, round(m.margin_deg, 6), m.follower, m.side, m.sense) for m in margins(small())]
    assert found == [
        ("IN", 16, "lever", "above", "unloading"),
        ("HALF", 4, "latch", "above", "unloading"),
        ("OUT", 9, "hook", "below", "loading"),
    ]
    half = mode_margin(small(), "HALF")
    assert half.teeth == pytest.approx(0.4) and half.turns == pytest.approx(0.2)
    assert half.in_sense("loading") == (pytest.approx(8), "latch", "above")
    assert mode_margin(small(), "IN").in_sense("loading") is None


def test_interlock_margin():
    # hook leaves "down" at 71, at 68 when unloading; the latch is open from 64 on
    (margin,) = interlock_margins(small())
    assert margin.ahead_deg == pytest.approx(4) and margin.behind_deg is None
    assert margin.ahead_teeth == pytest.approx(0.4) and margin.ahead_turns == pytest.approx(0.2)
    ahead = small().with_faults(slip("lever gear", 1))  # 10 degrees: 6 too many
    assert interlock_margins(ahead)[0].margin_deg == pytest.approx(-6)
    assert "collide on the way" in interlock_margins(ahead)[0].sentence()


def test_followers_of_one_part_cannot_shift_against_each_other():
    file = values()
    file["follower"][1]["part"] = "main cam"
    (margin,) = interlock_margins(small(**file))
    assert margin.margin_deg is None
    assert margin.sentence() == "hook and latch: no shift of the hook against the latch makes them collide."


@pytest.mark.parametrize(
    "mode, mesh, behind, ahead",
    [
        ("IN", "switch", 1, 2),  # 10 a tooth, 16 above; ahead the third is read beyond the stop at -20
        ("HALF", "switch", 0, 0),  # 8 and 4 above, 9 below
        ("IN", "lever gear", None, 1),  # 16 above, the parts' 10 a tooth
        ("OUT", "lever gear", 0, None),  # 9 below for the hook that hangs on it; ahead it stays up
        ("OUT", "switch", 2, 0),  # behind, the third is read at 126, beyond the stop at 120
        ("OUT", "hook cam", 0, None),  # 9 below, 30 a tooth
        ("HALF", "hook cam", None, None),  # does not use the hook
        ("HALF", "motor pinion", None, None),
    ],
)
def test_slips_survived(mode, mesh, behind, ahead):
    survival = slips_survived(small(), mode, mesh)
    assert (survival.behind, survival.ahead) == (behind, ahead)


def test_switch_far_ahead_cannot_be_read():
    # two teeth ahead: IN's arc is [-25, -15]; unloading it is left at the stop before... the edge is at -15
    two = small().with_faults(slip("switch", 2))
    came = arrival(two, "IN", "unloading")
    assert (came.read_deg, came.stand_deg, came.past_stop_deg) == (-16, -18, 0)
    three = small().with_faults(
        slip("switch", 3)
    )  # edge at -25, beyond the stop at -20; it would count at -26
    assert arrival(three, "IN", "unloading").past_stop_deg == pytest.approx(6)
    margin = mode_margin(three, "IN")
    assert (margin.follower, margin.margin_deg) == (THE_CODE, pytest.approx(-6))
    assert "beyond the end stop" in margin.sentence()


def test_play_adds_along_the_chain():
    run = arrival(small(), "HALF", "unloading").run
    assert run.place("lever gear", 50) == pytest.approx(53)  # the part stays 3 degrees further on
    assert run.place("hook cam", 50) == pytest.approx(53)
    assert run.place("switch", 50) == pytest.approx(50)


def test_chart_rows_are_exact():
    picture = chart(small().with_faults(slip("lever gear", -1)))
    lever = picture.followers[0]
    assert dict((name, arcs) for name, _, arcs in lever.states) == {
        "off": ((-20, pytest.approx(31)),),
        "on": ((pytest.approx(49), 120),),
    }
    half = next(row for row in picture.modes if row.name == "HALF")
    assert half.code == ((pytest.approx(45), pytest.approx(55)),)
    assert half.right == ((pytest.approx(49), pytest.approx(56)),)
    assert half.stops == (("loading", pytest.approx(48)), ("unloading", pytest.approx(52)))


def test_tables_hold_the_same_numbers():
    assert "HALF  unloading  latch" in margin_table(small())
    assert "4.0°   0.40        0.20" in margin_table(small())
    ahead, behind = interlock_table(small()).splitlines()[1:]
    assert ahead.split()[-3:] == ["4.0°", "0.40", "0.20"]
    assert behind.endswith("no limit  no limit    no limit")
    (switch, lever, hook), fixed = part_table(small()).splitlines()[1:4], part_table(small()).splitlines()[4]
    assert switch.split("  ")[-1].strip() == "10.0°" and "contacts A B" in switch
    assert hook.split() == ["hook", "cam", "hook", "lever", "gear", "24", "0.50", "30.0°"]
    assert "lever gear" in lever and fixed.endswith("latch")
    assert survival_table(small()).splitlines()[1].split() == ["switch", "1/2", "0/0", "2/0"]
    assert silent_slips(small()).count("motor pinion") == 2


def test_unknown_names_are_told():
    with pytest.raises(MechError, match="no mode is called 'PLAY'.*IN, HALF, OUT"):
        mode_margin(small(), "PLAY")
    with pytest.raises(MechError, match="no mesh is called"):
        small().with_faults(slip("gear", 1))


def test_a_cam_that_goes_round():
    # read 1 after the edge, rest 2 on; the lever is on from 138 to 302, off from 338 over the seam to 102
    came = arrival(going_round(), "REST", "loading")
    assert (came.read_deg, came.stand_deg) == (351, 353)
    assert distances(going_round(), "REST") == {("lever", "loading"): (15, 109)}
    assert distances(going_round(), "RUN") == {("lever", "loading"): (35, 129)}
    late = going_round().with_faults(slip("switch", -2))  # the edge of A comes at 370: 10 of the next turn
    assert arrival(late, "REST", "loading").stand_deg == 13


def test_a_root_stands_where_its_stage_does_not_drive_it():
    stages = [("in", -20, 60, "main cam"), ("arm", 60, 80, "arm"), ("out", 80, 120, "main cam")]
    machine = small().changed(
        roots=(*small().roots, Root("arm", 30)),
        stages=tuple(Stage(name, low, high, (to,), "gears", "nothing") for name, low, high, to in stages),
    )
    run = steady(machine, "loading")
    assert [run.place("main cam", theta) for theta in (-20, 50, 70, 80, 120)] == [-20, 50, 60, 60, 100]
    assert [run.place("arm", theta) for theta in (-20, 50, 70, 120)] == [0, 0, 10, 20]


def test_of_two_ways_to_collide_the_nearer_one_counts():
    # The hook is between from 70.2 to 73.8; the latch from 95.5 to 99.5 and again from 112.5 to 116.5.
    followers = values()["follower"]
    followers[1]["track"][1]["until"] = {"deg": 74}
    holds = (("shut", 55), ("open", 95), ("shut", 112), ("open", 130))
    track = []
    for state, until in holds:
        if track:
            start = track[-1]["until"]["deg"]
            length = 10 if start == 55 else 5
            track.append({"move_to": state, "until": {"deg": start + length}, "law": "constant velocity"})
        track.append({"hold": state, "until": {"deg": until}})
    followers[2]["track"] = track
    lock = {"name": "apart", "while": {"hook": "between"}, "must": {"latch": ["shut", "open"]}}
    (margin,) = interlock_margins(small(follower=followers, interlock=[lock]))
    assert margin.behind_deg == pytest.approx(95.5 - 73.8)


class TestAlder:
    """What the demo promises its lessons."""

    alder = load("alder")

    def test_size(self):
        assert len(self.alder.parts) >= 5 and len(self.alder.followers) >= 6
        assert len(self.alder.modes) == 8 and len(self.alder.interlocks) == 4
        assert max(len(chain) for chain in self.alder.chains.values()) == 2
        assert self.alder.invented

    def test_two_interlocks_under_two_teeth(self):
        teeth = sorted(m.margin_deg / 4.5 for m in interlock_margins(self.alder))
        assert teeth[0] > 0 and teeth[1] < 2


def test_an_end_stop_that_ends_the_room_is_named():
    """Dogwood's OUT: the holder stays out as far as the stop, two teeth of 7.5° below 0."""
    dogwood = load("dogwood")
    out = mode_margin(dogwood, "OUT")
    stands = arrival(dogwood, "OUT", "unloading").stand_deg
    assert out.ruled_by == "end stop" and out.margin_deg == pytest.approx(stands + 15)
    assert out.in_sense("unloading")[1:] == ("end stop", "below")
    assert "the end stop comes before any follower stands wrong, below" in out.sentence()
    assert margin_table(dogwood).splitlines()[1].split()[2:5] == ["end", "stop", "below"]
    assert mode_margin(dogwood, "PLAY").ruled_by == "head plate"
    assert all(margin.ruled_by == margin.follower for margin in margins(going_round()))
