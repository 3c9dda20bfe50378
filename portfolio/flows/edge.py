"""The edge of a work and the parts of its photo that are hidden, set by the teacher's own hand."""

from __future__ import annotations

from concurrent.futures import Executor
from dataclasses import dataclass

from portfolio.archive import one_work, photos, works
from portfolio.archive.library import Library, Session
from portfolio.archive.photos import PhotoKept
from portfolio.archive.works import ViewKept
from portfolio.errors import NotFound, PortfolioError
from portfolio.flows import settle
from portfolio.model.cards import Polygon

LEAST_SHARE = 0.0001
"""An outline covers at least this share of its photo: one part in a hundred each way."""
MOST_PARTS = 40
"""So many parts of one photo may be hidden."""


@dataclass(frozen=True, slots=True)
class EdgeSeen:
    """A view of a work with its edge and hidden parts, all in pixels of the upright photo."""

    work_id: int
    view: ViewKept
    photo: PhotoKept
    size_px: tuple[int, int]
    outline: Polygon | None
    """``None`` = shown as taken."""
    by_hand: bool
    hidden: tuple[Polygon, ...]


def see_edge(library: Library, work_id: int, *, view_id: int = 0) -> EdgeSeen:
    """The edge of a work's view (0: the main one). Refuses a photo that could not be read."""
    with library.reading() as session:
        return _edge(session, work_id, view_id)


def view_of(library: Library, photo_id: int) -> int:
    """The view that a photo is."""
    with library.reading() as session:
        return works.view_of_photo(session, photo_id).view_id


def _edge(session: Session, work_id: int, view_id: int) -> EdgeSeen:
    views = one_work.views(session, work_id)
    chosen = next((one for one in views if view_id in (0, one.view_id)), None)
    if chosen is None:
        raise NotFound("not-found", item=f"The photo of work {work_id}")
    photo = photos.photo(session, chosen.photo_id)
    view = works.view_of_photo(session, chosen.photo_id)
    if photo.size_px is None:
        raise PortfolioError("bad-request", item="The edge of this work", found="its photo could not be measured")
    crop = view.crop or {}
    points = tuple((float(x), float(y)) for x, y in crop.get("outline_px") or ())
    hidden = works.hidden_parts(session, view.view_id)
    return EdgeSeen(work_id, view, photo, photo.size_px, points or None, bool(crop.get("by_hand")), hidden)


def set_edge(
    library: Library, seen: EdgeSeen, outline: Polygon, *, quarter_turns: int, executor: Executor | None
) -> int:
    """Keep four corners as the edge, for ever; gives the action's id. Refuses sides that cross."""
    _check(outline, seen.size_px, item="The edge")
    photo_id = seen.photo.photo_id
    return settle.crop_by_hand(library, photo_id, outline, quarter_turns=quarter_turns, executor=executor)


def show_whole(library: Library, seen: EdgeSeen, *, quarter_turns: int, executor: Executor | None) -> int:
    """Show the photo as far as it goes; the work's size stays as it was measured."""
    width, height = (float(side) for side in seen.size_px)
    corners = (0.0, 0.0), (width, 0.0), (width, height), (0.0, height)
    photo_id = seen.photo.photo_id
    return settle.crop_by_hand(
        library, photo_id, corners, quarter_turns=quarter_turns, keep_size=True, executor=executor
    )


def hide_part(library: Library, seen: EdgeSeen, part: Polygon) -> int:
    """Hide a part of the photo from everybody below the teacher; gives the action's id."""
    _check(part, seen.size_px, item="The part to hide")
    with library.writing(who="teacher", what="hid a part of a work") as writing:
        hidden = works.hidden_parts(writing.session, seen.view.view_id)
        if len(hidden) >= MOST_PARTS:
            raise PortfolioError("bad-request", item="The part to hide", found=f"{MOST_PARTS} parts are hidden already")
        works.set_hidden_parts(writing.session, seen.view.view_id, (*hidden, part))
        return writing.action_id


def show_part(library: Library, seen: EdgeSeen, place: int) -> int:
    """Show a hidden part again; ``place`` from 1 in the order in which they were hidden."""
    with library.writing(who="teacher", what="showed a hidden part of a work") as writing:
        hidden = works.hidden_parts(writing.session, seen.view.view_id)
        if not 1 <= place <= len(hidden):
            raise NotFound("not-found", item=f"Hidden part {place}")
        works.set_hidden_parts(writing.session, seen.view.view_id, (*hidden[: place - 1], *hidden[place:]))
        return writing.action_id


def _check(corners: Polygon, size_px: tuple[int, int], *, item: str) -> None:
    """Refuse what is no four-cornered part of the photo: sides that cross or bend inwards, or next to nothing."""
    turns = [_turn(*(corners[(at + step) % len(corners)] for step in range(3))) for at in range(len(corners))]
    if len(corners) != 4 or not (all(one > 0 for one in turns) or all(one < 0 for one in turns)):
        raise PortfolioError("bad-request", item=item, found="its sides cross or bend inwards")
    following = (*corners[1:], corners[0])
    twice = abs(sum(x * v - u * y for (x, y), (u, v) in zip(corners, following, strict=True)))
    if twice / 2 < LEAST_SHARE * size_px[0] * size_px[1]:
        raise PortfolioError("bad-request", item=item, found="there is next to nothing inside it")


def _turn(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> float:
    """Above 0 when the way from a over b to c turns right in the photo."""
    return (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0])
