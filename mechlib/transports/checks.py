"""What a whole transport file must not contradict: told once every single entry is right."""

from __future__ import annotations

from collections.abc import Iterator

from mechlib.say import listing
from mechlib.transports.model import LOADING, MAIN_CAM, Transport
from mechlib.transports.runs import closed_contacts, steady
from mechlib.transports.timing import THE_CODE, arrival, arriving_senses, mode_margin

Problem = tuple[str, str, str]  # place in the file, what is wrong, what would be right


def contradictions(transport: Transport) -> list[Problem]:
    """Every contradiction of a transport with all its marks right; empty where there is none."""
    found = [*_code_arcs(transport), *_obstacles(transport)]
    if not found:  # margins make sense only once every code shows in one place and nothing is in the way
        found += [*_modes(transport), *_reference(transport)]
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
    """A track must cover its part's travel and a tooth of every mesh on the way beyond."""
    if transport.cyclic:
        return
    run = steady(transport, LOADING)
    for follower in transport.followers:
        spare = sum(transport.part(name).pitch_deg for name in transport.chains[follower.part])
        lag = sum(transport.part(name).play_deg for name in transport.chains[follower.part])
        knots = run.knots[follower.part]
        low, high = knots[0][1] - spare, knots[-1][1] + spare + lag
        first, last = follower.programme.segments[0], follower.programme.segments[-1]
        place = f'[[follower]] "{follower.name}", key track'
        if first.start_deg > low + 1e-9:
            yield (
                place,
                f"it starts at {first.start_deg:g} degrees",
                f"it must start at {low:g} or below: the {follower.part}'s travel and a tooth beyond",
            )
        if last.end_deg < high - 1e-9:
            yield (
                place,
                f"it ends at {last.end_deg:g} degrees",
                f"it must end at {high:g} or above: the {follower.part}'s travel and a tooth beyond",
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
            yield f"{place}, key needs", "it names no follower", "say where at least one follower must stand"
            continue
        margin = mode_margin(transport, mode.name)
        if margin.margin_deg < 0:
            out, sense = f"{-margin.margin_deg:g} degrees", f"the {margin.sense} sense"
            what = f"reached in {sense}, the {margin.follower} stands {out} outside its range"
            if margin.follower == THE_CODE:
                what = f"in {sense} its code would be read {out} beyond the stop"
            yield place, what, "with every mark right each mode stands right: read the angles again"


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
