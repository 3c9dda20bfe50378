"""The search outbox: which works must be indexed again. Filled in the transaction that changes them."""

from __future__ import annotations

from sqlalchemy import func
from sqlmodel import Session, select

from portfolio.archive.tables import Outbox


def waiting(session: Session, after_seq: int, *, limit: int = 1000) -> list[tuple[int, int]]:
    """``(seq, work_id)`` of what came after ``after_seq``, oldest first."""
    rows = session.exec(
        select(Outbox).where(Outbox.seq > after_seq).order_by(Outbox.seq).limit(limit)  # type: ignore[operator,arg-type]
    )
    return [(row.seq or 0, row.work_id) for row in rows]


def newest(session: Session) -> int:
    """The highest sequence number given out; 0 when nothing was ever marked."""
    return session.exec(select(func.max(Outbox.seq))).one() or 0
