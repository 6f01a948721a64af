"""The words of the workbook in plain language, and the page on which each is first explained."""

from __future__ import annotations

import difflib
import re
import textwrap
from collections.abc import Iterable
from dataclasses import dataclass

from mechlib.errors import MechError
from mechlib.teaching.words import WORDS

WIDTH = 96  # characters in a line of the printed glossary


@dataclass(frozen=True)
class Term:
    """A word of the trade (or ours), its meaning, and ``page``, the number of the page that explains it.

    ``also`` are other forms of it.  ``everyday`` is an everyday use of the word, if it has one.
    """

    word: str
    page: int
    meaning: str
    also: tuple[str, ...] = ()
    everyday: str = ""

    def sentence(self) -> str:
        """The word, its meaning, and where it is explained."""
        where = "the start page" if self.page == 0 else f"page {self.page:02}"
        return f"{self.word}: {self.meaning} (First on {where}.)"

    def pattern(self) -> re.Pattern:
        """What finds the word in a text, in the plural, too; PLAY, the mode, is not the word play."""
        forms = (form for word in (self.word, *self.also) for form in (word, word[:1].upper() + word[1:]))
        either = "|".join(re.escape(form) for form in forms)
        return re.compile(rf"(?<![\w-])(?:{either})s?(?![\w-])")


GLOSSARY = tuple(Term(*entry) for entry in WORDS)


def find_term(word: str) -> Term:
    """Return the entry for a word, whatever its case, in the singular or plural.

    Parameters: ``word``, text.  Returns the Term.
    Raises MechError with the nearest words for an unknown one.
    Source: ISO 1122-1 for gears; the rest is common practice of the trade, no source, or our own word.

    >>> find_term("Dwells").word
    'dwell'
    >>> find_term("dwel")
    Traceback (most recent call last):
    mechlib.errors.MechError: “dwel” is no word of the glossary: did you mean dwell?
    """
    asked = " ".join(str(word).split()).casefold()
    names = {form.casefold(): term for term in GLOSSARY for form in (term.word, *term.also)}
    for form in (asked, asked.removesuffix("s"), asked.removesuffix("es")):
        if form in names:
            return names[form]
    near = difflib.get_close_matches(asked, names, n=3, cutoff=0.6)
    better = f"did you mean {' or '.join(near)}?" if near else f"it has {len(GLOSSARY)} words, such as cam"
    raise MechError(f"“{textwrap.shorten(asked, 30)}” is no word of the glossary", better)


def explain(word: str) -> str:
    """Explain a word in a sentence or two, and say on which page it comes first.

    Parameters, errors and sources as ``find_term``.

    >>> explain("dwell")
    'dwell: a stretch of the cam over which a follower rests. (First on the start page.)'
    """
    return find_term(word).sentence()


def terms_with(text: str) -> tuple[Term, ...]:
    """Return the entries whose word or meaning contains ``text``; those whose word does come first.

    >>> [term.word for term in terms_with("worm")]
    ['worm', 'worm shaft', 'worm wheel', 'start']
    """
    asked = " ".join(str(text).split()).casefold()
    by_word = [term for term in GLOSSARY if any(asked in w.casefold() for w in (term.word, *term.also))]
    rest = [term for term in GLOSSARY if asked in term.meaning.casefold() and term not in by_word]
    return (*by_word, *rest)


def glossary(terms: Iterable[Term] = GLOSSARY) -> str:
    """Return entries as text, one under the other, in the order of the alphabet.

    >>> print(glossary([find_term("mesh")]))
    mesh: two gears whose teeth work in one another; also the place where they do. (First on the
        start page.)
    """
    in_order = sorted(terms, key=lambda term: term.word.casefold())
    return "\n".join(textwrap.fill(term.sentence(), WIDTH, subsequent_indent="    ") for term in in_order)
