"""Bring a database to the newest schema, or refuse one that a newer Portfolio wrote."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, Engine

from portfolio.errors import LibraryError

_HERE = Path(__file__).parent / "migrations"


def config(connection: Connection | None = None) -> Config:
    """Alembic's configuration without an ini file; the connection is handed over."""
    made = Config()
    made.set_main_option("script_location", str(_HERE).replace("%", "%%"))
    made.attributes["connection"] = connection
    return made


def head() -> str:
    """The newest schema version."""
    found = ScriptDirectory.from_config(config()).get_current_head()
    assert found is not None
    return found


def version(connection: Connection) -> str | None:
    """The schema version of a database; ``None`` when it has no tables yet."""
    return MigrationContext.configure(connection).get_current_revision()


def to_head(engine: Engine) -> bool:
    """Migrate in one transaction; true when anything was done. Refuses a version that this program does not know."""
    with engine.begin() as connection:
        now = version(connection)
        if now == head():
            return False
        known = {script.revision for script in ScriptDirectory.from_config(config()).walk_revisions()}
        if now is not None and now not in known:
            raise LibraryError("library-newer", found=f"schema {now}")
    with _tables_may_be_remade(engine), engine.begin() as connection:
        command.upgrade(config(connection), "head")
        if connection.exec_driver_sql("PRAGMA foreign_key_check").first() is not None:
            raise LibraryError("library-damaged", "The library", "a row points nowhere")
    return True


@contextmanager
def _tables_may_be_remade(engine: Engine) -> Iterator[None]:
    """SQLite changes most of a table only by making it anew, and would delete what points at the old one meanwhile.

    Outside a transaction, on the engine's one connection (https://www.sqlite.org/lang_altertable.html, section 7).
    """
    _enforce(engine, "OFF")
    try:
        yield
    finally:
        _enforce(engine, "ON")


def _enforce(engine: Engine, word: str) -> None:
    connection = engine.raw_connection()
    try:
        connection.cursor().execute(f"PRAGMA foreign_keys={word}")
    finally:
        connection.close()
