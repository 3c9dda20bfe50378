"""The library on disk: records, originals, sidecars, and the two doors to them, reading and writing.

``library/`` holds ``portfolio.db`` · ``originals/ab/<sha256>`` · ``sidecars/`` · ``derived/`` and ``index/`` (can be
deleted) · ``arriving/`` (files on their way) · ``stand-ins/`` (small pictures of them) · ``published/`` ·
``portfolio.toml`` · ``library.lock``.
"""

from __future__ import annotations

import contextlib
import threading
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType
from typing import Self

from sqlalchemy import Engine, delete
from sqlalchemy.exc import DatabaseError, OperationalError
from sqlmodel import Session as Session  # noqa: PLC0414  flows name the session's type; SQL stays in archive

from portfolio.archive import history, migrate, settings, sidecars
from portfolio.archive.arriving import Arriving
from portfolio.archive.engines import make_engine
from portfolio.archive.facets import Facets
from portfolio.archive.lock import LibraryLock
from portfolio.archive.originals import Originals
from portfolio.archive.settings import Settings
from portfolio.archive.tables import Action, SidecarDue
from portfolio.errors import DiskError, LibraryError

DATABASE = "portfolio.db"


@dataclass(frozen=True, slots=True)
class Writing:
    """An open transaction: the session, and the action that its history lines belong to."""

    session: Session
    action_id: int


class Library:
    """One open library. Only ``flows`` open transactions on it; see :meth:`reading` and :meth:`writing`."""

    def __init__(self, folder: Path, *, write: bool) -> None:
        self.folder = folder
        self.settings: Settings = settings.load(folder)
        self.originals = Originals(folder / "originals")
        self.arriving = Arriving(folder / "arriving")
        self.stand_ins = Originals(folder / "stand-ins")
        self.sidecars = folder / "sidecars"
        self.derived = folder / "derived"
        self.index = folder / "index"
        self.published = folder / "published"
        self.facets = Facets()
        self._lock = LibraryLock(folder) if write else None
        self._reader: Engine = make_engine(folder / DATABASE, write=False)
        self._writer: Engine | None = make_engine(folder / DATABASE, write=True) if write else None
        self._writing = threading.Lock()
        self._sidecars_done = 0

    @classmethod
    def create(cls, folder: Path) -> Library:
        """Make an empty library in ``folder`` (made if missing) and open it for writing."""
        if (folder / DATABASE).exists():
            raise LibraryError("library-exists")
        folder.mkdir(parents=True, exist_ok=True)
        settings.save(folder, Settings())
        (folder / DATABASE).touch(mode=0o600)
        return cls.open(folder)

    @classmethod
    def open(cls, folder: Path, *, write: bool = True) -> Library:
        """Open a library. For writing it takes the lock, migrates, clears what a crash left, and catches up."""
        if not (folder / DATABASE).is_file():
            raise LibraryError("library-missing")
        library = cls(folder, write=write)
        try:
            library._start()
        except BaseException:
            library.close()
            raise
        return library

    def _start(self) -> None:
        try:
            if self._lock is None or self._writer is None:
                with self._reader.connect() as connection:
                    if migrate.version(connection) != migrate.head():
                        raise LibraryError("library-newer", found="another schema; open it once for writing")
                return
            self._lock.take()
            for folder in (self.sidecars, self.derived, self.index, self.published):
                folder.mkdir(exist_ok=True)
            self.originals.prepare()
            self.stand_ins.prepare()
            self.arriving.sweep(now=datetime.now(UTC))
            migrate.to_head(self._writer)
            self._write_sidecars()
        except DatabaseError as error:
            raise _damaged(error) from error

    @contextlib.contextmanager
    def reading(self) -> Iterator[Session]:
        """A read-only session on one snapshot."""
        with Session(self._reader, expire_on_commit=False) as session:
            yield session

    @contextlib.contextmanager
    def writing(self, *, who: str, what: str, batch_id: int | None = None) -> Iterator[Writing]:
        """One transaction for one teacher action. Commits on a clean exit, else nothing happened.

        History lines, search outbox and sidecar notes are captured by themselves. An action that changed nothing
        still leaves its line, so that it can be told.
        """
        if self._writer is None:
            raise LibraryError("library-in-use", found="opened for reading only")
        with self._writing:
            try:
                with Session(self._writer, expire_on_commit=False) as session:
                    session.execute(delete(SidecarDue).where(SidecarDue.seq <= self._sidecars_done))  # type: ignore[arg-type,operator]
                    action = Action(at_utc=datetime.now(UTC), who=who, what=what, batch_id=batch_id)
                    session.add(action)
                    session.flush()
                    assert action.id is not None
                    history.record(session, action.id)
                    yield Writing(session, action.id)
                    session.commit()
            except OperationalError as error:
                if "full" in str(error.orig):
                    raise DiskError("disk-full", item="The record") from error
                if "readonly" in str(error.orig) or "I/O" in str(error.orig):
                    raise DiskError("disk-unwritable", found=str(error.orig)) from error
                raise
            self._write_sidecars()

    def photo_path(self, sha256: str) -> Path:
        """The file behind a photo: its original, or the stand-in for one that is still on its way."""
        original = self.originals.path(sha256)
        return original if original.is_file() else self._stand_in(sha256) or original

    def _stand_in(self, sha256: str) -> Path | None:
        return self.stand_ins.path(sha256) if self.stand_ins.has(sha256) else None

    def _write_sidecars(self) -> None:
        with self.reading() as session:
            self._sidecars_done = sidecars.write_due(session, self.sidecars, after_seq=self._sidecars_done)

    def close(self) -> None:
        """Give everything back. Safe to call twice."""
        self._reader.dispose()
        if self._writer is not None:
            self._writer.dispose()
        if self._lock is not None:
            self._lock.release()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()


def _damaged(error: DatabaseError) -> LibraryError:
    return LibraryError("library-damaged", found=type(error.orig).__name__ if error.orig else "unknown")
