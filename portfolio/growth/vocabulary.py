"""Art words in children's words: when a child first used each.

The seven elements are widely agreed on in US art rooms; principles vary from teacher to teacher, and the words of
media and techniques are the room's own (common practice, no source). So the list is data that a teacher may change.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from datetime import date
from typing import Final

from portfolio.model.growth import FirstUse

VOCABULARY: Final[Mapping[str, tuple[str, ...]]] = {
    "element": ("line", "shape", "form", "color", "value", "texture", "space"),
    "principle": (
        *("balance", "emphasis", "movement", "rhythm", "proportion", "variety", "unity"),
        *("pattern", "harmony", "contrast", "repetition"),
    ),
    "technique": (
        *("overlap", "blend", "mix", "sketch", "outline", "shade", "tint", "scratch", "carve", "weave", "glaze"),
        *("tear", "crosshatch", "smudge", "print", "stencil", "score", "slip", "coil", "pinch", "wash"),
    ),
    "idea": ("foreground", "background", "horizon", "portrait", "landscape", "still life", "abstract", "symmetry"),
}
_ENDINGS: Final = r"(?:s|es|d|ed|ped|ping|ding|ing|ning|y)?"


def art_words(
    said: Iterable[tuple[date, str]], vocabulary: Mapping[str, tuple[str, ...]] = VOCABULARY
) -> tuple[FirstUse, ...]:
    """The first day on which each word stands in these words, by day. Only right spelling counts here: a word that is
    spelled by sound is found by the search, not claimed as vocabulary.
    """
    texts = sorted(said, key=lambda pair: pair[0])
    found = [
        FirstUse(word, kind, day)
        for kind, words in vocabulary.items()
        for word in words
        if (day := _first(word, texts)) is not None
    ]
    return tuple(sorted(found, key=lambda use: (use.day, use.word)))


def _first(word: str, texts: list[tuple[date, str]]) -> date | None:
    stem = word.removesuffix("e")
    pattern = re.compile(rf"\b(?:{re.escape(word)}|{re.escape(stem)}){_ENDINGS}\b", re.IGNORECASE)
    return next((day for day, text in texts if pattern.search(text)), None)
