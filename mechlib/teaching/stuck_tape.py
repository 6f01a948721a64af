"""Five exercises on getting a stuck tape out by hand, rising from turns of a shaft to what moves first.

Machines and numbers are invented.  Angles are degrees of the main cam, lengths mm, forces N.
"""

from __future__ import annotations

from itertools import permutations
from math import pi

from mechlib.say import MINUS, say
from mechlib.teaching.exercises import Exercise, Number, OneOf, Slip

SNAPS, STAYS = "it snaps over", "it stays where it is"
OTHER = {SNAPS: STAYS, STAYS: SNAPS}
LEVERS = ("the brake lever", "the pinch lever", "the idler lever")

TURNS_TO_GO = Exercise(
    title="How many turns?",
    question="A machine has stopped with its main cam at {start}°. Its tape is out where the cam stands at "
    "{out_said}°. The worm shaft makes {ratio} turns for one turn of the main cam. How many turns of the "
    "worm shaft is the way? Answer to one decimal.",
    numbers={
        "start": range(120, 261),
        "out": range(20, 116),
        "ratio": range(60, 121, 4),
        "out_said": lambda n: f"{MINUS}{n.out}",
    },
    fields=(Number("Turns", "turns", 0.06, 0, 4999),),
    right=lambda n: n.ratio * (n.start + n.out) / 360,
    slips=(
        Slip(
            "sign lost",
            lambda n: n.ratio * (n.start - n.out) / 360,
            "you lost the minus sign. From one side of nought to the other, is it the sum or the difference?",
        ),
        Slip(
            "to nought only",
            lambda n: n.ratio * n.start / 360,
            "you stopped at nought. Where is the tape out?",
        ),
        Slip(
            "turns of the cam",
            lambda n: (n.start + n.out) / 360,
            "so much of a turn the main cam makes. How often does the shaft turn for that?",
        ),
        Slip(
            "ratio upside down",
            lambda n: (n.start + n.out) / n.ratio,
            "you divided by the ratio. Does the shaft turn more often than the cam, or less?",
        ),
    ),
    hints=(
        "How many degrees is the way of the main cam? Mind the sign.",
        "What part of a whole turn of the cam is that?",
        "For a whole turn of the cam you know the turns of the shaft.",
    ),
    because="The way in degrees, over 360, times the turns of the shaft for one turn of the cam.",
)

WHERE_IT_STANDS = Exercise(
    title="Where does the cam stand?",
    question="On the chart, drawn for the loading sense, a lever is in its middle place from {low}° to "
    "{high}°, and a contact of the mode switch is closed from {first}° to {last}°. The lever's gear has "
    "play: after the machine has turned back, everything at the lever comes {play_said}° lower. You see the "
    "lever in its middle place and measure the contact closed, but nobody knows which way the machine came. "
    "From which angle to which can the cam stand? Answer to one decimal.",
    numbers={
        "first": range(60, 181),
        "gap": range(5, 16),
        "common": range(5, 16),
        "more": range(8, 26),
        "tenths": range(6, 25),
        "low": lambda n: n.first + n.gap,
        "last": lambda n: n.low + n.common,
        "high": lambda n: n.last + n.more,
        "play": lambda n: n.tenths / 10,
        "play_said": lambda n: say(n.play),
    },
    fields=(Number("From", "°", 0.06, -900, 900), Number("To", "°", 0.06, -900, 900)),
    right=lambda n: (n.low - n.play, n.last),
    slips=(
        Slip(
            "play forgotten",
            lambda n: (n.low, n.last),
            "that holds if the machine came in the loading sense. What if it came back?",
        ),
        Slip(
            "play the wrong way",
            lambda n: (n.low + n.play, n.last),
            "you moved the lever's edge up. After turning back, do its events come higher or lower?",
        ),
        Slip(
            "lever alone",
            lambda n: (n.low - n.play, n.high),
            "there the lever is right, but not everywhere the contact is. Both were seen.",
        ),
        Slip(
            "contact alone",
            lambda n: (n.first, n.last),
            "there the contact is closed, but not everywhere the lever stands so. Both were seen.",
        ),
        Slip(
            "either of the two",
            lambda n: (n.first, n.high),
            "there one or the other is true. You saw both at once.",
        ),
    ),
    hints=(
        "Draw the two bars under one another. Where is there a bar in both rows?",
        "The lever's bar may lie a little lower, or not. Which of its places must you allow for?",
        "Only one of the two edges that you look for belongs to the lever.",
    ),
    because="What both bars have in common; the lever's lower edge may lie lower by the play.",
)


SLACK = Exercise(
    title="How much slack to wind in?",
    question="On the way out the loading arms go from {full} mm of lift to {left} mm. For each mm of lift "
    "they had drawn {per_said} mm of tape out of the cassette. The tape on the reel that winds it in is "
    "{wide} mm across. How many turns of that reel take the slack up? Answer to two decimals.",
    numbers={
        "full": range(60, 91),
        "left": range(8, 41),
        "tenths": range(16, 26),
        "wide": range(28, 77, 2),
        "per": lambda n: n.tenths / 10,
        "per_said": lambda n: say(n.per),
    },
    fields=(Number("Turns", "turns", 0.006, 0, 4999),),
    right=lambda n: n.per * (n.full - n.left) / (pi * n.wide),
    slips=(
        Slip(
            "lift for tape",
            lambda n: (n.full - n.left) / (pi * n.wide),
            "you wound in the lift of the arms. How much tape hangs on each mm of it?",
        ),
        Slip(
            "all the lift",
            lambda n: n.per * n.full / (pi * n.wide),
            "you let the arms go all the way home. How far do they go here?",
        ),
        Slip(
            "diameter for radius",
            lambda n: n.per * (n.full - n.left) / (2 * pi * n.wide),
            "you took the width across for the radius. What was measured?",
        ),
        Slip(
            "round by its width",
            lambda n: n.per * (n.full - n.left) / n.wide,
            "you took the width for the way round. One turn takes up more than the width.",
        ),
    ),
    hints=(
        "How far do the arms go, and how much tape comes loose for each mm?",
        "How much tape does one turn take up? It goes once round the pack.",
        "The way round a circle is a little more than three times its width.",
    ),
    because="The tape that comes loose, over the way once round the pack.",
)

WHICH_SNAPS = Exercise(
    title="What does the lever do?",
    question="A lever stands {lift_said} mm up on its cam. Its spring pushes it down, with {idle_said} N "
    "when it is all the way down, and {rate_said} N more for each mm of lift. To move it at all takes "
    "{friction_said} N, for friction. You lift its gear off. How hard does the spring push at that "
    "moment, to one decimal, and what does the lever do?",
    numbers={
        "lift_half": range(5, 18),
        "idle_tenths": range(6, 31),
        "rate_tenths": range(2, 10),
        "factor": (0.3, 0.5, 0.7, 1.4, 1.7, 2.0),  # never near the edge
        "lift": lambda n: n.lift_half / 2,
        "idle": lambda n: n.idle_tenths / 10,
        "rate": lambda n: n.rate_tenths / 10,
        "force": lambda n: n.idle + n.rate * n.lift,
        "friction": lambda n: round(n.force * n.factor, 1),
        "verdict": lambda n: SNAPS if n.force > n.friction else STAYS,
        "lift_said": lambda n: say(n.lift),
        "idle_said": lambda n: say(n.idle),
        "rate_said": lambda n: say(n.rate),
        "friction_said": lambda n: say(n.friction),
    },
    fields=(Number("Force", "N", 0.06, -900, 900), OneOf("The lever", (SNAPS, STAYS))),
    right=lambda n: (n.force, n.verdict),
    slips=(
        Slip(
            "lift forgotten",
            lambda n: (n.idle, None),
            "so hard it pushes when the lever is all the way down. Is it?",
        ),
        Slip(
            "first force forgotten",
            lambda n: (n.rate * n.lift, None),
            "that is what the lift adds. What does the spring push with when the lever is down?",
        ),
        Slip(
            "rate for each lift",
            lambda n: (n.idle + n.rate, None),
            "you added the rate once. For how many mm does it count?",
        ),
        Slip(
            "friction taken off",
            lambda n: (n.force - n.friction, None),
            "you took the friction off. How hard does the spring itself push? Set the friction beside that.",
        ),
        Slip(
            "verdict against the force",
            lambda n: (n.force, OTHER[n.verdict]),
            "the force is right, but the lever does the other thing. Set the force beside the friction.",
        ),
    ),
    hints=(
        "The spring is stretched already when the lever is down.",
        "How much does the lift add? So much for each mm.",
        "A lever moves by itself if what pushes it is more than what holds it.",
    ),
    because="First force and rate times lift; it moves by itself where that is more than the friction.",
)

FIRST_TO_MOVE = Exercise(
    title="What moves first?",
    question="The main cam stands at {start}°, and you turn it back, in the unloading sense. By the chart "
    "{near_name} moves between {near_low}° and {near_high}°, {far_name} between {far_low}° and {far_high}°, "
    "{above_name} between {above_low}° and {above_high}°. The worm shaft makes {ratio} turns for one turn of "
    "the cam. After how many turns, to one decimal, does something move, and what is it?",
    numbers={
        "start": range(120, 201),
        "order": tuple(permutations(LEVERS)),
        "to_near": range(12, 31),
        "apart": range(6, 15),
        "short": range(8, 13),
        "further": range(5, 16),
        "to_above": range(4, 10),
        "long_above": range(12, 31),
        "ratio": range(72, 121, 4),
        "near_name": lambda n: n.order[0],
        "far_name": lambda n: n.order[1],
        "above_name": lambda n: n.order[2],
        "near_high": lambda n: n.start - n.to_near,
        "far_high": lambda n: n.near_high - n.apart,
        "far_low": lambda n: n.far_high - n.short,
        "near_low": lambda n: n.far_low - n.further,
        "above_low": lambda n: n.start + n.to_above,
        "above_high": lambda n: n.above_low + n.long_above,
    },
    fields=(Number("Turns", "turns", 0.06, 0, 4999), OneOf("First to move", LEVERS)),
    right=lambda n: (n.ratio * n.to_near / 360, n.near_name),
    slips=(
        Slip(
            "loading sense",
            lambda n: (n.ratio * n.to_above / 360, n.above_name),
            "that is what comes first in the loading sense. Which way do you turn?",
        ),
        Slip(
            "lower ends",
            lambda n: (n.ratio * (n.start - n.far_low) / 360, n.far_name),
            "you went by the lower ends. Coming from above, at which end do you enter a move?",
        ),
        Slip(
            "where it ends",
            lambda n: (n.ratio * (n.start - n.near_low) / 360, None),
            "after so many turns that move is over. When does it begin?",
        ),
        Slip(
            "turns of the cam",
            lambda n: (n.to_near / 360, None),
            "so much of a turn the main cam makes. How often does the shaft turn for that?",
        ),
        Slip(
            "counted from nought",
            lambda n: (n.ratio * n.near_high / 360, None),
            "you counted from nought. Where does the cam stand now?",
        ),
    ),
    hints=(
        "Draw the three bars over the angle, and the place of the cam. Which bars lie on your way?",
        "Coming from larger angles you meet the upper end of each bar.",
        "The degrees to there, as part of a whole turn of the cam; then the turns of the shaft.",
    ),
    because="In the unloading sense a move begins at its upper end; the nearest one below comes first.",
)

STUCK_TAPE = (TURNS_TO_GO, WHERE_IT_STANDS, SLACK, WHICH_SNAPS, FIRST_TO_MOVE)
