"""Files that no reader should ever get: the library gives a result or a MechError that names the place.

500 spoiled files of each kind, each within 2 s of the processor and 200 MB; `python tests/hostile.py 4000`
reads more.  They are read in a process of their own, so that limits can be set and a hang is seen.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tomllib
from contextlib import suppress
from pathlib import Path

import pytest
from hostile import ASKED
from share import times
from spoiled import progress_file, spoiled

from mechlib.bench.own_draft import values_from
from mechlib.bench.stock import read_stock
from mechlib.errors import MechError
from mechlib.teaching.class_table import class_table
from mechlib.teaching.progress import Progress
from mechlib.teaching.records import read_file
from mechlib.transports import load, shipped
from mechlib.transports.files import DATA, transport_from

TESTS = Path(__file__).parent
HANGS_S = 300  # no limit that is tested: only so that a hang ends


def in_a_process(*words: str) -> subprocess.CompletedProcess:
    return subprocess.run(
        [sys.executable, *words], capture_output=True, text=True, timeout=HANGS_S, cwd=TESTS, check=False
    )


@pytest.mark.slow
@pytest.mark.parametrize("kind", ASKED)
def test_spoiled_files(kind):
    number = times(50, 500)
    done = in_a_process("hostile.py", str(number), "--only", kind)
    assert done.returncode == 0, done.stdout + done.stderr
    assert f"{kind}: {number} files: " in done.stdout and " sound" in done.stdout
    assert kind in ("drawn", "form") or " refused" in done.stdout  # the hand spoils, and not all


@pytest.mark.parametrize(
    ("deed", "words"),
    [
        ("bytearray(300_000_000)", "over 200 MB"),
        ("[n for n in iter(int, 1) if n]", "over 2 s"),
        ("1 / 0", "ZeroDivisionError"),
        ("{}['x']", "KeyError"),
    ],
)
def test_what_is_over_the_limits_is_seen(deed, words):
    done = in_a_process("-c", f"import limits; limits.Watch().act('deed', lambda: {deed})")
    assert done.returncode == 1 and f"limits.Broken: deed: {words}" in done.stderr


def test_the_same_seed_spoils_alike_and_others_otherwise():
    for kind in ("toml", "csv", "jsonl"):
        first = [spoiled(kind, seed) for seed in range(200)]
        assert first == [spoiled(kind, seed) for seed in range(200)]
        assert len(set(first)) > 180


@pytest.fixture(
    params=["folder", "missing", "device", "null", "pipe", "loop", "locked", "beside a file", "long"]
)
def odd_path(request, tmp_path):
    """A path at which no file can be read, with an ending to be added by whoever makes it."""

    def make(ending: str) -> Path:
        path = tmp_path / f"odd{ending}"
        if request.param == "folder":
            path.mkdir()
        elif request.param in ("device", "null"):
            path.symlink_to({"device": "/dev/zero", "null": "/dev/null"}[request.param])
        elif request.param == "pipe":
            os.mkfifo(path)
        elif request.param == "loop":
            path.symlink_to(path)
        elif request.param == "locked":
            path.write_text("x")
            path.chmod(0)
        elif request.param == "beside a file":
            (tmp_path / "file").write_text("x")
            path = tmp_path / "file" / f"odd{ending}"
        elif request.param == "long":
            path = tmp_path / ("n" * 300 + ending)
        return path

    return make


@pytest.mark.parametrize("read", [load, values_from], ids=["load", "form"])
def test_a_transport_at_an_odd_path(odd_path, read):
    path = odd_path(".toml")
    with pytest.raises(MechError) as refused:
        read(path)
    assert path.name[:60] in str(refused.value)


def test_a_stock_list_at_an_odd_path(odd_path):
    with pytest.raises(MechError, match="the stock list"):
        read_stock(odd_path(".csv"))


def test_progress_at_an_odd_path(odd_path):
    path = odd_path(".jsonl")
    found = read_file(path)
    assert found.records == () and all(path.name in trouble for trouble in found.troubles)
    with pytest.raises(MechError, match="no folder"):
        class_table(path / "none", ())


def test_an_odd_file_in_a_class_spoils_no_other(odd_path, tmp_path):
    (tmp_path / "ann.jsonl").write_bytes(progress_file())
    path = odd_path(".jsonl")
    table = class_table(tmp_path, ())
    assert [reader.reader for reader in table.readers] == ["Ann", "Ben"]
    assert all(path.name in trouble for trouble in table.troubles)


def test_a_name_at_an_odd_path_is_no_name(odd_path):
    path = odd_path("")
    with suppress(OSError):
        path.rename(path.with_name("name.txt"))
    assert Progress(path.parent).name in ("", "x")  # x where root may read what is locked


@pytest.mark.parametrize("read", [load, values_from, read_stock], ids=["load", "form", "stock"])
@pytest.mark.parametrize("text", ["a\0b", "\ud800", "..", "/", "~", " ", "con", "a/" * 3000, "\\\\x\\y"])
def test_odd_words_for_a_path(read, text, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    for given in (text, f"{text}.toml", f"{text}.csv"):
        with pytest.raises(MechError) as refused:
            read(given)
        assert len(str(refused.value)) < 9000
    with pytest.raises(MechError):
        class_table(Path(f"{text}.none"), ())


def test_a_file_a_little_too_large(tmp_path):
    whole = (DATA / "dogwood.toml").read_bytes()
    path = tmp_path / "large.toml"
    path.write_bytes(whole + b"#" * (1_000_000 - len(whole)))
    assert load(path) == load("dogwood")
    path.write_bytes(whole + b"#" * (1_000_001 - len(whole)))
    with pytest.raises(MechError, match=r"^large.toml is larger than a million bytes"):
        load(path)


def test_a_very_long_name_makes_no_long_message(tmp_path):
    path = tmp_path / "long.toml"
    text = (DATA / "dogwood.toml").read_text("utf-8")
    path.write_text(text.replace("down = 0, up = 6", f"down = 0, {'up' * 50_000} = 6"))
    with pytest.raises(MechError, match="there is down, upup") as refused:
        load(path)
    assert max(map(len, refused.value.problems)) < 700


def test_very_many_names_make_no_long_message(tmp_path):
    path = tmp_path / "many.toml"
    text = (DATA / "dogwood.toml").read_text("utf-8")
    many = ", ".join(f"place_{number} = {number}" for number in range(190))
    path.write_text(text.replace("down = 0, up = 6", many))
    with pytest.raises(MechError, match="and 151 more") as refused:
        load(path)
    assert max(map(len, refused.value.problems)) < 3000


@pytest.mark.few(12)
@pytest.mark.parametrize("odd", ["0.5", "nan", "true", '"text"', "{}", "[]", "[[]]", "[1]"])
@pytest.mark.parametrize("name", shipped())
def test_any_table_may_be_something_else(tmp_path, name, odd):
    """Every list of tables and every table of a file replaced by a value: told under its name."""
    values = tomllib.loads((DATA / f"{name}.toml").read_text("utf-8"))
    for key, value in values.items():
        if not isinstance(value, dict | list):
            continue
        other = values | {key: tomllib.loads(f"x = {odd}")["x"]}
        try:
            transport_from(other, "odd.toml")
        except MechError as refused:
            assert odd in ("{}", "[]") or re.search(rf"odd.toml, .*\b{key}\b", str(refused))
        else:
            assert odd in ("{}", "[]")  # nothing was said
