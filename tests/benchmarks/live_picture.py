"""Time an update of a live picture beside a plain redraw of the same figure, in the same run.

    python tests/benchmarks/live_picture.py [MODULE:FUNCTION]

FUNCTION takes nothing and returns a panel (an object with ``picture`` and ``ranges``); without it a chart
of three axes and about forty moving artists is measured.  The plain redraw does what a notebook does with a
function under ``interact``: a new pyplot figure, everything drawn, cropped to its ink and encoded as PNG.
"""

from __future__ import annotations

import base64
import importlib
import random
import statistics
import sys
import time
from types import SimpleNamespace

import matplotlib

matplotlib.use("agg")
import matplotlib.pyplot as plt
import numpy as np
from IPython.core.pylabtools import print_figure

from mechlib.draw import style
from mechlib.draw.live import LivePicture
from mechlib.draw.words import Word
from mechlib.ranges import Range

LIVE_UPDATES, PLAIN_REDRAWS = 200, 25
ROWS = ("pinch lever", "reel idler", "brake", "loading gear", "threading arms", "carriage lock")
SHIFT = Range("shift", -24, 24, 0.5, 0, "°")
DRIVE = Range("drive", 0, 320, 1, 100, "°")


def chart_of_rows(shift_deg: float, drive_deg: float):
    """A result like a timing chart's: a lift over the drive's angle for each row, and marks."""
    drive = np.linspace(0, 320, 300)
    lifts = [3 + 3 * np.tanh(np.sin(np.radians(drive + shift_deg) * (1 + at / 3))) for at in range(6)]
    marks = [20 + 36 * at + shift_deg for at in range(8)]
    found = f"The rows stand {shift_deg:g}° over, the drive at {drive_deg:g}°."
    return SimpleNamespace(drive=drive, lifts=lifts, marks=marks, drive_deg=drive_deg, sentence=lambda: found)


class ChartOfRows:
    """Three axes; moving: six lines, sixteen bars, sixteen labels, three cursors and a title."""

    def create(self, figure, result, **limits):
        tall, contacts, modes = figure.subplots(
            3, 1, sharex=True, gridspec_kw={"height_ratios": [4, 1.5, 1.5], "hspace": 0.12}
        )
        tall.set(xlim=limits["drive"], ylim=(0, 42), yticks=[3 + 7 * at for at in range(6)], yticklabels=ROWS)
        contacts.set(ylim=(0, 8), yticks=range(1, 8, 2), ylabel="contacts")
        modes.set(ylim=(0, 8), yticks=range(1, 8, 2), ylabel="modes", xlabel="drive (° of the main cam)")
        for axes in (tall, contacts, modes):
            axes.grid(True)
        lines = [tall.plot([], [], **style.LINES[at % 5]._asdict())[0] for at in range(6)]
        bars = [contacts.barh(at, 12, 0.8, **style.FILLS[0]._asdict())[0] for at in range(8)]
        bars += [modes.barh(at, 12, 0.8, **style.FILLS[at % 2]._asdict())[0] for at in range(8)]
        words = [Word.on(bar.axes, 0, bar.get_y(), fontsize=style.SMALL_PT) for bar in bars]
        cursors = [axes.axvline(0, color=style.INK) for axes in (tall, contacts, modes)]
        title = Word.on(tall, 2, 39, fontsize=style.TITLE_PT)
        return SimpleNamespace(lines=lines, bars=bars, words=words, cursors=cursors, title=title,
                               moving=[*lines, *bars, *words, *cursors, title])

    def update(self, artists, result):
        for at, (line, lift) in enumerate(zip(artists.lines, result.lifts, strict=True)):
            line.set_data(result.drive, lift + 7 * at)
        for at, (bar, word) in enumerate(zip(artists.bars, artists.words, strict=True)):
            bar.set_x(result.marks[at % 8])
            word.set(x=result.marks[at % 8] + 13, text=f"{result.marks[at % 8]:.1f}°")
        for cursor in artists.cursors:
            cursor.set_xdata([result.drive_deg] * 2)
        artists.title.set_text(f"drive at {result.drive_deg:g}°")


def demonstration():
    """The panel-like object that is measured when none is named."""
    picture = LivePicture(chart_of_rows, ChartOfRows(), {"shift_deg": 0, "drive_deg": 100},
                          limits={"drive": (DRIVE.low, DRIVE.high)})
    return SimpleNamespace(picture=picture, ranges={"shift_deg": SHIFT, "drive_deg": DRIVE})


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
    spent = []
    for values in all_values:
        start = time.perf_counter()
        act(values)
        spent.append(1e3 * (time.perf_counter() - start))
    spent = spent[3:]  # the first few read fonts
    median, p95 = statistics.median(spent), statistics.quantiles(spent, n=20)[-1]
    print(f"{name:32} median {median:7.1f} ms   95th percentile {p95:7.1f} ms   ({len(spent)} updates)")
    return median


def main(wanted: str = "") -> None:
    """Measure the panel that ``wanted`` names ("module:function")."""
    module, _, function = wanted.partition(":")
    panel = getattr(importlib.import_module(module), function)() if wanted else demonstration()
    picture, ranges = panel.picture, panel.ranges
    start, sizes = picture.values, " x ".join(map(str, picture.size_px))
    print(f"{sizes} pixels, {len(picture.moving)} moving artists")
    timed("computing alone", lambda values: picture.compute(**values), walk(ranges, start, LIVE_UPDATES))
    live = timed("live picture", lambda values: picture.set(**values), walk(ranges, start, LIVE_UPDATES))
    sharp = timed("sharp picture at rest", lambda _: picture.frame(2), range(PLAIN_REDRAWS))
    plain = timed("plain redraw, as interact does", lambda values: plain_redraw(picture, values),
                  walk(ranges, start, PLAIN_REDRAWS))
    print(f"a sharp picture takes {sharp / live:.1f} times as long, a plain redraw {plain / live:.1f} times")


if __name__ == "__main__":
    main(*sys.argv[1:2])
