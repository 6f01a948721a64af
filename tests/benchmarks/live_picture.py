"""Time an update of a live picture beside a plain redraw of the same figure, in the same run.

    python tests/benchmarks/live_picture.py [MODULE:FUNCTION]

FUNCTION takes nothing and returns a panel; without it the panel of a slipped tooth is measured.  The walk is
the same on every run: one control at a time jumps anywhere.  It is taken twice, since what was computed and
set in type once is kept; the plain redraw also finds it kept.  That one does what a notebook does with a
function under ``interact``: a new pyplot figure, everything drawn, cropped to its ink and encoded as PNG.
On a machine that is busy with other things the time of the processor tells more than that of the clock.
"""

from __future__ import annotations

import base64
import importlib
import random
import statistics
import sys
import time

import matplotlib

matplotlib.use("agg")
import matplotlib.pyplot as plt
from IPython.core.pylabtools import print_figure

from mechlib.draw import style

LIVE_UPDATES, PLAIN_REDRAWS = 300, 25
THE_PANEL = "mechlib.panels.slipped_tooth:slipped_tooth"


def walk(ranges, start, steps: int):
    """Yield values as from a reader who moves one control at a time, the same on every run."""
    dice, values = random.Random(1), dict(start)
    for _ in range(steps):
        name = dice.choice(list(ranges))
        values[name] = dice.choice(ranges[name].positions())
        yield dict(values)


def plain_redraw(picture, values) -> str:
    """What ``interact`` makes the inline backend do for one slider step."""
    result = picture.compute(**values)
    with style.look():
        dpi = style.PIXELS_PER_INCH
        page = plt.figure(figsize=[px / dpi for px in picture.size_px], dpi=dpi)
        picture.scene.update(picture.scene.create(page, result, **picture.limits), result)
        frame = print_figure(page, fmt="png", bbox_inches="tight", dpi="figure")
        plt.close(page)
    return base64.b64encode(frame).decode()


def timed(name: str, act, all_values) -> float:
    """Run ``act`` for each of the values, print median and 95th percentile in ms, return the median."""
    clock, processor = [], []
    for values in all_values:
        before = time.perf_counter(), time.process_time()
        act(values)
        clock.append(1e3 * (time.perf_counter() - before[0]))
        processor.append(1e3 * (time.process_time() - before[1]))
    told = []
    for spent in (clock, processor):
        spent = spent[3:]  # the first few read fonts
        told.append(f"{statistics.median(spent):6.1f} {statistics.quantiles(spent, n=20)[-1]:6.1f}")
    print(f"{name:34}{told[0]}    {told[1]}    {len(clock)}")
    return statistics.median(clock)


def main(wanted: str = THE_PANEL) -> None:
    """Measure the panel that ``wanted`` names ("module:function")."""
    module, _, function = wanted.partition(":")
    panel = getattr(importlib.import_module(module), function)()
    picture, ranges, start = panel.picture, panel.ranges, dict(panel.picture.values)
    sizes = " x ".join(map(str, picture.size_px))
    print(f"{sizes} pixels, {len(picture.moving)} moving artists; ms: median and 95th percentile")
    print(f"{'':34}    clock        processor    updates")
    steps = list(walk(ranges, start, LIVE_UPDATES))
    timed("live picture, first time there", lambda values: picture.set(**values), steps)
    live = timed("live picture, there again", lambda values: picture.set(**values), steps)
    timed("computing alone, there again", lambda values: picture.compute(**values), steps)
    sharp = timed("sharp picture at rest", lambda _: picture.frame(2), range(PLAIN_REDRAWS))
    plain = timed("plain redraw, there again", lambda v: plain_redraw(picture, v), steps[:PLAIN_REDRAWS])
    print(f"a sharp picture takes {sharp / live:.1f} times as long, a plain redraw {plain / live:.1f} times")


if __name__ == "__main__":
    main(*sys.argv[1:2])
