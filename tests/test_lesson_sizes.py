"""The script that tells how much there is to read."""

import lesson_sizes
import nbformat
from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook


def test_words_cells_and_sentences_are_counted(tmp_path):
    cells = [
        new_markdown_cell("# Turn a gear\n\nIt turns. It doesn't stop at N·mm, does it?"),
        new_code_cell("print('four words of code')"),
        new_markdown_cell("One two three four five six seven eight nine ten\neleven. End."),
        new_markdown_cell("| a | b |\n|---|---|\n| one two | three |\n\n<!-- not this -->![nor this](x.png)"),
    ]
    path = tmp_path / "01_a.ipynb"
    nbformat.write(new_notebook(cells=cells), path)
    size = lesson_sizes.size(path)
    assert (size.cells, size.words) == (4, 12 + 12 + 5)
    assert (size.longest_cell, size.longest_cell_words, size.longest_sentence_words) == (1, 12, 11)
    assert "01_a" in lesson_sizes.table([size]) and "One two three" in lesson_sizes.table([size])


def test_no_sentence_of_a_page_is_too_long_to_follow():
    """Short sentences, one idea at a time: forty words are too many for anybody."""
    sizes = [lesson_sizes.size(path) for path in lesson_sizes.NOTEBOOKS.glob("[0-9][0-9]_*.ipynb")]
    assert not [(s.file, s.longest_sentence) for s in sizes if s.longest_sentence_words > 40]
