"""Which humps of the torque over theta are named, with what, and where their names stand."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from mechlib.bench.effort_trial import EffortTrial
from mechlib.draw import page as paper
from mechlib.say import say
from mechlib.transports.outcomes import RIGHT

LEAST_NAMED = 0.08  # of the axis: a lever that asks less isn't named
LETTER = 13  # pixels from line to line
GAP = 5  # between two names
BESIDE = 6  # steps either way over which a hump's crest is the highest
ASIDE = (0.0, 0.6, -0.6, 1.05, -1.05)  # of half a name: how far beside its crest it may stand


@dataclass(frozen=True)
class Hump:
    """A hump with its name: the step of theta at which its crest is; ``short`` where there is little room."""

    at: int
    text: str
    short: str


def humps(result: EffortTrial, theta, asked, shares, top: float, cap: float) -> list[Hump]:
    """What is named, the most important first.

    The hump at the place that the sentence tells and the one on which the leg ended; every hump that is cut
    off at ``cap``, with its height; then each lever where it asks most, and more than the other levers.
    """
    names = [follower.name for follower in result.transport.followers]
    levers = np.array([shares[name] for name in names])
    first = [_crest(asked, theta, result.worst_deg)]
    if result.leg.ended != RIGHT:
        first.append(_crest(asked, theta, result.leg.end_deg))
    most = np.where(_crests(asked), np.max(levers, axis=0), np.inf)
    own = np.where(levers >= most, levers, 0.0)
    theirs = [int(np.argmax(one)) for one in own if np.max(one) > LEAST_NAMED * top]
    found, told = [], set()
    for at in _apart([*first, *_cut(asked, cap), *theirs]):
        lever = int(np.argmax(levers[:, at]))
        name = names[lever] if levers[lever, at] > LEAST_NAMED * top else ""
        if asked[at] > cap:
            high = float(result.worst.asked_Nmm if at == first[0] else asked[at])
            again = name in told and at not in first
            short = f"↑ {say(high, '', 2).strip()}"  # the axis tells the unit
            found.append(Hump(at, short if again else f"{name} ↑ {say(high, 'N·mm', 2)}".strip(), short))
            told.add(name)
        elif name:
            found.append(Hump(at, name, name))
    return found


def _crest(asked, theta, place_deg: float) -> int:
    """The step of the top of the hump on which a place is."""
    at = int(np.argmin(abs(theta - place_deg)))
    while True:
        low = max(at - BESIDE, 0)
        near = asked[low : at + BESIDE + 1]
        if not near.max() > asked[at]:
            return at
        at = low + int(np.argmax(near))


def _crests(asked) -> np.ndarray:
    """Where no more is asked on either side near by."""
    near = sliding_window_view(np.pad(asked, BESIDE, mode="edge"), 2 * BESIDE + 1)
    return asked >= near.max(axis=1)


def _cut(asked, cap: float) -> list[int]:
    """The highest place of each stretch on which more is asked than is drawn."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], (asked > cap).astype(int), [0]])))
    return [int(low + np.argmax(asked[low:high])) for low, high in edges.reshape(-1, 2)]


def _apart(places: list[int]) -> list[int]:
    """Those that aren't on the crest of one before."""
    found: list[int] = []
    for place in places:
        if all(abs(place - other) > BESIDE for other in found):
            found.append(place)
    return found


def put(words, named: list[Hump], theta, drawn, taken, axes, height_px: float, width_px: float) -> None:
    """Write the names: above their humps, beside a higher one, and not on what is ``taken``.

    ``drawn``: the curve as it is drawn; ``taken``: boxes (left, right, low, high) in the axes' units.
    """
    ends, (_, top) = axes.get_xlim(), axes.get_ylim()
    desk = _Desk(theta, drawn, taken, ends, top, (ends[1] - ends[0]) / width_px, top / height_px)
    written = sorted(named[: len(words)], key=lambda hump: drawn[hump.at])  # of those cut off as they come
    placed = desk.placed([(hump.at, (hump.text, hump.short)) for hump in written])
    if not all(fits for *_, fits in placed):  # many beside one another: only the first has its whole name
        texts = [(hump.text if hump is named[0] else hump.short,) for hump in written]
        placed = desk.placed([(hump.at, text) for hump, text in zip(written, texts, strict=True)])
    for word in words:
        word.set_text("")
    for word, (text, x, y, _) in zip(words, placed, strict=False):
        word.set(text=text, x=x, y=y)


@dataclass(frozen=True)
class _Desk:
    """Where names are put: the curve, what is taken, the axes, and the size of a pixel on them."""

    theta: np.ndarray
    drawn: np.ndarray
    taken: list[tuple[float, float, float, float]]
    ends: tuple[float, float]
    top: float
    across: float
    up: float

    def placed(self, wanted) -> list[tuple[str, float, float, bool]]:
        """For each (step, texts to choose from): the text, its middle, its foot, and whether it has room."""
        taken, found = list(self.taken), []
        room = self.top - LETTER * self.up
        for at, texts in wanted:
            choice = [one for text in texts for one in self._places(at, text, taken)]
            text, x, half, y = next((one for one in choice if one[3] <= room), choice[0])
            found.append((text, x, min(y, room), y <= room))
            taken.append((x - half, x + half, found[-1][2], found[-1][2] + LETTER * self.up))
        return found

    def _places(self, at: int, text: str, taken) -> list[tuple[str, float, float, float]]:
        """Where a name can stand, clear of higher curves if it can: its middle, half its width, its foot."""
        low, half = self.drawn[at] + 2 * self.up, paper.width_px(text) / 2 * self.across
        line = self.top - 2 * LETTER * self.up  # the two lines above all humps are kept as lines
        low = line if low > line - LETTER * self.up else low
        left, right = self.ends[0] + half, self.ends[1] - half
        middles = [float(np.clip(self.theta[at] + aside * half, left, right)) for aside in ASIDE]
        highest = [np.max(self.drawn[abs(self.theta - x) <= half]) for x in middles]
        least = max(low, min(highest))
        clear = [x for x, high in zip(middles, highest, strict=True) if high <= least]
        half += GAP / 2 * self.across
        return [(text, x, half, _above(taken, (x - half, x + half), low, LETTER * self.up)) for x in clear]


def _above(taken, ends, low: float, height: float) -> float:
    """How high a name of that height stands from one end to another, clear of what is taken."""
    for begin, end, below, above in sorted(taken, key=lambda box: box[2]):
        if begin < ends[1] and end > ends[0] and below < low + height and above > low:
            low = above
    return low
