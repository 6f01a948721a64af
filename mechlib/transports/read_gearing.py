"""The gearing of a transport file: drive, hand shafts, outputs, timed parts, upstream meshes.

Every reader goes on after a mistake with what it could read, so that all mistakes are told at once;
nothing is built of a file that has any.
"""

from __future__ import annotations

from dataclasses import replace

from mechlib.transports.arcs import TINY
from mechlib.transports.hardware import BETWEEN_GEAR, Cover, HandShaft, Root, UpstreamMesh
from mechlib.transports.model import MAIN_CAM, MAIN_GEAR, Part
from mechlib.transports.read_covers import read_access
from mechlib.transports.read_forces import read_drag, read_mesh
from mechlib.transports.read_motors import motor_names, read_motors
from mechlib.transports.read_release import read_release
from mechlib.transports.read_table import Reader, Table, suggestion, unique_name

KINDS = ("gear", "sector", "rack")
MESHES = {"external": -1.0, "internal": 1.0}
TEETH = (4, 2000)
MOST_PLAY = 0.5  # of a tooth: with more, a tooth and its gap would hardly hold one another


def read_drive(reader: Reader, top: Table, covers: tuple[Cover, ...]) -> tuple[dict, dict]:
    """The fields of [drive], those of its gear, and the hand shafts, in which every angle may be given."""
    drive = top.table(
        "drive", "a [drive] table with main_gear_teeth, low_stop, high_stop and coast"
    ) or Table(Reader(reader.file), "drive", {})
    reader.main_teeth = drive.count("main_gear_teeth", *TEETH, "the main gear's teeth")
    for table in top.tables("hand_shaft", "[[hand_shaft]] tables", optional=True):
        name = unique_name(table, reader.shafts, "a hand shaft")
        turns = table.number("turns_per_cam_turn", 1e-3, 1e5, "turns of it for one turn of the main cam")
        if name:
            reader.shafts[name] = turns or 1.0
        table.done()
    fields = {"low_deg": None, "high_deg": None}
    if drive.has("cycle"):
        cycle = drive.number("cycle", 360, 360, "degrees: one turn of a cam that goes round")
        if cycle and (drive.has("low_stop") or drive.has("high_stop")):
            drive.problem("cycle", "the cam cannot both go round and have end stops", "keep one of them")
    else:
        fields = {"low_deg": drive.angle("low_stop"), "high_deg": drive.angle("high_stop")}
        reader.stops_right = _check_stops(drive, fields)
    fields["release"] = read_release(top, drive, reader.main_teeth)
    fields["coast_deg"] = _coast(drive, "part_toothed" in top.value)
    fields["motors"] = read_motors(top)
    fields["speed_deg_s"] = _speed(drive, "motor" in top.value)
    main_gear = {"access": read_access(drive, covers), "drag_Nmm": read_drag(drive)}
    drive.done()
    return fields, main_gear


def _coast(drive: Table, released: bool) -> float | None:
    """The coasting angle; none where a latch holds the cam."""
    if released:
        return 0.0
    coast = drive.angle("coast")
    if coast is not None and not 0 <= coast <= 90:
        drive.problem("coast", f"it is {coast:g} degrees", "the cam coasts by 0 to 90 degrees")
    return coast


def _speed(drive: Table, motor: bool) -> float | None:
    """The measured speed; None where the file gives the motor, from which it follows."""
    what = "degrees of the main cam a second"
    speed = drive.number("speed_deg_s", 0.01, 1e4, what, optional=motor)
    if motor and speed is not None:
        drive.problem("speed_deg_s", "the speed follows from the motor", "leave speed_deg_s or [motor] out")
    return speed


def _check_stops(drive: Table, fields: dict) -> bool:
    """True if both end stops can be relied on; otherwise they are set to something to go on reading with."""
    low, high = fields["low_deg"], fields["high_deg"]
    if low is None or high is None:
        fields["low_deg"], fields["high_deg"] = -180.0, 180.0
        return False
    if low > 0:
        right = "unloading counts down from 0, where every mark lines up: put a minus before it"
        drive.problem("low_stop", f"it is {low:g} degrees, above 0", right)
    if high < 0:
        right = "loading counts up from 0, where every mark lines up: leave the minus out"
        drive.problem("high_stop", f"it is {high:g} degrees, below 0", right)
    elif low == high == 0:
        drive.problem("high_stop", "it is 0, as low_stop is", "loading counts up from 0 to this stop")
    return low < high


def hand_shafts(reader: Reader) -> tuple[HandShaft, ...]:
    """The hand shafts read so far."""
    return tuple(HandShaft(name, turns) for name, turns in reader.shafts.items())


def read_outputs(reader: Reader, top: Table, covers: tuple[Cover, ...], main_gear: dict) -> tuple[Root, ...]:
    """The main cam's gear first, then every [[output]] of the power path."""
    roots = [Root(MAIN_CAM, reader.main_teeth or 60, **main_gear)]
    for table in top.tables("output", "[[output]] tables", optional=True):
        name = unique_name(table, {r.name for r in roots} | {MAIN_GEAR}, "an output")
        teeth = table.count("teeth", *TEETH, "its teeth")
        speed = table.number(
            "speed", -1e3, 1e3, "(its speed over the main cam's, negative in the other sense)"
        )
        if speed == 0:
            table.problem("speed", "it is 0", "an output turns, one way or the other")
        access, drag = read_access(table, covers), read_drag(table)
        table.done()
        if name:
            roots.append(Root(name, teeth or 60, speed or 1.0, access, drag))
    return tuple(roots)


def read_parts(
    reader: Reader, top: Table, roots: tuple[Root, ...], cyclic: bool, covers: tuple[Cover, ...]
) -> tuple[tuple[Part, ...], tuple[UpstreamMesh, ...]]:
    """The timed parts, parents first, and the meshes upstream of the main gear."""
    upstream = _read_upstream(top, roots)
    taken = {root.name for root in roots} | {MAIN_GEAR} | {u.name for u in upstream}
    drafts: dict[str, tuple[Part, Table]] = {}
    for table in top.tables("part", "[[part]] tables", optional=True):
        name = unique_name(table, taken | set(drafts), "a timed part")
        reached = read_access(table, covers)
        draft = replace(_draft(table, name or "", cyclic), access=reached, **read_mesh(table))
        if name:
            drafts[name] = (draft, table)
    return _hung(drafts, roots, cyclic), tuple(upstream)


def _read_upstream(top: Table, roots: tuple[Root, ...]) -> list[UpstreamMesh]:
    """The meshes upstream of the main gear, each in the train of one motor."""
    upstream: list[UpstreamMesh] = []
    motors, driven_gears = motor_names(top), (MAIN_GEAR, *(root.name for root in roots[1:]), BETWEEN_GEAR)
    for table in top.tables("upstream_mesh", "[[upstream_mesh]] tables", optional=True):
        name = unique_name(table, {u.name for u in upstream}, "an upstream mesh")
        driver = table.count("driver_teeth", 1, 2000, "the driving gear's teeth (starts, for a worm)")
        driven = table.count("driven_teeth", *TEETH, "the driven gear's teeth")
        drives = table.choice("drives", driven_gears, optional=True) or ""
        motor = table.choice("motor", motors) if len(motors) > 1 else None
        table.done()
        if name:
            upstream.append(UpstreamMesh(name, driver or 10, driven or 10, _parent_name(drives), motor))
    return upstream


def _draft(table: Table, name: str, cyclic: bool) -> Part:
    """A part as its table has it, with its speed still to be worked out (1.0 for now, sign of its mesh)."""
    kind = table.choice("kind", KINDS) or "gear"
    teeth = table.count("teeth", *TEETH, "its teeth")
    parent = table.text("meshes_with", 'the gear that it meshes with, such as "main gear"') or MAIN_GEAR
    parent_teeth = table.count("parent_teeth", *TEETH, "the parent's teeth at this mesh", optional=True) or 0
    mesh = table.choice("mesh", tuple(MESHES), optional=True) or "external"
    mark = table.text("mark", "where its mark is and what it must point to")
    low, high = table.angle("low_stop", optional=True), table.angle("high_stop", optional=True)
    if low is not None and high is not None and not low < high:
        table.problem("high_stop", "it is not above low_stop", "a part's place rises in the loading sense")
    if cyclic and (kind != "gear" or low is not None or high is not None):
        table.problem(
            "kind",
            "a sector, a rack or a part with stops cannot go round",
            'a part of a cam that goes round is a whole "gear"',
        )
    return Part(name, kind, teeth or 40, parent, parent_teeth, 1.0, MESHES[mesh], mark or "", 0.0, low, high)


def _hung(drafts: dict[str, tuple[Part, Table]], roots: tuple[Root, ...], cyclic: bool) -> tuple[Part, ...]:
    """Hang every part on its parent, parents first, and work out speeds and play."""
    hung: dict[str, Part] = {}
    known: dict[str, tuple[int, float]] = {root.name: (root.teeth, root.speed) for root in roots}
    waiting = dict(drafts)
    while waiting:
        ready = [n for n, (part, _) in waiting.items() if _parent_name(part.parent) in known]
        for name in ready or list(waiting):
            part, table = waiting.pop(name)
            parent = _parent_name(part.parent)
            if not ready:
                _report_parent(table, part, parent, drafts, roots)
                parent = MAIN_CAM
            parent_teeth, parent_speed = known[parent]
            teeth = part.parent_teeth or parent_teeth
            speed = part.speed * parent_speed * teeth / part.teeth
            part = replace(part, parent=parent, parent_teeth=teeth, parent_speed=parent_speed, speed=speed)
            hung[name] = replace(part, play_deg=_play(table, part))
            known[name] = (part.teeth, speed)
            if cyclic and abs(abs(speed) - round(abs(speed))) > 1e-9:
                table.problem(
                    "teeth",
                    f"it makes {abs(speed):g} turns for one of the main cam",
                    "with a cam that goes round it must make a whole number",
                )
            table.done()
    return tuple(hung.values())


def _parent_name(written: str) -> str:
    return MAIN_CAM if written == MAIN_GEAR else written


def _report_parent(table: Table, part: Part, parent: str, drafts: dict, roots: tuple[Root, ...]) -> None:
    if parent in drafts:
        table.problem(
            "meshes_with",
            f"{part.name} and {parent} hang on one another in a ring",
            "each part hangs, step by step, on the main gear or another output",
        )
    else:
        options = [MAIN_GEAR, *(root.name for root in roots[1:]), *(n for n in drafts if n != part.name)]
        table.problem("meshes_with", f"there is no {part.parent[:60]!r}", suggestion(part.parent, options))


def _play(table: Table, part: Part) -> float:
    """Play at the part in degrees of the main cam, given in degrees of the part or in teeth of the mesh."""
    if table.has("play_part_deg") and table.has("play_teeth"):
        table.problem("play_teeth", "play is given twice", "give play_part_deg or play_teeth")
    if table.has("play_part_deg") and part.kind == "rack":
        table.problem("play_part_deg", "a rack does not turn", "give its play as play_teeth")
    by_deg = table.number("play_part_deg", 0, 90, "degrees of the part", optional=True) or 0.0
    in_teeth = by_deg / abs(part.speed) / part.pitch_deg
    if in_teeth > MOST_PLAY + TINY:
        what = f"it comes to {in_teeth:.2g} of a tooth of this mesh"
        table.problem("play_part_deg", what, f"it must be {MOST_PLAY:g} of a tooth or less")
    by_teeth = table.number("play_teeth", 0, MOST_PLAY, "of a tooth of this mesh", optional=True) or 0.0
    return by_deg / abs(part.speed) + by_teeth * part.pitch_deg
