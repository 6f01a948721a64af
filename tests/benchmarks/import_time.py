"""Print how long `import mechlib` takes beside `import numpy`, both measured in this run.

Run from the root: .venv/bin/python tests/benchmarks/import_time.py
"""

import statistics
import subprocess
import sys

TIMER = "import time; t = time.perf_counter(); import {}; print(1000 * (time.perf_counter() - t))"


def milliseconds(module: str) -> float:
    """Time one import in a Python of its own, started for this."""
    command = [sys.executable, "-c", TIMER.format(module)]
    return float(subprocess.run(command, capture_output=True, text=True, check=True).stdout)


def main(rounds: int = 11) -> None:
    modules = ("mechlib", "numpy")
    for module in modules:  # the first time also reads the files from disk
        milliseconds(module)
    times = {module: [] for module in modules}
    for _ in range(rounds):  # turn and turn about, so that other work on the machine strikes both
        for module in modules:
            times[module].append(milliseconds(module))
    median = {module: statistics.median(times[module]) for module in modules}
    for module in modules:
        print(f"import {module:8} {median[module]:8.2f} ms  (median of {rounds})")
    print(f"mechlib takes {median['mechlib'] / median['numpy']:.1%} of the time of numpy")


if __name__ == "__main__":
    main()
