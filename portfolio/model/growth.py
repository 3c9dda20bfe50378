"""A child's years and a class's term as values: what was made, what was tried, what was said."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from portfolio.model.finding import WorkShown


@dataclass(frozen=True, slots=True)
class YearOfWorks:
    """One school year of one child: the class and number it had, and its works, oldest first."""

    year: str
    class_label: str
    number: int
    grade: str
    works: tuple[WorkShown, ...]


@dataclass(frozen=True, slots=True)
class ThenAndNow:
    """Two works of one child, far apart in time, and why these two were put side by side."""

    then: WorkShown
    now: WorkShown
    why: str
    themes: tuple[str, ...] = ()
    """Title words that both have, by the alphabet."""

    @property
    def days(self) -> int:
        """How many days lie between them."""
        return (self.now.made_on - self.then.made_on).days


@dataclass(frozen=True, slots=True)
class Explored:
    """How many works of one medium a child (or class) has, and when the last one was made."""

    medium: str
    count: int
    last: date | None = None


@dataclass(frozen=True, slots=True)
class FirstUse:
    """An art word and the first day on which it stands in a child's words."""

    word: str
    kind: str
    day: date


@dataclass(frozen=True, slots=True)
class WordUse:
    """An art word in one school year: first day, how it was written then, how often; ``new`` = in no year before."""

    word: str
    kind: str
    first_on: date
    spelled: str
    times: int
    new: bool


@dataclass(frozen=True, slots=True)
class WordsOfYear:
    """The art words of one school year of one child, by first use."""

    year: str
    words: tuple[WordUse, ...]


@dataclass(frozen=True, slots=True)
class Cell:
    """One number and one column of the class grid. ``open`` = the column was open to this class at all."""

    count: int = 0
    last: date | None = None
    open: bool = True


@dataclass(frozen=True, slots=True)
class Row:
    """One number of the class, in the order of the columns. ``last_seen`` = day of its newest work of the span."""

    number: int
    student_id: int
    cells: tuple[Cell, ...]
    last_seen: date | None = None

    @property
    def kept(self) -> int:
        """How many works are kept in the span."""
        return sum(cell.count for cell in self.cells)


@dataclass(frozen=True, slots=True)
class Grid:
    """A class by number and medium (or center) for a span of days. Never a rank: rows stand by number."""

    class_label: str
    columns: tuple[str, ...]
    rows: tuple[Row, ...]
    from_day: date
    to_day: date
    without_column: int = 0
    """Works of the span whose medium is not known."""
    last_before: Mapping[str, date] = field(default_factory=dict)
    """Column → the last day before the span on which one of these children used it."""

    @property
    def nothing_kept(self) -> tuple[int, ...]:
        """Numbers with no work in the span."""
        return tuple(row.number for row in self.rows if row.last_seen is None)

    def column(self, name: str) -> tuple[Cell, ...]:
        """All cells of one column, by number."""
        place = self.columns.index(name)
        return tuple(row.cells[place] for row in self.rows)


@dataclass(frozen=True, slots=True)
class WorthKnowing:
    """One sentence for planning with the counts it rests on, and the numbers it speaks of."""

    sentence: str
    numbers: tuple[int, ...] = ()
    counts: dict[str, int] = field(default_factory=dict)
