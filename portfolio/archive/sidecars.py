"""Sidecars: the records once more, as JSON beside the originals, so that the archive can be rebuilt without its
database.

One file a work (``works/<id>.json``: the work, its makers, views, photos, words and tags), one a photo that belongs
to no work yet (``photos/<id>.json``), and one for everything that is the school's (``school.json``). Rows stand in
them exactly as in the tables. They hold names and are as private as the database. A file is replaced whole (temp,
fsync, rename); which files are due is noted in the transaction that changes the records, so a crash in between is
caught up at the next start.
"""

from __future__ import annotations

import json
import os
from collections.abc import Collection, Iterable, Iterator
from pathlib import Path
from typing import Any

from sqlmodel import Session, SQLModel, col, select

from portfolio.archive import rows, tables
from portfolio.archive.originals import full_disk

FORM = 1
"""Version of the files' layout."""

SCHOOL_TABLES: tuple[type[SQLModel], ...] = (
    tables.Setting,
    tables.SchoolYear,
    tables.Term,
    tables.CalendarDay,
    tables.ClassGroup,
    tables.Slot,
    tables.ClassCard,
    tables.Student,
    tables.StudentAlso,
    tables.Enrolment,
    tables.ReleaseRecord,
    tables.Medium,
    tables.Centre,
    tables.CentreMedium,
    tables.CentreOpening,
    tables.Batch,
    tables.Tag,
    tables.Show,
    tables.Publication,
    tables.Disclosure,
)

WORK_TABLES: tuple[type[SQLModel], ...] = (
    tables.Maker,
    tables.View,
    tables.WorkColor,
    tables.Reflection,
    tables.Observation,
    tables.WorkTag,
    tables.QuestionRow,
    tables.ShowWork,
    tables.PublicationWork,
)
"""Tables whose rows belong to a work by ``work_id``."""

INSERT_ORDER: tuple[type[SQLModel], ...] = (
    *SCHOOL_TABLES[:-2],
    tables.Photo,
    tables.Work,
    tables.Publication,
    tables.Disclosure,
    *WORK_TABLES,
)
"""Every table that can be rebuilt, parents first."""

Bundle = dict[str, list[rows.Row]]


def write_due(session: Session, folder: Path, *, after_seq: int) -> int:
    """Write every sidecar noted after ``after_seq``; gives the last sequence number that is now done."""
    due = session.exec(
        select(tables.SidecarDue).where(col(tables.SidecarDue.seq) > after_seq).order_by(col(tables.SidecarDue.seq))
    ).all()
    units = {(line.unit, line.unit_id) for line in due}
    for unit, unit_id in sorted(units | {work for one in units for work in _works_of(session, *one)}):
        _write(session, folder, unit, unit_id=unit_id)
    return due[-1].seq or after_seq if due else after_seq


def _works_of(session: Session, unit: str, unit_id: int) -> set[tuple[str, int]]:
    """The works whose files speak of a photo."""
    if unit != "photo":
        return set()
    asked = select(tables.View.work_id).where(tables.View.photo_id == unit_id)
    return {("work", key) for key in session.exec(asked).all()}


def _write(session: Session, folder: Path, unit: str, *, unit_id: int) -> None:
    if unit == "photo":
        bundle = {} if _works_of(session, unit, unit_id) else _photo_bundle(session, unit_id)
    elif unit == "work":
        bundle = _work_bundle(session, unit_id)
    else:
        bundle = _school_bundle(session)
    _put(path_of(folder, unit, unit_id), bundle)


def path_of(folder: Path, unit: str, unit_id: int) -> Path:
    """Where a unit's file lies: at most 1,000 files a folder."""
    if unit == "school":
        return folder / "school.json"
    return folder / f"{unit}s" / f"{unit_id // 1000:04d}" / f"{unit_id}.json"


def _school_bundle(session: Session) -> Bundle:
    bundle = {str(kind.__tablename__): _dumped(session, select(kind)) for kind in SCHOOL_TABLES}
    for kind in (tables.Reflection, tables.Observation):  # words that belong to no work (yet)
        bundle[str(kind.__tablename__)] = _dumped(session, select(kind).where(col(kind.work_id).is_(None)))
    loose = (col(tables.QuestionRow.work_id).is_(None), col(tables.QuestionRow.photo_id).is_(None))
    bundle["question"] = _dumped(session, select(tables.QuestionRow).where(*loose))
    return bundle


def _dumped(session: Session, asked: Any) -> list[rows.Row]:
    return [rows.dump(row) for row in session.exec(asked).all()]


def _work_bundle(session: Session, work_id: int) -> Bundle:
    work = session.get(tables.Work, work_id)
    if work is None:
        return {}
    bundle: Bundle = {"work": [rows.dump(work)]}
    for kind in WORK_TABLES:
        found = session.exec(select(kind).where(kind.work_id == work_id)).all()  # type: ignore[attr-defined]
        bundle[str(kind.__tablename__)] = [rows.dump(row) for row in found]
    viewed = {row["photo_id"] for row in bundle["view"]}
    bundle["question"] += _asked_of_photos(session, viewed)
    photo_ids = viewed | {row["photo_id"] for row in bundle["question"]}
    _add_photos(session, bundle, photo_ids - {None})
    return bundle


def _photo_bundle(session: Session, photo_id: int) -> Bundle:
    bundle: Bundle = {}
    _add_photos(session, bundle, {photo_id})
    if not bundle["photo"]:
        return {}
    bundle["question"] = _asked_of_photos(session, {photo_id})
    return bundle


def _asked_of_photos(session: Session, photo_ids: Collection[int]) -> list[rows.Row]:
    """Questions, also answered ones, about photos themselves and not about a work."""
    of_photo = col(tables.QuestionRow.photo_id).in_(list(photo_ids))
    return _dumped(session, select(tables.QuestionRow).where(of_photo, col(tables.QuestionRow.work_id).is_(None)))


def _add_photos(session: Session, bundle: Bundle, photo_ids: Iterable[int]) -> None:
    photos = session.exec(select(tables.Photo).where(col(tables.Photo.id).in_(list(photo_ids)))).all()
    batches = {photo.batch_id for photo in photos}
    found = session.exec(select(tables.Batch).where(col(tables.Batch.id).in_(list(batches)))).all()
    bundle["batch"] = [rows.dump(row) for row in found]
    bundle["photo"] = [rows.dump(row) for row in photos]


def _put(path: Path, bundle: Bundle) -> None:
    if not bundle:
        path.unlink(missing_ok=True)
        return
    with full_disk("A sidecar"):
        path.parent.mkdir(parents=True, exist_ok=True)
        temp = path.with_suffix(".tmp")
        with temp.open("w", encoding="utf-8") as stream:
            json.dump({"form": FORM, "rows": bundle}, stream, ensure_ascii=False, separators=(",", ":"))
            stream.flush()
            os.fsync(stream.fileno())
        temp.replace(path)


def read_all(folder: Path) -> tuple[dict[str, dict[Any, rows.Row]], list[str]]:
    """Every row in the sidecars, by table and primary key, and the names of files that could not be read."""
    found: dict[str, dict[Any, rows.Row]] = {}
    damaged: list[str] = []
    for path in _files(folder):
        try:
            content = json.loads(path.read_text(encoding="utf-8"))
            bundle: Bundle = content["rows"]
        except (ValueError, KeyError, TypeError):
            damaged.append(path.name)
            continue
        for name, lines in bundle.items():
            key = next(iter(SQLModel.metadata.tables[name].primary_key.columns)).key
            found.setdefault(name, {}).update({line[key]: line for line in lines})
    return found, damaged


def _files(folder: Path) -> Iterator[Path]:
    """The school's own file last: it is newer than the copies of a batch in the files of its photos."""
    yield from sorted(folder.rglob("*.json"), key=lambda path: (path == path_of(folder, "school", 0), path))
