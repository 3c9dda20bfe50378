"""Find names in a text: fast where there is none, exact about places where there is one.

A text is folded once and cut into runs of letters; most texts are dismissed by one set intersection. Only then are
the places looked at: word boundaries, capitals of everyday words, gaps between the parts of a full name. Both times
the folded text is what is searched, so that nothing can be met the first time and missed the second.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from typing import Any, Final, NoReturn

from portfolio.model.people import Audience
from portfolio.model.showing import KnownChild
from portfolio.privacy import forms
from portfolio.privacy.forms import Form, NameKind
from portfolio.privacy.letters import (
    Folded,
    Run,
    fold,
    fold_in_place,
    is_capital,
    joined,
    runs,
    runs_in_place,
    without_apostrophes,
)
from portfolio.privacy.releases import name_form

RULES: Final = 3
"""Raise it when the cutting or comparing changes, here or in ``letters``, ``forms``, ``disguises``, ``containers`` or
``sweep``: a page that was found clean under other rules is then searched again."""
_GAP_MAX: Final = 12
"""Characters that may stand between the parts of one full name: a comma, a line break, a few blanks."""
_READABLE: Final = 12
_PLAIN: Final = "".join(map(chr, range(32, 127)))
_TELLING: Final = frozenset(
    ["with", "by", "from", "to", "for", "named", "called", "name", "friend", "sister", "brother", "cousin"]
)
"""After these, an everyday word in small letters is taken for a name."""
_TWO_LETTERS: Final = re.compile(r"(?<![^\W_])([^\W\d_])\.?\s?([^\W\d_])\.?(?![^\W_])")


@dataclass(frozen=True, slots=True, repr=False)
class Found:
    """A name found in a text: where, and what kind of form. Never the name itself."""

    start: int
    end: int
    kind: NameKind


class Forbidden:
    """Every form of every name that an audience may not see. It never prints itself and refuses to be written out."""

    def __init__(self, found: Iterable[Form], *, classes: Iterable[tuple[str, frozenset[str]]] = ()) -> None:
        all_forms = sorted(set(found), key=lambda form: (form.runs, form.whole, form.kind, form.careful))
        self._by_longest: dict[str, list[tuple[Form, int]]] = {}
        for form in all_forms:
            if form.runs:
                at = max(range(len(form.runs)), key=lambda place, form=form: len(form.runs[place]))  # type: ignore[misc]
                self._by_longest.setdefault(form.runs[at], []).append((form, at))
        self._longest = frozenset(self._by_longest)
        self._wholes = [form for form in all_forms if form.whole]
        self._initials = {short: pairs for label, pairs in classes if (short := fold(label).strip())}
        self._classes = _class_pattern(self._initials)
        told = repr((RULES, [(f.runs, f.whole, f.kind.value, f.careful, f.initial) for f in all_forms]))
        told += repr(sorted((label, sorted(pairs)) for label, pairs in self._initials.items()))
        self.digest = hashlib.sha256(told.encode()).hexdigest()
        self.count = len(all_forms)

    def __repr__(self) -> str:
        return f"Forbidden({self.count} forms, kept back)"

    def __reduce_ex__(self, protocol: Any) -> NoReturn:
        raise TypeError("forbidden names cannot be serialised")

    def may_hold(self, text: str) -> bool:
        """Whether a closer look is needed. No means no."""
        folded = fold(text)
        if not self._longest.isdisjoint(runs(folded)):
            return True
        if not folded.isascii() and any(form.whole in folded for form in self._wholes):
            return True
        if any(label in folded for label in self._initials) and self._classes_in(folded):
            return True
        bare = without_apostrophes(folded)
        return bare != folded and not self._longest.isdisjoint(runs(bare))

    def _classes_in(self, folded: str) -> bool:
        return self._classes is not None and self._classes.search(folded) is not None

    def find(self, text: str, *, small: bool = True) -> list[Found]:
        """Every name in ``text``, in order. ``small=False`` leaves out forms too short to mean anything in bytes
        that are not text (under five letters).
        """
        if not self.may_hold(text):
            return []
        cut = fold_in_place(text)
        found = [*self._find_runs(cut, small=small), *self._find_wholes(cut), *self._find_class_numbers(cut)]
        again = joined(cut)
        if again is not None:
            found += self._find_runs(again, small=small)
        return sorted(dict.fromkeys(found), key=lambda place: (place.start, -place.end))

    def _find_runs(self, cut: Folded, *, small: bool) -> Iterator[Found]:
        places = runs_in_place(cut)
        for index, run in enumerate(places):
            for form, at in self._by_longest.get(run.folded, ()):
                if not small and len("".join(form.runs)) < 5 and not _is_among_words(cut.text, run):
                    continue
                first, last = index - at, index - at + len(form.runs)
                if first >= 0 and _fits(form, places[first:last], cut.letters) and _counts(form, places, index=first):
                    yield Found(places[first].start, places[last - 1].end, form.kind)

    def _find_wholes(self, cut: Folded) -> Iterator[Found]:
        for form in self._wholes:
            for match in re.finditer(re.escape(form.whole), cut.letters):
                yield Found(*cut.back(*match.span()), form.kind)

    def _find_class_numbers(self, cut: Folded) -> Iterator[Found]:
        if self._classes is None:
            return
        for match in self._classes.finditer(cut.letters):
            if match["number"] or match["before"]:
                yield Found(*cut.back(*match.span()), NameKind.CLASS_NUMBER)
            if self._has_initials(cut, match):
                yield Found(*cut.back(*match.span()), NameKind.INITIALS)

    def _has_initials(self, cut: Folded, match: re.Match[str]) -> bool:
        """Whether two capitals beside a class are the initials of one of its children."""
        label, start = match["label"], max(0, match.start() - 8)
        near = cut.letters[start : match.end() + 8].replace(label, "," * len(label))
        for pair in _TWO_LETTERS.finditer(near):
            written = (cut.text[slice(*cut.back(start + at, start + at + 1))] for at in (pair.start(1), pair.start(2)))
            if pair[1] + pair[2] in self._initials[label] and all(map(is_capital, written)):
                return True
        return False


def _is_among_words(text: str, run: Run) -> bool:
    """Whether at least :data:`_READABLE` plain characters stand in a row here: chance makes so many once in 10,000."""
    around = text[max(0, run.start - _READABLE) : run.start], text[run.end : run.end + _READABLE]
    before = len(around[0]) - len(around[0].rstrip(_PLAIN))
    after = len(around[1]) - len(around[1].lstrip(_PLAIN))
    return before + after + run.end - run.start >= _READABLE


def _fits(form: Form, places: list[Run], letters: str) -> bool:
    if len(places) < len(form.runs) or any(a.folded != b for a, b in zip(places, form.runs, strict=True)):
        return False
    gaps = [letters[a.at + len(a.folded) : b.at] for a, b in pairwise(places)]
    if any(len(gap) > _GAP_MAX or any(mark in gap for mark in "<>{}=") for gap in gaps):
        return False
    if not form.initial:
        return True
    gap, last = gaps[-1], places[-1]
    dotted = letters[last.at + 1 : last.at + 2] == "."
    alone = bool(gap) and not any(mark in gap for mark in "',;:!?\n")
    return alone and last.capital and (dotted or last.folded not in "ai")


def _counts(form: Form, places: list[Run], *, index: int) -> bool:
    if not form.careful or places[index].capital:
        return True
    return index > 0 and places[index - 1].folded in _TELLING


def _class_pattern(labels: Iterable[str]) -> re.Pattern[str] | None:
    wanted = sorted((label for label in labels if len(label) > 1), key=lambda label: (len(label), label))
    if not wanted:
        return None
    either = "|".join(re.escape(label) for label in reversed(wanted))
    number = r"(?P<number>(?:[\s,;:/#._-]{1,3}|\s*,?\s*(?:number|no\.?|nr\.?|#)\s*)(?:[1-9]|[1-3]\d|40)(?![\w]))?"
    before = r"(?P<before>(?:number|no\.?|#)\s*(?:[1-9]|[1-3]\d|40)\s*(?:,|in|of|from)?\s*)?"
    return re.compile(rf"(?<![^\W_]){before}(?P<label>{either})(?:{number})(?![^\W_])")


NOTHING: Final = Forbidden(())
"""For the teacher, who sees all."""


def forbidden_for(
    children: Iterable[KnownChild], audience: Audience, *, day: date, own: frozenset[int] = frozenset()
) -> Forbidden:
    """What ``audience`` may not see: all forms of children not released to it, and of the others every form beyond
    the released one. ``own``: children of the family that reads it.
    """
    if audience is Audience.TEACHER:
        return NOTHING
    found: set[Form] = set()
    classes: dict[str, frozenset[str]] = {}
    for child in children:
        if audience is Audience.FAMILY and child.student_id in own:
            continue
        allowed = forms.released_forms(child.name, name_form(child.releases, audience, day=day))
        taken = {(form.runs, form.whole) for form in allowed}
        found |= {form for form in forms.forms_of(child.name) if (form.runs, form.whole) not in taken}
        for label in child.class_labels:
            classes[label] = classes.get(label, frozenset()) | forms.initials_of(child.name)
    return Forbidden(found, classes=classes.items())
