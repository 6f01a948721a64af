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
        if near.max() <= asked[at]:
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
    (left, right), (_, top) = axes.get_xlim(), axes.get_ylim()
    across, up = (right - left) / width_px, top / height_px  # of a pixel
    taken = list(taken)
    for word in words:
        word.set_text("")
    written = sorted(named[: len(words)], key=lambda hump: drawn[hump.at])  # of those cut off as they come
    for word, hump in zip(words, written, strict=False):
        low, choice = drawn[hump.at] + 2 * up, []
        for text in (hump.text, hump.short):
            half = paper.width_px(text) / 2 * across
            middles = [float(np.clip(theta[hump.at] + a * half, left + half, right - half)) for a in ASIDE]
            clear = [x for x in middles if np.max(drawn[abs(theta - x) <= half]) <= low] or middles[:1]
            choice += [(text, x, half, _above(taken, (x - half, x + half), low, LETTER * up)) for x in clear]
        fits = [one for one in choice if one[3] <= top - LETTER * up]
        text, x, half, y = fits[0] if fits else choice[0]
        y = min(y, top - LETTER * up)
        taken.append((x - half - GAP * across, x + half + GAP * across, y, y + LETTER * up))
        word.set(text=text, x=x, y=y)


def _above(taken, ends, low: float, height: float) -> float:
    """How high a name of that height stands from one end to another, clear of what is taken."""
    for begin, end, below, above in sorted(taken, key=lambda box: box[2]):
        if begin < ends[1] and end > ends[0] and below < low + height and above > low:
            low = above
    return low
