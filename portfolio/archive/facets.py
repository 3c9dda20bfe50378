"""How many works there are of each year, grade, class, medium, center, color and size, with words and without.

Counting 20,000 works in SQL took most of an answer (60 to 300 ms, 2026-11-26), so what each kept work counts as stays
in memory; which works to read again is told by the history, where every change to a record stands.
"""

from __future__ import annotations

import threading
from collections import Counter
from collections.abc import Collection, Iterable, Iterator
from typing import Any, Final

from sqlalchemy import ColumnElement, case, select
from sqlmodel import Session, col

from portfolio.archive import finding, history, tables
from portfolio.model.finding import COLORS, SIZES, Filters
from portfolio.model.people import GRADES

Facet = tuple[tuple[str, int], ...]
"""Value and how many works, in a fixed order."""
Tally = tuple[int, int | None, int | None, int]
"""Class, medium, center, and one bit for each of ``_MARKS`` that the work has."""

WORDS: Final = "words"
"""The facet that divides all works in two: those with a child's words and those without."""
_COUNTED: Final = frozenset({"work", "work_color", "reflection"})
"""Tables whose rows say what a work counts as; the labels of classes, media and centers are read each time."""
_MARKS: Final = (*COLORS, *SIZES, WORDS)


class Facets:
    """What each kept work of one library counts as. Any thread may ask."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._works: dict[int, Tally] = {}
        self._line = -1
        """The newest line of the history that is counted in; -1 = nothing was read yet."""

    def of(self, session: Session, which: Filters | Collection[int]) -> dict[str, Facet]:
        """The facets of the works that fit ``which`` filters, or of those with these ids."""
        picked = finding.ids_of(session, which) if isinstance(which, Filters) and which != Filters() else which
        with self._lock:
            self._catch_up(session)
            works = self._works
            keys = works if isinstance(picked, Filters) else picked
            return _counted(session, [works[key] for key in keys if key in works])

    def _catch_up(self, session: Session) -> None:
        newest = history.newest_line(session)
        if newest <= self._line:  # a snapshot from before another thread's look is served by the newer one
            return
        changed = history.works_changed(session, _COUNTED, after=self._line) if self._line >= 0 else None
        if changed is None or len(changed) > finding.CHUNK:
            self._works = dict(_read(session, []))
        else:
            for key in changed:
                self._works.pop(key, None)
            self._works.update(_read(session, [col(tables.Work.id).in_(changed)]))
        self._line = newest


def _read(session: Session, conditions: Iterable[ColumnElement[bool]]) -> Iterator[tuple[int, Tally]]:
    """The kept works and what each counts as."""
    marks: Any = 0
    for at, mark in enumerate(_MARKS):
        marks = marks + case((_has(mark), 1 << at), else_=0)
    columns = (col(tables.Work.class_id), col(tables.Work.medium_id), col(tables.Work.centre_id), marks)
    asked = (
        select(col(tables.Work.id), *columns)
        .outerjoin(tables.WorkColor, col(tables.WorkColor.work_id) == col(tables.Work.id))
        .where(col(tables.Work.removed).is_(False), *conditions)
    )
    for key, *tally in session.execute(asked):
        yield key, tuple(tally)


def _has(mark: str) -> ColumnElement[bool]:
    if mark in COLORS:
        return finding.mostly(mark)
    return finding.with_words() if mark == WORDS else finding.of_size(mark)


def _counted(session: Session, works: Collection[Tally]) -> dict[str, Facet]:
    columns = [Counter(column) for column in zip(*works, strict=True)] or [Counter()] * 4
    classes, media, centres, marks = columns
    answer = {"year": Counter[str](), "grade": Counter[str](), "class_label": Counter[str]()}
    for key, *values in session.execute(_CLASSES):
        for counted, value in zip(answer.values(), values, strict=True):
            counted[value] += classes[key]
    answer["medium"] = _labelled(session, tables.Medium, media)
    answer["centre"] = _labelled(session, tables.Centre, centres)
    facets = {name: _ordered(name, counted) for name, counted in answer.items()}
    told = {mark: sum(count for bits, count in marks.items() if bits >> at & 1) for at, mark in enumerate(_MARKS)}
    told |= {"with": told[WORDS], "without": len(works) - told[WORDS]}
    marked: dict[str, tuple[str, ...]] = {"color": COLORS, "size": SIZES, WORDS: ("with", "without")}
    return facets | {
        name: tuple((value, told[value]) for value in values if told[value]) for name, values in marked.items()
    }


_CLASSES: Final = select(
    col(tables.ClassGroup.id),
    col(tables.SchoolYear.label),
    col(tables.ClassGroup.grade),
    col(tables.ClassGroup.label),
).join(tables.SchoolYear, col(tables.SchoolYear.id) == col(tables.ClassGroup.year_id))


def _labelled(session: Session, kind: Any, counts: Counter[int]) -> Counter[str]:
    return Counter({label: counts[key] for key, label in session.execute(select(kind.id, kind.label))})


def _ordered(name: str, counts: Counter[str]) -> Facet:
    there = [(value, count) for value, count in counts.items() if count]
    match name:
        case "grade":
            return tuple(sorted(there, key=lambda pair: GRADES.index(pair[0]) if pair[0] in GRADES else 99))
        case "year":
            return tuple(sorted(there, reverse=True))
        case "class_label":
            return tuple(sorted(there))
    return tuple(sorted(there, key=lambda pair: (-pair[1], pair[0])))
