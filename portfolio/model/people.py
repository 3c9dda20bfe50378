"""Children, classes, numbers and what a family has allowed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from portfolio.model.names import SealedName

NUMBER_MIN = 1
NUMBER_MAX = 40
GRADES = ("PK", "TK", "K", "1", "2", "3", "4", "5", "6", "7", "8", "9", "10", "11", "12")


class Audience(StrEnum):
    """Who will see an output, from the most private to the most open."""

    TEACHER = "teacher"
    SCHOOL = "school"
    FAMILY = "family"
    COMMUNITY = "community"
    PUBLIC = "public"


class NameForm(StrEnum):
    """The form of a child's name that a release allows."""

    NONE = "none"
    FIRST = "first"
    FIRST_INITIAL = "first initial"
    FULL = "full"


@dataclass(frozen=True, slots=True)
class ChildName:
    """Every form of one child's name that is known. Sealed: only ``privacy`` opens it."""

    given: SealedName
    family: SealedName
    preferred: SealedName | None = None
    middle: SealedName | None = None
    also: tuple[SealedName, ...] = ()
    """Nicknames and spellings that the teacher has noted, so that the sweep finds them too."""


@dataclass(frozen=True, slots=True)
class StudentRecord:
    """One child as the library knows it. ``source_id`` and ``identifier`` are the school system's own ids."""

    student_id: int
    name: ChildName
    source_id: str | None = None
    identifier: str | None = None
    left_on: date | None = None
    erased: bool = False


@dataclass(frozen=True, slots=True)
class RollEntry:
    """One child's number in one class for a stretch of days; ``to_day`` is the last day, ``None`` = still there."""

    student_id: int
    class_id: int
    number: int
    from_day: date
    to_day: date | None = None

    def holds_on(self, day: date) -> bool:
        """Whether the child holds the number on this day."""
        return self.from_day <= day and (self.to_day is None or day <= self.to_day)


@dataclass(frozen=True, slots=True)
class Release:
    """What a family has allowed for one audience, from one day on. Nothing recorded = nothing allowed."""

    student_id: int
    audience: Audience
    allowed: bool
    name_form: NameForm = NameForm.NONE
    from_day: date = date.min
    to_day: date | None = None
    source: str = ""
    """Where it is written down, e.g. "registration form 2025-26"."""
