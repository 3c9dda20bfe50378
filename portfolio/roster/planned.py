"""What an import would change, as values: looked at first, then applied as one step."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum

from portfolio.model.calendar import SchoolYear
from portfolio.model.people import RollEntry, StudentRecord
from portfolio.model.school import ClassGroup
from portfolio.roster.values import LineProblem, RosterChild


@dataclass(frozen=True, slots=True)
class Known:
    """What the library knows when an import is planned."""

    year: SchoolYear
    classes: tuple[ClassGroup, ...]
    """Classes of this year."""
    students: tuple[StudentRecord, ...] = field(repr=False)
    """Children of all years; erased ones left out."""
    roll: tuple[RollEntry, ...] = ()
    """Every line of this year, also those that ended."""


class Status(StrEnum):
    """What an import does with one line."""

    NEW = "new"
    """A child the library did not know."""
    JOINED = "joined"
    """A known child gets a number in a class."""
    MOVED = "moved"
    """A known child comes from another class of this year."""
    UNCHANGED = "unchanged"


@dataclass(frozen=True, slots=True)
class Step:
    """One line, decided. ``number`` is the one held or handed out; ``enrols`` = a new line of the roll is needed."""

    child: RosterChild
    status: Status
    student_id: int | None
    person: str
    """The same for all lines of one child; tells new children apart."""
    number: int
    from_day: date
    enrols: bool
    changes: tuple[str, ...] = ()
    """What changes on the child's record: ``given name``, ``family name``, ``preferred name``, ``id`` …"""


@dataclass(frozen=True, slots=True)
class ClassStep:
    """One class, decided. ``class_id`` is ``None`` for a new class."""

    label: str
    grade: str
    source_id: str | None
    class_id: int | None
    file_label: str
    """The label that the lines of the file use."""
    changes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Ending:
    """A number that is given up; its line stays with a last day."""

    entry: RollEntry
    to_day: date
    moved: bool
    """The child goes to another class; else the child leaves."""


@dataclass(frozen=True, slots=True)
class Choice:
    """One answer to a question."""

    value: str
    text: str


@dataclass(frozen=True, slots=True)
class RosterQuestion:
    """What an import cannot know. Until it is answered, ``default`` holds."""

    key: str
    """Give it back in ``decisions`` with one of the choices' values."""
    kind: str
    """``same-name`` · ``which-child`` · ``id-and-name`` · ``two-classes`` · ``many-left``."""
    line: int | None
    class_label: str
    sentence: str
    choices: tuple[Choice, ...]
    default: str
    student_ids: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class RosterPlan:
    """Everything an import would do, and what it leaves to the teacher."""

    year: SchoolYear
    classes: tuple[ClassStep, ...]
    steps: tuple[Step, ...]
    endings: tuple[Ending, ...] = ()
    joins: tuple[tuple[int, int], ...] = ()
    """(kept, other): two records that the teacher has said are one child."""
    questions: tuple[RosterQuestion, ...] = ()
    problems: tuple[LineProblem, ...] = ()
    notes: tuple[str, ...] = ()

    def people(self, *statuses: Status) -> frozenset[str]:
        """The children with a line of one of these kinds."""
        return frozenset(step.person for step in self.steps if step.status in statuses)

    @property
    def changed(self) -> frozenset[str]:
        """Known children whose record changes or who change class within the year."""
        return frozenset(
            step.person
            for step in self.steps
            if step.student_id is not None and (step.changes or step.status is Status.MOVED)
        )

    @property
    def left(self) -> frozenset[int]:
        """Children who give up a number and get no other."""
        return frozenset(ending.entry.student_id for ending in self.endings if not ending.moved)

    @property
    def is_empty(self) -> bool:
        """Whether applying it would change nothing."""
        steps = any(step.enrols or step.changes for step in self.steps)
        groups = any(one.class_id is None or one.changes for one in self.classes)
        return not (steps or groups or self.endings or self.joins)
