"""What the screens Students and Classes show to the teacher."""

from __future__ import annotations

from dataclasses import dataclass

from portfolio.web.answers import Badge, Chip, Choice, Line, Said, Tile, Wall


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
class ThenNow:
    """First and last at the two ends of one ledge."""

    title: str
    first: Tile
    last: Tile
    between: str
    first_when: str
    last_when: str


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
    badges: tuple[Badge, ...]
    then_now: ThenNow | None
    years: tuple[YearLedge, ...]
    said: tuple[Said, ...]
    said_title: str
    saw: tuple[Line, ...]
    explored: tuple[Line, ...]


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
