"""Forces on a follower a second way: plane equilibrium written out with vectors and solved by numpy.

The cam's axis is the origin, the follower's line the y axis, the guide above.  The cam turns clockwise, so
that its surface moves to the right (+x) at the pin.  Unknown are the contact force and the guide's two
reactions; the signs that their friction needs are tried out, and those that come out again are right.
"""

from __future__ import annotations

from itertools import product

import numpy as np


def cross(at, force):
    return at[0] * force[1] - at[1] * force[0]


def equilibrium(load, slope, radius, friction, way, drum=False):
    """Contact force, both guide reactions and the cam's torque, or None where nothing balances.

    ``load`` along the follower without drag, downwards where positive; where negative the outer wall holds.
    """
    down = load + way * friction.drag_N
    side = 1 if down >= 0 else -1
    sliding = np.array([radius, -slope]) / np.hypot(radius, slope)  # of the cam's surface past the pin
    normal = side * np.array([slope, radius]) / np.hypot(radius, slope)
    pin = np.array([0.0, radius])
    contact = pin - friction.pin_mm / 2 * normal
    guides = pin + [0, friction.overhang_mm], pin + [0, friction.overhang_mm + friction.bearing_mm]
    for signs in product((1, -1), repeat=2):
        pushes = [(contact, normal + friction.contact * sliding)]
        for at, sign in zip(guides, signs, strict=True):
            # A reaction to the right where positive; its friction is against the follower's motion.
            pushes.append((at, np.array([1.0, -way * friction.guide * sign])))
        rows = [[force[0] for _, force in pushes], [force[1] for _, force in pushes]]
        rows.append([cross(at, force) for at, force in pushes])
        matrix = np.array(rows)
        if abs(np.linalg.det(matrix)) < 1e-12:
            continue
        found = np.linalg.solve(matrix, [0.0, down, 0.0])
        agrees = all(sign * reaction >= -1e-12 for sign, reaction in zip(signs, found[1:], strict=True))
        if found[0] >= 0 and agrees:
            return found[0], *found[1:], _torque(pushes[0], found[0], radius, drum)
    return None


def _torque(pushed, size, radius, drum):
    """Torque that the cam must get, clockwise: its surface is pushed by the opposite of what it gives."""
    at, force = pushed
    if drum:
        return radius * size * force[0]
    return -cross(at, size * force)


def friction_power(load, slope, radius, friction, way, drum=False):
    """What friction takes, in N·mm a radian of the cam's turn: sizes of forces times speeds of rubbing."""
    size, near, far, _ = equilibrium(load, slope, radius, friction, way, drum)
    side = 1 if load + way * friction.drag_N >= 0 else -1
    slides = np.hypot(radius, slope) - (0 if drum else side * friction.pin_mm / 2)
    rubs = friction.contact * size * slides
    return rubs + (friction.guide * (abs(near) + abs(far)) + friction.drag_N) * abs(slope)
