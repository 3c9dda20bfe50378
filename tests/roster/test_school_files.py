"""Calendars, timetables and releases from any spreadsheet."""

from datetime import date, time

import pytest

from portfolio.errors import PortfolioError
from portfolio.model.calendar import DayKind, SchoolYear
from portfolio.model.people import Audience, NameForm
from portfolio.roster.columns import CALENDAR, RELEASES, TIMETABLE, guess_columns
from portfolio.roster.school_files import cycle_day_of, kind_of, read_days, read_lessons, read_releases
from portfolio.roster.sessions import default_year, read_year_label, year_holding
from portfolio.roster.table import read_table

YEAR = SchoolYear(1, "2026-27", date(2026, 8, 24), date(2027, 6, 11))


def form(text: str, of):
    table = read_table(text.encode(), file="x.csv")
    return table, guess_columns(table, of)


def codes(problems) -> list[tuple[int | None, str]]:
    return [(one.line, one.code) for one in problems]


def test_a_calendar_marks_days_and_stretches():
    """One day a line, or first and last day; what cannot be is told with its line."""
    text = (
        "Date,End,Kind,Note\n"
        "9/7/2026,,holiday,Labor Day\n"
        "12/21/2026,1/1/2027,no school,Winter\n"
        "1/12/2027,,snow,\n"
        "1/16/2027,,make-up,\n"
        "2/30/2027,,holiday,\n"  # roster-date-unreadable
        "9/7/2028,,holiday,\n"  # roster-date-outside
        "3/1/2027,,purple,\n"  # roster-word-unknown
    )
    found = read_days(*form(text, CALENDAR), year=YEAR)
    kinds = {one.day: one.kind for one in found.days}
    assert kinds[date(2026, 9, 7)] is DayKind.HOLIDAY
    assert kinds[date(2027, 1, 1)] is DayKind.HOLIDAY
    assert kinds[date(2027, 1, 12)] is DayKind.SNOW
    assert kinds[date(2027, 1, 16)] is DayKind.SCHOOL
    assert len(kinds) == 1 + 12 + 1 + 1
    assert codes(found.problems) == [
        (6, "roster-date-unreadable"),
        (7, "roster-date-outside"),
        (8, "roster-word-unknown"),
    ]


@pytest.mark.parametrize(
    ("word", "note", "kind"),
    [
        ("", "Snow day", DayKind.SNOW),
        ("", "Thanksgiving", DayKind.HOLIDAY),
        ("No School", "", DayKind.HOLIDAY),
        ("school", "", DayKind.SCHOOL),
        ("weather closure", "", DayKind.SNOW),
        ("teacher workday", "", DayKind.HOLIDAY),
        ("", "", DayKind.HOLIDAY),
        ("purple", "", None),
    ],
)
def test_the_words_of_a_calendar(word, note, kind):
    """A kind that is written and not known is told; a note alone never is trouble."""
    assert kind_of(word, note) is kind


def test_a_timetable_in_one_or_two_columns():
    """Start and end, or both in one cell; bad lines are told."""
    text = (
        "Class,Day,Time\n3A,Day 1,8:15-8:55\n3B,B,1:05 to 1:45\n"
        ",2,8:15-8:55\n3C,9,8:15-8:55\n3D,2,recess\n3E,2,9:00-8:00\n"
    )
    lessons, problems = read_lessons(*form(text, TIMETABLE), cycle_days=6)
    assert [(one.class_label, one.cycle_day, one.starts_at, one.ends_at) for one in lessons] == [
        ("3A", 1, time(8, 15), time(8, 55)),
        ("3B", 2, time(13, 5), time(13, 45)),
    ]
    assert codes(problems) == [
        (4, "roster-class-missing"),
        (5, "roster-cycle-day-outside"),
        (6, "roster-time-unreadable"),
        (7, "roster-time-unreadable"),
    ]
    two, _ = read_lessons(*form("Class,Cycle Day,Start,End\n3A,1,8:15,8:55\n", TIMETABLE), cycle_days=6)
    assert two[0].ends_at == time(8, 55)


def test_cycle_days_as_schools_write_them():
    """Numbers, letters and weekdays."""
    assert [cycle_day_of(word) for word in ("3", "Day 3", "C", "Wed", "Wednesday", "", "0", "xyz")] == [3] * 5 + [
        None
    ] * 3


def test_releases_are_never_allowed_on_a_doubt():
    """A word that is not known leaves the line out; "no" carries no name form."""
    text = (
        "Class,Number,Audience,Allowed,Name form,From,Source\n"
        "3A,1,public,yes,first,2026-09-01,form\n"
        "3A,2,website,no,first,,form\n"
        "3A,3,all,yes,first initial,,\n"
        "3A,4,moon,yes,,,\n"
        "3A,5,public,perhaps,,,\n"
        "3A,6,public,yes,in gold,,\n"
        "3A,7,public,yes,first,someday,\n"
    )
    found, problems = read_releases(*form(text, RELEASES))
    assert [(one.number, one.audiences, one.allowed, one.name_form) for one in found] == [
        (1, (Audience.PUBLIC,), True, NameForm.FIRST),
        (2, (Audience.PUBLIC,), False, NameForm.NONE),
        (3, (Audience.SCHOOL, Audience.COMMUNITY, Audience.PUBLIC), True, NameForm.FIRST_INITIAL),
    ]
    assert codes(problems) == [(line, "roster-word-unknown") for line in (5, 6, 7)] + [(8, "roster-date-unreadable")]


def test_a_file_without_the_needed_columns_is_refused():
    """The sentence names what is missing; a file with headings only is empty."""
    with pytest.raises(PortfolioError) as refused:
        read_days(*form("Kind,Note\nholiday,x\n", CALENDAR), year=YEAR)
    assert (refused.value.code, refused.value.found) == ("roster-columns-missing", "day")
    with pytest.raises(PortfolioError) as empty:
        read_days(*form("Date,Kind\n", CALENDAR), year=YEAR)
    assert empty.value.code == "roster-empty"


def test_school_years_have_one_form():
    """2026-27 however it is written; anything else is asked for again. Our default: 1 August to 31 July."""
    assert {read_year_label(text) for text in ("2026-27", "2026/27", "2026-2027", " 2026–27 ")} == {"2026-27"}
    assert read_year_label("1999-00") == "1999-00"
    for wrong in ("2026", "2026-28", "next year", ""):
        with pytest.raises(PortfolioError):
            read_year_label(wrong)
    assert (default_year("2026-27").starts_on, default_year("2026-27").ends_on) == (date(2026, 8, 1), date(2027, 7, 31))
    assert [year_holding(day).label for day in (date(2026, 7, 31), date(2026, 8, 1))] == ["2025-26", "2026-27"]
