"""What the pages of Settings show: their names, what was kept last, fields with words beside them."""

from __future__ import annotations

from dataclasses import dataclass

from portfolio.web.answers import Chip, Note


@dataclass(frozen=True, slots=True)
class Kept:
    """What was kept a moment ago, and the step that takes it back (``None``: it was taken back)."""

    words: str
    undo: int | None
    back: str
    """The page to come back to."""


@dataclass(frozen=True, slots=True)
class SettingsFrame:
    """What every page of Settings has: the list of pages, what was kept, and what went wrong."""

    title: str
    pages: tuple[Chip, ...]
    """``value`` is the address."""
    kept: Kept | None = None
    note: Note | None = None


@dataclass(frozen=True, slots=True)
class Field:
    """One field of a form as it was typed; ``problem`` stands beside it in words."""

    id: str
    name: str
    label: str
    value: str = ""
    kind: str = "text"
    hint: str = ""
    problem: str = ""
    most: int = 200
    required: bool = False
    options: tuple[str, ...] = ()
    """Offered while typing; anything else may be typed too."""


@dataclass(frozen=True, slots=True)
class BackupPage:
    """The last backup, one that is running, and the form for the next."""

    frame: SettingsFrame
    last: str
    old: bool
    """It is over a week old, or there was none."""
    folder: Field
    running: bool
    progress: str
    done: int
    of: int
    result: tuple[str, ...] = ()
    trouble: Note | None = None
