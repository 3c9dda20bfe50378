"""Finding in SQL: filters and order. Words are the search room's; names stay sealed."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from typing import Any

from sqlalchemy import ColumnElement, case, func, literal_column, select
from sqlmodel import Session, col

from portfolio.archive import tables
from portfolio.model.finding import LARGE_OVER_MM, MOSTLY_PERCENT, SMALL_UNDER_MM, Filters, WorkShown

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


def ids_of(session: Session, filters: Filters) -> list[int]:
    """Ids of all works that fit, in no order: for counting, at half of what sorting costs."""
    return list(session.scalars(_base(select(col(tables.Work.id))).where(*_conditions(filters))))


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
        yield mostly(filters.color)
    if filters.size is not None:
        yield of_size(filters.size)
    if filters.from_day is not None:
        yield col(tables.Work.made_on) >= filters.from_day
    if filters.to_day is not None:
        yield col(tables.Work.made_on) <= filters.to_day
    if filters.with_words is not None:
        yield with_words() if filters.with_words else ~with_words()


def mostly(color: str) -> ColumnElement[bool]:
    """Whether a work is mostly of this color."""
    return col(_share(color)) >= MOSTLY_PERCENT


def with_words() -> ColumnElement[bool]:
    """Whether a child said or wrote something about a work."""
    return _has(tables.Reflection, literal_column("1") == 1)


def of_size(size: str) -> ColumnElement[bool]:
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
