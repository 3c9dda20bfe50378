"""What the screens Students and Classes show to the teacher."""

from __future__ import annotations

from dataclasses import dataclass

from portfolio.web.answers import Badge, Chip, Choice, Line, Picture, Said, Tile, Wall


@dataclass(frozen=True, slots=True)
class ClassLink:
    """A class in a list: its name on a solid line, or on dots when nothing is kept yet."""

    label: str
    href: str
    second: str
    empty: bool


@dataclass(frozen=True, slots=True)
class GradeRow:
    """The classes of one grade."""

    title: str
    classes: tuple[ClassLink, ...]


@dataclass(frozen=True, slots=True)
class ClassesPage:
    """Every class of a year."""

    year: str
    rows: tuple[GradeRow, ...]
    years: tuple[Chip, ...]
    sentence: str


@dataclass(frozen=True, slots=True)
class RollLine:
    """A child in a class: number, name (teacher only), what is kept."""

    number: str
    name: str
    href: str
    second: str
    nothing: bool


@dataclass(frozen=True, slots=True)
class StudentsPage:
    """The children of one class, or those whose name was asked for."""

    words: str
    title: str
    classes: tuple[Choice, ...]
    roll: tuple[RollLine, ...]
    sentence: str


@dataclass(frozen=True, slots=True)
class PairEnd:
    """One end of then and now: the work on the ledge, and its picture for laying one over the other."""

    tile: Tile
    large: Picture | None
    href: str
    when: str
    about: str


@dataclass(frozen=True, slots=True)
class ThenNow:
    """First and last at the two ends of one ledge."""

    title: str
    then: PairEnd
    now: PairEnd
    between: str
    why: str


@dataclass(frozen=True, slots=True)
class PairPicks:
    """The works to pick two others from. ``asks``: what stands here when there is no pair to show."""

    then: tuple[Choice, ...]
    now: tuple[Choice, ...]
    asks: str


@dataclass(frozen=True, slots=True)
class Tried:
    """One medium and how many works of it are kept; ``words`` says the same as the strokes."""

    medium: str
    count: int
    words: str
    last: str


@dataclass(frozen=True, slots=True)
class YearLedge:
    """One school year on one ledge."""

    year: str
    wall: Wall


@dataclass(frozen=True, slots=True)
class StudentPage:
    """One child, for the teacher."""

    student_id: int
    number: str
    name: str
    about: str
    observe_href: str
    """Where something that was seen can be noted; empty for a child without a number now."""
    badges: tuple[Badge, ...]
    then_now: ThenNow | None
    picks: PairPicks | None
    pick_note: str
    """Why two works that were picked are not shown."""
    years: tuple[YearLedge, ...]
    said: tuple[Said, ...]
    said_title: str
    saw: tuple[Line, ...]
    explored: tuple[Tried, ...]
    not_yet: str
    """The media of the room that no kept work is made with, in one sentence's words."""


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell of the grid: how many kept works, or closed. ``words`` is read aloud."""

    count: int
    closed: bool
    words: str


@dataclass(frozen=True, slots=True)
class GridRow:
    """One number of the class."""

    number: int
    name: str
    href: str
    cells: tuple[Cell, ...]
    last: str
    nothing: bool


@dataclass(frozen=True, slots=True)
class ClassPage:
    """One class: the evidence in a sentence, then the grid."""

    label: str
    title: str
    about: str
    evidence: tuple[str, ...]
    legend: str
    columns: tuple[str, ...]
    rows: tuple[GridRow, ...]
    chips: tuple[Chip, ...]
    by: str
    left_out: str = ""
