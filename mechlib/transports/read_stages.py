"""The stages of a transport file, the planetary sets that their power goes through, and their motors."""

from __future__ import annotations

from mechlib.errors import MechError
from mechlib.gears import Driven, Held, PlanetarySet, efficiency, simple_set, speeds
from mechlib.transports.arcs import TINY
from mechlib.transports.hardware import Root
from mechlib.transports.model import MAIN_CAM, SENSE, HandOver, Stage
from mechlib.transports.read_gearing import TEETH
from mechlib.transports.read_motors import motor_names
from mechlib.transports.read_table import Reader, Table, named, unique_name

TOLD = 'the contact that tells, such as {contact = "IN", push_on = {deg = 6}}'
HAND_OVER = 'hand_over = {loading = {contact = "IN", push_on = {deg = 6}}}'


def read_sets(top: Table) -> dict[str, PlanetarySet | None]:
    """The planetary sets by name; None for one whose table has a mistake."""
    sets: dict[str, PlanetarySet | None] = {}
    for table in top.tables("planetary_set", "[[planetary_set]] tables", optional=True):
        name = unique_name(table, sets, "a planetary set")
        sun, planet, ring = (
            table.count(key, *TEETH, f"the {key}'s teeth") for key in ("sun", "planet", "ring")
        )
        passes = table.number("mesh_efficiency", 0.5, 1, "of each mesh with the carrier held", optional=True)
        table.done()
        made = None
        if None not in (sun, planet, ring):
            try:
                made = simple_set(sun, planet, ring, name=name or "set", mesh_efficiency=passes or 1.0)
            except MechError as error:
                table.problem("ring", str(error), "count the teeth again")
            if ring != sun + 2 * planet:
                table.problem(
                    "ring",
                    f"it is {ring}, but sun and planets need {sun + 2 * planet}",
                    "a ring has the sun's teeth and twice a planet's; count again",
                )
        if name:
            sets[name] = made
    return sets


def _path(table: Table, sets: dict[str, PlanetarySet | None]) -> dict | None:
    """The way of the power through a stage, as fields of a Stage: through a set of the file, or in words."""
    through = table.text("through", "a planetary set of this file, or the gears that the power goes through")
    if through not in sets:
        held = table.text("held", 'the member that is held, or "nothing"')
        return None if None in (through, held) else {"through": through, "held": held}
    members = sets[through].members if sets[through] else ("sun", "carrier", "ring")
    chosen = {key: table.choice(key, members) for key in ("driven", "held", "turns")}
    if None in chosen.values() or sets[through] is None:
        return None
    if len(set(chosen.values())) < 3:
        table.problem("turns", f"{chosen['turns']!r} is driven or held already", "name the third member")
        return None
    return {"through": through, **chosen, **_through_set(sets[through], **chosen)}


def _through_set(one: PlanetarySet, driven: str, held: str, turns: str) -> dict:
    """Ratio and efficiencies of a set, both ways, as fields of a Stage."""
    hold = Held(held)
    return {
        "ratio": speeds(one, [Driven(driven, 1), hold])[turns],
        "efficiency": efficiency(one, [Driven(driven, 1), hold], driven, turns).efficiency,
        "back_efficiency": efficiency(one, [Driven(turns, 1), hold], turns, driven).efficiency,
    }


def read_stages(
    reader: Reader, top: Table, drive: dict, roots: tuple[Root, ...], sets: dict[str, PlanetarySet | None]
) -> list[tuple[Stage, Table]]:
    """The stages with their tables (what they need is read once the followers are known)."""
    low, high = drive["low_deg"], drive["high_deg"]
    names, motors = [root.name for root in roots], motor_names(top)
    found: list[tuple[Stage, Table]] = []
    for table in top.tables("stage", "[[stage]] tables", optional=True):
        name = unique_name(table, {s.name for s, _ in found}, "a stage")
        start, end = table.angle("from"), table.angle("to")
        drives = table.choices("drives", names)
        path, motor = _path(table, sets), _motor(table, motors)
        if None not in (start, end) and not start < end:
            table.problem(
                "to", f"it is {end:g} degrees, not above from at {start:g}", "a stage has some length"
            )
        if drives == ():
            table.problem("drives", "it is empty", "a stage drives at least one of " + named(names))
        if None not in (name, start, end, drives, path):
            found.append((Stage(name, start, end, drives, motor=motor, **path), table))
        else:
            for key in ("needs", "solenoid", "end_contact", "hand_over"):
                table.has(key)
            table.done()
    if not found and "stage" not in top.value:
        if len(motors) > 1:
            right = "each turns stages of its own: write [[stage]] tables"
            top.problem("motor", f"there are {len(motors)}", right)
        return [_whole_travel(reader, low, high)]
    if not isinstance(top.value.get("stage", []), list):  # told already
        return found
    found.sort(key=lambda pair: pair[0].start_deg)
    if low is None:
        top.problem("stage", "a cam that goes round has one power path", "leave the stages out")
    elif reader.stops_right and len(found) == len(top.value["stage"]):
        _check_tiling(top, [stage for stage, _ in found], low, high)
    return found


def _whole_travel(reader: Reader, low: float | None, high: float | None) -> tuple[Stage, Table]:
    """The only stage of a file without stages."""
    span = (0.0, 360.0) if low is None else (low, high)
    return Stage("whole travel", *span, (MAIN_CAM,), "the gear train", "nothing"), Table(reader, "stage", {})


def _motor(table: Table, motors: list[str]) -> str | None:
    """The motor of a stage, which it names where there are several."""
    if len(motors) < 2:
        return None
    return table.choice("motor", motors)


def read_hand_overs(table: Table, stages: list[Stage], stage: Stage, contacts) -> tuple[HandOver, ...]:
    """What tells the controller that a stage is done, in each sense in which another motor's comes next."""
    at, found = stages.index(stage), []
    given = table.table("hand_over", HAND_OVER, optional=True)
    for sense, step in SENSE.items():
        after = stages[at + step] if 0 <= at + step < len(stages) else stage
        if after.motor == stage.motor:
            continue
        told = given and given.table(sense, TOLD)
        if given is None:
            right = f"in the {sense} sense the {after.motor} comes next: write {HAND_OVER}"
            table.problem("hand_over", "it is missing", right)
        elif told:
            contact, push_on = told.choice("contact", [c.name for c in contacts]), told.angle("push_on")
            told.done()
            if push_on is not None and not 0 <= push_on <= 90:
                told.problem("push_on", f"it is {push_on:g} degrees", "it pushes on by 0 to 90 degrees")
            elif None not in (contact, push_on):
                found.append(HandOver(sense, contact, push_on))
    if given:
        given.done()
    return tuple(found)


def _check_tiling(top: Table, stages: list[Stage], low: float, high: float) -> None:
    at, before = low, "the low stop"
    for stage in stages:
        if abs(stage.start_deg - at) > TINY:
            gap = "a gap" if stage.start_deg > at else "an overlap"
            top.problem(
                "stage",
                f"{gap} between {before} ({at:g} degrees) and {stage.name} ({stage.start_deg:g})",
                "each stage starts where the one before ends, from stop to stop",
            )
        at, before = stage.end_deg, stage.name
    if abs(at - high) > TINY:
        top.problem(
            "stage",
            f"{before} ends at {at:g} degrees, the travel at {high:g}",
            "the last stage ends at the high stop",
        )
