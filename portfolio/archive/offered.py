"""Media and centers as lists that the teacher keeps: their order, what is offered, what may be deleted."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Final

from sqlalchemy import func
from sqlmodel import Session, col, select

from portfolio.archive import tables
from portfolio.archive.rows import existing
from portfolio.errors import Refused


@dataclass(frozen=True, slots=True)
class Kind:
    """One of the two lists: its word, its table, the works' column, the batches' column, and what goes with a row."""

    word: str
    table: Any
    of_work: Any
    of_batch: Any
    belongings: tuple[tuple[Any, Any], ...]


MEDIA: Final = Kind(
    "medium",
    tables.Medium,
    tables.Work.medium_id,
    tables.Batch.medium_id,
    ((tables.CentreMedium, tables.CentreMedium.medium_id),),
)
CENTRES: Final = Kind(
    "center",
    tables.Centre,
    tables.Work.centre_id,
    tables.Batch.centre_id,
    (
        (tables.CentreMedium, tables.CentreMedium.centre_id),
        (tables.CentreOpening, tables.CentreOpening.centre_id),
    ),
)


def in_order(session: Session, kind: Kind) -> list[int]:
    """The ids in the teacher's order, those that are offered first."""
    order = (col(kind.table.active).desc(), col(kind.table.position), col(kind.table.id))
    return list(session.exec(select(kind.table.id).order_by(*order)).all())


def put_in_order(session: Session, kind: Kind, ids: Iterable[int]) -> None:
    """Put the list into this order."""
    for position, key in enumerate(ids):
        _row(session, kind, key).position = position
    session.flush()


def offer(session: Session, kind: Kind, key: int, *, active: bool) -> None:
    """Retire one (works keep it), or offer it again."""
    _row(session, kind, key).active = active
    session.flush()


def kept_works(session: Session, kind: Kind) -> Counter[int]:
    """How many works each one has; those that were taken out do not count."""
    return _counted(session, kind.of_work, col(tables.Work.removed).is_(False))


def spoken_of(session: Session, kind: Kind) -> Counter[int]:
    """How often each one is spoken of by a work or a batch, also by works that were taken out."""
    return _counted(session, kind.of_work) + _counted(session, kind.of_batch)


def remove(session: Session, kind: Kind, key: int) -> None:
    """Delete one that no work or batch speaks of, with what belongs to it. Refuses one that is in use."""
    row = _row(session, kind, key)
    if spoken_of(session, kind)[key]:
        raise Refused("in-use", item=f"The {kind.word} {row.label}")
    for table, column in kind.belongings:
        for belonging in session.exec(select(table).where(column == key)).all():
            session.delete(belonging)
    session.flush()
    session.delete(row)
    session.flush()


def _row(session: Session, kind: Kind, key: int) -> Any:
    return existing(session, kind.table, key, item=f"{kind.word.capitalize()} {key}")


def _counted(session: Session, column: Any, *conditions: Any) -> Counter[int]:
    asked = select(column, func.count()).where(col(column).is_not(None), *conditions).group_by(column)
    return Counter(dict(session.exec(asked).all()))
