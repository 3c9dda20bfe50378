"""What a roster file gives, whatever form it came in. Names are sealed; contact data has no place to stand."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

from portfolio.errors import Problem
from portfolio.model.calendar import Term
from portfolio.model.people import ChildName


@dataclass(frozen=True, slots=True)
class LineProblem:
    """Trouble with one line. ``line`` counts from 1 in the file named by the problem; ``None`` = the whole file."""

    line: int | None
    problem: Problem

    @property
    def code(self) -> str:
        """The code of the table of sentences."""
        return self.problem.code

    @property
    def sentence(self) -> str:
        """What the teacher reads."""
        return self.problem.sentence


def trouble(code: str, line: int, file: str, *, found: str = "") -> LineProblem:
    """A problem with one line of one file."""
    return LineProblem(line, Problem(code, f"Line {line} of {file}", found))


@dataclass(frozen=True, slots=True)
class ColumnGuess:
    """What one column is taken for. ``samples`` show the shape of its cells (``Xxxxx, Xx``), never their letters."""

    column: int
    """1 = the first."""
    header: str
    meaning: str | None
    """A word of the form, ``left out`` (private, dropped at the door), or ``None`` (not used)."""
    confidence: str
    """``sure`` (its heading says so) · ``likely`` (its heading nearly does) · ``unsure`` (only its cells look so)."""
    samples: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Guess:
    """How a table is going to be read, to be looked at before it is applied."""

    file: str
    encoding: str
    delimiter: str
    header_line: int | None
    columns: tuple[ColumnGuess, ...]
    missing: tuple[str, ...] = ()
    """Meanings that are needed and were not found."""
    doubts: tuple[str, ...] = ()
    """Why it should be looked at, one clause each; empty = sure enough to apply."""

    @property
    def sure(self) -> bool:
        """Whether it may be applied unseen."""
        return not self.missing and not self.doubts

    def column_of(self, meaning: str) -> int | None:
        """Index (from 0) of the column with this meaning."""
        return next((one.column - 1 for one in self.columns if one.meaning == meaning), None)


@dataclass(frozen=True, slots=True)
class RosterClass:
    """A class as the file tells it."""

    label: str
    grade: str
    source_id: str | None = None


@dataclass(frozen=True, slots=True)
class RosterChild:
    """One child in one class, as one line tells it. A child in two classes comes twice."""

    line: int
    file: str
    name: ChildName
    class_label: str
    order: int
    """Place by family, then given name, among all lines of the file: equal for nobody."""
    number: int | None = None
    source_id: str | None = None
    identifier: str | None = None
    from_day: date | None = None
    to_day: date | None = None
    """Last day, only when the child leaves before the class ends."""


@dataclass(frozen=True, slots=True)
class YearTold:
    """The school year that the file itself tells."""

    label: str
    starts_on: date
    ends_on: date
    terms: tuple[Term, ...] = ()


@dataclass(frozen=True, slots=True)
class RosterFile:
    """Everything a roster file gives that may be kept."""

    file: str
    form: str
    """``spreadsheet`` · ``OneRoster 1.1`` · ``OneRoster 1.2``."""
    classes: tuple[RosterClass, ...]
    children: tuple[RosterChild, ...] = field(repr=False)
    problems: tuple[LineProblem, ...] = ()
    year: YearTold | None = None
    whole: bool = True
    """Each class in the file is listed completely, so a child that is missing has left."""
    gone: tuple[tuple[str, str], ...] = ()
    """(class label, child's source id) that the file itself says have ended."""
    guess: Guess | None = None
    notes: tuple[str, ...] = ()
    """What was decided while reading, one sentence each, without names."""
