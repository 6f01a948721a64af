"""Every panel of the workbook: how fast its picture follows, beside ``interact``, in one run.

    python tests/benchmarks/panels.py [--kernel | --page] [--updates 200] [--seconds 4] [01 05 ...]

The panels are those that the notebooks make, found by running their cells.  In the kernel: a control jumps as
a reader's would, and its picture is computed, drawn and encoded; then the same figure drawn anew as under
``interact``.  In the page (JupyterLab with the reader's settings, headless Chromium): the mouse drags the
slider that makes the most different pictures to and fro, and the page counts pictures that differ from the
one before and how often the picture moved in its place.  Then the hand rests: the picture must come that
belongs to the place where the slider stands, twice as sharp.  A second drag is filmed, and frames of the film
with nothing at the picture's place are counted as blank.  Then the same under ``interact``.
Numbers in the command pick notebooks.  A machine that does other things meanwhile tells nothing.
"""

from __future__ import annotations

import argparse
import os
import platform
import statistics
import time

os.environ["MECHLIB_PROGRESS"] = "off"

from live_picture import plain_redraw, walk
from panels_in_page import in_page
from workbook_panels import Found, panels, put

WARM_UP = 3  # updates that read fonts and aren't counted
PLAIN_REDRAWS = 20


def in_ms(act, all_values, seen=lambda: True) -> tuple[list[float], list]:
    """How long ``act`` takes for each of the values, and these; not the first few, nor what can't be."""
    spent, kept = [], []
    for values in all_values:
        begun = time.perf_counter()
        act(values)
        took = 1e3 * (time.perf_counter() - begun)
        if seen():
            spent.append(took)
            kept.append(values)
    return spent[WARM_UP:], kept


def in_kernel(found: list[Found], updates: int) -> None:
    """Print median and 95th percentile of an update of each panel, and of a plain redraw."""
    print(f"{'in the kernel, ms':26}{'pixels':>11}{'update':>8}{'p95':>7}{'redraw':>8}{'p95':>7}{'times':>7}")
    every = []
    for one in found:
        panel, picture = one.panel, one.panel.picture
        if not panel.ranges:  # a picture that no control of its own moves
            continue
        start = {name: control.value for name, control in panel.controls.items()}
        steps = list(walk(panel.ranges, picture.values, updates + WARM_UP))
        live, shown = in_ms(
            lambda values, panel=panel: put(panel, values),
            steps,
            lambda picture=picture: picture.sentence == picture.result.sentence(),  # else it was refused
        )
        again = shown[: PLAIN_REDRAWS + WARM_UP]
        plain, _ = in_ms(lambda values, picture=picture: plain_redraw(picture, values), again)
        times = statistics.median(plain) / statistics.median(live)
        every.append(times)
        size = " x ".join(map(str, picture.size_px))
        print(f"{one.label:26}{size:>11}{_two(live)}{_two(plain)}{times:7.1f}", flush=True)
        put(panel, start)
    print(f"{'the slowest, beside its redraw':67}{min(every):7.1f}")


def _two(spent: list[float]) -> str:
    return f"{statistics.median(spent):8.1f}{statistics.quantiles(spent, n=20)[-1]:7.1f}"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("notebooks", nargs="*", help="the first two digits of each; all if none is given")
    parser.add_argument("--kernel", action="store_true", help="in the kernel only")
    parser.add_argument("--page", action="store_true", help="in the page only")
    parser.add_argument("--updates", type=int, default=200)
    parser.add_argument("--seconds", type=float, default=4)
    given = parser.parse_args()
    found = panels(given.notebooks)
    load = os.getloadavg()[0]
    print(f"{os.cpu_count()} processors, {load:.1f} busy at the start, Python {platform.python_version()}")
    if not given.page:
        in_kernel(found, given.updates)
    if not given.kernel:
        in_page(found, given.seconds)


if __name__ == "__main__":
    main()
