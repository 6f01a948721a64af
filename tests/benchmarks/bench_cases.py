"""Print how the plan does on the bench cases of each level: how often it ends right, in how many checks.

    .venv/bin/python tests/benchmarks/bench_cases.py [level …] [--cases 200] [--first 1]

A case that the plan doesn't mend, or whose cause is still there, is told with what was hidden.  The first
cases of a transport take longest: every check is foretold for every fault.
"""

from __future__ import annotations

import argparse
import statistics
import sys
import time

from mechlib.teaching.bench_cases import LEVELS, bench_case
from mechlib.teaching.case_plan import planned
from mechlib.teaching.case_work import RIGHT


def run(level: int, first: int, cases: int) -> None:
    print(LEVELS[level].sentence())
    works, start = [], time.perf_counter()
    for number in range(first, first + cases):
        work = planned(bench_case(level, number))
        works.append(work)
        passed = time.perf_counter() - start
        print(f"\r  {len(works)} of {cases}, {passed:.0f} s", end="", file=sys.stderr, flush=True)
        if work.closed != RIGHT:
            hidden = " ".join(one.sentence() for one in work.case.hidden)
            print(f"\r  {work.sentence()} {work.closed or 'not mended'}. Hidden: {hidden}", flush=True)
    print("\r", end="", file=sys.stderr)
    report(works)


def report(works) -> None:
    right = [work for work in works if work.closed == RIGHT]
    checks = sorted(sum(one.check is not None for one in work.did) for work in works)
    mends = [sum(one.mend is not None for one in work.did) for work in works]
    straight = sum(
        number == len(work.case.hidden) for work, number in zip(works, mends, strict=True) if work.closed
    )
    print(f"  ended right: {len(right)} of {len(works)}; without a wrong repair: {straight}")
    print(f"  checks: median {statistics.median(checks):g}, 95 % within {checks[int(0.95 * len(checks))]}, "
          f"most {checks[-1]}; most repairs {max(mends)}")  # fmt: skip
    print(f"  minutes on average: {statistics.mean(work.minutes for work in works):.1f}", flush=True)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("levels", nargs="*", type=int, default=list(LEVELS))
    parser.add_argument("--cases", type=int, default=200, help="how many cases of each level")
    parser.add_argument("--first", type=int, default=1, help="the number of the first")
    chosen = parser.parse_args()
    for level in chosen.levels or LEVELS:
        run(level, chosen.first, chosen.cases)


if __name__ == "__main__":
    main()
