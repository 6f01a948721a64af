"""Readers' files spoiled by a seeded hand: the same seed gives the same bytes on every machine."""

from __future__ import annotations

import copy
import random
import re
from collections.abc import Callable
from functools import cache

from transport_makers import make

from mechlib.bench.stock import SPARES_BIN
from mechlib.teaching.records import Check, Guess, written
from mechlib.transports import shipped
from mechlib.transports.files import DATA

NUMBER = re.compile(rb"(?<![\w.])-?\d+(\.\d+)?(?![\w.])")
WORD = re.compile(rb'[A-Za-z_]{3,}|"[^"\n]+"')
TABLE = re.compile(rb"(?m)^(?=\[)")
PARENT = re.compile(rb'(?<=meshes_with = )"[^"\n]+"')
NAME = re.compile(rb'(?m)(?<=^name = )"[^"\n]+"')
NUMBERS = [b"nan", b"inf", b"-inf", b"-1", b"0", b"-0.0", b"1e308", b"-1e308", b"5e-324",
           b"1e999", b"9" * 40, b"9" * 5000, b"1", b"0.5", b"NaN", b"Infinity", b"1_0", b"1,5"]  # fmt: skip
ODD = {
    "toml": [b'"text"', b'""', b"[]", b"{}", b"true", b"[[[]]]", b"{deg = nan}", b"{deg = 1e9}",
             b"{teeth = -3}", b"{turns = 1e308}", b"1979-05-27", b"{mm = 3}", b"{a = {b = {c = 1}}}",
             b'["A", "A"]', b"{deg = 0}", b'"\\u0000"', b"[1e308, -1e308]", b'{deg = "x"}'],
    "csv": [b"text", b"", b'"', b"=1+1", b"24.5", b"1e5", b"-", "½".encode(), b'"0,5"', "−3".encode()],
    "jsonl": [b'"text"', b'""', b"[]", b"{}", b"null", b"true", b"[[[]]]", b'"\\ud800"', b'"\\u0000"', b"2",
              b'"2031-99-99"', b'"' + b"x" * 600 + b'"'],
}  # fmt: skip
VALUE = {
    "toml": re.compile(rb'(?<== )[^\n#,}\]]+|(?<=deg = )[-0-9.]+|(?<=\[)"[^"\n]+"'),
    "csv": re.compile(rb"(?<=[,;\n])[^,;\n]+"),
    "jsonl": re.compile(rb'(?<=: )("[^"\n]*"|[^,}\n]+)'),
}


def stock_list() -> bytes:
    return b"\n".join(SPARES_BIN.read_bytes().split(b"\n")[:40])


def progress_file() -> bytes:
    at = "2031-03-03T09:{:02}:00.000+00:00"
    lines = []
    for minute in range(30):
        check = Check(at.format(minute), "Ann", "trains", f"exercise {minute % 5}", minute, "sign lost")
        guess = Guess(at.format(minute), "Ben", "Which way?", 4.5, "later" if minute % 2 else None)
        lines.append(written(guess if minute % 3 else check))
    return "\n".join([*lines, ""]).encode()


WHOLE: dict[str, Callable[[int], bytes]] = {
    "toml": lambda seed: (DATA / f"{shipped()[seed % len(shipped())]}.toml").read_bytes(),
    "csv": lambda seed: stock_list() if seed % 2 else stock_list().replace(b",", b";"),
    "jsonl": lambda seed: progress_file(),
}
whole = cache(lambda kind, seed: WHOLE[kind](seed))


def replaced(rng, text: bytes, pattern, new, most: int) -> bytes:
    """The text with up to ``most`` places of a pattern replaced by what ``new(match)`` gives."""
    found = list(pattern.finditer(text))
    chosen = rng.sample(found, min(len(found), rng.randint(1, most)))
    for match in sorted(chosen, key=lambda match: -match.start()):
        text = text[: match.start()] + new(match) + text[match.end() :]
    return text


def flip_bytes(rng, text, kind) -> bytes:
    raw = bytearray(text)
    for _ in range(rng.randint(1, 6)):
        raw[rng.randrange(len(raw))] = rng.choice([rng.randrange(256), rng.choice(b'0123456789.-="[]{}, \n')])
    return bytes(raw)


def cut(rng, text, kind) -> bytes:
    at = rng.randrange(len(text))
    return rng.choice([text[:at], text[at:], text[:at] + text[at + rng.randint(1, 400) :]])


def shuffle_lines(rng, text, kind) -> bytes:
    lines = text.split(b"\n")
    for _ in range(rng.randint(1, 5)):
        here, there = rng.randrange(len(lines)), rng.randrange(len(lines))
        how = rng.randrange(3)
        if how == 0 and len(lines) > 1:
            del lines[here]
        elif how == 1:
            lines.insert(there, lines[here])
        else:
            lines[here], lines[there] = lines[there], lines[here]
    return b"\n".join(lines)


def shuffle_tables(rng, text, kind) -> bytes:
    """Tables (elsewhere lines) in another order, left out, or there again, at times a hundred times."""
    blocks = TABLE.split(text) if kind == "toml" else text.splitlines(keepends=True)
    here, there = rng.randrange(len(blocks)), rng.randrange(len(blocks))
    how = rng.randrange(4)
    if how == 0:
        rng.shuffle(blocks)
    elif how == 1:
        blocks[here], blocks[there] = blocks[there], blocks[here]
    elif how == 2:
        del blocks[here]
    else:
        times = rng.choice([1, 1, 3, 190, 1000])
        other = (re.sub(rb'(?m)^name = "', b'name = "%d ' % turn, blocks[here]) for turn in range(times))
        blocks[there:there] = other if rng.random() < 0.5 else [blocks[here]] * times
    return b"".join(blocks)


def odd_values(rng, text, kind) -> bytes:
    return replaced(rng, text, VALUE[kind], lambda _: rng.choice(ODD[kind] + NUMBERS), 3)


def odd_numbers(rng, text, kind) -> bytes:
    return replaced(rng, text, NUMBER, lambda _: rng.choice(NUMBERS), 3)


def other_numbers(rng, text, kind) -> bytes:
    """Numbers a little or much off: the file stays a file, the machine may not."""

    def off(match) -> bytes:
        number = float(match[0]) * rng.choice([1.001, 0.999, 1.02, 0.9, -1, 2, 10])
        number += rng.choice([0, 0, 0.3])
        digits = ".0f" if b"." not in match[0] and rng.random() < 0.7 else "g"
        return format(number, digits).encode()

    return replaced(rng, text, NUMBER, off, 4)


def other_words(rng, text, kind) -> bytes:
    """A key or a name put in the place of another, once or everywhere."""
    words = sorted({match[0] for match in WORD.finditer(text)}) or [text]
    old, new = rng.choice(words), rng.choice(words)
    return text.replace(old, new, rng.choice([1, -1]))


def other_parents(rng, text, kind) -> bytes:
    """Gears that mesh with one another in a ring, or with themselves; elsewhere other words."""
    names = NAME.findall(text)
    if kind != "toml" or not names:
        return other_words(rng, text, kind)
    return replaced(rng, text, PARENT, lambda _: rng.choice([*names, b'"main gear"']), 3)


def other_letters(rng, text, kind) -> bytes:
    """Saved by another program: other letters, marks in front, other ends of lines, zeros."""
    how = rng.randrange(7)
    words = text.decode("utf-8", "replace")
    if how < 3:
        return words.encode(("utf-16", "utf-32", "cp1252")[how], "replace")
    if how == 3:
        return rng.choice([b"\xef\xbb\xbf", b"\xff\xfe", b"\xfe\xff", b"\0"]) + text
    if how == 4:
        return text.replace(b"\n", rng.choice([b"\r\n", b"\r", b"\x0b", "\u2028".encode()]))
    return replaced(rng, text, WORD, lambda _: rng.choice([b"\xff", "ß\u0301😀".encode(), b"\0", b"\x7f"]), 3)


def deep(rng, text, kind) -> bytes:
    """A value within a value within a value."""
    levels = rng.choice([5, 90, 240, 330, 480, 2000, 50_000])
    first, last = rng.choice([(b"[", b"]"), (b"{a=", b"}") if kind == "toml" else (b'{"a":', b"}")])
    nested = first * levels + b"1" + last * levels
    if rng.random() < 0.5:
        return replaced(rng, text, VALUE[kind], lambda _: nested, 1)
    return {"toml": b"%s\nx = %s\n", "csv": b"%s\n%s", "jsonl": b"%s\n%s\n"}[kind] % (text, nested)


def long(rng, text, kind) -> bytes:
    """Very long words, lines and files, up to a little beyond what is read."""
    how, times = rng.randrange(4), rng.choice([60, 401, 5000, 100_000])
    if how == 0:
        return replaced(rng, text, WORD, lambda match: match[0][:-1] + b"x" * times + match[0][-1:], 2)
    if how == 1:
        line = rng.choice(text.split(b"\n"))
        return text + b"\n" + line * (times // 100)
    if how == 2:
        return text + rng.choice([b"\n", b" ", b",", b"#", b"["]) * times * 10
    return text * rng.choice([2, 30])


def empty(rng, text, kind) -> bytes:
    return rng.choice([b"", b"\n", b" \t\r\n", b"#", b"\0", b"\xef\xbb\xbf", b"[]", b"{}", b"null", b'"'])


HANDS = (flip_bytes, cut, shuffle_lines, shuffle_tables, odd_values, odd_values, odd_numbers, other_numbers,
         other_numbers, other_words, other_parents, other_letters, deep, long)  # fmt: skip


def spoiled(kind: str, seed: int) -> bytes:
    """A file of a kind ("toml", "csv" or "jsonl") spoiled once or twice."""
    rng = random.Random(f"{kind} {seed}")
    if seed % 100 == 99:
        return empty(rng, b"", kind)
    text = whole(kind, seed % 6)
    for turn in range(rng.choice([1, 1, 1, 2])):
        hand = HANDS[seed // 6 % len(HANDS)] if turn == 0 else rng.choice(HANDS)
        text = hand(rng, text, kind) or b"\n"
    return text


ODD_VALUES = (None, True, -1, 0, 1, 3, 0.5, 10**40, 1e308, float("nan"), float("inf"), "", "text", "main cam",
              [], [[]], {}, {"deg": 0}, {"deg": 1e9}, {"deg": "x"}, {"turns": 2}, {"mm": 3},
              {"a": {"b": {}}})  # fmt: skip
drawn = cache(make)


def places(value, found: list):
    """Every dict or list in a file's values, with the keys or numbers under which it holds something."""
    if isinstance(value, (dict, list)):
        for key in value if isinstance(value, dict) else range(len(value)):
            found.append((value, key))
            places(value[key], found)
    return found


def spoiled_values(seed: int) -> dict:
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
