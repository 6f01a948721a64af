"""Write a transport file: values as TOML text with comments, and text into a file, whole or not at all."""

from __future__ import annotations

import json
import os
import re
import tempfile
from collections.abc import Callable, Mapping
from datetime import date, datetime, time
from pathlib import Path

from mechlib.errors import MechError

WIDEST = 100  # characters of a line; a longer list has each entry on a line of its own
INDENT = "  "
_BARE = re.compile(r"[A-Za-z0-9_-]+")

Comment = Callable[[str, str | None], str]


class IsThere(MechError):
    """A file of that name is there already."""


def no_comment(table: str, key: str | None) -> str:
    """Return the comment of a key in a table, or (``key`` None) of the table itself: here always none."""
    return ""


def toml_text(values: Mapping, comment: Comment = no_comment) -> str:
    """Return the TOML text of nested values, as ``tomllib`` gives them; reading it gives them back equal.

    Tables stand in the order given, plain values before them, since a table ends only where the next begins.
    What lies deeper than the first level stands in one line, or, if that is too long, an entry a line.
    ``comment(table, key)`` gives the words behind a key, and with key None those above the table ("" for
    none; the table is "" at the top).  A list of tables has its comments once, at its first entry.
    Raises MechError for a value that TOML doesn't know, such as None.
    Source: TOML 1.0.0 (toml.io/en/v1.0.0), its sections String, Array, Inline Table, Array of Tables.

    >>> print(toml_text({"name": "Elm", "drive": {"low_stop": {"teeth": -2}}, "part": [{"teeth": 36}]}))
    name = "Elm"
    <BLANKLINE>
    [drive]
    low_stop = {teeth = -2}
    <BLANKLINE>
    [[part]]
    teeth = 36
    <BLANKLINE>
    """
    plain = {key: value for key, value in values.items() if not _is_table(value) and not _are_tables(value)}
    blocks = [_block("", "", plain, comment)] if plain or comment("", None) else []
    for key, value in values.items():
        name = _key(key)
        if _is_table(value):
            blocks.append(_block(f"[{name}]", key, value, comment))
        elif _are_tables(value):
            blocks.append(_block(f"[[{name}]]", key, value[0], comment))
            blocks += [_block(f"[[{name}]]", key, row, no_comment) for row in value[1:]]
    return "\n".join(blocks)


def write_file(text: str, path: str | Path, replace: bool = False) -> Path:
    """Write text into a ``.toml`` file, whole or not at all, and return its path.

    It is written beside its place first and then put there in one step, so that a full disk or a power cut
    leaves the old file as it was.  A file that is there already is replaced only with ``replace``.
    Raises IsThere for a file that is there, MechError for a name that doesn't end in .toml and for a disk
    that refuses.
    """
    path = Path(path)
    if path.suffix != ".toml" or not path.stem.strip():
        what = f"the file name is {str(path)[:80]!r}" if path.name else "there is no file name"
        raise MechError(what, "give one that ends in .toml, such as my.toml")
    try:
        if not replace:
            path.open("x").close()  # takes the name, unless somebody has it
        _put(text, path, path if not replace else None)
    except FileExistsError:
        right = "choose another name, or say that it may be replaced"
        raise IsThere(f"{path.name} is there already", right) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise MechError(f"{path.name[:60]} could not be written", reason) from None
    return path


def _put(text: str, path: Path, undo: Path | None) -> None:
    """Write beside the file, then put it in its place; ``undo`` is taken away again if that fails."""
    handle, beside = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        os.chmod(beside, 0o644)
        os.replace(beside, path)
    except BaseException:
        Path(beside).unlink(missing_ok=True)
        if undo:
            undo.unlink(missing_ok=True)
        raise


def _is_table(value) -> bool:
    return isinstance(value, Mapping)


def _are_tables(value) -> bool:
    return isinstance(value, list) and bool(value) and all(map(_is_table, value))


def _block(head: str, table: str, values: Mapping, comment: Comment) -> str:
    """One table with its head and its lines, the comments behind the keys in one column."""
    lines = [
        (f"{_key(key)} = {_wide(_key(key), value)}", comment(table, key)) for key, value in values.items()
    ]
    column = max((len(line) for line, said in lines if said and len(line) <= WIDEST // 2), default=0)
    above = [f"# {line}".rstrip() for line in comment(table, None).splitlines()]
    written = [
        f"{line.ljust(column)}  # {said}" if said and "\n" not in line else line for line, said in lines
    ]
    return "\n".join([*above, *([head] if head else []), *written, ""])


def _wide(key: str, value) -> str:
    """A value in one line, or a list that is too long for it with each entry on its own."""
    line = inline(value)
    if not isinstance(value, list) or len(key) + 3 + len(line) <= WIDEST:
        return line
    return "\n".join(["[", *(f"{INDENT}{inline(item)}," for item in value), "]"])


def inline(value) -> str:
    """Return a value as TOML in one line.

    >>> inline({"take-up": 5, "of the crank": [True, 1.5, "a \\"b\\""]})
    '{take-up = 5, "of the crank" = [true, 1.5, "a \\\\"b\\\\""]}'
    """
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, (int, float)):
        return repr(value)
    if isinstance(value, str):
        return _text(value)
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{_key(key)} = {inline(inner)}" for key, inner in value.items()) + "}"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(map(inline, value)) + "]"
    if isinstance(value, datetime | date | time):
        return value.isoformat()
    raise MechError(f"{value!r} can't stand in a file", "give text, numbers, true or false, lists and tables")


def _key(key: str) -> str:
    return key if _BARE.fullmatch(key) else _text(key)


def _text(text: str) -> str:
    """Text in quotes; JSON escapes as TOML does, all but the character 127."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
