"""What a whole transport file must not contradict: told once every single entry is right."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations, permutations

from mechlib.say import listing
from mechlib.transports.mode_change import change
from mechlib.transports.model import LOADING, MAIN_CAM, SENSE, Need, Transport
from mechlib.transports.outcomes import RIGHT, TOO_SLOW
from mechlib.transports.runs import closed_contacts, steady
from mechlib.transports.timing import THE_CODE, arrival, arriving_senses, legs_between, mode_margin

Problem = tuple[str, str, str]  # place in the file, what is wrong, what would be right
PATIENT_S = 600.0  # the longest time-out that a file may give


def contradictions(transport: Transport) -> list[Problem]:
    """Every contradiction of a transport with all its marks right; empty where there is none."""
    found = [*_code_arcs(transport), *_obstacles(transport)]
    if not found:  # margins make sense only once every code shows in one place and nothing is in the way
        found += [*_needless(transport), *_reference(transport)]
        wrong_order = [*_order(transport)]
        found += wrong_order or _modes(transport)
    gearing = [*_outputs(transport), *_pinions(transport)]
    return [*gearing, *found, *_end_contacts(transport), *_tracks(transport)]


def _outputs(transport: Transport) -> Iterator[Problem]:
    """An output that the same set turns as it turns the main cam has its speed from the tooth counts."""
    cam = next((s for s in transport.stages if s.ratio and s.drives == (MAIN_CAM,)), None)
    for stage in transport.stages if cam else ():
        if stage.ratio is None or (stage.through, stage.driven) != (cam.through, cam.driven):
            continue
        speed = float(stage.ratio / cam.ratio)
        for root in transport.roots[1:]:
            if stage.drives == (root.name,) and abs(root.speed - speed) > 1e-6 * abs(speed):
                place = f'[[output]] "{root.name}", key speed'
                yield (
                    place,
                    f"it is {root.speed:g}, but the {stage.through} gives {speed:.10g}",
                    (f"{stage.turns} over {cam.turns}, each with the {cam.driven} driven at one speed"),
                )


def _pinions(transport: Transport) -> Iterator[Problem]:
    """The mesh that drives a part-toothed main gear has the teeth of that gear and of its pinion."""
    for mesh in transport.upstream if transport.release else ():
        gear = transport.release.gear
        for key, found, right in (
            ("driver_teeth", mesh.driver_teeth, gear.pinion_teeth),
            ("driven_teeth", mesh.driven_teeth, gear.places),
        ):
            if mesh.drives == MAIN_CAM and found != right:
                what = f"it is {found}, but by the [part_toothed] gear it is {right}"
                yield f'[[upstream_mesh]] "{mesh.name}", key {key}', what, "count both once more"


def _codes_at_rest(transport: Transport) -> Iterator[Problem]:
    """A part-toothed gear's codes are read at its rests alone; in between they may show anywhere."""
    run, rests = steady(transport, LOADING), transport.release.rests_deg
    shown = [closed_contacts(transport, run.places_at(rest)) for rest in rests]
    for mode in transport.modes:
        if (number := shown.count(mode.code)) != 1:
            what = f"it shows at {number} of the rests at {listing(f'{rest:g}' for rest in rests)} degrees"
            right = "a code must show at one rest: correct the code or the arcs under [[contact]]"
            yield f'[[mode]] "{mode.name}", key code', what, right


def _code_arcs(transport: Transport) -> Iterator[Problem]:
    if transport.release:
        yield from _codes_at_rest(transport)
        return
    for sense in transport.senses:
        run = steady(transport, sense)
        for mode in transport.modes:
            arcs = run.code_arcs(mode.code)
            if transport.cyclic:
                arcs = tuple(arc for arc in arcs if 0 <= arc[0] < 360)
            place = f'[[mode]] "{mode.name}", key code'
            if not arcs:
                yield (
                    place,
                    "these contacts never are closed together, and alone, between the stops",
                    "correct the code or the arcs under [[contact]]",
                )
            elif len(arcs) > 1:
                spans = " and ".join(f"{a:g} to {b:g}" for a, b in arcs)
                yield (
                    place,
                    f"it shows on several arcs ({spans} degrees)",
                    "a code must show in one place only",
                )
            elif arcs[0][1] - arcs[0][0] < transport.settle_deg:
                yield (
                    place,
                    f"it shows for {arcs[0][1] - arcs[0][0]:g} degrees only",
                    f"it must stand for settle, {transport.settle_deg:g} degrees",
                )


def _obstacles(transport: Transport) -> Iterator[Problem]:
    kinds = {
        "interlock": ("interlock", "the two followers collide with every mark right"),
        "part stop": ("part", "the part reaches its own stop with every mark right"),
        "elsewhere": ("stage", "what it needs does not hold all along it"),
        "not told": ("stage", "the contact of its hand-over does not close where it ends"),
        "too soon": ("stage", "the contact of its hand-over closes too far from its end"),
    }
    for sense in transport.senses:
        run = steady(transport, sense)
        for obstacle in run.obstacles + run.hand_overs:
            lock = next((lock for lock in transport.interlocks if lock.name == obstacle.name), None)
            if obstacle.kind == "interlock" and (misread := _in_passing(transport, lock.must)):
                yield misread
                continue
            table, what = kinds[obstacle.kind]
            low, high = obstacle.arcs[0]
            yield (
                f'[[{table}]] "{obstacle.name}"',
                f"{what}, from {low:g} to {high:g} degrees",
                "one of the angles is wrong: read them again at the machine",
            )


def _end_contacts(transport: Transport) -> Iterator[Problem]:
    """Where the mode switch stands, another contact has to tell the end of the stage; so at a hand-over."""
    switch_root = transport.root_of(transport.switch_part)
    on = {contact.name: contact.part for contact in transport.contacts}
    for stage in transport.stages:
        for told in stage.hand_overs:
            if transport.root_of(on[told.contact]) not in stage.drives:
                yield (
                    f'[[stage]] "{stage.name}", key hand_over',
                    f"{told.contact} sits on a part that stands in this stage",
                    "name a contact on a part that this stage drives",
                )
    for stage in transport.stages:
        place = f'[[stage]] "{stage.name}", key end_contact'
        if stage.end_contact is None:
            if switch_root not in stage.drives:
                yield place, "the mode switch stands in this stage", "name the contact that tells its end"
        elif transport.root_of(on[stage.end_contact]) not in stage.drives:
            yield (
                place,
                f"{stage.end_contact} sits on a part that stands in this stage",
                "name a contact on a part that this stage drives",
            )


def _tracks(transport: Transport) -> Iterator[Problem]:
    """A track must cover its part's travel, and a tooth beyond of every mesh on the way, which may slip."""
    if transport.cyclic:
        return
    run = steady(transport, LOADING)
    for follower in transport.followers:
        chain = [transport.part(name) for name in transport.chains[follower.part]]
        spare = sum(part.pitch_deg for part in chain)
        lag = sum(part.play_deg for part in chain)
        knots = run.knots[follower.part]
        low, high = knots[0][1] - spare, knots[-1][1] + spare + lag
        first, last = follower.programme.segments[0], follower.programme.segments[-1]
        place = f'[[follower]] "{follower.name}", key track'
        covered = f"the {follower.part}'s travel" + " and a tooth beyond" * bool(chain)
        if first.start_deg > low + 1e-9:
            what = f"it starts at {first.start_deg:g} degrees"
            yield place, what, f"it must start at {low:g} or below: {covered}"
        if last.end_deg < high - 1e-9:
            what = f"it ends at {last.end_deg:g} degrees"
            yield place, what, f"it must end at {high:g} or above: {covered}"


def _needless(transport: Transport) -> Iterator[Problem]:
    for mode in transport.modes:
        if not mode.needs:
            place = f'[[mode]] "{mode.name}", key needs'
            yield place, "it names no follower", "say where at least one follower must stand"


def _code_places(transport: Transport) -> dict[str, float]:
    """Where each mode's code comes in the loading sense, in the order of the travel."""
    if transport.cyclic:
        came = {mode: arrival(transport, mode, LOADING) for mode in transport.mode_names}
        found = {mode: one.read_deg % 360.0 for mode, one in came.items() if one}
    else:
        run = steady(transport, LOADING)
        found = {mode.name: run.code_arcs(mode.code)[0][0] for mode in transport.modes}
    return dict(sorted(found.items(), key=lambda item: item[1]))


def _order(transport: Transport) -> Iterator[Problem]:
    """By the order the controller knows which way to turn: it must be that in which the codes come.

    A change with legs of its own doesn't ask for it; on a cam that goes round no change does.
    """
    if transport.cyclic:
        return
    places, own = _code_places(transport), transport.controller.legs
    for one, other in combinations(transport.mode_names, 2):
        if places[one] > places[other] and not {(one, other), (other, one)} <= set(own):
            what = f"{one} stands before {other}, but along the travel its code comes after it"
            right = f"in the loading sense the codes come so: {', '.join(places)}"
            yield "[controller], key order", what, right
            return


def _long_ways(transport: Transport) -> set[tuple[str, str]]:
    """The changes with the longest runs of the motor: in each sense, and from each mode if it goes round."""
    places, ways = _code_places(transport), {}
    for start, target in permutations(places, 2):
        at = places[start]
        for leg in legs_between(transport, start, target):
            way, at = (places.get(leg.mode, at) - at) * SENSE[leg.sense], places.get(leg.mode, at)
            way = way % 360.0 if transport.cyclic else way
            key = leg.sense, start if transport.cyclic else ""
            ways[key] = max(ways.get(key, (0.0, start, target)), (way, start, target))
    return {(start, target) for _, start, target in ways.values()}


def hasty(transport: Transport) -> Iterator[Problem]:
    """That the controller gives up before its own machine, with nothing out of order, has come there.

    Apart from the contradictions, since a file may well tell of a machine that has become too slow.

    >>> from mechlib.transports import load
    >>> list(hasty(load("alder")))
    []
    """
    senses, controller = arriving_senses(transport), transport.controller
    ways = [(*pair, sense) for pair in _long_ways(transport) for sense in senses[pair[0]]]
    late = [way for way in ways if any(leg.ended == TOO_SLOW for leg in change(transport, *way).legs)]
    if not late:
        return
    patient = replace(transport, controller=replace(controller, time_out_s=PATIENT_S))
    runs = ((leg, way) for way in late for leg in change(patient, *way).legs)
    seconds, (start, target, _) = max(
        ((leg.time_s, way) for leg, way in runs if leg.ended in (RIGHT, TOO_SLOW)),
        default=(PATIENT_S, late[0]),
    )
    least = "more than " * (seconds == PATIENT_S)
    long = f"{start} to {target} keeps the motor on for {least}{seconds:.1f} s"
    yield (
        "[controller], key time_out_s",
        f"it is {controller.time_out_s:g} s, but {long}",
        "time both once more: this, and how fast the cam turns",
    )


def _modes(transport: Transport) -> Iterator[Problem]:
    for mode in transport.modes:
        place = f'[[mode]] "{mode.name}"'
        if not any(
            (a := arrival(transport, mode.name, s)) and a.possible
            for s in arriving_senses(transport)[mode.name]
        ):
            yield place, "no change ever can read its code between the stops", "correct its code or the order"
            continue
        if not mode.needs:
            continue
        margin = mode_margin(transport, mode.name)
        if margin.margin_deg < 0:
            out, sense = f"{-margin.margin_deg:g} degrees", f"the {margin.sense} sense"
            what = f"reached in {sense}, the {margin.follower} stands {out} outside its range"
            right = "with every mark right each mode stands right: read the angles again"
            if margin.follower == THE_CODE:
                what = f"in {sense} its code would be read {out} beyond the stop"
            else:
                need = next(need for need in mode.needs if need.follower == margin.follower)
                place, what, right = _in_passing(transport, need) or (place, what, right)
            yield place, what, right


def _in_passing(transport: Transport, need: Need) -> Problem | None:
    """What is wrong where a follower rests at no lift that is needed: a lift misread, and not an angle."""
    follower = transport.follower(need.follower)
    rests = follower.programme.rests_mm
    if not rests or any(low <= rest <= high for low, high in need.spans for rest in rests):
        return None
    within = follower.tolerance_mm
    around = {(mm - within, mm + within): (state, mm) for state, mm in follower.states}
    if not set(need.spans) <= set(around):
        return None  # a range, or "between", may be met in passing
    state, mm = around[need.spans[0]]
    what = f"{state} ({mm:g} mm, within {within:g}) is met in passing only"
    right = f"it rests at {listing(f'{rest:g}' for rest in rests)} mm: correct this lift, or what was read"
    return f'[[follower]] "{follower.name}", key states', what, right


def _reference(transport: Transport) -> Iterator[Problem]:
    run = steady(transport, LOADING)
    mode = transport.mode(transport.reference_mode)
    shown = closed_contacts(transport, run.places_at(0.0)) if transport.release else run.code_at(0.0)
    if shown != mode.code:
        yield (
            "top level, key reference_mode",
            f"the code of {mode.name} does not show at 0 degrees",
            "theta is 0 where the marks line up in the reference mode",
        )
