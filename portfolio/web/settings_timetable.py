"""Settings, timetable: the lessons of the cycle, and those of one class in a form."""

from __future__ import annotations

from typing import Final
from urllib.parse import quote

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from portfolio.errors import PortfolioError
from portfolio.flows import school_time as flow
from portfolio.flows.desk import class_and_year
from portfolio.flows.school_time import SchoolTime
from portfolio.model.calendar import CYCLE_DAYS_MAX, TimetableSlot
from portfolio.web import words
from portfolio.web.answers import Chip, Fact
from portfolio.web.answers_settings import Field, LessonsOfDay, TimetablePage
from portfolio.web.desk import desk_of
from portfolio.web.fields import Id, OptionalId
from portfolio.web.render import page
from portfolio.web.settings_frame import kept, settings_frame
from portfolio.web.settings_year import Fields, YearWord, year_chips
from portfolio.web.typed import Typed

router = APIRouter(include_in_schema=False)

_HERE: Final = "/settings/timetable"
_PARTS: Final = ("day", "starts", "ends")
MORE_LESSONS: Final = 2
"""Empty rows offered after the lessons that are there."""
LESSONS_MAX: Final = 20


@router.get("/settings/timetable")
def show_timetable(request: Request, year: YearWord = "", class_id: OptionalId = 0) -> HTMLResponse:
    """The lessons of a year, and of one class to be changed."""
    return _page(request, year, class_id=class_id)


@router.post("/settings/timetable/{class_id}")
def keep_lessons(request: Request, class_id: Id, fields: Fields) -> Response:
    """Keep the lessons of one class; an empty row is left out."""
    library, typed = desk_of(request).library, Typed(fields)
    _, year = class_and_year(library, class_id)
    try:
        action = flow.change_lessons(library, class_id, _lessons(typed, class_id))
    except PortfolioError as error:
        return _page(request, year.label, class_id=class_id, typed=typed, error=error)
    return kept(f"{_HERE}?year={quote(year.label)}&class_id={class_id}", action)


def _lessons(typed: Typed, class_id: int) -> list[TimetableSlot]:
    found = []
    for at in range(typed.pack("lesson-", _PARTS, most=LESSONS_MAX)):
        day = typed.number(f"lesson-{at}-day", least=1, most=CYCLE_DAYS_MAX)
        starts, ends = typed.clock(f"lesson-{at}-starts"), typed.clock(f"lesson-{at}-ends")
        if day and starts is not None and ends is not None:
            found.append(TimetableSlot(class_id, day, starts, ends))
    typed.check()
    return found


def _page(
    request: Request,
    year: str,
    *,
    class_id: int = 0,
    typed: Typed | None = None,
    error: PortfolioError | None = None,
) -> HTMLResponse:
    desk = desk_of(request)
    form = typed or Typed()
    frame = settings_frame(request, _HERE, form=form, error=error)
    seen = flow.see_time(desk.library, year=year or None, today=desk.today())
    label = {one.class_id: one.label for one in seen.classes}
    chosen = class_id if class_id in label else None
    answer = TimetablePage(
        frame=frame,
        years=year_chips(seen, _HERE),
        year=words.year(seen.calendar.year.label) if seen.calendar else "",
        days=_days(seen, label),
        overlaps=_overlap_words(seen, label),
        classes=_class_chips(seen, chosen),
        class_id=chosen,
        class_label=label.get(class_id, ""),
        lessons=_lesson_rows(form, seen, class_id) if chosen else (),
    )
    status = error.http if error else 200
    return page(request, "settings_timetable.html", drawer="/settings", status=status, page=answer)


def _days(seen: SchoolTime, label: dict[int, str]) -> tuple[LessonsOfDay, ...]:
    cycle_days = seen.calendar.cycle_days if seen.calendar else 0
    return tuple(
        LessonsOfDay(
            f"Day {day}",
            tuple(
                Fact(
                    f"{words.clock(one.starts_at)}–{words.clock(one.ends_at)}",
                    label[one.class_id],
                    f"{_address(seen)}&class_id={one.class_id}#class",
                )
                for one in seen.slots
                if one.cycle_day == day
            ),
        )
        for day in range(1, cycle_days + 1)
    )


def _address(seen: SchoolTime) -> str:
    return f"{_HERE}?year={quote(seen.calendar.year.label)}" if seen.calendar else _HERE


def _class_chips(seen: SchoolTime, chosen: int | None) -> tuple[Chip, ...]:
    return tuple(
        Chip(f"{_address(seen)}&class_id={one.class_id}#class", one.label, chosen=one.class_id == chosen)
        for one in sorted(seen.classes, key=lambda one: (words.grade_order(one.grade), one.label))
    )


def _overlap_words(seen: SchoolTime, label: dict[int, str]) -> str:
    """Lessons that are on at once are told, not refused: two classes may share a room once."""
    if not seen.overlaps:
        return ""
    pairs = [
        f"{label[one.class_id]} and {label[other.class_id]} on day {one.cycle_day}" for one, other in seen.overlaps
    ]
    more = f", and {len(pairs) - 3} more" if len(pairs) > 3 else ""
    return f"At the same time: {'; '.join(pairs[:3])}{more}. Photos of such a lesson are asked about."


def _lesson_rows(form: Typed, seen: SchoolTime, class_id: int) -> tuple[tuple[Field, Field, Field], ...]:
    said = [
        (str(one.cycle_day), one.starts_at.strftime("%H:%M"), one.ends_at.strftime("%H:%M"))
        for one in seen.slots
        if one.class_id == class_id
    ]
    rows = form.rows("lesson-", "day", said, more=MORE_LESSONS, empty=("", "", ""))
    return tuple(
        (
            form.field(f"lesson-{at}-day", "Day of the cycle", day, kind="number"),
            form.field(f"lesson-{at}-starts", "Begins", starts, kind="time"),
            form.field(f"lesson-{at}-ends", "Ends", ends, kind="time"),
        )
        for at, (day, starts, ends) in enumerate(rows[:LESSONS_MAX])
    )
