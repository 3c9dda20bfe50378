"""What is written into the index for one work.

=========  ====================================================================================================
``raw``    every word as spelled, with its place: quoted words, suggestions, the archive's own vocabulary
``text``   the stems of all words
``head``   the stems of title, tags and center: they weigh more
``sure``   the stems of words that a child's spelling most likely means
``maybe``  the stems of words that it may mean
=========  ====================================================================================================

Names stay out. A word that is on the roll is dropped, unless it is an ordinary word too ("rose", "will"): then it
stays where it cannot be told from the ordinary word, in titles and tags, and in running text when written small.
"""

from __future__ import annotations

import hashlib
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from typing import Final

from portfolio.privacy.letters import fold as undressed
from portfolio.privacy.letters import is_unspaced
from portfolio.search.spelling import Speller
from portfolio.search.values import Document
from portfolio.search.words import fold, stem, written_words

GAP: Final = "\x1f"
"""Stands in ``raw`` between two texts and for a dropped name, so that quoted words never meet across it."""
SURE: Final = 0.5
"""Belief from which a correction counts as a child's spelling. On children's essay errors of unseen word
families a channel cut here found .62 of the works meant at a precision of .90 (prototype, 2025)."""
MAYBE: Final = 0.02


@dataclass(frozen=True, slots=True)
class Entry:
    """The fields of one work, ready to be written."""

    raw: tuple[str, ...]
    text: frozenset[str]
    head: frozenset[str]
    sure: frozenset[str]
    maybe: frozenset[str]


@dataclass(frozen=True, slots=True)
class Known:
    """Words on the roll, folded; held in memory only."""

    words: frozenset[str] = frozenset()
    inside: frozenset[str] = frozenset()
    """Those of scripts without spaces: a name is whatever holds one."""

    @classmethod
    def of(cls, names: Collection[str]) -> Known:
        """Every part of every name, folded."""
        words = frozenset(folded for name in names for word in written_words(name) if (folded := fold(word)))
        return cls(words, frozenset(word for word in words if len(word) > 1 and is_unspaced(word)))

    @property
    def digest(self) -> str:
        """Names this roll without holding a name: all its words under one digest."""
        return hashlib.sha256("\n".join(sorted(self.words)).encode()).hexdigest()

    def since(self, before: Known) -> Known | None:
        """What is new since a roll from which no word has gone; ``None`` when one has."""
        return None if before.words - self.words else Known(self.words - before.words, self.inside - before.inside)

    def names(self, written: str) -> bool:
        """Whether a word is a name on the roll, whatever letters it is dressed in."""
        if (word := fold(written)) in self.words:
            return True
        if word.isascii():
            return False
        return undressed(written).replace("'", "") in self.words or any(name in word for name in self.inside)


def entry_of(document: Document, *, speller: Speller, known: Known) -> Entry:
    """The fields of one work."""
    titles, running = (document.title, document.tags, document.center), (document.reflection, document.observations)
    head = [list(_kept(text, speller, known, running=False)) for text in titles]
    body = [list(_kept(text, speller, known, running=True)) for text in running]
    raw: list[str] = []
    for words in (*head, *body):
        raw += [*words, GAP]
    spelled = frozenset(raw) - {GAP}
    text = frozenset(stem(word) for word in spelled)
    sure, maybe = _meant(spelled, speller, known)
    head_stems = frozenset(stem(word) for words in head for word in words if word != GAP)
    return Entry(tuple(raw), text, head_stems, sure - text, maybe - sure - text)


def _kept(text: str, speller: Speller, known: Known, *, running: bool) -> Iterator[str]:
    for written in written_words(text):
        word = fold(written)
        if not known.names(written):
            yield word or GAP
        else:
            yield word if speller.knows(word) and not (running and written[0].isupper()) else GAP


def _meant(spelled: frozenset[str], speller: Speller, known: Known) -> tuple[frozenset[str], frozenset[str]]:
    sure: set[str] = set()
    maybe: set[str] = set()
    for word in spelled:
        if speller.knows(word) or known.names(word):
            continue
        for correction in speller.corrections(word):
            if correction.belief >= MAYBE:
                (sure if correction.belief >= SURE else maybe).add(stem(correction.word))
    return frozenset(sure), frozenset(maybe)
