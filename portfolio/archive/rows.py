"""One row by its key, and rows as plain JSON and back, for history lines and sidecars: every column is carried."""

from __future__ import annotations

from datetime import date, datetime, time
from typing import Any, TypeVar

from sqlalchemy import Table, inspect
from sqlmodel import Session, SQLModel

from portfolio.archive.columns import SealedColumn, UtcColumn
from portfolio.errors import NotFound
from portfolio.model.names import SealedName
from portfolio.privacy.seal import seal, unseal_for_storage

Row = dict[str, Any]

Kind = TypeVar("Kind", bound=SQLModel)


def existing(session: Session, table: type[Kind], key: int, *, item: str) -> Kind:
    """The row of ``table`` with this key. Raises ``NotFound`` with ``item`` ("Photo 12") when there is none."""
    row = session.get(table, key)
    if row is None:
        raise NotFound("not-found", item=item)
    return row


def table_of(row: SQLModel) -> Table:
    """The table that a row belongs to."""
    table = inspect(type(row)).local_table
    assert isinstance(table, Table)
    return table


def class_of(table_name: str) -> type[SQLModel]:
    """The SQLModel class of a table."""
    return _classes()[table_name]


def _classes() -> dict[str, type[SQLModel]]:
    mappers = SQLModel._sa_registry.mappers  # noqa: SLF001  its only list of tables
    return {str(mapper.class_.__tablename__): mapper.class_ for mapper in mappers}


def plain(value: Any) -> Any:
    """One column's value as JSON."""
    if isinstance(value, SealedName):
        return unseal_for_storage(value)
    if isinstance(value, datetime | date | time):
        return value.isoformat()
    return value


def dump(row: SQLModel) -> Row:
    """A whole row as JSON."""
    return {column.key: plain(getattr(row, column.key)) for column in table_of(row).columns}


def load(table_name: str, row: Row) -> SQLModel:
    """A new object of the row's class, with every value in its own type again."""
    made = class_of(table_name)()
    for column in table_of(made).columns:
        if column.key in row:
            setattr(made, column.key, _typed(column, row[column.key]))
    return made


def typed(table_name: str, key: str, value: Any) -> Any:
    """One JSON value in the type of its column."""
    table = SQLModel.metadata.tables[table_name]
    return _typed(table.columns[key], value)


def _typed(column: Any, value: Any) -> Any:
    if value is None:
        return None
    if isinstance(column.type, SealedColumn):
        return seal(value)
    if isinstance(column.type, UtcColumn):
        return datetime.fromisoformat(value)
    kind = getattr(column.type, "python_type", None) if type(column.type).__name__ != "JSON" else None
    if kind in (datetime, date, time):
        return kind.fromisoformat(value)
    return value
