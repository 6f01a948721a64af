"""The form for a transport's file: its pages, what is asked on each, and how to find it at the bench.

A form holds the nested values of a file as they are; a field is one place in them.  What the form doesn't ask
for stays where it is.
"""

from __future__ import annotations

from mechlib.bench.own_asked import Field, Page, Section
from mechlib.bench.own_mechanism import DRIVE, FOLLOWERS, MACHINE, PARTS, SHAFTS
from mechlib.drives.belt_grip import KINDS as BELT_KINDS
from mechlib.transports.hardware import BETWEEN_GEAR
from mechlib.transports.model import MAIN_GEAR, SENSE

SWITCH = Section(
    "mode_switch",
    "Mode switch",
    "The switch that tells the controller where the cam stands.",
    (
        Field("part", "its rotor sits on", "choice", "the timed part that turns it", "holders"),
        Field(
            "settle", "a code counts after", "angle", "how long it must stand; 0.1 teeth if you don't know"
        ),
    ),
)
CONTACTS = Section(
    "contact",
    "Contacts",
    "Plug out, meter on ohms. Turn in the loading sense; note where each contact closes and opens.",
    (
        Field("name", "name", "text", "a letter, or the number of its pin"),
        Field("closed", "closed", "arcs", "one a line: from where to where"),
        Field(
            "part",
            "sits on another part",
            "choice",
            "only if it isn't in the mode switch",
            "holders",
            more=True,
        ),
    ),
    one="contact",
)
MODES = Section(
    "mode",
    "Modes",
    "For each mode: which contacts are closed there, and where the followers that matter must stand.",
    (
        Field("name", "name", "text", "such as PLAY"),
        Field("code", "contacts closed", "codes", "all the others are open", "contacts"),
        Field(
            "needs",
            "must stand",
            "needs",
            "for one follower at least; the others may stay at “doesn't matter”",
        ),
    ),
    one="mode",
)
INTERLOCKS = Section(
    "interlock",
    "Interlocks",
    "Two followers that can run into one another. While the one stands so, the other must stand so.",
    (
        Field("name", "name", "text", "such as head and holder"),
        Field("while", "while", "need", "the one"),
        Field("must", "there must be", "need", "the other"),
    ),
    one="interlock",
)
CONTROLLER = Section(
    "controller",
    "Controller",
    "What the electronics do. It can't be seen: watch the machine, and time it.",
    (
        Field("order", "modes in order", "names", "along the travel, with commas between"),
        Field(
            "time_out_s",
            "time-out (s)",
            "number",
            "for how long it tries before it gives up; 5 to 10 is usual",
        ),
        Field(
            "home.sense",
            "lost: it turns",
            "choice",
            "which way, when it reads no code that it knows",
            tuple(SENSE),
        ),
        Field("home.mode", "lost: until", "choice", "the mode for which it looks", "modes"),
        Field(
            "retry.sense",
            "failed: it turns",
            "choice",
            "which way, for another try; empty if there is none",
            tuple(SENSE),
            more=True,
        ),
        Field(
            "retry.mode", "failed: until", "choice", "the mode from which it tries again", "modes", more=True
        ),
        Field("retry.times", "number of tries more", "number", "how often", more=True),
    ),
)
MOTOR = Section(
    "motor",
    "Motor (leave it out if you don't know it)",
    "With the motor the speed follows: then leave the speed on the page “machine” empty.",
    (
        Field("voltage_V", "voltage (V)", "number", "at its terminals while it runs"),
        Field("no_load_rev_min", "speed without load (rev/min)", "number", "belt off, at that voltage"),
        Field(
            "stall_torque_Nmm",
            "torque held still (N·mm)",
            "number",
            "at that voltage: lever and spring balance",
        ),
        Field("turns_per_cam_turn", "turns for one turn of the cam", "number", "belt and all gears"),
        Field(
            "train_efficiency",
            "efficiency of the train (no unit)",
            "number",
            "0.3 to 0.4 with a worm, 0.8 without",
        ),
        Field(
            "back_efficiency", "driven back (no unit)", "number", "0 behind a worm that can't be turned back"
        ),
        Field("friction_Nmm", "friction torque (N·mm)", "number", "of the bare train, at the motor"),
    ),
)
BELT = Section(
    "belt",
    "Belt (leave it out if there is none)",
    "As it lies on the table, and the pulleys under it.",
    (
        Field("kind", "kind", "choice", "the shape of its cut", BELT_KINDS),
        Field("inside_mm", "length inside (mm)", "number", "round its inside, unstretched"),
        Field("thickness_mm", "thickness (mm)", "number", "with a caliper, without squeezing"),
        Field("width_mm", "width (mm)", "number", "with a caliper"),
        Field("modulus_MPa", "modulus (MPa, N/mm²)", "number", "5 is usual for rubber"),
        Field("friction", "friction (no unit)", "number", "0.7 is usual for clean rubber"),
        Field("driver_mm", "pulley at the motor (mm)", "number", "across, under the belt"),
        Field("driven_mm", "other pulley (mm)", "number", "across, under the belt"),
        Field("centres_mm", "between their centres (mm)", "number", "middle to middle"),
    ),
)
UPSTREAM = Section(
    "upstream_mesh",
    "Gears between motor and main gear (may be left out)",
    "Each pair of gears on the way. A tooth out there changes nothing, another number of teeth does.",
    (
        Field("name", "name", "text", "such as worm wheel or cam pinion"),
        Field("driver_teeth", "teeth of the one that drives", "number", "of a worm: its starts, mostly 1"),
        Field("driven_teeth", "teeth of the driven one", "number", "mark one tooth with a pen and count"),
        Field(
            "drives",
            "the driven one is",
            "choice",
            "the main gear only if these teeth are its own",
            (MAIN_GEAR, BETWEEN_GEAR),
        ),
        Field("motor", "in the train of", "text", "only with several motors: the motor's name", more=True),
    ),
    one="mesh",
)
COVERS = Section(
    "cover",
    "Covers",
    "What must come off before a gear can be reached. All of it may be left out.",
    (
        Field("name", "name", "text", "such as bottom plate"),
        Field("minutes", "time (minutes)", "number", "to take it off and put it back"),
        Field("off_first", "off before it", "names", "other covers, with commas between"),
        Field("holds", "holds in place", "text", "such as the ends of two shafts; it then comes off last"),
    ),
    one="cover",
)
PAGES = (
    Page("machine", (MACHINE, DRIVE, SHAFTS)),
    Page("parts", (PARTS,)),
    Page("followers", (FOLLOWERS,)),
    Page("contacts", (SWITCH, CONTACTS)),
    Page("modes", (MODES,)),
    Page("interlocks", (INTERLOCKS,)),
    Page("controller", (CONTROLLER,)),
    Page("motor", (MOTOR, BELT, UPSTREAM)),
    Page("covers", (COVERS,)),
)
SECTIONS = {section.table: section for page in PAGES for section in page.sections}
