"""What a library is told in ``portfolio.toml``: how photos are read, how much may be taken in at once."""

from __future__ import annotations

import tomllib
from dataclasses import asdict, dataclass, fields
from pathlib import Path
from typing import Any

import tomli_w

from portfolio.errors import LibraryError

FILE_NAME = "portfolio.toml"


@dataclass(frozen=True, slots=True)
class Settings:
    """All settings with their defaults. Unknown keys are refused, so that a typing mistake is seen."""

    executor: str = "process"
    """How photos are read: ``process`` · ``thread`` · ``inline`` · ``module:callable`` that gives an Executor."""
    workers: int = 0
    """How many at a time; 0 = one per core."""
    photo_seconds: int = 30
    """CPU seconds one photo may take before it is stopped."""
    photo_memory_mb: int = 2048
    """Memory one photo may take."""
    photo_max_mb: int = 64
    """The heaviest file taken in."""
    free_space_mb: int = 500
    """Space that is left free on the disk: below it, taking in stops with a sentence."""


def load(folder: Path) -> Settings:
    """Settings of the library in ``folder``; defaults where the file is silent or missing."""
    path = folder / FILE_NAME
    if not path.is_file():
        return Settings()
    try:
        found: dict[str, Any] = tomllib.loads(path.read_text(encoding="utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise LibraryError("settings-unreadable", found=type(error).__name__) from error
    return _checked(found)


def _checked(found: dict[str, Any]) -> Settings:
    known = {field.name: type(getattr(Settings(), field.name)) for field in fields(Settings)}
    for key, value in found.items():
        if key not in known:
            raise LibraryError("settings-unreadable", found=f"unknown setting '{key}'")
        if type(value) is not known[key]:
            raise LibraryError("settings-unreadable", found=f"'{key}' is not {_kind(known[key])}")
    return Settings(**found)


def _kind(kind: type) -> str:
    return "a whole number" if kind is int else "a text in quotation marks"


def save(folder: Path, settings: Settings) -> None:
    """Write the settings, every value spelled out; cut off, the file is the old one or the new one."""
    temp = folder / f"{FILE_NAME}.new"
    temp.write_text(tomli_w.dumps(asdict(settings)), encoding="utf-8")
    temp.replace(folder / FILE_NAME)
