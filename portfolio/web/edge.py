"""The edge of a work by mouse, touch, keyboard or plain numbers, and the parts of its photo that are hidden."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Final
from urllib.parse import urlencode

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
Turns = Annotated[int, Form(ge=0, le=3)]
Flag = Annotated[str, Form(max_length=1)]


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
    return _page(request, _of_work(request, work_id, view, ask), undo=undo)


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
    return _page(request, _of_work(request, work_id, view, ask), undo=undo, hiding=True)


@router.post("/works/{work_id}/edge")
def set_edge(
    request: Request,
    work_id: Id,
    *,
    view: IdWord = "",
    x: Percents,
    y: Percents,
    turns: Turns = 0,
    whole: Flag = "",
    ask: IdWord = "",
) -> Response:
    """Keep the edge, or show the whole photo."""
    place = _of_work(request, work_id, id_in(view) or 0, id_in(ask) or 0)
    return _set(request, place, x, y, turns=turns, whole=bool(whole))


def _set(request: Request, place: Place, x: list[str], y: list[str], *, turns: int, whole: bool) -> Response:
    desk, seen = desk_of(request), place.seen
    try:
        if whole:
            done = flow.show_whole(desk.library, seen, quarter_turns=turns, executor=desk.workers.get())
        else:
            outline = corners_of(x, y, seen.size_px)
            done = flow.set_edge(desk.library, seen, outline, quarter_turns=turns, executor=desk.workers.get())
    except PortfolioError as error:
        return _page(request, place, error=error)
    if place.work_id and place.ask:
        return RedirectResponse(f"/check?undo={done}&undone={place.ask}", status_code=303)
    return RedirectResponse(place.href("edge", undo=done), status_code=303)


@router.post("/works/{work_id}/hide")
def hide(request: Request, work_id: Id, *, view: IdWord = "", x: Percents, y: Percents, ask: IdWord = "") -> Response:
    """Hide a part. The question that led here stays to be answered: hiding says nothing of the edge."""
    return _hide(request, _of_work(request, work_id, id_in(view) or 0, id_in(ask) or 0), x, y)


def _hide(request: Request, place: Place, x: list[str], y: list[str]) -> Response:
    try:
        corners = corners_of(x, y, place.seen.size_px)
        done = flow.hide_part(desk_of(request).library, place.seen, corners)
    except PortfolioError as error:
        return _page(request, place, error=error, hiding=True)
    return RedirectResponse(place.href("hide", undo=done), status_code=303)


@router.post("/works/{work_id}/hide/show")
def show_again(request: Request, work_id: Id, place: FormId, view: IdWord = "") -> Response:
    """Show a hidden part again."""
    return _show(request, _of_work(request, work_id, id_in(view) or 0), place)


def _show(request: Request, place: Place, part: int) -> Response:
    try:
        done = flow.show_part(desk_of(request).library, place.seen, part)
    except PortfolioError as error:
        return _page(request, place, error=error, hiding=True)
    return RedirectResponse(place.href("hide", undo=done), status_code=303)


@router.post("/works/{work_id}/edge/undo")
def undo(request: Request, work_id: Id, action_id: FormId, view: IdWord = "", hiding: Flag = "") -> Response:
    """Take back what was just done here."""
    return _undo(request, _of_work(request, work_id, id_in(view) or 0), action_id, hiding=bool(hiding))


def _undo(request: Request, place: Place, action_id: int, *, hiding: bool) -> Response:
    try:
        settle.undo(desk_of(request).library, action_id)
    except PortfolioError as error:
        return _page(request, place, error=error, hiding=hiding)
    return RedirectResponse(place.href("hide" if hiding else "edge"), status_code=303)


# --- a photo of which it is asked whose it is -----------------------------------------------------------------


@router.get("/check/{question_id}/edge")
def show_edge_asked(request: Request, question_id: Id, undo: OptionalId = 0) -> HTMLResponse:
    """The photo of the question with four corners to move, before anybody's work is made of it."""
    return _page(request, _of_question(request, question_id), undo=undo)


@router.get("/check/{question_id}/hide")
def show_hide_asked(request: Request, question_id: Id, undo: OptionalId = 0) -> HTMLResponse:
    """The photo of the question with four corners round the part to hide."""
    return _page(request, _of_question(request, question_id), undo=undo, hiding=True)


@router.post("/check/{question_id}/edge")
def set_edge_asked(
    request: Request, question_id: Id, *, x: Percents, y: Percents, turns: Turns = 0, whole: Flag = ""
) -> Response:
    """Keep the edge and the turn for the work that the photo becomes; whose it is stays to be answered."""
    return _set(request, _of_question(request, question_id), x, y, turns=turns, whole=bool(whole))


@router.post("/check/{question_id}/hide")
def hide_asked(request: Request, question_id: Id, x: Percents, y: Percents) -> Response:
    """Hide a part at once and in the work that the photo becomes."""
    return _hide(request, _of_question(request, question_id), x, y)


@router.post("/check/{question_id}/hide/show")
def show_again_asked(request: Request, question_id: Id, place: FormId) -> Response:
    """Show a hidden part again."""
    return _show(request, _of_question(request, question_id), place)


@router.post("/check/{question_id}/edge/undo")
def undo_asked(request: Request, question_id: Id, action_id: FormId, hiding: Flag = "") -> Response:
    """Take back what was just done here."""
    return _undo(request, _of_question(request, question_id), action_id, hiding=bool(hiding))


@dataclass(frozen=True, slots=True)
class Place:
    """Which photo is worked on, and from where: a work's view, or the photo of a question."""

    seen: EdgeSeen
    base: str
    """How its addresses begin."""
    work_id: int = 0
    ask: int = 0
    """The question that led here; 0 = none."""

    def href(self, task: str, **more: int) -> str:
        """The address of one of its two tasks."""
        known = {"view": self.seen.view_id, "ask": self.ask if self.work_id else 0, **more}
        query = urlencode({key: value for key, value in known.items() if value})
        return f"{self.base}/{task}?{query}" if query else f"{self.base}/{task}"


def _of_work(request: Request, work_id: int, view_id: int, ask: int = 0) -> Place:
    seen = flow.see_edge(desk_of(request).library, work_id, view_id=view_id)
    return Place(seen, f"/works/{work_id}", work_id, ask)


def _of_question(request: Request, question_id: int) -> Place:
    seen = flow.see_edge_of_question(desk_of(request).library, question_id)
    return Place(seen, f"/check/{question_id}", ask=question_id)


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
    request: Request, place: Place, *, undo: int = 0, hiding: bool = False, error: PortfolioError | None = None
) -> HTMLResponse:
    answer = edge_page(place, hiding=hiding, undo=undo, note=note_of(error) if error else None)
    drawer = "/find" if place.work_id else "/check"
    return page(request, "edge.html", drawer=drawer, status=error.http if error else 200, page=answer)


def edge_page(place: Place, *, hiding: bool, undo: int = 0, note: Note | None = None) -> EdgePage:
    """The answer for one photo, for one of the two tasks."""
    seen = place.seen
    width, height = seen.size_px
    picture = as_taken(seen.photo, long_px=1600)
    if picture is None:
        raise PortfolioError("bad-request", item="The edge of this work", found="its photo could not be read")
    cannot_cover = bool(seen.hidden) and seen.outline is not None and not seen.is_sheet
    return EdgePage(
        base=place.base,
        view=seen.view_id,
        hiding=hiding,
        heading="Hide a part" if hiding else "Set the edge",
        lead=_lead(seen, hiding=hiding),
        photo=picture,
        view_box=f"0 0 {width} {height}",
        outline=_points(seen.outline) if seen.outline else "",
        corners=_corners(_FIRST_PART if hiding else _start(seen)),
        turns=tuple(Choice(str(at), say, at == seen.quarter_turns) for at, say in enumerate(TURNS)),
        hidden=tuple(_points(part) for part in seen.hidden),
        withheld=_WITHHELD if cannot_cover else "",
        undo=undo,
        ask=place.ask,
        work_href=f"/works/{place.work_id}?view={seen.view_id}" if place.work_id else "",
        other_href=place.href("edge" if hiding else "hide"),
        note=note,
    )


def _lead(seen: EdgeSeen, *, hiding: bool) -> str:
    if hiding:
        return "A name on the front, a face. You still see it; nobody else does, on no site. The photo stays whole."
    if seen.outline is not None and not seen.is_sheet:
        return "Now it is cut out by its own shape. Four corners take the place of that shape; leave, and it stays."
    return "You set this edge." if seen.by_hand else "An edge that you set stays."


def _start(seen: EdgeSeen) -> Polygon:
    """Where the four corners begin, in shares: at the edge, round a shape, or a little inside the photo."""
    if seen.outline is None:
        return (0.02, 0.02), (0.98, 0.02), (0.98, 0.98), (0.02, 0.98)
    width, height = seen.size_px
    shares = [(min(max(x / width, 0.0), 1.0), min(max(y / height, 0.0), 1.0)) for x, y in seen.outline]
    if seen.is_sheet:
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
