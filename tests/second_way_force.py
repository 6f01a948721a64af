"""A second, independent way to what a motion asks of the motor: energies differentiated, an ODE integrated.

Nothing of mechlib is used here.  The spring's energy over the lift is differentiated by numpy over the lifts
of ``second_way``; it goes through the tree of meshes, the planetary set (whose efficiency is found from the
balance of torques), and the train; the motor's line is integrated by scipy's ODE solver, piece by piece
between the angles where a load may jump, with an event where the motor can't go on.
"""

from __future__ import annotations

from functools import cached_property
from math import pi, radians, sin

import numpy as np
from scipy.integrate import solve_ivp
from second_way import Machine
from second_way_belt import BeltRound

FINE_DEG = 0.01  # between the angles at which the torque is known for the solver
MOST_STEP_DEG = 0.5  # of the solver
SLOWEST_DEG_S = 1e-4  # close to a stall the solver is led on to it by this


class Forces:
    """What moving a machine in one sense (1 or -1) asks of its motor.

    With ``state`` (part angles at the start) play is taken up only as the motion takes it up; without, it is
    taken up already.
    """

    def __init__(self, machine: Machine, sense: int, state: dict | None = None):
        self.machine, self.sense, self.data, self.state = machine, sense, machine.data, state
        self.parent = {part.name: part.parent.replace("main gear", "main cam") for part in machine.parts}
        turn = 3 * (machine.cycle or 0)
        self.low, self.high = machine.low - turn, machine.high + turn
        self.known: dict[tuple, tuple] = {}

    def root(self, part: str) -> str:
        return self.root(self.parent[part]) if part in self.parent else part

    # ---- Loads ----

    def angles(self, theta) -> dict:
        return self.machine.angles(theta, self.sense, self.state)

    def moves(self, part: str, theta) -> np.ndarray:
        """1 where a part goes along with the drive, else 0."""
        return (self.angles(theta + 1e-8)[part] - self.angles(theta - 1e-8)[part] > 1e-8).astype(float)

    def loads(self, theta) -> dict:
        """Energy for a radian of the drive that each follower and each part's drag asks for, in N·mm."""
        found, angles = {}, self.angles(theta)
        for row in self.data["follower"]:
            at = self.machine._turn(angles[row["part"]], self.pieces[row["name"]][0][0][0])
            lift_per_rad = self._rate(row["name"], at, 1)
            rate = self.sense * self._rate(row["name"], at, 2)
            rate = rate + row.get("friction_N", 0.0) * abs(lift_per_rad)
            found[row["name"]] = (row["part"], rate * self.moves(row["part"], theta))
        rows = [("main cam", self.data["drive"])]
        rows += [(row["name"], row) for row in (*self.data.get("output", []), *self.data["part"])]
        for name, row in rows:
            drag = row.get("drag_Nmm", 0.0) * abs(self.machine.rho[name])
            found[name, "drag"] = (name, drag * self.moves(name, theta))
        return found

    @cached_property
    def pieces(self) -> dict:
        """For each follower the pieces of its track: angles, d(lift)/dθ and d(energy)/dθ, per radian."""
        found = {}
        for row in self.data["follower"]:
            angles, lifts = (values[1:] for values in self.machine.tracks[row["name"]])
            spring, pieces = row.get("spring", {"at_mm": 0, "force_N": 0}), []
            for piece in row["track"]:
                count = 4001 if "move_to" in piece else 2
                at, lift = angles[:count], lifts[:count]
                angles, lifts = angles[count:], lifts[count:]
                energy = _energy(lift - spring["at_mm"], spring["force_N"], spring.get("rate_N_mm", 0.0))
                rad, edge = np.radians(at), 2 if count > 2 else 1
                pieces.append((at, *(np.gradient(y, rad, edge_order=edge) for y in (lift, energy))))
            assert not len(angles)
            found[row["name"]] = pieces
        return found

    def _rate(self, follower: str, at, which: int):
        """A rate of a follower where its part stands; 0 beyond its track."""
        total = np.zeros(np.shape(at))
        for piece in self.pieces[follower]:
            inside = (at >= piece[0][0]) & (at < piece[0][-1])
            total[inside] = np.interp(at[inside], piece[0], piece[which])
        return total

    def cam(self, theta) -> np.ndarray:
        """Load of all outputs, in N·mm over the drive's angle."""
        at = {name: np.zeros(theta.shape) for name in (*self.machine.roots, *self.parent)}
        for part, load in self.loads(theta).values():
            at[part] = at[part] + load
        rows = {row["name"]: row for row in self.data["part"]}
        for name in reversed(list(self.parent)):
            passes = rows[name].get("mesh_efficiency", 1.0)
            at[self.parent[name]] = at[self.parent[name]] + at[name] * passes ** -np.sign(at[name])
        return sum(at[root] for root in self.machine.roots)

    # ---- The way of the power ----

    def torque(self, theta) -> np.ndarray:
        """Torque of the motor, N·mm."""
        cam = self.cam(theta)
        ways = [(1.0, 1.0)] * len(theta)
        for a, b, row in self.machine.stages:
            both = self._set_efficiencies(row)
            ways = [both if a <= t < b else way for t, way in zip(theta, ways, strict=True)]
        forward, back = np.array(ways).T
        torque = np.empty(theta.shape)
        for number, motor in enumerate(self.motors):
            turns = motor["turns_per_cam_turn"]
            power = np.where(
                cam > 0,
                cam / forward / motor["train_efficiency"] / turns,
                cam * back * motor["back_efficiency"] / turns,
            )
            here = self.turning(theta) == number
            asked = np.maximum(motor.get("friction_Nmm", 0.0) + power, -self.limits[number])
            torque[here] = asked[here]
        return torque

    @cached_property
    def motors(self) -> list[dict]:
        """The motors of the file; one alone has no name."""
        return self.data["motor"] if isinstance(self.data["motor"], list) else [self.data["motor"]]

    def turning(self, theta) -> np.ndarray:
        """The number of the motor whose stage it is at each angle; of two that meet, the upper one's."""
        names = [motor.get("name") for motor in self.motors]
        found = np.zeros(np.shape(theta), dtype=int)
        for a, _, row in self.machine.stages:
            found = np.where(theta >= a, names.index(row["motor"]) if "motor" in row else 0, found)
        return found

    def _set_efficiencies(self, row: dict) -> tuple[float, float]:
        sets = {entry["name"]: entry for entry in self.data.get("planetary_set", [])}
        if row.get("through") not in sets:
            return 1.0, 1.0
        own, first, last = sets[row["through"]], row["driven"], row["turns"]
        return _through(own, first, row["held"], last), _through(own, last, row["held"], first)

    @cached_property
    def belts(self) -> list[dict | None]:
        """The belt of each motor."""
        return [self._belt_of(motor) for motor in self.motors]

    def _belt_of(self, motor: dict) -> dict | None:
        """Radius of the driver, stiffness, tension at rest; the tight run's at the point of slipping, and the
        most that it can pull."""
        rows = self.data.get("belt", [])
        rows = [rows] if isinstance(rows, dict) else rows
        row = next((row for row in rows if row.get("of") == motor.get("name")), None)
        if row is None:
            return None
        thick, apart = row["thickness_mm"], row["centres_mm"]
        small, large = row["driver_mm"] + thick, row["driven_mm"] + thick
        area = pi / 4 * thick**2 if row["kind"] == "round" else thick * row["width_mm"]
        grooves = (radians(row.get(f"{end}_groove_deg", 180)) for end in ("driver", "driven"))
        rates = [row["friction"] / sin(groove / 2) for groove in grooves]
        loose, stiffness = row["inside_mm"] + pi * thick, row["modulus_MPa"] * area
        belt = BeltRound(small, large, apart, loose, stiffness, rates)
        tight, slack = belt.slipping()
        sizes = {"radius": small / 2, "stiffness": stiffness, "tension": belt.rest}
        return sizes | {"tight": tight, "pull": tight - slack}

    @cached_property
    def limits(self) -> np.ndarray:
        """The most that each motor can give: it stalls, or its belt slips."""
        slip = [belt["pull"] * belt["radius"] if belt else np.inf for belt in self.belts]
        return np.minimum([motor["stall_torque_Nmm"] for motor in self.motors], slip)

    def speed(self, torque, number: int = 0):
        """Degrees of the drive a second; the mass of belt that passes the driver a second passes both."""
        motor, left = self.motors[number], 1.0
        if belt := self.belts[number]:
            pull = torque / belt["radius"]
            tight = belt["tension"] + (belt["tight"] - belt["tension"]) * pull / belt["pull"]  # evenly
            left = (belt["stiffness"] + tight - pull) / (belt["stiffness"] + tight)
        rev_min = motor["no_load_rev_min"] * (1 - torque / motor["stall_torque_Nmm"])
        return rev_min / 60 * 360 / motor["turns_per_cam_turn"] * left

    # ---- Along the way ----

    @cached_property
    def breaks(self) -> np.ndarray:
        """Angles at which a load may jump: ends of stages and pieces of tracks."""
        found = {self.low, self.high} | {a for a, _, _ in self.machine.stages}
        offsets = self.machine.angles(np.array([0.0]), self.sense)  # of parts that follow without a lag
        for row in self.data["follower"]:
            marks = np.unique([end for at, *_ in self.pieces[row["name"]] for end in (at[0], at[-1])])
            found.update(self._thetas(self.root(row["part"]), marks - offsets[row["part"]][0]))
        for name, angle in (self.state or {}).items():  # where play is taken up
            found.update(self._thetas(self.root(name), np.array([angle]) - offsets[name][0]))
        inside = sorted(theta for theta in found if self.low <= theta <= self.high)
        return np.array([a for a, b in zip(inside, [*inside[1:], np.inf], strict=True) if b - a > 1e-7])

    def _thetas(self, root: str, places) -> list:
        """Angles of the drive at which a root stands at these places."""
        if self.machine.cycle:
            turns = 360.0 * np.arange(-5, 6)
            return list((places[:, None] + turns).ravel())
        found = []
        for a, b, row in self.machine.stages:
            if root in row["drives"]:
                theta = a + places - self.machine.driven(np.array([a]))[root][0]
                found += list(theta[(theta >= a) & (theta <= b)])
        return found

    def _piece(self, number: int) -> tuple[np.ndarray, np.ndarray]:
        """Angles of one piece, its ends a hair inside, and the torque there."""
        if number not in self.known:
            a, b = self.breaks[number : number + 2]
            theta = np.linspace(a + 1e-9, b - 1e-9, max(3, int((b - a) / FINE_DEG)))
            self.known[number] = theta, self.torque(theta)
        return self.known[number]

    def _through_piece(self, number: int, start: float, end: float) -> tuple[float, float | None]:
        """Seconds from one angle of a piece to another, and where in it the motor can't go on."""
        key = (number, start, end)
        if key in self.known:
            return self.known[key]
        theta, torque = self._piece(number)
        motor = int(self.turning((start + end) / 2))

        def asked(way):
            return np.interp(start + self.sense * way, theta, torque)

        def slowness(way, _):
            return [1 / max(self.speed(asked(way), motor), SLOWEST_DEG_S)]

        def left(way, _):
            return self.limits[motor] - asked(way)

        left.terminal = True
        if left(0.0, None) <= 0:
            found = 0.0, start
        else:
            solved = solve_ivp(slowness, (0, abs(end - start)), [0.0], events=left, dense_output=True,
                               rtol=1e-9, atol=1e-11, max_step=MOST_STEP_DEG)  # fmt: skip
            met = solved.t_events[0]
            found = solved.y[0, -1], start + self.sense * met[0] if len(met) else None
        self.known[key] = found
        return found

    def travel(self, start: float, end: float) -> tuple[float, float | None]:
        """Seconds from one angle to another in this sense, and where the motor stalls, if it does."""
        total, numbers = 0.0, range(len(self.breaks) - 1)
        for number in numbers if self.sense > 0 else reversed(numbers):
            a, b = self.breaks[number : number + 2]
            a, b = max(a, min(start, end)), min(b, max(start, end))
            if a < b:
                seconds, stalled = self._through_piece(number, *((a, b) if self.sense > 0 else (b, a)))
                total += seconds
                if stalled is not None:
                    return total, stalled
        return total, None


def _energy(far, force_N: float, rate_N_mm: float):
    """Energy of a spring that may go slack, in mJ: force²/(2·rate) while it still pushes its own way."""
    if not rate_N_mm:
        return force_N * far
    force = force_N + rate_N_mm * far
    return np.where(force * (1 if force_N >= 0 else -1) > 0, force**2 / (2 * rate_N_mm), 0.0)


def _through(own: dict, driven: str, held: str, turns: str) -> float:
    """Efficiency of a planetary set: torques balance, and the carrier's frame loses in rolling only.

    With R the ring over sun speed seen from the carrier, T_ring = -T_sun·η0^w/R, w the sign of the power
    that rolls from sun to ring; T_sun + T_ring + T_carrier = 0.  Both signs are tried, one fits.
    """
    gear = {"sun": own["sun"], "ring": own["ring"]}
    rolling = own.get("mesh_efficiency", 1.0) ** 2
    # n_sun + k·n_ring = (1 + k)·n_carrier, with k = ring/sun teeth
    weight = {"sun": 1.0, "ring": gear["ring"] / gear["sun"], "carrier": -1.0 - gear["ring"] / gear["sun"]}
    turned = {driven: 1.0, held: 0.0, turns: -weight[driven] / weight[turns]}
    for way in (1, -1):
        torque = {"sun": 1.0, "ring": gear["ring"] / gear["sun"] * rolling**way}
        torque["carrier"] = -torque["sun"] - torque["ring"]
        scale = 1.0 / torque[driven]
        rolls = scale * torque["sun"] * (turned["sun"] - turned["carrier"])
        if rolls * way > 0:
            return -scale * torque[turns] * turned[turns]
    raise AssertionError("neither way of the power fits")
