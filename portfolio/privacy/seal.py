"""Seal a name, and open it for the one place that must hold it: the database file."""

from __future__ import annotations

from portfolio.model.names import SealedName


def seal(text: str) -> SealedName:
    """Seal one name or part of a name."""
    return SealedName(text)


def unseal_for_storage(name: SealedName) -> str:
    """The plain text, for the archive's name columns only."""
    return name._sealed  # noqa: SLF001  the one place besides privacy.forms that may open it
