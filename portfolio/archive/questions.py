"""Questions in the records: what is asked, what the teacher answered."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from sqlmodel import Session, col, select

from portfolio.archive import tables
from portfolio.archive.rows import existing
from portfolio.errors import Refused
from portfolio.model.filing import Asked, QuestionKind

OPEN = ("open", "later")


@dataclass(frozen=True, slots=True)
class QuestionKept:
    """One question. ``guess`` and ``options`` are filings as JSON (or ``{"work": id}`` for words, a crop for crops)."""

    question_id: int
    kind: str
    evidence: str
    state: str
    guess: dict[str, Any] | None
    options: tuple[dict[str, Any], ...]
    batch_id: int | None = None
    photo_id: int | None = None
    work_id: int | None = None
    reflection_id: int | None = None
    group: str | None = None
    beside: tuple[int, ...] = ()


def ask(session: Session, asked: Asked, *, batch_id: int, photo_id: int) -> int:
    """Put a question of filing; gives its id."""
    row = tables.QuestionRow(
        kind=asked.kind.value,
        batch_id=batch_id,
        photo_id=photo_id,
        evidence=asked.evidence,
        guess=asked.guess.as_json(),
        options=[one.as_json() for one in asked.options],
        group_key=asked.group,
        beside=list(asked.beside) or None,
        asked_utc=datetime.now(UTC),
    )
    return _added(session, row)


def ask_crop(
    session: Session,
    crop: dict[str, Any],
    *,
    batch_id: int,
    photo_id: int,
    work_id: int,
    evidence: str,
    group: str | None = None,
) -> int:
    """Ask whether the edge that was found is right; the work is filed and shown as taken until then."""
    row = tables.QuestionRow(
        kind="crop",
        batch_id=batch_id,
        photo_id=photo_id,
        work_id=work_id,
        evidence=evidence,
        guess=crop,
        group_key=group,
        asked_utc=datetime.now(UTC),
    )
    return _added(session, row)


def _added(session: Session, row: tables.QuestionRow) -> int:
    session.add(row)
    session.flush()
    assert row.id is not None
    return row.id


def question(session: Session, question_id: int) -> QuestionKept:
    """One question, open or not."""
    return _kept(_row(session, question_id))


def questions(session: Session, *, batch_id: int | None = None) -> list[QuestionKept]:
    """All that wait: open ones in the order asked, then those put off."""
    asked = select(tables.QuestionRow).where(col(tables.QuestionRow.state).in_(OPEN))
    if batch_id is not None:
        asked = asked.where(col(tables.QuestionRow.batch_id) == batch_id)
    order = (col(tables.QuestionRow.state) == "later", col(tables.QuestionRow.id))
    return [_kept(row) for row in session.exec(asked.order_by(*order))]


def same_group(session: Session, kept: QuestionKept) -> list[QuestionKept]:
    """The question itself and all that wait in its batch with the same group, in the order asked."""
    if kept.group is None:
        return [kept]
    waiting = questions(session, batch_id=kept.batch_id)
    return sorted((one for one in waiting if one.group == kept.group), key=lambda one: one.question_id)


def about_edge(session: Session, photo_id: int) -> list[int]:
    """The questions about this photo's edge that wait."""
    asked = select(tables.QuestionRow.id).where(
        tables.QuestionRow.photo_id == photo_id,
        tables.QuestionRow.kind == QuestionKind.CROP.value,
        col(tables.QuestionRow.state).in_(OPEN),
    )
    return [key for key in session.exec(asked) if key is not None]


def answer(session: Session, question_id: int, given: dict[str, Any]) -> None:
    """Close a question. One that is closed already is refused: two tabs may show the same one."""
    row = _row(session, question_id)
    if row.state not in OPEN:
        raise Refused("already-answered", item=f"Question {question_id}")
    row.state, row.answer, row.answered_utc = "answered", given, datetime.now(UTC)


def put_off(session: Session, question_id: int) -> None:
    """Ask later: it goes behind the others."""
    row = _row(session, question_id)
    if row.state not in OPEN:
        raise Refused("already-answered", item=f"Question {question_id}")
    row.state = "later"


def close_of_photo(session: Session, photo_id: int) -> None:
    """Nothing is asked about this photo any more (it was taken back or set aside)."""
    asked = select(tables.QuestionRow).where(tables.QuestionRow.photo_id == photo_id)
    for row in session.exec(asked.where(col(tables.QuestionRow.state).in_(OPEN))):
        row.state = "gone"


def _row(session: Session, question_id: int) -> tables.QuestionRow:
    return existing(session, tables.QuestionRow, question_id, item=f"Question {question_id}")


def _kept(row: tables.QuestionRow) -> QuestionKept:
    assert row.id is not None
    return QuestionKept(
        question_id=row.id,
        kind=row.kind,
        evidence=row.evidence,
        state=row.state,
        guess=row.guess,
        options=tuple(row.options or ()),
        batch_id=row.batch_id,
        photo_id=row.photo_id,
        work_id=row.work_id,
        reflection_id=row.reflection_id,
        group=row.group_key,
        beside=tuple(row.beside or ()),
    )
