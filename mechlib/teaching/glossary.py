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
NOT_IN_IT = 4  # the rank of an entry that holds nothing of what is asked for


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
    """Return the entry for a word, whatever its case, singular or plural, with hyphens or blanks.

    Parameters: ``word``, text.  Returns the Term.
    Raises MechError with the nearest words for an unknown one.
    Source: ISO 1122-1 for gears; the rest is common practice of the trade, no source, or our own word.

    >>> find_term("Dwells").word, find_term("take up reel").word
    ('dwell', 'take-up reel')
    >>> find_term("dwel")
    Traceback (most recent call last):
    mechlib.errors.MechError: “dwel” is no word of the glossary: did you mean dwell?
    """
    asked, names = _plain(word), _names()
    for form in _singular(asked):
        if form in names:
            return names[form][1]
    near = nearest_words(asked)
    better = f"did you mean {' or '.join(near)}?" if near else f"it has {len(GLOSSARY)} words, such as cam"
    raise MechError(f"“{textwrap.shorten(asked, 30)}” is no word of the glossary", better)


def nearest_words(word: str) -> tuple[str, ...]:
    """Return up to three words of the glossary that are spelt much like ``word``, the nearest first.

    >>> nearest_words("solonoid")
    ('solenoid', 'sound', 'slide')
    """
    names = _names()
    near = difflib.get_close_matches(_plain(word), names, n=3, cutoff=0.6)
    return tuple(names[form][0] for form in near)


def _plain(word: str) -> str:
    """A word as it is compared: in small letters, single blanks for hyphens and for what is blank."""
    return " ".join(str(word).replace("-", " ").split()).casefold()


def _singular(asked: str) -> tuple[str, ...]:
    """A word as it stands, and what it may be the plural of."""
    return asked, asked.removesuffix("s"), asked.removesuffix("es")


def _names() -> dict[str, tuple[str, Term]]:
    """Every form of every word as it is compared, with the form as it is written, and its entry."""
    return {_plain(form): (form, term) for term in GLOSSARY for form in (term.word, *term.also)}


def explain(word: str) -> str:
    """Explain a word in a sentence or two, and say on which page it comes first.

    Parameters, errors and sources as ``find_term``.

    >>> explain("dwell")
    'dwell: a stretch of the cam over which a follower rests. (First on the start page.)'
    """
    return find_term(word).sentence()


def terms_with(text: str) -> tuple[Term, ...]:
    """Return the entries that have ``text`` in word or meaning, in the singular or plural.

    The word itself comes first, then those in which one word begins with it, then the other words that hold
    it, then the meanings.

    >>> [term.word for term in terms_with("worm")]
    ['worm', 'worm shaft', 'worm wheel', 'start']
    """
    asked = _plain(text)
    ranked = [(_rank(asked, term), term) for term in GLOSSARY]
    return tuple(term for rank, term in sorted(ranked, key=lambda pair: pair[0]) if rank < NOT_IN_IT)


def _rank(asked: str, term: Term) -> int:
    """How near an entry is to what is asked for, the nearest 0; ``NOT_IN_IT`` where it isn't there at all."""
    names = [_plain(form) for form in (term.word, *term.also)]
    if any(form in names for form in _singular(asked)):
        return 0
    if any(f" {asked}" in f" {name}" for name in names):
        return 1
    if any(f" {form} " in f" {name} " for name in names for form in _singular(asked)):
        return 1  # a part of the word, in the plural
    if any(asked in name for name in names):
        return 2
    return 3 if asked in _plain(term.meaning) else NOT_IN_IT


def glossary(terms: Iterable[Term] = GLOSSARY) -> str:
    """Return entries as text, one under the other, in the order of the alphabet.

    >>> print(glossary([find_term("mesh")]))
    mesh: two gears whose teeth work in one another; also the place where they do. (First on the
        start page.)
    """
    in_order = sorted(terms, key=lambda term: term.word.casefold())
    return "\n".join(textwrap.fill(term.sentence(), WIDTH, subsequent_indent="    ") for term in in_order)
