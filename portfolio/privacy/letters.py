"""Letters and words without their dress: case, accents, look-alike forms and invisible characters taken off.

Names are compared as runs of folded letters, so that "Ana" is not found in "banana" but is found in "ANÁ's",
"Ana_2" and "A&shy;na". Letter by letter: what a letter folds to depends on no other, so every folded letter has a
place in the text (:func:`fold_in_place`), and what is searched is always the one folded text.

Source of categories, names, numbers and classes of marks: the Unicode Character Database, as Python holds it.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

_INVISIBLE: Final = re.compile(
    "[\u00ad\u034f\u061c\u115f\u1160\u17b4\u17b5\u180b-\u180f\u200b-\u200f\u202a-\u202e\u2060-\u206f\u3164\ufe00-\ufe0f"
    "\ufeff\uffa0\ufff0-\ufff8\U0001bca0-\U0001bca3\U0001d173-\U0001d17a\U000e0000-\U000e0fff\u0640]"
)
"""Default_Ignorable_Code_Point of Unicode, and the stroke that stretches an Arabic word."""
_APOSTROPHES: Final = frozenset(
    "\u2018\u2019\u201b\u02b9\u02bb\u02bc\u02bd\u02be\u02bf\u02c8\u02ca\u02cb\u00b4\u2032\u055a\u05f3\uff07"
)
"""Signs typed for an apostrophe, an okina or a soft sign; Unicode counts some of them as letters."""
_SPECIAL: Final = {"ð": "d", "þ": "th", "æ": "ae", "œ": "oe", "ı": "i", "ŋ": "n"}
_LATIN: Final = re.compile(
    r"(?:(?:PARENTHESIZED )?LATIN (?:SMALL|CAPITAL) LETTER|NEGATIVE (?:CIRCLED|SQUARED) LATIN CAPITAL LETTER"
    r"|LATIN LETTER SMALL CAPITAL|REGIONAL INDICATOR SYMBOL LETTER) ([A-Z])(?: WITH .+)?"
)
"""Names of what is one Latin letter to a reader; Unicode takes them apart not at all or too far (ø, ɓ, ᴀ, 🅰, ⒜)."""
_NO_SPACES: Final = r"\u2e80-\u9fff\ua000-\ua4cf\uac00-\ud7af\u0e00-\u0eff\u1000-\u109f\u1100-\u11ff\u1780-\u17ff"
_INDIC: Final = r"\u0900-\u0dff"
"""Here marks are vowels and belong to the word; folding leaves of these blocks only letters and such marks."""
_VOWEL_CLASSES: Final = frozenset((0, 9, 84, 91))
"""Combining classes of those marks: vowels, the sign for no vowel, two of Telugu. The others (a dot below, Vedic
accents) are dress."""
_BEYOND_ASCII: Final = re.compile(r"[^\x00-\x7f]+")
_RUN_ASCII: Final = re.compile(r"[a-z]+")
_RUN: Final = re.compile(rf"[^\W\d_{_NO_SPACES}]+(?:(?<=[{_INDIC}])[{_INDIC}]+[^\W\d_{_NO_SPACES}]*)*")
_UNSPACED: Final = re.compile(rf"[{_NO_SPACES}]+")
"""Scripts that write without spaces (Han, Kana, Hangul, Thai …): they end a run of letters, and names in them are
searched as they are. ASCII read as UTF-16 looks like Han, so this also keeps a real UTF-16 name apart from it."""
_NO_NAME: Final = re.compile(rf"(?:[^\w{_INDIC}]|_)+")
_JOINT: Final = re.compile(r"'(?<=[^\W\d_]')(?!(?:s|ll|re|ve|d|m|t)(?![^\W\d_]))(?=[^\W\d_])")
"""An apostrophe inside a word that is no English ending. It begins with a plain "'" so that texts are skimmed fast."""

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

    Signs beyond ASCII become blanks, apostrophes plain ones and digits those of ASCII, so that most texts fold to
    plain ASCII, which is ten times faster to search.
    """
    plain = text.lower().replace("`", "'")
    return plain if text.isascii() else _BEYOND_ASCII.sub(_fold_piece, plain)


def _fold_piece(match: re.Match[str]) -> str:
    return "".join(map(_fold_letter, match.group()))


@lru_cache(maxsize=1 << 16)
def _fold_letter(letter: str) -> str:
    if letter in _APOSTROPHES:
        return "'"
    if named := _LATIN.fullmatch(unicodedata.name(letter, "")):
        return named[1].lower()
    apart = unicodedata.normalize("NFKD", unicodedata.normalize("NFKD", letter).casefold())
    return "".join(map(_fold_part, apart)).lower()


def _fold_part(sign: str) -> str:
    if sign in _APOSTROPHES or sign == "`":
        return "'"
    if sign.isascii():
        return sign
    kind = unicodedata.category(sign)
    if kind[0] == "M" or _INVISIBLE.match(sign):
        return _fold_mark(sign)
    if kind in ("Nd", "No") and unicodedata.numeric(sign).is_integer():
        return str(int(unicodedata.numeric(sign)))
    if named := _LATIN.fullmatch(unicodedata.name(sign, "")):
        return named[1].lower()
    return _SPECIAL.get(sign, sign if sign.isalnum() else " ")


def _fold_mark(sign: str) -> str:
    """A mark is dropped, but where it is a vowel it stays, and in a script without spaces it counts as a blank."""
    if re.match(f"[{_INDIC}]", sign) and unicodedata.combining(sign) in _VOWEL_CLASSES:
        return sign
    return " " if _UNSPACED.match(sign) and not _INVISIBLE.match(sign) else ""


@dataclass(frozen=True, slots=True, repr=False)
class Folded:
    """A text with its folded ``letters``. ``places``: for each of them the place in ``text`` that it came from, and
    at last the end of the text. It never prints itself.
    """

    text: str
    letters: str
    places: Sequence[int]

    def back(self, start: int, end: int) -> tuple[int, int]:
        """The place in the text of a stretch of letters, with the marks that follow it."""
        return self.places[start], max(self.places[end - 1] + 1, self.places[end])


def fold_in_place(text: str) -> Folded:
    """``fold(text)``, and where each letter of it stands in ``text``."""
    if text.isascii():
        return Folded(text, fold(text), range(len(text) + 1))
    pieces = [fold(letter) for letter in text]
    places = [at for at, piece in enumerate(pieces) for _ in piece]
    return Folded(text, "".join(pieces), [*places, len(text)])


def without_apostrophes(folded: str) -> str:
    """A folded text with "o'brien" as "obrien"; English endings ("it's", "we'll") stay as they are."""
    return _JOINT.sub("", folded) if "'" in folded else folded


def joined(cut: Folded) -> Folded | None:
    """The same text cut once more, with "O'Brien" as one run; ``None`` when it holds no such word."""
    joints = {match.start() for match in _JOINT.finditer(cut.letters)}
    if not joints:
        return None
    kept = [at for at in range(len(cut.letters)) if at not in joints]
    letters, places = (cut.letters[at] for at in kept), [cut.places[at] for at in kept]
    return Folded(cut.text, "".join(letters), [*places, len(cut.text)])


def fold_name(text: str) -> str:
    """A name made comparable with what somebody typed: folded letters and digits, "o'brien" as "obrien", its words
    parted by one blank.
    """
    return _NO_NAME.sub(" ", fold(text).replace("'", "")).strip()


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
    """One run of letters: where it stands in the text, and from which folded letter on (``at``). ``capital``: a
    capital letter is in it, or its script has none.
    """

    start: int
    end: int
    at: int
    folded: str
    capital: bool


def runs_in_place(cut: Folded) -> list[Run]:
    """The runs of letters of a text, with their places."""
    found: list[Run] = []
    for match in (_RUN_ASCII if cut.letters.isascii() else _RUN).finditer(cut.letters):
        start, end = cut.back(match.start(), match.end())
        found.append(Run(start, end, match.start(), match.group(), is_capital(cut.text[start:end])))
    return found


def is_capital(written: str) -> bool:
    """Whether a capital letter is in it, or no letter of it could be one (Hebrew, Arabic, Hindi …)."""
    return any(letter.isupper() for letter in written) or written.lower() == written.upper()


def is_unspaced(text: str) -> bool:
    """Whether any of the text is in a script that writes without spaces (Han, Kana, Hangul, Thai …)."""
    return _UNSPACED.search(text) is not None
