"""Who asks the motor for how much: what each load comes to at the motor, and which share is the largest."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from mechlib.say import listing

if TYPE_CHECKING:
    from mechlib.transports.effort import Effort

FRICTION = "train's own friction"


LEVEL_NMM = 0.005  # shares that differ by less look alike as they are printed, in hundredths of a N·mm


@dataclass(frozen=True)
class Largest:
    """Who asks most at a place, the first of ``names`` with those that ask as much.

    ``half``: whether the first asks for more than half of all that is asked there.
    """

    names: tuple[str, ...]
    half: bool

    def words(self, by: str) -> str:
        """The finding, to stand in a sentence; ``by``: the word before the name.

        >>> Largest(("lever",), True).words("by"), Largest(("lever", "hook"), False).words("from")
        ('most of it by the lever', 'the largest shares from the lever and the hook')
        """
        shares = f"the largest share{'s' if len(self.names) > 1 else ''}"
        return f"{'most of it' if self.half else shares} {by} {listing(f'the {name}' for name in self.names)}"


def largest(shares: Mapping[str, float], friction_Nmm: float) -> Largest:
    """The largest of the shares and the train's own friction, all in N·mm at the motor.

    A share below 0 helps the motor on and asks for nothing.

    >>> largest({"lever": 0.6, "hook": -0.2}, 0.5), largest({"lever": 0.4, "hook": 0.4}, 0.3).half
    (Largest(names=('lever',), half=True), False)
    """
    asked = {**shares, FRICTION: friction_Nmm}
    most = max(asked, key=asked.get)
    half = 2 * asked[most] > sum(max(share, 0.0) for share in asked.values())
    level = (name for name in asked if name != most and asked[most] - asked[name] < LEVEL_NMM)
    return Largest((most, *(() if half else level)), half)


def at_cam_and_motor(found: Effort, theta) -> dict[str, tuple[np.ndarray, np.ndarray]]:
    """Each load as the effort gives it, and what it asks of the motor, in N·mm; theta: an angle or an array.

    Each load goes up its chain of meshes and through stage and train, divided by an efficiency where the
    power comes from the motor and multiplied where the load drives.
    """
    transport, loads = found.transport, found.loads(theta)
    carried = found.carried(loads)
    cam = sum(carried[root.name] for root in transport.roots)
    beyond = found.motor_Nmm(theta, loads) - friction(found, theta)
    passed = np.divide(beyond, cam, out=np.zeros(np.shape(theta)), where=cam != 0)
    up = {root.name: passed for root in transport.roots}
    for part in transport.parts:  # parents stand before their children
        mesh = np.where(carried[part.name] > 0, 1 / part.mesh_efficiency, part.mesh_efficiency)
        up[part.name] = up[part.parent] * mesh
    holder = {follower.name: follower.part for follower in transport.followers}
    holder |= {f"drag of the {name}": name for name, _ in transport.drags}
    return {name: (load, load * up[holder[name]]) for name, load in loads.items()}


def friction(found: Effort, theta) -> np.ndarray:
    """The friction of the train of the motor that turns at each theta, N·mm at the motor."""
    return found.by_motor(theta, lambda drive: drive.friction_Nmm)


def largest_at(found: Effort, theta_deg: float) -> Largest:
    """Who asks the motor for most at one theta.

    >>> from mechlib.transports import load
    >>> from mechlib.transports.effort import effort
    >>> largest_at(effort(load("birch"), "loading"), 203.3)
    Largest(names=("train's own friction",), half=False)
    """
    shares = {name: float(motor) for name, (_, motor) in at_cam_and_motor(found, theta_deg).items()}
    return largest(shares, float(friction(found, theta_deg)))
