"""Settings, the school's time: name, year, terms, timetable and days off are changed in forms and taken back."""

from __future__ import annotations

import re
from datetime import date

import pytest

from portfolio.flows import school_time as flow
from portfolio.model.calendar import DayKind, MarkedDay
from tests.web.conftest import App
from tests.web.room import TODAY


def _year(app: App, year: str = "2026-27") -> flow.SchoolTime:
    return flow.see_time(app.room.library, year=year, today=TODAY)


def undo(app: App, page: str) -> str:
    """Press Undo on a page that has just kept something; gives the page that follows."""
    fields = dict(re.findall(r'name="(action_id|back)" value="([^"]*)"', page))
    assert fields.keys() == {"action_id", "back"}, "the page offers Undo"
    return app.client.post("/settings/undo", data={key: one.replace("&amp;", "&") for key, one in fields.items()}).text


def beside(page: str, field: str) -> str:
    """The words beside a field; it is joined to them for a screen reader."""
    assert re.search(rf'id="{field}"[^>]*aria-invalid="true"[^>]*aria-describedby="[^"]*{field}-problem"', page), field
    return re.search(rf'id="{field}-problem">([^<]*)<', page).group(1)


YEAR = {
    "year": "2026-27",
    "starts_on": "2026-08-24",
    "ends_on": "2027-06-11",
    "cycle_days": "6",
    "first_cycle_day": "1",
    "lost_day": "shift",
}


def test_the_school_is_named_and_that_is_taken_back(app: App) -> None:
    """The new name stands on every page; Undo brings the old one back; no name is told beside the field."""
    page = app.client.post("/settings/year/school", data={"school_name": "  Heron   Lane School "}).text
    assert "Kept: Named the school." in page
    assert "<span>Heron Lane School</span>" in page
    assert "<span>Tern Street School</span>" in undo(app, page)
    empty = app.client.post("/settings/year/school", data={"school_name": " "})
    assert empty.status_code == 422
    assert "A name of 1 to" in beside(empty.text, "school_name")


def test_a_year_is_changed_and_that_is_taken_back(app: App) -> None:
    """Days and cycle as typed; undone as a whole."""
    before = _year(app).calendar
    page = app.client.post("/settings/year", data=YEAR | {"starts_on": "2026-08-20", "lost_day": "weekday"}).text
    after = _year(app).calendar
    assert (after.year.starts_on, after.lost_day.value) == (date(2026, 8, 20), "weekday")
    assert "Taken back: changed a school year." in undo(app, page)
    assert _year(app).calendar == before


@pytest.mark.parametrize(
    ("typed", "field", "said"),
    [
        ({"ends_on": "2026-08-01"}, "ends_on", "before the first"),
        ({"ends_on": "2028-06-11"}, "ends_on", "more than a year"),
        ({"starts_on": ""}, "starts_on", "Choose a day."),
        ({"starts_on": "soon"}, "starts_on", "This is no day."),
        ({"starts_on": "2026-06-01"}, "starts_on", "The school year 2025-26 has this day already."),
        ({"starts_on": "2026-09-01"}, "starts_on", "The term Fall term begins before this."),
        ({"ends_on": "2027-01-20"}, "ends_on", "The term Fall term ends after this."),
        ({"cycle_days": "12"}, "cycle_days", "from 1 to 10"),
        ({"cycle_days": "4"}, "cycle_days", "There are lessons on day 6."),
        ({"first_cycle_day": "7"}, "first_cycle_day", "only 6 days"),
    ],
)
def test_a_year_that_does_not_fit_is_told_beside_the_field(
    app: App, typed: dict[str, str], field: str, said: str
) -> None:
    """Nothing is changed; what was typed stays in the form."""
    before = _year(app).calendar
    answer = app.client.post("/settings/year", data=YEAR | typed)
    assert answer.status_code == 422
    assert said in beside(answer.text, field)
    assert "Nothing was changed." in answer.text
    (value,) = typed.values()
    assert f'value="{value}"' in answer.text
    assert _year(app).calendar == before


def test_terms_are_added_changed_and_taken_away(app: App) -> None:
    """Empty rows are left out, wherever they stand; an emptied row takes a term away; Undo brings it back."""
    typed = {
        "year": "2026-27",
        "term-0-label": "Fall term",
        "term-0-starts": "2026-08-24",
        "term-0-ends": "2026-12-18",
        "term-2-label": "Spring term",
        "term-2-starts": "2027-01-04",
        "term-2-ends": "2027-06-11",
    }
    app.client.post("/settings/year/terms", data=typed)
    assert [one.label for one in _year(app).calendar.terms] == ["Fall term", "Spring term"]
    page = app.client.post("/settings/year/terms", data=typed | dict.fromkeys(list(typed)[1:4], "")).text
    assert [one.label for one in _year(app).calendar.terms] == ["Spring term"]
    undo(app, page)
    assert len(_year(app).calendar.terms) == 2
    wrong = typed | {"term-2-starts": "2026-12-01", "term-0-ends": "2026-08-01", "term-3-starts": "2027-06-01"}
    said = app.client.post("/settings/year/terms", data=wrong)
    assert "Name the term" in beside(said.text, "term-2-label")
    assert 'id="term-1-starts" name="term-1-starts" type="date" value="2026-12-01"' in said.text
    overlap = app.client.post("/settings/year/terms", data=typed | {"term-2-starts": "2026-12-01"}).text
    assert beside(overlap, "term-1-starts") == "Fall term is not over by then."
    outside = app.client.post("/settings/year/terms", data=typed | {"term-2-ends": "2027-07-01"}).text
    assert "outside the school year" in beside(outside, "term-1-ends")


def test_the_next_year_is_made_once(app: App) -> None:
    """Proposed a year later on the same weekday, with the same cycle; the same year again is told."""
    page = app.client.get("/settings/year").text
    fields = {one: re.search(rf'name="{one}"[^>]*value="([^"]*)"', page).group(1) for one in _NEW}
    assert fields == {"new_label": "2027-28", "new_starts": "2027-08-23", "new_ends": "2028-06-09"}
    made = app.client.post("/settings/year/new", data=fields)
    assert "year=2027-28" in str(made.url)
    assert _year(app, "2027-28").calendar.cycle_days == 6
    assert "there already" in beside(app.client.post("/settings/year/new", data=fields).text, "new_label")
    overlap = app.client.post("/settings/year/new", data=fields | {"new_label": "2028-29"}).text
    assert "has this day already" in beside(overlap, "new_starts")
    wrong = fields | {"new_label": "next", "new_starts": "2030-08-23", "new_ends": "2031-06-09"}
    assert "Write it as 2026-27." in beside(app.client.post("/settings/year/new", data=wrong).text, "new_label")
    undo(app, made.text)
    assert len(_year(app).years) == 2


_NEW = ("new_label", "new_starts", "new_ends")


def test_lessons_of_a_class_are_changed_and_overlaps_told(app: App) -> None:
    """Two lessons for 3C; at the same time as 3B it is told; a lesson that ends first is told beside its field."""
    address = f"/settings/timetable/{app.room.classes['3C']}"
    assert app.client.get("/settings/timetable").status_code == 200
    typed = {"lesson-0-day": "2", "lesson-0-starts": "09:30", "lesson-0-ends": "10:15", "lesson-1-day": ""}
    page = app.client.post(address, data=typed).text
    mine = [one for one in _year(app).slots if one.class_id == app.room.classes["3C"]]
    assert [(one.cycle_day, one.starts_at.isoformat("minutes")) for one in mine] == [(2, "09:30")]
    assert "3B and 3C on day 2" in page
    for wrong, field, said in (
        ({"lesson-0-ends": "09:00"}, "lesson-0-ends", "ends before it begins"),
        ({"lesson-0-day": "9"}, "lesson-0-day", "days 1 to 6"),
        ({"lesson-0-starts": "early"}, "lesson-0-starts", "This is no time."),
        ({"lesson-0-starts": ""}, "lesson-0-starts", "A time is needed."),
        (
            {"lesson-3-day": "2", "lesson-3-starts": "10:00", "lesson-3-ends": "11:00"},
            "lesson-1-starts",
            "another lesson at this time",
        ),
    ):
        assert said in beside(app.client.post(address, data=typed | wrong).text, field)
    undo(app, page)
    assert len([one for one in _year(app).slots if one.class_id == app.room.classes["3C"]]) == 6


def test_days_off_are_marked_and_made_plain(app: App) -> None:
    """A break over a weekend is one line and leaves weekends alone; Undo and Unmark each take it away."""
    typed = {"year": "2026-27", "first": "2026-12-21", "last": "2027-01-01", "kind": "holiday", "note": "Winter break"}
    page = app.client.post("/settings/days", data=typed).text
    assert "December 21 to January 1" in page
    assert "Winter break, no school" in page
    assert len(_year(app).calendar.marked) == 10
    undo(app, page)
    assert _year(app).calendar.marked == ()
    app.client.post("/settings/days", data=typed)
    gone = app.client.post("/settings/days/plain", data=typed).text
    assert "No day is marked." in gone
    assert len(app.client.post("/settings/days/plain", data=typed).text) > 0
    undo(app, gone)
    assert len(_year(app).calendar.marked) == 10


@pytest.mark.parametrize(
    ("typed", "field", "said"),
    [
        ({"first": ""}, "first", "Choose a day."),
        ({"first": "2025-01-01"}, "first", "outside the school year"),
        ({"first": "2026-11-28"}, "first", "weekend days"),
        ({"last": "2026-11-01"}, "last", "before the first"),
        ({"last": "2027-08-01"}, "last", "outside the school year"),
        ({"last": "2027-05-01"}, "last", "at most 120 days"),
        ({"last": "2026-11-26", "cycle_day": "2"}, "cycle_day", "one day at a time"),
        ({"cycle_day": "7"}, "cycle_day", "days 1 to 6"),
    ],
)
def test_days_that_do_not_fit_are_told_beside_the_field(app: App, typed: dict[str, str], field: str, said: str) -> None:
    """In words, nothing changed."""
    before = _year(app).calendar
    answer = app.client.post("/settings/days", data={"year": "2026-27", "first": "2026-11-25", "kind": "snow"} | typed)
    assert answer.status_code == 422
    assert said in beside(answer.text, field)
    assert _year(app).calendar == before


def test_days_in_a_row_are_told_together() -> None:
    """A weekend does not part a break; another note, another kind or a named cycle day does."""
    off = [MarkedDay(date(2026, 12, day), DayKind.HOLIDAY, "Break") for day in (17, 18, 21)]
    off += [
        MarkedDay(date(2026, 12, 22), DayKind.HOLIDAY, "Other"),
        MarkedDay(date(2026, 12, 23), DayKind.SNOW, "Other"),
    ]
    off += [
        MarkedDay(date(2026, 12, 24), DayKind.SNOW, "Other", 3),
        MarkedDay(date(2026, 12, 29), DayKind.SNOW, "Other"),
    ]
    spans = [(one.first.day, one.last.day, one.cycle_day) for one in flow.spans_of(off)]
    assert spans == [(17, 21, None), (22, 22, None), (23, 23, None), (24, 24, 3), (29, 29, None)]


def test_what_is_no_step_of_hers_is_not_told_or_taken_back(app: App) -> None:
    """The program's own steps and numbers that are none are not offered; an undo that cannot be is told."""
    for number in ("0", "999999", "x", "1" * 30):
        assert "kept-line" not in app.client.get(f"/settings/year?kept={number}").text
    refused = app.client.post("/settings/undo", data={"action_id": "999999", "back": "https://elsewhere.test/"})
    assert refused.status_code == 404
    assert "is not in the library" in refused.text
