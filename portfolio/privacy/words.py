"""Names of children inside what a child said or wrote: found, and held for the teacher.

A held text is shown to nobody but the teacher until each place is decided. Nicknames count; near misspellings count
when they are close (rapidfuzz, Damerau-Levenshtein), begin with the same letter and are no ordinary word.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

from rapidfuzz import process
from rapidfuzz.distance import OSA

from portfolio.model.showing import Decision, HeldPlace, KnownChild
from portfolio.privacy.everyday import COMMON_WORDS
from portfolio.privacy.forms import NameKind, forms_of
from portfolio.privacy.letters import Run, fold_in_place, runs_in_place
from portfolio.privacy.matching import Forbidden

_ONE_SLIP, _TWO_SLIPS = 5, 9
"""Letters a name must have so that one, or two, wrong letters still count as that name. Children's words are short:
below five letters one slip makes another word too often (own judgment, no source)."""
_CLOSE: Final = {
    NameKind.FIRST: "close to a first name",
    NameKind.FAMILY: "close to a family name",
    NameKind.NICKNAME: "close to a nickname",
}


class NameFinder:
    """Finds the names of all known children in texts. Build it once for many texts; it never prints a name."""

    def __init__(self, children: Iterable[KnownChild], *, ordinary: frozenset[str] = frozenset()) -> None:
        """``ordinary``: more words that are no names here, e.g. the library's own frequent words (folded)."""
        forms = {form for child in children for form in forms_of(child.name)}
        self._exact = Forbidden(forms)
        self._ordinary = COMMON_WORDS | ordinary
        self._by_letter: dict[str, list[str]] = {}
        self._kinds: dict[str, NameKind] = {}
        for form in sorted(forms, key=lambda form: (form.runs, form.kind)):
            if form.kind in _CLOSE and len(form.runs) == 1 and len(form.runs[0]) >= _ONE_SLIP:
                word = form.runs[0]
                if word not in self._kinds:
                    self._by_letter.setdefault(word[0], []).append(word)
                    self._kinds[word] = form.kind

    def __repr__(self) -> str:
        return "NameFinder(names kept back)"

    def places(self, text: str) -> tuple[HeldPlace, ...]:
        """Every place where a child's name may stand, in order, none overlapping, undecided."""
        exact = [HeldPlace(place.start, place.end, place.kind.value) for place in self._exact.find(text)]
        close = [place for run in runs_in_place(fold_in_place(text)) if (place := self._close_place(run)) is not None]
        kept: list[HeldPlace] = []
        for place in sorted(exact + close, key=lambda place: (place.start, -place.end, place.kind)):
            if not kept or place.start >= kept[-1].end:
                kept.append(place)
        return tuple(kept)

    def _close_place(self, run: Run) -> HeldPlace | None:
        word = run.folded
        if len(word) < _ONE_SLIP - 1 or word in self._kinds or _is_ordinary(word, self._ordinary):
            return None
        slips = 2 if len(word) >= _TWO_SLIPS else 1
        near = process.extractOne(word, self._by_letter.get(word[0], ()), scorer=OSA.distance, score_cutoff=slips)
        if near is None or (near[1] > 1 and len(near[0]) < _TWO_SLIPS):
            return None
        return HeldPlace(run.start, run.end, _CLOSE[self._kinds[near[0]]])


def _is_ordinary(word: str, ordinary: frozenset[str]) -> bool:
    """Whether ``word`` is an ordinary word, also with an everyday ending ("plays", "jumped", "drawings")."""
    endings = ("s", "es", "ed", "d", "ing", "er", "ers", "y", "ly")
    return word in ordinary or any(word.endswith(end) and word[: -len(end)] in ordinary for end in endings)


def hold(finder: NameFinder, text: str, *, before: Sequence[HeldPlace] = ()) -> tuple[HeldPlace, ...]:
    """The places to hold in ``text``. What the teacher decided before about the same place stays decided."""
    decided = {(place.start, place.end): place.decided for place in before}
    return tuple(
        HeldPlace(place.start, place.end, place.kind, decided.get((place.start, place.end)))
        for place in finder.places(text)
    )


def may_leave_the_teacher(finder: NameFinder, text: str, *, held: Sequence[HeldPlace]) -> bool:
    """Whether a text may be shown beyond the teacher: every place found today was decided as "may be shown", and no
    place is kept.
    """
    if any(place.decided is not Decision.SHOWN for place in held):
        return False
    decided = {(place.start, place.end) for place in held}
    return all((place.start, place.end) in decided for place in finder.places(text))
