"""Which cycle day is it, which lessons are on, and whose lesson does a moment belong to?

How schools count (common practice, no source): the cycle goes on over weekends and planned holidays without counting
them. A snow day was counted on when it was lost; what then happens is the school's choice, see ``LostDay``.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, datetime, time, timedelta
from functools import lru_cache
from itertools import pairwise
from types import MappingProxyType
from typing import Final

from portfolio.model.calendar import Calendar, DayKind, LostDay, MarkedDay, SlotMatch, TimetableSlot

SATURDAY: Final = 5
ARRIVING_MINUTES: Final = 3
"""So long after its bell a class has made nothing yet: a photo is rather of the class before."""
AFTER_MINUTES: Final = 10
"""So long after a lesson its photos are taken without doubt (five minutes between classes, and a little more)."""
NEAR_MINUTES: Final = 90
"""Farther than this from every lesson, the timetable says nothing."""


def is_school_day(calendar: Calendar, day: date) -> bool:
    """Whether there is school: inside the year, not marked as holiday or snow day, and no plain weekend day."""
    if not calendar.year.holds(day):
        return False
    marked = _marked(calendar).get(day)
    if marked is not None:
        return marked.kind is DayKind.SCHOOL
    return day.weekday() < SATURDAY


def cycle_day(calendar: Calendar, day: date) -> int | None:
    """The cycle day of a date (1 …), ``None`` when there is no school or the date has no place in the cycle."""
    return cycle_of(calendar).get(day)


@lru_cache(maxsize=32)
def cycle_of(calendar: Calendar) -> Mapping[date, int]:
    """Every school day of the year with its cycle day.

    With ``LostDay.WEEKDAY`` a school day beyond the cycle (a Saturday in a five-day week) is left out.
    """
    if calendar.lost_day is LostDay.WEEKDAY:
        return MappingProxyType(dict(_by_weekday(calendar)))
    return MappingProxyType(dict(_by_counting(calendar)))


def _by_weekday(calendar: Calendar) -> Iterable[tuple[date, int]]:
    for day in _days(calendar):
        number = _named(calendar, day) or day.isoweekday()
        if is_school_day(calendar, day) and number <= calendar.cycle_days:
            yield day, number


def _by_counting(calendar: Calendar) -> Iterable[tuple[date, int]]:
    coming, marked_days = calendar.first_cycle_day, _marked(calendar)
    for day in _days(calendar):
        marked = marked_days.get(day)
        school = is_school_day(calendar, day)
        if school:
            coming = _named(calendar, day) or coming
            yield day, coming
        lost = marked is not None and marked.kind is DayKind.SNOW and day.weekday() < SATURDAY
        if school or (lost and calendar.lost_day is LostDay.SKIP):
            coming = coming % calendar.cycle_days + 1


def _named(calendar: Calendar, day: date) -> int | None:
    """The cycle day that the school itself gave to a date, unless the cycle has become shorter since."""
    marked = _marked(calendar).get(day)
    named = marked.cycle_day if marked is not None else None
    return named if named is not None and 1 <= named <= calendar.cycle_days else None


def slots_on(calendar: Calendar, day: date, *, slots: Iterable[TimetableSlot]) -> tuple[TimetableSlot, ...]:
    """The lessons of a date, by bell; none when there is no school."""
    number = cycle_day(calendar, day)
    on = [slot for slot in slots if number is not None and slot.cycle_day == number]
    return tuple(sorted(on, key=lambda slot: (slot.starts_at, slot.ends_at, slot.class_id)))


def class_at(calendar: Calendar, moment: datetime, *, slots: Iterable[TimetableSlot]) -> SlotMatch:
    """The class that a photo taken at ``moment`` (the school's wall time, naive) belongs to by the timetable.

    The stack is photographed after the bell, so between two lessons the class before is meant. ``sure`` only inside
    one lesson (after its first minutes) or within ten minutes after it; anything else is a best guess.
    """
    if moment.tzinfo is not None:
        raise ValueError("the timetable knows wall time only")
    today = slots_on(calendar, moment.date(), slots=slots)
    if not today:
        return SlotMatch(None, why="there is no lesson on that day")
    inside = [slot for slot in today if slot.starts_at <= moment.time() < slot.ends_at]
    before = [slot for slot in today if slot.ends_at <= moment.time()]
    after = [slot for slot in today if moment.time() < slot.starts_at]
    if inside:
        return _during(moment, inside=inside, before=before)
    return _between(moment, before=before, after=after)


def _during(moment: datetime, *, inside: list[TimetableSlot], before: list[TimetableSlot]) -> SlotMatch:
    now, last = inside[-1], _last(before)
    arriving = _minutes(now.starts_at, moment.time()) < ARRIVING_MINUTES
    if arriving and last is not None and _minutes(last.ends_at, moment.time()) <= AFTER_MINUTES:
        others = tuple(slot.class_id for slot in inside if slot.class_id != last.class_id)
        off = _minutes(last.ends_at, moment.time())
        return SlotMatch(last.class_id, last, off, not others, others, "the next class had only just come in")
    others = tuple(slot.class_id for slot in inside[:-1] if slot.class_id != now.class_id)
    why = "two classes have art at that time" if others else "it was taken during the lesson"
    return SlotMatch(now.class_id, now, 0, not others, others, why)


def _between(moment: datetime, *, before: list[TimetableSlot], after: list[TimetableSlot]) -> SlotMatch:
    last, coming = _last(before), after[0] if after else None
    since = _minutes(last.ends_at, moment.time()) if last else NEAR_MINUTES + 1
    until = _minutes(moment.time(), coming.starts_at) if coming else NEAR_MINUTES + 1
    if last is not None and since <= NEAR_MINUTES:
        ended_too = [slot.class_id for slot in before if slot.ends_at == last.ends_at]
        others = [key for key in ended_too if key != last.class_id]
        sure = since <= AFTER_MINUTES and not others
        if coming is not None and since > AFTER_MINUTES and until <= NEAR_MINUTES:
            others.append(coming.class_id)
        why = f"it was taken {since} minutes after the bell"
        return SlotMatch(last.class_id, last, since, sure, tuple(dict.fromkeys(others)), why)
    if coming is not None and until <= NEAR_MINUTES:
        return SlotMatch(coming.class_id, coming, -until, why=f"it was taken {until} minutes before the lesson")
    return SlotMatch(None, why="no lesson was near that time")


def overlaps(slots: Iterable[TimetableSlot]) -> tuple[tuple[TimetableSlot, TimetableSlot], ...]:
    """Pairs of lessons that follow each other on a cycle day and share time, so that the teacher can be told."""
    ordered = sorted(slots, key=lambda slot: (slot.cycle_day, slot.starts_at, slot.ends_at))
    return tuple(
        (one, other)
        for one, other in pairwise(ordered)
        if one.cycle_day == other.cycle_day and other.starts_at < one.ends_at
    )


def _last(before: list[TimetableSlot]) -> TimetableSlot | None:
    return max(before, key=lambda slot: (slot.ends_at, slot.starts_at), default=None)


def _minutes(one: time, other: time) -> int:
    """Whole minutes from one wall time to a later one of the same day."""
    return (other.hour * 60 + other.minute) - (one.hour * 60 + one.minute)


def _days(calendar: Calendar) -> Iterable[date]:
    day = calendar.year.starts_on
    while day <= calendar.year.ends_on:
        yield day
        day += timedelta(days=1)


@lru_cache(maxsize=32)
def _marked(calendar: Calendar) -> Mapping[date, MarkedDay]:
    return MappingProxyType({marked.day: marked for marked in calendar.marked})
