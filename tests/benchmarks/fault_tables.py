"""Time every change of Alder for 2,000 faulty states, beside the plain loop of ``change``.

    python tests/benchmarks/fault_tables.py [STATES]

Two lists of as many states: those that the search for a fault weighs (every single fault in all its grades,
then the likeliest pairs), and single faults with pairs drawn by a seed, which have less in common.  The plain
loop takes each state alone and keeps nothing from one to the next.  It is run on a sample, drawn by a seed,
and extrapolated to all states; its changes are compared with those of the many.  Both are timed in this run
by the time of the processor, as the machine may be busy with other things; then all are asked for once more.
"""

from __future__ import annotations

import random
import resource
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from fault_states import states
from plain_changes import forget, plain_changes, same_changes

from mechlib.bench.suspects import suspects
from mechlib.transports import load
from mechlib.transports.change_table import pairs
from mechlib.transports.many_tables import tables_of

STATES, SAMPLE = 2000, 20


def weighed(transport, number: int) -> list[tuple]:
    """The states that the search for a fault weighs, with as many pairs as it takes; all singles at least."""
    singles = {one.faults for one in suspects(transport, 0)}
    every = suspects(transport, max(number - len(singles), 0))
    return list(dict.fromkeys(one.faults for one in every))


def bar(done: int, number: int) -> None:
    """How far it has come, on one line."""
    if done % 50 == 0 or done == number:
        print(f"\r{done} of {number} states", end="\n" if done == number else "", flush=True)


def timed(act) -> tuple[float, object]:
    """Seconds of the processor, and what came of it."""
    before = time.process_time()
    found = act()
    return time.process_time() - before, found


def compare(transport, what: str, every: list[tuple]) -> None:
    """Time these states both ways and print how long they take."""
    forget()
    first_s, tables = timed(lambda: tables_of(transport, every, bar))
    again_s, _ = timed(lambda: tables_of(transport, every))
    forget()  # before the clock runs: what is kept of all these takes its time to give up
    sample = random.Random(1).sample(every, min(SAMPLE, len(every)))
    plain_s, plain = timed(lambda: [plain_changes(transport, state) for state in sample])
    unlike = [
        state for state, table in zip(sample, plain, strict=True) if not same_changes(table, tables[state])
    ]
    each, whole_s = 1e3 * plain_s / len(sample), plain_s / len(sample) * len(every)
    print(f"{what}: {len(tables)} states, {len(pairs(transport))} changes in each; seconds of the processor")
    print(f"together, the first time   {first_s:8.1f}   {1e3 * first_s / len(every):7.2f} ms a state")
    print(f"once more                  {again_s:8.3f}")
    print(f"plain loop, extrapolated   {whole_s:8.1f}   {each:7.2f} ms a state, from {len(sample)}")
    print(f"plain over together: {whole_s / first_s:.1f} times")
    print(f"states of the sample whose changes differ: {len(unlike)}\n")


def main(number: int = STATES) -> None:
    """Compare both ways for both lists."""
    transport = load("alder")
    compare(transport, "weighed by the search", weighed(transport, number))
    compare(transport, "pairs drawn", states(transport, number)[:number])
    print(f"at most {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB in use")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:2]))
