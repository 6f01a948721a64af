"""Re-timing of every shipped machine: what is named can be seen, and what comes off goes on again."""

from __future__ import annotations

import re
import tomllib
from importlib import resources
from itertools import combinations

import pytest

from mechlib import transports as tr
from mechlib.bench import retiming

DATA = resources.files("mechlib.transports") / "data"


def words_of(plan, kind: str) -> list[str]:
    return [step.words for step in plan.steps if step.kind == kind]


def machines():
    """Each machine with one mesh out, and with two."""
    for name in tr.shipped():
        sound = tr.load(name)
        for number in (1, 2):
            for parts in combinations([part.name for part in sound.parts], number):
                yield name, parts


def covers_by_hand(data: dict, gear: str) -> set[str]:
    """The covers over a gear and those before them, as the file has them."""
    rows = {row["name"]: row for row in (*data.get("output", []), *data["part"])} | {
        "main gear": data["drive"]
    }
    off = set(rows[gear].get("under", []))
    for _ in data.get("cover", []):
        off |= {
            first for row in data.get("cover", []) if row["name"] in off for first in row.get("off_first", [])
        }
    return off


@pytest.mark.few(8)
@pytest.mark.parametrize(("name", "parts"), list(machines()))
def test_what_is_named_can_be_seen_and_what_is_off_goes_on(name, parts):
    data = tomllib.loads((DATA / f"{name}.toml").read_text("utf-8"))
    plan = retiming(tr.load(name).with_faults(*(tr.slip(part, 1) for part in parts)))
    kinds = [step.kind for step in plan.steps]
    last = {re.match(r"Take off the (.*?) \(", words).group(1) for words in words_of(plan, "bearing off")}
    off = {re.match(r"Take off the (.*?) \(", words).group(1) for words in words_of(plan, "cover off")}
    for kind, covers in (("bearing on", last), ("cover on", off)):
        assert {re.match(r"Put back the (.*)\.", words).group(1) for words in words_of(plan, kind)} == covers
    _turned_while_all_is_held(data, plan, kinds, off, last)
    bring, (marks,) = [*words_of(plan, "bring"), *words_of(plan, "bring open")][0], words_of(plan, "marks")
    for part in re.findall(r"the mark of the (.*) is right", bring):
        assert covers_by_hand(data, part) <= off, part
    off |= last
    named = re.findall(r"^(.*?): ", marks, re.MULTILINE) + re.findall(r"off, look at the (.*?): ", bring)
    assert ("the turns decide" in bring) == ("the mark of the" not in bring)
    assert "the turns decide" not in bring or "turns of the" in bring
    for part in {row["name"] for row in data["part"]} & set(named):
        assert covers_by_hand(data, part) <= off, part
    for words in words_of(plan, "cause"):
        for gear in re.findall(r"^The (.*?): |look\. (?:The .*? is off\. )?The (.*?): ", words):
            still_on = covers_by_hand(data, "".join(gear)) - off
            assert all(
                f"the {cover}" in words.partition(", too, keep the gears under")[0] for cover in still_on
            )
            assert ("on again" in words) == bool(still_on)
    _springs(data, plan, kinds)


def _turned_while_all_is_held(data: dict, plan, kinds: list[str], off: set[str], last: set[str]):
    """What holds shafts comes off after the drive was turned and the springs are down, and goes on before."""
    holding = {row["name"] for row in data.get("cover", []) if "holds" in row}
    assert not off & holding and last >= holding & last and bool(last) == bool(last & holding)
    if not last:
        return
    at = kinds.index("bearing off")
    assert "bring" not in kinds or kinds.index("bring") < at
    assert "springs" not in kinds or kinds.index("springs") < at
    assert at < kinds.index("lift") and kinds.index("secure") < kinds.index("bearing on")
    assert kinds.index("bearing on") < kinds.index("by hand")
    for words in words_of(plan, "bring"):
        assert all(f"the {cover}" in words.partition("Leave ")[2] for cover in last)
    for words in words_of(plan, "bring open"):
        assert all(
            f"the {cover}" in words.partition("first put ")[2].partition(" on again")[0] for cover in last
        )
    (again,), (hand,) = words_of(plan, "marks again"), words_of(plan, "by hand")
    before, _, after = again.partition("Turn by hand to the marks")
    assert all(cover in after and cover not in before for cover in last) and "stay" in hand
    assert "don't turn the drive while it is off" in after


def _springs(data: dict, plan, kinds: list[str]):
    """What a lift or a step before it takes off or unhooks is put on again before a cover is, and named."""
    let_down = " ".join(words_of(plan, "springs")).partition("; ")[0].removeprefix("Let down or unhook ")
    hooked = " ".join(words_of(plan, "springs on"))
    assert not let_down or let_down.removesuffix(".") in hooked
    for lift, words in zip(plan.lifts, words_of(plan, "lift"), strict=True):
        row = next((r for r in (*data.get("output", []), *data["part"]) if r["name"] == lift), data["drive"])
        assert row.get("caution", "Lift") in words and words.startswith(
            "Mind" if "caution" in row else "Lift"
        )
        if "hook" in row.get("caution", ""):
            spring = re.search(r"the (.*?)(?:'s)? spring", row["caution"]).group(1)
            assert spring in hooked, "what is hooked off is hooked on"
    cautions = " ".join(words_of(plan, "caution"))
    assert "hook" not in cautions and ("bring" not in kinds or kinds.index("bring") < kinds.index("lift"))
    if hooked:
        first = kinds.index("springs on")
        assert kinds.index("secure") < first < kinds.index("by hand")
        assert "cover on" not in kinds[:first]


def test_birchs_kick_spring_is_off_for_the_lift_only():
    birch = tr.load("birch").with_faults(tr.slip("switch rotor", -1), tr.slip("lever cam", 1))
    plan = retiming(birch)
    at = {kind: [i for i, step in enumerate(plan.steps) if step.kind == kind] for kind in ("bring", "lift")}
    told = [i for i, step in enumerate(plan.steps) if "kick spring" in step.words and "hook" in step.words]
    assert told[0] == at["lift"][0] > at["bring"][0]  # the hand turning needs it
    assert plan.steps[told[1]].words == "At the main gear: hook the kick spring on again, eyes protected."
    assert len(told) == 2


@pytest.mark.parametrize("name", tr.shipped())
def test_only_little_room_is_called_so(name):
    sound = tr.load(name)
    plan = retiming(sound.with_faults(tr.slip(sound.parts[0].name, 1)))
    told = {words.split(": ")[1].split(" has ")[0] for words in words_of(plan, "check") if "Watch" in words}
    little = {m.mode for m in tr.margins(sound) if m.margin_deg * sound.main_teeth / 360 < 1}
    assert told == little and (name != "dogwood" or "OUT" not in told)
