"""The controller of a transport file: order of modes, home, retry, routes of its own, watches."""

from __future__ import annotations

from mechlib.transports.model import Controller, Leg, Watch
from mechlib.transports.read_table import Table, named
from mechlib.transports.read_tracks import read_needs


def read_controller(top: Table, modes: list[str], followers, senses: tuple[str, ...]) -> Controller | None:
    """The [controller] table; ``modes`` are the names of all modes, ``senses`` those of the drive."""
    table = top.table("controller", "a [controller] table with order, time_out_s and home")
    if table is None:
        return None
    order = table.choices("order", modes)
    if order is not None and (missing := [m for m in modes if m not in order]):
        table.problem(
            "order", f"{named(missing)} left out", "list every mode once, in the order along the travel"
        )
    time_out = table.number("time_out_s", 0.1, 600, "seconds")
    home = _leg(table.table("home", 'such as {sense = "unloading", mode = "STOP"}'), modes, senses)
    retry, tries = None, 0
    if retry_table := table.table("retry", "such as {sense = …, mode = …, times = 1}", optional=True):
        tries = retry_table.count("times", 1, 10, "the number of retries", optional=True) or 1
        retry = _leg(retry_table, modes, senses)
    watches = tuple(
        _watch(watch, modes, followers)
        for watch in table.tables("watch", "[[controller.watch]] tables", optional=True)
    )
    routes = _routes(table, modes, senses)
    table.done()
    return Controller(
        order or (),
        time_out or 1.0,
        home,
        retry,
        tries,
        routes,
        watches,
    )


def _routes(table: Table, modes: list[str], senses) -> tuple[tuple[str, str, tuple[Leg, ...]], ...]:
    """The changes that have legs of their own, as (start, target, legs)."""
    routes: dict[tuple[str, str | None], tuple[Leg, ...]] = {}
    for change in table.tables("change", "[[controller.change]] tables", optional=True):
        starts = change.choices("from", modes) or ()
        target = change.choice("to", modes)
        given = change.tables("legs", "a list of legs, each {sense = …, mode = …}")
        legs = tuple(_leg(leg, modes, senses) for leg in given)
        if not legs or (None not in legs and target and legs[-1].mode != target):
            change.problem(
                "legs", "the last leg does not wait for the mode in to", "end with a leg to the target"
            )
        for start in starts:
            if (start, target) in routes or start == target:
                change.problem(
                    "from", f"{start} to {target} stands twice or goes nowhere", "give each change once"
                )
            routes[start, target] = legs
        change.done()
    return tuple((start, target, legs) for (start, target), legs in routes.items())


def _leg(table: Table | None, modes: list[str], senses: tuple[str, ...]) -> Leg | None:
    if table is None:
        return None
    sense, mode = table.choice("sense", senses), table.choice("mode", modes)
    leg = Leg(sense, mode, table.flag("turn_first"))
    table.done()
    return leg if sense and mode else None


def _watch(table: Table, modes: list[str], followers) -> Watch:
    sensor = table.text("sensor", 'what is watched, such as "reel pulses"')
    watched = table.choices("modes", modes)
    delay = table.number("delay_s", 0, 600, "seconds")
    needs = read_needs(table, "needs", followers)
    table.done()
    return Watch(sensor or "", watched or (), delay or 0.0, needs)
