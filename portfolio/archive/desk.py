"""Counts and lists that the screens need: what waits, what came last, how much is kept for whom. Only reads."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import func
from sqlmodel import Session, col, select

from portfolio.archive import history, tables


@dataclass(frozen=True, slots=True)
class BatchLine:
    """One batch in a list: how many photos it has and how they stand."""

    batch_id: int
    created_utc: datetime
    source: str
    class_id: int | None
    medium_id: int | None
    day: date | None
    state: str
    expected: int
    states: Mapping[str, int]

    @property
    def photos(self) -> int:
        """Photos that the library holds from this batch."""
        return sum(self.states.values())


def waiting(session: Session) -> Counter[int | None]:
    """Open questions by the class that they are probably about (``None`` = cannot be told)."""
    asked = select(tables.QuestionRow.guess).where(tables.QuestionRow.state == "open")
    return Counter((guess or {}).get("class_id") for guess in session.exec(asked))


def filed_on(session: Session, day: date) -> Mapping[int, int]:
    """Class → works made on a day."""
    asked = (
        select(tables.Work.class_id, func.count())
        .where(tables.Work.made_on == day, col(tables.Work.removed).is_(False))
        .group_by(col(tables.Work.class_id))
    )
    return dict(session.exec(asked).all())


def last_day(session: Session, today: date) -> date | None:
    """The newest day, up to today, on which a kept work was made."""
    asked = select(func.max(tables.Work.made_on)).where(
        col(tables.Work.removed).is_(False), tables.Work.made_on <= today
    )
    return session.exec(asked).one()


def works_of_day(session: Session, day: date, *, limit: int) -> list[int]:
    """Ids of works made on a day, the last filed first."""
    asked = (
        select(tables.Work.id)
        .where(tables.Work.made_on == day, col(tables.Work.removed).is_(False))
        .order_by(col(tables.Work.id).desc())
        .limit(limit)
    )
    return [key for key in session.exec(asked) if key is not None]


def without_words(session: Session, first: date, last: date) -> int:
    """Kept works of these days about which no child has said anything yet."""
    said = select(tables.Reflection.id).where(col(tables.Reflection.work_id) == col(tables.Work.id)).exists()
    asked = select(func.count()).select_from(tables.Work)
    days = (tables.Work.made_on >= first, tables.Work.made_on <= last)
    return session.exec(asked.where(*days, col(tables.Work.removed).is_(False), ~said)).one()


def kept_by_class(session: Session, year_id: int) -> Mapping[int, int]:
    """Class → kept works in a year."""
    asked = (
        select(tables.Work.class_id, func.count())
        .join(tables.ClassGroup, col(tables.ClassGroup.id) == col(tables.Work.class_id))
        .where(tables.ClassGroup.year_id == year_id, col(tables.Work.removed).is_(False))
        .group_by(col(tables.Work.class_id))
    )
    return dict(session.exec(asked).all())


def kept_by_child(session: Session, class_id: int) -> Mapping[int, tuple[int, date]]:
    """Student → how many works kept in a class, and the day of the last one."""
    asked = (
        select(tables.Maker.student_id, func.count(), func.max(tables.Work.made_on))
        .join(tables.Work, col(tables.Work.id) == col(tables.Maker.work_id))
        .where(tables.Work.class_id == class_id, col(tables.Work.removed).is_(False))
        .group_by(col(tables.Maker.student_id))
    )
    return {student: (count, last) for student, count, last in session.exec(asked).all()}


def centres_used(session: Session, student_ids: Collection[int]) -> dict[int, set[int]]:
    """Center → those of these children who have kept a work made there, in any year."""
    asked = (
        select(tables.Work.centre_id, tables.Maker.student_id)
        .join(tables.Maker, col(tables.Maker.work_id) == col(tables.Work.id))
        .where(col(tables.Maker.student_id).in_(list(student_ids)), col(tables.Work.removed).is_(False))
        .where(col(tables.Work.centre_id).is_not(None))
        .distinct()
    )
    found: dict[int, set[int]] = {}
    for centre_id, student_id in session.exec(asked).all():
        found.setdefault(centre_id or 0, set()).add(student_id)
    return found


def works_between(session: Session, first: date, last: date) -> dict[int, Counter[int]]:
    """Class → student → kept works made in these days."""
    asked = (
        select(tables.Work.class_id, tables.Maker.student_id, func.count())
        .join(tables.Maker, col(tables.Maker.work_id) == col(tables.Work.id))
        .where(tables.Work.made_on >= first, tables.Work.made_on <= last, col(tables.Work.removed).is_(False))
        .group_by(col(tables.Work.class_id), col(tables.Maker.student_id))
    )
    found: dict[int, Counter[int]] = {}
    for class_id, student_id, count in session.exec(asked).all():
        found.setdefault(class_id, Counter())[student_id] = count
    return found


def words_between(session: Session, first: date, last: date) -> Counter[int]:
    """Student → reflections said in these days."""
    asked = (
        select(tables.Reflection.student_id, func.count())
        .where(tables.Reflection.said_on >= first, tables.Reflection.said_on <= last)
        .group_by(col(tables.Reflection.student_id))
    )
    return Counter(dict(session.exec(asked).all()))


def kept_in_all(session: Session) -> tuple[int, int, int]:
    """Photos, kept works and reflections in the whole library."""
    works = select(func.count()).select_from(tables.Work).where(col(tables.Work.removed).is_(False))
    return (
        session.exec(select(func.count(func.distinct(tables.Photo.sha256)))).one(),
        session.exec(works).one(),
        session.exec(select(func.count()).select_from(tables.Reflection)).one(),
    )


def batches(session: Session, *, limit: int) -> list[BatchLine]:
    """The newest batches."""
    rows = session.exec(select(tables.Batch).order_by(col(tables.Batch.id).desc()).limit(limit)).all()
    return [_batch(session, row) for row in rows]


def batches_from(session: Session, source: str, *, since_utc: datetime) -> list[BatchLine]:
    """Batches that came in from one source since a moment, the newest first."""
    asked = select(tables.Batch).where(tables.Batch.source == source, col(tables.Batch.created_utc) >= since_utc)
    return [_batch(session, row) for row in session.exec(asked.order_by(col(tables.Batch.id).desc()))]


def _batch(session: Session, row: tables.Batch) -> BatchLine:
    assert row.id is not None
    asked = (
        select(tables.Photo.state, func.count())
        .where(tables.Photo.batch_id == row.id)
        .group_by(col(tables.Photo.state))
    )
    return BatchLine(
        batch_id=row.id,
        created_utc=row.created_utc,
        source=row.source,
        class_id=row.class_id,
        medium_id=row.medium_id,
        day=row.day,
        state=row.state,
        expected=row.expected,
        states=dict(session.exec(asked).all()),
    )


def next_show(session: Session, today: date) -> tuple[int, str, date] | None:
    """The next show that opens: id, title, day."""
    asked = (
        select(tables.Show)
        .where(col(tables.Show.opens_on) >= today)
        .order_by(col(tables.Show.opens_on), col(tables.Show.id))
        .limit(1)
    )
    row = session.exec(asked).first()
    if row is None or row.id is None or row.opens_on is None:
        return None
    return row.id, row.title, row.opens_on


def taken_back_by(session: Session, batch_id: int) -> int | None:
    """The newest action that took this batch back and still stands."""
    return _standing(session, batch_id, "took a batch back")


def sizes_corrected_by(session: Session, batch_id: int) -> int | None:
    """The newest action that corrected the sizes of this batch and still stands."""
    return _standing(session, batch_id, history.SIZES_CORRECTED)


def _standing(session: Session, batch_id: int, what: str) -> int | None:
    asked = (
        select(tables.Action.id)
        .where(tables.Action.batch_id == batch_id, tables.Action.what == what)
        .where(col(tables.Action.undone).is_(False))
        .order_by(col(tables.Action.id).desc())
    )
    return session.exec(asked).first()
