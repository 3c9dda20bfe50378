"""Settings, days off: holidays, days lost on short notice, and school on a weekend."""

from __future__ import annotations

from datetime import date
from typing import Final
from urllib.parse import quote

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from portfolio.errors import PortfolioError
from portfolio.flows import school_time as flow
from portfolio.flows.school_time import Span
from portfolio.model.calendar import CYCLE_DAYS_MAX, DayKind
from portfolio.roster import calendar as days
from portfolio.web import words
from portfolio.web.answers_settings import DaysPage, MarkedLine
from portfolio.web.desk import desk_of
from portfolio.web.render import page
from portfolio.web.settings_frame import kept, settings_frame
from portfolio.web.settings_year import Fields, YearWord, year_chips
from portfolio.web.typed import Typed

router = APIRouter(include_in_schema=False)

_HERE: Final = "/settings/days"
NOTE_MAX: Final = 60
_KINDS: Final = {
    DayKind.HOLIDAY.value: "No school, planned",
    DayKind.SNOW.value: "No school, lost on short notice (snow)",
    DayKind.SCHOOL.value: "School, though it is a weekend",
}
_SAID: Final = {DayKind.HOLIDAY: "no school", DayKind.SNOW: "lost on short notice", DayKind.SCHOOL: "school"}


@router.get("/settings/days")
def show_days(request: Request, year: YearWord = "") -> HTMLResponse:
    """The marked days of a year."""
    return _page(request, year)


@router.post("/settings/days")
def mark(request: Request, fields: Fields) -> Response:
    """Mark a day or days in a row."""
    typed = Typed(fields)
    year, kind = typed.raw("year"), typed.raw("kind", DayKind.HOLIDAY.value)
    first, last = typed.day("first"), typed.day("last", needed=False)
    note = typed.text("note", most=NOTE_MAX)
    cycle_day = typed.number("cycle_day", least=1, most=CYCLE_DAYS_MAX, needed=False)
    try:
        typed.check()
        assert first is not None  # it was read, or check has refused
        action = flow.mark_days(
            desk_of(request).library,
            year=year,
            first=first,
            last=last,
            kind=DayKind(kind if kind in _KINDS else DayKind.HOLIDAY),
            note=note,
            cycle_day=cycle_day,
        )
    except PortfolioError as error:
        return _page(request, year, typed=typed, error=error)
    return kept(f"{_HERE}?year={quote(year)}", action)


@router.post("/settings/days/plain")
def unmark(request: Request, fields: Fields) -> Response:
    """Make marked days plain again."""
    typed = Typed(fields)
    year, first, last = typed.raw("year"), typed.day("first"), typed.day("last")
    try:
        typed.check()
        assert first and last  # noqa: PT018  both were read, or check has refused
        action = flow.unmark_days(desk_of(request).library, year=year, first=first, last=last)
    except PortfolioError as error:
        return _page(request, year, error=error)
    return kept(f"{_HERE}?year={quote(year)}", action)


def _page(
    request: Request, year: str, *, typed: Typed | None = None, error: PortfolioError | None = None
) -> HTMLResponse:
    desk = desk_of(request)
    form = typed or Typed()
    frame = settings_frame(request, _HERE, form=form, error=error)
    seen = flow.see_time(desk.library, year=year or None, today=desk.today())
    calendar = seen.calendar
    answer = DaysPage(
        frame=frame,
        years=year_chips(seen, _HERE),
        year=calendar.year.label if calendar else "",
        marked=tuple(_line(one, desk.today()) for one in flow.spans_of(calendar.marked)) if calendar else (),
        counted=words.count(len(days.cycle_of(calendar)), "school day") if calendar else "",
        fields=(
            form.field("first", "First day", kind="date"),
            form.field("last", "Last day", kind="date", hint="Empty: only the first day."),
        ),
        kinds=form.choices("kind", _KINDS, DayKind.HOLIDAY.value),
        note=form.field("note", "What it is", hint="Like “Winter break”. May stay empty.", most=NOTE_MAX),
        cycle_day=form.field(
            "cycle_day", "Day of the cycle, if the school named one", kind="number", hint="Counting goes on from there."
        ),
    )
    return page(request, "settings_days.html", drawer="/settings", status=error.http if error else 200, page=answer)


def _line(span: Span, today: date) -> MarkedLine:
    one_day = span.first == span.last
    said = _day_words(span.first, today) if one_day else words.days(span.first, span.last, today=today)
    named = f"day {span.cycle_day} of the cycle" if span.cycle_day else ""
    what = ", ".join(part for part in (span.note, _SAID[span.kind], named) if part)
    return MarkedLine(words.capital(said), words.capital(what), span.first.isoformat(), span.last.isoformat())


def _day_words(day: date, today: date) -> str:
    said = words.day_plain(day, today=today)
    return said if said in ("today", "yesterday") else words.day_long(day)
