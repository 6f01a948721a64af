"""A one-shot thermal cut-off in a solenoid's winding: whether and when repeated firing opens it.

Terms of IEC 60691: rated functioning temperature Tf, at which it opens, with a tolerance of +0/−10 K;
holding temperature Th, up to which it stays closed however long; maximum temperature limit Tm, up to which
it stays open once it has opened.  It opens once and for all.  It is taken to be as hot as the winding
around it; one that is fixed outside lags behind and opens later.
"""

from __future__ import annotations

from dataclasses import dataclass

from mechlib.drives.heating import RepeatedHeating
from mechlib.errors import MechError, check_number
from mechlib.say import listing, say

RATED_C = (40.0, 400.0)
TOLERANCE_K = (0.0, 10.0)
AMBIENT_C = (-40.0, 150.0)

ADVICE = (
    "An open thermal cut-off has done its work: something made the winding too hot. "
    "Find and mend that cause first: a dirty mode switch that makes the solenoid fire again and again, "
    "a plunger that sticks, a driver that doesn't switch off. "
    "Then fit a new cut-off of the same rating (functioning temperature, current and voltage), "
    "in the same place. "
    "Never bridge it, not even for a trial: without it the next fault can set the machine on fire. "
    "Where it is in a mains circuit the work is for qualified people, by the local rules; unplug the "
    "machine, and let capacitors discharge and the winding cool before touching either."
)


@dataclass(frozen=True)
class CutOff:
    """A thermal cut-off by what is printed on it or in its data.

    ``rated_C``: functioning temperature Tf, 40 to 400 °C; ``holding_C``: Th, 0 °C to below Tf; ``limit_C``:
    Tm, above Tf, up to 1000 °C; ``tolerance_K``: by how much it may open below Tf, 0 to 10 K.  Raises
    MechError otherwise.

    >>> CutOff(115, 90, 200).sentence()
    'It holds up to 90.0 °C, opens between 105.0 and 115.0 °C, and must not see more than 200.0 °C.'
    """

    rated_C: float
    holding_C: float
    limit_C: float
    tolerance_K: float = 10.0

    def __post_init__(self):
        check_number("rated_C", self.rated_C, *RATED_C, "°C")
        check_number("holding_C", self.holding_C, 0, RATED_C[1], "°C")
        check_number("limit_C", self.limit_C, RATED_C[0], 1000, "°C")
        check_number("tolerance_K", self.tolerance_K, *TOLERANCE_K, "K")
        if not self.holding_C < self.rated_C < self.limit_C:
            given = listing(f"{mark:g}" for mark in (self.holding_C, self.rated_C, self.limit_C))
            raise MechError(f"holding_C, rated_C and limit_C are {given} °C", "they must rise in this order")

    @property
    def earliest_C(self) -> float:
        """The lowest temperature at which it may open at once: Tf less the tolerance, never below Th."""
        return max(self.holding_C, self.rated_C - self.tolerance_K)

    def sentence(self) -> str:
        """Its temperatures."""
        opens = f"opens between {say(self.earliest_C)} and {say(self.rated_C, '°C')}"
        most = say(self.limit_C, "°C")
        return f"It holds up to {say(self.holding_C, '°C')}, {opens}, and must not see more than {most}."


@dataclass(frozen=True)
class Opening:
    """When a cut-off opens, in s from the start; each is None if its temperature is never passed.

    ``held_until_s``: Th is passed, until then it surely holds; ``earliest_s``: Tf less the tolerance is
    reached; ``latest_s``: Tf is reached, by then it has opened.  ``peak_C``: what the winding would come
    to.  All this is as sure as the heat that was reckoned with: with the power of cold copper, of which a
    warm winding on a constant voltage takes less, times are too short and "opens" may be said too soon.
    """

    cut_off: CutOff
    held_until_s: float | None
    earliest_s: float | None
    latest_s: float | None
    peak_C: float

    @property
    def stays_closed(self) -> bool:
        """Whether the winding never passes the holding temperature."""
        return self.held_until_s is None

    @property
    def surely_opens(self) -> bool:
        """Whether the winding, with the heat reckoned with, reaches the functioning temperature."""
        return self.latest_s is not None

    @property
    def passes_limit(self) -> bool:
        """Whether the winding would pass Tm if opening didn't stop the heat."""
        return self.peak_C > self.cut_off.limit_C

    def sentence(self) -> str:
        """Whether it opens, when, and why."""
        peak, holding = say(self.peak_C, "°C"), say(self.cut_off.holding_C, "°C")
        if self.stays_closed:
            return f"It stays closed: the winding comes to {peak}, and it holds up to {holding}."
        sure = f"it surely holds for {_time(self.held_until_s)}"
        if self.earliest_s is None:
            return f"It may open in the long run: {sure}, but {peak} is more than the {holding} for ever."
        if not self.surely_opens:
            return f"It may open from {_time(self.earliest_s)} on, as the winding comes to {peak}; {sure}."
        text = f"It opens {_between(self.earliest_s, self.latest_s)} after the start; {sure}"
        if self.passes_limit:
            text += f"; if the heat went on it would see {peak}, more than its limit"
        return f"{text}."


def _time(seconds: float, more: int = 0) -> str:
    """A time in s or min; ``more``: digits more than usual."""
    return say(seconds, "s", more) if seconds < 120 else say(seconds / 60, "min", 1 + more)


def _between(first_s: float, last_s: float) -> str:
    """From when to when, with one digit more where both would read alike; then one time if they still do."""
    for more in (0, 1):
        first, last = _time(first_s, more), _time(last_s, more)
        if first != last:
            return f"between {first} and {last}"
    return first


def opening(cut_off: CutOff, heating: RepeatedHeating, ambient_C: float = 25.0) -> Opening:
    """When repeated heating opens a cut-off, from the rise of the winding over ``ambient_C`` (−40 to 150 °C).

    Exact for a winding with one time constant under power that is switched (see ``heating``).  Raises
    MechError.

    >>> from mechlib.drives.heating import Body, Step
    >>> heating = RepeatedHeating(Body(15, 480), (Step(20, 3), Step(0, 7)))
    >>> opening(CutOff(115, 90, 200), heating).sentence()
    'It opens between ...'
    """
    ambient = check_number("ambient_C", ambient_C, *AMBIENT_C, "°C")
    marks = (cut_off.holding_C, cut_off.earliest_C, cut_off.rated_C)
    held, earliest, latest = (heating.seconds_to(mark - ambient) for mark in marks)
    return Opening(cut_off, held, earliest, latest, ambient + heating.highest_K)


def advice() -> str:
    """What to do about an open cut-off: cause first, same rating, never bridged, by qualified people.

    >>> "Never bridge it" in advice()
    True
    """
    return ADVICE
