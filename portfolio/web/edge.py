"""The edge of a work by mouse, touch, keyboard or plain numbers, and the parts of its photo that are hidden."""

from __future__ import annotations

from typing import Annotated, Final

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from portfolio.errors import PortfolioError
from portfolio.flows import edge as flow
from portfolio.flows import settle
from portfolio.flows.edge import EdgeSeen
from portfolio.model.cards import Polygon
from portfolio.web.answers import Choice, Note
from portfolio.web.answers_edge import Corner, EdgePage
from portfolio.web.desk import desk_of
from portfolio.web.fields import FormId, Id, IdWord, OptionalId, id_in
from portfolio.web.render import note_of, page
from portfolio.web.walls import as_taken

router = APIRouter(include_in_schema=False)

WORDS: Final = ("Top left", "Top right", "Bottom right", "Bottom left")
TURNS: Final = ("as it is", "a quarter turn to the right", "upside down", "a quarter turn to the left")
_FIRST_PART: Final = ((0.35, 0.35), (0.65, 0.35), (0.65, 0.62), (0.35, 0.62))
"""So far apart that the four handles do not lie over each other on a phone."""
_WITHHELD: Final = (
    "This work was cut out by its shape, so it cannot be told where the hidden part lies in its picture. Nobody else "
    "sees the picture until you set its edge by four corners."
)

Percents = Annotated[list[str], Form(max_length=8)]


@router.get("/works/{work_id}/edge")
def show_edge(
    request: Request,
    work_id: Id,
    *,
    view: OptionalId = 0,
    photo: OptionalId = 0,
    undo: OptionalId = 0,
    ask: OptionalId = 0,
) -> HTMLResponse:
    """The photo as taken with four corners to move. ``photo`` instead of ``view``; ``ask``: what led here."""
    if photo:
        view = flow.view_of(desk_of(request).library, photo)
    return _page(request, work_id, view=view, undo=undo, ask=ask)


@router.get("/works/{work_id}/hide")
def show_hide(
    request: Request,
    work_id: Id,
    *,
    view: OptionalId = 0,
    photo: OptionalId = 0,
    undo: OptionalId = 0,
    ask: OptionalId = 0,
) -> HTMLResponse:
    """The photo as taken with four corners round the part to hide; asked for in the same ways as its edge."""
    if photo:
        view = flow.view_of(desk_of(request).library, photo)
    return _page(request, work_id, view=view, undo=undo, ask=ask, hiding=True)


@router.post("/works/{work_id}/edge")
def set_edge(
    request: Request,
    work_id: Id,
    *,
    view: IdWord = "",
    x: Percents,
    y: Percents,
    turns: Annotated[int, Form(ge=0, le=3)] = 0,
    whole: Annotated[str, Form(max_length=1)] = "",
    ask: IdWord = "",
) -> Response:
    """Keep the edge, or show the whole photo."""
    desk, view_id = desk_of(request), id_in(view) or 0
    try:
        seen = flow.see_edge(desk.library, work_id, view_id=view_id)
        if whole:
            done = flow.show_whole(desk.library, seen, quarter_turns=turns, executor=desk.workers.get())
        else:
            outline = corners_of(x, y, seen.size_px)
            done = flow.set_edge(desk.library, seen, outline, quarter_turns=turns, executor=desk.workers.get())
    except PortfolioError as error:
        return _page(request, work_id, view=view_id, error=error, ask=id_in(ask) or 0)
    here = f"/works/{work_id}/edge?view={view_id}&undo={done}"
    asked = id_in(ask)
    return RedirectResponse(f"/check?undo={done}&undone={asked}" if asked else here, status_code=303)


@router.post("/works/{work_id}/hide")
def hide(request: Request, work_id: Id, *, view: IdWord = "", x: Percents, y: Percents, ask: IdWord = "") -> Response:
    """Hide a part. The question that led here stays to be answered: hiding says nothing of the edge."""
    desk, view_id = desk_of(request), id_in(view) or 0
    try:
        seen = flow.see_edge(desk.library, work_id, view_id=view_id)
        done = flow.hide_part(desk.library, seen, corners_of(x, y, seen.size_px))
    except PortfolioError as error:
        return _page(request, work_id, view=view_id, error=error, hiding=True, ask=id_in(ask) or 0)
    asked = f"&ask={id_in(ask)}" if id_in(ask) else ""
    return RedirectResponse(f"/works/{work_id}/hide?view={view_id}&undo={done}{asked}", status_code=303)


@router.post("/works/{work_id}/hide/show")
def show_again(request: Request, work_id: Id, place: FormId, view: IdWord = "") -> Response:
    """Show a hidden part again."""
    desk, view_id = desk_of(request), id_in(view) or 0
    try:
        done = flow.show_part(desk.library, flow.see_edge(desk.library, work_id, view_id=view_id), place)
    except PortfolioError as error:
        return _page(request, work_id, view=view_id, error=error, hiding=True)
    return RedirectResponse(f"/works/{work_id}/hide?view={view_id}&undo={done}", status_code=303)


@router.post("/works/{work_id}/edge/undo")
def undo(
    request: Request,
    work_id: Id,
    action_id: FormId,
    view: IdWord = "",
    hiding: Annotated[str, Form(max_length=1)] = "",
) -> Response:
    """Take back what was just done here."""
    view_id = id_in(view) or 0
    try:
        settle.undo(desk_of(request).library, action_id)
    except PortfolioError as error:
        return _page(request, work_id, view=view_id, error=error, hiding=bool(hiding))
    return RedirectResponse(f"/works/{work_id}/{'hide' if hiding else 'edge'}?view={view_id}", status_code=303)


def corners_of(x: list[str], y: list[str], size_px: tuple[int, int]) -> Polygon:
    """Four corners in percent of width and height as pixels of the upright photo. Refuses what is none."""
    if len(x) != 4 or len(y) != 4:
        raise PortfolioError("bad-request", item="The corners", found="four are needed")
    width, height = size_px
    return tuple((_share(across) * width, _share(down) * height) for across, down in zip(x, y, strict=True))


def _share(percent: str) -> float:
    try:
        found = float(percent[:20])
    except ValueError:
        found = -1.0
    if not 0 <= found <= 100:
        raise PortfolioError("bad-request", item="A corner", found="it is no number from 0 to 100")
    return found / 100


def _page(
    request: Request,
    work_id: int,
    *,
    view: int = 0,
    undo: int = 0,
    hiding: bool = False,
    ask: int = 0,
    error: PortfolioError | None = None,
) -> HTMLResponse:
    seen = flow.see_edge(desk_of(request).library, work_id, view_id=view)
    answer = edge_page(seen, hiding=hiding, undo=undo, ask=ask, note=note_of(error) if error else None)
    return page(request, "edge.html", drawer="/find", status=error.http if error else 200, page=answer)


def edge_page(seen: EdgeSeen, *, hiding: bool, undo: int = 0, ask: int = 0, note: Note | None = None) -> EdgePage:
    """The answer for one view, for one of the two tasks."""
    width, height = seen.size_px
    picture = as_taken(seen.photo, long_px=1600)
    if picture is None:
        raise PortfolioError("bad-request", item="The edge of this work", found="its photo could not be read")
    cannot_cover = bool(seen.hidden) and seen.outline is not None and not _is_sheet(seen)
    return EdgePage(
        work_id=seen.work_id,
        view=seen.view.view_id,
        hiding=hiding,
        heading="Hide a part" if hiding else "Set the edge",
        lead=_lead(seen, hiding=hiding),
        photo=picture,
        view_box=f"0 0 {width} {height}",
        outline=_points(seen.outline) if seen.outline else "",
        corners=_corners(_FIRST_PART if hiding else _start(seen)),
        turns=tuple(Choice(str(at), say, at == seen.view.quarter_turns) for at, say in enumerate(TURNS)),
        hidden=tuple(_points(part) for part in seen.hidden),
        withheld=_WITHHELD if cannot_cover else "",
        undo=undo,
        ask=ask,
        note=note,
    )


def _is_sheet(seen: EdgeSeen) -> bool:
    return seen.outline is not None and len(seen.outline) == 4 and (seen.view.crop or {}).get("shape") == "sheet"


def _lead(seen: EdgeSeen, *, hiding: bool) -> str:
    if hiding:
        return "A name on the front, a face. You still see it; nobody else does, on no site. The photo stays whole."
    if seen.outline is not None and not _is_sheet(seen):
        return "Now it is cut out by its own shape. Four corners take the place of that shape; leave, and it stays."
    return "You set this edge." if seen.by_hand else "An edge that you set stays."


def _start(seen: EdgeSeen) -> Polygon:
    """Where the four corners begin, in shares: at the edge, round a shape, or a little inside the photo."""
    if seen.outline is None:
        return (0.02, 0.02), (0.98, 0.02), (0.98, 0.98), (0.02, 0.98)
    width, height = seen.size_px
    shares = [(min(max(x / width, 0.0), 1.0), min(max(y / height, 0.0), 1.0)) for x, y in seen.outline]
    if _is_sheet(seen):
        return _from_top_left(shares)
    across, down = [x for x, _ in shares], [y for _, y in shares]
    left, right, top, bottom = min(across), max(across), min(down), max(down)
    return (left, top), (right, top), (right, bottom), (left, bottom)


def _from_top_left(corners: list[tuple[float, float]]) -> Polygon:
    """Clockwise from the corner nearest the photo's top left, so that the corners' words are true."""
    following = [*corners[1:], corners[0]]
    if sum(x * v - u * y for (x, y), (u, v) in zip(corners, following, strict=True)) < 0:
        corners.reverse()
    first = min(range(len(corners)), key=lambda at: sum(corners[at]))
    return (*corners[first:], *corners[:first])


def _corners(shares: Polygon) -> tuple[Corner, ...]:
    return tuple(Corner(word, f"{x * 100:.2f}", f"{y * 100:.2f}") for word, (x, y) in zip(WORDS, shares, strict=True))


def _points(polygon: Polygon) -> str:
    return " ".join(f"{x:.0f},{y:.0f}" for x, y in polygon)
