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
from portfolio.flows.art_room import CENTRES, MEDIA, Kind, Move, Seen
from portfolio.model.school import Centre, Medium
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

_TICK: Final = "medium-"
Media = tuple[Seen[Medium], ...]
"""Every medium: a center says which of them are at hand there."""
_MOVES: Final[dict[str, Move]] = {"earlier": "earlier", "later": "later"}


@router.get("/settings/media")
def show_media(request: Request) -> HTMLResponse:
    """Every medium."""
    return _page(request, _MEDIA)


@router.post("/settings/media")
def add_medium(request: Request, fields: Fields) -> Response:
    """A new medium."""
    return _add(request, _MEDIA, fields)


@router.post("/settings/media/{medium_id}")
def change_medium(request: Request, medium_id: Id, fields: Fields) -> Response:
    """Change, move, retire or delete one medium."""
    return _change(request, _MEDIA, medium_id, fields)


@router.get("/settings/centers")
def show_centers(request: Request) -> HTMLResponse:
    """Every center."""
    return _page(request, _CENTERS)


@router.post("/settings/centers")
def add_center(request: Request, fields: Fields) -> Response:
    """A new center."""
    return _add(request, _CENTERS, fields)


@router.post("/settings/centers/{centre_id}")
def change_center(request: Request, centre_id: Id, fields: Fields) -> Response:
    """Change, move, retire or delete one center."""
    return _change(request, _CENTERS, centre_id, fields)


# --- what differs -----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _List:
    """One of the two lists: its page, what is seen, how one is added and kept, and the fields and words of one."""

    kind: Kind
    address: str
    ticks_words: str
    see: Callable[[Library], tuple[Seen[Any], ...]]
    add: Callable[[Library, Typed], int]
    keep: Callable[[Library, int, Typed], int]
    second: Callable[[Any, Media], list[str]]
    """What is told of one besides its name and works."""
    fields: Callable[[Typed, str, Any], tuple[Field, ...]]
    ticks: Callable[[Typed, Any, Media], tuple[Choice, ...]]


def _medium_facts(typed: Typed) -> dict[str, Any]:
    return {"aat_id": typed.raw("aat_id").strip(), "solid": bool(typed.raw("solid"))}


def _medium_words(one: Medium, _: Media) -> list[str]:
    card = f"card {one.card}" if one.card else "no card"
    return [card, "three-dimensional" if one.solid else ""]


def _medium_fields(form: Typed, at: str, one: Medium | None) -> tuple[Field, ...]:
    aat = "In the Art & Architecture Thesaurus, if you know it."
    return (
        form.field("label", "Name", one.label if one else "", at=at, most=flow.LABEL_MAX),
        form.field("aat_id", "AAT id", (one.aat_id if one else None) or "", at=at, hint=aat, most=9),
    )


def _medium_ticks(form: Typed, one: Medium | None, _: Media) -> tuple[Choice, ...]:
    ticked = bool(form.raw("solid")) if form.problems or one is None else one.solid
    return (Choice("solid", "Usually three-dimensional: its photos are not squared up by the card", ticked),)


def _ticked(typed: Typed) -> list[int]:
    found = (id_in(name.removeprefix(_TICK)) for name in typed.names(_TICK))
    return [one for one in found if one is not None]


def _center_words(one: Centre, media: Media) -> list[str]:
    there = [seen.one.label for seen in media if seen.key in one.medium_ids]
    return [f"with {words.listed(there)}" if there else "without media"]


def _center_fields(form: Typed, at: str, one: Centre | None) -> tuple[Field, ...]:
    return (form.field("label", "Name", one.label if one else "", at=at, most=flow.LABEL_MAX),)


def _center_ticks(form: Typed, one: Centre | None, media: Media) -> tuple[Choice, ...]:
    chosen = set(_ticked(form) if form.problems or one is None else one.medium_ids)
    return tuple(
        Choice(f"{_TICK}{seen.key}", words.capital(seen.one.label), seen.key in chosen)
        for seen in media
        if seen.one.active or seen.key in chosen
    )


_MEDIA: Final = _List(
    kind=MEDIA,
    address="/settings/media",
    ticks_words="",
    see=flow.see_media,
    add=lambda library, typed: flow.add_medium(library, typed.raw("label"), **_medium_facts(typed)),
    keep=lambda library, key, typed: flow.change_medium(library, key, label=typed.raw("label"), **_medium_facts(typed)),
    second=_medium_words,
    fields=_medium_fields,
    ticks=_medium_ticks,
)
_CENTERS: Final = _List(
    kind=CENTRES,
    address="/settings/centers",
    ticks_words="Media at hand there",
    see=flow.see_centres,
    add=lambda library, typed: flow.add_centre(library, typed.raw("label"), medium_ids=_ticked(typed)),
    keep=lambda library, key, typed: flow.change_centre(
        library, key, label=typed.raw("label"), medium_ids=_ticked(typed)
    ),
    second=_center_words,
    fields=_center_fields,
    ticks=_center_ticks,
)


# --- what both do -----------------------------------------------------------------------------------------


def _add(request: Request, which: _List, fields: dict[str, str]) -> Response:
    typed = Typed(fields)
    try:
        action = which.add(desk_of(request).library, typed)
    except PortfolioError as error:
        return _page(request, which, typed=typed, error=error)
    return kept(which.address, action)


def _change(request: Request, which: _List, key: int, fields: dict[str, str]) -> Response:
    typed = Typed(fields)
    try:
        action = _do(which, desk_of(request).library, key, typed)
    except PortfolioError as error:
        return _page(request, which, typed=typed, error=error, about=key)
    return kept(f"{which.address}?open={key}", action)


def _do(which: _List, library: Library, key: int, typed: Typed) -> int:
    """The press that was pressed says what is done; Enter in a field keeps the form."""
    wanted = typed.raw("do", "keep")
    if wanted in _MOVES:
        return flow.move(library, which.kind, key, _MOVES[wanted])
    if wanted in ("retire", "offer"):
        return flow.offer(library, which.kind, key, active=wanted == "offer")
    if wanted == "delete":
        return flow.remove(library, which.kind, key)
    return which.keep(library, key, typed)


def _page(
    request: Request,
    which: _List,
    *,
    typed: Typed | None = None,
    error: PortfolioError | None = None,
    about: int = 0,
) -> HTMLResponse:
    """The list. What was typed and its problems stand in the form of the one that it is ``about``, else in the new."""
    library, form = desk_of(request).library, typed or Typed()
    frame = settings_frame(request, which.address, form=form, error=error)
    opened = about or id_in(request.query_params.get("open", ""))
    seen, media = which.see(library), flow.see_media(library)
    lines = [
        _line(one, seen, which, media, form if one.key == about else Typed(), is_open=one.key == opened) for one in seen
    ]
    new = Typed() if about else form
    answer = RoomPage(
        frame=frame,
        one=which.kind.word,
        address=which.address,
        ticks_words=which.ticks_words,
        offered=tuple(one for one in lines if one.active),
        retired=tuple(one for one in lines if not one.active),
        new=which.fields(new, "new", None),
        new_ticks=which.ticks(new, None, media),
        new_open=bool(new.problems),
    )
    return page(request, "settings_room.html", drawer="/settings", status=error.http if error else 200, page=answer)


def _line(
    seen: Seen[Any], every: Iterable[Seen[Any]], which: _List, media: Media, form: Typed, *, is_open: bool
) -> RoomLine:
    same = [other.key for other in every if other.one.active == seen.one.active]
    works = words.count(seen.works, "work") if seen.works else "no works yet"
    return RoomLine(
        address=f"{which.address}/{seen.key}",
        id=f"one-{seen.key}",
        label=words.capital(seen.one.label),
        second=", ".join(part for part in (works, *which.second(seen.one, media)) if part),
        active=seen.one.active,
        removable=seen.removable,
        first=same[0] == seen.key,
        last=same[-1] == seen.key,
        open=is_open,
        fields=which.fields(form, str(seen.key), seen.one),
        ticks=which.ticks(form, seen.one, media),
    )
