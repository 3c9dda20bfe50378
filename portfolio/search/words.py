"""From text to words: one way of cutting, for what is stored and for what is asked.

A word here is lower case, without accents and apostrophes ("don't" and "dont" meet, "giraffe's" is "giraffe"),
so that the teacher need not type what the child left out. Nothing here is ever shown: the child's own writing
stays untouched in the archive.
"""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache
from typing import Final

from portfolio.search.engine import porter_stem

LONGEST_WORD: Final = 40
"""Letters of a word that are kept; a child leaning on one key must not make a term of a thousand letters."""

# Chinese characters and kana stand one by one; the scripts of South and Southeast Asia write vowels as marks
# that Python's \w leaves out, so their whole blocks count as letters.
_ALONE: Final = r"[\u3040-\u30ff\u3400-\u9fff]"
_LETTER: Final = r"[^\W_\u3040-\u30ff\u3400-\u9fff]|[\u0900-\u0dff\u0e00-\u0eff\u1000-\u109f\u1780-\u17ff]"
_WORD: Final = re.compile(rf"{_ALONE}|(?:{_LETTER})+(?:['\u2019\u02bc](?:{_LETTER})+)*")
_ACCENTS: Final = re.compile(r"[\u0300-\u036f]")
_POSSESSIVE: Final = re.compile(r"['\u2019\u02bc]s$")
_APOSTROPHES: Final = re.compile(r"['\u2019\u02bc]")
_PLAIN: Final = re.compile(r"[a-z]+\Z")

STOP_WORDS: Final = frozenset(
    [
        "a",
        "an",
        "and",
        "are",
        "as",
        "at",
        "be",
        "but",
        "by",
        "did",
        "do",
        "for",
        "from",
        "had",
        "has",
        "have",
        "he",
        "her",
        "him",
        "his",
        "i",
        "in",
        "is",
        "it",
        "its",
        "like",
        "made",
        "make",
        "me",
        "my",
        "of",
        "on",
        "or",
        "our",
        "she",
        "so",
        "that",
        "the",
        "their",
        "them",
        "then",
        "there",
        "they",
        "this",
        "to",
        "was",
        "we",
        "went",
        "were",
        "with",
        "you",
        "your",
    ]
)
"""Words that say nothing by themselves; left out of a question when it holds any other word."""


def fold(word: str) -> str:
    """One word in the form in which it is compared: lower case, no accents, no apostrophe, no possessive s."""
    plain = word.lower() if word.isascii() else unicodedata.normalize("NFC", _ACCENTS.sub("", _caseless(word)))
    return _APOSTROPHES.sub("", _POSSESSIVE.sub("", plain))[:LONGEST_WORD]


def _caseless(word: str) -> str:
    """Unicode's compatibility caseless form (The Unicode Standard, D146). It folds case twice because a letter may
    have a case only once it is taken apart (𝐀 → A → a); after that, nothing changes any more.
    """
    for form in ("NFD", "NFKD"):
        word = unicodedata.normalize(form, word).casefold()
    return unicodedata.normalize("NFKD", word)


def written_words(text: str) -> list[str]:
    """The words of a text as they were written, in order."""
    return _WORD.findall(unicodedata.normalize("NFC", text))


def words_of(text: str) -> list[str]:
    """The words of a text in the form in which they are compared, in order, with repeats."""
    return [folded for word in written_words(text) if (folded := fold(word))]


def is_plain(word: str) -> bool:
    """Whether a word is made of a-z only: the spelling model can speak about no other."""
    return _PLAIN.match(word) is not None


@lru_cache(maxsize=50_000)
def stem(word: str) -> str:
    """The stem of a folded word ("painted", "painting" → "paint"). Words with other letters stay as they are."""
    return str(porter_stem(word)) if is_plain(word) else word
