"""One state of the index, as a reader sees it: which works hold a term, and which words there are.

The search library gives the numbers of the documents that hold a term (0.4 µs each, measured 2025-11); tiers,
scores and counts are worked out here on arrays of those numbers, so that a count is always of all hits and a
filter costs one look-up a hit. Segments never change, so what was read from one is kept while it lives.
"""

from __future__ import annotations

import bisect
import heapq
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray
from rapidfuzz import process
from rapidfuzz.distance import OSA

from portfolio.search.engine import query
from portfolio.search.entry import GAP
from portfolio.search.sounds import sound_keys
from portfolio.search.spelling import CANDIDATES, FARTHEST, LEVEL_STEP, Speller

POSITION_ID: Final = "\x1eposition"
"""The id of the one document that is no work: it holds the outbox position and the digest of the roll,
written in the same commit."""
STRANGE_LEVEL: Final = 6
"""Level of rarity of a word of the archive that is not in the lexicon."""
OFTEN: Final = 0.3
"""Weight of how often a word stands in the archive when a slip is read."""

Numbers = NDArray[np.int64]
NOTHING: Final[Numbers] = np.empty(0, dtype=np.int64)


@dataclass(frozen=True, slots=True)
class SegmentFacts:
    """What one segment holds: work id by document number, and how many works hold each word."""

    ids: tuple[str, ...]
    words: Mapping[str, int]


class View:
    """A reader of one generation. Not to be used by two threads at once; the index sees to that."""

    def __init__(self, searcher: Any, *, speller: Speller, kept: Mapping[str, SegmentFacts]) -> None:
        self._searcher = searcher
        self._speller = speller
        self.generation = int(searcher.reader().generation())
        self.facts: dict[str, SegmentFacts] = {}
        ids: list[str] = []
        for leaf, _ in searcher.reader().leaf_readers():
            name = leaf.segment().segment_id() if leaf.segment() is not None else ""
            facts = self.facts[name] = kept.get(name) or _facts_of(leaf)
            ids += facts.ids
        self.ids = ids

    def close(self) -> None:
        """Let go of the files."""
        self._searcher.close()

    def position(self) -> int:
        """The outbox position of this state."""
        fields = self._searcher.document(id=POSITION_ID)
        return int(fields["position"]) if fields else 0

    def roll(self) -> str:
        """The digest of the roll by which the entries of this state were written."""
        fields = self._searcher.document(id=POSITION_ID)
        return str(fields["roll"]) if fields else ""

    def holding(self, field: str, *terms: str) -> Numbers:
        """The numbers of the documents that hold any of the terms, rising."""
        asked = [query.Term(field, term) for term in terms]
        return self._numbers(asked[0] if len(asked) == 1 else query.Or(asked)) if asked else NOTHING

    def phrase(self, words: tuple[str, ...]) -> Numbers:
        """The numbers of the documents in which the words stand side by side as spelled."""
        return self.holding("raw", *words) if len(words) == 1 else self._numbers(query.Phrase("raw", list(words)))

    def _numbers(self, asked: Any) -> Numbers:
        return np.unique(np.fromiter(self._searcher.docs_for_query(asked), dtype=np.int64))

    # --- the archive's own words ---------------------------------------------------------------------------------

    @cached_property
    def vocabulary(self) -> Mapping[str, int]:
        """Every word as spelled → number of works with it. Words of deleted works stay until their segment goes."""
        counts: dict[str, int] = {}
        for facts in self.facts.values():
            for word, count in facts.words.items():
                counts[word] = counts.get(word, 0) + count
        return counts

    @cached_property
    def _sorted_words(self) -> list[str]:
        return sorted(self.vocabulary)

    @cached_property
    def _strange_by_sound(self) -> Mapping[str, list[str]]:
        by_sound: dict[str, list[str]] = {}
        for word in self.vocabulary:
            if not self._speller.knows(word):
                for key in sound_keys(word):
                    by_sound.setdefault(key, []).append(word)
        return by_sound

    def beginning(self, prefix: str, *, limit: int) -> list[str]:
        """The words that begin so: words of the lexicon first, then those of most works."""
        words = self._sorted_words
        first = bisect.bisect_left(words, prefix)
        last = bisect.bisect_left(words, prefix + "\U0010ffff", lo=first)
        return heapq.nsmallest(limit, words[first:last], key=self._commonness)

    def _commonness(self, word: str) -> tuple[bool, int, str]:
        return (not self._speller.knows(word), -self.vocabulary[word], word)

    def sounding_like(self, word: str) -> list[str]:
        """Words of the archive, of no lexicon, that sound like ``word`` and look a little like it."""
        far = min(FARTHEST, max(1, len(word) // 2))
        alike = {other for key in sound_keys(word) for other in self._strange_by_sound.get(key, ())}
        return sorted(other for other in alike if OSA.distance(word, other, score_cutoff=far) <= far)

    def nearest(self, typed: str) -> tuple[tuple[str, float], ...]:
        """What the teacher may have meant, of the words that the archive holds, best first, with belief."""
        far = min(FARTHEST, max(1, len(typed) // 2))
        close = process.extract(
            typed, self._sorted_words, scorer=OSA.distance, processor=None, score_cutoff=far, limit=CANDIDATES
        )
        candidates = {word for word, _, _ in close} | set(self._speller.lexicon.near(typed))
        expected = {word: self._expected(word) for word in candidates if word in self.vocabulary and word != typed}
        return tuple((found.word, found.belief) for found in self._speller.rank(typed, expected=expected))

    def _expected(self, word: str) -> float:
        level = self._speller.lexicon.levels.get(word, STRANGE_LEVEL)
        return OFTEN * math.log(self.vocabulary[word]) - LEVEL_STEP * level


def _facts_of(leaf: Any) -> SegmentFacts:
    ids = [""] * int(leaf.doc_count_all())
    for number, fields in leaf.iter_docs():
        ids[number] = str(fields["id"])
    return SegmentFacts(tuple(ids), dict(_words_of(leaf)))


def _words_of(leaf: Any) -> Iterable[tuple[str, int]]:
    if "raw" not in leaf.indexed_field_names():
        return
    for term, info in leaf.iter_field("raw"):
        word = term.decode("utf-8")
        if word != GAP:
            yield word, int(info.doc_frequency())
