"""The way by hand to the mode in which the tape is out: which sense, how far, what happens in what order."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

from mechlib.bench.hand_turn import shaft_deg
from mechlib.errors import check_number
from mechlib.say import say
from mechlib.transports.arcs import TINY, Arcs, holding, intersect, merge
from mechlib.transports.model import LOADING, SENSE, UNLOADING, Follower, Need, Stage, Transport
from mechlib.transports.runs import Obstacle, Run, steady
from mechlib.transports.timing import arrival

TURNS = 2  # of a cam that goes round, to either side: more than any way takes
EDGE_DEG = 1e-6  # so near an edge of what is shut the followers only touch


@dataclass(frozen=True)
class LeverMove:
    """One move of a follower on the way: ``begin_deg`` and ``end_deg`` in the order of the way.

    ``push_begin_N`` and ``push_end_N``: the spring's force in the sense of the motion; ``free_mm``: tape that
    comes loose (drawn out where negative), None where the file doesn't say; ``reel_free``: the arcs on which
    the reel turns freely, None where the file doesn't say.
    """

    follower: str
    begin_deg: float
    end_deg: float
    from_mm: float
    to_mm: float
    from_state: str
    to_state: str
    push_begin_N: float
    push_end_N: float
    friction_N: float
    free_mm: float | None
    reel_free: Arcs | None

    @property
    def pushed_on(self) -> bool:
        """True if its spring moves it on by itself: stronger than its friction, at one end at least."""
        return max(self.push_begin_N, self.push_end_N) > self.friction_N

    def sentence(self) -> str:
        """What moves, from where to where."""
        where = f"between {say(self.begin_deg, '°')} and {say(self.end_deg, '°')}"
        return f"{self.follower}: {self.states()}, {where}."

    def states(self) -> str:
        """From which state to which, with the lifts."""
        first, last = say(self.from_mm, "mm"), say(self.to_mm, "mm")
        return f"from {self.from_state} ({first}) to {self.to_state} ({last})"


@dataclass(frozen=True)
class Met:
    """An obstacle on the way, and the theta at which it is met."""

    obstacle: Obstacle
    theta_deg: float

    @property
    def name(self) -> str:
        """What it is, in words."""
        return obstacle_name(self.obstacle)

    def sentence(self) -> str:
        """What it is and where."""
        return f"At {say(self.theta_deg, '°')} {self.name} bars the way."


def obstacle_name(obstacle: Obstacle) -> str:
    """An obstacle in words.

    >>> obstacle_name(Obstacle("part stop", "pinch cam", ()))
    "the pinch cam's own stop"
    """
    if obstacle.kind == "interlock":
        return f"the interlock {obstacle.name}"
    return f"the {obstacle.name}'s own stop" if obstacle.kind == "part stop" else f"the stage {obstacle.name}"


@dataclass(frozen=True, eq=False)
class Way:
    """The way from ``start_deg`` in one ``sense`` to ``aim_deg``, where the target mode stands right.

    ``aim_deg`` is None where no place of the cam is right for the mode.  ``blocked``: the interlock or part
    stop that ends the way before; ``stop_deg`` is where turning ends.  ``wedged``: what the machine stands in
    at the start, and how far it is out of it, in the loading sense (+) or the unloading sense (−), the play
    that is to be taken up for that included.
    ``stages``, ``rests``: where they are entered and met; ``play_deg``: turning that may pass before the last
    part moves.
    """

    run: Run
    target: str
    start_deg: float
    aim_deg: float | None
    stop_deg: float
    blocked: Met | None
    wedged: tuple[tuple[Obstacle, float], ...]
    elsewhere: tuple[Met, ...]
    moves: tuple[LeverMove, ...]
    stages: tuple[tuple[float, Stage], ...]
    rests: tuple[float, ...]
    play_deg: float

    @property
    def sense(self) -> str:
        return self.run.sense

    @property
    def turn_deg(self) -> float:
        """Degrees of the main cam to be turned."""
        return abs(self.stop_deg - self.start_deg)

    def shaft_deg(self, theta: float) -> float:
        """How far the hand shaft turns the cam from the start to ``theta``, in degrees of the main cam."""
        return shaft_deg(self.run.transport, self.start_deg, theta)

    def sentence(self) -> str:
        """From where to where, in which sense, and what bars it."""
        if self.aim_deg is None:
            return f"No place of the cam is right for {self.target}."
        found = f"From {say(self.start_deg, '°')} to {say(self.stop_deg, '°')} in the {self.sense} sense"
        if self.blocked:
            return f"{found}, where {self.blocked.name} bars the way to {self.target}."
        return f"{found} to {self.target}."


@lru_cache(maxsize=512)
def way_out(transport: Transport, start_deg: float, target: str | None = None) -> Way:
    """The shortest free way by hand to where every follower stands right for ``target``, in order of events.

    ``start_deg``: theta, between the stops or 0 to 360; play is taken as taken up in the sense of the way.
    ``target``: a mode, by default the one to which the controller homes.  A free way comes before one that is
    barred, then the shorter.  The aim is the mode's own stop angle if that is right, else a tooth of the main
    gear inside the arc; where the cam is released from rest to rest, the next rest that is right, if any is.
    Returns a Way; raises MechError for a start beyond the stops or an unknown mode.  Derived.

    >>> from mechlib.transports import load
    >>> way = way_out(load("alder"), 176)
    >>> way.target, way.sense, round(way.turn_deg, 1), [move.follower for move in way.moves][:3]
    ('EJECT', 'unloading', 291.8, ['main brakes', 'pinch lever', 'reel idler'])
    """
    theta = check_number("start_deg", start_deg, *transport.ends, "°")
    target = transport.mode(transport.controller.home.mode if target is None else target).name
    ways = [_way(transport, theta, target, sense) for sense in transport.senses]
    there = [way for way in ways if way.aim_deg is not None]
    return min(there, key=lambda way: (way.blocked is not None, way.turn_deg), default=ways[0])


def long_run(transport: Transport, sense: str) -> Run:
    """The run in one sense over all that a way by hand can take, play taken up.

    >>> from mechlib.transports import load
    >>> long_run(load("birch"), "loading").high
    1080.0
    """
    if not transport.cyclic:
        return steady(transport, sense)
    return Run(transport, sense, -360.0 * TURNS, 360.0 * (TURNS + 1))


def _way(transport: Transport, start: float, target: str, sense: str) -> Way:
    run = long_run(transport, sense)
    aim = _aim(run, start, target)
    wedged, met = _wedged(run, start), _met(run, start, start if aim is None else aim)
    shut = [one for one in met if one.obstacle.kind != "elsewhere"]
    eased = {id(o) for o, out in wedged if out * SENSE[sense] > 0}  # left behind by turning on
    blocked = next((one for one in shut if id(one.obstacle) not in eased or one.theta_deg != start), None)
    stop = blocked.theta_deg if blocked else start if aim is None else aim
    way = (min(start, stop), max(start, stop))
    return Way(
        run,
        target,
        start,
        aim,
        stop,
        blocked,
        wedged,
        tuple(one for one in met if one not in shut and (stop - one.theta_deg) * SENSE[sense] >= 0),
        lever_moves(run, start, stop),
        _stages(transport, start, stop),
        transport.release.rests_from(*way) if transport.release else (),
        max(sum(transport.part(p).play_deg for p in chain) for chain in transport.chains.values()),
    )


# ---- Where to ----


def right_arcs(run: Run, target: str) -> Arcs:
    """The arcs of theta on which every follower that a mode names stands right, its code left aside.

    >>> from mechlib.transports import load
    >>> [(round(a, 1), round(b, 1)) for a, b in right_arcs(long_run(load("alder"), "unloading"), "EJECT")]
    [(-118.0, -99.1)]
    """
    arcs: Arcs = ((run.low, run.high),)
    for need in run.transport.mode(target).needs:
        arcs = intersect(arcs, run.need_arcs(need))
    return arcs


def _aim(run: Run, start: float, target: str) -> float | None:
    """Where turning in the run's sense may end; None where no right arc lies ahead."""
    direction, arcs, release = SENSE[run.sense], right_arcs(run, target), run.transport.release
    for rest in release.rests_from(start - release.latch_deg, run.high) if release else ():
        if holding(arcs, rest):
            return max(rest, start)
    if holding(arcs, start):
        return start
    ahead = [arc for arc in arcs if (arc[0] - start) * direction > 0]
    if not ahead:
        return None
    low, high = min(ahead, key=lambda arc: abs(arc[0] - start))
    inside = min(360.0 / run.transport.main_teeth, (high - low) / 2)
    edge = low + inside if direction > 0 else high - inside
    return _ahead([s for s in _stop_angles(run, target) if low <= s <= high], start, direction, edge)


def _ahead(stops: list[float], start: float, direction: int, otherwise: float) -> float:
    """The first of the stop angles that lies ahead, or else ``otherwise``."""
    ahead = [stop for stop in stops if (stop - start) * direction > 0]
    return min(ahead, key=lambda stop: abs(stop - start), default=otherwise)


def _stop_angles(run: Run, target: str) -> list[float]:
    """Where the mode stops after an arrival in the run's sense, over all turns of the run."""
    came = arrival(run.transport, target, run.sense)
    if came is None or not came.possible:
        return []
    turns = range(-TURNS, TURNS + 1) if run.transport.cyclic else (0,)
    return [came.stand_deg + 360.0 * turn for turn in turns]


# ---- What is in the way ----


def _wedged(run: Run, start: float) -> tuple[tuple[Obstacle, float], ...]:
    """What the machine stands in, and the turn out of it that is the shorter, of those between the stops.

    At an edge it only touches; where what is shut ends at a stop, it stands in it right up to there.
    """
    found = []
    for obstacle in run.obstacles:
        arc = holding(obstacle.arcs, start)
        if obstacle.kind != "elsewhere" and arc:
            inner = [edge for edge in arc if run.low < edge < run.high]
            outs = [edge - start for edge in eased_at(run, obstacle, arc) if run.low < edge < run.high]
            if inner and outs and min(abs(edge - start) for edge in inner) > EDGE_DEG:
                found.append((obstacle, min(outs, key=abs)))
    return tuple(found)


def eased_at(run: Run, obstacle: Obstacle, arc: tuple[float, float]) -> tuple[float, float]:
    """The theta below and above at which what stands in one arc of an obstacle is out of it.

    Turning on in the run's sense that is the arc's edge; turning back, all play is to be taken up first.

    >>> from mechlib.transports import load, slip
    >>> run = long_run(load("alder").with_faults(slip("idler cam", 3)), "unloading")
    >>> shut = run.obstacles[0]
    >>> [round(theta, 2) for theta in (*shut.arcs[1], *eased_at(run, shut, shut.arcs[1]))]
    [187.83, 194.48, 187.83, 194.84]
    """
    middle, (low, high) = sum(arc) / 2, arc
    back = UNLOADING if run.sense == LOADING else LOADING
    if back not in run.transport.senses:
        return arc
    turned = Run(run.transport, back, run.low, run.high, run.places_at(middle))
    same = (o.arcs for o in turned.obstacles if (o.kind, o.name) == (obstacle.kind, obstacle.name))
    below, above = holding(next(same, ()), middle) or arc  # what has lost teeth may stand elsewhere
    return (low, above) if back == LOADING else (below, high)


def _met(run: Run, start: float, end: float) -> list[Met]:
    """All that shuts some of the way, in the order in which the way comes to it; what bars it, every time."""
    way, direction = ((min(start, end), max(start, end)),), SENSE[run.sense]
    met = []
    for obstacle in run.obstacles:
        firsts = [a if direction > 0 else b for a, b in intersect(obstacle.arcs, way)[::direction]]
        met += [Met(obstacle, theta) for theta in firsts[: 1 if obstacle.kind == "elsewhere" else None]]
    return sorted(met, key=lambda one: (one.theta_deg - start) * direction)


# ---- What happens ----


def lever_moves(run: Run, start: float, stop: float) -> tuple[LeverMove, ...]:
    """Every visible move of a follower from one theta to another in the sense of the run, in order.

    >>> from mechlib.transports import load
    >>> [move.follower for move in lever_moves(long_run(load("alder"), "unloading"), 231, 200)]
    ['reel idler', 'reel idler', 'pinch lever']
    """
    direction = SENSE[run.sense]
    found = [move for f in run.transport.followers for move in _moves_of(run, f, start, stop)]
    return tuple(sorted(found, key=lambda move: (move.begin_deg * direction, move.end_deg * direction)))


def _moves_of(run: Run, follower: Follower, start: float, stop: float) -> list[LeverMove]:
    """The stretches of the way on which a follower visibly rises or falls; moves that join are one."""
    knots, joined, pieces = run.knots[follower.part], [], []
    turns = merge((t0, t1) for (t0, x0), (t1, x1) in pairwise(knots) if x1 - x0 > TINY)
    way = intersect(((min(start, stop), max(start, stop)),), turns)  # elsewhere its part stands
    for segment in follower.programme.segments:
        if not segment.is_dwell and segment.start_mm != segment.end_mm:
            span = ((segment.start_deg, segment.end_deg),)
            arcs = intersect(run.theta_arcs(follower.part, span), way)
            pieces += [(*arc, segment.end_mm > segment.start_mm) for arc in arcs]
    for low, high, rising in sorted(pieces):
        if joined and joined[-1][2] == rising and low - joined[-1][1] <= TINY:
            joined[-1] = (joined[-1][0], high, rising)
        else:
            joined.append((low, high, rising))
    ends = [(low, high) if run.sense == LOADING else (high, low) for low, high, _ in joined]
    moves = [_move(run, follower, begin, end) for begin, end in ends]
    return [move for move in moves if abs(move.to_mm - move.from_mm) > follower.tolerance_mm]


def _move(run: Run, follower: Follower, begin: float, end: float) -> LeverMove:
    places = [run.slipped_place(follower.part, theta) for theta in (begin, end)]
    first, last = map(follower.lift, places)
    way = 1 if last > first else -1  # a spring's force is positive towards smaller lifts
    pushes = [-way * follower.spring.force(mm) for mm in (first, last)]
    tape = run.transport.tape
    drawn = dict(tape.mm_per_mm).get(follower.name) if tape else None
    free = None if drawn is None else drawn * (first - last)
    arcs = _reel_free(run, tape.free) if tape and tape.free else None
    states = [follower.state(place) for place in places]
    return LeverMove(
        follower.name, begin, end, first, last, *states, *pushes, follower.friction_N, free, arcs
    )


def _reel_free(run: Run, needs: tuple[Need, ...]) -> Arcs:
    arcs: Arcs = ((run.low, run.high),)
    for need in needs:
        arcs = intersect(arcs, run.need_arcs(need))
    return arcs


def _stages(transport: Transport, start: float, stop: float) -> tuple[tuple[float, Stage], ...]:
    """The stages that are entered on the way, in order, and where; the first is the one it stands in."""
    direction, found = (1 if stop >= start else -1), []
    for stage in transport.stages:
        at = stage.start_deg if direction > 0 else stage.end_deg
        far = stage.end_deg if direction > 0 else stage.start_deg
        if (far - start) * direction > 0 and (stop - at) * direction > TINY:
            found.append((at if (at - start) * direction > 0 else start, stage))
    return tuple(sorted(found, key=lambda one: one[0] * direction))
