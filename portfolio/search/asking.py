"""What did the teacher ask for? Words, and quoted words that must be spelled exactly so."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

from portfolio.search.words import STOP_WORDS, words_of

_MARK: Final = '["\u201c\u201d\u201e\u00ab\u00bb]'
_QUOTED: Final = re.compile(f"{_MARK}([^{_MARK[1:-1]}]*){_MARK}")
MOST_WORDS: Final = 12
"""Of a pasted paragraph only the first words are asked for."""


@dataclass(frozen=True, slots=True)
class Question:
    """``words`` may be found by stem and by children's spelling; each of ``phrases`` stands as it is spelled, its
    words side by side. A work must answer all of them.
    """

    words: tuple[str, ...] = ()
    phrases: tuple[tuple[str, ...], ...] = ()

    def __bool__(self) -> bool:
        return bool(self.words or self.phrases)


def read_question(typed: str) -> Question:
    """Cut what was typed. A quotation mark without its partner counts as a space. Small words ("the", "my") are left
    out when anything else is asked for.
    """
    phrases = [tuple(words_of(quoted)) for quoted in _QUOTED.findall(typed)]
    words = list(dict.fromkeys(words_of(_QUOTED.sub(" ", typed))))
    telling = [word for word in words if word not in STOP_WORDS]
    phrases = [phrase for phrase in phrases if phrase]
    if not telling and not phrases:
        telling = words
    return Question(tuple(telling[:MOST_WORDS]), tuple(phrases[:MOST_WORDS]))
