"""How warm the releasing solenoid gets, against a winding that is heated and cooled step by step."""

from __future__ import annotations

import pytest
from edges import check_edges
from small_machine import going_round
from small_released import stepping, values

from mechlib import transports as tr
from mechlib.errors import MechError
from mechlib.transports.files import transport_from


def stepped(pulses: int, per_minute: int, ambient: float, minutes: int) -> list[tuple[float, float]]:
    """Time and temperature of a winding of 30 K/W and 100 s in steps of 0.01 s: 5 W for 0.2 s a pulse."""
    period, now, found = 6000 // per_minute, 0.0, []
    for number in range(6000 * minutes):
        watts = 5.0 if number % period < 20 * pulses else 0.0
        now += 0.01 / 100 * (30 * watts - now)
        found.append(((number + 1) / 100, ambient + now))
    return found


@pytest.mark.parametrize(("target", "pulses"), [("HALF", 1), ("RUN", 2)])
def test_normal_use_keeps_it_cool(target, pulses):
    found = tr.solenoid_heat(stepping(), "REST", target, 6, 20)
    hottest = max(celsius for _, celsius in stepped(pulses, 6, 20, 20))
    assert found.releases == pulses
    assert 20 + found.heating.highest_K == pytest.approx(hottest, abs=0.05)
    assert found.warm.winding_C == pytest.approx(hottest, abs=0.05)
    assert not found.opens and found.opening.stays_closed
    assert "stays closed" in found.sentence() and "Never bridge" not in found.sentence()
    assert found.sentence().startswith(f"REST to {target} 6.0 times a minute, {pulses} release")


def test_a_dirty_switch_opens_the_cut_off():
    """With B open RUN is never seen: in 59 s the cam is released 24 times, 8 % of 5 W: 12 K on average."""
    broken = stepping(time_out_s=59).with_faults(tr.open_contact("B"))
    found = tr.solenoid_heat(broken, "REST", "RUN", 1, 78)
    assert found.releases == 24
    curve = stepped(24, 1, 78, 15)
    assert max(celsius for _, celsius in curve) == pytest.approx(78 + found.heating.highest_K, abs=0.05)
    held = next(at for at, celsius in curve if celsius > 80)
    assert found.opening.held_until_s == pytest.approx(held, abs=0.1)
    assert found.opens and "Never bridge it" in found.sentence() and "same rating" in found.sentence()


def test_a_solenoid_without_current_stays_cold():
    for fault in (tr.dead_solenoid(), tr.cut_off_open()):
        found = tr.solenoid_heat(stepping().with_faults(fault), "REST", "RUN", 3, 30)
        assert (found.releases, found.heating, found.opening) == (0, None, None)
        assert not found.opens and found.warm.winding_C == 30
        assert found.sentence() == "REST to RUN 3.0 times a minute: the solenoid never pulls, and stays cold."


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
    own["solenoid"] |= {"release_s": 0, "on_s": 0.04}
    fast = transport_from(own, "own.toml")
    check_edges(lambda ambient: tr.solenoid_heat(fast, "REST", "RUN", 3, ambient), -40, 85)
    check_edges(lambda often: tr.solenoid_heat(fast, "REST", "RUN", often), 0.01, 600)
    tr.solenoid_heat(stepping(), "REST", "RUN", 9.99)  # 6 s each
    with pytest.raises(MechError, match="takes 6.0 s: fewer than 10.0 fit in a minute"):
        tr.solenoid_heat(stepping(), "REST", "RUN", 10)
    own["solenoid"]["on_s"] = 0.06  # twice that is longer than a tenth of a second
    with pytest.raises(MechError, match="takes 0.1 s"):
        tr.solenoid_heat(transport_from(own, "own.toml"), "REST", "RUN", 600)
    with pytest.raises(MechError, match="Round has no solenoid"):
        tr.solenoid_heat(going_round(), "REST", "RUN", 3)
    with pytest.raises(MechError, match="no mode is called"):
        tr.solenoid_heat(stepping(), "REST", "PLAY", 3)
