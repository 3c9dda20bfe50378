"""What the screen Add photos shows, before and after the photos came."""

from __future__ import annotations

from dataclasses import dataclass

from portfolio.web.answers import Choice, Note, Wall


@dataclass(frozen=True, slots=True)
class RecentBatch:
    """An earlier batch, in one line."""

    href: str
    words: str
    when: str
    waits: int


@dataclass(frozen=True, slots=True)
class AddPage:
    """Where photos are dropped; class and medium for the whole batch."""

    guess: str
    classes: tuple[Choice, ...]
    media: tuple[Choice, ...]
    photo_max_mb: int
    """What one photo may weigh, in units of 1,048,576 bytes."""
    zip_max_mb: int
    files_max: int
    """Files of one batch."""
    looks_first: bool
    """Small pictures are sent ahead: the photos come from another device, over a network."""
    day: str
    recent: tuple[RecentBatch, ...]
    note: Note | None = None


@dataclass(frozen=True, slots=True)
class AbsentBox:
    """A number that may have been absent, and whether that was said."""

    number: int
    said: bool


@dataclass(frozen=True, slots=True)
class Counted:
    """What is told about a whole batch once it is filed."""

    checks: tuple[str, ...] = ()
    """The count of numbers at the end of a class, in sentences."""
    hints: tuple[str, ...] = ()
    """What to do better next time."""
    absent: tuple[AbsentBox, ...] = ()
    absent_class: str = ""
    by_order: bool = False
    """The batch goes by the order of numbers."""
    may_correct: bool = False
    """The sizes may be corrected by the scale of the cards."""
    is_corrected: bool = False


@dataclass(frozen=True, slots=True)
class BatchChoice:
    """Class, medium and day of a filed batch, to be chosen again for all of it."""

    classes: tuple[Choice, ...]
    media: tuple[Choice, ...]
    day: str


@dataclass(frozen=True, slots=True)
class BatchPage:
    """The report of one batch; asked for again every two seconds until ``done``."""

    batch_id: int
    title: str
    about: str
    settled: int
    expected: int
    sentence: str
    lead: str
    """Whether the page may be closed, or how many originals are still to come."""
    lead_words: str
    waits: int
    """Questions to answer now."""
    later: int
    """Questions that were put off."""
    wall: Wall
    notes: tuple[Note, ...]
    done: bool
    may_undo: bool
    spoken: str
    counted: Counted = Counted()
    cut_off: bool = False
    """The upload stopped before it was closed; what is there can be read."""
    back: int | None = None
    """The step that took the batch back; undoing it brings it back."""
    by_phone: bool = False
    """A phone's code for this batch is open: reading it now ends the code."""
    choice: BatchChoice | None = None
