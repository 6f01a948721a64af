"""Spoiled files, read as a reader's: a result or a MechError that names the place, never anything else.

    python tests/hostile.py 4000 [--first 0] [--only machine form drawn stock progress]

Each file, and each question asked of what it gives, may take 2 s of the processor and 200 MB above what the
process holds.  Prints counts, the slowest, the largest, and what broke; ends with 1 if anything did.
"""

from __future__ import annotations

import argparse
import os
import random
import re
import sys
import tempfile
import tomllib
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import fields, is_dataclass
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # its threads' stacks would count as memory

import guard
import numpy as np
from limits import Broken, Watch
from spoiled import drawn, spoiled, spoiled_values

from mechlib import transports as tr
from mechlib.bench.own_asked import CHOSEN
from mechlib.bench.own_draft import Draft, values_from
from mechlib.bench.own_form import SECTIONS
from mechlib.bench.own_typed import KINDS
from mechlib.bench.own_values import names_in, shown, value_at
from mechlib.bench.own_words import in_words
from mechlib.bench.stock import MOST_ROWS, read_stock
from mechlib.bench.where import where_it_stands
from mechlib.errors import MechError
from mechlib.teaching.class_table import class_table
from mechlib.teaching.progress import Progress
from mechlib.teaching.records import read_file
from mechlib.transports.effort import effort
from mechlib.transports.files import transport_from
from mechlib.transports.model import SENSE

LONGEST = 3000  # characters of one problem
PLACE = re.compile(r"line \d+, column \d+|top level|\[\[?\w+\]\]?")
TYPED = ("", "12", "1/0", "nan", "9" * 400, "1e308", "-3 teeth", "84°", "84° of x", "A, A", "x\0y", "ß" * 500,
         "off until 40°; to pressed until nan", "10 to 25 teeth; 1", ";" * 300, "“off” 3 mm", "off: 1e999 mm",
         '"', "((((", "\ud800", "to " * 300, "1 " * 2000, "A 1 mm; A 2 mm", None)  # fmt: skip


def told(refused: MechError, file: str) -> str:
    """Check that every problem names file and place; return "refused"."""
    if file not in str(refused):
        raise Broken(f"no file named: {str(refused)[:200]}")
    for problem in refused.problems:
        if file.endswith(".toml") and file not in problem:
            raise Broken(f"no file named: {problem[:200]}")
        if problem.startswith(f"{file}, ") and not PLACE.match(problem.removeprefix(f"{file}, ")):
            raise Broken(f"no place named: {problem[:200]}")
        if len(problem) > LONGEST:
            raise Broken(f"a problem of {len(problem)} characters: {problem[:100]}")
    return "refused"


def no_nan(value, depth: int = 0) -> None:
    """Broken where there is a number that is none, anywhere in a result."""
    if isinstance(value, float | np.floating | np.ndarray):
        if np.isnan(value).any():
            raise Broken("nan in a result")
    elif isinstance(value, dict):
        no_nan(list(value.values()), depth)
    elif depth < 8 and isinstance(value, list | tuple):
        for item in value:
            no_nan(item, depth + 1)
    elif depth < 8 and is_dataclass(value):
        for field in fields(value):
            no_nan(getattr(value, field.name), depth + 1)


def questions(transport, rng) -> Iterator[tuple[str, Callable]]:
    """What a loaded machine is asked: margins, interlocks, some changes, where it stands, effort."""
    yield "margins", lambda: tr.margins(transport)
    yield "interlocks", lambda: tr.interlock_margins(transport)
    for _ in range(3):
        start, target = (rng.choice(transport.mode_names) for _ in "ab")
        yield f"change {start}, {target}", lambda pair=(start, target): tr.change(transport, *pair)
    seen = {}
    for follower in rng.sample(transport.followers, min(2, len(transport.followers))):
        seen[follower.name] = rng.choice(["between", *dict(follower.states), (0, 1)])
    yield f"where {seen}", lambda: where_it_stands(transport, seen).text()
    for sense in SENSE:
        yield f"effort {sense}", lambda sense=sense: _effort(transport, sense)


def _effort(transport, sense: str):
    found = effort(transport, sense)
    if found is None:
        return None
    return found.loads(np.linspace(*transport.ends, 200))


def answered(watch: Watch, load: Callable, file: str, rng) -> str:
    """Load a transport and ask it everything."""
    transport = watch.act("load", load)
    if isinstance(transport, MechError):
        return told(transport, file)
    for what, ask in questions(transport, rng):
        no_nan(watch.act(what, ask))
    return "sound"


def machine(watch: Watch, folder: Path, seed: int) -> str:
    path = folder / f"spoiled {seed}.toml"
    path.write_bytes(spoiled("toml", seed))
    return answered(watch, lambda: tr.load(path), path.name, random.Random(seed))


def drawn_machine(watch: Watch, folder: Path, seed: int) -> str:
    drawn(seed % 12, seed % 2 == 0)
    values = spoiled_values(seed)
    return answered(watch, lambda: transport_from(values, "mine.toml"), "mine.toml", random.Random(seed))


def form(watch: Watch, folder: Path, seed: int) -> str:
    """A spoiled file in the form: everything shown, odd words typed, taken back, saved and read again."""
    path, rng = folder / f"draft {seed}.toml", random.Random(seed)
    path.write_bytes(spoiled("toml", seed + 7))
    values = watch.act("values", lambda: values_from(path))
    if isinstance(values, MechError):
        return told(values, path.name)
    draft = Draft(values)
    watch.act("shown", lambda: show(draft))
    for _ in range(3):
        watch.act("put", lambda: put_somewhere(draft, rng))
    watch.act("shown", lambda: show(draft))
    text = watch.act("text", draft.text)
    if not isinstance(text, MechError):  # what TOML can't hold is told
        path.write_text(text, "utf-8", "surrogatepass")
        again = watch.act("read again", lambda: values_from(path))
        if repr(again) != repr(tomllib.loads(text)) and "\ud800" not in text:
            raise Broken("what was saved comes back otherwise")
    while draft.undo():
        pass
    if repr(draft.values) != repr(values):
        raise Broken("not everything was taken back")
    return "sound" if draft.checked.transport else "with remarks"


def put_somewhere(draft: Draft, rng) -> None:
    """Type odd words into a box; take a table out, or add one."""
    section = rng.choice([s for s in SECTIONS.values() if draft.tables(s)])
    row, field = rng.randrange(len(draft.tables(section))), rng.choice(section.fields)
    if section.one and rng.random() < 0.3:
        draft.remove(section, row) if rng.random() < 0.5 else draft.add(section)
        return
    typed = rng.choice(TYPED)
    if field.kind not in CHOSEN and typed is not None:
        typed = KINDS[field.kind].read(typed, rng.choice(["teeth", ""])).value
    draft.put(section, row if section.one else None, field, typed)


def show(draft: Draft) -> None:
    """All that the form's pages show of a draft."""
    names = names_in(draft.values)
    draft.checked.text()
    for section in SECTIONS.values():
        for table in draft.tables(section):
            for field in section.fields:
                in_words(value_at(table, field), field, names)
                if field.kind in KINDS and value_at(table, field) is not None:
                    shown(table, field)


def stock(watch: Watch, folder: Path, seed: int) -> str:
    raw, path = spoiled("csv", seed), folder / f"stock {seed}.csv"
    path.write_bytes(raw)
    source = (path, str(path), raw)[seed % 3]
    found = watch.act("stock", lambda: read_stock(source))
    if isinstance(found, MechError):
        return told(found, "the stock list")
    no_nan(found)
    rows = {one.row for one in (*found.gears, *found.bad)}
    most = raw.count(b"\n") + raw.count(b"\r") + 1
    if len(found.gears) + len(found.bad) > MOST_ROWS or not rows <= set(range(1, most + 1)):
        raise Broken("rows that aren't in the file")
    if any(len(one.reason) > LONGEST or not one.reason for one in found.bad):
        raise Broken("a reason that nobody would read")
    watch.act("sentence", found.sentence)
    return "sound" if not found.bad else "with bad rows"


def progress(watch: Watch, folder: Path, seed: int) -> str:
    """A spoiled file in the folder of a reader and of a class; nothing in it stops a page."""
    path = folder / f"progress {seed}.jsonl"
    path.write_bytes(spoiled("jsonl", seed))
    found = watch.act("file", lambda: read_file(path))
    table = watch.act("class", lambda: class_table(folder, ()))
    mine = watch.act("mine", lambda: Progress(folder).guess("Which way?") or "")
    if isinstance(found, MechError) or isinstance(table, MechError) or isinstance(mine, MechError):
        raise Broken("refused where the rest should be read")
    for trouble in found.troubles:
        if path.name not in trouble or len(trouble) > LONGEST:
            raise Broken(f"a trouble without its place: {trouble[:200]}")
    watch.act("texts", lambda: (table.text(), table.csv()))
    no_nan(found)
    return "sound" if not found.troubles else "with troubles" if found.records else "refused"


ASKED = {
    "machine": machine,
    "form": form,
    "drawn": drawn_machine,
    "stock": stock,
    "progress": progress,
}


def run(kind: str, seeds, watch: Watch, say_every: int = 0) -> tuple[Counter, list[str]]:
    """Read the spoiled files of these seeds; return how they ended, and what broke."""
    counts, broken = Counter(), []
    with tempfile.TemporaryDirectory() as place:
        for number, seed in enumerate(seeds, 1):
            folder = Path(place, str(seed))
            folder.mkdir()
            watch.what = f"{kind} {seed}"
            try:
                counts[ASKED[kind](watch, folder, seed)] += 1
            except Broken as error:
                counts["BROKEN"] += 1
                broken.append(f"{watch.what}: {error}")
                print(f"  BROKEN {broken[-1]}", file=sys.stderr, flush=True)
            for file in folder.iterdir():
                file.unlink()
            folder.rmdir()
            if say_every and number % say_every == 0:
                print(f"  {kind}: {number} of {len(seeds)}, {dict(counts)}", file=sys.stderr, flush=True)
    return counts, broken


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("files", type=int, nargs="?", default=500, help="of each kind")
    parser.add_argument("--first", type=int, default=0, help="the first seed")
    parser.add_argument("--only", nargs="*", choices=ASKED, default=list(ASKED))
    given = parser.parse_args()
    guard.watch(("/proc/self/clear_refs",))
    bad = 0
    for kind in given.only:
        watch, seeds = Watch(), range(given.first, given.first + given.files)
        counts, broken = run(kind, seeds, watch, 1000)
        ends = ", ".join(f"{often} {end}" for end, often in sorted(counts.items()))
        print(f"{kind}: {given.files} files: {ends}")
        print(f"  slowest {watch.slowest[0]:.2f} s ({watch.slowest[1][:120]})")
        print(f"  largest {watch.largest[0]:.0f} MB ({watch.largest[1][:120]})", flush=True)
        for one in broken[:20]:
            print(f"  BROKEN {one}", flush=True)
        bad += len(broken)
    return int(bad > 0)


if __name__ == "__main__":
    sys.exit(main())
