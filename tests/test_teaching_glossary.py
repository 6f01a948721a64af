"""The glossary: every word of it is explained on the page where a reader first meets it; none is missing."""

import re
from collections import Counter
from dataclasses import replace

import nbformat
import pytest
from nbformat.v4 import new_code_cell, new_markdown_cell, new_notebook, new_output
from refresh_notebooks import NOTEBOOKS

from mechlib.errors import MechError
from mechlib.teaching.glossary import (
    GLOSSARY,
    Term,
    explain,
    find_term,
    glossary,
    nearest_words,
    terms_with,
)
from mechlib.teaching.pages import FIRST_NO_LESSON

_OUT = re.compile(
    r"^```.*?^```|`[^`]*`|\]\([^)]*\)"  # code, the targets of links
    r"|<!-- pages -->.*?<!-- end of pages -->",  # the index
    re.S | re.M,
)
_CELL = re.compile(r"^\| ([^|\n]+?) \|", re.M)
MOST_WORDS = 3  # of a term; what is bold and longer is a rule, or stress
# In bold, but no terms of the trade: stress, colours and controls of a picture, what is done to a page.
NO_TERMS = frozenset(
    """cell|slider|list|round button|predict|plug out|mains plug out|covers on|every|once|no|none|in|last
    |right|low|high|slow|usual|faster|slower|inside|beyond|across|held|as a block|opposite senses|motor|time
    |unloading|count|turn|note|stops|steps|can't be|show|reel|red|orange and hatched|blue base
    |hatched layer|dotted humps|broken line|straight line|bars|force times slope|one thickness|stretched
    |round inside|folded flat|worn clutch|pulls for|probability over minutes|fits
    |fits after work|to be made|pins|laser|never bridged|save first""".replace("\n    ", "").split("|")
)


def told(notebook, first: int = 1) -> list[str]:
    """What a reader reads on a page, cell by cell: prose with headings and the words for pictures, and what
    code cells printed and panels say.  A lesson's first cell, which says what it is for, is left out."""
    return [_OUT.sub(" ", cell.source) if prose(cell) else printed(cell) for cell in notebook.cells[first:]]


def prose(cell) -> bool:
    return cell.cell_type == "markdown"


def printed(cell) -> str:
    """The stored outputs of a code cell; a panel is stored as the words that it says.  Nothing in bold."""
    texts = [out.get("text") or out.get("data", {}).get("text/plain", "") for out in cell.outputs]
    return "\n".join(texts).replace("*", "")


def explained(term: Term, text: str) -> bool:
    """Whether a piece of prose has the word in bold, or at the head of a line of a table."""
    return any(term.pattern().fullmatch(head) for head in bold(text) + _CELL.findall(text))


def bold(text: str) -> list[str]:
    """What stands in bold, without an article before it and a stop behind it."""
    return [bare(head) for head in re.findall(r"\*\*(.+?)\*\*", text)]


def bare(head: str) -> str:
    return re.sub(r"^(?:[Aa]n?|[Tt]he) ", "", head).strip(" :.")


def not_in_the_glossary(text: str) -> list[str]:
    """The terms that stand in bold: short, in small letters, no word of the glossary, and no stress."""
    small = [bare(head) for head in re.findall(r"\*\*([^\W\dA-Z].*?)\*\*", text)]
    terms = [head for head in small if len(head.split()) <= MOST_WORDS and head not in NO_TERMS]
    return [head for head in terms if not any(term.pattern().fullmatch(head) for term in GLOSSARY)]


def first_page(term: Term, read: dict[int, list[str]]) -> int | str:
    """The page that explains a word where it is first met, or what is the matter."""
    for number, texts in sorted(read.items()):
        for text in texts:
            if explained(term, text):
                return number
            if not term.everyday and (found := term.pattern().search(text)):
                around = text[max(0, found.start() - 40) : found.end() + 40].replace("\n", " ")
                return f"used before it is explained, on page {number:02}: …{around}…"
    return "explained nowhere"


@pytest.fixture(scope="module")
def read() -> dict[int, list[str]]:
    files = {int(path.name[:2]): path for path in NOTEBOOKS.glob("[0-9][0-9]_*.ipynb")}
    lessons = {number: path for number, path in files.items() if number < FIRST_NO_LESSON}
    notebooks = {number: nbformat.read(path, as_version=4) for number, path in lessons.items()}
    return {number: told(notebook, first=min(number, 1)) for number, notebook in notebooks.items()}


@pytest.mark.parametrize("term", GLOSSARY, ids=lambda term: term.word)
def test_each_word_is_explained_where_it_first_stands(term, read):
    assert first_page(term, read) == term.page


@pytest.mark.parametrize("term", [term for term in GLOSSARY if term.everyday], ids=lambda term: term.word)
def test_a_word_is_let_off_for_an_everyday_use_in_which_it_stands_before(term, read):
    assert re.search(rf"\b{term.word}s?\b", term.everyday)
    assert "used before" in str(first_page(replace(term, everyday=""), read))


def test_every_term_in_bold_has_its_entry(read):
    """A bold word that is mere stress, or names a control, belongs on the list ``NO_TERMS``."""
    missing = {number: [not_in_the_glossary(text) for text in texts] for number, texts in read.items()}
    assert {number: sum(found, []) for number, found in missing.items() if any(found)} == {}


def test_a_term_without_an_entry_is_caught():
    text = (
        "A **dwell**, the **Dwells:** and **every** **sprocket wheel**. **Turn it.** **one two three four**"
    )
    assert not_in_the_glossary(text) == ["sprocket wheel"]
    assert not_in_the_glossary("A **sprocket.**") == ["sprocket"]


def test_a_word_used_too_early_is_caught():
    term = Term("pinion", 1, "a small gear")

    def found(*cells, word=term):
        notebook = new_notebook(cells=[new_markdown_cell("# Title with pinion"), *cells])
        return first_page(word, {1: told(notebook)})

    def says(*outputs):
        return new_code_cell("turn()", outputs=list(outputs))

    good = new_markdown_cell("## The pinion\n\nA small gear is a **pinion**.")
    assert found(good) == found(new_code_cell("pinion"), good) == 1
    assert found(new_markdown_cell("`pinion` [b](pinion.ipynb)"), good) == 1
    assert "used before" in found(new_markdown_cell("![A pinion.](a.png)"), good)
    assert "used before" in found(new_markdown_cell("## The pinion"), good)
    assert found(new_markdown_cell("| word | meaning |\n|---|---|\n| pinion | a small gear |")) == 1
    assert "used before" in found(new_markdown_cell("Two pinions."), good)
    assert "used before" in found(new_markdown_cell("**A pinion turns.**"), good)
    assert found(new_markdown_cell("No gear.")) == "explained nowhere"
    play = Term("play", 1, "room between teeth")
    assert found(new_markdown_cell("PLAY"), new_markdown_cell("That is **play**."), word=play) == 1
    for output in (
        new_output("stream", text="the pinion\nturns"),
        new_output("display_data", {"text/plain": "A **pinion**.", "image/png": ""}),
    ):
        assert "used before" in found(says(output), good) and found(good, says(output)) == 1
    everyday = Term("pinion", 1, "a small gear", everyday="a pinion of a bird")
    assert found(new_markdown_cell("Two pinions."), good, word=everyday) == 1


def test_meanings_are_plain_and_short():
    for term in GLOSSARY:
        assert term.meaning.endswith(".") and term.meaning.count(". ") <= 1, term.word
        assert 3 <= len(term.meaning.split()) <= 25, term.word
        assert not term.pattern().fullmatch(term.meaning.rstrip(".")), term.word
    words = Counter(form.casefold() for term in GLOSSARY for form in {term.word, *term.also})
    assert max(words.values()) == 1
    assert [term.page for term in GLOSSARY] == sorted(term.page for term in GLOSSARY)


def test_words_are_found_in_any_case_and_number():
    for asked in ("dwell", "DWELL", " dwells "):
        assert find_term(asked).word == "dwell"
    assert find_term("meshes").word == "mesh" and find_term("coasting").word == "coast"
    assert (
        explain("stall")
        == "stall: the motor is held still, though it has its full volts. (First on page 06.)"
    )
    for unknown in ("", "xyzzy", "x" * 500, "\n"):
        with pytest.raises(MechError, match="no word of the glossary"):
            explain(unknown)
    with pytest.raises(MechError, match="did you mean .*pinion"):
        explain("pinon")


def test_parts_of_words_are_found_words_first():
    found = [term.word for term in terms_with("pinch")]
    assert found[:2] == ["pinch lever", "pinch roller"] and terms_with("xyzzy") == ()
    assert len(terms_with("")) == len(GLOSSARY)


@pytest.mark.parametrize(
    ("asked", "first"),
    [
        ("clips", "clip"),
        ("belts", "belt"),
        ("timing marks", "timing mark"),
        ("Cents", "cent"),
        ("cut off", "thermal cut-off"),
        ("cutoff", "thermal cut-off"),
        ("thermal fuse", "thermal cut-off"),
        ("mode-switch", "mode switch"),
        ("take up reel", "take-up reel"),
        ("rpm", "rev/min"),
        ("gears", "gear"),
        ("ring", "ring"),
        ("head", "head"),
    ],
)
def test_a_word_itself_comes_first_in_the_plural_and_with_hyphens_or_blanks(asked, first):
    found = [term.word for term in terms_with(asked)]
    assert found[0] == first == find_term(asked).word
    beginning = [any(w.startswith(asked.lower()) for w in word.split()) for word in found[1:]]
    assert beginning == sorted(beginning, reverse=True)


def test_the_end_of_a_word_is_not_taken_for_a_plural():
    assert terms_with("gas") == tuple(t for t in GLOSSARY if "gas" in f"{t.word} {t.meaning}".casefold())
    assert len(terms_with("s")) < len(GLOSSARY)


def test_words_spelt_alike_are_proposed():
    assert nearest_words("solonoid")[0] == "solenoid" and nearest_words("") == nearest_words("xyzzy") == ()


def test_the_text_has_every_word_in_the_order_of_the_alphabet():
    heads = [line.split(":")[0] for line in glossary().splitlines() if not line.startswith("    ")]
    assert len(heads) == len(GLOSSARY) and heads == sorted(heads, key=str.casefold)
    assert max(map(len, glossary().splitlines())) <= 96
    assert all(term.page in range(FIRST_NO_LESSON) for term in GLOSSARY)
