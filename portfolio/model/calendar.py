"""The school's time: years, terms, days without school, lessons on a cycle of days.

A cycle day is not a weekday: with a cycle of six, "Day 1" comes round every sixth school day. Everything here is the
school's own wall time (naive), never UTC.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, time
from enum import StrEnum

CYCLE_DAYS_MIN = 1
CYCLE_DAYS_MAX = 10
"""Ten covers two alternating weeks."""


class LostDay(StrEnum):
    """What a snow day does to the cycle."""

    SHIFT = "shift"
    """The next school day takes the cycle day that was lost; everything after it moves by one."""
    SKIP = "skip"
    """The lost cycle day is gone; every other date keeps the cycle day it had."""
    WEEKDAY = "weekday"
    """The cycle is the week: Monday is always day 1, whatever was lost."""


class DayKind(StrEnum):
    """Why a date differs from the plain week."""

    HOLIDAY = "holiday"
    """Planned: no school, and the cycle never counted it."""
    SNOW = "snow"
    """Lost on short notice: no school, although the cycle had counted on it."""
    SCHOOL = "school"
    """School, also when it is a Saturday or Sunday."""


@dataclass(frozen=True, slots=True)
class MarkedDay:
    """One date that differs from the plain week. ``cycle_day`` is set when the school itself named the cycle day
    of that date; counting goes on from there.
    """

    day: date
    kind: DayKind
    note: str = ""
    cycle_day: int | None = None


@dataclass(frozen=True, slots=True)
class Term:
    """A report period; both days belong to it."""

    label: str
    starts_on: date
    ends_on: date
    term_id: int | None = None


def term_of(terms: Iterable[Term], day: date) -> Term | None:
    """The term that holds the day, else the last that began before it (in holidays, the one just over)."""
    begun = [one for one in terms if one.starts_on <= day]
    return next((one for one in begun if day <= one.ends_on), begun[-1] if begun else None)


@dataclass(frozen=True, slots=True)
class SchoolYear:
    """One school year, e.g. "2026-27"; both days belong to it."""

    year_id: int
    label: str
    starts_on: date
    ends_on: date

    def holds(self, day: date) -> bool:
        """Whether the day lies in this year."""
        return self.starts_on <= day <= self.ends_on

    def clamp(self, day: date) -> date:
        """The day itself, or the nearest day of this year."""
        return min(max(day, self.starts_on), self.ends_on)


@dataclass(frozen=True, slots=True)
class Calendar:
    """The days of one school year. ``cycle_days`` = 1 to 10; ``first_cycle_day`` is that of the first school day."""

    year: SchoolYear
    cycle_days: int = 6
    first_cycle_day: int = 1
    lost_day: LostDay = LostDay.SHIFT
    terms: tuple[Term, ...] = ()
    marked: tuple[MarkedDay, ...] = ()

    def __post_init__(self) -> None:
        if not CYCLE_DAYS_MIN <= self.cycle_days <= CYCLE_DAYS_MAX:
            raise ValueError(f"a cycle has {CYCLE_DAYS_MIN} to {CYCLE_DAYS_MAX} days, not {self.cycle_days}")
        if not 1 <= self.first_cycle_day <= self.cycle_days:
            raise ValueError(f"cycle day {self.first_cycle_day} is not in a cycle of {self.cycle_days}")


@dataclass(frozen=True, slots=True)
class TimetableSlot:
    """One lesson: a class on a cycle day from one bell to the next (wall time)."""

    class_id: int
    cycle_day: int
    starts_at: time
    ends_at: time


@dataclass(frozen=True, slots=True)
class SlotMatch:
    """Which class a moment belongs to by the timetable. ``class_id`` is ``None`` when there is no lesson near."""

    class_id: int | None
    slot: TimetableSlot | None = None
    minutes_off: int = 0
    """0 inside the lesson; 4 = four minutes after its bell; -3 = three minutes before it starts."""
    sure: bool = False
    """Near enough to its own lesson, and no other class is as likely."""
    others: tuple[int, ...] = ()
    """Other classes that it might be, likeliest first."""
    why: str = ""
    """One clause for the evidence sentence; says no class and no name."""
