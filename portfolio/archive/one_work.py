"""Everything the records hold about one work's pictures and its past. Only reads."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from sqlmodel import Session, col, or_, select

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
    measured: bool
    """Its photo could be read and its sides are known: an edge can be set in it."""


@dataclass(frozen=True, slots=True)
class Changed:
    """One fact of a work that an action changed: "title", "medium", "center", "tag"; empty words = there was none."""

    fact: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class ActionSeen:
    """One action that touched a work, with the facts that the teacher can change by hand."""

    action_id: int
    at_utc: datetime
    who: str
    what: str
    undone: bool
    is_undo: bool
    changed: tuple[Changed, ...] = ()


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
            measured=_is_measured(photo),
        )
        for view, photo in session.exec(asked)
    )


def _is_measured(photo: tables.Photo) -> bool:
    was_read = photo.reading is not None and photo.problem_code is None
    return was_read and bool(photo.width_px and photo.height_px)


def actions(session: Session, work_id: int, *, limit: int = 40) -> tuple[ActionSeen, ...]:
    """What happened to a work, its photos, its tags and the words about it, newest first."""
    of_work = views(session, work_id)
    said = list(session.exec(select(tables.Reflection.id).where(tables.Reflection.work_id == work_id)))
    line = tables.HistoryLine
    by_id = (
        ("work", [work_id]),
        ("photo", [one.photo_id for one in of_work]),
        ("view", [one.view_id for one in of_work]),
        ("reflection", said),
    )
    about = or_(
        *((col(line.subject) == subject) & col(line.subject_id).in_(ids) for subject, ids in by_id),
        *((col(line.subject) == subject) & _speaks_of(work_id) for subject in _BESIDE),
    )
    touched = select(col(line.action_id)).where(about).distinct()
    asked = select(tables.Action).where(col(tables.Action.id).in_(touched))
    rows = session.exec(asked.order_by(col(tables.Action.id).desc()).limit(limit)).all()
    changed = _changes(session, work_id, [row.id or 0 for row in rows])
    return tuple(
        ActionSeen(
            row.id or 0,
            row.at_utc,
            row.who,
            row.what,
            row.undone,
            row.undo_of is not None,
            tuple(changed.get(row.id or 0, ())),
        )
        for row in rows
    )


_BESIDE: Final = ("work_tag", "observation")
"""Rows that belong to a work and may be gone by now, so that only the history still knows of which work they were."""


def _speaks_of(work_id: int) -> Any:
    line = tables.HistoryLine
    return or_(*(col(one)["work_id"].as_integer() == work_id for one in (line.before, line.after)))


def _changes(session: Session, work_id: int, action_ids: Sequence[int]) -> dict[int, list[Changed]]:
    """Action → what it changed of the facts that are set by hand, in the words of today's lists."""
    line = tables.HistoryLine
    tags, works = col(line.subject) == "work_tag", col(line.subject) == "work"
    about = (works & (col(line.subject_id) == work_id)) | (tags & _speaks_of(work_id))
    asked = select(line).where(col(line.action_id).in_(action_ids), about).order_by(col(line.id))
    labels = {
        "medium_id": dict(session.exec(select(tables.Medium.id, tables.Medium.label)).all()),
        "centre_id": dict(session.exec(select(tables.Centre.id, tables.Centre.label)).all()),
        "tag_id": _tags_ever(session, action_ids) | dict(session.exec(select(tables.Tag.id, tables.Tag.label)).all()),
    }
    found: dict[int, list[Changed]] = {}
    for row in session.exec(asked):
        before, after = row.before or {}, row.after or {}
        if row.subject == "work" and not (before and after):
            continue  # made or deleted as a whole
        for column, fact in _FACTS[row.subject].items():
            was, now = (_words(labels, column, one.get(column)) for one in (before, after))
            if was != now:
                found.setdefault(row.action_id, []).append(Changed(fact, was, now))
    return found


def _tags_ever(session: Session, action_ids: Sequence[int]) -> dict[int | None, str]:
    """The words of tags that these actions made or deleted: a new tag goes again when its action is undone."""
    line = tables.HistoryLine
    asked = select(line).where(col(line.action_id).in_(action_ids), line.subject == "tag")
    return {row.subject_id: str((row.after or row.before)["label"]) for row in session.exec(asked)}


_FACTS: Final = {
    "work": {"title": "title", "medium_id": "medium", "centre_id": "center"},
    "work_tag": {"tag_id": "tag"},
}


def _words(labels: Mapping[str, Mapping[int | None, str]], column: str, value: Any) -> str:
    if column not in labels or value is None:
        return str(value or "")
    return labels[column].get(value, "one that is no longer in the list")


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
