"""What word was meant? Children's spelling and the teacher's typing slips.

A word is believed as far as what was written may be set down for it (:mod:`portfolio.search.pieces`), times how
common it is, with a bonus when both sound alike. The answer is a list of words with a share of belief each. It lives
in the search index and nowhere else: what the child wrote is never altered.

The share is a ranking, not a promise: on words of families never seen in training it is too sure of itself,
so the tiers of the index cut it at set places (:data:`portfolio.search.entry.SURE`).
"""

from __future__ import annotations

import hashlib
import heapq
import json
import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from importlib.resources import files
from typing import Final

from rapidfuzz import process
from rapidfuzz.distance import OSA

from portfolio.search.pieces import UNSEEN_CHANGE, Pieces, written_chance
from portfolio.search.sounds import sound_alike, sound_keys
from portfolio.search.words import is_plain

SHORTEST: Final = 3
"""A written word of fewer letters is never corrected: nearly every short word is one change from another."""
FARTHEST: Final = 3
"""Changes between written and meant word, at most, for a candidate that does not sound alike."""
CANDIDATES: Final = 60
WEIGHED: Final = 25
"""Candidates that are weighed by pieces, which is the dear part; chosen by a rough guess at the outcome."""
GUESS: Final = 2.0
"""Natural log that a change costs, roughly: for that guess only."""
REMEMBERED: Final = 100_000
"""Words whose corrections are kept in memory."""
SOUND_BONUS: Final = 2.0
LEVEL_STEP: Final = 1.2
"""Natural log by which each level of rarity makes a word less expected."""
STRANGER_BASE: Final = -3.0
STRANGER_LETTER: Final = -1.3
"""Log chance that the word is none of the list (a name, another language): falls with its length, as that of a
misspelling falls with its changes."""


@dataclass(frozen=True, slots=True)
class Correction:
    """A word that may have been meant, with its share of the belief (0-1)."""

    word: str
    belief: float


@dataclass(frozen=True, slots=True)
class Lexicon:
    """The words that count as spelled right, each with its level of rarity (1 = everyday)."""

    levels: Mapping[str, int]
    by_sound: Mapping[str, tuple[str, ...]] = field(repr=False)

    @classmethod
    def of(cls, levels: Mapping[str, int]) -> Lexicon:
        """A lexicon from word → level, with its words sorted by sound."""
        by_sound: dict[str, list[str]] = {}
        for word in levels:
            for key in sound_keys(word):
                by_sound.setdefault(key, []).append(word)
        return cls(levels, {key: tuple(words) for key, words in by_sound.items()})

    def near(self, written: str) -> set[str]:
        """Candidates: words a few changes away, and words that sound alike and are not much longer or shorter."""
        found = process.extract(
            written,
            self.levels.keys(),
            scorer=OSA.distance,
            processor=None,
            score_cutoff=min(FARTHEST, max(1, len(written) // 2)),
            limit=CANDIDATES,
        )
        alike = {word for key in sound_keys(written) for word in self.by_sound.get(key, ())}
        return {word for word, _, _ in found} | {word for word in alike if abs(len(word) - len(written)) <= FARTHEST}


class Speller:
    """The spelling model at work. Safe to share between threads: it only reads, but for its own cache."""

    def __init__(self, pieces: Pieces, lexicon: Lexicon) -> None:
        self.pieces = pieces
        self.lexicon = lexicon
        self._known: dict[str, tuple[Correction, ...]] = {}

    def knows(self, word: str) -> bool:
        """Whether a folded word is in the lexicon."""
        return word in self.lexicon.levels

    def corrections(self, written: str) -> tuple[Correction, ...]:
        """The words that may be meant by a folded word that is not in the lexicon, best first. Remembered per word:
        a school uses the same few thousand misspellings over and over.
        """
        answer = self._known.get(written)
        if answer is None:
            expected = (
                {word: self._expected(word) for word in self.lexicon.near(written)} if _may_be_wrong(written) else {}
            )
            if len(self._known) >= REMEMBERED:
                self._known.clear()
            answer = self._known[written] = self.rank(written, expected=expected)
        return answer

    def rank(self, written: str, *, expected: Mapping[str, float]) -> tuple[Correction, ...]:
        """Candidates with their natural log of how much each is expected beforehand → shares of belief, best first.
        What is left over to 1 is the belief that it is none of them.
        """
        hopes = {word: prior + (SOUND_BONUS if sound_alike(word, written) else 0.0) for word, prior in expected.items()}
        likely = heapq.nlargest(WEIGHED, hopes, key=lambda word: hopes[word] - GUESS * OSA.distance(word, written))
        chances = {word: hopes[word] + written_chance(word, written, pieces=self.pieces) for word in likely}
        stranger = STRANGER_BASE + STRANGER_LETTER * len(written)
        top = max([stranger, *chances.values()])
        total = math.exp(stranger - top) + sum(math.exp(chance - top) for chance in chances.values())
        ranked = sorted(chances.items(), key=lambda item: (-item[1], item[0]))
        return tuple(Correction(word, math.exp(chance - top) / total) for word, chance in ranked[:10])

    def _expected(self, word: str) -> float:
        return -LEVEL_STEP * self.lexicon.levels[word]


def _may_be_wrong(written: str) -> bool:
    return len(written) >= SHORTEST and is_plain(written)


@cache
def shipped_speller() -> Speller:
    """The speller made from the files beside this one; read once."""
    folder = files("portfolio.search") / "data"
    lines = (folder / "lexicon.txt").read_text(encoding="ascii").splitlines()
    levels = {word: int(line[: line.index("\t")]) for line in lines for word in line[line.index("\t") + 1 :].split(" ")}
    return Speller(json.loads((folder / "pieces.json").read_text(encoding="ascii")), Lexicon.of(levels))


@cache
def model_digest() -> str:
    """Names the model: changes when a file of it or a constant of this module does."""
    digest = hashlib.sha256()
    for name in ("lexicon.txt", "pieces.json"):
        digest.update((files("portfolio.search") / "data" / name).read_bytes())
    distances = (WEIGHED, GUESS, SHORTEST, FARTHEST)
    chances = (SOUND_BONUS, UNSEEN_CHANGE, LEVEL_STEP, STRANGER_BASE, STRANGER_LETTER)
    digest.update(repr((distances, chances)).encode())
    return digest.hexdigest()[:16]
