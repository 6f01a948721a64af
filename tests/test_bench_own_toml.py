"""A file that the form writes: any values come back equal, nothing is overwritten or left half written."""

from __future__ import annotations

import errno
import os
import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as some
from share import times

from mechlib.bench.own_toml import WIDEST, IsThere, inline, toml_text, write_file
from mechlib.errors import MechError
from mechlib.transports import shipped
from mechlib.transports.files import DATA

TEXT = some.text(some.characters(codec="utf-8"), max_size=12)
PLAIN = (
    some.booleans()
    | some.integers(-(2**63), 2**63 - 1)
    | some.floats(allow_nan=False)
    | TEXT
    | some.dates()
    | some.datetimes()
)
NESTED = some.recursive(
    PLAIN,
    lambda inner: some.lists(inner, max_size=4) | some.dictionaries(TEXT, inner, max_size=4),
    max_leaves=12,
)
VALUES = some.dictionaries(TEXT, NESTED | some.lists(some.dictionaries(TEXT, NESTED, max_size=3)), max_size=5)


@settings(max_examples=times(5, 40))
@given(VALUES)
def test_any_values_come_back_equal(values):
    assert tomllib.loads(toml_text(values)) == values


@settings(max_examples=times(5, 40))
@given(VALUES)
def test_comments_change_nothing(values):
    text = toml_text(
        values, lambda table, key: f"about [{table!r}]\n= {key!r}" if key is None else "a = 'b' # [c]"
    )
    assert tomllib.loads(text) == values


@pytest.mark.parametrize("name", shipped())
def test_shipped_files_come_back_equal(name):
    values = tomllib.loads((DATA / f"{name}.toml").read_text("utf-8"))
    text = toml_text(values)
    assert tomllib.loads(text) == values and not any(line != line.rstrip() for line in text.splitlines())


def test_numbers_keep_their_value_to_the_last_digit():
    values = {"x": [0.1 + 0.2, 1e-300, 5e300, -0.0, float("inf"), 2**60]}
    assert list(map(repr, tomllib.loads(toml_text(values))["x"])) == list(map(repr, values["x"]))


def test_what_toml_does_not_know_is_refused():
    for wrong in (None, {1, 2}, 1j, object()):
        with pytest.raises(MechError):
            inline({"a": [wrong]})


def test_a_list_that_is_too_long_for_its_line_has_an_entry_a_line():
    short, long = ["x" * 10] * 3, ["x" * 10] * 9
    lines = toml_text({"short": short, "long": long}).splitlines()
    assert len(lines) == 1 + 11 and all(len(line) <= WIDEST for line in lines)


def test_a_file_is_written_and_never_overwritten_unasked(tmp_path):
    path = tmp_path / "my machine.toml"
    assert write_file("a = 1\n", path) == path and path.read_text("utf-8") == "a = 1\n"
    with pytest.raises(IsThere, match="is there already"):
        write_file("a = 2\n", path)
    assert path.read_text("utf-8") == "a = 1\n"
    write_file('a = "½"\r\n', path, replace=True)
    assert path.read_bytes() == 'a = "½"\r\n'.encode()
    assert os.listdir(tmp_path) == ["my machine.toml"]


@pytest.mark.parametrize("name", ["", "x", "x.txt", "x.toml.bak", ".toml", "  .toml", "x.TOML"])
def test_a_name_that_load_would_not_read_is_refused(name, tmp_path):
    with pytest.raises(MechError, match=r"ends in \.toml"):
        write_file("", tmp_path / name)
    assert os.listdir(tmp_path) == []


def test_no_name_is_told_as_such():
    with pytest.raises(MechError, match="there is no file name: give one"):
        write_file("", "")


@pytest.mark.parametrize("name", ["gone/x.toml", "a\0b.toml", "n" * 300 + ".toml"])
def test_a_place_that_is_not_there_is_told(name, tmp_path):
    for replace in (False, True):
        with pytest.raises(MechError, match="could not be written"):
            write_file("", tmp_path / name, replace)


def test_a_folder_is_not_replaced(tmp_path):
    (tmp_path / "x.toml").mkdir()
    for replace in (False, True):
        with pytest.raises(MechError):
            write_file("", tmp_path / "x.toml", replace)
    assert os.listdir(tmp_path) == ["x.toml"] and (tmp_path / "x.toml").is_dir()


@pytest.mark.parametrize("step", ["fsync", "replace"])
def test_a_full_disk_leaves_all_as_it_was(step, tmp_path, monkeypatch):
    def full(*_):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    old = write_file("old", tmp_path / "old.toml")
    monkeypatch.setattr(f"mechlib.bench.own_toml.os.{step}", full)
    for name, replace in (("old.toml", True), ("new.toml", False), ("new.toml", True)):
        with pytest.raises(MechError, match="No space left"):
            write_file("new", tmp_path / name, replace)
    assert os.listdir(tmp_path) == ["old.toml"] and old.read_text() == "old"
