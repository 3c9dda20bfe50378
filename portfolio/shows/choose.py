"""Choose the works of a show: every child at least once if that is possible, then balance, stars and staying put.

Exact and repeatable, in two steps (one weighted sum with a huge penalty is slower and worse, measured 2026): first the
fewest children without a work, then the best selection among those, started from the first answer. Ties are broken by a
hash of the work's id, so that neither age nor roster order decides.
"""

from __future__ import annotations

import hashlib
import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from portfolio.model.showing import Candidate, Choice, Mark, ShowLimits
from portfolio.shows.exactly import Program, Solution, cheapest
from portfolio.shows.explain import reasons, shortage

_STARS: Final = (0.0, 40.0, 90.0, 160.0)
_EACH_WORK, _SHOWN_BEFORE, _STAYS, _OFF_BALANCE = 10.0, 60.0, 25.0, 6.0
"""Weights of the second step; own judgment, tried on an invented school, no source."""


@dataclass(frozen=True, slots=True)
class _Built:
    program: Program
    works: dict[int, int]
    """Work id → column."""
    without: dict[int, int]
    """Student id → column that is 1 when the child has no work in the show."""
    off_balance: tuple[int, ...]


def choose(candidates: Iterable[Candidate], limits: ShowLimits, *, stay: frozenset[int] = frozenset()) -> Choice:
    """Choose among ``candidates`` (works that may be shown to the audience; others must not be passed in).

    ``stay``: works chosen before, which keep their place unless something speaks against it. The same input in any
    order gives the same choice.
    """
    offered = sorted(candidates, key=lambda work: work.work_id)
    able = [work for work in offered if is_able(work, limits)]
    if not able:
        return Choice(
            (), reasons(offered, frozenset(), limits=limits), _everyone(offered), shortage(offered, (), limits)
        )
    built = _build(able, limits)
    first = cheapest(built.program, dict.fromkeys(built.without.values(), 1.0))
    assert first is not None, "musts have widened every limit, so an answer exists"
    fewest = round(sum(first.values[column] for column in built.without.values()))
    built.program.row(dict.fromkeys(built.without.values(), 1.0), most=fewest)
    best = cheapest(built.program, _cost(built, able, stay=stay), start=first.values) or first
    chosen = frozenset(work for work, column in built.works.items() if best.is_on(column))
    missing = tuple(
        sorted(
            set(_everyone(offered)) - {child for work in able if work.work_id in chosen for child in work.student_ids}
        )
    )
    short = shortage(offered, missing, limits, needed=_needed(able, limits)) if missing else ""
    told = reasons(offered, chosen, limits=limits)
    return Choice(tuple(sorted(chosen)), told, missing, short, proved=first.proved and best.proved)


def is_able(work: Candidate, limits: ShowLimits) -> bool:
    """Whether a work can be planned at all: not kept out, and measured where the wall is."""
    if work.mark is Mark.MUST:
        return True
    return work.mark is not Mark.NEVER and (limits.surface_mm2 is None or work.area_mm2 is not None)


def _everyone(works: Iterable[Candidate]) -> tuple[int, ...]:
    return tuple(sorted({child for work in works if work.mark is not Mark.NEVER for child in work.student_ids}))


def _build(works: Sequence[Candidate], limits: ShowLimits) -> _Built:
    program = Program()
    columns = {work.work_id: program.column(float(work.mark is Mark.MUST), 1.0) for work in works}
    without: dict[int, int] = {}
    for child in _everyone(works):
        own = [work for work in works if child in work.student_ids]
        terms = {columns[work.work_id]: 1.0 for work in own}
        musts = sum(work.mark is Mark.MUST for work in own)
        without[child] = program.column(0.0, 1.0)
        program.row({**terms, without[child]: 1.0}, least=1.0)
        program.row(terms, most=max(limits.per_child, musts))
    musts_all = [work for work in works if work.mark is Mark.MUST]
    if limits.works is not None:
        program.row(dict.fromkeys(columns.values(), 1.0), most=max(limits.works, len(musts_all)))
    if limits.surface_mm2 is not None:
        areas = {columns[work.work_id]: float(work.area_mm2 or 0) for work in works}
        program.row(areas, most=max(limits.surface_mm2, sum(work.area_mm2 or 0 for work in musts_all)))
    off = _balance(program, works, columns, limits=limits) if limits.balance else ()
    return _Built(program, columns, without, off)


def _balance(
    program: Program, works: Sequence[Candidate], columns: dict[int, int], *, limits: ShowLimits
) -> tuple[int, ...]:
    """Rows that measure how far each medium and grade is from its share of the show; gives the columns to keep small.

    A medium's share grows with the square root of what was made in it, so that rare media are seen; a grade's share
    is its share of the children.
    """
    places = len(works) if limits.works is None else limits.works
    places = min(places, sum(min(limits.per_child, count) for count in _works_per_child(works).values()))
    made = Counter(work.medium for work in works)
    children = Counter({grade: len(who) for grade, who in _children_of_grades(works).items()})
    off: list[int] = []
    for share, kind in ((_shares({k: math.sqrt(n) for k, n in made.items()}), "medium"), (_shares(children), "grade")):
        for group, part in share.items():
            over, under = program.column(0, len(works), whole=False), program.column(0, len(works), whole=False)
            terms = {columns[work.work_id]: 1.0 for work in works if getattr(work, kind) == group}
            target = round(part * places)
            program.row({**terms, over: -1.0, under: 1.0}, least=target, most=target)
            off += [over, under]
    return tuple(off)


def _works_per_child(works: Iterable[Candidate]) -> Counter[int]:
    return Counter(child for work in works for child in work.student_ids)


def _children_of_grades(works: Iterable[Candidate]) -> dict[str, set[int]]:
    found: dict[str, set[int]] = {}
    for work in works:
        found.setdefault(work.grade, set()).update(work.student_ids)
    return found


def _shares(weights: dict[str, float] | Counter[str]) -> dict[str, float]:
    whole = sum(weights.values()) or 1.0
    return {group: weights[group] / whole for group in sorted(weights)}


def _cost(built: _Built, works: Sequence[Candidate], *, stay: frozenset[int]) -> dict[int, float]:
    cost = dict.fromkeys(built.off_balance, _OFF_BALANCE)
    for work in works:
        worth = _EACH_WORK + _STARS[min(max(work.stars, 0), 3)] + tie_break(work.work_id)
        worth += _STAYS * (work.work_id in stay) - _SHOWN_BEFORE * work.shown_before
        cost[built.works[work.work_id]] = -worth
    return cost


def tie_break(work_id: int) -> float:
    """Between 0 and 1, from a hash of the id: fixed for ever, and in no order that anybody could read."""
    return int.from_bytes(hashlib.sha256(f"portfolio {work_id}".encode()).digest()[:2]) / 65536


def _needed(works: Sequence[Candidate], limits: ShowLimits) -> tuple[int, int] | None:
    """Fewest works, and least wall, that would give every child a place; ``None`` when no number would."""
    built = _build(works, ShowLimits(per_child=limits.per_child, balance=False))
    built.program.row(dict.fromkeys(built.without.values(), 1.0), most=0.0)
    count = cheapest(built.program, dict.fromkeys(built.works.values(), 1.0))
    areas = {built.works[work.work_id]: float(work.area_mm2 or 0) for work in works}
    wall: Solution | None = None if count is None else cheapest(built.program, areas, start=count.values)
    return None if count is None or wall is None else (round(count.cost), round(wall.cost))
