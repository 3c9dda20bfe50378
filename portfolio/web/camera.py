"""The camera station: a document camera or webcam on this computer, its cards read live, one picture a work.

The page sends frames of its live video as bare brightness; they are looked at, answered and forgotten. It decides when
work and card lie still, takes the picture at full size and sends it; the answer is what the picture itself says.
"""

from __future__ import annotations

import threading
from collections.abc import Collection
from datetime import datetime
from typing import Annotated, Final

from fastapi import APIRouter, Depends, File, Form, Query, Request, UploadFile
from fastapi.responses import HTMLResponse, JSONResponse, RedirectResponse, Response

from portfolio.errors import PortfolioError, Refused
from portfolio.flows import camera as flow
from portfolio.flows import take_in
from portfolio.flows.desk import see_lesson_now, see_picks
from portfolio.model.cards import CardKind, Polygon
from portfolio.model.filing import Chosen
from portfolio.web import words
from portfolio.web.answers_camera import CameraPage, CameraStart
from portfolio.web.desk import Desk, desk_of
from portfolio.web.fields import FormId, Id, IdWord, id_in
from portfolio.web.guard import PICTURE_MAX
from portfolio.web.listening import is_loopback
from portfolio.web.picks import class_choices, medium_choices
from portfolio.web.render import page, plain

router = APIRouter(include_in_schema=False)

FRAME_WIDTH_MAX: Final = 1024
_SLATES: Final = {CardKind.CLASS: "Class card", CardKind.MEDIUM: "Medium card", CardKind.CONTROL: "Card"}
_one_frame = threading.Lock()
"""Frames are looked at one at a time: an older one is of no use once the next is there."""


# --- before and after -------------------------------------------------------------------------------------


@router.get("/camera")
def show_start(request: Request) -> HTMLResponse:
    """Choose class and medium for a stack, or go on with one that was not finished."""
    desk = desk_of(request)
    return page(request, "camera_start.html", drawer="/add", page=start_page(desk))


def start_page(desk: Desk) -> CameraStart:
    """The answer: the class of the lesson that is on is chosen already."""
    now = see_lesson_now(desk.library, desk.today())
    picks = see_picks(desk.library, desk.today())
    left = flow.unfinished(desk.library)
    return CameraStart(
        guess=f"By the timetable, the last lesson was {now}." if now else "",
        classes=class_choices(picks, now.rpartition(", at ")[0]),
        media=medium_choices(picks),
        unfinished=left.batch_id if left else None,
        unfinished_words=" · ".join(filter(None, (_about(left), _taken_words(left.taken)))) if left else "",
    )


def _about(seen: flow.StationSeen) -> str:
    return " · ".join(part for part in (seen.class_label, words.capital(seen.medium)) if part)


def _taken_words(taken: int) -> str:
    return f"{taken} taken" if taken else ""


@router.post("/camera")
def begin(request: Request, class_id: IdWord = "", medium_id: IdWord = "") -> Response:
    """Begin a stack at the camera."""
    chosen = Chosen(class_id=id_in(class_id), medium_id=id_in(medium_id))
    batch_id = take_in.open_batch(desk_of(request).library, chosen, source=flow.SOURCE)
    return RedirectResponse(f"/camera/{batch_id}", status_code=303)


@router.post("/camera/{batch_id}/close")
def close(request: Request, batch_id: Id) -> Response:
    """The stack is done: file it, and show the count of the class."""
    desk = desk_of(request)
    if not flow.see_station(desk.library, batch_id).taken:
        return RedirectResponse("/camera", status_code=303)
    desk.reader.start(batch_id)
    return RedirectResponse(f"/add/{batch_id}", status_code=303)


# --- live -------------------------------------------------------------------------------------------------


@router.get("/camera/{batch_id}")
def show_camera(request: Request, batch_id: Id) -> Response:
    """The live station. A stack that is filed already is shown as its report."""
    desk = desk_of(request)
    seen = flow.see_station(desk.library, batch_id)
    if not seen.is_open:
        return RedirectResponse(f"/add/{batch_id}", status_code=303)
    desk.workers.get().submit(int)  # wakes a worker, so that the first picture need not wait for it
    return plain("camera.html", page=CameraPage(batch_id, _about(seen), _taken_words(seen.taken)))


async def body_of(request: Request) -> bytes:
    """The bytes of a request that is one frame."""
    return await request.body()


@router.post("/camera/{batch_id}/frame")
def look(
    request: Request,
    batch_id: Id,  # noqa: ARG001  only the page of a stack sends frames
    frame: Annotated[bytes, Depends(body_of)],
    width: Annotated[int, Query(ge=1, le=FRAME_WIDTH_MAX)],
) -> JSONResponse:
    """Which cards lie there, by one frame: brightness, one byte a pixel. Nothing is kept."""
    seen = frame_seen(request, frame, width_px=width)
    return JSONResponse(
        {
            "lying": seen.lying,
            "cards": seen.cards,
            "label": label_of(seen.numbers, seen.cards),
            "corners": _corners(seen.corners_px),
        }
    )


def frame_seen(request: Request, frame: bytes, *, width_px: int) -> flow.FrameSeen:
    """Look at one frame from this computer itself, no two at a time."""
    if not is_loopback(request.client.host if request.client else ""):
        raise Refused("not-allowed", item="The camera")
    with _one_frame:
        return flow.look_at_frame(frame, width_px=width_px)


def _corners(tags: tuple[Polygon, ...]) -> list[list[float]]:
    return [[round(x, 1), round(y, 1)] for tag in tags for x, y in tag]


def label_of(numbers: tuple[int, ...], cards: tuple[str, ...]) -> str:
    """What stands large on the screen: "14", "3 and 5", or what kind of card lies there alone."""
    if numbers:
        return words.listed([str(one) for one in numbers])
    return next((said for kind, said in _SLATES.items() if any(one.startswith(f"{kind}-") for one in cards)), "")


@router.post("/camera/{batch_id}/pictures", max_body_size=PICTURE_MAX)
def take(
    request: Request,
    batch_id: Id,
    picture: Annotated[UploadFile, File()],
    cards: Annotated[str, Form(max_length=400)] = "",
) -> JSONResponse:
    """Keep one picture. ``cards``: those that lay there, separated by spaces. Says what the picture itself shows."""
    desk = desk_of(request)
    found = picture_taken(desk, batch_id, picture.file.read(), wanted=cards.split())
    return JSONResponse(
        {
            "photo": found.photo_id,
            "kept": found.kept,
            "label": label_of(found.numbers, found.cards),
            "taken": _taken_words(flow.see_station(desk.library, batch_id).taken),
        },
        status_code=201,
    )


def picture_taken(desk: Desk, batch_id: int, jpeg: bytes, *, wanted: Collection[str]) -> flow.PictureTaken:
    """Keep one picture of an open stack, with the time of now, and begin to read what it shows."""
    if not flow.see_station(desk.library, batch_id).is_open:
        raise PortfolioError("bad-request", item="This stack", found="it is filed already")
    now = datetime.now().astimezone()
    taken = datetime.combine(desk.today(), now.timetz())
    found = flow.take_picture(desk.library, batch_id, jpeg, wanted=wanted, taken=taken, executor=desk.workers.get())
    desk.reader.start_ahead(batch_id)
    return found


@router.post("/camera/{batch_id}/back")
def take_back(request: Request, batch_id: Id, photo_id: FormId) -> JSONResponse:
    """Take one picture back."""
    library = desk_of(request).library
    action_id = flow.take_back(library, batch_id, photo_id)
    return JSONResponse({"action": action_id, "taken": _taken_words(flow.see_station(library, batch_id).taken)})


@router.post("/camera/{batch_id}/again")
def bring_back(request: Request, batch_id: Id, action_id: FormId) -> JSONResponse:
    """Bring a picture back that was taken back."""
    library = desk_of(request).library
    flow.bring_back(library, action_id)
    return JSONResponse({"taken": _taken_words(flow.see_station(library, batch_id).taken)})
