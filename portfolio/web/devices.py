"""Settings, devices: what is signed in, ending it, and starting reflection stations."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Annotated, Any, Final

from fastapi import APIRouter, Form, Query, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from portfolio.errors import PortfolioError
from portfolio.flows import devices as flow
from portfolio.flows import settle, station
from portfolio.flows.desk import see_class_picks, see_lesson_now
from portfolio.flows.sign_in import HELPER, STATION, TEACHER
from portfolio.flows.station_codes import StationPlan
from portfolio.model.school import ClassGroup
from portfolio.web import words
from portfolio.web.answers import Choice
from portfolio.web.answers_devices import CodeShown, DeviceLine, DevicesPage, WrittenLine
from portfolio.web.desk import Desk, desk_of
from portfolio.web.fields import FormId, Id, IdWord, OptionalId, id_in
from portfolio.web.render import note_of, page
from portfolio.web.settings_frame import settings_frame
from portfolio.web.station import become_station

router = APIRouter(include_in_schema=False)

_SPANS: Final = (
    Choice("lesson", "Until the lesson ends", True),
    Choice("hour", "One hour"),
    Choice("day", "Until the school day ends"),
)
_HERE: Final = "/settings/devices"
_MOMENTS_AGO: Final = 6 * 60
"""Seconds; "last used" is only written down every five minutes."""
_DONE: Final = {"ended": "Signed out.", "starters": "The sentence starters are kept.", "taken": "Taken back."}


@router.get("/settings/devices")
def show_devices(
    request: Request,
    chosen: Annotated[int, Query(alias="class", ge=0)] = 0,
    done: Annotated[str, Query(max_length=20)] = "",
    step: OptionalId = 0,
) -> HTMLResponse:
    """What is signed in. ``class``: chosen already; ``done``: what was just carried out; ``step``: its undo."""
    return _page(request, chosen=chosen, done=_DONE.get(done, ""), undo=step or None)


def _page(
    request: Request, *, chosen: int = 0, error: PortfolioError | None = None, starters: str | None = None, **more: Any
) -> HTMLResponse:
    desk = desk_of(request)
    seen = flow.see_devices(desk.library, request.state.visitor, now=datetime.now(UTC))
    written = flow.see_written(desk.library, desk.today())
    answer = DevicesPage(
        frame=settings_frame(request, _HERE, note=note_of(error) if error else None),
        devices=tuple(_device(one) for one in seen),
        others=len(seen) - 1,
        classes=_classes(desk, chosen),
        spans=_SPANS,
        starters=starters if starters is not None else "\n".join(station.starters(desk.library)),
        written=tuple(_written(one) for one in written),
        way_back=_way_back(desk),
        **more,
    )
    return page(request, "devices.html", drawer="/settings", status=error.http if error else 200, page=answer)


def _way_back(desk: Desk) -> str:
    if desk.demo:
        return "In the invented school a press on the station’s first page leads back here."
    return "To come back to your pages here, sign in with your password."


def _classes(desk: Desk, chosen: int) -> tuple[Choice, ...]:
    groups = see_class_picks(desk.library, desk.today())
    now = see_lesson_now(desk.library, desk.today()).rpartition(", at ")[0]
    picked = chosen or next((one.class_id for one in groups if one.label == now), 0)
    return tuple(_class_choice(one, picked) for one in _by_grade(groups))


def _by_grade(groups: Iterable[ClassGroup]) -> list[ClassGroup]:
    return sorted(groups, key=lambda one: words.grade_order(one.grade))


def _class_choice(one: ClassGroup, picked: int) -> Choice:
    return Choice(str(one.class_id), one.label, one.class_id == picked)


def _device(one: flow.DeviceSeen) -> DeviceLine:
    today = datetime.now().astimezone().date()
    what = {
        TEACHER: "You, in this browser" if one.here else "You, in another browser",
        HELPER: f"{one.login}, as a helper",
        STATION: f"Reflection station for {one.class_label}" if one.class_label else "Reflection station",
    }[one.role]
    used = (datetime.now(UTC) - one.used_utc).total_seconds()
    last = "used just now" if used < _MOMENTS_AGO else f"last used {words.moment(one.used_utc, today=today)}"
    since = words.moment(one.since_utc, today=today)
    ends = words.moment(one.ends_utc, today=today)
    second = f"since {since} · {last} · ends {ends} at the latest"
    if one.role == STATION:
        second = f"since {since} · {last} · ends {ends}"
    return DeviceLine(
        sign_in_id=one.sign_in_id,
        title=what,
        second=second,
        here=one.here,
        station=one.role == STATION,
        action="End the station" if one.role == STATION else "Sign it out",
    )


def _written(one: flow.WrittenSeen) -> WrittenLine:
    waits = "may name a child, so only you see it" if one.held else ""
    parts = (one.work.class_label, one.work.title, words.capital(one.work.medium), waits)
    about = " · ".join(part for part in parts if part)
    return WrittenLine(one.work.number, f"/works/{one.work.work_id}#words", about, one.text, one.action_id)


# --- stations ---------------------------------------------------------------------------------------------


@router.post("/settings/devices/stations")
def start_station(
    request: Request,
    class_id: IdWord = "",
    span: Annotated[str, Form(max_length=20)] = "lesson",
    where: Annotated[str, Form(max_length=20)] = "here",
) -> Response:
    """Make this browser a station (the teacher's own sign-in in it ends), or show a code for another one."""
    desk, now = desk_of(request), datetime.now().astimezone()
    chosen = id_in(class_id) or 0
    try:
        if where == "code":
            return _code_page(request, chosen, span, now)
        opened = station.open_station(desk.library, chosen, span, today=desk.today(), now=now)
    except PortfolioError as error:
        return _page(request, chosen=chosen, error=error)
    return become_station(request, opened)


@dataclass(frozen=True, slots=True)
class Planned:
    """A station that waits for its browser: the code that admits it, its class, and when it will end."""

    code: str
    class_label: str
    ends_utc: datetime


def plan_station(desk: Desk, class_id: int, span: str, *, now: datetime) -> Planned:
    """A new code for a station of a class. ``now``: with the school's time zone. Refuses a span that is not offered."""
    ends = station.span_end(desk.library, class_id, span, today=desk.today(), now=now)
    label = station.see_station(desk.library, class_id, today=desk.today()).class_label
    return Planned(desk.station_codes.new(StationPlan(class_id, ends), now=now.astimezone(UTC)), label, ends)


def _code_page(request: Request, class_id: int, span: str, now: datetime) -> HTMLResponse:
    planned = plan_station(desk_of(request), class_id, span, now=now)
    sentence = (
        f"Open {request.url.netloc}/join in the other browser and type this. It works once, for 10 minutes. "
        f"The station for {planned.class_label} then lasts until {words.clock(planned.ends_utc.astimezone())}."
    )
    return _page(request, chosen=class_id, code=CodeShown(planned.code, sentence))


@router.post("/settings/devices/starters")
def keep_starters(request: Request, starters: Annotated[str, Form(max_length=2000)] = "") -> Response:
    """Keep the teacher's own list."""
    try:
        step = station.set_starters(desk_of(request).library, starters)
    except PortfolioError as error:
        return _page(request, error=error, starters=starters)
    return RedirectResponse(f"{_HERE}?done=starters&step={step}#starters", status_code=303)


@router.post("/settings/devices/undo")
def undo(request: Request, action_id: FormId, taken: Annotated[str, Form(max_length=1)] = "") -> Response:
    """Take back a step of this page; ``taken``: it is what a child wrote, and that can be brought back."""
    try:
        step = settle.undo(desk_of(request).library, action_id)
    except PortfolioError as error:
        return _page(request, error=error)
    return RedirectResponse(f"{_HERE}?done=taken&step={step}#written" if taken else _HERE, status_code=303)


# --- ending -----------------------------------------------------------------------------------------------


@router.post("/settings/devices/{sign_in_id}/end")
def end_one(request: Request, sign_in_id: Id) -> Response:
    """Sign one browser out at once."""
    flow.end_device(desk_of(request).library, sign_in_id)
    return RedirectResponse(f"{_HERE}?done=ended", status_code=303)


@router.post("/settings/devices/end-others")
def end_others(request: Request) -> Response:
    """Sign out every browser but this one."""
    flow.end_other_devices(desk_of(request).library, request.state.visitor)
    return RedirectResponse(f"{_HERE}?done=ended", status_code=303)
