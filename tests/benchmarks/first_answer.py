"""Time a search for a fault: its first answer, what is worked out while the reader looks, a later answer.

    python tests/benchmarks/first_answer.py [TRANSPORT ...]

Before the first answer nothing is known of a machine: a mode change ran on and powered off.  The later one
tells of another change, which worked, once all is worked out.  By the time of the processor.
"""

from __future__ import annotations

import sys
import time
from collections import deque

from mechlib.bench.checks import TRY, checks_of
from mechlib.bench.fault_search import fault_search
from mechlib.bench.observations import tried
from mechlib.bench.readings import RAN_ON, WORKED
from mechlib.transports import load, shipped


def timed(act) -> tuple[float, object]:
    """Seconds of the processor, and what came of it."""
    begun = time.process_time()
    found = act()
    return time.process_time() - begun, found


def answers(name: str) -> str:
    """A line of the table."""
    transport = load(name)
    first, other = [check for check in checks_of(transport) if check.kind == TRY][:2]
    seen = [tried(first.start, first.target, RAN_ON), tried(other.start, other.target, WORKED)]
    first_s, search = timed(lambda: fault_search(transport, seen[:1]))
    rest_s, _ = timed(lambda: deque(search.ahead(), maxlen=0))
    later_s, _ = timed(lambda: fault_search(transport, seen))
    foretold = search.finding.foretold
    machines = sum(len(foretold.faulty(row)) for row in foretold.every_row)
    return f"{name:10}{machines:9}{first_s:14.1f}{rest_s:12.1f}{later_s:14.1f}"


def main(names: list[str]) -> None:
    """Print a line for each transport."""
    print("seconds    machines  first answer  rest ahead  later answer")
    for name in names:
        print(answers(name), flush=True)


if __name__ == "__main__":
    main(sys.argv[1:] or list(shipped()))
