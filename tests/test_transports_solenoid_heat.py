"""How warm the releasing solenoid gets, against a winding that is heated and cooled step by step."""

from __future__ import annotations

import math

import pytest
from edges import check_edges
from small_machine import going_round
from small_released import stepping, values

from mechlib import transports as tr
from mechlib.errors import MechError
from mechlib.transports.files import transport_from


def stepped(watts_cold, rth, tau, starts, on_s, period_s, air, minutes, step=0.01):
    """Time and temperature of a winding in plain steps; its watts shrink as 254.5 over 234.5 + °C."""
    on = {round(start / step) + k for start in starts for k in range(round(on_s / step))}
    now, found, beat = air, [], round(period_s / step)
    for number in range(round(60 * minutes / step)):
        watts = watts_cold * 254.5 / (234.5 + now) if number % beat in on else 0.0
        now += step / tau * (rth * watts + air - now)
        found.append(((number + 1) * step, now))
    return found


def first(curve, celsius):
    """When a curve first comes to a temperature, or None."""
    return next((at for at, now in curve if now >= celsius), None)


def small(pulls, per_minute, air, minutes=20):
    """The small machine's 10 V on 20 Ω, 30 K/W and 100 s: 5 W when cold, for 0.2 s a pull, in one go."""
    return stepped(
        5.0, 30, 100, [0.2 * number for number in range(pulls)], 0.2, 60 / per_minute, air, minutes
    )


@pytest.mark.parametrize(("target", "back"), [("HALF", 2), ("RUN", 1)])
def test_normal_use_keeps_it_cool(target, back):
    """Once round: three rests in all, whichever of them is asked for."""
    found = tr.solenoid_heat(stepping(), "REST", target, 6, 20)
    hottest = max(celsius for _, celsius in small(3, 6, 20))
    assert found.releases == tr.change(stepping(), "REST", target).releases + back == 3
    assert found.warming.peak_C == pytest.approx(hottest, abs=0.05)
    assert found.warm.winding_C == pytest.approx(hottest, abs=0.05)
    assert not found.opens and found.opening.stays_closed
    assert "stays closed" in found.sentence() and "Never bridge" not in found.sentence()
    assert found.sentence().startswith(f"REST to {target} and back 6.0 times a minute, 3 releases each")


def test_a_dirty_switch_opens_the_cut_off():
    """With B open RUN is never seen: in 49 s 20 releases, to 300°; one more brings it back."""
    broken = stepping(time_out_s=49).with_faults(tr.open_contact("B"))
    found = tr.solenoid_heat(broken, "REST", "RUN", 1, 78)
    assert found.releases == 20 + 1
    curve = small(21, 1, 78, 15)
    assert max(celsius for _, celsius in curve) == pytest.approx(found.warming.peak_C, abs=0.05)
    assert found.opening.held_until_s == pytest.approx(first(curve, 80), abs=0.1)
    assert found.opens and "Never bridge it" in found.sentence() and "same rating" in found.sentence()


def birch(per_minute, air, minutes=40):
    """Birch with B open, 12 V on 18 Ω: seven pulls in each of two runs of 3 s, then one on the way back."""
    starts = [round(3 / 7 * number, 2) for number in range(14)] + [6.0]
    return stepped(8.0, 45, 240, starts, 0.15, 60 / per_minute, air, minutes)


@pytest.mark.parametrize(("per_minute", "air"), [(7, 25), (8, 25), (9, 25), (9, 40), (8, 50)])
def test_the_verdict_holds_for_warm_copper(per_minute, air):
    """The pulls at their own times, in plain steps: the library's times and its warmth are bounds."""
    found = tr.solenoid_heat(
        tr.load("birch").with_faults(tr.open_contact("B")), "STOP", "PLAY", per_minute, air
    )
    curve = birch(per_minute, air)
    hottest = max(celsius for _, celsius in curve)
    assert found.releases == 15
    assert hottest - 0.05 <= found.opening.peak_C <= hottest + 1.2
    held, earliest, latest = (first(curve, mark) for mark in (90, 105, 115))
    assert found.opening.held_until_s <= held + 0.5 and found.opening.held_until_s == pytest.approx(
        held, rel=0.1
    )
    if earliest is None:
        assert found.opening.earliest_s is None
    else:
        assert found.opening.earliest_s <= earliest + 0.5
    assert found.opening.surely_opens == (latest is not None)
    if latest is not None:
        assert latest - 0.5 <= found.opening.latest_s <= 1.1 * latest


def test_where_it_settles_by_hand():
    """Spread evenly (θ − 25)(234.5 + θ) = 45·8·share·254.5; cold copper's power would surely open it."""
    found = tr.solenoid_heat(tr.load("birch").with_faults(tr.open_contact("B")), "STOP", "PLAY", 7)
    share = 15 * 0.15 * 7 / 60
    even = (math.sqrt(259.5**2 + 4 * 45 * 8 * share * 254.5) - 209.5) / 2
    assert found.warming.low_C[-1] < even < found.opening.peak_C == pytest.approx(even, abs=1.2)
    assert 25 + 45 * 8 * share > 115 and 90 < even < 105
    assert found.opens and not found.opening.surely_opens


def test_a_solenoid_without_current_stays_cold():
    for fault in (tr.dead_solenoid(), tr.cut_off_open()):
        found = tr.solenoid_heat(stepping().with_faults(fault), "REST", "RUN", 3, 30)
        assert (found.releases, found.warming, found.opening) == (0, None, None)
        assert not found.opens and found.warm.winding_C == 30
        assert (
            found.sentence()
            == "REST to RUN and back 3.0 times a minute: the solenoid never pulls, and stays cold."
        )


def test_without_a_cut_off():
    own = values()
    del own["solenoid"]["cut_off"]
    machine = transport_from(own, "own.toml")
    found = tr.solenoid_heat(machine, "REST", "RUN", 3)
    assert found.opening is None and not found.opens
    assert "more than it needs" in found.sentence() and "cut-off" not in found.sentence()
    assert found.warm.winding_C == tr.solenoid_heat(machine, "REST", "RUN", 3, 25).warm.winding_C
    with pytest.raises(MechError, match="gives no thermal cut-off"):
        machine.with_faults(tr.cut_off_open())


def test_what_cannot_be():
    own = values()
    del own["solenoid"]["cut_off"]
    own["drive"]["speed_deg_s"] = 10000
    own["solenoid"] |= {"release_s": 0, "on_s": 0.03}
    fast = transport_from(own, "own.toml")
    check_edges(lambda ambient: tr.solenoid_heat(fast, "REST", "RUN", 3, ambient), -40, 85)
    check_edges(lambda often: tr.solenoid_heat(fast, "REST", "RUN", often), 0.01, 600)
    tr.solenoid_heat(stepping(), "REST", "RUN", 7.99)  # 6 s there, 1.5 s back
    with pytest.raises(MechError, match="takes 7.5 s: fewer than 8.0 fit in a minute"):
        tr.solenoid_heat(stepping(), "REST", "RUN", 8)
    own["solenoid"]["on_s"] = 0.04  # three times that is longer than a tenth of a second
    with pytest.raises(MechError, match="takes 0.1 s"):
        tr.solenoid_heat(transport_from(own, "own.toml"), "REST", "RUN", 600)
    with pytest.raises(MechError, match="Round has no solenoid"):
        tr.solenoid_heat(going_round(), "REST", "RUN", 3)
    with pytest.raises(MechError, match="no mode is called"):
        tr.solenoid_heat(stepping(), "REST", "PLAY", 3)
