"""Settings, media and centers: their names, their order, what is offered, what is at hand where."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any, Final

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from portfolio.archive.library import Library
from portfolio.errors import PortfolioError
from portfolio.flows import art_room as flow
from portfolio.flows.art_room import CentreSeen, MediumSeen, Move
from portfolio.web import words
from portfolio.web.answers import Choice
from portfolio.web.answers_settings import Field, RoomLine, RoomPage
from portfolio.web.desk import desk_of
from portfolio.web.fields import Id, id_in
from portfolio.web.render import page
from portfolio.web.settings_frame import kept, settings_frame
from portfolio.web.settings_year import Fields
from portfolio.web.typed import Typed

router = APIRouter(include_in_schema=False)

_MEDIA: Final = "/settings/media"
_CENTERS: Final = "/settings/centers"
_TICK: Final = "medium-"
_MOVES: Final[dict[str, Move]] = {"earlier": "earlier", "later": "later"}


@dataclass(frozen=True, slots=True)
class _Steps:
    """What can be done with a medium or with a center, each giving its step's number."""

    keep: Callable[[Library, int, Typed], int]
    offer: Callable[..., int]
    move: Callable[[Library, int, Move], int]
    remove: Callable[[Library, int], int]


def _do(steps: _Steps, library: Library, key: int, typed: Typed) -> int:
    """The press that was pressed says what is done; Enter in a field keeps the form."""
    wanted = typed.raw("do", "keep")
    if wanted in _MOVES:
        return steps.move(library, key, _MOVES[wanted])
    if wanted in ("retire", "offer"):
        return steps.offer(library, key, active=wanted == "offer")
    if wanted == "delete":
        return steps.remove(library, key)
    return steps.keep(library, key, typed)


# --- media ------------------------------------------------------------------------------------------------


@router.get("/settings/media")
def show_media(request: Request) -> HTMLResponse:
    """Every medium."""
    return _media_page(request)


@router.post("/settings/media")
def add_medium(request: Request, fields: Fields) -> Response:
    """A new medium."""
    typed = Typed(fields)
    try:
        action = flow.add_medium(desk_of(request).library, typed.raw("label"), **_medium_facts(typed))
    except PortfolioError as error:
        return _media_page(request, typed=typed, error=error)
    return kept(_MEDIA, action)


@router.post("/settings/media/{medium_id}")
def change_medium(request: Request, medium_id: Id, fields: Fields) -> Response:
    """Change, move, retire or delete one medium."""
    typed = Typed(fields)
    try:
        action = _do(_MEDIUM_STEPS, desk_of(request).library, medium_id, typed)
    except PortfolioError as error:
        return _media_page(request, typed=typed, error=error, about=medium_id)
    return kept(f"{_MEDIA}?open={medium_id}", action)


def _medium_facts(typed: Typed) -> dict[str, Any]:
    return {"aat_id": typed.raw("aat_id").strip(), "solid": bool(typed.raw("solid"))}


_MEDIUM_STEPS: Final = _Steps(
    keep=lambda library, key, typed: flow.change_medium(library, key, label=typed.raw("label"), **_medium_facts(typed)),
    offer=flow.offer_medium,
    move=flow.move_medium,
    remove=flow.remove_medium,
)


def _media_page(
    request: Request, *, typed: Typed | None = None, error: PortfolioError | None = None, about: int = 0
) -> HTMLResponse:
    form = typed or Typed()
    frame = settings_frame(request, _MEDIA, form=form, error=error)
    seen = flow.see_media(desk_of(request).library)
    opened = about or (id_in(request.query_params.get("open", "")) or 0)
    lines = [_medium_line(one, seen, form if one.medium.medium_id == about else Typed(), opened) for one in seen]
    fresh = Typed() if about else form
    answer = RoomPage(
        frame=frame,
        one="medium",
        address=_MEDIA,
        ticks_words="",
        offered=tuple(one for one in lines if one.active),
        retired=tuple(one for one in lines if not one.active),
        new=_medium_fields(fresh, "new", "", ""),
        new_ticks=(_solid(bool(fresh.raw("solid"))),),
        new_open=bool(fresh.problems),
    )
    return page(request, "settings_room.html", drawer="/settings", status=error.http if error else 200, page=answer)


def _medium_line(seen: MediumSeen, every: tuple[MediumSeen, ...], form: Typed, opened: int) -> RoomLine:
    one = seen.medium
    same = [other.medium.medium_id for other in every if other.medium.active == one.active]
    parts = [
        words.count(seen.works, "work") if seen.works else "no works yet",
        f"card {one.card}" if one.card else "no card",
        "three-dimensional" if one.solid else "",
        f"AAT {one.aat_id}" if one.aat_id else "",
    ]
    return RoomLine(
        address=f"{_MEDIA}/{one.medium_id}",
        id=f"one-{one.medium_id}",
        label=words.capital(one.label),
        second=", ".join(part for part in parts if part),
        active=one.active,
        removable=seen.removable,
        first=same[0] == one.medium_id,
        last=same[-1] == one.medium_id,
        open=one.medium_id == opened,
        fields=_medium_fields(form, str(one.medium_id), one.label, one.aat_id or ""),
        ticks=(_solid(bool(form.raw("solid")) if form.problems else one.solid),),
    )


def _medium_fields(form: Typed, at: str, label: str, aat_id: str) -> tuple[Field, ...]:
    aat = "In the Art & Architecture Thesaurus, if you know it."
    return (
        form.field("label", "Name", label, at=at, most=flow.LABEL_MAX),
        form.field("aat_id", "AAT id", aat_id, at=at, hint=aat, most=9),
    )


def _solid(ticked: bool) -> Choice:  # noqa: FBT001  one fact of a tick
    return Choice("solid", "Usually three-dimensional: its photos are not squared up by the card", ticked)


# --- centers ----------------------------------------------------------------------------------------------


@router.get("/settings/centers")
def show_centers(request: Request) -> HTMLResponse:
    """Every center."""
    return _centers_page(request)


@router.post("/settings/centers")
def add_center(request: Request, fields: Fields) -> Response:
    """A new center."""
    typed = Typed(fields)
    try:
        action = flow.add_centre(desk_of(request).library, typed.raw("label"), medium_ids=_ticked(typed))
    except PortfolioError as error:
        return _centers_page(request, typed=typed, error=error)
    return kept(_CENTERS, action)


@router.post("/settings/centers/{centre_id}")
def change_center(request: Request, centre_id: Id, fields: Fields) -> Response:
    """Change, move, retire or delete one center."""
    typed = Typed(fields)
    try:
        action = _do(_CENTER_STEPS, desk_of(request).library, centre_id, typed)
    except PortfolioError as error:
        return _centers_page(request, typed=typed, error=error, about=centre_id)
    return kept(f"{_CENTERS}?open={centre_id}", action)


def _ticked(typed: Typed) -> list[int]:
    found = (id_in(name.removeprefix(_TICK)) for name in typed.names(_TICK))
    return [one for one in found if one is not None]


_CENTER_STEPS: Final = _Steps(
    keep=lambda library, key, typed: flow.change_centre(
        library, key, label=typed.raw("label"), medium_ids=_ticked(typed)
    ),
    offer=flow.offer_centre,
    move=flow.move_centre,
    remove=flow.remove_centre,
)


def _centers_page(
    request: Request, *, typed: Typed | None = None, error: PortfolioError | None = None, about: int = 0
) -> HTMLResponse:
    library = desk_of(request).library
    form = typed or Typed()
    frame = settings_frame(request, _CENTERS, form=form, error=error)
    seen, media = flow.see_centres(library), flow.see_media(library)
    opened = about or (id_in(request.query_params.get("open", "")) or 0)
    lines = [_center_line(one, seen, media, form if one.centre.centre_id == about else Typed(), opened) for one in seen]
    fresh = Typed() if about else form
    answer = RoomPage(
        frame=frame,
        one="center",
        address=_CENTERS,
        ticks_words="Media at hand there",
        offered=tuple(one for one in lines if one.active),
        retired=tuple(one for one in lines if not one.active),
        new=(fresh.field("label", "Name", at="new", most=flow.LABEL_MAX),),
        new_ticks=_media_ticks(media, _ticked(fresh)),
        new_open=bool(fresh.problems),
    )
    return page(request, "settings_room.html", drawer="/settings", status=error.http if error else 200, page=answer)


def _center_line(
    seen: CentreSeen, every: tuple[CentreSeen, ...], media: tuple[MediumSeen, ...], form: Typed, opened: int
) -> RoomLine:
    one = seen.centre
    same = [other.centre.centre_id for other in every if other.centre.active == one.active]
    there = [other.medium.label for other in media if other.medium.medium_id in one.medium_ids]
    works = words.count(seen.works, "work") if seen.works else "no works yet"
    return RoomLine(
        address=f"{_CENTERS}/{one.centre_id}",
        id=f"one-{one.centre_id}",
        label=words.capital(one.label),
        second=f"{works}; {words.listed(there) or 'no media'}",
        active=one.active,
        removable=seen.removable,
        first=same[0] == one.centre_id,
        last=same[-1] == one.centre_id,
        open=one.centre_id == opened,
        fields=(form.field("label", "Name", one.label, at=str(one.centre_id), most=flow.LABEL_MAX),),
        ticks=_media_ticks(media, _ticked(form) if form.problems else one.medium_ids),
    )


def _media_ticks(media: tuple[MediumSeen, ...], ticked: Iterable[int]) -> tuple[Choice, ...]:
    chosen = set(ticked)
    return tuple(
        Choice(f"{_TICK}{one.medium_id}", words.capital(one.label), one.medium_id in chosen)
        for one in (seen.medium for seen in media)
        if one.active or one.medium_id in chosen
    )
