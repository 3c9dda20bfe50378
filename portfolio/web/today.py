"""Today: the day's classes on their lines, what waits, what is worth knowing, the latest works."""

from __future__ import annotations

from datetime import datetime
from typing import Final

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, JSONResponse

from portfolio.flows import look_back
from portfolio.flows.desk import DaySeen, LessonSeen, see_day
from portfolio.web import words
from portfolio.web.answers import Line, LineKind, Wall
from portfolio.web.answers_today import Lesson, TodayPage
from portfolio.web.beginning import begin_steps
from portfolio.web.classes import worth_words
from portfolio.web.desk import Desk, desk_of
from portfolio.web.render import page, plain
from portfolio.web.settings_backup import due_line
from portfolio.web.walls import tile_of

router = APIRouter(include_in_schema=False)

WORTH: Final = 3
"""Sentences about the next class; more would not be read between two lessons."""
SECONDS_A_QUESTION: Final = 8
"""A careful teacher by keyboard; only used to say "about two minutes"."""


@router.get("/healthz")
def is_alive() -> JSONResponse:
    """The server answers. Says no version and no counts."""
    return JSONResponse({"alive": True})


@router.get("/filling")
def show_filling(request: Request, *, first: bool = False) -> HTMLResponse:
    """How far the invented school is: a line that asks again by itself until it is done.

    ``first``: asked by a page without any work, which is shown anew as soon as there is one.
    """
    desk = desk_of(request)
    if first and see_day(desk.library, desk.today()).latest_day is not None:
        return HTMLResponse("", headers={"HX-Refresh": "true"})
    return plain("filling.html", filling=desk.filling, asked=True, first=first)


@router.get("/")
def show_today(request: Request) -> HTMLResponse:
    """The first page of the day."""
    desk = desk_of(request)
    day = desk.today()
    clock = datetime.now()  # noqa: DTZ005  the school's wall time
    now = clock if day == clock.date() else None
    seen = see_day(desk.library, day)
    ahead = next_lesson(seen, now=now)
    worth = worth_of(desk, ahead) if ahead else ()
    return page(
        request,
        "today.html",
        drawer="/",
        page=today_page(seen, now=now, ahead=ahead, worth=worth),
        filling=desk.filling,
        asked=False,
        first=seen.latest_day is None,
        backup=due_line(desk),
    )


def next_lesson(seen: DaySeen, *, now: datetime | None) -> LessonSeen | None:
    """The lesson that is on or comes next; without a clock, the first that has nothing filed yet."""
    for one in seen.lessons:
        comes = one.slot.ends_at > now.time() if now is not None else not one.filed
        if comes and one.children:
            return one
    return None


def worth_of(desk: Desk, lesson: LessonSeen) -> tuple[Line, ...]:
    """What is worth knowing before a class comes in."""
    today = desk.today()
    lines = worth_words(look_back.class_page(desk.library, lesson.group.label, today=today), today=today)[:WORTH]
    grid = f"/classes/{lesson.group.class_id}"
    return tuple(Line(text, grid if not at else None, "See the class grid") for at, text in enumerate(lines))


@router.get("/more")
def show_more(request: Request) -> HTMLResponse:
    """Every drawer, for a small window."""
    return page(request, "more.html", drawer="/more")


def today_page(
    seen: DaySeen, *, now: datetime | None, ahead: LessonSeen | None = None, worth: tuple[Line, ...] = ()
) -> TodayPage:
    """The answer for a day; ``now`` marks the lesson that is on (``None`` = the day is over or not real)."""
    total = sum(seen.waits.values())
    title, walls = _latest(seen)
    return TodayPage(
        day=_day_words(seen),
        lessons=tuple(_lesson(one, now=now) for one in seen.lessons),
        no_lessons=_no_lessons(seen),
        waits=total,
        waits_words=_waits_words(seen, total),
        worth_title=f"Worth knowing for {ahead.group.label}" if ahead else "",
        worth=worth,
        works_title=title,
        works=walls,
        coming=tuple(_coming(seen)),
        begin=begin_steps(seen),
    )


def _day_words(seen: DaySeen) -> str:
    day = words.day_long(seen.day)
    return f"{day} · day {seen.cycle_day} of {seen.cycle_days}" if seen.cycle_day else day


def _lesson(one: LessonSeen, *, now: datetime | None) -> Lesson:
    is_on = now is not None and one.slot.starts_at <= now.time() < one.slot.ends_at
    line: LineKind = "asks" if one.waits else "kept" if one.filed else "not-yet"
    return Lesson(
        time=words.clock(one.slot.starts_at),
        datetime=one.slot.starts_at.strftime("%H:%M"),
        class_name=one.group.label,
        href=f"/classes/{one.group.class_id}",
        sentence=_lesson_words(one, is_on=is_on),
        line="now" if is_on else line,
        waits=one.waits,
        waits_href="/check",
    )


def _lesson_words(one: LessonSeen, *, is_on: bool) -> str:
    filed = f"{words.count(one.filed, 'work')} filed" if one.filed else ""
    if one.waits:
        return f"{filed or 'Nothing filed yet'},"
    if filed and not is_on:
        return f"{filed}."
    parts = ["Now."] if is_on else []
    parts.append(f"{words.count(one.children, 'child', 'children')}." if one.children else "Nobody has a number yet.")
    if one.opens_today:
        opens = words.capital(words.listed(list(one.opens_today)))
        parts.append(f"{opens} {'opens' if len(one.opens_today) == 1 else 'open'} today.")
    elif one.centers:
        open_now = words.capital(words.listed(list(one.centers)))
        parts.append(f"{open_now} {'is' if len(one.centers) == 1 else 'are'} open.")
    return " ".join(parts)


def _no_lessons(seen: DaySeen) -> str:
    if not seen.labels:
        return "No classes yet."
    if not seen.has_timetable:
        return "No timetable yet, so the day's classes are not known."
    now = "No lessons today." if seen.cycle_day else "No school today."
    if seen.next_lesson is None:
        return now
    day, slot, label = seen.next_lesson
    return f"{now} Next: {label} on {words.day_long(day)} at {words.clock(slot.starts_at)}."


def _waits_words(seen: DaySeen, total: int) -> str:
    known = [seen.labels[key] for key in seen.waits if key is not None and key in seen.labels]
    about = f" from {words.listed(sorted(known))}" if len(known) in (1, 2, 3) else ""
    minutes = max(1, round(total * SECONDS_A_QUESTION / 60))
    spend = "About one minute." if minutes == 1 else f"About {minutes} minutes."
    return f"question{'' if total == 1 else 's'}{about}. {spend}"


def _latest(seen: DaySeen) -> tuple[str, Wall]:
    if seen.latest_day is None:
        return "From the last lesson", Wall(())
    said = words.day_plain(seen.latest_day, today=seen.day)
    title = f"From {said}" if said in ("today", "yesterday") else f"From the last lesson day, {said}"
    return title, Wall(tuple(tile_of(work) for work in seen.latest))


def _coming(seen: DaySeen) -> list[Line]:
    found = [
        Line(
            f"{words.count(originals, 'original')} still to come from a phone or camera.",
            f"/add/{batch_id}",
            "See the batch",
        )
        for batch_id, originals in seen.on_their_way.items()
    ]
    if seen.without_words:
        have = "has" if seen.without_words == 1 else "have"
        text = f"{words.count(seen.without_words, 'work')} of the last seven days {have} no words from the child yet."
        found.append(Line(text, "/find?said=without", "See them"))
    if seen.next_show:
        key, title, day = seen.next_show
        found.append(Line(f"{title} opens {words.day_plain(day, today=seen.day)}.", f"/shows/{key}", "See its works"))
    if seen.term:
        ends = words.day_plain(seen.term.ends_on, today=seen.day)
        found.append(Line(f"{seen.term.label} ends {ends}.", "/reports", "See what is kept"))
    return found
