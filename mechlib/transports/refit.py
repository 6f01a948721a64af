"""Other followers in a transport: every need that names one is worked out again from its track."""

from __future__ import annotations

from dataclasses import replace

from mechlib.transports.model import Follower


def refitted(transport, followers: tuple[Follower, ...]) -> dict:
    """The fields of a transport that change with its followers, as keywords for ``replace``."""
    known = {follower.name: follower for follower in followers}

    def seen(need):
        return replace(need, arcs=known[need.follower].arcs(need.spans))

    def all_seen(owner):
        return replace(owner, needs=tuple(map(seen, owner.needs)))

    controller, tape = transport.controller, transport.tape
    return {
        "followers": followers,
        "stages": tuple(map(all_seen, transport.stages)),
        "modes": tuple(map(all_seen, transport.modes)),
        "interlocks": tuple(replace(i, when=seen(i.when), must=seen(i.must)) for i in transport.interlocks),
        "controller": replace(controller, watches=tuple(map(all_seen, controller.watches))),
        "tape": tape and replace(tape, free=tuple(map(seen, tape.free))),
    }
