"""The cycle of days, lessons of a date, and whose lesson a moment belongs to."""

import calendar as stdlib
from datetime import date, datetime, time, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from portfolio.model.calendar import Calendar, DayKind, LostDay, MarkedDay, SchoolYear, TimetableSlot
from portfolio.roster.calendar import class_at, cycle_day, cycle_of, is_school_day, overlaps, slots_on

YEAR = SchoolYear(1, "2026-27", date(2026, 8, 24), date(2027, 6, 11))
DAYS = [YEAR.starts_on + timedelta(days=n) for n in range((YEAR.ends_on - YEAR.starts_on).days + 1)]
MONDAY = date(2026, 8, 24)


def make_calendar(marked=(), *, cycle_days=6, lost_day=LostDay.SHIFT, first=1) -> Calendar:
    return Calendar(YEAR, cycle_days, first, lost_day, (), tuple(sorted(marked, key=lambda one: one.day)))


def marks(kinds=tuple(DayKind)):
    one = st.tuples(st.sampled_from(DAYS), st.sampled_from(kinds))
    return st.lists(one, max_size=40, unique_by=lambda pair: pair[0]).map(
        lambda pairs: [MarkedDay(day, kind) for day, kind in pairs]
    )


cycles = st.integers(1, 10)


@given(marks(), cycles, st.sampled_from([LostDay.SHIFT, LostDay.SKIP]))
@settings(max_examples=40, deadline=None)
def test_every_school_day_has_exactly_one_cycle_day(marked, cycle_days, lost_day):
    """A day has a place in the cycle when, and only when, there is school."""
    made = make_calendar(marked, cycle_days=cycle_days, lost_day=lost_day)
    for day in DAYS:
        number = cycle_day(made, day)
        assert (number is not None) == is_school_day(made, day)
        assert number is None or 1 <= number <= cycle_days


@given(marks(), cycles)
@settings(max_examples=40, deadline=None)
def test_shifting_never_loses_a_cycle_day(marked, cycle_days):
    """With shift, the school days run 1, 2, 3 … without a gap, whatever was lost."""
    numbers = list(cycle_of(make_calendar(marked, cycle_days=cycle_days)).values())
    assert numbers == [n % cycle_days + 1 for n in range(len(numbers))]


@given(marks([DayKind.HOLIDAY]), st.sets(st.sampled_from(DAYS), max_size=12), cycles)
@settings(max_examples=40, deadline=None)
def test_skipping_keeps_the_other_days_as_printed(holidays, snow, cycle_days):
    """With skip, a snow day takes only its own cycle day: every other date keeps the one on the printed calendar."""
    snow -= {one.day for one in holidays}
    printed = cycle_of(make_calendar(holidays, cycle_days=cycle_days, lost_day=LostDay.SKIP))
    lost = [MarkedDay(day, DayKind.SNOW) for day in snow]
    after = cycle_of(make_calendar([*holidays, *lost], cycle_days=cycle_days, lost_day=LostDay.SKIP))
    assert after == {day: number for day, number in printed.items() if day not in snow}


@given(marks())
@settings(max_examples=20, deadline=None)
def test_the_week_as_cycle_is_the_weekday(marked):
    """With weekday, Monday is day 1 always. Weekdays checked against Python's own calendar module."""
    made = make_calendar(marked, cycle_days=5, lost_day=LostDay.WEEKDAY)
    for day, number in cycle_of(made).items():
        assert number == stdlib.weekday(day.year, day.month, day.day) + 1


def test_plain_weekends_are_off_and_a_marked_saturday_is_on():
    """Counted against Python's calendar module; a make-up Saturday has a cycle day."""
    plain = sum(is_school_day(make_calendar(), day) for day in DAYS)
    weeks = [day for day in DAYS if stdlib.weekday(day.year, day.month, day.day) < 5]
    assert plain == len(weeks)
    saturday = MONDAY + timedelta(days=5)
    made = make_calendar([MarkedDay(saturday, DayKind.SCHOOL)])
    assert cycle_day(make_calendar(), saturday) is None
    assert cycle_day(made, saturday) == 6
    assert not is_school_day(made, YEAR.starts_on - timedelta(days=7))


def test_holidays_are_not_counted_and_snow_follows_the_setting():
    """Six-day cycle, Wednesday lost: shift gives Thursday day 3, skip gives it day 4, a holiday always day 3."""
    wednesday, thursday = MONDAY + timedelta(days=2), MONDAY + timedelta(days=3)
    snow, holiday = MarkedDay(wednesday, DayKind.SNOW), MarkedDay(wednesday, DayKind.HOLIDAY)
    assert cycle_day(make_calendar([snow]), thursday) == 3
    assert cycle_day(make_calendar([snow], lost_day=LostDay.SKIP), thursday) == 4
    assert cycle_day(make_calendar([holiday], lost_day=LostDay.SKIP), thursday) == 3


def test_a_day_that_the_school_named_restarts_the_count():
    """The school says "today is day 5": counting goes on from there; a name beyond the cycle is not followed."""
    tuesday = MONDAY + timedelta(days=1)
    made = make_calendar([MarkedDay(tuesday, DayKind.SCHOOL, cycle_day=5)])
    assert [cycle_day(made, MONDAY + timedelta(days=n)) for n in range(4)] == [1, 5, 6, 1]
    shorter = make_calendar([MarkedDay(tuesday, DayKind.SCHOOL, cycle_day=5)], cycle_days=4)
    assert cycle_day(shorter, tuesday) == 2


def test_a_cycle_outside_one_to_ten_is_refused():
    """A calendar that cannot count is not made."""
    with pytest.raises(ValueError, match="cycle"):
        make_calendar(cycle_days=0)
    with pytest.raises(ValueError, match="cycle"):
        make_calendar(cycle_days=4, first=5)


# --- lessons ----------------------------------------------------------------------------------------------

SLOTS = (
    TimetableSlot(1, 1, time(8, 15), time(8, 55)),
    TimetableSlot(2, 1, time(9, 0), time(9, 40)),
    TimetableSlot(3, 1, time(12, 30), time(13, 10)),
    TimetableSlot(4, 2, time(8, 15), time(8, 55)),
)


@pytest.mark.parametrize(
    ("clock", "class_id", "minutes", "sure"),
    [
        ("08:30", 1, 0, True),
        ("08:57", 1, 2, True),  # between two lessons: the class before
        ("09:01", 1, 6, False),  # the next class has only just come in
        ("09:03", 2, 0, True),
        ("09:45", 2, 5, True),
        ("09:59", 2, 19, False),  # too long after its bell to be sure
        ("08:00", 1, -15, False),
        ("12:10", 3, -20, False),
        ("06:00", None, 0, False),
        ("16:00", None, 0, False),
    ],
)
def test_a_photo_after_the_bell_belongs_to_the_class_before(clock, class_id, minutes, sure):
    """The stack is photographed after the bell (common practice, no source)."""
    moment = datetime.combine(MONDAY, time.fromisoformat(clock))
    match = class_at(make_calendar(), moment, slots=SLOTS)
    assert (match.class_id, match.minutes_off, match.sure) == (class_id, minutes, sure)
    assert match.why


def test_two_classes_at_one_time_are_never_sure():
    """A shared lesson names both classes."""
    both = (*SLOTS, TimetableSlot(9, 1, time(8, 15), time(8, 55)))
    match = class_at(make_calendar(), datetime.combine(MONDAY, time(8, 30)), slots=both)
    assert not match.sure
    assert {match.class_id, *match.others} == {1, 9}
    after = class_at(make_calendar(), datetime.combine(MONDAY, time(8, 56)), slots=both)
    assert not after.sure
    assert {after.class_id, *after.others} == {1, 9}


def test_no_lesson_on_a_day_without_school():
    """A holiday and a weekend have no lessons; a moment with a time zone is refused."""
    made = make_calendar([MarkedDay(MONDAY, DayKind.HOLIDAY)])
    assert slots_on(made, MONDAY, slots=SLOTS) == ()
    assert class_at(made, datetime.combine(MONDAY, time(8, 30)), slots=SLOTS).class_id is None
    with pytest.raises(ValueError, match="wall time"):
        class_at(made, datetime.fromisoformat("2026-08-24T08:30+00:00"), slots=SLOTS)


@given(st.times(), st.sampled_from(DAYS))
@settings(max_examples=100, deadline=None)
def test_sure_means_near_and_alone(clock, day):
    """Whatever the moment: sure is only said inside a lesson or at most ten minutes after it."""
    match = class_at(make_calendar(), datetime.combine(day, clock), slots=SLOTS)
    if match.sure:
        assert match.slot is not None
        assert 0 <= match.minutes_off <= 10
        assert not match.others
        assert match.slot in slots_on(make_calendar(), day, slots=SLOTS)


def test_overlapping_lessons_are_found():
    """Two lessons of one cycle day that share time are told; back to back is fine."""
    clash = TimetableSlot(5, 1, time(9, 30), time(10, 0))
    assert overlaps(SLOTS) == ()
    assert overlaps([*SLOTS, clash]) == ((SLOTS[1], clash),)
