"""What a check reads: by hand on the small machines, and for every fault of the shipped ones."""

from __future__ import annotations

import tomllib

import pytest
from small_machine import driven, going_round, small

from mechlib.bench.checks import CONTACT, CURRENT, LOOK, MARK, TIME, TRY, VOLTS, Check, checks_of
from mechlib.bench.readings import labels_of, reading, scale_of
from mechlib.bench.suspects import suspects
from mechlib.errors import MechError
from mechlib.transports import (
    bent_lever,
    clip_gone,
    dead_driver,
    dirty_contact,
    hard_grease,
    load,
    low_supply,
    missing_teeth,
    open_contact,
    slip,
    split_gear,
    stiff_lever,
    weak_motor,
)
from mechlib.transports.files import DATA, transport_from


def read(machine, filed, kind, of=None, **asked):
    found = reading(machine, filed, Check(kind, of, **asked))
    return found.label, found.detail, found.number


def tried(start, target, *faults, machine=None):
    sound = machine or small()
    return read(sound.with_faults(*faults), sound, TRY, start=start, target=target)


# ---- A change asked for, on the small machine: 10 degrees a tooth, the code 10 wide, coast 2 ----


@pytest.mark.parametrize(
    ("start", "target", "faults", "expected"),
    [
        ("IN", "OUT", (), ("worked", None, None)),
        # the lever's gear a tooth behind: HALF stops at 45 + 1 + 2 = 48, the lever is on from 39 + 10 = 49 on
        ("IN", "HALF", (slip("lever gear", -1),), ("stands wrong", "lever", None)),
        # the hook three teeth (of 30 degrees) behind: up only from 89 + 90 on, so no pulses in OUT
        ("IN", "OUT", (slip("hook cam", -3),), ("reached, then powered off", None, None)),
        # without contact B the code of HALF never shows: on to the stop at 120, back to IN, and again
        ("IN", "HALF", (open_contact("B"),), ("motor held up, then powered off", None, 120.0)),
    ],
)
def test_a_change_as_the_bench_sees_it(start, target, faults, expected):
    assert tried(start, target, *faults) == expected


def test_a_false_code_after_which_the_watch_powers_off_is_seen_as_that():
    birch = load("birch")
    found = reading(
        birch.with_faults(slip("switch rotor", 1)), birch, Check(TRY, start="STOP", target="PLAY")
    )
    assert found.label == "reached, then powered off"


def test_slow_dead_and_held_up():
    sound = driven()
    slow = tried("IN", "OUT", low_supply(6), machine=sound)
    assert slow[0] == "worked, but slowly"
    assert tried("IN", "OUT", dead_driver("loading"), machine=sound)[0] == "never moved"
    held = tried("IN", "OUT", hard_grease("main cam", 100), machine=sound)
    assert held[0] == "never moved"  # 60 N·mm at the cam at most


def test_time_is_that_of_the_change():
    sound = small()
    # from 3 (0 − 1 − 2 the other way round: an arrival in the loading sense rests at −5 + 1 + 2) to the code
    # of OUT at 95 + 1, 10 degrees a second
    label, _, seconds = read(sound, sound, TIME, start="IN", target="OUT")
    assert (label, seconds) == ("reads", pytest.approx((96 + 2) / 10))


# ---- By hand and eye ----


def test_a_contact_over_the_travel():
    sound = small()
    assert read(sound, sound, CONTACT, "A") == ("closes", None, pytest.approx(20))
    dirty, dead = sound.with_faults(dirty_contact("A", 1)), sound.with_faults(open_contact("A"))
    assert read(dirty, sound, CONTACT, "A")[2] == pytest.approx(16)
    assert read(dead, sound, CONTACT, "A") == ("never closes", None, None)
    assert read(sound, sound, CONTACT, "A", mode="OUT")[0] == "closed"
    assert read(sound, sound, CONTACT, "A", mode="HALF")[0] == "open"
    slipped = sound.with_faults(slip("switch", 2))
    assert read(slipped, sound, CONTACT, "B", mode="HALF")[0] == "open"


def test_marks_in_teeth():
    sound = small()
    assert read(sound, sound, MARK, "lever gear") == ("lines up", None, None)
    slipped = sound.with_faults(slip("lever gear", -2))
    assert read(slipped, sound, MARK, "lever gear") == ("teeth off", None, pytest.approx(-2))
    assert read(slipped, sound, MARK, "hook cam")[0] == "lines up"  # its parent carries it along
    assert read(slipped, sound, MARK, "lever gear", mode="OUT")[2] == pytest.approx(-2)
    split = sound.with_faults(split_gear("lever gear", 25))
    assert read(split, sound, MARK, "lever gear")[0] == "lines up"
    off = sound.with_faults(clip_gone("hook cam", -15))  # half of its 30 degrees a tooth before 0
    assert read(off, sound, MARK, "hook cam") == ("teeth off", None, pytest.approx(-0.5))


@pytest.mark.parametrize(
    ("thing", "fault", "seen"),
    [
        ("lever", bent_lever("lever", -2), "bent"),
        ("lever", stiff_lever("lever", 2), "stiff"),
        ("hook cam", split_gear("hook cam", 4), "split"),
        ("hook cam", clip_gone("hook cam", 60), "clip gone"),
        ("hook cam", missing_teeth("hook cam", 60, 1), "teeth missing"),
        ("main cam", hard_grease("main cam", 4), "hard grease"),
    ],
)
def test_a_part_looked_at(thing, fault, seen):
    sound = driven()
    assert read(sound, sound, LOOK, thing)[0] == "as it should be"
    assert read(sound.with_faults(fault), sound, LOOK, thing)[0] == seen
    others = [check for check in checks_of(sound) if check.kind == LOOK and check.of != thing]
    assert all(reading(sound.with_faults(fault), sound, c).label == "as it should be" for c in others)


# ---- At the motor ----


def test_volts_and_current():
    sound = driven()
    assert read(sound, sound, VOLTS, sense="loading")[2] == 10
    dead = sound.with_faults(dead_driver("loading"))
    assert read(dead, sound, VOLTS, sense="loading")[2] == 0
    assert read(dead, sound, VOLTS, sense="unloading")[2] == 10
    assert read(dead, sound, CURRENT, start="IN", target="OUT")[2] == 0
    # without friction of its own T·ω0 = V·I where stalled: 2 N·mm at 600 rev/min and 10 V are 4π mA
    held = sound.with_faults(hard_grease("main cam", 100))
    assert read(held, sound, CURRENT, start="IN", target="OUT")[2] == pytest.approx(0.0125664, rel=1e-4)
    # 30 N·mm at the cam through 60 turns and half the power are 1 N·mm, half the stalled current
    dragged = sound.with_faults(hard_grease("main cam", 30))
    free = read(sound, sound, CURRENT, start="IN", target="OUT")[2]
    more = read(dragged, sound, CURRENT, start="IN", target="OUT")[2] - free
    assert more == pytest.approx(0.0125664 / 2, rel=1e-4)


def test_a_belt_that_slips_spares_the_motor_and_a_weak_motor_stalls_before_it():
    sound, jam = load("alder"), hard_grease("main cam", 5000)
    asked = {"start": "DOWN", "target": "SLOW"}
    slipping, stalling = (sound.with_faults(jam, *more) for more in ((), (weak_motor(25),)))
    drive = sound.drive  # T = k·I where nothing else rubs in the motor; V/R where it stands
    torque = drive.belt.slip_torque_driver_Nmm
    expected = torque / drive.motor.constant_Nmm_A
    assert read(slipping, sound, CURRENT, **asked)[2] == pytest.approx(expected)
    assert read(stalling, sound, CURRENT, **asked)[2] == pytest.approx(drive.motor.stall_current_A / 4)


# ---- Every fault ----


@pytest.mark.parametrize("sound", [small(), driven(), going_round(), load("birch")], ids=lambda one: one.name)
def test_every_suspect_reads_something_that_can_be_chosen(sound):
    for suspect in suspects(sound, 0)[::3]:
        machine = sound.with_faults(*suspect.faults)
        for check in checks_of(sound):
            found, scale = reading(machine, sound, check), scale_of(sound, check)
            assert found.label in labels_of(sound, check)
            if found.number is not None and check.kind != MARK:
                assert scale.low - 1e-6 <= found.number <= scale.high + 1e-6, (suspect, check)


def test_a_belt_is_told_by_what_is_wrong_with_it():
    from mechlib.transports import glazed_belt, load, slack_belt

    alder, look = load("alder"), Check("look at a part", "belt")
    for fault, label in ((None, "as it should be"), (slack_belt(3), "slack"), (glazed_belt(0.2), "glazed")):
        machine = alder.with_faults(fault) if fault else alder
        assert reading(machine, alder, look).label == label


@pytest.mark.parametrize(
    ("pair", "volts", "label"),
    [
        (("STOP", "REVIEW"), 9.0, "worked"),  # 0.28 s late of 0.64 s: below what a thumb can tell
        (("EJECT", "SLOW"), 10.0, "worked"),  # 1.21 s late of 5.05 s: less than a quarter
        (("EJECT", "SLOW"), 9.5, "worked, but slowly"),  # 1.61 s late
    ],
)
def test_slow_is_both_a_quarter_and_what_a_thumb_can_tell(pair, volts, label):
    from mechlib.transports import load, low_supply

    alder = load("alder")
    asked = Check(TRY, start=pair[0], target=pair[1])
    assert reading(alder.with_faults(low_supply(volts)), alder, asked).label == label


def test_a_motor_that_ran_drew_its_current_though_the_next_one_jams():
    """Cedar's drawer runs in as ever; what holds the drum up then is the other motor's load."""
    sound = load("cedar")
    jammed = sound.with_faults(hard_grease("main cam", 200))
    asked = {"start": "OPEN", "target": "REWIND"}
    drawer = [read(machine, sound, CURRENT, "drawer motor", **asked)[2] for machine in (sound, jammed)]
    assert drawer[1] == pytest.approx(drawer[0]) and drawer[0] > 0.05
    assert read(jammed, sound, CURRENT, "cam motor", **asked)[2] == pytest.approx(
        sound.motor_named("cam motor").motor.at(sound.motor_named("cam motor").limit_Nmm).current_A
    )


@pytest.mark.parametrize("name", ["belt cam", "belt of the arm", "solenoid"])
def test_a_gear_is_a_gear_whatever_it_is_called(name):
    """On a machine with a belt and on one without."""
    for file, part in (("dogwood", "loading gear"), ("birch", "lever cam")):
        text = (DATA / f"{file}.toml").read_text("utf-8").replace(f'"{part}"', f'"{name}"')
        sound = transport_from(tomllib.loads(text), "x.toml")
        labels = labels_of(sound, Check(LOOK, name))
        assert labels == labels_of(load(file), Check(LOOK, part))
        assert read(sound.with_faults(split_gear(name, 5)), sound, LOOK, name)[0] == "split"
    with pytest.raises(MechError, match="isn't there"):
        read(load("dogwood"), load("dogwood"), LOOK, "belt")
