"""The timing chart as numbers: what every follower, contact and mode does over theta."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from mechlib.transports.arcs import Arcs, intersect
from mechlib.transports.model import LOADING, SENSE, Transport
from mechlib.transports.runs import steady
from mechlib.transports.timing import arrival, arriving_senses

POINTS = 721  # samples of a follower's line; arcs and stop angles are exact


@dataclass(frozen=True, eq=False)
class FollowerRow:
    """A follower's lift over theta; ``states`` are the arcs of theta on which each named state holds."""

    name: str
    part: str
    lift_mm: np.ndarray
    states: tuple[tuple[str, float, Arcs], ...]


@dataclass(frozen=True)
class ContactRow:
    """The arcs of theta over which a contact is closed."""

    name: str
    part: str
    closed: Arcs


@dataclass(frozen=True)
class ModeRow:
    """Where a mode's code shows, where all its followers stand right, and its stop angle in each sense."""

    name: str
    code: Arcs
    right: Arcs
    stops: tuple[tuple[str, float], ...]


@dataclass(frozen=True, eq=False)
class Chart:
    """The chart for one sense of the drive, play taken up in it (stop angles: each in its own sense)."""

    sense: str
    low_deg: float
    high_deg: float
    theta_deg: np.ndarray
    followers: tuple[FollowerRow, ...]
    contacts: tuple[ContactRow, ...]
    modes: tuple[ModeRow, ...]


@lru_cache(maxsize=256)
def chart(transport: Transport, sense: str = LOADING) -> Chart:
    """The timing chart of a transport between its end stops (over one turn for a cam that goes round).

    The line of a follower has 721 points; every arc and stop angle is exact.

    >>> from mechlib.transports import load
    >>> [(row.name, row.closed) for row in chart(load("alder")).contacts][0]
    ('A', ((-4.0, 4.0), (54.0, 62.0)))
    """
    run, (low, high) = steady(transport, sense), transport.ends
    theta = np.linspace(low, high, POINTS)
    window = ((low, high),)
    places = {
        name: np.interp(theta, *zip(*knots, strict=True)) + transport.advance_deg[name]
        for name, knots in run.knots.items()
    }
    followers = []
    for follower in transport.followers:
        states = tuple(
            (name, mm, intersect(run.theta_arcs(follower.part, arcs), window))
            for name, mm, arcs in follower.state_arcs
        )
        lift = follower.programme.lifts(places[follower.part]) + follower.bent_mm
        followers.append(FollowerRow(follower.name, follower.part, lift, states))
    contacts = tuple(
        ContactRow(c.name, c.part, intersect(run.theta_arcs(c.part, c.closed), window))
        for c in transport.contacts
    )
    modes = tuple(_mode_row(transport, run, name, window) for name in transport.mode_names)
    return Chart(sense, low, high, theta, tuple(followers), contacts, modes)


def _mode_row(transport: Transport, run, name: str, window: Arcs) -> ModeRow:
    mode, right = transport.mode(name), window
    for need in mode.needs:
        right = intersect(right, run.need_arcs(need))
    came = [(s, arrival(transport, name, s)) for s in SENSE if s in arriving_senses(transport)[name]]
    stops = tuple((s, a.stand_deg) for s, a in came if a is not None and a.past_stop_deg <= 0)
    return ModeRow(name, intersect(run.code_arcs(mode.code), window), right, stops)
