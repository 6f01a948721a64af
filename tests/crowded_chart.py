"""For tests of the timing chart: a transport with many rows and long names; an eye for colliding texts."""

import numpy as np
from matplotlib.text import Text

from mechlib.bench import slip_effect
from mechlib.draw import LivePicture, timing_chart
from mechlib.transports.files import transport_from

LONG = "an arm with a name of $a_b^c$ that is much too long for any column of a page"


def crowded(followers: int = 12, modes: int = 12, contacts: int = 10, locks: int = 3):
    """A transport with as many rows as wanted, and names that don't fit anywhere."""
    spots = [40.0 * at for at in range(modes)]
    codes = [{at % contacts} | ({contacts - 1} if at >= contacts else set()) for at in range(modes)]
    closed = [[s for s, code in zip(spots, codes, strict=True) if c in code] for c in range(contacts)]
    states = {f"{word} of {LONG}": 7 * at for at, word in enumerate(("low", "lower", "high", "highest"))}
    names = [f"{at} {LONG}" for at in range(followers)]
    labels = [f"MODE {at} {LONG if at == 3 else ''}".strip() for at in range(modes)]
    low, level = list(states)[:2]
    gear, anything = f"gear {LONG}", [low, level, "between"]
    return transport_from({
        "name": LONG, "invented": False, "reference_mode": labels[0],
        "drive": {"main_gear_teeth": 40, "low_stop": {"deg": -20.5}, "high_stop": {"deg": spots[-1] + 20.25},
                  "coast": {"deg": 1}, "speed_deg_s": 60},
        "part": [{"name": gear, "kind": "gear", "teeth": 40, "meshes_with": "main gear", "mark": "dot"}],
        "follower": [
            {"name": name, "part": gear, "tolerance_mm": 1, "states": states, "track_from": {"deg": -99},
             "track": [{"hold": low, "until": {"deg": 8 + at}},
                       {"move_to": level, "until": {"deg": 30}, "law": "cycloidal"},
                       {"hold": level, "until": {"deg": 999}}]}
            for at, name in enumerate(names)
        ],
        "mode_switch": {"part": "main cam", "settle": {"deg": 0.5}},
        "contact": [{"name": f"C{c}", "closed": [[{"deg": s - 5}, {"deg": s + 5}] for s in spots_of]}
                    for c, spots_of in enumerate(closed)],
        "mode": [{"name": label, "code": [f"C{c}" for c in sorted(code)],
                  "needs": {names[0]: low if at == 0 else level}}
                 for at, (label, code) in enumerate(zip(labels, codes, strict=True))],
        "interlock": [{"name": f"lock {at} {LONG}", "while": {names[0]: level}, "must": {names[-1]: anything}}
                      for at in range(locks)],
        "controller": {"order": labels, "time_out_s": 30, "home": {"sense": "unloading", "mode": labels[0]}},
    }, "crowded.toml")  # fmt: skip


def picture_of(transport, mesh=None, teeth=0, theta_deg=None):
    values = {
        "mesh": mesh or transport.mesh_names[0],
        "teeth": teeth,
        "theta_deg": transport.ends[0] if theta_deg is None else theta_deg,
    }
    size = timing_chart.size_px(transport)
    return LivePicture(lambda **chosen: slip_effect(transport, **chosen), timing_chart, values, size)


def words(page):
    """Every text of a figure that shows; numbers of an axis that lie outside its limits don't."""
    hidden = set()
    for axes in page.findobj(lambda artist: hasattr(artist, "xaxis")):
        for axis in (axes.xaxis, axes.yaxis):
            low, high = sorted(axis.get_view_interval())
            numbers = zip(axis.get_majorticklocs(), axis.get_majorticklabels(), strict=True)
            hidden |= {label for at, label in numbers if not low - 1e-6 <= at <= high + 1e-6}
    return [text for text in page.findobj(Text) if text.get_visible() and text not in hidden]


def measured(texts, renderer):
    """What each text that isn't empty says, and its edges: left, right, below, above."""
    shown = [text for text in texts if text.get_text().strip()]
    found = [text.get_window_extent(renderer) for text in shown]
    return [text.get_text() for text in shown], np.array([[b.x0, b.x1, b.y0, b.y1] for b in found]).T


def collisions(names, x0, x1, y0, y1, size_px) -> list[str]:
    """Which texts are cut off at the edge of the picture, and which overlap."""
    off = (x0 < 0) | (x1 > size_px[0]) | (y0 < 0) | (y1 > size_px[1])
    less = 0.5  # pixel: neighbours may touch
    across = (x0[:, None] < x1 - less) & (x0 < x1[:, None] - less)
    along = (y0[:, None] < y1 - less) & (y0 < y1[:, None] - less)
    pairs = np.argwhere(np.triu(across & along, 1))
    found = [f"{name!r} is cut off" for name, out in zip(names, off, strict=True) if out]
    return found + [f"{names[one]!r} and {names[other]!r} overlap" for one, other in pairs]


class Spacing:
    """Looks at all the texts of a live picture; those that never move are measured once."""

    def __init__(self, picture):
        self.picture, self.renderer = picture, picture.figure.canvas.get_renderer()
        moving = set(picture.moving)
        self.still = measured([t for t in words(picture.figure) if t not in moving], self.renderer)
        assert len(self.still[0]) > 20

    def faults(self) -> list[str]:
        names, edges = measured([m for m in self.picture.moving if isinstance(m, Text)], self.renderer)
        both = np.concatenate([self.still[1], edges], axis=1)
        return collisions(self.still[0] + names, *both, self.picture.size_px)
