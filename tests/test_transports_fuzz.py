"""Files mutated by a seeded hand: loading one gives a transport or a MechError, and nothing else ever.

What loads must also answer everything that it can be asked.
"""

from __future__ import annotations

import copy
import random
import re
import tomllib
from collections import Counter
from functools import cache
from importlib import resources

import pytest
from transport_makers import make

from mechlib import transports as tr
from mechlib.errors import MechError
from mechlib.transports.files import transport_from

TEXT = (resources.files("mechlib.transports") / "data" / "alder.toml").read_text("utf-8")
PARTS = [part["name"] for part in tomllib.loads(TEXT)["part"]]
drawn = cache(make)

ODD = ["nan", "inf", "-inf", "-1", "0", "1e308", "1e-308", "9" * 40, '"text"', '""', "[]", "{}", "true",
       "[[[]]]", "{deg = nan}", "{deg = 1e9}", "{teeth = -3}", "{turns = 1e308}", "1979-05-27", '{mm = 3}',
       '{a = {b = {c = {d = 1}}}}', '["A", "A"]', "{deg = 0}", "1", "12", "0.5"]  # fmt: skip


def flip_bytes(rng, text: bytes) -> bytes:
    raw = bytearray(text)
    for _ in range(rng.randint(1, 6)):
        raw[rng.randrange(len(raw))] = rng.choice([rng.randrange(256), rng.choice(b'0123456789.-="[]{}, \n')])
    return bytes(raw)


def cut(rng, text: bytes) -> bytes:
    at = rng.randrange(len(text))
    return rng.choice([text[:at], text[at:]])


def shuffle_lines(rng, text: bytes) -> bytes:
    lines = text.split(b"\n")
    for _ in range(rng.randint(1, 5)):
        i, j = rng.randrange(len(lines)), rng.randrange(len(lines))
        how = rng.randrange(3)
        if how == 0:
            del lines[i]
        elif how == 1:
            lines.insert(j, lines[i])
        else:
            lines[i], lines[j] = lines[j], lines[i]
    return b"\n".join(lines)


def odd_values(rng, text: bytes) -> bytes:
    """Values replaced, anywhere that a value stands: after = and in lists."""
    found = list(re.finditer(rb'(?<== )[^\n#,}\]]+|(?<=deg = )[-0-9.]+|(?<=\[)"[^"]+"', text))
    for match in sorted(rng.sample(found, rng.randint(1, 3)), key=lambda m: -m.start()):
        text = text[: match.start()] + rng.choice(ODD).encode() + text[match.end() :]
    return text


def other_numbers(rng, text: bytes) -> bytes:
    """Numbers a little or much off: the file stays a file, the machine may not."""
    found = list(re.finditer(rb"-?\d+(\.\d+)?", text))
    for match in sorted(rng.sample(found, rng.randint(1, 4)), key=lambda m: -m.start()):
        number = float(match.group()) * rng.choice([1.001, 0.999, 1.02, 0.9, -1, 2, 10])
        number += rng.choice([0, 0, 0.3])
        digits = ".0f" if b"." not in match.group() and rng.random() < 0.7 else "g"
        text = text[: match.start()] + format(number, digits).encode() + text[match.end() :]
    return text


def other_keys(rng, text: bytes) -> bytes:
    words = sorted(set(re.findall(rb'[A-Za-z_]{3,}|"[^"\n]+"', text)))
    old, new = rng.sample(words, 2)
    return text.replace(old, new, rng.choice([1, -1]))


def other_parents(rng, text: bytes) -> bytes:
    names = [f'"{name}"'.encode() for name in PARTS] + [b'"transfer ring"']
    for match in reversed(list(re.finditer(rb'(?<=meshes_with = )"[^"]+"', text))):
        if rng.random() < 0.4:
            text = text[: match.start()] + rng.choice(names) + text[match.end() :]
    return text


FUZZERS = (flip_bytes, cut, shuffle_lines, odd_values, odd_values, other_numbers, other_numbers, other_keys,
           other_parents)  # fmt: skip


def mutated(seed: int) -> bytes:
    rng = random.Random(f"file {seed}")
    text = TEXT.encode()
    for _ in range(rng.choice([1, 1, 1, 2])):
        text = FUZZERS[(seed + rng.randrange(2)) % len(FUZZERS)](rng, text) or b"\n"
    return text


def outcome(make_transport, name: str) -> str:
    """Make a transport and ask it everything: "refused" or "sound"; any other exception fails the test."""
    try:
        transport = make_transport()
    except MechError as error:
        assert error.problems and all(name in problem for problem in error.problems), error
        assert max(map(len, error.problems)) < 3000
        return "refused"
    assert len(tr.margins(transport)) == len(transport.modes)
    assert len(tr.change_table(transport)) == len(transport.modes) * (len(transport.modes) - 1)
    tr.interlock_margins(transport)
    return "sound"


def fuzz_files(folder, seeds) -> Counter:
    counts = Counter()
    for seed in seeds:
        path = folder / f"fuzz {seed}.toml"
        path.write_bytes(mutated(seed))
        counts[outcome(lambda path=path: tr.load(path), path.name)] += 1
        path.unlink()
    return counts


@pytest.mark.parametrize("first", range(0, 500, 125))
def test_mutated_files(tmp_path, first):
    counts = fuzz_files(tmp_path, range(first, first + 125))
    assert counts["refused"] > 60 and counts["sound"] > 3, counts


ODD_VALUES = (None, True, -1, 0, 1, 3, 0.5, 10**40, 1e308, float("nan"), float("inf"), "", "text", "main cam",
              [], [[]], {}, {"deg": 0}, {"deg": 1e9}, {"deg": "x"}, {"turns": 2}, {"mm": 3},
              {"a": {"b": {}}})  # fmt: skip


def places(value, found: list):
    """Every dict or list in a file's values, with the keys or numbers under which it holds something."""
    if isinstance(value, (dict, list)):
        for key in value if isinstance(value, dict) else range(len(value)):
            found.append((value, key))
            places(value[key], found)
    return found


def mutated_values(seed: int) -> dict:
    """The values of a drawn transport, every other one of a cam that goes round, with something changed."""
    rng = random.Random(f"values {seed}")
    values = copy.deepcopy(drawn(seed % 12, seed % 2 == 0))
    for _ in range(rng.randint(1, 2)):
        inside, key = rng.choice(places(values, []))
        how = rng.randrange(4)
        if how == 0:
            inside[key] = copy.deepcopy(rng.choice(ODD_VALUES))
        elif how == 1:
            other, there = rng.choice(places(values, []))
            inside[key] = copy.deepcopy(other[there])
        elif how == 2 and isinstance(inside, list):
            inside.append(copy.deepcopy(inside[key]))
        elif isinstance(inside[key], float | int):
            inside[key] = inside[key] * rng.choice([-1, 0.5, 0.97, 1.03, 2])
    return values


def fuzz_values(seeds) -> Counter:
    def made(seed):
        return lambda: transport_from(mutated_values(seed), "mine.toml")

    return Counter(outcome(made(seed), "mine.toml") for seed in seeds)


def test_mutated_values():
    counts = fuzz_values(range(240))
    assert counts["refused"] > 60 and counts["sound"] > 20, counts
