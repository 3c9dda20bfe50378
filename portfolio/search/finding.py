"""From a question to hits: each word by tiers, all words together, best first."""

from __future__ import annotations

import math
from collections.abc import Collection
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray

from portfolio.search.asking import Question
from portfolio.search.entry import SURE, Known
from portfolio.search.spelling import Speller
from portfolio.search.values import TIERS, Hit, SearchResult, Showing
from portfolio.search.view import NOTHING, Numbers, View
from portfolio.search.words import stem

MOST_SHOWN: Final = 3
"""Words searched instead of a slip, at most."""
SHOWN_BELIEF: Final = 0.1
OUT: Final = len(TIERS)
"""The tier of a work that was not found."""

HOMOPHONES: Final = (
    "ant aunt|ate eight|bare bear|be bee|blew blue|brake break|buy by bye|cent scent sent|dear deer|die dye|eye i|"
    "fairy ferry|flea flee|flour flower|fur fir|hair hare|heal heel|hear here|hole whole|hour our|knight night|"
    "knot not|made maid|mail male|meat meet|moose mousse|nose knows|one won|pail pale|pair pear|paws pause|"
    "peace piece|plain plane|rain reign rein|read red|right write|road rode|role roll|rose rows|sail sale|sea see|"
    "sew so sow|soar sore|son sun|stair stare|tail tale|their there they're|toad towed|vain vein|wail whale|"
    "waist waste|wait weight|weather whether|witch which|wood would"
)
"""Real words that children write for one another; the child's word is right English, so no speller sees it."""
_HOMOPHONES: Final = {
    word: tuple(other for other in group.split(" ") if other != word)
    for group in HOMOPHONES.split("|")
    for word in group.split(" ")
}


@dataclass(frozen=True, slots=True)
class _Found:
    """One word of the question: its works by tier, what weighs more, and what was read into it."""

    tiers: tuple[Numbers, Numbers, Numbers]
    head: Numbers = field(default_factory=lambda: NOTHING)
    showing: Showing | None = None


@dataclass(frozen=True, slots=True)
class Finder:
    """Answers questions on one view."""

    view: View
    speller: Speller
    known: Known

    def find(self, question: Question, *, limit: int | None, allowed_ids: Collection[str] | None) -> SearchResult:
        """The hits of a question. ``limit=None`` gives all; ``allowed_ids`` leaves out every other work, also from
        the counts.
        """
        if not question:
            return SearchResult()
        found = [self._word(word) for word in question.words]
        found += [_Found((self.view.phrase(phrase), NOTHING, NOTHING)) for phrase in question.phrases]
        tiers, scores = self._together(found)
        numbers = np.flatnonzero(tiers < OUT)
        if allowed_ids is not None:
            allowed = frozenset(allowed_ids)
            numbers = numbers[[self.view.ids[number] in allowed for number in numbers]]
        counts = np.bincount(tiers[numbers], minlength=OUT)
        # The newest entry first among equals: document numbers grow with time within one index.
        order = np.lexsort((-numbers, -scores[numbers], tiers[numbers]))[:limit]
        hits = [Hit(self.view.ids[n], TIERS[tiers[n]], round(float(scores[n]), 3)) for n in numbers[order]]
        showing = tuple(word.showing for word in found if word.showing is not None)
        by_tier = (int(counts[0]), int(counts[1]), int(counts[2]))
        return SearchResult(tuple(hits), len(numbers), by_tier, showing if numbers.size else ())

    def _word(self, word: str) -> _Found:
        root = stem(word)
        exact, children, maybe = (self.view.holding(field, root) for field in ("text", "sure", "maybe"))
        alike = self.view.holding("raw", *self.view.sounding_like(word)) if not self.known.names(word) else NOTHING
        twins = self.view.holding("raw", *_HOMOPHONES.get(word, ()))
        found = _Found((exact, children, np.concatenate((maybe, alike, twins))), self.view.holding("head", root))
        if self.speller.knows(word) or self.known.names(word):
            return found
        return self._slip(word, found)

    def _slip(self, typed: str, found: _Found) -> _Found:
        """A word of no lexicon may be a slip of the teacher's. When no work spells it so, the works of what was meant
        are shown in its place; when some do, they follow as "maybe".
        """
        exact, children, maybe = found.tiers
        meant = [word for word, belief in self.view.nearest(typed) if belief >= (SURE if exact.size else SHOWN_BELIEF)]
        if not meant and not exact.size:
            meant = [word for word, _ in self.view.nearest(typed)[:1]]
        meant = [word for word in meant[:MOST_SHOWN] if stem(word) != stem(typed)]
        if not meant:
            return found
        roots = [stem(word) for word in meant]
        showing = Showing(typed, tuple(meant))
        if exact.size:
            followed = np.concatenate((maybe, self.view.holding("text", *roots)))
            return _Found((exact, children, followed), found.head, showing)
        same, spelled, unsure = (self.view.holding(field, *roots) for field in ("text", "sure", "maybe"))
        tiers = (same, np.concatenate((children, spelled)), np.concatenate((maybe, unsure)))
        return _Found(tiers, self.view.holding("head", *roots), showing)

    def _together(self, found: list[_Found]) -> tuple[NDArray[np.int8], NDArray[np.float64]]:
        """Every work's tier (the least sure of its words; ``OUT`` when it lacks one) and score (the sum over words
        of the log of its rarity, double for a word of the title, tags or center).
        """
        size = len(self.view.ids)
        worst = np.zeros(size, dtype=np.int8)
        scores = np.zeros(size, dtype=np.float64)
        for word in found:
            tier = np.full(size, OUT, dtype=np.int8)
            for rank in (2, 1, 0):
                tier[word.tiers[rank]] = rank
            here = np.flatnonzero(tier < OUT)
            rarity = math.log(1.0 + size / (1.0 + here.size))
            scores[here] += rarity
            scores[word.head] += rarity
            worst = np.maximum(worst, tier)
        return worst, scores
