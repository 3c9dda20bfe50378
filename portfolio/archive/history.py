"""History writes itself: whatever a transaction changes through the session is kept as before and after.

So every change can be told ("who, when, what, from which photo") and every action can be undone as a whole.
"""

from __future__ import annotations

from collections.abc import Collection
from typing import Any

from sqlalchemy import Connection, event, func, insert, inspect
from sqlalchemy.exc import IntegrityError
from sqlmodel import Session, SQLModel, col, select

from portfolio.archive import rows
from portfolio.archive.tables import Action, HistoryLine, Outbox, SidecarDue, Work
from portfolio.errors import Refused

UNTOLD = frozenset({"action", "history_line", "outbox", "sidecar_due", "account", "sign_in", "setup_code"})
"""Tables without history: the history itself, queues, and everything about signing in."""

SEARCHED = frozenset({"work", "reflection", "observation", "work_tag"})
"""Tables whose rows hold words that can be searched: their works go into the outbox by themselves."""


def record(session: Session, action_id: int) -> None:
    """From now on, every flush of ``session`` adds its history lines and sidecar notes to ``action_id``."""

    @event.listens_for(session, "after_flush")
    def _after_flush(flushed: Session, _context: Any) -> None:
        lines = [line for line in _lines(flushed) if line is not None]
        if not lines:
            return
        connection = flushed.connection()
        connection.execute(insert(HistoryLine), [{"action_id": action_id, **line} for line in lines])
        due = {unit for line in lines for unit in _units(line)}
        connection.execute(insert(SidecarDue), [{"unit": unit, "unit_id": key} for unit, key in sorted(due)])
        searched = sorted({work for line in lines for work in _searched_works(line)} | _of_renamed(connection, lines))
        if searched:
            connection.execute(insert(Outbox), [{"work_id": work} for work in searched])


def _of_renamed(connection: Connection, lines: list[dict[str, Any]]) -> set[int]:
    """Works of a center whose name changed: they are found by it."""
    told = [one for one in lines if one["subject"] == "centre" and one["before"] and one["after"]]
    renamed = [one["subject_id"] for one in told if one["before"]["label"] != one["after"]["label"]]
    asked = select(Work.id).where(col(Work.centre_id).in_(renamed))
    return set(connection.execute(asked).scalars()) if renamed else set()


def _lines(session: Session) -> list[dict[str, Any] | None]:
    new = [_line(row, None, rows.dump(row)) for row in session.new]
    changed = [_line(row, _before(row), rows.dump(row)) for row in session.dirty if session.is_modified(row)]
    gone = [_line(row, rows.dump(row), None) for row in session.deleted]
    return new + changed + gone


def _line(row: Any, before: rows.Row | None, after: rows.Row | None) -> dict[str, Any] | None:
    name = rows.table_of(row).name
    if name in UNTOLD or before == after:
        return None
    whole = after or before or {}
    key = inspect(row).identity or inspect(row).mapper.primary_key_from_instance(row)
    photo_id = whole["id"] if name == "photo" else whole.get("photo_id")
    return {
        "subject": name,
        "subject_id": key[0] if isinstance(key[0], int) else 0,
        "photo_id": photo_id,
        "before": before,
        "after": after,
    }


def _before(row: Any) -> rows.Row:
    found = rows.dump(row)
    for attribute in inspect(row).attrs:
        if attribute.history.deleted:
            found[attribute.key] = rows.plain(attribute.history.deleted[0])
        elif attribute.history.added:  # was never loaded, so the old value was empty
            found[attribute.key] = None
    return found


def _units(line: dict[str, Any]) -> set[tuple[str, int]]:
    """Which sidecars a changed row belongs to: its work's, its photo's, or the school's own."""
    if line["subject"] in ("work", "photo"):
        return {(line["subject"], line["subject_id"])}
    found = set()
    for row in filter(None, (line["before"], line["after"])):
        of_work = {("work", row["work_id"])} if row.get("work_id") else set()
        of_photo = {("photo", row["photo_id"])} if row.get("photo_id") else set()
        found |= of_work | of_photo or {("school", 0)}
    return found


def undo(session: Session, action_id: int, *, undoing_id: int) -> list[int]:
    """Put back everything that ``action_id`` changed, newest line first; gives the ids of the works touched.

    ``undoing_id`` is the action that does it (its own history allows the undo to be undone). Refuses, with nothing
    changed, when something was changed again afterwards.
    """
    action = rows.existing(session, Action, action_id, item=f"Step {action_id}")
    if action.undone:
        raise Refused("cannot-undo", item=f"Step {action_id}", found="it was undone before")
    if action.what == ORIGINAL_CAME:
        raise Refused("cannot-undo", item=f"Step {action_id}", found="the original is there now")
    lines = session.exec(
        select(HistoryLine).where(HistoryLine.action_id == action_id).order_by(HistoryLine.id.desc())  # type: ignore[union-attr]
    ).all()
    try:
        for line in lines:
            _put_back(session, line)
            session.flush()
    except IntegrityError as error:
        raise Refused(
            "cannot-undo", item=f"Step {action_id}", found="something that came later depends on it"
        ) from error
    action.undone = True
    undoing = session.get(Action, undoing_id)
    if undoing is not None:
        undoing.undo_of = action_id
    return sorted({work for line in lines for work in _works(line)})


def tell(session: Session, action_id: int, what: str) -> None:
    """Say what an action was, where that only shows while it is done."""
    session.get_one(Action, action_id).what = what


def _put_back(session: Session, line: HistoryLine) -> None:
    kind = rows.class_of(line.subject)
    key = line.subject_id or (line.after or line.before)["key"]
    now = session.get(kind, key)
    told = _told(line.subject, line.after or {})
    if line.after is not None and (now is None or _told(line.subject, rows.dump(now)) != told):
        raise Refused("cannot-undo", item=f"Step {line.action_id}", found="it was changed again afterwards")
    if line.before is None:
        session.delete(now)
    elif line.after is None:
        session.add(rows.load(line.subject, line.before))
    else:
        _restore(now, line)


def _told(subject: str, row: rows.Row) -> rows.Row:
    """A row without what changes by itself when an original arrives: that is nobody's step and is never put back."""
    return {name: value for name, value in row.items() if subject != "photo" or name not in ARRIVES}


def _restore(now: SQLModel | None, line: HistoryLine) -> None:
    for name, value in line.before.items():
        if value != line.after[name]:
            setattr(now, name, rows.typed(line.subject, name, value))


def _searched_works(line: dict[str, Any]) -> set[int]:
    if line["subject"] not in SEARCHED:
        return set()
    return {key for unit, key in _units(line) if unit == "work"}


def _works(line: HistoryLine) -> set[int]:
    told = {"subject": line.subject, "subject_id": line.subject_id, "before": line.before, "after": line.after}
    return {key for unit, key in _units(told) if unit == "work"}


ORIGINAL_CAME = "received an original"
ARRIVES = frozenset({"sha256", "size_bytes", "coming"})
"""Columns of a photo that change when its original takes the place of its stand-in."""
SIZES_CORRECTED = "corrected the sizes of a batch"
OBSERVED = "noted what she saw"
CENTER_OPENED = "opened a center"
UNDOABLE = frozenset(
    {
        "filed a photo",
        "answered a question",
        "set the edge of a work",
        "hid a part of a work",
        "showed a hidden part of a work",
        "matched what a child said",
        "took a batch back",
        "described a work",
        "took a work out",
        SIZES_CORRECTED,
        OBSERVED,
        CENTER_OPENED,
    }
)
"""Steps that "undo" without a number means; looking, storing and asking are not steps of the teacher."""


def newest_to_undo(session: Session) -> int | None:
    """The newest step that can be undone and was not."""
    asked = select(Action.id).where(col(Action.what).in_(UNDOABLE), col(Action.undone).is_(False))
    return session.exec(asked.order_by(col(Action.id).desc())).first()


def made_by(session: Session, subject: str, keys: Collection[int]) -> dict[int, int]:
    """Row → the action that made it, for rows of one table (``subject``)."""
    asked = (
        select(HistoryLine.subject_id, func.min(HistoryLine.action_id))
        .where(HistoryLine.subject == subject, col(HistoryLine.subject_id).in_(list(keys)))
        .group_by(col(HistoryLine.subject_id))
    )
    return dict(session.exec(asked).all())


def newest_line(session: Session) -> int:
    """The number of the newest change to any record; 0 when there was none. Costs 0.1 ms, however many there are."""
    return session.exec(select(func.max(HistoryLine.id))).one() or 0


def works_changed(session: Session, subjects: Collection[str], *, after: int) -> set[int]:
    """Works of which a row in one of these tables (``subjects``) was changed after this line."""
    newer = col(HistoryLine.id) > after
    lines = session.exec(select(HistoryLine).where(newer, col(HistoryLine.subject).in_(list(subjects))))
    return {work for line in lines for work in _works(line)}


def step_of(session: Session, action_id: int, *, who: str) -> int | None:
    """The batch of an action; ``None`` when it was another's action, or of no batch."""
    found = session.get(Action, action_id)
    return found.batch_id if found is not None and found.who == who else None


def photos_changed(session: Session, action_id: int) -> tuple[int, ...]:
    """Photos that an action changed, by id."""
    asked = select(HistoryLine.subject_id).where(HistoryLine.action_id == action_id, HistoryLine.subject == "photo")
    return tuple(sorted(set(session.exec(asked))))


def step(session: Session, action_id: int) -> tuple[str, bool] | None:
    """What a step of the teacher's did, and whether it was undone; ``None`` when there is none by this number."""
    found = session.get(Action, action_id)
    return None if found is None or found.who != "teacher" else (found.what, found.undone)
