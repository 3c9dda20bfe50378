"""Which form of a child's name an audience sees, and every form in which that name could slip out."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Final

from portfolio.model.names import SealedName
from portfolio.model.people import Audience, ChildName, NameForm, Release
from portfolio.privacy.everyday import COMMON_WORDS
from portfolio.privacy.letters import fold, is_unspaced, runs, spellings
from portfolio.privacy.releases import name_form, strictest

_PARTICLES: Final = frozenset(
    ("de", "la", "del", "della", "den", "der", "di", "do", "dos", "da", "das", "du", "van", "von", "zu", "zum")
) | {"el", "al", "ibn", "bin", "abu", "ter", "ten", "the", "and", "san", "mac", "st"}
_BANDS: Final = (("PK TK K 1 2", "K–2"), ("3 4 5", "3–5"), ("6 7 8", "6–8"), ("9 10 11 12", "9–12"))
_GRADE_WORDS: Final = {"K": "Kindergarten", "PK": "Pre-kindergarten", "TK": "Transitional kindergarten"}


class NameKind(StrEnum):
    """What kind of name form was found; said aloud instead of the name."""

    FIRST = "first name"
    FAMILY = "family name"
    MIDDLE = "middle name"
    NICKNAME = "nickname"
    FULL = "full name"
    INITIALS = "initials"
    CLASS_NUMBER = "class and number"


@dataclass(frozen=True, slots=True, repr=False)
class Form:
    """One form of a name as it is searched for. It never prints itself.

    ``runs``: its folded runs of letters. ``careful``: an everyday word, so it counts only with a capital letter.
    ``initial``: its last run is an initial. ``whole``: searched as it is, for scripts without spaces.
    """

    runs: tuple[str, ...]
    kind: NameKind
    careful: bool = False
    initial: bool = False
    whole: str = ""


# --- what is shown ----------------------------------------------------------------------------------------


def grade_sign(grade: str) -> str:
    """The sign over a stretch of wall: "K–2", "3–5" …; an unknown grade stands under "All grades"."""
    return next((sign for grades, sign in _BANDS if grade in grades.split()), "All grades")


def artist_words(grade: str, *, few: bool = False, several: bool = False) -> str:
    """A maker without a name: "Grade 2 artist", "Kindergarten artist"; ``few`` children in the grade: "K–2 artist"."""
    who = "artists" if several else "artist"
    if few:
        sign = grade_sign(grade)
        return f"Young {who}" if sign == "All grades" else f"{sign} {who}"
    if grade in _GRADE_WORDS:
        return f"{_GRADE_WORDS[grade]} {who}"
    return f"Grade {grade} {who}" if grade else f"Young {who}"


def _called(name: ChildName) -> str:
    chosen = name.preferred or name.given
    return _open(chosen)


def _written(name: ChildName, form: NameForm) -> str:
    first, family = _called(name), _open(name.family)
    if form is NameForm.FULL:
        return f"{first} {family}".strip()
    if form is NameForm.FIRST_INITIAL and family:
        return f"{first} {family[0].upper()}."
    return first


def label_for(
    name: ChildName,
    audience: Audience,
    *,
    releases: Iterable[Release],
    grade: str,
    day: date,
    own: bool = False,
    few: bool = False,
) -> str:
    """How the maker of a work is called for ``audience`` on ``day``.

    ``own``: the reader is this child's own family. ``few``: the grade has so few children that naming it would
    point at one. Nothing recorded gives the most private form.
    """
    own_family = own and audience is Audience.FAMILY
    form = NameForm.FULL if own_family else name_form(releases, audience, day=day)
    if form is NameForm.NONE or not _called(name):
        return artist_words(grade, few=few)
    return _written(name, form)


def first_name_for_teacher(name: ChildName) -> str:
    """What the teacher calls a child in the room: the preferred name, or the given one. For her own screen only."""
    return _called(name) or _open(name.family)


def label_for_group(
    makers: Sequence[tuple[ChildName, Iterable[Release]]],
    audience: Audience,
    *,
    grade: str,
    day: date,
    few: bool = False,
) -> str:
    """How the makers of a group work are called: all in the strictest form that any of them has."""
    form = strictest(name_form(releases, audience, day=day) for _, releases in makers)
    if form is NameForm.NONE:
        return artist_words(grade, few=few, several=True)
    names = [_written(name, form) for name, _ in makers]
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


# --- what must be found -----------------------------------------------------------------------------------


def _open(name: SealedName | None) -> str:
    return "" if name is None else " ".join(name._sealed.split())  # noqa: SLF001  opened for a stated audience


def _parts(name: ChildName) -> list[tuple[NameKind, str]]:
    given = [(NameKind.FIRST, _open(one)) for one in (name.given, name.preferred)]
    others = [(NameKind.NICKNAME, _open(one)) for one in name.also]
    last = [(NameKind.FAMILY, _open(name.family)), (NameKind.MIDDLE, _open(name.middle))]
    return [(kind, text) for kind, text in given + others + last if text]


def every_form(name: ChildName) -> set[str]:
    """Every way to write this child's name that the sweep must find, as plain folded text.

    Given, preferred, family, middle, nicknames; full and family-first; parts of double names; run together; with an
    initial; without accents; ä as ae; Cyrillic and Greek in Latin letters. Case, NFC/NFD and punctuation are folded
    away on both sides. Gives plain names: for ``privacy`` and its tests only.
    """
    return {form.whole or " ".join(form.runs) for form in forms_of(name)}


def forms_of(name: ChildName) -> frozenset[Form]:
    """The forms of :func:`every_form` with their kinds, ready to be searched for."""
    found: set[Form] = set()
    for kind, text in _parts(name):
        found |= single_forms(text, kind)
    firsts = [text for kind, text in _parts(name) if kind in (NameKind.FIRST, NameKind.NICKNAME)]
    for first in firsts:
        found |= _full_forms(first, _open(name.family), middle=_open(name.middle))
    return frozenset(found)


def single_forms(text: str, kind: NameKind) -> set[Form]:
    """One name by itself: whole, run together, and each part of a double name that could stand for it."""
    if is_unspaced(text):
        return {Form(runs=(), kind=kind, whole=fold(text))} if len(text) > 1 else set()
    found: set[Form] = set()
    for spelling in spellings(text):
        pieces = runs(spelling)
        if not pieces or len("".join(pieces)) < 2:
            continue
        tellings = {pieces, ("".join(pieces),)}
        if len(pieces) > 1:
            tellings |= {(piece,) for piece in pieces if len(piece) > 2 and piece not in _PARTICLES}
        found |= {Form(telling, kind, careful=_is_everyday(telling)) for telling in tellings}
    return found


def _is_everyday(telling: tuple[str, ...]) -> bool:
    return len(telling) == 1 and (telling[0] in COMMON_WORDS or len(telling[0]) < 3)


def _full_forms(first: str, family: str, *, middle: str) -> set[Form]:
    found: set[Form] = set()
    if is_unspaced(first + family):
        wholes = {fold(family + first), fold(first + family)}
        return {Form((), NameKind.FULL, whole=whole) for whole in wholes if len(whole) > 1}
    for one in spellings(first):
        for last in spellings(family):
            found |= _joined(runs(one), runs(last), middle=runs(fold(middle)))
    return found


def _joined(first: tuple[str, ...], last: tuple[str, ...], *, middle: tuple[str, ...]) -> set[Form]:
    if not first or not last:
        return set()
    one, two = "".join(first), "".join(last)
    orders = {first + last, last + first, (one + two,), (two + one,), (first[0][0], *last), (*last, first[0][0])}
    if middle:
        orders |= {first + middle + last, (*first, middle[0][0], *last), last + first + middle}
    if len(two) > 4 and one[0] + two not in COMMON_WORDS:
        orders.add((one[0] + two,))
    full = {Form(order, NameKind.FULL) for order in orders if len("".join(order)) > 3}
    return full | {Form((*first, last[0][0]), NameKind.INITIALS, initial=True)}


def released_forms(name: ChildName, form: NameForm) -> frozenset[Form]:
    """The forms that a release allows, so that they are not forbidden. Of a preferred name only that one."""
    if form is NameForm.NONE:
        return frozenset()
    if form is NameForm.FULL:
        return forms_of(name)
    first = _called(name)
    found = single_forms(first, NameKind.FIRST)
    if form is NameForm.FIRST_INITIAL and _open(name.family) and not is_unspaced(first):
        last = runs(fold(_open(name.family)))
        initial = last[0][0] if last else ""
        found |= {Form((*runs(one), initial), NameKind.INITIALS, initial=True) for one in spellings(first)}
    return frozenset(found)


def initials_of(name: ChildName) -> frozenset[str]:
    """Pairs of initials, folded ("am"); they point at a child only beside a class."""
    last = fold(_open(name.family))
    firsts = [fold(text) for kind, text in _parts(name) if kind is NameKind.FIRST]
    return frozenset(first[0] + last[0] for first in firsts if first and last)
