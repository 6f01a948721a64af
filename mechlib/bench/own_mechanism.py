"""What the form asks about the mechanism: the machine, its gears and its followers."""

from __future__ import annotations

from mechlib.bench.own_asked import TOP, Field, Section
from mechlib.transports.read_covers import SECURED_BY
from mechlib.transports.read_gearing import KINDS as PART_KINDS
from mechlib.transports.read_gearing import MESHES


def _access(gear: str) -> tuple[Field, ...]:
    return (
        Field("under", "lies under", "names", "covers that must come off, with commas between", more=True),
        Field(
            "lift_minutes",
            "time to lift it (minutes)",
            "number",
            f"to lift {gear} out and put it back",
            more=True,
        ),
        Field("secured_by", "secured by", "choice", "what keeps it on its shaft", SECURED_BY, more=True),
        Field("caution", "caution", "text", "what to mind when it comes off, such as a spring", more=True),
        Field("put_back", "put back with it", "text", "what goes on again: “hook the spring on”", more=True),
        Field(
            "drag_Nmm",
            "friction torque (N·mm)",
            "number",
            f"of {gear} with its shaft, if you measured it",
            more=True,
        ),
    )


MACHINE = Section(
    TOP,
    "The machine",
    "Give it a name that you will know again. Line up every mark and note in which mode the machine then is.",
    (
        Field("name", "name", "text", "your own name for it"),
        Field("about", "what it is", "text", "one sentence"),
        Field("invented", "invented", "tick", "ticked only for a machine that was made up for practice"),
        Field("reference_mode", "mode with all marks lined up", "choice", "its place counts as 0", "modes"),
    ),
)
DRIVE = Section(
    "drive",
    "Main gear and travel",
    "Count from 0, where every mark lines up. Loading counts up, unloading counts down (write a minus).",
    (
        Field(
            "main_gear_teeth", "teeth of the main gear", "number", "mark one tooth with a pen and count round"
        ),
        Field(
            "low_stop", "stop in the unloading sense", "angle", "turn back by hand until it stands; below 0"
        ),
        Field("high_stop", "stop in the loading sense", "angle", "turn on by hand until it stands"),
        Field("coast", "coasting", "angle", "how far the gear runs on after the motor is switched off"),
        Field(
            "speed_deg_s",
            "speed (°/s)",
            "number",
            "of the main cam: degrees from one mode's place to another's, over the seconds",
        ),
        Field(
            "cycle",
            "goes round (360), no stops",
            "number",
            "360 for a cam that goes round; else empty",
            more=True,
        ),
        *_access("the main gear"),
    ),
)
SHAFTS = Section(
    "hand_shaft",
    "Shafts to turn by hand",
    "A shaft that you can turn when the motor stands: the worm's, the flywheel.",
    (
        Field("name", "name", "text", "such as worm shaft"),
        Field(
            "turns_per_cam_turn",
            "turns for one turn of the cam",
            "number",
            "teeth of the wheel, over starts of the worm",
        ),
    ),
    one="shaft",
)
PARTS = Section(
    "part",
    "Timed parts",
    "Every gear, sector or rack that must be meshed on its mark. Not the gears between motor and main gear.",
    (
        Field("name", "name", "text", "such as loading gear"),
        Field("kind", "kind", "choice", "a sector is a piece of a gear, a rack a straight one", PART_KINDS),
        Field(
            "teeth",
            "teeth",
            "number",
            "of a sector: its teeth × 360 / the angle (°) they take up; of a rack: all that it has",
        ),
        Field("meshes_with", "meshes with", "choice", "the gear nearer to the motor", "parents"),
        Field("mark", "its mark", "text", "what points to what, such as: round hole to arrow"),
        Field(
            "play_teeth",
            "play (of a tooth)",
            "number",
            "how far it wobbles with the other gear held; 0.1 is usual",
        ),
        Field(
            "parent_teeth",
            "teeth of the other gear here",
            "number",
            "only if it has a second row of teeth",
            more=True,
        ),
        Field("mesh", "mesh", "choice", "internal: it runs inside a ring", tuple(MESHES), more=True),
        Field("play_part_deg", "play (° of the part)", "number", "instead of play in teeth", more=True),
        Field(
            "low_stop", "own stop, unloading", "angle", "where the part itself stops, if it does", more=True
        ),
        Field(
            "high_stop", "own stop, loading", "angle", "where the part itself stops, if it does", more=True
        ),
        Field(
            "mesh_efficiency",
            "efficiency of its mesh (no unit)",
            "number",
            "0.95 is usual for plastic gears",
            more=True,
        ),
        Field(
            "slip_torque_Nmm",
            "skips a tooth above (N·mm)",
            "number",
            "torque at the part, if you measured it",
            more=True,
        ),
        *_access("it"),
    ),
    one="part",
)
FOLLOWERS = Section(
    "follower",
    "Followers",
    "Every lever or slide that a track moves. Give readings of its lift, or else its dwells and moves.",
    (
        Field("name", "name", "text", "such as pinch lever"),
        Field("part", "its track is in", "choice", "the gear or cam that carries the groove", "holders"),
        Field("states", "places with a name", "states", "one a line: the name, then its lift in mm"),
        Field(
            "tolerance_mm", "counts as there within (mm)", "number", "how far off it may be and still work"
        ),
        Field(
            "readings",
            "readings",
            "readings",
            "one a line: where, then the lift in mm; to each stop, a tooth beyond if its gear can slip",
        ),
        Field(
            "same_within_mm",
            "a dwell within (mm)",
            "number",
            "what the caliper can't tell apart, such as 0.05",
        ),
        Field(
            "track_from",
            "or: its track starts at",
            "angle",
            "a tooth or more below the lower stop",
            more=True,
        ),
        Field(
            "track",
            "or: dwells and moves",
            "track",
            "one a line: “off until 14 teeth”, “to on until 20 teeth, cycloidal”",
            more=True,
        ),
        Field(
            "spring.at_mm", "spring: at a lift of (mm)", "number", "where you measured its force", more=True
        ),
        Field(
            "spring.force_N",
            "spring: force there (N)",
            "number",
            "above 0 if it pushes towards smaller lifts",
            more=True,
        ),
        Field(
            "spring.rate_N_mm",
            "spring: stiffness (N/mm)",
            "number",
            "how its force grows with the lift; where the spring has gone slack, it gives none",
            more=True,
        ),
        Field(
            "friction_N", "friction (N)", "number", "what it takes to move it without its spring", more=True
        ),
    ),
    one="follower",
)
