"""The slow, honest search: read every text from end to end. Shares no code with the index."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from functools import cache

_CUT = re.compile(r"[^\w'’]+|_+")


@cache
def plain_words(text: str) -> tuple[str, ...]:
    """Lower case, no accents, no apostrophes, no possessive s. Remembered, for one text is read many times."""
    bare = "".join(char for char in unicodedata.normalize("NFKD", text) if not "\u0300" <= char <= "\u036f")
    words = (word.strip("'’").casefold() for word in _CUT.split(bare))
    return tuple(re.sub(r"['’]", "", re.sub(r"['’]s$", "", word)) for word in words if word)


def scan(texts: Mapping[str, Sequence[str]], words: Iterable[str]) -> set[str]:
    """The ids whose texts hold every one of the words, spelled exactly so."""
    wanted = set(words)
    return {key for key, parts in texts.items() if wanted <= {word for part in parts for word in plain_words(part)}}


def scan_phrase(texts: Mapping[str, Sequence[str]], phrase: Sequence[str]) -> set[str]:
    """The ids with the words of the phrase side by side in one text."""
    wanted, size = tuple(phrase), len(phrase)
    return {
        key
        for key, parts in texts.items()
        for words in map(plain_words, parts)
        if any(words[at : at + size] == wanted for at in range(len(words) - size + 1))
    }
