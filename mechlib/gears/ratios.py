"""Which tooth counts give a wanted ratio: best fractions, and trains of one to three stages.

A ratio here is that of the sizes: product of the drivers' teeth over product of the driven gears' teeth, the
turns of the last gear for one of the first.  Floating numbers only sift; what is returned was compared in
exact fractions.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from math import gcd, inf, prod
from numbers import Rational

import numpy as np

from mechlib.errors import MechError, check_count, check_number
from mechlib.say import columns, count, say

TEETH = (4, 2000)
RATIO = (1e-6, 1e6)
MOST_COUNTS = 400  # different tooth counts to choose from
MOST_PAIRS_OF_THREE = 2000  # pairs of gears, with three stages: their products are tried, too
FINER = 70  # bits: two ratios of up to 2000³ differ by more than 2⁻⁶⁶, so whole numbers of 2⁻⁷⁰ rank them
SIFT = 1e-12  # added to the tolerance while sifting with floating numbers
PART = 2_000_000  # products compared in one go
LONGEST = 60  # signs of a ratio written as text
MOST_POWER = 100  # of ten, in such a text: far beyond any ratio
_POWER = re.compile(r"e([-+]?[\d_]+)", re.IGNORECASE)

Stage = tuple[int, int]  # teeth of the driver, teeth of the driven gear


def brocot(ratio, most_terms: int = 100, most_teeth: int | None = None) -> tuple[Fraction, ...]:
    """The fractions on Brocot's way to a ratio, from its whole part on; the way ends at the ratio itself.

    Each is the mediant (a + c)/(b + d) of the nearest ones below and above so far, so among them is every
    fraction that no simpler one betters.  ``ratio``: a positive whole number or fraction, 1e-6 to 1e6 (a
    decimal as text, "8.304"); ``most_terms``: 1 to 10 000, after which the way is cut; ``most_teeth``: from
    1 on, fractions with a larger number above or below are left out: no such gear can be had.  Where either
    limit comes first, the last one returned isn't the ratio, but comes near to it.  Raises
    MechError for anything else.
    Source: Hayes, On the teeth of wheels, American Scientist, July-August 2000.

    >>> [str(f) for f in brocot(Fraction(191, 23))]
    ['8', '9', '17/2', '25/3', '33/4', '58/7', '83/10', '108/13', '191/23']
    >>> str(brocot(Fraction(191, 23), most_teeth=120)[-1])
    '108/13'
    """
    target = _exact(ratio)
    most = check_count("most_terms", most_terms, 1, 10_000)
    limit = inf if most_teeth is None else check_count("most_teeth", most_teeth, 1, 10**9)
    low, high = (target.numerator // target.denominator, 1), (target.numerator // target.denominator + 1, 1)
    found = [Fraction(*low)] if low[0] else []
    if low[0] == target:
        return tuple(f for f in found if f.numerator <= limit)
    found.append(Fraction(*high))
    while found[-1] != target and len(found) < most:
        middle = (low[0] + high[0], low[1] + high[1])
        found.append(Fraction(*middle))
        low, high = (middle, high) if found[-1] <= target else (low, middle)
    return tuple(f for f in found[:most] if max(f.numerator, f.denominator) <= limit)


def best_pair(ratio, least: int = 12, most: int = 120) -> RatioTrain:
    """The pair of gears, ``least`` to ``most`` teeth each, whose ratio is nearest to the wanted one.

    Among equally near ones that with the fewest teeth.  Raises MechError for a ratio out of 1e-6 to 1e6 or
    tooth counts out of 4 to 2000.

    >>> best_pair("8.304", 10, 100).stages
    ((83, 10),)
    """
    target, counts = _exact(ratio), _counts(range(least, most + 1) if least <= most else ())
    pairs = []
    for driven in counts:
        near = int(target * driven)
        for driver in {min(max(near + step, counts[0]), counts[-1]) for step in (0, 1)}:
            pairs.append(RatioTrain(target, ((driver, driven),)))
    return min(pairs, key=RatioTrain.rank)


@dataclass(frozen=True)
class RatioTrain:
    """A train of stages (driver, driven) beside the ratio that was wanted.

    >>> RatioTrain(Fraction(1, 6), ((12, 36), (10, 20))).ratio
    Fraction(1, 6)
    """

    wanted: Fraction
    stages: tuple[Stage, ...]

    @cached_property
    def ratio(self) -> Fraction:
        """Π driver/driven, exactly."""
        return Fraction(prod(a for a, _ in self.stages), prod(b for _, b in self.stages))

    @property
    def error(self) -> float:
        """Ratio over the wanted one, less 1; 0 where it is exact."""
        return float(self.ratio / self.wanted - 1)

    @property
    def teeth(self) -> int:
        """All teeth together."""
        return sum(map(sum, self.stages))

    @property
    def hunts(self) -> bool:
        """Whether in every pair each tooth meets all of the other gear's."""
        return all(gcd(a, b) == 1 for a, b in self.stages)

    def rank(self) -> tuple:
        """Nearest first, then fewest teeth."""
        return abs(self.ratio / self.wanted - 1), self.teeth, self.stages

    def words(self) -> str:
        """The stages as "12 : 36 + 10 : 20"."""
        return " + ".join(f"{a} : {b}" for a, b in self.stages)

    def sentence(self) -> str:
        """The stages, their ratio and how far off it is."""
        off = "exactly" if self.ratio == self.wanted else f"{say(100 * self.error, '%', 4, sign=True)} off"
        return f"{self.words()} turns {self.ratio} = {say(float(self.ratio), '', 6)} for one, {off}."


@dataclass(frozen=True)
class RatiosFound:
    """The trains within the tolerance: how many there are, and the best of them, nearest first."""

    wanted: Fraction
    tolerance: float
    total: int
    best: tuple[RatioTrain, ...]

    def sentence(self) -> str:
        """How many there are, and the nearest."""
        within = f"within {say(100 * self.tolerance, '%', 4)} of {say(float(self.wanted), '', 6)}"
        if not self.total:
            return f"No train is {within}."
        exact = sum(1 for train in self.best if train.ratio == self.wanted)
        more = "at least " if exact == len(self.best) < self.total else ""
        found = f"{count(self.total, 'train')} {within}, {more}{exact} of them exact"
        return f"{found}; the first: {self.best[0].sentence()}"

    def table(self, rows: int = 20) -> str:
        """The best ``rows`` as a text table."""
        check_count("rows", rows, 1, 10_000)
        shown = []
        for train in self.best[:rows]:
            off, hunts = say(100 * train.error, "%", 4, sign=True), "yes" if train.hunts else "no"
            shown.append((train.words(), str(train.ratio), off, str(train.teeth), hunts))
        return columns(("driver : driven", "ratio", "off", "teeth", "hunts"), shown)


def trains_for(
    ratio,
    stages: int = 2,
    teeth: Iterable[int] = range(12, 121),
    tolerance: float = 1e-4,
    reverted: bool = False,
    hunting: bool = False,
    most: int = 1000,
) -> RatiosFound:
    """Every train of so many ``stages`` (1 to 3) whose ratio is within ``tolerance`` of the wanted one.

    ``ratio``: 1e-6 to 1e6, a whole number, a fraction or a decimal as text; ``teeth``: the tooth counts to
    choose from, 4 to 2000 each, at most 400 of them (with three stages at most 2000 pairs, some 44 counts);
    ``tolerance``: relative, 0 to 0.1; ``reverted``: first and last shaft in one line with gears of one
    module, so that all stages have the same sum of teeth; ``hunting``: no pair has a common factor;
    ``most``: how many of the nearest are returned, 1 to 10 000.  Stages in another order are the same train.
    Raises MechError for anything else.

    >>> found = trains_for("1/1440", 3, (5, 6, 60, 72), 0)
    >>> found.total, found.best[-1].sentence()
    (4, '6 : 72 + 6 : 72 + 6 : 60 turns 1/1440 = 0.000694 for one, exactly.')
    """
    wanted, counts = _exact(ratio), _counts(teeth)
    number = check_count("stages", stages, 1, 3)
    within = check_number("tolerance", tolerance, 0, 0.1)
    most = check_count("most", most, 1, 10_000)
    pairs = [(a, b) for a in counts for b in counts if not hunting or gcd(a, b) == 1]
    if number == 3 and len(pairs) > MOST_PAIRS_OF_THREE:
        raise MechError(
            f"{len(counts)} tooth counts make {len(pairs)} pairs",
            f"three stages are tried with at most {MOST_PAIRS_OF_THREE}; give fewer tooth counts",
        )
    sifted = _Sieve(pairs, wanted, within, reverted, most).sift(number)
    return RatiosFound(wanted, within, *sifted)


class _Sieve:
    """Goes through all combinations of pairs, keeping a count and the nearest."""

    def __init__(self, pairs: list[Stage], wanted: Fraction, within: float, reverted: bool, most: int):
        self.wanted, self.within, self.reverted, self.most = wanted, Fraction(within), reverted, most
        self.pairs = sorted(pairs, key=lambda pair: (pair[0] / pair[1], pair))
        self.logs = np.log(np.array([a / b for a, b in self.pairs]))
        self.room = np.log1p(within) + SIFT, -np.log1p(-within) + SIFT
        self.total, self.best = 0, []  # of the best: how far off, the teeth, the stages

    def sift(self, number: int) -> tuple[int, tuple[RatioTrain, ...]]:
        """The count and the nearest trains of so many stages."""
        size = len(self.pairs)
        firsts = {1: [()], 2: ((i,) for i in range(size))}.get(number)
        if firsts is None:
            firsts = ((i, j) for i in range(size) for j in range(i, size))
        target = float(np.log(float(self.wanted)))
        for group in _parts(firsts):
            chosen = np.array(group, int).reshape(len(group), number - 1)
            left = target - self.logs[chosen].sum(axis=1)
            low = np.searchsorted(self.logs, left - self.room[1], side="left")
            high = np.searchsorted(self.logs, left + self.room[0], side="right")
            if number > 1:  # the last stage comes no earlier than the one before: each train once
                low = np.maximum(low, chosen[:, -1])
            self._take(chosen, low, high)
        self._keep_nearest()
        return self.total, tuple(RatioTrain(self.wanted, stages) for *_, stages in self.best)

    def _take(self, chosen, low, high) -> None:
        """Compare what was sifted in whole numbers: off/b for |a/b − wanted|, times wanted's denominator."""
        pairs, top, bottom = self.pairs, self.wanted.numerator, self.wanted.denominator
        loose, tight = self.within.denominator, self.within.numerator * top
        for row in np.flatnonzero(high > low).tolist():
            before = tuple(pairs[at] for at in chosen[row].tolist())
            sums = {a + b for a, b in before}
            teeth = sum(map(sum, before))
            drivers, driven = (prod(pair[side] for pair in before) for side in (0, 1))
            for a, b in pairs[low[row] : high[row]]:
                product = driven * b
                off = abs(drivers * a * bottom - product * top)
                if off * loose > product * tight or (self.reverted and len(sums | {a + b}) > 1):
                    continue
                self.total += 1
                self.best.append(((off << FINER) // product, teeth + a + b, (*before, (a, b))))
            if len(self.best) > 20 * self.most:
                self._keep_nearest()

    def _keep_nearest(self) -> None:
        """Nearest first, then fewest teeth, as RatioTrain.rank has it."""
        self.best = sorted(self.best)[: self.most]


def _parts(rows: Iterable):
    """Rows in lists of limited length."""
    part = []
    for row in rows:
        part.append(row)
        if len(part) == PART:
            yield part
            part = []
    if part:
        yield part


def _exact(ratio) -> Fraction:
    """A ratio as a fraction; decimals are taken as text, so that 0.1 is a tenth."""
    if isinstance(ratio, bool) or not isinstance(ratio, (Rational, str, float)):
        raise MechError(
            f"ratio is {ratio!r}", 'give a number, a fraction or text such as "191/23" or "8.304"'
        )
    text = str(ratio).strip() if isinstance(ratio, (str, float)) else ""
    if len(text) > LONGEST:
        raise MechError(f"ratio has {len(text)} signs", f"write at most {LONGEST}, such as 191/23 or 8.304")
    try:
        power = _POWER.search(text)
        if power and abs(int(power[1])) > MOST_POWER:  # to work it out would take for ever
            raise MechError(f"ratio is {text}", f"it must be from {RATIO[0]:g} to {RATIO[1]:g}")
        exact = Fraction(text or ratio)
    except MechError:
        raise
    except (ValueError, ZeroDivisionError):
        raise MechError(f"ratio is {ratio!r}", 'write it as "191/23" or "8.304"') from None
    check_number("ratio", exact if abs(exact) > 10**MOST_POWER else float(exact), *RATIO)
    return exact


def _counts(teeth: Iterable[int]) -> list[int]:
    counts = sorted({check_count("teeth", z, *TEETH) for z in teeth})
    if not 1 <= len(counts) <= MOST_COUNTS:
        right = f"give 1 to {MOST_COUNTS}, of 4 to 2000 teeth"
        raise MechError(f"there are {len(counts)} tooth counts", right)
    return counts
