"""Settings, year and terms: the school's name, a year's days and how they are counted, its terms, a new year."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Final
from urllib.parse import quote

from fastapi import APIRouter, Depends, Query, Request
from fastapi.responses import HTMLResponse, Response

from portfolio.errors import PortfolioError
from portfolio.flows import school_time as flow
from portfolio.flows.school_time import SchoolTime
from portfolio.model.calendar import CYCLE_DAYS_MAX, LostDay, SchoolYear, Term
from portfolio.roster.sessions import year_holding
from portfolio.web import words
from portfolio.web.answers import Chip
from portfolio.web.answers_settings import Field, YearPage
from portfolio.web.desk import desk_of
from portfolio.web.render import page
from portfolio.web.rosters import form_fields
from portfolio.web.settings_frame import kept, settings_frame
from portfolio.web.typed import Typed

router = APIRouter(include_in_schema=False)

_HERE: Final = "/settings/year"
MORE_TERMS: Final = 2
"""Empty rows offered after the terms that are there."""
TERMS_MAX: Final = 20
_PARTS: Final = ("label", "starts", "ends")
LABEL_MAX: Final = 40
_LOST: Final = {
    LostDay.SHIFT.value: "The next day takes its place",
    LostDay.SKIP.value: "Its day of the cycle is left out",
    LostDay.WEEKDAY.value: "Every Monday is day 1",
}

Fields = Annotated[dict[str, str], Depends(form_fields)]
"""All fields of a form, by name."""
YearWord = Annotated[str, Query(max_length=20)]
"""``?year=2026-27``; empty means the current one."""


@router.get("/settings/year")
def show_year(request: Request, year: YearWord = "") -> HTMLResponse:
    """The school and one of its years."""
    return _page(request, year)


@router.post("/settings/year/school")
def name_school(request: Request, fields: Fields) -> Response:
    """Set the school's name."""
    typed = Typed(fields)
    try:
        return kept(_HERE, flow.name_school(desk_of(request).library, typed.raw("school_name")))
    except PortfolioError as error:
        return _page(request, typed.raw("year"), typed=typed, error=error)


@router.post("/settings/year")
def keep_year(request: Request, fields: Fields) -> Response:
    """Keep a year's days and how they are counted."""
    typed = Typed(fields)
    starts, ends = typed.day("starts_on"), typed.day("ends_on")
    cycle = typed.number("cycle_days", least=1, most=CYCLE_DAYS_MAX)
    first = typed.number("first_cycle_day", least=1, most=CYCLE_DAYS_MAX)
    lost = typed.raw("lost_day", LostDay.SHIFT.value)
    year = typed.raw("year")
    try:
        typed.check()
        assert starts and ends and cycle and first  # noqa: PT018  all were read, or check has refused
        action = flow.change_year(
            desk_of(request).library,
            year,
            starts_on=starts,
            ends_on=ends,
            cycle_days=cycle,
            first_cycle_day=first,
            lost_day=LostDay(lost if lost in _LOST else LostDay.SHIFT),
        )
    except PortfolioError as error:
        return _page(request, year, typed=typed, error=error)
    return kept(_at(year), action)


@router.post("/settings/year/terms")
def keep_terms(request: Request, fields: Fields) -> Response:
    """Keep the terms of a year; an empty row is left out."""
    typed = Typed(fields)
    year = typed.raw("year")
    try:
        return kept(_at(year), flow.change_terms(desk_of(request).library, _terms(typed), year=year))
    except PortfolioError as error:
        return _page(request, year, typed=typed, error=error)


def _terms(typed: Typed) -> list[Term]:
    found = []
    for at in range(typed.pack("term-", _PARTS, most=TERMS_MAX)):
        label = typed.text(f"term-{at}-label", most=LABEL_MAX, needed="Name the term, or empty its days too.")
        first, last = typed.day(f"term-{at}-starts"), typed.day(f"term-{at}-ends")
        if first and last:
            found.append(Term(label, first, last))
    typed.check()
    return found


@router.post("/settings/year/new")
def make_year(request: Request, fields: Fields) -> Response:
    """Make a new school year."""
    typed = Typed(fields)
    typed.text("new_label", most=9, needed="Write the school year as 2026-27.")
    first, last = typed.day("new_starts"), typed.day("new_ends")
    try:
        typed.check()
        assert first and last  # noqa: PT018  both were read, or check has refused
        label, action = flow.add_year(desk_of(request).library, typed.raw("new_label"), starts_on=first, ends_on=last)
    except PortfolioError as error:
        return _page(request, typed.raw("year"), typed=typed, error=error)
    return kept(_at(label), action)


def _at(year: str) -> str:
    return f"{_HERE}?year={quote(year)}"


def _page(
    request: Request, year: str, *, typed: Typed | None = None, error: PortfolioError | None = None
) -> HTMLResponse:
    desk = desk_of(request)
    form = typed or Typed()
    frame = settings_frame(request, _HERE, form=form, error=error)
    seen = flow.see_time(desk.library, year=year or None, today=desk.today())
    answer = YearPage(
        frame=frame,
        years=year_chips(seen, _HERE),
        school=form.field("school_name", "The school’s name", seen.school, most=flow.SCHOOL_NAME_MAX),
        new=_new_fields(form, seen, desk.today()),
        new_open=seen.calendar is None or any(key.startswith("new_") for key in form.problems),
        **_year_parts(form, seen),  # type: ignore[arg-type]
    )
    return page(request, "settings_year.html", drawer="/settings", status=error.http if error else 200, page=answer)


def year_chips(seen: SchoolTime, here: str) -> tuple[Chip, ...]:
    """The years as links, the shown one chosen; none when there is only one to see."""
    shown = seen.calendar.year.label if seen.calendar else ""
    chips = tuple(
        Chip(f"{here}?year={quote(one.label)}", words.year(one.label), chosen=one.label == shown) for one in seen.years
    )
    return chips if len(chips) > 1 else ()


def _year_parts(form: Typed, seen: SchoolTime) -> dict[str, object]:
    if seen.calendar is None:
        return {"year": "", "title": "", "span": (), "cycle": (), "lost_day": (), "terms": ()}
    calendar, year = seen.calendar, seen.calendar.year
    counted = "School days until it begins again, like 6."
    return {
        "year": year.label,
        "title": f"School year {words.year(year.label)}",
        "span": (
            form.field("starts_on", "First day of school", year.starts_on.isoformat(), kind="date"),
            form.field("ends_on", "Last day", year.ends_on.isoformat(), kind="date"),
        ),
        "cycle": (
            form.field("cycle_days", "Days in the cycle", str(calendar.cycle_days), kind="number", hint=counted),
            form.field(
                "first_cycle_day",
                "The first day of school is day",
                str(calendar.first_cycle_day),
                kind="number",
                hint="Nearly always 1.",
            ),
        ),
        "lost_day": form.choices("lost_day", _LOST, calendar.lost_day.value),
        "terms": _term_rows(form, calendar.terms),
    }


def _term_rows(form: Typed, terms: tuple[Term, ...]) -> tuple[tuple[Field, Field, Field], ...]:
    said = [(one.label, one.starts_on.isoformat(), one.ends_on.isoformat()) for one in terms]
    rows = form.rows("term-", "label", said, more=MORE_TERMS, empty=("", "", ""))
    return tuple(
        (
            form.field(f"term-{at}-label", f"Term {at + 1}", label, most=LABEL_MAX),
            form.field(f"term-{at}-starts", "First day", starts, kind="date"),
            form.field(f"term-{at}-ends", "Last day", ends, kind="date"),
        )
        for at, (label, starts, ends) in enumerate(rows[:TERMS_MAX])
    )


def _new_fields(form: Typed, seen: SchoolTime, today: date) -> tuple[Field, ...]:
    label, starts, ends = _next_year(seen.years, today)
    return (
        form.field("new_label", "School year", label, hint="Like 2026-27.", most=9),
        form.field("new_starts", "First day of school", starts, kind="date"),
        form.field("new_ends", "Last day", ends, kind="date"),
    )


def _next_year(years: tuple[SchoolYear, ...], today: date) -> tuple[str, str, str]:
    """The year after the newest, a year later day by day; without any, the one that holds today."""
    if not years:
        usual = year_holding(today)
        return usual.label, usual.starts_on.isoformat(), usual.ends_on.isoformat()
    first = int(years[0].label[:4]) + 1
    return f"{first}-{(first + 1) % 100:02d}", _later(years[0].starts_on), _later(years[0].ends_on)


def _later(day: date) -> str:
    """The same weekday a year later: school begins on a Monday again."""
    return date.fromordinal(day.toordinal() + 364).isoformat()
