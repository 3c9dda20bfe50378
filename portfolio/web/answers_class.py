"""What the class's center list and the quick entry of observations show to the teacher."""

from __future__ import annotations

from dataclasses import dataclass

from portfolio.web.answers import Chip, LineKind, Note


@dataclass(frozen=True, slots=True)
class CenterLine:
    """One center on its line: solid = open, dotted = not yet; and the fields that say when it opens."""

    centre_id: int
    label: str
    sentence: str
    second: str
    line: LineKind
    opens: str
    closes: str
    for_all: bool


@dataclass(frozen=True, slots=True)
class CentersPart:
    """The centers of the room as one class meets them."""

    class_id: int
    class_label: str
    sentence: str
    centers: tuple[CenterLine, ...]
    undo: int = 0


@dataclass(frozen=True, slots=True)
class NumberPick:
    """A number to tap, with the child's name for the teacher; ``noted`` = something was noted today."""

    number: int
    name: str
    noted: bool
    chosen: bool


@dataclass(frozen=True, slots=True)
class SeenLine:
    """One thing noted today."""

    number: int
    text: str
    action_id: int | None


@dataclass(frozen=True, slots=True)
class ObservingPage:
    """The quick entry: tap a number, tap what, keep it."""

    class_id: int
    class_label: str
    day: str
    numbers: tuple[NumberPick, ...]
    offered: tuple[Chip, ...]
    levels: tuple[Chip, ...]
    other: str
    text: str
    today: tuple[SeenLine, ...]
    kept: str
    undo: int | None
    note: Note | None
