"""A child's works by school year, and two of them side by side."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from itertools import combinations
from typing import Final

from portfolio.model.finding import WorkShown
from portfolio.model.growth import ThenAndNow, YearOfWorks

FAR_DAYS = 120
"""Works nearer in time than about a term are not put side by side (own judgment, no source)."""
_SMALL_WORDS: Final = frozenset(
    ("and", "for", "from", "her", "his", "its", "our", "the", "this", "that", "with", "you")
)
_TITLE_WORD: Final = re.compile(r"[^\W\d_]{3,}")


def timeline(works: Iterable[WorkShown]) -> tuple[YearOfWorks, ...]:
    """The works of one child by school year, newest year first, oldest work first within a year.

    Class, number and grade are those of the year's newest work; a group work keeps the number it was filed under.
    """
    by_year: dict[str, list[WorkShown]] = {}
    for work in sorted(works, key=lambda one: (one.made_on, one.work_id)):
        by_year.setdefault(work.year, []).append(work)
    return tuple(_year(label, of_year) for label, of_year in sorted(by_year.items(), reverse=True))


def _year(label: str, works: Sequence[WorkShown]) -> YearOfWorks:
    own = [work for work in works if not work.group_work] or works
    last = own[-1]
    return YearOfWorks(label, last.class_label, last.number, last.grade, tuple(works))


def then_and_now(works: Iterable[WorkShown]) -> ThenAndNow | None:
    """The pair that lies farthest apart in time: of one medium and one theme if there is one, else of one medium, of
    one theme, of any two; ``None`` when the works are too few or too near. Single-child works with a picture only.
    The same works always give the same pair.
    """
    shown = [work for work in works if work.derived_key is not None and not work.group_work]
    pairs = [_ordered(one, other) for one, other in combinations(shown, 2)]
    far = [(then, now) for then, now in pairs if (now.made_on - then.made_on).days >= FAR_DAYS]
    if not far:
        return None
    return _pair(*max(far, key=_preference))


def side_by_side(works: Iterable[WorkShown], one_id: int, other_id: int) -> ThenAndNow | None:
    """These two works, the older one first, however near in time; ``None`` unless both are there with a picture."""
    shown = {work.work_id: work for work in works if work.derived_key is not None}
    if one_id == other_id or not {one_id, other_id} <= shown.keys():
        return None
    return _pair(*_ordered(shown[one_id], shown[other_id]))


def _pair(then: WorkShown, now: WorkShown) -> ThenAndNow:
    shared = tuple(sorted(themes(then) & themes(now)))
    parts = [f"both are {then.medium}"] if _same_medium(then, now) else []
    parts += [f"both titles say “{shared[0]}”"] if shared else []
    why = " and ".join(parts) or "the first and the last that are kept"
    return ThenAndNow(then, now, why, shared)


def themes(work: WorkShown) -> frozenset[str]:
    """What a work is about, as far as its title says: words of three letters or more, in lower case and without a
    plural s, so that "My cats" meets "Cat".
    """
    words = (word for word in _TITLE_WORD.findall(work.title.lower()) if word not in _SMALL_WORDS)
    return frozenset(word[:-1] if len(word) > 3 and word[-1] == "s" and word[-2] != "s" else word for word in words)


def _same_medium(then: WorkShown, now: WorkShown) -> bool:
    return then.medium is not None and then.medium == now.medium


def _ordered(one: WorkShown, other: WorkShown) -> tuple[WorkShown, WorkShown]:
    return (one, other) if (one.made_on, one.work_id) <= (other.made_on, other.work_id) else (other, one)


def _preference(pair: tuple[WorkShown, WorkShown]) -> tuple[bool, bool, int, int, int]:
    then, now = pair
    same_theme = not themes(then).isdisjoint(themes(now))
    return (_same_medium(then, now), same_theme, (now.made_on - then.made_on).days, -then.work_id, now.work_id)
