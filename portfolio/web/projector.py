"""The projector view for share time: the day's works large, by number, no names; arrow keys go through them."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Annotated
from urllib.parse import urlencode

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse

from portfolio.flows.projecting import Projected, see_projected
from portfolio.model.finding import WorkShown
from portfolio.web import words
from portfolio.web.answers import Chip, Tile, Wall
from portfolio.web.answers_projector import LargeWork, ProjectorPage
from portfolio.web.desk import desk_of
from portfolio.web.fields import OptionalId, day_in
from portfolio.web.render import plain
from portfolio.web.walls import UNTITLED, large_picture, tile_of

router = APIRouter(include_in_schema=False)


@router.get("/projector")
def show_projector(
    request: Request,
    day: Annotated[str, Query(max_length=20)] = "",
    class_label: Annotated[str, Query(alias="class", max_length=40)] = "",
    work: OptionalId = 0,
) -> HTMLResponse:
    """The wall of a day's works, or with ``work`` one of them large."""
    desk = desk_of(request)
    said = day_in(day, item="The day")
    seen = see_projected(desk.library, today=desk.today(), day=said, class_label=class_label)
    return plain("projector.html", page=projector_page(seen, work=work, today=desk.today(), said=said))


def projector_page(seen: Projected, *, work: int, today: date, said: date | None) -> ProjectorPage:
    """The answer. ``said``: the day that was asked for; it stays in every address."""

    def href(work_id: int = 0, label: str = seen.class_label) -> str:
        asked = {"day": said.isoformat() if said else "", "class": label, "work": str(work_id or "")}
        query = urlencode({key: value for key, value in asked.items() if value})
        return f"/projector?{query}" if query else "/projector"

    ids = [one.work_id for one in seen.works]
    at = ids.index(work) if work in ids else None
    when = words.day_plain(seen.day, today=today)
    several = seen.classes if len(seen.classes) > 1 else ()
    every = [Chip(href(label=""), "All", chosen=not seen.class_label)] if several else []
    return ProjectorPage(
        heading=f"{seen.class_label}, {when}" if seen.class_label else words.capital(when),
        wall=Wall(tuple(_tile(one, href(one.work_id)) for one in seen.works)),
        large=_large(seen.works[at]) if at is not None else None,
        classes=(*every, *(Chip(href(label=one), one, chosen=one == seen.class_label) for one in several)),
        all_href=href(),
        first_href=href(ids[0]) if ids else "",
        before_href=href(ids[at - 1]) if at else "",
        after_href=href(ids[at + 1]) if at is not None and at + 1 < len(ids) else "",
        last_href=href(ids[-1]) if ids else "",
        place=f"{at + 1} of {len(ids)}" if at is not None else "",
    )


def _tile(work: WorkShown, href: str) -> Tile:
    return replace(tile_of(work, second=_medium), title=_title(work), name=_name(work), href=href)


def _medium(work: WorkShown) -> str:
    return words.capital(work.medium) if work.title else ""


def _title(work: WorkShown) -> str:
    return work.title or words.capital(work.medium) or UNTITLED


def _name(work: WorkShown) -> str:
    return ", ".join(part for part in (f"Number {work.number}", work.title, words.capital(work.medium)) if part)


def _large(work: WorkShown) -> LargeWork:
    assert work.derived_key is not None
    second = words.capital(work.medium) if work.title else ""
    return LargeWork(large_picture(work.derived_key, work, alt=_name(work)), str(work.number), _title(work), second)
