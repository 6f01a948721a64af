"""Progress is written whole or not at all: kernels side by side, killed ones, full and locked disks."""

import errno
import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

from mechlib.errors import MechError
from mechlib.teaching import progress as room
from mechlib.teaching.progress import Progress, here
from mechlib.teaching.records import Guess

WRITES = """
import sys
from pathlib import Path
from mechlib.teaching.progress import Progress
progress = Progress(Path(sys.argv[1]))
for seed in range(int(sys.argv[2])):
    assert progress.checked("trains", sys.argv[3], seed, "right") == ""
    print(seed, flush=True)
"""


def kernel(folder: Path, records: int, name: str) -> subprocess.Popen:
    command = [sys.executable, "-c", WRITES, str(folder), str(records), name]
    return subprocess.Popen(command, stdout=subprocess.PIPE, text=True)


def seeds_by_name(folder: Path) -> dict:
    """What stands in the files, read without the library."""
    found = {}
    for path in folder.glob("*.jsonl"):
        for line in path.read_text("utf-8").splitlines():
            entry = json.loads(line)
            found.setdefault(entry["exercise"], []).append(entry["seed"])
    return found


@pytest.mark.slow
def test_kernels_side_by_side_lose_nothing(tmp_path):
    folder = tmp_path / "progress"
    kernels = {name: kernel(folder, 60, name) for name in "abcd"}
    for each in kernels.values():
        assert each.wait() == 0
        each.stdout.close()
    assert seeds_by_name(folder) == {name: list(range(60)) for name in "abcd"}
    assert len(Progress(folder).read().records) == 240
    assert not list(folder.glob(".*"))


@pytest.mark.slow
@pytest.mark.parametrize("checks", [1, 7, 30])
def test_a_killed_kernel_loses_nothing_that_was_written(tmp_path, checks):
    folder = tmp_path / "progress"
    with kernel(folder, 10**6, "a") as process:
        told = [process.stdout.readline() for _ in range(checks)]
        process.kill()
        told += process.stdout.readlines()
    told = [line for line in told if line.endswith("\n")]
    seeds = seeds_by_name(folder)["a"]  # every line of it can be read
    assert seeds == list(range(len(seeds))) and len(seeds) >= len(told)
    found = Progress(folder).read()
    assert len(found.records) == len(seeds) and not found.troubles


FILLS = """
import resource, signal, sys
from pathlib import Path
from mechlib.teaching.progress import Progress
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)  # the system says "no" instead of ending us
room_bytes = 700
resource.setrlimit(resource.RLIMIT_FSIZE, (room_bytes, resource.RLIM_INFINITY))
progress = Progress(Path(sys.argv[1]))
told = [progress.checked("trains", "Worm", seed, "right") for seed in range(10)]
full = next(seed for seed, trouble in enumerate(told) if trouble)
assert 2 < full < 8 and all(told[full:]), told
print(told[full])
assert len(Progress(Path(sys.argv[1])).read().records) == full  # the others stand as they stood
assert len(progress.read().records) == 10  # here nothing is lost
assert not list(Path(sys.argv[1]).glob(".*"))
resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
assert progress.checked("trains", "Worm", 10, "right") == ""
assert len(Progress(Path(sys.argv[1])).read().records) == 11
"""


@pytest.mark.skipif(sys.platform == "win32", reason="the system has no limit to the size of a file")
def test_where_a_file_can_grow_no_more_it_is_told_and_nothing_lost(tmp_path):
    command = [sys.executable, "-c", FILLS, str(tmp_path / "progress")]
    done = subprocess.run(command, capture_output=True, text=True)
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout.startswith(
        "Not written down, because the folder “progress” beside this page refused ("
    )


@pytest.mark.parametrize("failing", ["fsync", "replace"])
def test_a_full_disk_is_told_and_the_next_check_writes_all(tmp_path, monkeypatch, failing):
    progress = Progress(tmp_path)
    assert progress.guessed("Which way?", "later") == ""

    def refuse(*_):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    with monkeypatch.context() as full:
        full.setattr(room.os, failing, refuse)
        trouble = progress.checked("trains", "Worm", 1, "right")
    assert os.strerror(errno.ENOSPC) in trouble and "the next check tries again" in trouble
    assert "don't close the page" in trouble and "in memory only" in trouble
    assert len(Progress(tmp_path).read().records) == 1 and len(progress.read().records) == 2
    assert progress.checked("trains", "Worm", 2, "right") == ""
    assert len(Progress(tmp_path).read().records) == 3
    assert len(list(tmp_path.iterdir())) == 1  # nothing half written is left about


def test_a_folder_that_cannot_be_made_is_told_and_the_lesson_goes_on(tmp_path):
    (tmp_path / "progress").write_text("a file stands in the way")
    progress = Progress(tmp_path / "progress")
    assert progress.checked("trains", "Worm", 1, "right").startswith("Not written down")
    assert progress.choose_name("Ann").startswith("Not written down")
    assert progress.name == "Ann" and progress.guess("Which way?") is None
    assert len(progress.read().records) == 1


def test_a_name_that_the_folder_refused_is_kept_and_written_with_the_next_check(tmp_path):
    folder = tmp_path / "progress"
    folder.write_text("a file stands in the way")
    progress = Progress(folder)
    assert progress.choose_name("Ann").startswith("Not written down") and progress.name == "Ann"
    progress.checked("trains", "Worm", 1, "right")
    folder.unlink()
    assert progress.checked("trains", "Worm", 2, "right") == ""
    again = Progress(folder)
    assert again.name == "Ann" and [record.reader for record in again.read().records] == ["Ann", "Ann"]
    again.choose_name("Ben")
    assert progress.name == "Ben"  # once it is written, the file alone counts


@pytest.mark.skipif(not hasattr(os, "seteuid"), reason="the system has no such users")
def test_a_folder_that_is_read_only_is_told():
    with tempfile.TemporaryDirectory() as place:
        os.chmod(place, 0o555)
        user = os.geteuid()
        if user == 0:  # who may write anywhere
            os.seteuid(65534)
        try:
            trouble = Progress(Path(place)).checked("trains", "Worm", 1, "right")
        finally:
            os.seteuid(user)
        assert os.strerror(errno.EACCES) in trouble and not os.listdir(place)


def test_the_name_is_kept_for_all_kernels_and_is_one_line(tmp_path):
    progress, other = Progress(tmp_path / "p"), Progress(tmp_path / "p")
    assert progress.name == "" and not (tmp_path / "p").exists()
    assert progress.choose_name("  Ann\n of\tthe \x07back room ") == (
        "From now on you are “Ann of the back room” here."
    )
    assert other.name == "Ann of the back room"
    other.checked("trains", "Worm", 1, "right")
    assert progress.choose_name("") == "From now on without a name."
    other.checked("trains", "Worm", 2, "right")
    assert [record.reader for record in progress.read().records] == ["Ann of the back room", ""]
    with pytest.raises(MechError, match="41 characters"):
        progress.choose_name("x" * 41)
    (tmp_path / "p" / "name.txt").write_bytes(b"\xff\x00" + b"y" * 10_000)
    assert len(other.name) == 40 and other.name.isprintable()
    assert other.checked("trains", "Worm", 3, "right") == "" and not other.read().troubles


def test_a_guess_is_found_again_by_its_reader_alone(tmp_path):
    first = Progress(tmp_path)
    first.guessed("Which way?", "later")
    first.guessed("How far?", 6.0)
    first.guessed("How far?", 6.0, came=4.5)
    again = Progress(tmp_path)
    assert (again.guess("How far?").guess, again.guess("How far?").came) == (6.0, 4.5)
    assert again.guess("Which way?").came is None and again.guess("Why?") is None
    again.choose_name("Ann")
    assert again.guess("Which way?") is None
    again.guessed("Which way?", "earlier")
    assert isinstance(first.guess("Which way?"), Guess) and first.guess("Which way?").guess == "earlier"


def test_switched_off_it_writes_nothing(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    off = Progress(None)
    assert off.checked("trains", "Worm", 1, "right") == off.guessed("How far?", 1.0) == ""
    assert "switched off" in off.choose_name("Ann") and off.name == "" and off.read().records == ()
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(("asked", "place"), [(None, "progress"), ("elsewhere", "elsewhere"), ("off", None)])
def test_it_stands_beside_the_page_unless_another_place_is_asked_for(tmp_path, monkeypatch, asked, place):
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("MECHLIB_PROGRESS")
    if asked:
        monkeypatch.setenv("MECHLIB_PROGRESS", asked)
    here.cache_clear()
    try:
        assert here().folder == (tmp_path / place if place else None) and here() is here()
    finally:
        here.cache_clear()


def test_tests_write_nothing_into_the_tree():
    assert os.environ["MECHLIB_PROGRESS"] == "off"
    top = Path(__file__).resolve().parents[1]
    assert "progress/" in (top / ".gitignore").read_text().splitlines()
