"""Art words in children's words: when a child first used each, and which words each year brought.

The seven elements are widely agreed on in US art rooms; principles vary from teacher to teacher, and the words of
techniques are the room's own. So the list is data that a teacher may change: ``data/art_words.toml`` names its sources.
A word counts as written, whatever it was meant to say ("outer space" counts as space): a trace to look at, no measure.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from functools import cache
from importlib.resources import files
from typing import Final

from portfolio.model.growth import FirstUse, WordsOfYear, WordUse

Vocabulary = Mapping[str, Mapping[str, Sequence[str]]]
"""Kind → word → other forms of it."""
_ENDINGS: Final = r"(?:s|es|d|ed|ped|ping|ding|ing|ning|y)?"


@cache
def shipped_vocabulary() -> Vocabulary:
    """The vocabulary that a library starts with."""
    told = (files("portfolio.growth") / "data" / "art_words.toml").read_text(encoding="utf-8")
    return {kind: {word: tuple(forms) for word, forms in words.items()} for kind, words in tomllib.loads(told).items()}


def art_words(said: Iterable[tuple[date, str]], vocabulary: Vocabulary | None = None) -> tuple[FirstUse, ...]:
    """The first day on which each word stands in these words, by day. Only right spelling counts here: a word that is
    spelled by sound is found by the search, not claimed as vocabulary.
    """
    texts = sorted(said, key=lambda pair: pair[0])
    found = [
        FirstUse(word, kind, day)
        for kind, word, pattern in _patterns(vocabulary)
        if (day := next((day for day, text in texts if pattern.search(text)), None)) is not None
    ]
    return tuple(sorted(found, key=lambda use: (use.day, use.word)))


def art_words_by_year(
    said: Iterable[tuple[date, str, str]], vocabulary: Vocabulary | None = None
) -> tuple[WordsOfYear, ...]:
    """The art words of one child by school year, from (day, school year, words). Years in the order of their first
    day, words by first use; ``spelled`` is what the child wrote, letter for letter.
    """
    texts = sorted(said, key=lambda one: one[0])
    years = {year: [(day, text) for day, of_year, text in texts if of_year == year] for _, year, _ in texts}
    patterns = _patterns(vocabulary)
    ever: set[str] = set()
    told = []
    for year, of_year in years.items():
        uses = [use for kind, word, pattern in patterns if (use := _use(word, kind, pattern, of_year, ever))]
        ever |= {use.word for use in uses}
        told.append(WordsOfYear(year, tuple(sorted(uses, key=lambda use: (use.first_on, use.word)))))
    return tuple(told)


def _use(
    word: str, kind: str, pattern: re.Pattern[str], texts: Sequence[tuple[date, str]], ever: set[str]
) -> WordUse | None:
    found = [(day, match[0]) for day, text in texts for match in pattern.finditer(text)]
    if not found:
        return None
    return WordUse(word, kind, found[0][0], found[0][1], len(found), word not in ever)


def _patterns(vocabulary: Vocabulary | None) -> list[tuple[str, str, re.Pattern[str]]]:
    chosen = shipped_vocabulary() if vocabulary is None else vocabulary
    return [(kind, word, _pattern((word, *forms))) for kind, words in chosen.items() for word, forms in words.items()]


def _pattern(forms: Sequence[str]) -> re.Pattern[str]:
    stems = {stem: None for form in forms for stem in (form, form.removesuffix("e"))}
    return re.compile(rf"\b(?:{'|'.join(re.escape(stem) for stem in stems)}){_ENDINGS}\b", re.IGNORECASE)
