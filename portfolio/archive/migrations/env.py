"""Alembic's entry: runs on the connection that ``archive.migrate`` hands over."""

from typing import Any, Literal

from alembic import context
from sqlmodel import SQLModel

from portfolio.archive import tables  # noqa: F401  fills the metadata
from portfolio.archive.columns import SealedColumn, UtcColumn


def render_item(kind: str, item: Any, _autogen: Any) -> str | Literal[False]:
    """Write our two column types as plain SQL types, so that an old migration never depends on newer code."""
    if kind == "type" and isinstance(item, UtcColumn):
        return "sa.DateTime()"
    if kind == "type" and isinstance(item, SealedColumn):
        return "sa.Text()"
    if kind == "type" and type(item).__name__ == "AutoString":
        return "sa.String()"
    return False


def compare_type(_context: Any, _inspected: Any, _column: Any, _inspected_type: Any, metadata_type: Any) -> bool | None:
    """Our own types are stored as their plain twins: no difference."""
    return False if isinstance(metadata_type, (UtcColumn, SealedColumn)) else None


connection = context.config.attributes["connection"]
context.configure(
    connection=connection,
    target_metadata=SQLModel.metadata,
    render_as_batch=True,
    render_item=render_item,
    compare_type=compare_type,
    transactional_ddl=False,  # the caller's transaction is around everything
)
context.run_migrations()
