"""Letters and words without their dress: case, accents, look-alike forms and invisible characters taken off.

Names are compared as runs of folded letters, so that "Ana" is not found in "banana" but is found in "ANÁ's",
"Ana_2" and "A&shy;na".
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from typing import Final

_INVISIBLE: Final = "\u00ad\u034f\u061c\u200b\u200c\u200d\u200e\u200f\u2060\u2061\u2062\u2063\u2064\ufeff"
_DROP: Final = {ord(letter): None for letter in _INVISIBLE}
_SPECIAL: Final = str.maketrans(
    {"ø": "o", "ł": "l", "đ": "d", "ð": "d", "þ": "th", "æ": "ae", "œ": "oe", "ı": "i", "ħ": "h", "ŧ": "t", "ŋ": "n"}
)
_MARKS: Final = re.compile(r"[\u0300-\u036f\u0483-\u0487\u0591-\u05c7\u064b-\u065f\u0670\u1ab0-\u1aff\u1dc0-\u1dff]+")
_NO_SPACES: Final = r"\u2e80-\u9fff\ua000-\ua4cf\uac00-\ud7af\u0e00-\u0eff\u1000-\u109f\u1100-\u11ff\u1780-\u17ff"
_BEYOND_ASCII: Final = re.compile(r"[^\x00-\x7f]+")
_RUN_ASCII: Final = re.compile(r"[a-z]+")
_RUN: Final = re.compile(rf"[^\W\d_{_NO_SPACES}]+")
_RUN_DRESSED: Final = re.compile(
    rf"[^\W\d_{_NO_SPACES}](?:[^\W\d_{_NO_SPACES}]|[\u0300-\u036f\u0483-\u0487\u0591-\u05c7\u064b-\u065f\u0670{_INVISIBLE}])*"
)
_UNSPACED: Final = re.compile(rf"[{_NO_SPACES}]")
"""Scripts that write without spaces (Han, Kana, Hangul, Thai …): they end a run of letters, and names in them are
searched as they are. ASCII read as UTF-16 looks like Han, so this also keeps a real UTF-16 name apart from it."""

_CYRILLIC = (
    dict(zip("абвгдезийклмнопрстуфыэ", "abvgdeziyklmnoprstufye", strict=True))
    | {"х": "kh", "ё": "yo"}
    | {"ж": "zh", "ц": "ts", "ч": "ch", "ш": "sh", "щ": "shch", "ъ": "", "ь": "", "ю": "yu", "я": "ya"}
)
_CYRILLIC |= {"є": "ye", "і": "i", "ї": "yi", "ґ": "g"}
_GREEK = dict(zip("αβγδεζηικλμνξοπρστυφω", "avgdeziiklmnxoprstyfo", strict=True)) | {
    "θ": "th",
    "χ": "ch",
    "ψ": "ps",
    "ς": "s",
}
_TO_LATIN: Final = str.maketrans(_CYRILLIC | _GREEK)
_UMLAUTS: Final = str.maketrans({"ä": "ae", "ö": "oe", "ü": "ue", "å": "aa", "ø": "oe", "ñ": "ny"})


def fold(text: str) -> str:
    """``text`` without case, accents, invisible characters and letter variants (NFC and NFD come out alike).

    Signs beyond ASCII become blanks, so that most texts fold to plain ASCII, which is ten times faster to search.
    """
    if text.isascii():
        return text.lower()
    return _BEYOND_ASCII.sub(_fold_piece, text.lower())


def _fold_piece(match: re.Match[str]) -> str:
    bare = unicodedata.normalize("NFKD", match.group().translate(_DROP)).casefold()
    bare = _MARKS.sub("", bare).translate(_SPECIAL)
    return "".join(letter if letter.isalnum() or letter.isascii() else " " for letter in bare)


def spellings(text: str) -> frozenset[str]:
    """Folded spellings of one name: plain, with ä as ae, and a Cyrillic or Greek name in Latin letters."""
    plain = fold(text)
    lower = unicodedata.normalize("NFC", text).lower()
    in_latin = {plain.translate(_TO_LATIN), fold(lower.translate(_TO_LATIN))}
    return frozenset({plain, fold(lower.translate(_UMLAUTS))} | in_latin)


def runs(folded: str) -> tuple[str, ...]:
    """The runs of letters of an already folded text, in order."""
    return tuple((_RUN_ASCII if folded.isascii() else _RUN).findall(folded))


@dataclass(frozen=True, slots=True)
class Run:
    """One run of letters in a text as written. ``capital``: a capital letter is in it."""

    start: int
    end: int
    folded: str
    capital: bool


def runs_in_place(text: str) -> list[Run]:
    """The runs of letters of ``text`` as written, with their places."""
    found: list[Run] = []
    for match in _RUN_DRESSED.finditer(text):
        word = match.group()
        capital = any(letter.isupper() for letter in word)
        found += [Run(match.start(), match.end(), part, capital) for part in runs(fold(word))]
    return found


def is_unspaced(text: str) -> bool:
    """Whether the text is in a script that writes without spaces (Han, Kana, Hangul, Thai …)."""
    return _UNSPACED.search(text) is not None
