"""Several motors in a transport file: what is read, and what each mistake is told as."""

from __future__ import annotations

import copy
import tomllib
from importlib import resources

import pytest

from mechlib.errors import MechError
from mechlib.transports import weak_motor
from mechlib.transports.files import transport_from
from mechlib.transports.model import HandOver

CEDAR = tomllib.loads((resources.files("mechlib.transports") / "data" / "cedar.toml").read_text("utf-8"))


def told(change) -> str:
    """The message about Cedar's file after a change of it; nothing where it is right."""
    values = copy.deepcopy(CEDAR)
    change(values)
    try:
        transport_from(values, "cedar.toml")
    except MechError as error:
        return str(error)
    return ""


def test_motors_belts_and_hand_overs_are_read():
    transport = transport_from(CEDAR, "cedar.toml")
    drawer, cam = transport.motors
    assert (drawer.name, drawer.turns_per_cam_turn, drawer.belt) == ("drawer motor", 240, None)
    assert (cam.name, cam.turns_per_cam_turn, cam.belt.belt.inside_mm) == ("cam motor", 215, 83)
    assert [stage.motor for stage in transport.stages] == ["drawer motor", "cam motor"]
    assert transport.stages[0].hand_overs == (HandOver("loading", "IN", 6.0),)
    assert transport.stages[1].hand_overs == (HandOver("unloading", "H", 20.0),)
    assert transport.drive is drawer and transport.motor_of(transport.stages[1]) is cam
    assert [transport.motor_at(theta).name for theta in (-150, -12.1, -12, 222)] == (
        ["drawer motor"] * 2 + ["cam motor"] * 2
    )
    assert "the power of the drawer motor goes" in transport.stages[0].sentence()


def test_a_motor_by_its_name():
    transport = transport_from(CEDAR, "cedar.toml")
    drawer, cam = transport.motors
    assert transport.motor_named("cam motor") is cam and transport.motor_named(None) is drawer
    with pytest.raises(MechError, match="no motor is called 'tray motor': there are drawer motor, cam motor"):
        transport.motor_named("tray motor")


def test_faults_of_the_second_motor_tell_in_the_hash():
    sound = transport_from(CEDAR, "cedar.toml")
    weak = sound.with_faults(weak_motor(50, "cam motor"))
    assert hash(sound) == hash(transport_from(CEDAR, "cedar.toml")) != hash(weak)


def stage(number: int, key: str, value):
    """A change of one key of a stage; None takes it away."""

    def put(values):
        row = values["stage"][number]
        row.pop(key) if value is None else row.__setitem__(key, value)

    return put


def hand_over(**keys) -> dict:
    return {"loading": {"contact": "IN", "push_on": {"deg": 6}} | keys}


MISTAKES = {
    "a stage without a motor": (stage(0, "motor", None), '[[stage]] "drawer", key motor: it is missing'),
    "an unknown motor": (stage(0, "motor", "tray motor"), "there is no 'tray motor'"),
    "no hand-over": (
        stage(0, "hand_over", None),
        '[[stage]] "drawer", key hand_over: it is missing; in the loading sense the cam motor comes next',
    ),
    "a hand-over in the wrong sense": (
        stage(0, "hand_over", {"unloading": {"contact": "IN", "push_on": {"deg": 6}}}),
        "key hand_over, key loading: it is missing",
    ),
    "a hand-over too many": (
        stage(0, "hand_over", hand_over() | {"unloading": {}}),
        "key hand_over, key unloading: this key is not known here",
    ),
    "an unknown contact": (stage(0, "hand_over", hand_over(contact="INN")), "did you mean 'IN'?"),
    "a long push": (
        stage(0, "hand_over", hand_over(push_on={"deg": 91})), "it pushes on by 0 to 90 degrees",
    ),
    "a contact that stands": (
        stage(0, "hand_over", hand_over(contact="H")), "H sits on a part that stands in this stage",
    ),
    "told too soon": (
        stage(0, "hand_over", hand_over(push_on={"deg": 2.4})),
        "the contact of its hand-over closes too far from its end, from -12.1 to -12 degrees",
    ),
    "never told": (
        stage(0, "hand_over", hand_over(contact="OUT")),
        "the contact of its hand-over does not close where it ends",
    ),
    "two motors of one name": (
        lambda values: values["motor"][1].update(name="drawer motor"), "'drawer motor' is there already",
    ),
    "a motor without a name": (
        lambda values: values["motor"][1].pop("name"), "[[motor]] number 2, key name: it is missing",
    ),
    "a motor with a mistake": (
        lambda values: values["motor"][1].update(voltage_V=-6),
        '[[motor]] "cam motor", key voltage_V: it is -6',
    ),
    "a belt of nothing": (lambda values: values["belt"][0].pop("of"), "key of: it is missing"),
    "two belts of one motor": (
        lambda values: values["belt"].append(dict(values["belt"][0])), "the cam motor has a belt already",
    ),
    "no stages": (lambda values: values.pop("stage"), "there are 2; each turns stages of its own"),
    "no motor at all": (lambda values: values.update(motor=[]), "give a [motor] table"),
    "one table for two": (lambda values: values.update(motor=CEDAR["motor"][0]), "key belt: it is a list"),
    "no motor of a mesh": (
        lambda v: v["upstream_mesh"][3].pop("motor"),
        '[[upstream_mesh]] "cam pinion", key motor: it is missing'),
    "unknown motor of a mesh": (
        lambda v: v["upstream_mesh"][3].update(motor="can motor"), "did you mean 'cam motor'?"),
    "unknown gear of a mesh": (
        lambda v: v["upstream_mesh"][3].update(drives="main geer"), "did you mean 'main gear'?"),
}  # fmt: skip


@pytest.mark.parametrize("mistake", MISTAKES)
def test_mistakes(mistake):
    change, expected = MISTAKES[mistake]
    assert expected in told(change)


def test_a_list_of_one_motor_is_one_motor():
    """Its stages needn't name it, and it hands nothing over."""
    values = copy.deepcopy(CEDAR)
    values["motor"] = values["motor"][1:]
    for row in values["stage"]:
        del row["motor"], row["hand_over"]
    for row in values["upstream_mesh"]:
        del row["motor"]
    transport = transport_from(values, "cedar.toml")
    assert [motor.name for motor in transport.motors] == ["cam motor"] and transport.drive.belt
    assert all(not stage.hand_overs and stage.motor is None for stage in transport.stages)
