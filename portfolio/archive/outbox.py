"""The search outbox: which works must be indexed again. Filled in the transaction that changes them."""

from __future__ import annotations

from collections.abc import Iterable

from sqlalchemy import func
from sqlmodel import Session, select

from portfolio.archive.tables import Outbox


def mark(session: Session, work_ids: Iterable[int]) -> None:
    """Ask for these works to be indexed again."""
    session.add_all(Outbox(work_id=work_id) for work_id in sorted(set(work_ids)))


def waiting(session: Session, after_seq: int, *, limit: int = 1000) -> list[tuple[int, int]]:
    """``(seq, work_id)`` of what came after ``after_seq``, oldest first."""
    rows = session.exec(
        select(Outbox).where(Outbox.seq > after_seq).order_by(Outbox.seq).limit(limit)  # type: ignore[operator,arg-type]
    )
    return [(row.seq or 0, row.work_id) for row in rows]


def newest(session: Session) -> int:
    """The highest sequence number given out; 0 when nothing was ever marked."""
    return session.exec(select(func.max(Outbox.seq))).one() or 0
