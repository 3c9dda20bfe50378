"""The edge of a work and the parts of its photo that are hidden, set by the teacher's own hand."""

from __future__ import annotations

from concurrent.futures import Executor
from dataclasses import dataclass, replace
from typing import Any

from portfolio.archive import one_work, photos, questions, works
from portfolio.archive.library import Library, Session
from portfolio.archive.photos import PhotoKept
from portfolio.archive.works import ViewKept
from portfolio.errors import NotFound, PortfolioError, Refused
from portfolio.flows import settle
from portfolio.flows.read_photos import crop_now, limits_of, number_of_part, write_pictures
from portfolio.flows.worker import CropRequest
from portfolio.model.cards import Polygon
from portfolio.model.filing import PhotoState
from portfolio.model.photo import Crop
from portfolio.model.seen_json import as_polygon

LEAST_SHARE = 0.0001
"""An outline covers at least this share of its photo: one part in a hundred each way."""
MOST_PARTS = 40
"""So many parts of one photo may be hidden."""


@dataclass(frozen=True, slots=True)
class EdgeSeen:
    """A photo with its edge and hidden parts, all in pixels of the upright photo.

    ``view``: which work's view it is; ``None`` = it is no work's yet, since it is still asked whose it is.
    """

    view: ViewKept | None
    photo: PhotoKept
    size_px: tuple[int, int]
    crop: dict[str, Any] | None
    """The edge as kept (or, of a photo that is no work's yet, as found); ``None`` = shown as taken."""
    quarter_turns: int
    hidden: tuple[Polygon, ...]

    @property
    def view_id(self) -> int:
        """0 = it is no work's yet."""
        return self.view.view_id if self.view is not None else 0

    @property
    def outline(self) -> Polygon | None:
        """``None`` = shown as taken."""
        return as_polygon((self.crop or {}).get("outline_px") or ()) or None

    @property
    def by_hand(self) -> bool:
        """Whether the teacher set this edge."""
        return bool((self.crop or {}).get("by_hand"))

    @property
    def is_sheet(self) -> bool:
        """Whether the edge is one of four corners, not the work's own shape."""
        return self.crop is not None and len(self.outline or ()) == 4 and self.crop.get("shape") == "sheet"


def see_edge(library: Library, work_id: int, *, view_id: int = 0) -> EdgeSeen:
    """The edge of a work's view (0: the main one). Refuses a photo that could not be read."""
    with library.reading() as session:
        return _edge(session, work_id, view_id)


def see_edge_of_question(library: Library, question_id: int) -> EdgeSeen:
    """The edge of the photo of which it is asked whose work it is. Refuses every other question."""
    with library.reading() as session:
        asked = questions.question(session, question_id)
        photo = photos.photo(session, asked.photo_id) if asked.photo_id is not None else None
        if photo is None or asked.state not in questions.OPEN or photo.state is not PhotoState.QUESTION:
            raise NotFound("not-found", item=f"A photo of nobody yet at question {question_id}")
        crop = (photo.reading or {}).get("crop")
        return EdgeSeen(None, photo, _size_px(photo), crop, photo.quarter_turns or 0, photo.hidden)


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
    hidden = works.hidden_parts(session, view.view_id)
    return EdgeSeen(view, photo, _size_px(photo), view.crop, view.quarter_turns, hidden)


def _size_px(photo: PhotoKept) -> tuple[int, int]:
    if photo.size_px is None:
        raise PortfolioError("bad-request", item="The edge of this work", found="its photo could not be measured")
    return photo.size_px


def set_edge(
    library: Library, seen: EdgeSeen, outline: Polygon, *, quarter_turns: int, executor: Executor | None
) -> int:
    """Keep four corners as the edge, for ever; gives the action's id. Refuses sides that cross."""
    _check(outline, seen.size_px, item="The edge")
    return _crop(library, seen, outline, quarter_turns=quarter_turns, keep_size=False, executor=executor)


def show_whole(library: Library, seen: EdgeSeen, *, quarter_turns: int, executor: Executor | None) -> int:
    """Show the photo as far as it goes; the work's size stays as it was measured."""
    width, height = (float(side) for side in seen.size_px)
    corners = (0.0, 0.0), (width, 0.0), (width, height), (0.0, height)
    return _crop(library, seen, corners, quarter_turns=quarter_turns, keep_size=True, executor=executor)


def _crop(
    library: Library,
    seen: EdgeSeen,
    outline: Polygon,
    *,
    quarter_turns: int,
    keep_size: bool,
    executor: Executor | None,
) -> int:
    """Of a photo that is no work's yet, the pictures are made now and the view that it becomes takes them over."""
    photo = seen.photo
    if seen.view is not None:
        return settle.crop_by_hand(
            library, photo.photo_id, outline, quarter_turns=quarter_turns, keep_size=keep_size, executor=executor
        )
    crop = Crop(outline, sure=True, shape="sheet", by_hand=True)
    path, limits, number = library.photo_path(photo.sha256), limits_of(library), number_of_part(photo)
    request = CropRequest(path, photo.file_name, crop, quarter_turns, limits, number=number)
    made = crop_now(photo, request, executor)
    made = replace(made, size=None) if keep_size else made
    key = write_pictures(library, made.derivatives)
    with library.writing(who="teacher", what="set the edge of a work", batch_id=photo.batch_id) as writing:
        _still_nobodys(writing.session, photo.photo_id)
        photos.set_edge(writing.session, photo.photo_id, crop, made, quarter_turns=quarter_turns, derived_key=key)
        return writing.action_id


def _still_nobodys(session: Session, photo_id: int) -> None:
    if photos.photo(session, photo_id).state is not PhotoState.QUESTION:
        raise Refused("already-answered", item="The question about this photo")


def hide_part(library: Library, seen: EdgeSeen, part: Polygon) -> int:
    """Hide a part of the photo from everybody below the teacher; gives the action's id."""
    _check(part, seen.size_px, item="The part to hide")
    with library.writing(who="teacher", what="hid a part of a work") as writing:
        hidden = _hidden(writing.session, seen)
        if len(hidden) >= MOST_PARTS:
            raise PortfolioError("bad-request", item="The part to hide", found=f"{MOST_PARTS} parts are hidden already")
        _set_hidden(writing.session, seen, (*hidden, part))
        return writing.action_id


def show_part(library: Library, seen: EdgeSeen, place: int) -> int:
    """Show a hidden part again; ``place`` from 1 in the order in which they were hidden."""
    with library.writing(who="teacher", what="showed a hidden part of a work") as writing:
        hidden = _hidden(writing.session, seen)
        if not 1 <= place <= len(hidden):
            raise NotFound("not-found", item=f"Hidden part {place}")
        _set_hidden(writing.session, seen, (*hidden[: place - 1], *hidden[place:]))
        return writing.action_id


def _hidden(session: Session, seen: EdgeSeen) -> tuple[Polygon, ...]:
    if seen.view is not None:
        return works.hidden_parts(session, seen.view.view_id)
    return photos.photo(session, seen.photo.photo_id).hidden


def _set_hidden(session: Session, seen: EdgeSeen, parts: tuple[Polygon, ...]) -> None:
    if seen.view is not None:
        works.set_hidden_parts(session, seen.view.view_id, parts)
        return
    _still_nobodys(session, seen.photo.photo_id)
    photos.set_hidden_parts(session, seen.photo.photo_id, parts)


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
