"""Finding in SQL: filters, facets and order. Words are the search room's; names stay sealed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Sequence
from typing import Any, Final

from sqlalchemy import ColumnElement, case, func, literal_column, select
from sqlmodel import Session, col

from portfolio.archive import tables
from portfolio.model.finding import COLORS, LARGE_OVER_MM, MOSTLY_PERCENT, SIZES, SMALL_UNDER_MM, Filters, WorkShown
from portfolio.model.people import GRADES

CHUNK = 10_000
"""Ids in one statement; SQLite takes 32,766 values."""


def matching_ids(
    session: Session,
    filters: Filters,
    *,
    students: Collection[int] | None = None,
    limit: int | None = None,
    offset: int = 0,
) -> list[int]:
    """Ids of all works that fit, newest first; with a color, the most of it first. ``students``: only works by one of
    these children; ``limit`` and ``offset``: only this part of the line.
    """
    asked = _base(select(col(tables.Work.id))).where(*_conditions(filters))
    if students is not None:
        asked = asked.where(_has(tables.Maker, col(tables.Maker.student_id).in_(list(students))))
    if filters.color:
        asked = asked.order_by(_share(filters.color).desc())
    asked = asked.order_by(col(tables.Work.made_on).desc(), col(tables.Work.class_id), col(tables.Work.number))
    return [key for (key,) in session.execute(asked.limit(limit).offset(offset or None))]


def how_many(session: Session, filters: Filters) -> int:
    """How many works fit; a third of what sorting and giving all their ids costs."""
    return session.scalar(_base(select(func.count())).where(*_conditions(filters))) or 0


def still_there(session: Session, work_ids: Sequence[int]) -> set[int]:
    """Those of these works that are kept."""
    found: set[int] = set()
    for part in _chunks(work_ids):
        asked = select(col(tables.Work.id)).where(col(tables.Work.id).in_(part), col(tables.Work.removed).is_(False))
        found.update(session.scalars(asked))
    return found


def _base(asked: Any) -> Any:
    return (
        asked.select_from(tables.Work)
        .join(tables.ClassGroup, col(tables.ClassGroup.id) == col(tables.Work.class_id))
        .join(tables.SchoolYear, col(tables.SchoolYear.id) == col(tables.ClassGroup.year_id))
        .outerjoin(tables.Medium, col(tables.Medium.id) == col(tables.Work.medium_id))
        .outerjoin(tables.Centre, col(tables.Centre.id) == col(tables.Work.centre_id))
        .outerjoin(tables.WorkColor, col(tables.WorkColor.work_id) == col(tables.Work.id))
        .where(col(tables.Work.removed).is_(False))
    )


def _share(color: str) -> Any:
    return getattr(tables.WorkColor, color)


def _conditions(filters: Filters) -> Iterator[ColumnElement[bool]]:
    plain: tuple[tuple[Any, object], ...] = (
        (tables.ClassGroup.label, filters.class_label),
        (tables.ClassGroup.grade, filters.grade),
        (tables.SchoolYear.label, filters.year),
        (tables.Medium.label, filters.medium),
        (tables.Centre.label, filters.centre),
        (tables.Work.sheet, filters.sheet),
    )
    yield from (col(column) == value for column, value in plain if value is not None)
    if filters.student_id is not None:
        yield _has(tables.Maker, col(tables.Maker.student_id) == filters.student_id)
    if filters.tag is not None:
        tag = select(col(tables.Tag.id)).where(col(tables.Tag.label) == filters.tag).scalar_subquery()
        yield _has(tables.WorkTag, col(tables.WorkTag.tag_id) == tag)
    if filters.color is not None:
        yield col(_share(filters.color)) >= MOSTLY_PERCENT
    if filters.size is not None:
        yield _of_size(filters.size)
    if filters.from_day is not None:
        yield col(tables.Work.made_on) >= filters.from_day
    if filters.to_day is not None:
        yield col(tables.Work.made_on) <= filters.to_day
    if filters.with_words is not None:
        words = _has(tables.Reflection, literal_column("1") == 1)
        yield words if filters.with_words else ~words


def _of_size(size: str) -> ColumnElement[bool]:
    """Whether a work is of this size; a size that is none fits nothing."""
    width, height = col(tables.Work.width_mm), col(tables.Work.height_mm)
    longer = case((width >= height, width), else_=height)
    measured = width.is_not(None) & height.is_not(None)
    ways: dict[str, ColumnElement[bool]] = {
        "small": measured & (longer < SMALL_UNDER_MM),
        "medium": measured & longer.between(SMALL_UNDER_MM, LARGE_OVER_MM),
        "large": measured & (longer > LARGE_OVER_MM),
        "about": measured & col(tables.Work.size_about).is_(True),
        "unmeasured": ~measured,
    }
    return ways.get(size, literal_column("1") == 0)


def _has(kind: Any, condition: ColumnElement[bool]) -> ColumnElement[bool]:
    return select(col(kind.id)).where(col(kind.work_id) == col(tables.Work.id), condition).exists()


def shown(session: Session, work_ids: Sequence[int]) -> list[WorkShown]:
    """The works with these ids, in this order; ids that are not there are left out."""
    found: dict[int, WorkShown] = {}
    for part in _chunks(work_ids):
        makers = _makers(session, part)
        views = _views(session, part)
        words = set(
            session.scalars(select(col(tables.Reflection.work_id)).where(col(tables.Reflection.work_id).in_(part)))
        )
        labels = (col(tables.SchoolYear.label), col(tables.Medium.label), col(tables.Centre.label))
        asked = _base(select(tables.Work, tables.ClassGroup, *labels)).where(col(tables.Work.id).in_(part))
        for work, group, year, medium, centre in session.execute(asked):
            key, photo_id = views.get(work.id, (None, None))
            found[work.id] = WorkShown(
                work_id=work.id,
                title=work.title,
                class_id=group.id,
                class_label=group.label,
                number=work.number,
                grade=group.grade,
                year=year,
                medium=medium,
                centre=centre,
                made_on=work.made_on,
                width_mm=work.width_mm,
                height_mm=work.height_mm,
                size_about=work.size_about,
                sheet=work.sheet,
                solid=work.solid,
                group_work=work.group_work,
                student_ids=makers.get(work.id, ()),
                derived_key=key,
                photo_id=photo_id,
                has_words=work.id in words,
            )
    return [found[key] for key in work_ids if key in found]


def _chunks(ids: Sequence[int]) -> Iterator[Sequence[int]]:
    return (ids[at : at + CHUNK] for at in range(0, len(ids), CHUNK))


def _makers(session: Session, ids: Sequence[int]) -> dict[int, tuple[int, ...]]:
    found: dict[int, tuple[int, ...]] = {}
    asked = select(col(tables.Maker.work_id), col(tables.Maker.student_id)).where(col(tables.Maker.work_id).in_(ids))
    for work_id, student_id in session.execute(asked.order_by(col(tables.Maker.id))):
        found[work_id] = (*found.get(work_id, ()), student_id)
    return found


def _views(session: Session, ids: Sequence[int]) -> dict[int, tuple[str | None, int]]:
    """The main view of each work: the first front."""
    asked = select(tables.View).where(col(tables.View.work_id).in_(ids))
    order = (col(tables.View.role) != "front", col(tables.View.position), col(tables.View.id))
    found: dict[int, tuple[str | None, int]] = {}
    for view in session.scalars(asked.order_by(*order)):
        found.setdefault(view.work_id, (view.derived_key, view.photo_id))
    return found


def facets(session: Session, which: Filters | Sequence[int]) -> dict[str, tuple[tuple[str, int], ...]]:
    """How many works there are by year, grade, class, medium, centre, color, size and words: of those that fit
    ``which`` filters, or of those with these ids.
    """
    counted: dict[str, Counter[str]] = {name: Counter() for name in _FACETS}
    colors: Counter[str] = Counter()
    sizes: Counter[str] = Counter()
    said: Counter[str] = Counter()
    spoken = _has(tables.Reflection, literal_column("1") == 1)
    for conditions in _asked_for(which):
        for (column, *names), labels in _GROUPS.items():
            asked = _base(select(func.count(), *labels)).where(*conditions).group_by(column)
            for count, *found in session.execute(asked):
                for name, value in zip(names, found, strict=True):
                    if value is not None:
                        counted[name][value] += count
        counts = [_count(col(_share(color)) >= MOSTLY_PERCENT) for color in COLORS]
        counts += [_count(_of_size(size)) for size in SIZES]
        every, some, *row = session.execute(
            _base(select(func.count(), _count(spoken), *counts)).where(*conditions)
        ).one()
        colors.update(dict(zip(COLORS, row[: len(COLORS)], strict=True)))
        sizes.update(dict(zip(SIZES, row[len(COLORS) :], strict=True)))
        said.update({"with": some, "without": every - some})
    answer = {name: _ordered(name, counts) for name, counts in counted.items()}
    answer["color"] = tuple((color, colors[color]) for color in COLORS if colors[color])
    answer["size"] = tuple((size, sizes[size]) for size in SIZES if sizes[size])
    return answer | {WORDS: tuple((word, said[word]) for word in ("with", "without") if said[word])}


WORDS: Final = "words"
"""The facet that divides all works in two: those with a child's words and those without."""
_FACETS: Final = ("year", "grade", "class_label", "medium", "centre")
_GROUPS: Final[dict[tuple[Any, ...], tuple[Any, ...]]] = {
    (tables.Work.class_id, "year", "grade", "class_label"): (
        tables.SchoolYear.label,
        tables.ClassGroup.grade,
        tables.ClassGroup.label,
    ),
    (tables.Work.medium_id, "medium"): (tables.Medium.label,),
    (tables.Work.centre_id, "centre"): (tables.Centre.label,),
}
"""What works are grouped by, and the facets that each group tells."""


def _count(condition: ColumnElement[bool]) -> ColumnElement[int]:
    """How many rows fit. Not the sum of a yes or no: that comes back as a yes or no."""
    return func.count(case((condition, 1)))


def _asked_for(which: Filters | Sequence[int]) -> Iterator[list[ColumnElement[bool]]]:
    if isinstance(which, Filters):
        yield list(_conditions(which))
        return
    for part in _chunks(which):
        yield [col(tables.Work.id).in_(part)]


def _ordered(name: str, counts: Counter[str]) -> tuple[tuple[str, int], ...]:
    if name == "grade":
        return tuple(sorted(counts.items(), key=lambda pair: GRADES.index(pair[0]) if pair[0] in GRADES else 99))
    if name == "year":
        return tuple(sorted(counts.items(), reverse=True))
    if name == "class_label":
        return tuple(sorted(counts.items()))
    return tuple(sorted(counts.items(), key=lambda pair: (-pair[1], pair[0])))


def words_of(session: Session, work_ids: Iterable[int]) -> dict[int, dict[str, str]]:
    """The searchable words of each work that is (still) there: title, reflection, tags, centre, observation."""
    ids = list(work_ids)
    found: dict[int, dict[str, str]] = {}
    for part in _chunks(ids):
        columns = (col(tables.Work.id), col(tables.Work.title), col(tables.Centre.label))
        asked = _base(select(*columns)).where(col(tables.Work.id).in_(part))
        for key, title, centre in session.execute(asked):
            found[key] = {"title": title, "centre": centre or "", "reflection": "", "tags": "", "observation": ""}
        _join(found, "reflection", session.execute(_texts(tables.Reflection, tables.Reflection.text, part)))
        _join(found, "observation", session.execute(_texts(tables.Observation, tables.Observation.note, part)))
        tags = (
            select(col(tables.WorkTag.work_id), col(tables.Tag.label))
            .join(tables.Tag, col(tables.Tag.id) == col(tables.WorkTag.tag_id))
            .where(col(tables.WorkTag.work_id).in_(part))
        )
        _join(found, "tags", session.execute(tags))
    return found


def _texts(kind: Any, column: Any, ids: Sequence[int]) -> Any:
    return select(kind.work_id, column).where(kind.work_id.in_(ids)).order_by(kind.id)


def _join(found: dict[int, dict[str, str]], name: str, pairs: Iterable[Any]) -> None:
    for work_id, text in pairs:
        if work_id in found and text:
            found[work_id][name] = f"{found[work_id][name]}\n{text}".strip("\n")
