"""What one photo may cost: seconds, memory, size, and the space that is left free. Kept in ``portfolio.toml``."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

from portfolio.archive import settings
from portfolio.archive.library import Library
from portfolio.archive.settings import Settings
from portfolio.flows.misfits import refuse


@dataclass(frozen=True, slots=True)
class Limit:
    """One limit: what the teacher reads, and between which whole numbers it may be set."""

    label: str
    least: int
    most: int


LIMITS: Final[Mapping[str, Limit]] = {
    "photo_seconds": Limit("Seconds one photo may take", 5, 600),
    "photo_memory_mb": Limit("Memory one photo may take, in MB", 512, 65_536),
    "photo_max_mb": Limit("Heaviest photo taken in, in MB", 5, 1_000),
    "free_space_mb": Limit("Space left free on the disk, in MB", 1, 100_000),
}
"""By the name of the setting."""


def usual_limits() -> dict[str, int]:
    """What a new library has."""
    return _of(Settings())


def limits_now(library: Library) -> dict[str, int]:
    """What this library has."""
    return _of(library.settings)


def _of(told: Settings) -> dict[str, int]:
    return {name: int(getattr(told, name)) for name in LIMITS}


def keep_limits(library: Library, wanted: Mapping[str, int]) -> None:
    """Set the limits; the next photo keeps to them. Refuses one that is out of bounds, field by field."""
    outside = {
        name: f"Write a number from {limit.least:,} to {limit.most:,}."
        for name, limit in LIMITS.items()
        if not limit.least <= wanted[name] <= limit.most
    }
    refuse(outside)
    told = replace(
        library.settings,
        photo_seconds=wanted["photo_seconds"],
        photo_memory_mb=wanted["photo_memory_mb"],
        photo_max_mb=wanted["photo_max_mb"],
        free_space_mb=wanted["free_space_mb"],
    )
    settings.save(library.folder, told)
    library.settings = told
