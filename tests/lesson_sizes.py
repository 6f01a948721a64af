"""How much there is to read: words of each notebook, its longest cell, its longest sentence.

.venv/bin/python tests/lesson_sizes.py
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

import nbformat
from refresh_notebooks import NOTEBOOKS

from mechlib.say import columns

_DROPPED = re.compile(
    r"<!-- pages -->.*?<!-- end of pages -->|<!--.*?-->"
    r"|^```.*?^```|!\[[^\]]*\]\([^)]*\)|\]\([^)]*\)|^\|[-| ]+\|$",
    re.S | re.M,
)
_WORD = re.compile(r"[^\W_]+(?:[’'·-][^\W_]+)*")
_END = re.compile(r"(?<=[.!?:])[*_)\"”]*\s+|\n\s*\n|\n- |\n\d+\. |\|")


@dataclass(frozen=True)
class Size:
    """Of one notebook: its cells, words of prose, the longest prose cell (from 1), the longest sentence."""

    file: str
    cells: int
    words: int
    longest_cell: int
    longest_cell_words: int
    longest_sentence_words: int
    longest_sentence: str


def words(prose: str) -> int:
    """Count the words of a piece of prose; the index, pictures and the targets of links are none.

    >>> words("One [small](big_page.ipynb) gear ![a gear](gear.png), don't turn 3 mm.")
    7
    """
    return len(_WORD.findall(_DROPPED.sub(" ", prose)))


def sentences(prose: str) -> list[str]:
    """Split prose roughly into sentences; an item of a list and a cell of a table is one, too.

    >>> sentences("Turn it. Does it turn?\\n\\n- One\\n- Two")
    ['Turn it.', 'Does it turn?', 'One', 'Two']
    """
    parts = (part.strip(" \n-#*") for part in _END.split(_DROPPED.sub(" ", prose)))
    return [part for part in parts if part]


def size(path: Path) -> Size:
    """Measure one notebook."""
    cells = nbformat.read(path, as_version=4).cells
    prose = {at: cell.source for at, cell in enumerate(cells, 1) if cell.cell_type == "markdown"}
    cell = max(prose, key=lambda at: words(prose[at]))
    sentence = max((each for text in prose.values() for each in sentences(text)), key=words)
    total = sum(map(words, prose.values()))
    return Size(path.name, len(cells), total, cell, words(prose[cell]), words(sentence), sentence)


def table(sizes: list[Size]) -> str:
    """All sizes in columns, the longest sentence by its beginning."""
    header = ("notebook", "cells", "words", "longest cell", "its words", "longest sentence", "it begins")
    rows = [
        (
            *(s.file.removesuffix(".ipynb"), str(s.cells), str(s.words), str(s.longest_cell)),
            *(str(s.longest_cell_words), str(s.longest_sentence_words), s.longest_sentence[:40]),
        )
        for s in sizes
    ]
    return columns(header, rows)


if __name__ == "__main__":
    print(table([size(path) for path in sorted(NOTEBOOKS.glob("*.ipynb"))]))
