"""A copy of the database while others write to it, and a look at such a copy that trusts nothing."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from portfolio.archive.engines import BUSY_SECONDS
from portfolio.errors import LibraryError


@dataclass(frozen=True, slots=True)
class Snapshot:
    """What a copy of the database holds. ``originals``: digest → size of every photo that a record speaks of."""

    schema: str
    works: int
    children: int
    originals: dict[str, int]


_ORIGINALS = "SELECT sha256, max(size_bytes) FROM photo GROUP BY sha256"
_ORIGINALS_HERE = _ORIGINALS.replace("GROUP", "WHERE coming IN ('', 'came', 'renewed') GROUP")


def copy_database(database: Path, target: Path) -> None:
    """Write one consistent copy of an open database to ``target``, which must not be there yet.

    ``VACUUM INTO`` (https://www.sqlite.org/lang_vacuum.html) reads inside one transaction: writers go on meanwhile,
    and nothing of what they write gets half into the copy.
    """
    with _opened(database, "ro") as connection:
        connection.execute("VACUUM INTO ?", (str(target),))


def look_at(database: Path) -> Snapshot:
    """Open a copy anew, check the whole of it, and say what it holds.

    Raises ``LibraryError`` when SQLite finds anything wrong with it.
    """
    try:
        with _opened(database, "ro", more="&immutable=1") as connection:
            words = [row[0] for row in connection.execute("PRAGMA integrity_check") if row[0] != "ok"]
            words += [f"a row of {row[0]} points nowhere" for row in connection.execute("PRAGMA foreign_key_check")]
            if words:
                raise LibraryError("backup-unreadable", found=f"its records: {words[0]}")
            return Snapshot(
                schema=_one(connection, "SELECT version_num FROM alembic_version"),
                works=_one(connection, "SELECT count(*) FROM work WHERE NOT removed"),
                children=_one(connection, "SELECT count(*) FROM student"),
                originals=_originals(connection),
            )
    except sqlite3.DatabaseError as error:
        raise LibraryError("backup-unreadable", found=f"its records: {type(error).__name__}") from error


def _originals(connection: sqlite3.Connection) -> dict[str, int]:
    """Those that are there; one that is still on its way comes into the next backup. Older copies know of none."""
    columns = {row[1] for row in connection.execute("PRAGMA table_info(photo)")}
    return dict(connection.execute(_ORIGINALS_HERE if "coming" in columns else _ORIGINALS))


def _one(connection: sqlite3.Connection, asked: str) -> Any:
    return connection.execute(asked).fetchone()[0]


@contextmanager
def _opened(database: Path, mode: str, *, more: str = "") -> Iterator[sqlite3.Connection]:
    address = f"{database.resolve().as_uri()}?mode={mode}{more}"
    with closing(sqlite3.connect(address, uri=True, timeout=BUSY_SECONDS, isolation_level=None)) as connection:
        yield connection
