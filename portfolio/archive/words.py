"""Reflections, observations and tags in the records: what children said, what the teacher saw."""

from __future__ import annotations

from collections.abc import Collection
from datetime import UTC, date, datetime

from sqlmodel import Session, col, select

from portfolio.archive import tables
from portfolio.archive.rows import existing
from portfolio.errors import NotFound
from portfolio.model.showing import HeldPlace
from portfolio.model.words import AskedReflection, Observed, Said


def add_reflection(session: Session, said: Said, *, work_id: int | None, held: Collection[HeldPlace]) -> int:
    """Keep what a child said, letter for letter; gives its id. ``work_id`` empty = not matched yet."""
    row = tables.Reflection(
        work_id=work_id,
        student_id=said.student_id,
        text=said.text,
        language=said.language,
        written_by=said.written_by,
        said_on=said.said_on,
        held=[place.as_json() for place in held] or None,
    )
    session.add(row)
    session.flush()
    assert row.id is not None
    return row.id


def has_reflection(session: Session, said: Said) -> bool:
    """Whether this child's very words of that day are kept already (a list that was imported twice)."""
    asked = select(tables.Reflection.id).where(
        col(tables.Reflection.student_id) == said.student_id,
        col(tables.Reflection.said_on) == said.said_on,
        col(tables.Reflection.text) == said.text,
    )
    return session.exec(asked).first() is not None


def works_of_child(session: Session, student_id: int, *, day: date) -> tuple[int, ...]:
    """Works that a child made on a day, in the order they were filed."""
    asked = (
        select(tables.Work.id)
        .join(tables.Maker, col(tables.Maker.work_id) == col(tables.Work.id))
        .where(
            col(tables.Maker.student_id) == student_id,
            col(tables.Work.made_on) == day,
            col(tables.Work.removed).is_(False),
        )
        .order_by(col(tables.Work.id))
    )
    return tuple(key for key in session.exec(asked) if key is not None)


def nearest_works(session: Session, student_id: int, *, day: date, limit: int = 4) -> tuple[int, ...]:
    """The child's works nearest to a day, nearest first: what a reflection without a work may belong to."""
    asked = (
        select(col(tables.Work.id), col(tables.Work.made_on))
        .join(tables.Maker, col(tables.Maker.work_id) == col(tables.Work.id))
        .where(col(tables.Maker.student_id) == student_id, col(tables.Work.removed).is_(False))
    )
    found = [(abs((made_on - day).days), key) for key, made_on in session.exec(asked) if key is not None]
    return tuple(key for _, key in sorted(found)[:limit])


def ask_reflection(
    session: Session, reflection_id: int, *, evidence: str, options: Collection[int], guess: int | None
) -> int:
    """Put "which work is this about?" among the questions; gives the question's id."""
    row = tables.QuestionRow(
        kind="reflection",
        reflection_id=reflection_id,
        evidence=evidence,
        guess=None if guess is None else {"work": guess},
        options=[{"work": key} for key in options],
        asked_utc=datetime.now(UTC),
    )
    session.add(row)
    session.flush()
    assert row.id is not None
    return row.id


def asked_reflection(session: Session, question_id: int) -> AskedReflection:
    """An open question about a reflection."""
    row = session.get(tables.QuestionRow, question_id)
    if row is None or row.kind != "reflection" or row.reflection_id is None:
        raise NotFound("not-found", item=f"Question {question_id}")
    said = session.get(tables.Reflection, row.reflection_id)
    assert said is not None
    return AskedReflection(
        question_id=question_id,
        reflection_id=row.reflection_id,
        student_id=said.student_id,
        text=said.text,
        said_on=said.said_on,
        options=tuple(option["work"] for option in row.options or ()),
        state=row.state,
    )


def settle_reflection(session: Session, asked: AskedReflection, *, work_id: int) -> None:
    """Give a reflection its work and close its question."""
    said = session.get(tables.Reflection, asked.reflection_id)
    row = session.get(tables.QuestionRow, asked.question_id)
    assert said is not None
    assert row is not None
    said.work_id = work_id
    row.work_id = work_id
    row.state = "answered"
    row.answer = {"work": work_id}
    row.answered_utc = datetime.now(UTC)


def reflection_text(session: Session, reflection_id: int) -> str:
    """The words of one reflection."""
    row = existing(session, tables.Reflection, reflection_id, item=f"Reflection {reflection_id}")
    return row.text


def reflections_of(session: Session, work_ids: Collection[int]) -> dict[int, tuple[tuple[int, Said], ...]]:
    """``(id, words)`` of every reflection about these works, oldest first, by work."""
    asked = select(tables.Reflection).where(col(tables.Reflection.work_id).in_(list(work_ids)))
    found: dict[int, tuple[tuple[int, Said], ...]] = {}
    for row in session.exec(asked.order_by(col(tables.Reflection.said_on), col(tables.Reflection.id))):
        assert row.work_id is not None
        assert row.id is not None
        said = Said(row.student_id, row.text, row.said_on, language=row.language, written_by=row.written_by)
        found[row.work_id] = (*found.get(row.work_id, ()), (row.id, said))
    return found


def written_on(session: Session, day: date, *, what: str) -> tuple[tuple[int, int, int, Said], ...]:
    """``(step, id, work, words)`` of reflections of a day that came in by an action called ``what``, newest first.

    The step is the one that takes them back: the newest that put them here, since they may have been brought back.
    """
    asked = (
        select(tables.HistoryLine, tables.Action.what, tables.Reflection)
        .join(tables.Action, col(tables.Action.id) == col(tables.HistoryLine.action_id))
        .join(tables.Reflection, col(tables.Reflection.id) == col(tables.HistoryLine.subject_id))
        .where(tables.HistoryLine.subject == "reflection", tables.Reflection.said_on == day)
        .order_by(col(tables.HistoryLine.id))
    )
    put_by: dict[int, int] = {}
    wanted: dict[int, tuple[int, Said]] = {}
    for line, done, row in session.exec(asked):
        if line.before is None:
            put_by[line.subject_id] = line.action_id
        if done == what and row.work_id is not None:
            wanted[line.subject_id] = row.work_id, Said(row.student_id, row.text, row.said_on, language=row.language)
    return tuple((put_by[key], key, *wanted[key]) for key in sorted(wanted, reverse=True))


def add_observation(session: Session, seen: Observed) -> int:
    """Keep what the teacher saw; gives its id."""
    row = tables.Observation(
        student_id=seen.student_id,
        work_id=seen.work_id,
        class_id=seen.class_id,
        what=seen.what,
        level=seen.level,
        note=seen.note,
        seen_on=seen.seen_on,
    )
    session.add(row)
    session.flush()
    assert row.id is not None
    return row.id


def observations_of(
    session: Session, *, student_id: int | None = None, class_id: int | None = None, work_id: int | None = None
) -> tuple[Observed, ...]:
    """What the teacher saw of a child, in a class or about a work, oldest first."""
    asked = select(tables.Observation).order_by(col(tables.Observation.seen_on), col(tables.Observation.id))
    wanted = {"student_id": student_id, "class_id": class_id, "work_id": work_id}
    for name, value in wanted.items():
        if value is not None:
            asked = asked.where(col(getattr(tables.Observation, name)) == value)
    return tuple(_observed(row) for row in session.exec(asked))


def observations_by_id(session: Session, *, class_id: int, day: date) -> tuple[tuple[int, Observed], ...]:
    """``(id, what was seen)`` in a class on one day, in the order kept."""
    asked = select(tables.Observation).where(tables.Observation.class_id == class_id, tables.Observation.seen_on == day)
    found = session.exec(asked.order_by(col(tables.Observation.id))).all()
    return tuple((row.id, _observed(row)) for row in found if row.id is not None)


def _observed(row: tables.Observation) -> Observed:
    return Observed(
        student_id=row.student_id,
        what=row.what,
        level=row.level,
        seen_on=row.seen_on,
        note=row.note,
        work_id=row.work_id,
        class_id=row.class_id,
    )


def tags_of(session: Session, work_id: int) -> tuple[str, ...]:
    """The tags of a work, by their letters."""
    asked = (
        select(tables.Tag.label)
        .join(tables.WorkTag, col(tables.WorkTag.tag_id) == col(tables.Tag.id))
        .where(col(tables.WorkTag.work_id) == work_id)
    )
    return tuple(sorted(session.exec(asked)))


def set_tags(session: Session, work_id: int, labels: Collection[str]) -> None:
    """Give a work exactly these tags; new words become tags."""
    wanted = {label.strip() for label in labels if label.strip()}
    links = session.exec(select(tables.WorkTag).where(col(tables.WorkTag.work_id) == work_id)).all()
    known = {row.label: row.id for row in session.exec(select(tables.Tag))}
    for label in sorted(wanted - known.keys()):
        row = tables.Tag(label=label)
        session.add(row)
        session.flush()
        known[label] = row.id
    ids = {known[label] for label in wanted}
    for link in links:
        if link.tag_id not in ids:
            session.delete(link)
    there = {link.tag_id for link in links}
    session.add_all(tables.WorkTag(work_id=work_id, tag_id=key) for key in sorted(ids - there, key=str) if key)
