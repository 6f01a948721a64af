"""What ``load`` takes: names of shipped transports, paths as text or as Path; anything else is told."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from mechlib.errors import MechError
from mechlib.transports import load
from mechlib.transports.files import DATA


@pytest.fixture
def mine(tmp_path, monkeypatch):
    """A file of one's own beside which one works."""
    path = tmp_path / "my machine.v2.toml"
    path.write_bytes((DATA / "dogwood.toml").read_bytes())
    monkeypatch.chdir(tmp_path)
    return path


def test_a_path_as_text_or_as_path_from_here_or_from_the_root(mine):
    for given in (mine.name, f"./{mine.name}", Path(mine.name), mine, str(mine)):
        assert load(given) == load("dogwood")


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ("my machine.v2", "ends in .toml"),
        ("", "ends in .toml"),
        ("elder", "alder, birch"),
        (Path("."), "ends in .toml"),
        ("gone.toml", "No such file"),
        ("gone/x.toml", "No such file"),
        ("a\0b.toml", "cannot be read"),
        ("n" * 300 + ".toml", "cannot be read"),
        ("folder.toml", "cannot be read"),
        (".toml", "ends in .toml"),
        (7, "give the name"),
        (None, "give the name"),
        (b"alder", "give the name"),
    ],
)
def test_odd_paths_are_told(mine, given, words):
    Path("folder.toml").mkdir()
    with pytest.raises(MechError) as refused:
        load(given)
    assert words in str(refused.value) and len(str(refused.value)) < 400


def test_a_file_that_nobody_may_read(mine):
    if os.geteuid() == 0:
        pytest.skip("the superuser may read every file")
    mine.chmod(0)
    with pytest.raises(MechError, match="Permission denied"):
        load(mine)
