"""The JSON door, who may sign in: helpers, the teacher's password, signed-in browsers and reflection stations."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Annotated

from fastapi import Body, Request

from portfolio.errors import PortfolioError
from portfolio.flows import devices as devices_flow
from portfolio.flows import helpers as helpers_flow
from portfolio.flows import sign_in, station
from portfolio.flows.sign_in import HELPER
from portfolio.web import api_shapes as shapes
from portfolio.web.api_door import door
from portfolio.web.desk import desk_of
from portfolio.web.devices import plan_station
from portfolio.web.fields import Id

router = door()


# --- helpers ------------------------------------------------------------------------------------------------


@router.get("/helpers")
def list_helpers(request: Request) -> list[shapes.HelperOut]:
    """Who may sign in besides the teacher. The only names are those that she gave helpers to sign in with."""
    return [
        shapes.HelperOut(helper=one.account_id, login=one.login, since_utc=one.since_utc)
        for one in helpers_flow.see_helpers(desk_of(request).library)
    ]


@router.post("/helpers", status_code=201)
def add_helper(request: Request, given: Annotated[shapes.HelperIn, Body()]) -> shapes.PasswordOut:
    """Let a helper in. The password is in this answer and nowhere else."""
    password = helpers_flow.add_helper(desk_of(request).library, given.login)
    return shapes.PasswordOut(login=" ".join(given.login.split()), password=password)


@router.post("/helpers/{helper_id}/password")
def new_helper_password(request: Request, helper_id: Id) -> shapes.PasswordOut:
    """Another password for a helper, in this answer and nowhere else; the helper's browsers are signed out."""
    login, password = helpers_flow.new_password(desk_of(request).library, helper_id)
    return shapes.PasswordOut(login=login, password=password)


@router.delete("/helpers/{helper_id}", status_code=204)
def remove_helper(request: Request, helper_id: Id) -> None:
    """End a helper's account and browsers at once. Photos that were added stay."""
    helpers_flow.remove_helper(desk_of(request).library, helper_id)


# --- the teacher's password -----------------------------------------------------------------------------------


@router.put("/password")
def change_password(request: Request, given: Annotated[shapes.PasswordIn, Body()]) -> shapes.EndedOut:
    """Choose a new password; every other browser is signed out. A wrong one now is slowed down as at the door."""
    ended = sign_in.change_password(
        desk_of(request).library, request.state.visitor, current=given.current, password=given.password
    )
    return shapes.EndedOut(ended=ended)


# --- signed-in browsers ---------------------------------------------------------------------------------------


@router.get("/devices")
def list_devices(request: Request) -> list[shapes.DeviceOut]:
    """Every browser that is signed in, the one that asks first. Reflection stations have their class."""
    seen = devices_flow.see_devices(desk_of(request).library, request.state.visitor, now=datetime.now(UTC))
    return [
        shapes.DeviceOut.model_validate(
            {
                "device": one.sign_in_id,
                "role": one.role,
                "login": one.login if one.role == HELPER else None,
                "class": one.class_label or None,
                "since_utc": one.since_utc,
                "used_utc": one.used_utc,
                "ends_utc": one.ends_utc,
                "here": one.here,
            }
        )
        for one in seen
    ]


@router.delete("/devices/{device_id}", status_code=204)
def end_device(request: Request, device_id: Id) -> None:
    """Sign another browser out, or end a station. One that has ended by itself meanwhile is no trouble."""
    if device_id == request.state.visitor.sign_in_id:
        raise PortfolioError(
            "bad-request", item="This device", found="it is the one that asks; it leaves by signing out"
        )
    devices_flow.end_device(desk_of(request).library, device_id)


@router.delete("/devices")
def end_other_devices(request: Request) -> shapes.EndedOut:
    """Sign out every browser but the one that asks, stations too."""
    ended = devices_flow.end_other_devices(desk_of(request).library, request.state.visitor)
    return shapes.EndedOut(ended=ended)


# --- reflection stations ----------------------------------------------------------------------------------------


@router.post("/stations", status_code=201)
def admit_station(request: Request, given: Annotated[shapes.StationIn, Body()]) -> shapes.StationCodeOut:
    """A code that makes another browser the station of a class, once, within 10 minutes, at the address ``/join``."""
    planned = plan_station(desk_of(request), given.class_id, given.span, now=datetime.now().astimezone())
    return shapes.StationCodeOut.model_validate(
        {"code": planned.code, "class": planned.class_label, "ends_utc": planned.ends_utc}
    )


@router.get("/stations/starters")
def list_starters(request: Request) -> shapes.StartersShape:
    """How a sentence may begin at a station, in the teacher's order."""
    return shapes.StartersShape(starters=list(station.starters(desk_of(request).library)))


@router.put("/stations/starters")
def change_starters(request: Request, given: Annotated[shapes.StartersShape, Body()]) -> shapes.ActionOut:
    """The teacher's own list; an empty one offers none."""
    return shapes.ActionOut(action=station.set_starters(desk_of(request).library, "\n".join(given.starters)))


@router.get("/stations/written")
def list_written(request: Request) -> list[shapes.WrittenOut]:
    """What was written at stations today and stands, the newest first. ``action`` takes it back by its undo."""
    desk = desk_of(request)
    return [
        shapes.WrittenOut.model_validate(
            {
                "action": one.action_id,
                "work": one.work.work_id,
                "class": one.work.class_label,
                "number": one.work.number,
                "text": one.text,
                "held": one.held,
            }
        )
        for one in devices_flow.see_written(desk.library, desk.today())
    ]
