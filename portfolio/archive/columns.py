"""Two column types: a moment in UTC, and a sealed name."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from sqlalchemy import DateTime, Text
from sqlalchemy.engine import Dialect
from sqlalchemy.types import TypeDecorator

from portfolio.model.names import SealedName
from portfolio.privacy.seal import seal, unseal_for_storage


class UtcColumn(TypeDecorator[datetime]):
    """A timezone-aware moment, stored as naive UTC. A naive value is refused."""

    impl = DateTime
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:  # noqa: ARG002
        """Into the database: UTC without a zone."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError("a moment needs its time zone")
        return value.astimezone(UTC).replace(tzinfo=None)

    def process_result_value(self, value: Any, dialect: Dialect) -> datetime | None:  # noqa: ARG002
        """Out of the database: with its zone again."""
        return None if value is None else value.replace(tzinfo=UTC)


class SealedColumn(TypeDecorator[SealedName]):
    """A child's name: opened only on its way into the database, sealed on its way out."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: SealedName | None, dialect: Dialect) -> str | None:  # noqa: ARG002
        """Into the database: opened."""
        return None if value is None else unseal_for_storage(value)

    def process_result_value(self, value: Any, dialect: Dialect) -> SealedName | None:  # noqa: ARG002
        """Out of the database: sealed."""
        return None if value is None else seal(value)
