"""Progress files: written line by line, and read again whatever has happened to them."""

import json
import random
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from mechlib.errors import MechError
from mechlib.teaching import records as room
from mechlib.teaching.records import Check, Guess, read_each, read_file, read_folder, read_line, written

AT = "2031-03-01T10:15:02.123+00:00"
CHECK = Check(AT, "Ann", "stuck_tape", "How many turns?", 3, "sign lost")
GUESS = Guess("2031-03-01T10:17:40.008+00:00", "", "Which way?", 4.5, -2.0)
TEXTS = st.text(st.characters(exclude_categories=("Cc", "Cs")), max_size=40)


def test_a_line_has_the_form_that_the_file_is_said_to_have():
    assert json.loads(written(CHECK)) == {
        **{"progress": 1, "at": AT, "reader": "Ann", "lesson": "stuck_tape"},
        **{"exercise": "How many turns?", "seed": 3, "found": "sign lost"},
    }
    assert json.loads(written(Guess(AT, "Ann", "Which way?", "later"))) == {
        **{"progress": 1, "at": AT, "reader": "Ann", "question": "Which way?", "guess": "later"},
    }
    assert "\n" not in written(CHECK)


@given(TEXTS, TEXTS, st.integers(0, 10**9))
def test_what_is_written_is_read_again(reader, found, seed):
    for record in (
        Check(AT, reader, "trains", found, seed, found),
        Guess(AT, reader, found, 0.1 * seed, found),
    ):
        assert read_line(written(record)) == record


@given(st.one_of(st.text(), st.recursive(st.none() | st.floats() | st.text(), st.lists).map(json.dumps)))
def test_no_line_makes_reading_fail_otherwise_than_in_words(line):
    with pytest.raises(MechError, match="line"):
        read_line(line)


def with_entry(record, **changes) -> str:
    return json.dumps({**json.loads(written(record)), **changes})


@pytest.mark.parametrize(
    ("line", "words"),
    [
        (written(CHECK)[:-1], "cut short"),
        ("[" * 100_000, "cut short"),
        ("[1]", "no progress"),
        ('{"at": 1}', "no progress"),
        (with_entry(CHECK, progress=2), "version"),
        (with_entry(CHECK, more=1), "entries"),
        (with_entry(CHECK, at="yesterday"), "time"),
        (with_entry(CHECK, at="0001-01-01T00:00:00+20:00"), "time"),
        (with_entry(CHECK, at=5), "at of a line"),
        (with_entry(CHECK, seed=-1), "seed"),
        (with_entry(CHECK, seed=True), "seed"),
        (with_entry(CHECK, seed=10**9 + 1), "seed"),
        (with_entry(CHECK, found=None), "found"),
        (with_entry(CHECK, reader="x" * 41), "reader"),
        (with_entry(CHECK, exercise="x" * 501), "exercise"),
        (with_entry(CHECK, reader="a\nb"), "reader"),
        (with_entry(CHECK, reader="\ud800"), "reader"),
        (with_entry(GUESS, guess=float("nan")), "guess"),
        (with_entry(GUESS, guess=1e308), "guess"),
        (with_entry(GUESS, came=[1]), "came"),
        (with_entry(GUESS, guess=None), "guess"),
    ],
)
def test_a_line_that_cannot_be_right_is_refused(line, words):
    with pytest.raises(MechError, match=words):
        read_line(line)


def test_the_ends_of_what_can_be_right():
    for line in (with_entry(CHECK, seed=0), with_entry(CHECK, seed=10**9), with_entry(GUESS, guess=-1e12)):
        assert read_line(line)


def test_times_of_other_zones_are_brought_to_one():
    assert read_line(with_entry(CHECK, at="2031-03-01T12:15:02.123+02:00")) == CHECK
    assert read_line(with_entry(CHECK, at="2031-03-01T10:15:02.123")) == CHECK


def test_a_damaged_file_is_told_and_the_rest_of_it_used(tmp_path):
    path = tmp_path / "ann.jsonl"
    path.write_bytes(written(CHECK).encode() + b"\n\nrubbish\n\xff\xfe\n" + written(GUESS).encode() + b"\n{")
    found = read_file(path)
    assert found.records == (CHECK, GUESS)
    assert found.troubles == (
        "ann.jsonl: lines 3, 4 and 6 can't be read (a line is cut short or no JSON); the rest is.",
    )
    path.write_bytes(b"\xff\xfe\n")
    assert read_file(path).troubles == (
        "ann.jsonl holds no progress that can be read (it is no text): left out.",
    )
    for bad, words in ((1, "line 1 can't"), (5, "lines 1, 2, 3, 4 and 5 can't")):
        path.write_bytes(b"x\n" * bad + written(CHECK).encode())
        assert words in read_file(path).troubles[0]
    path.write_bytes(b"x\n" * 9 + written(CHECK).encode())
    assert "lines 1, 2, 3, 4, 5 and 4 more can't" in read_file(path).troubles[0]
    assert "can't be read" in read_file(tmp_path / "none.jsonl").troubles[0]
    path.write_bytes(b"")
    assert read_file(path) == room.Found(())


def test_a_file_too_large_is_not_read(tmp_path, monkeypatch):
    (tmp_path / "a.jsonl").write_text(written(CHECK))
    monkeypatch.setattr(room, "LARGEST_FILE", 10)
    assert read_folder(tmp_path).records == () and "too large" in read_folder(tmp_path).troubles[0]


def test_a_folder_is_read_in_the_order_of_time_and_twins_count_once(tmp_path):
    (tmp_path / "ann" / "progress").mkdir(parents=True)
    (tmp_path / "ann" / "progress" / "b.jsonl").write_text(written(GUESS) + "\n" + written(CHECK))
    (tmp_path / "copy.jsonl").write_text(written(CHECK))
    (tmp_path / "notes.txt").write_text("not looked at")
    found = read_folder(tmp_path)
    assert found.records == (CHECK, GUESS) and not found.troubles
    assert [place.as_posix() for place, _ in read_each(tmp_path)] == ["copy.jsonl", "ann/progress/b.jsonl"]
    assert found.sentence() == "2 records read."
    for bad in ("none", "copy.jsonl", "a\0b"):
        with pytest.raises(MechError, match="there is no folder"):
            read_folder(tmp_path / bad)


def test_of_too_many_files_the_newest_are_read(tmp_path, monkeypatch):
    monkeypatch.setattr(room, "MOST_FILES", 3)
    for day in range(1, 6):
        one = replace(CHECK, at=f"2031-03-0{day}T10:00:00.000+00:00")
        folder = tmp_path / f"{9 - day} reader"  # in folders that stand the other way round
        folder.mkdir()
        (folder / f"2031-03-0{day}_100000_ab.jsonl").write_text(written(one))
    assert [record.at[:10] for record in read_folder(tmp_path).records] == [
        "2031-03-03", "2031-03-04", "2031-03-05",
    ]  # fmt: skip


def test_a_folder_with_too_much_in_it_is_left_in_time(tmp_path, monkeypatch):
    for number in range(5):
        (tmp_path / f"{number}.jsonl").write_text(written(CHECK))
    deep = tmp_path.joinpath(*"abcdefg")
    deep.mkdir(parents=True)
    (deep / "deep.jsonl").write_text(written(GUESS))
    assert GUESS not in read_folder(tmp_path).records
    (deep.parent / "less.jsonl").write_text(written(GUESS))
    assert GUESS in read_folder(tmp_path).records
    monkeypatch.setattr(room, "MOST_FILES", 3)
    assert read_folder(tmp_path).troubles == (
        "There is too much in this folder; only a part was read. Give a smaller one.",
    )
    monkeypatch.setattr(room, "MOST_FILES", 300)
    monkeypatch.setattr(room, "MOST_FOLDERS", 2)
    assert len(read_folder(tmp_path).troubles) == 1


def test_any_damage_leaves_a_reading_and_words(tmp_path):
    """Bytes changed, cut out and put in at random, 500 files: undamaged lines are all found."""
    stream, path = random.Random(1), tmp_path / "x.jsonl"
    lines = [written(Check(AT, "Ann", "trains", "Worm", seed, "right")).encode() for seed in range(6)]
    for _ in range(500):
        hurt = stream.randrange(6)
        line = bytearray(lines[hurt])
        for _ in range(stream.randrange(1, 6)):
            at = stream.randrange(len(line))
            line[at : at + stream.randrange(3)] = stream.randbytes(stream.randrange(4))
        path.write_bytes(b"\n".join([*lines[:hurt], bytes(line), *lines[hurt + 1 :]]))
        found = read_file(path)
        assert {each.seed for each in found.records} >= set(range(6)) - {hurt}
        assert all(trouble.startswith("x.jsonl") for trouble in found.troubles)


def test_a_byte_order_mark_costs_no_line(tmp_path):
    """Some editors put one at the front when they save."""
    (tmp_path / "a.jsonl").write_text(written(CHECK) + "\n" + written(GUESS), encoding="utf-8-sig")
    assert read_file(tmp_path / "a.jsonl") == room.Found((CHECK, GUESS))


def test_a_trouble_names_the_folder_in_which_the_file_lies(tmp_path):
    for reader in ("ann", "ben"):
        (tmp_path / reader / "progress").mkdir(parents=True)
        (tmp_path / reader / "progress" / "half.jsonl").write_text(written(CHECK) + "\ntorn")
    told = read_folder(tmp_path).troubles
    assert [each.split(":")[0] for each in told] == [
        "ann/progress/half.jsonl",
        "ben/progress/half.jsonl",
    ]
