"""Everything the records hold about one work's pictures and its past. Only reads."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session, col, select

from portfolio.archive import tables
from portfolio.archive.rows import existing
from portfolio.model.finding import COLORS, MOSTLY_PERCENT


@dataclass(frozen=True, slots=True)
class ViewSeen:
    """One view of a work with its photo."""

    view_id: int
    photo_id: int
    role: str
    derived_key: str | None
    reason: str
    taken_local: datetime | None
    file_name: str
    size_bytes: int


@dataclass(frozen=True, slots=True)
class ActionSeen:
    """One action that touched a work."""

    action_id: int
    at_utc: datetime
    who: str
    what: str
    undone: bool
    is_undo: bool


def views(session: Session, work_id: int) -> tuple[ViewSeen, ...]:
    """The views of a work, the main one first."""
    asked = (
        select(tables.View, tables.Photo)
        .join(tables.Photo, col(tables.Photo.id) == col(tables.View.photo_id))
        .where(tables.View.work_id == work_id)
        .order_by(col(tables.View.role) != "front", col(tables.View.position), col(tables.View.id))
    )
    return tuple(
        ViewSeen(
            view_id=view.id or 0,
            photo_id=view.photo_id,
            role=view.role,
            derived_key=view.derived_key,
            reason=photo.reason or "",
            taken_local=photo.taken_local,
            file_name=photo.file_name,
            size_bytes=photo.size_bytes,
        )
        for view, photo in session.exec(asked)
    )


def actions(session: Session, work_id: int, *, limit: int = 40) -> tuple[ActionSeen, ...]:
    """What happened to a work and its photos, newest first."""
    photos = [one.photo_id for one in views(session, work_id)]
    said = list(session.exec(select(tables.Reflection.id).where(tables.Reflection.work_id == work_id)))
    line = tables.HistoryLine
    about = (
        ((col(line.subject) == "work") & (col(line.subject_id) == work_id))
        | ((col(line.subject) == "photo") & col(line.subject_id).in_(photos))
        | ((col(line.subject) == "reflection") & col(line.subject_id).in_(said))
    )
    touched = select(col(line.action_id)).where(about).distinct()
    asked = select(tables.Action).where(col(tables.Action.id).in_(touched))
    rows = session.exec(asked.order_by(col(tables.Action.id).desc()).limit(limit)).all()
    return tuple(
        ActionSeen(row.id or 0, row.at_utc, row.who, row.what, row.undone, row.undo_of is not None) for row in rows
    )


def mostly(session: Session, work_id: int) -> tuple[str, ...]:
    """The colors that a work is mostly in, the most of it first."""
    row = session.get(tables.WorkColor, work_id)
    if row is None:
        return ()
    shares = [(getattr(row, color), color) for color in COLORS]
    return tuple(color for share, color in sorted(shares, key=lambda one: -one[0]) if share >= MOSTLY_PERCENT)


@dataclass(frozen=True, slots=True)
class PhotoFile:
    """What is needed to send a photo's original: its digest, its own name and its kind."""

    sha256: str
    file_name: str
    was_read: bool
    """The guarded reader has opened it without trouble."""


def photo_file(session: Session, photo_id: int) -> PhotoFile:
    """The original behind a photo."""
    row = existing(session, tables.Photo, photo_id, item=f"Photo {photo_id}")
    return PhotoFile(row.sha256, row.file_name, row.reading is not None and row.problem_code is None)
