"""Settings: the school, the room, the people, and a roster taken in after a look at what it would change."""

from __future__ import annotations

from datetime import date
from typing import Final

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from portfolio import __version__
from portfolio.flows.desk import SchoolSeen, see_school
from portfolio.flows.helpers import see_helpers
from portfolio.web import words
from portfolio.web.answers import Fact, Line, Note
from portfolio.web.answers_shows import RosterPreview, SettingsPage
from portfolio.web.desk import desk_of
from portfolio.web.render import page
from portfolio.web.settings_frame import pages

router = APIRouter(include_in_schema=False)

SOME: Final = 4
"""Media and centers named on the first page; the rest is counted."""


@router.get("/settings")
def show_settings(request: Request) -> HTMLResponse:
    """The school as the library knows it."""
    return settings(request)


def settings(
    request: Request,
    *,
    preview: RosterPreview | None = None,
    done: str = "",
    note: Note | None = None,
    status: int = 200,
) -> HTMLResponse:
    """The page, with a roster's preview or a note above it."""
    desk = desk_of(request)
    seen = see_school(desk.library, desk.today())
    logins = [one.login for one in see_helpers(desk.library)]
    answer = settings_page(
        seen, today=desk.today(), helpers=logins, preview=preview, done=done, note=note, demo=desk.demo
    )
    return page(request, "settings.html", drawer="/settings", status=status, page=answer)


def settings_page(
    seen: SchoolSeen,
    *,
    today: date,
    helpers: list[str],
    preview: RosterPreview | None = None,
    done: str = "",
    note: Note | None = None,
    demo: bool = False,
) -> SettingsPage:
    """The answer for the school."""
    return SettingsPage(
        pages=pages("/settings"),
        facts=tuple(_facts(seen, today)),
        has_classes=bool(seen.classes),
        year_guess=seen.year.label if seen.year else _year_guess(today),
        terms=tuple(Line(f"{one.label}: {words.days(one.starts_on, one.ends_on, today=today)}") for one in seen.terms),
        media=_some([one.label for one in seen.media if one.active]),
        centers=_some([one.label for one in seen.centers if one.active]),
        people=(
            Fact("Signed in", "you, as the teacher" + (", for the invented school" if demo else "")),
            Fact("Helpers", words.listed(helpers) or "nobody else can sign in"),
        ),
        about=(
            Fact("Photos kept", f"{seen.photos:,}, each as it was received"),
            Fact("Works", f"{seen.works:,}"),
            Fact("Children’s words", f"{seen.reflections:,}"),
            Fact("Where", "on this computer; nothing leaves it unless you make pages for others"),
            Fact("Portfolio", __version__),
        ),
        preview=preview,
        done=done,
        note=note,
    )


def _some(labels: list[str]) -> str:
    """The first few by name and how many more: the whole list has its own page."""
    if not labels:
        return "none yet"
    more = len(labels) - SOME
    return words.capital(words.listed([*labels[:SOME], f"{more} more"] if more > 1 else labels))


def _year_guess(today: date) -> str:
    first = today.year if today.month >= 7 else today.year - 1
    return f"{first}-{(first + 1) % 100:02d}"


def _facts(seen: SchoolSeen, today: date) -> list[Fact]:
    found = [Fact("School", seen.name or "not named yet")]
    if seen.year is None:
        return [*found, Fact("School year", "none yet")]
    span = words.days(seen.year.starts_on, seen.year.ends_on, today=today)
    found.append(Fact("School year", f"{words.year(seen.year.label)}, {span}"))
    found.append(Fact("Years kept", words.listed([words.year(one) for one in seen.years])))
    lessons = f"{words.count(seen.lessons, 'lesson')} on a cycle of {words.count(seen.cycle_days, 'day')}"
    found.append(Fact("Timetable", lessons if seen.lessons else "none yet"))
    classes = f"{seen.classes}, with {words.count(seen.children, 'child', 'children')}" if seen.classes else "none yet"
    found.append(Fact("Classes", classes))
    return found
