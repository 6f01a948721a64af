"""Run the whole suite on the oldest and on the newest versions that the requirements allow.

    .venv/bin/python tests/dependency_ranges.py [oldest] [newest] [-- pytest's arguments]

Each end gets a virtual environment of its own in a temporary folder: for the oldest every requirement is
pinned to its lower bound, for the newest pip takes what the upper bounds let through.  Prints what was
installed and ends with 1 if a suite fails.
"""

from __future__ import annotations

import re
import subprocess
import sys
import tempfile
import tomllib
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
LISTS = ("requirements.txt", "tests/requirements.txt")
BOUNDS = re.compile(r"^([A-Za-z0-9_.-]+)>=([0-9.]+),<([0-9.]+)$")


def bounds() -> dict[str, tuple[str, str]]:
    """The lower bound and the upper bound (left out itself) of every requirement."""
    project = tomllib.loads((ROOT / "mechlib" / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    lines = [
        *project["dependencies"],
        *(line for extra in project["optional-dependencies"].values() for line in extra),
    ]
    for name in LISTS:
        lines += (ROOT / name).read_text(encoding="utf-8").splitlines()
    wanted = [line.strip() for line in lines if line.strip() and not line.startswith(("#", "-e"))]
    found = {line: BOUNDS.match(line) for line in wanted}
    if unbounded := [line for line, match in found.items() if match is None]:
        raise SystemExit(f"without a lower and an upper bound: {', '.join(unbounded)}")
    return {match[1]: (match[2], match[3]) for match in found.values()}


def constraints(end: str) -> str:
    """What pip is told on top of the requirements: the lower bounds as they are, or nothing."""
    return "".join(f"{name}=={low}\n" for name, (low, _) in bounds().items() if end == "oldest")


def suite_on(end: str, arguments: list[str]) -> int:
    """Install one end of the ranges in an environment of its own and run the suite there."""
    with tempfile.TemporaryDirectory(prefix=f"{end}-") as folder:
        python = Path(folder, "venv", "bin", "python")
        pins = Path(folder, "constraints.txt")
        pins.write_text(constraints(end), encoding="utf-8")
        subprocess.run([sys.executable, "-m", "venv", python.parents[1]], check=True)
        lists = [word for name in LISTS for word in ("-r", name)]
        install = [python, "-m", "pip", "install", "-q", *lists, "-c", pins]
        subprocess.run(install, cwd=ROOT, check=True)
        print(f"---- {end} ----", flush=True)
        subprocess.run([python, "-m", "pip", "freeze", "--exclude-editable"], cwd=ROOT, check=True)
        return subprocess.run([python, "-m", "pytest", *arguments], cwd=ROOT).returncode


def main(words: list[str]) -> int:
    ends, _, arguments = " ".join(words).partition("-- ")
    failed = [end for end in ends.split() or ["oldest", "newest"] if suite_on(end, arguments.split())]
    print(f"failed: {', '.join(failed)}" if failed else "the suite passes")
    return bool(failed)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
