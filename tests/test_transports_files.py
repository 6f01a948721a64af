"""Transport files with mistakes: each is told with file, table, key, what is wrong and what is right."""

from __future__ import annotations

import copy
import tomllib
from importlib import resources

import pytest

from mechlib import transports as tr
from mechlib.errors import MechError
from mechlib.transports.files import transport_from
from mechlib.transports.hardware import Access

TEXT = (resources.files("mechlib.transports") / "data" / "alder.toml").read_text("utf-8")
ALDER = tomllib.loads(TEXT)


def row(values: dict, table: str, name: str) -> dict:
    """The table of that name, such as [[part]] "pinch cam"."""
    return next(entry for entry in values[table] if entry.get("name") == name)


def problems_of(values: dict) -> tuple[str, ...]:
    with pytest.raises(MechError) as caught:
        transport_from(values, "mine.toml")
    for problem in caught.value.problems:
        assert problem.startswith("mine.toml, ") and problem in str(caught.value)
        assert "; " in problem, f"says what is wrong but not what would be right: {problem}"
    return caught.value.problems


def put(table: str, name: str, key: str, value):
    """A mistake: one key of one named table set to a value."""
    return lambda values: row(values, table, name).__setitem__(key, value)


def drop(table: str, name: str, key: str):
    return lambda values: row(values, table, name).pop(key)


def top(table: str, key: str, value):
    return lambda values: values[table].__setitem__(key, value)


def rename_key(values: dict, old: str, new: str):
    values[new] = values.pop(old)


def step(follower: str, number: int, key: str, value):
    return lambda values: row(values, "follower", follower)["track"][number].__setitem__(key, value)


# A mistake, and what the message about it must hold: where (table, name, key), what is wrong, what is right.
MISTAKES = {
    "missing table": (lambda v: v.pop("drive"), ["drive", "missing", "main_gear_teeth"]),
    "missing mode switch": (lambda v: v.pop("mode_switch"), ["mode_switch", "missing"]),
    "missing modes": (lambda v: v.pop("mode"), ["mode", "missing"]),
    "missing key": (
        drop("part", "pinch cam", "teeth"), ['[[part]] "pinch cam"', "teeth", "missing", "whole"],
    ),
    "missing mark": (drop("part", "idler cam", "mark"), ['[[part]] "idler cam"', "mark", "missing"]),
    "missing angle": (lambda v: v["drive"].pop("coast"), ["drive", "coast", "missing", "{deg = 84}"]),
    "missing name": (drop("part", "pinch cam", "name"), ["[[part]] number 3", "name", "missing"]),
    "unknown key": (
        lambda v: rename_key(row(v, "part", "pinch cam"), "play_teeth", "play_tooth"),
        ['[[part]] "pinch cam"', "play_tooth", "not known", "did you mean 'play_teeth'"],
    ),
    "unknown table": (
        lambda v: rename_key(v, "interlock", "interlocks"),
        ["interlocks", "not known", "did you mean 'interlock'"],
    ),
    "text for a number": (
        put("part", "brake cam", "teeth", "fifty"), ['[[part]] "brake cam"', "teeth", "the text 'fifty'"],
    ),
    "true for a number": (put("part", "brake cam", "teeth", True), ['[[part]] "brake cam"', "teeth", "true"]),
    "number for a list": (top("controller", "order", 7), ["controller", "order", "the number 7", "list"]),
    "table for a list": (lambda v: v.__setitem__("part", {}), ["part", "a table", "[[part]]"]),
    "list for a table": (lambda v: v.__setitem__("drive", [1]), ["drive", "a list", "[drive]"]),
    "count too small": (
        put("part", "brake cam", "teeth", 2), ['"brake cam"', "teeth", "2", "from 4 to 2000"],
    ),
    "count with decimals": (
        put("part", "brake cam", "teeth", 50.5), ['"brake cam"', "teeth", "50.5", "whole"],
    ),
    "count huge": (top("drive", "main_gear_teeth", 10**30), ["main_gear_teeth", "a huge number", "2000"]),
    "speed not finite": (top("drive", "speed_deg_s", float("nan")), ["speed_deg_s", "nan", "from 0.01"]),
    "output that stands": (put("output", "transfer ring", "speed", 0), ['"transfer ring"', "speed", "0"]),
    "angle without unit": (top("drive", "coast", 1.6), ["drive", "coast", "1.6", "{deg = 84}"]),
    "angle with two units": (
        top("drive", "coast", {"deg": 1, "teeth": 2}), ["drive", "coast", "no angle", "{deg = 84}"],
    ),
    "angle in a wrong unit": (
        top("drive", "coast", {"rad": 1}), ["drive", "coast", "no angle", "{deg = 84}"],
    ),
    "angle too large": (top("drive", "coast", {"deg": 9999}), ["coast", "9999 degrees", "3600"]),
    "turns of an unknown shaft": (
        top("drive", "coast", {"turns": 1, "of": "crank"}), ["coast", "'crank'", "worm shaft"],
    ),
    "coasts backwards": (top("drive", "coast", {"deg": -1}), ["drive", "coast", "-1 degrees", "0 to 90"]),
    "stops the wrong way round": (
        top("drive", "high_stop", {"deg": -200}), ["high_stop", "-200", "below 0", "leave the minus out"],
    ),
    "0 beyond the stops": (
        top("drive", "low_stop", {"deg": 20}), ["low_stop", "20 degrees, above 0", "put a minus before it"],
    ),
    "stops and cycle": (top("drive", "cycle", 360), ["drive", "cycle", "go round", "keep one"]),
    "no such parent": (
        put("part", "pinch cam", "meshes_with", "loding gear"),
        ['"pinch cam"', "meshes_with", "there is no 'loding gear'", "did you mean 'loading gear'"],
    ),
    "ring of parents": (
        put("part", "loading gear", "meshes_with", "pinch cam"), ["meshes_with", "in a ring", "main gear"],
    ),
    "its own parent": (put("part", "pinch cam", "meshes_with", "pinch cam"), ["meshes_with", "ring"]),
    "kind unknown": (put("part", "pinch cam", "kind", "gears"), ['"pinch cam"', "kind", "gears", "gear"]),
    "play given twice": (put("part", "pinch cam", "play_part_deg", 1), ['"pinch cam"', "play", "twice"]),
    "play too large": (
        put("part", "pinch cam", "play_teeth", 0.6), ['"pinch cam"', "play_teeth", "0.6", "0 to 0.5"],
    ),
    "play in degrees too large": (
        put("part", "pinch cam", "play_part_deg", 9), ['"pinch cam"', "play_part_deg", "of a tooth", "0.5"],
    ),
    "no travel": (
        lambda v: v["drive"].update(low_stop={"deg": 0}, high_stop={"deg": 0}),
        ["high_stop", "it is 0, as low_stop is", "counts up from 0"],
    ),
    "part twice": (
        lambda v: v["part"].append(copy.deepcopy(v["part"][2])), ['[[part]] "pinch cam"', "name", "already"],
    ),
    "mode twice": (
        lambda v: v["mode"].append({**v["mode"][3], "code": ["A", "C"]}), ['"STOP"', "name", "already"],
    ),
    "contact twice": (lambda v: v["contact"].append(v["contact"][0]), ['[[contact]] "A"', "name", "already"]),
    "empty name": (put("mode", "STOP", "name", ""), ["[[mode]] number 4", "name", "empty"]),
    "empty code": (put("mode", "STOP", "code", []), ['[[mode]] "STOP"', "code", "empty"]),
    "same code": (put("mode", "STOP", "code", ["C"]), ["code", "same", "a code of its own"]),
    "unknown contact": (put("mode", "STOP", "code", ["Z"]), ['[[mode]] "STOP"', "code", "'Z'", "A, B"]),
    "contact named twice": (put("mode", "STOP", "code", ["B", "B"]), ['[[mode]] "STOP"', "code", "twice"]),
    "arc of one angle": (put("contact", "A", "closed", [[{"deg": 1}]]), ['[[contact]] "A"', "closed", "two"]),
    "arc backwards": (
        put("contact", "A", "closed", [[{"deg": 4}, {"deg": -4}]]), ['[[contact]] "A"', "4 to -4", "smaller"],
    ),
    "arcs that overlap": (
        put("contact", "A", "closed", [[{"deg": 20}, {"deg": 30}], [{"deg": 1}, {"deg": 21}]]),
        ['[[contact]] "A"', "two arcs overlap: 1 to 21 and 20 to 30 degrees", "give one arc"],
    ),
    "gap in stages": (
        put("stage", "cam", "from", {"deg": -10}), ["stage", "a gap", "carriage (-16 degrees)", "cam (-10)"],
    ),
    "stages overlap": (put("stage", "cam", "from", {"deg": -20}), ["stage", "an overlap", "-20"]),
    "stages end early": (put("stage", "cam", "to", {"deg": 260}), ["stage", "260", "268", "high stop"]),
    "stage drives nothing": (put("stage", "cam", "drives", []), ['[[stage]] "cam"', "drives", "empty"]),
    "stage drives what is not there": (
        put("stage", "cam", "drives", ["main cm"]), ['[[stage]] "cam"', "drives", "did you mean 'main cam'"],
    ),
    "no end contact": (drop("stage", "carriage", "end_contact"), ['[[stage]] "carriage"', "end_contact"]),
    "end contact stands": (
        put("stage", "carriage", "end_contact", "A"), ['[[stage]] "carriage"', "end_contact", "A sits on"],
    ),
    "states overlap": (
        put("follower", "pinch lever", "tolerance_mm", 1.4),
        ['[[follower]] "pinch lever"', "states", "ready and pressed", "2.5 mm apart"],
    ),
    "state called between": (
        put("follower", "main brakes", "states", {"on": 0, "off": 3, "between": 9}),
        ['[[follower]] "main brakes"', "states", "between"],
    ),
    "unknown state in a track": (
        step("pinch lever", 1, "move_to", "presed"),
        ['[[follower]] "pinch lever", track step 2', "move_to", "did you mean 'pressed'"],
    ),
    "unknown law": (
        step("pinch lever", 1, "law", "cycloid"),
        ['"pinch lever", track step 2', "law", "did you mean 'cycloidal'"],
    ),
    "track goes backwards": (
        step("pinch lever", 2, "until", {"deg": 100}),
        ['"pinch lever", track step 3', "until", "larger angle"],
    ),
    "track begins with a move": (
        lambda v: row(v, "follower", "pinch lever")["track"].pop(0), ["pinch lever", "step 1", "hold"],
    ),
    "track too short": (
        step("main brakes", -1, "until", {"deg": 260}),
        ['[[follower]] "main brakes"', "track", "ends at 260", "a tooth beyond"],
    ),
    "track from too late": (
        put("follower", "tension lever", "track_from", {"deg": 0}),
        ['[[follower]] "tension lever"', "track", "starts at 0", "-16 or below"],
    ),
    "track that leaves no tooth to spare": (
        put("follower", "main brakes", "track_from", {"deg": -18}),
        ['[[follower]] "main brakes"', "track", "starts at -18", "-22 or below"],
    ),
    "ring that can't close on its planets": (
        lambda v: v["planetary_set"][0].update(ring=50), ['[[planetary_set]] "main set"', "ring", "48"],
    ),
    "member of a set named twice": (
        lambda v: v["stage"][0].update(turns="sun"), ['[[stage]] "carriage"', "turns", "third member"],
    ),
    "member that no set has": (
        lambda v: v["stage"][1].update(held="rign"), ['[[stage]] "cam"', "held", "did you mean 'ring'"],
    ),
    "output faster than its set turns it": (
        lambda v: v["output"][0].update(speed=-1.5),
        ['[[output]] "transfer ring"', "speed", "-1.5", "-1.333333333"],
    ),
    "empty track": (
        put("follower", "reel idler", "track", []),
        ['[[follower]] "reel idler"', "key track", "it is empty"],
    ),
    "follower on no part": (
        put("follower", "reel idler", "part", "idler"), ['"reel idler"', "part", "did you mean 'idler cam'"],
    ),
    "needs an unknown follower": (
        put("mode", "STOP", "needs", {"pinch levr": "off"}),
        ['[[mode]] "STOP"', "did you mean 'pinch lever'"],
    ),
    "needs an unknown state": (
        put("mode", "STOP", "needs", {"pinch lever": "of"}), ['"STOP"', "pinch lever", "did you mean 'off'"],
    ),
    "range upside down": (
        put("mode", "STOP", "needs", {"pinch lever": {"from_mm": 3, "to_mm": 1}}),
        ['"STOP"', "pinch lever", "to_mm", "1 mm, below from_mm at 3"],
    ),
    "mode that asks for nothing": (
        put("mode", "STOP", "needs", {}), ['[[mode]] "STOP"', "needs", "no follower"],
    ),
    "mode that stands wrong": (
        put("mode", "STOP", "needs", {"main brakes": "off"}),
        ['[[mode]] "STOP"', "main brakes", "degrees out", "stands right"],
    ),
    "code that never shows": (
        put("mode", "STOP", "code", ["A", "B", "K"]),
        ['[[mode]] "STOP"', "code", "never", "between the stops"],
    ),
    "code on two arcs": (
        lambda v: row(v, "contact", "B")["closed"].append([{"deg": 120}, {"deg": 128}]),
        ['[[mode]] "STOP"', "code", "several arcs", "98 to 106", "120 to 128"],
    ),
    "code too short": (
        put("contact", "D", "closed", [[{"deg": 208}, {"deg": 216}], [{"deg": 242}, {"deg": 242.5}]]),
        ['[[mode]] "SLOW"', "code", "0.5 degrees only", "settle"],
    ),
    "reference mode elsewhere": (
        lambda v: v.__setitem__("reference_mode", "STOP"), ["reference_mode", "STOP", "does not show at 0"],
    ),
    "interlock that collides": (
        put("interlock", "idler and brakes", "must", {"main brakes": "on"}),
        ['[[interlock]] "idler and brakes"', "collide with every mark right"],
    ),
    "interlock of three": (
        put("interlock", "idler and brakes", "must", {"main brakes": "on", "pinch lever": "off"}),
        ['[[interlock]] "idler and brakes"', "must", "2 followers"],
    ),
    "interlock with itself": (
        put("interlock", "idler and brakes", "must", {"reel idler": "centre"}),
        ['[[interlock]] "idler and brakes"', "must", "same follower"],
    ),
    "part stop within the travel": (
        put("part", "brake cam", "high_stop", {"deg": 200}),
        ['[[part]] "brake cam"', "reaches its own stop", "200"],
    ),
    "stage whose need fails": (
        put("stage", "carriage", "needs", {"cam detent": "lifted"}),
        ['[[stage]] "carriage"', "does not hold all along"],
    ),
    "mode left out of the order": (
        lambda v: v["controller"]["order"].remove("WIND"), ["controller", "order", "WIND", "left out"],
    ),
    "order with a stranger": (
        lambda v: v["controller"]["order"].append("REWIND"),
        ["controller", "order", "'REWIND'", "did you mean"],
    ),
    "home sense": (
        lambda v: v["controller"]["home"].__setitem__("sense", "back"),
        ["controller", "home", "sense", "'back'", "loading and unloading"],
    ),
    "legs that end elsewhere": (
        lambda v: v["controller"]["change"][0].__setitem__("to", "PAUSE"), ["change", "legs", "last leg"],
    ),
    "no such cover": (
        put("part", "pinch cam", "under", ["gear bride"]),
        ['[[part]] "pinch cam"', "under", "did you mean 'gear bridge'"],
    ),
    "no such cover over the main gear": (
        top("drive", "under", ["top covr"]), ["[drive]", "under", "did you mean 'top cover'"],
    ),
    "no such cover over an output": (
        put("output", "transfer ring", "under", "bottom plate"), ['"transfer ring"', "under", "list"],
    ),
    "cover off first that is not there": (
        put("cover", "gear bridge", "off_first", ["base plate"]),
        ['[[cover]] "gear bridge"', "off_first", "'base plate'", "top cover"],
    ),
    "covers in a ring": (
        put("cover", "bottom plate", "off_first", ["gear bridge"]),
        ["[[cover]]", "off_first", "gear bridge", "bottom plate", "wait for one another"],
    ),
    "cover before itself": (
        put("cover", "top cover", "off_first", ["top cover"]),
        ['[[cover]] "top cover"', "off_first", "waits for itself"],
    ),
    "cover twice": (
        lambda v: v["cover"].append(dict(v["cover"][0])), ['[[cover]] "top cover"', "name", "already"],
    ),
    "cover that holds nothing": (put("cover", "top cover", "holds", " "), ['"top cover"', "holds", "empty"]),
    "cover without minutes": (drop("cover", "top cover", "minutes"), ['"top cover"', "minutes", "missing"]),
    "cover of too many minutes": (
        put("cover", "top cover", "minutes", 601), ['"top cover"', "minutes", "601", "0 to 600"],
    ),
    "unknown key of a cover": (
        put("cover", "top cover", "screws", 4), ['[[cover]] "top cover"', "screws", "not known"],
    ),
    "name of a cover no text": (put("cover", "top cover", "name", ["top"]), ["[[cover]] number 1", "name"]),
    "lift of less than no time": (
        put("part", "pinch cam", "lift_minutes", -1), ['"pinch cam"', "lift_minutes", "-1", "0 to 600"],
    ),
    "secured by magic": (
        put("part", "pinch cam", "secured_by", "glue"), ['"pinch cam"', "secured_by", "'glue'", "press fit"],
    ),
    "empty caution": (put("part", "pinch cam", "caution", ""), ['"pinch cam"', "caution", "empty"]),
    "empty put back": (put("part", "pinch cam", "put_back", ""), ['"pinch cam"', "put_back", "empty"]),
    "time-out of nothing": (
        top("controller", "time_out_s", 0), ["controller", "time_out_s", "0", "0.1 to 600"],
    ),
}  # fmt: skip


@pytest.mark.parametrize("mistake", MISTAKES)
def test_mistake_is_told(mistake):
    values = copy.deepcopy(ALDER)
    change, words = MISTAKES[mistake]
    change(values)
    problems = problems_of(values)
    assert any(all(word in problem for word in words) for problem in problems), problems


def test_the_file_without_a_mistake_is_sound():
    assert transport_from(copy.deepcopy(ALDER), "mine.toml") == tr.load("alder")


# Mistakes in different tables, each of one entry only, so that all of them can be told of at once.
ENTRIES = ["count too small", "unknown key", "arc backwards", "unknown state in a track", "home sense"]


def test_all_mistakes_at_once():
    for number in (2, 3, 5):
        values = copy.deepcopy(ALDER)
        for mistake in ENTRIES[:number]:
            if mistake == "unknown key":
                rename_key(row(values, "part", "pinch cam"), "play_teeth", "play_tooth")
            else:
                MISTAKES[mistake][0](values)
        problems = problems_of(values)
        assert len(problems) == number
        for mistake in ENTRIES[:number]:
            assert any(all(word in p for word in MISTAKES[mistake][1]) for p in problems), (mistake, problems)


def test_an_arc_over_the_seam_is_spoken_of_only_where_there_is_a_seam():
    values = tomllib.loads((resources.files("mechlib.transports") / "data" / "birch.toml").read_text("utf-8"))
    contact = values["contact"][0]
    for closed, words in (
        ([[{"deg": 350}, {"deg": 5}]], ["350 to 5", "beyond 360"]),
        ([[{"deg": 10}, {"deg": 20}], [{"deg": 350}, {"deg": 375}]], ["350 to 375 and 370 to 380 degrees"]),
    ):
        contact["closed"] = closed
        assert any(all(word in problem for word in words) for problem in problems_of(values))
    values = copy.deepcopy(ALDER)
    MISTAKES["arc backwards"][0](values)
    assert not any("seam" in problem for problem in problems_of(values))


def test_arcs_that_only_touch_are_one():
    values = copy.deepcopy(ALDER)
    arcs = row(values, "contact", "A")["closed"]
    (start, end), middle = arcs[0], {"deg": 0}
    before = transport_from(copy.deepcopy(values), "mine.toml").contacts[0]
    low, high = before.closed[0]
    middle["deg"] = (low + high) / 2
    arcs[0:1] = [[start, middle], [middle, end]]
    assert transport_from(values, "mine.toml").contacts[0] == before


# ---- What is no transport file at all ----


def refused(source) -> str:
    with pytest.raises(MechError) as caught:
        tr.load(source)
    return str(caught.value)


def written(tmp_path, content: str | bytes, name: str = "mine.toml"):
    path = tmp_path / name
    path.write_bytes(content if isinstance(content, bytes) else content.encode("utf-8"))
    return path


def test_a_good_file_of_ones_own(tmp_path):
    assert tr.load(written(tmp_path, TEXT)) == tr.load(str(written(tmp_path, TEXT))) == tr.load("alder")
    assert tr.load(written(tmp_path, TEXT.replace("\n", "\r\n"))) == tr.load("alder")


def test_syntax_is_told_with_line_and_column(tmp_path):
    lines = TEXT.split("\n")
    number = next(i for i, line in enumerate(lines) if line.startswith("main_gear_teeth"))
    lines[number] = "main_gear_teeth = 80 81"
    message = refused(written(tmp_path, "\n".join(lines)))
    assert f"mine.toml, line {number + 1}, column 22" in message
    message = refused(written(tmp_path, 'name = "Alder'))
    assert "mine.toml, line 1, column 14" in message and "quotes" in message
    assert "line 2" in refused(written(tmp_path, 'name = "A"\nname = "B"\n'))


def test_bytes_that_are_no_utf8_are_told_with_line_and_column(tmp_path):
    message = refused(written(tmp_path, b'name = "Alder"\nabout = "Pr\xfcfstand"\n'))
    assert "mine.toml, line 2, column 12" in message and "UTF-8" in message


def test_files_that_cannot_be_read(tmp_path):
    assert "nothing.toml" in refused(tmp_path / "nothing.toml")
    folder = tmp_path / "folder.toml"
    folder.mkdir()
    assert "folder.toml" in refused(folder)
    assert "million bytes" in refused(written(tmp_path, "#" * 1_000_001, "big.toml"))
    assert "missing" in refused(written(tmp_path, ""))


@pytest.mark.parametrize("source", ["no-such-deck", "", "../alder", "data/alder", "Alder", "alder\0"])
def test_names_that_are_not_shipped(source):
    assert "alder" in refused(source)


@pytest.mark.parametrize("source", [None, 7, b"alder", ["alder"], {}, "alder\0.toml", "x" * 5000 + ".toml"])
def test_sources_that_are_no_path(source):
    assert refused(source)


def test_a_gap_between_stages_is_told_beside_other_mistakes():
    values = copy.deepcopy(ALDER)
    row(values, "stage", "cam")["from"] = {"deg": -15}
    row(values, "part", "pinch cam")["teeth"] = 3
    values["colour"] = "grey"
    with pytest.raises(MechError) as refused:
        transport_from(values, "mine.toml")
    told = "\n".join(refused.value.problems)
    assert len(refused.value.problems) == 3
    assert "a gap between carriage" in told and "pinch cam" in told and "colour" in told
    assert str(refused.value).endswith("checked against one another, too.")


def test_contradictions_of_different_kinds_are_told_together():
    values = copy.deepcopy(ALDER)
    row(values, "output", "transfer ring")["speed"] = -1.5
    row(values, "mode", "PLAY")["needs"]["reel idler"] = "supply"
    del row(values, "stage", "carriage")["end_contact"]
    with pytest.raises(MechError) as refused:
        transport_from(values, "mine.toml")
    told = "\n".join(refused.value.problems)
    assert "transfer ring" in told and "PLAY" in told and "end_contact" in told


REACHED = ("under", "lift_minutes", "secured_by", "caution", "put_back")


def test_covers_may_be_left_out_and_change_nothing_else():
    values = copy.deepcopy(ALDER)
    del values["cover"], values["how_often"], values["check"], values["repair"]
    for entry in (values["drive"], *values["output"], *values["part"]):
        for key in REACHED:
            entry.pop(key, None)
    bare, alder = transport_from(values, "mine.toml"), tr.load("alder")
    assert bare.covers == () and bare != alder
    assert all(gear.access == Access() for gear in (*bare.roots, *bare.parts))
    assert tr.margins(bare) == tr.margins(alder)


def test_what_a_file_says_of_covers_is_read():
    alder = tr.load("alder")
    assert [(c.name, c.minutes, list(c.off_first), c.holds) for c in alder.covers] == [
        (entry["name"], entry["minutes"], entry.get("off_first", []), entry.get("holds"))
        for entry in ALDER["cover"]
    ]
    entries = {entry["name"]: entry for entry in (*ALDER["output"], *ALDER["part"])}
    for gear in (*alder.roots, *alder.parts):
        entry = entries.get(gear.name, ALDER["drive"])
        read = (list(gear.access.under), *(getattr(gear.access, key) for key in REACHED[1:]))
        assert read == (entry["under"], *(entry.get(key) for key in REACHED[1:]))


def test_limits_of_minutes_are_let_in():
    values = copy.deepcopy(ALDER)
    row(values, "cover", "top cover")["minutes"] = 600
    row(values, "cover", "bottom plate")["minutes"] = 0
    row(values, "part", "pinch cam")["lift_minutes"] = 600
    assert transport_from(values, "mine.toml").covers[0].minutes == 600


# ---- Motor, belt, springs and friction ----


def spring_of(follower: str, **keys):
    return put("follower", follower, "spring", keys)


MOTOR, BELT = ["[motor]"], ["[belt]"]
FORCE_MISTAKES = {
    "speed beside the motor": (
        top("drive", "speed_deg_s", 70),
        ["drive", "speed_deg_s", "follows from the motor", "leave speed_deg_s or [motor] out"],
    ),
    "neither speed nor motor": (
        lambda v: (v.pop("motor"), v.pop("belt")), ["drive", "speed_deg_s", "missing", "0.01 to 10000"],
    ),
    "belt without motor": (
        lambda v: (v.pop("motor"), v["drive"].update(speed_deg_s=70)),
        ["belt", "there is no motor", "give a [motor] table"],
    ),
    "motor no table": (lambda v: v.__setitem__("motor", 12), ["motor", "the number 12", "[motor]"]),
    "belt no table": (lambda v: v.__setitem__("belt", [1]), ["belt", "a list", "[belt]"]),
    "unknown key of the motor": (
        top("motor", "voltage", 12), [*MOTOR, "voltage", "not known", "did you mean 'voltage_V'"],
    ),
    "unknown key of the belt": (
        top("belt", "thick_mm", 1), [*BELT, "thick_mm", "did you mean 'thickness_mm'"],
    ),
    "motor that no motor is": (
        lambda v: v["motor"].update(stall_torque_Nmm=1e5),
        [*MOTOR, "stall_torque_Nmm", "resistance_ohm", "measure voltage, speed and stall torque again"],
    ),
    "pulleys that overlap": (
        top("belt", "centres_mm", 15), [*BELT, "centres_mm", "centres_mm is 15 mm", "measure the belt"],
    ),
    "belt of no kind": (
        top("belt", "kind", "toothed"), [*BELT, "kind", "'toothed'", "square, flat and round"],
    ),
    "round belt that isn't round": (
        lambda v: v["belt"].update(kind="round", width_mm=2), [*BELT, "round belt is as wide as it is thick"],
    ),
    "groove too narrow": (
        top("belt", "driver_groove_deg", 10), [*BELT, "driver_groove_deg", "10", "20 to 180"],
    ),
    "spring no table": (
        put("follower", "pinch lever", "spring", 3),
        ['[[follower]] "pinch lever"', "spring", "the number 3", "{at_mm = 0, force_N = 2"],
    ),
    "spring without a force": (
        spring_of("pinch lever", at_mm=0), ["key spring", "force_N", "missing", "smaller lifts"],
    ),
    "spring without a lift": (
        spring_of("pinch lever", force_N=2), ['"pinch lever", key spring', "at_mm", "missing"],
    ),
    "spring that pulls less the longer it is": (
        spring_of("pinch lever", at_mm=0, force_N=2, rate_N_mm=-0.1), ["spring", "rate_N_mm", "-0.1", "0 to"],
    ),
    "unknown key of a spring": (
        spring_of("pinch lever", at_mm=0, force_N=2, rate=1), ["spring", "rate", "did you mean 'rate_N_mm'"],
    ),
    "set that loses more than all": (
        lambda v: v["planetary_set"][0].update(mesh_efficiency=1.2),
        ['[[planetary_set]] "main set"', "mesh_efficiency", "1.2", "0.5 to 1"],
    ),
}  # fmt: skip


@pytest.mark.parametrize("mistake", FORCE_MISTAKES)
def test_mistake_about_forces_is_told(mistake):
    values = copy.deepcopy(ALDER)
    change, words = FORCE_MISTAKES[mistake]
    change(values)
    problems = problems_of(values)
    assert any(all(word in problem for word in words) for problem in problems), problems


# Where each number of forces stands, what is below and above what it may be, and what its message names.
FORCE_NUMBERS = [
    (("motor", None, "voltage_V"), 0, 101, "0.1 to 100 V"),
    (("motor", None, "no_load_rev_min"), 0, 2e5, "1 to 100000 rev/min"),
    (("motor", None, "stall_torque_Nmm"), 0, 2e5, "0.001 to 100000 N·mm"),
    (("motor", None, "turns_per_cam_turn"), 0, 2e6, "0.001 to 1e+06 turns"),
    (("motor", None, "train_efficiency"), 0, 1.01, "0.01 to 1"),
    (("motor", None, "back_efficiency"), -0.1, 1.01, "0 to 1"),
    (("motor", None, "friction_Nmm"), -1, 2e6, "0 to 1e+06 N·mm"),
    (("belt", None, "inside_mm"), 0, 2e4, "5 to 10000 mm"),
    (("belt", None, "thickness_mm"), 0, 21, "0.05 to 20 mm"),
    (("belt", None, "width_mm"), 0, 51, "0.05 to 50 mm"),
    (("belt", None, "modulus_MPa"), 0, 2e4, "0.1 to 10000 MPa"),
    (("belt", None, "friction"), 0, 4, "0.01 to 3"),
    (("belt", None, "driver_mm"), 0, 3000, "1 to 2000 mm"),
    (("belt", None, "driven_mm"), 0, 3000, "1 to 2000 mm"),
    (("belt", None, "driven_groove_deg"), 0, 181, "20 to 180"),
    (("belt", None, "centres_mm"), 0, 2e4, "1 to 10000 mm"),
    (("drive", None, "drag_Nmm"), -1, 2e6, "0 to 1e+06 N·mm"),
    (("output", "transfer ring", "drag_Nmm"), -1, 2e6, "0 to 1e+06 N·mm"),
    (("part", "pinch cam", "drag_Nmm"), -1, 2e6, "0 to 1e+06 N·mm"),
    (("part", "pinch cam", "mesh_efficiency"), 0, 1.01, "0.05 to 1"),
    (("part", "pinch cam", "slip_torque_Nmm"), 0, 2e6, "0.001 to 1e+06 N·mm"),
    (("planetary_set", "main set", "mesh_efficiency"), 0.4, 1.01, "0.5 to 1"),
    (("follower", "pinch lever", "friction_N"), -1, 2e4, "0 to 10000 N"),
    (("spring", "pinch lever", "at_mm"), -501, 501, "-500 to 500 mm"),
    (("spring", "pinch lever", "force_N"), -2e4, 2e4, "-10000 to 10000 N"),
    (("spring", "pinch lever", "rate_N_mm"), -1, 2e4, "0 to 10000 N"),
]
MAY_BE_LEFT_OUT = {"friction_Nmm", "driven_groove_deg", "drag_Nmm", "mesh_efficiency", "slip_torque_Nmm",
                   "friction_N", "rate_N_mm"}  # fmt: skip


def holder(values: dict, table: str, name: str | None) -> dict:
    """The table in which a number of forces stands."""
    if table == "spring":
        return row(values, "follower", name)["spring"]
    return row(values, table, name) if name else values[table]


@pytest.mark.parametrize("where, low, high, right", FORCE_NUMBERS, ids=lambda x: str(x)[:60])
def test_numbers_of_forces_are_checked(where, low, high, right):
    table, name, key = where
    bad_values = [low, high, float("nan"), float("inf"), 10**400, "much", True, [], {}]
    for bad in bad_values:
        values = copy.deepcopy(ALDER)
        holder(values, table, name)[key] = bad
        (problem,) = problems_of(values)
        assert (name or f"[{table}]") in problem and f"key {key}" in problem and right in problem, problem
    values = copy.deepcopy(ALDER)
    holder(values, table, name).pop(key, None)
    if key in MAY_BE_LEFT_OUT:
        transport_from(values, "mine.toml")
    else:
        (problem,) = problems_of(values)
        assert f"key {key}: it is missing" in problem and right in problem


def test_mistakes_of_motor_and_belt_are_told_together():
    values = copy.deepcopy(ALDER)
    values["motor"]["voltage_V"], values["belt"]["friction"] = "twelve", 0
    row(values, "part", "pinch cam")["slip_torque_Nmm"] = -3
    row(values, "follower", "pinch lever")["spring"]["force_N"] = None
    assert len(problems_of(values)) == 4


def test_what_a_file_says_of_forces_is_read():
    alder, motor, belt = tr.load("alder"), ALDER["motor"], ALDER["belt"]
    drive = alder.drive
    assert alder.speed_deg_s is None and drive.motor.voltage_V == motor["voltage_V"]
    assert drive.motor.no_load_rev_min == pytest.approx(motor["no_load_rev_min"])
    assert drive.motor.stall_torque_Nmm == pytest.approx(motor["stall_torque_Nmm"])
    keys = ("turns_per_cam_turn", "back_efficiency", "friction_Nmm")
    assert [getattr(drive, key) for key in keys] == [motor[key] for key in keys]
    assert drive.efficiency == motor["train_efficiency"] and drive.belt.centres_mm == belt["centres_mm"]
    for key in ("kind", "inside_mm", "thickness_mm", "width_mm", "modulus_MPa", "friction"):
        assert getattr(drive.belt.belt, key) == belt[key]
    for end in ("driver", "driven"):
        assert getattr(drive.belt, end).diameter_mm == belt[f"{end}_mm"]
    assert drive.belt.driver.groove_deg == drive.belt.driven.groove_deg == 180
    entries = {entry["name"]: entry for entry in (*ALDER["output"], *ALDER["part"])}
    for gear in (*alder.roots, *alder.parts):
        assert gear.drag_Nmm == entries.get(gear.name, ALDER["drive"]).get("drag_Nmm", 0)
    for part in alder.parts:
        assert part.mesh_efficiency == entries[part.name].get("mesh_efficiency", 1)
        assert part.slip_torque_Nmm == entries[part.name].get("slip_torque_Nmm")
    for follower in alder.followers:
        entry = row(ALDER, "follower", follower.name)
        spring = entry.get("spring", {"at_mm": 0, "force_N": 0})
        assert follower.friction_N == entry.get("friction_N", 0)
        read = (follower.spring.at_mm, follower.spring.force_N, follower.spring.rate_N_mm)
        assert read == (spring["at_mm"], spring["force_N"], spring.get("rate_N_mm", 0))


def test_grooves_and_slip_torques_are_read():
    values = copy.deepcopy(ALDER)
    values["belt"].update(driver_groove_deg=60, driven_groove_deg=90)
    row(values, "part", "pinch cam")["slip_torque_Nmm"] = 150
    found = transport_from(values, "mine.toml")
    assert (found.drive.belt.driver.groove_deg, found.drive.belt.driven.groove_deg) == (60, 90)
    assert found.part("pinch cam").slip_torque_Nmm == 150


def test_a_measured_speed_in_the_place_of_the_motor():
    values = copy.deepcopy(ALDER)
    del values["motor"], values["belt"], values["how_often"], values["check"], values["repair"]
    values["drive"]["speed_deg_s"] = 70
    found = transport_from(values, "mine.toml")
    assert found.drive is None and found.speed_deg_s == 70
    assert tr.margins(found) == tr.margins(tr.load("alder"))
