"""For tests of the dwell's picture and panel: pictures of any transport, and what they show as numbers."""

from functools import cache, partial

import numpy as np
from transport_makers import make

from mechlib.bench import dwell_trial, trial_ranges
from mechlib.draw import LivePicture
from mechlib.draw import dwell_trial as scene
from mechlib.draw.style import figure
from mechlib.errors import MechError
from mechlib.ranges import starts
from mechlib.transports.files import transport_from


def picture_of(transport, mode, follower, **values):
    controls = trial_ranges(transport, mode, follower)
    compute = partial(dwell_trial, transport, mode, follower)
    limits = scene.window(transport, mode, follower)
    return LivePicture(compute, scene, starts(controls, **values), scene.SIZE_PX, limits)


def drawn(transport, mode, follower, window=None, **values):
    """The artists of one drawing, and the trial that they show."""
    trial = dwell_trial(transport, mode, follower, **values)
    limits = scene.window(transport, mode, follower) | (window or {})
    artists = scene.create(figure(*scene.SIZE_PX), trial, **limits)
    scene.update(artists, trial)
    return artists, trial


@cache  # each takes the ranges of all its sliders
def asked(transport):
    """Every mode with each follower whose dwell can be changed."""
    found = []
    for mode in transport.mode_names:
        for need in transport.mode(mode).needs:
            try:
                trial_ranges(transport, mode, need.follower)
            except MechError:
                continue
            found.append((mode, need.follower))
    return found


def maker(seed, cyclic=False, **drive):
    """The file's values of a drawn transport, and the transport; ``drive`` changes that table."""
    values = make(seed, cyclic)
    values["drive"] |= drive
    return values, transport_from(values, "hazel.toml")


def spans(bars):
    """Where each bar begins and ends, left to right."""
    return sorted(tuple(np.round(path.get_extents().intervalx, 6)) for path in bars.get_paths())


def bar_ends(artists, row):
    """For each kind of bar in a row of the budget: where each begins and ends."""
    found = {}
    for kind, bars in artists.bars.items():
        boxes = [path.get_extents() for path in bars.get_paths()]
        found[kind] = [(box.x0, box.x1) for box in boxes if row < box.y0 < row + 1]
    return found


def stop_lines(artists):
    """Theta of each piece of the upright lines, and its lower and upper end."""
    return [(line[0, 0], *sorted(line[:, 1])) for line in artists.stops.get_segments()]
