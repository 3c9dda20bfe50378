"""Look after a library: check it, and rebuild its records from the sidecars when the database is gone."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, insert, text
from sqlalchemy.exc import DatabaseError
from sqlmodel import Session, SQLModel, col, select

from portfolio.archive import migrate, rows, sidecars, tables
from portfolio.archive.engines import make_engine
from portfolio.archive.library import DATABASE, Library
from portfolio.archive.lock import LibraryLock
from portfolio.archive.originals import Originals
from portfolio.archive.photos import FOUND_AGAIN
from portfolio.errors import LibraryError, Problem


@dataclass(frozen=True, slots=True)
class Health:
    """What a check found. ``problems`` is empty when all is well."""

    works: int
    photos: int
    originals: int
    problems: tuple[Problem, ...] = ()


@dataclass(frozen=True, slots=True)
class Rebuilt:
    """What a rebuild brought back. ``recovered`` = originals that no sidecar spoke of; they will be read again."""

    rows: dict[str, int] = field(default_factory=dict)
    recovered: int = 0
    left_out: int = 0
    damaged: tuple[str, ...] = ()


def check(library: Library, *, whole: bool = False) -> Health:
    """Check records against originals; ``whole`` also re-reads every original's bytes."""
    with library.reading() as session:
        problems = [Problem("library-damaged", "The library", word) for word in _database_words(session)]
        known = dict(session.exec(select(tables.Photo.sha256, tables.Photo.id)).all())
        works = len(session.exec(select(tables.Work.id)).all())
    stored = set(library.originals.all())
    known = {sha: key for sha, key in known.items() if not library.stand_ins.has(sha)}
    missing = sorted(set(known) - stored, key=lambda sha: known[sha] or 0)
    problems += [Problem("original-missing", f"photo {known[sha]}") for sha in missing]
    problems += [Problem("original-unknown", f"An original ({sha[:8]})") for sha in sorted(stored - set(known))]
    if whole:
        for sha in sorted(stored & set(known)):
            if code := library.originals.verify(sha):
                problems.append(Problem(code, f"photo {known[sha]}"))
    return Health(works, len(known), len(stored), tuple(problems))


def _database_words(session: Session) -> list[str]:
    try:
        found = [str(row[0]) for row in session.execute(text("PRAGMA integrity_check")) if row[0] != "ok"]
        found += [f"a row of {row[0]} points nowhere" for row in session.execute(text("PRAGMA foreign_key_check"))]
    except DatabaseError as error:
        return [type(error.orig).__name__]
    return found


def rebuild(folder: Path) -> Rebuilt:
    """Make a new database from the sidecars. The old one is kept beside it under another name.

    History starts anew; everything else that a sidecar holds comes back with its own id. Originals without a
    sidecar are recorded as stored, so that they are read again.
    """
    if not (folder / "sidecars").is_dir():
        raise LibraryError("library-missing")
    lock = LibraryLock(folder)
    lock.take()
    try:
        found, damaged = sidecars.read_all(folder / "sidecars")
        _set_aside(folder)
        engine = make_engine(folder / DATABASE, write=True)
        migrate.to_head(engine)
        with engine.begin() as connection:
            kept, left_out = _insert(connection, found)
            recovered = _recover(connection, folder, found)
        engine.dispose()
    finally:
        lock.release()
    return Rebuilt(kept, recovered, left_out, tuple(damaged))


def _set_aside(folder: Path) -> None:
    stamp = datetime.now(UTC).strftime("%Y%m%dT%H%M%S%f")
    for name in (DATABASE, f"{DATABASE}-wal", f"{DATABASE}-shm"):
        path = folder / name
        if path.exists():
            path.rename(folder / f"{name}.before-{stamp}")
    (folder / DATABASE).touch(mode=0o600)


def _insert(connection: Connection, found: dict[str, dict[Any, rows.Row]]) -> tuple[dict[str, int], int]:
    present: dict[str, set[Any]] = {}
    left_out = 0
    for kind in sidecars.INSERT_ORDER:
        table = SQLModel.metadata.tables[str(kind.__tablename__)]
        lines = list(found.get(table.name, {}).values())
        whole = [line for line in lines if _parents_there(table, line, present)]
        left_out += len(lines) - len(whole)
        key = next(iter(table.primary_key.columns)).key
        present[table.name] = {line[key] for line in whole}
        if whole:
            known = {column.key for column in table.columns}
            values = [
                _later_columns(table)
                | {name: rows.typed(table.name, name, value) for name, value in line.items() if name in known}
                for line in whole
            ]
            connection.execute(insert(table), values)
    works = [{"work_id": key} for key in sorted(present["work"])]
    if works:
        connection.execute(insert(tables.Outbox), works)
    _number_actions_on(connection, found)
    return {name: len(keys) for name, keys in present.items() if keys}, left_out


def _later_columns(table: Any) -> rows.Row:
    """What stands in columns that an older sidecar may not have."""
    return {
        column.key: column.default.arg
        for column in table.columns
        if column.server_default is not None and column.default is not None
    }


def _number_actions_on(connection: Connection, found: dict[str, dict[Any, rows.Row]]) -> None:
    """History starts anew, but photos still name the action that filed them: no new action may get such a number, or
    settling an old batch again would undo a step that has nothing to do with it.
    """
    told = [(line.get("decision") or {}).get("action") or 0 for line in found.get("photo", {}).values()]
    values = {"last": max(told, default=0)}
    connection.execute(text("INSERT INTO sqlite_sequence (name, seq) VALUES ('action', :last)"), values)


def _parents_there(table: Any, line: rows.Row, present: dict[str, set[Any]]) -> bool:
    for column in table.columns:
        for foreign in column.foreign_keys:
            parent = foreign.column.table.name
            value = line.get(column.key)
            if value is not None and parent in present and value not in present[parent]:
                return False
    return True


def _recover(connection: Connection, folder: Path, found: dict[str, dict[Any, rows.Row]]) -> int:
    known = {line["sha256"] for line in found.get("photo", {}).values()}
    store = Originals(folder / "originals")
    store.prepare()
    orphans = sorted(set(store.all()) - known)
    if orphans:
        now = datetime.now(UTC)
        with Session(connection) as session:
            batch = tables.Batch(created_utc=now, source="recovered", expected=len(orphans))
            session.add(batch)
            session.flush()
            session.add_all(
                tables.Photo(
                    sha256=sha,
                    batch_id=batch.id or 0,
                    position=place,
                    file_name=f"{FOUND_AGAIN}{place + 1}",
                    size_bytes=store.path(sha).stat().st_size,
                    stored_utc=now,
                )
                for place, sha in enumerate(orphans)
            )
            session.flush()
    return len(orphans)


def photos_waiting(session: Session) -> int:
    """How many photos are stored but not read yet."""
    return len(session.exec(select(tables.Photo.id).where(col(tables.Photo.state) == "stored")).all())
