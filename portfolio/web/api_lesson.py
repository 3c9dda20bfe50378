"""The JSON door, what a lesson needs: the day, cards, a phone's ticket, the camera station, share time."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import Annotated, Any, Final

from fastapi import Body, Depends, File, Form, Query, Request, UploadFile
from fastapi.responses import Response

from portfolio.cards.sheets import Paper
from portfolio.errors import PortfolioError, Refused
from portfolio.flows import camera as camera_flow
from portfolio.flows import printing, take_in, tickets
from portfolio.flows.batches import chosen_for
from portfolio.flows.desk import DaySeen, see_day
from portfolio.flows.projecting import see_projected
from portfolio.flows.see_batch import see_batch
from portfolio.flows.tickets import Ticket
from portfolio.model.cards import Polygon
from portfolio.model.filing import Chosen
from portfolio.model.finding import WorkShown
from portfolio.web import api_shapes_lesson as shapes
from portfolio.web.api_door import door
from portfolio.web.api_shapes import ActionOut, BatchMade
from portfolio.web.camera import FRAME_WIDTH_MAX, body_of, frame_seen, picture_taken
from portfolio.web.desk import Desk, desk_of
from portfolio.web.fields import Id
from portfolio.web.guard import PICTURE_MAX
from portfolio.web.listening import lan_addresses
from portfolio.web.phone import address_of, begin_ticket, open_ticket
from portfolio.web.sending import end_ticket

router = door()


# --- the day ------------------------------------------------------------------------------------------------


@router.get("/today")
def show_today(request: Request) -> shapes.TodayOut:
    """The lessons of today, what waits to be checked, and the works of the last day with any."""
    desk = desk_of(request)
    seen = see_day(desk.library, desk.today())
    return shapes.TodayOut(
        day=seen.day,
        cycle_day=seen.cycle_day,
        cycle_days=seen.cycle_days,
        lessons=[shapes.LessonOut.model_validate(one) for one in _lessons(seen)],
        next_lesson=_next(seen),
        waits=sum(seen.waits.values()),
        latest_day=seen.latest_day,
        latest=[one.work_id for one in seen.latest],
        without_words=seen.without_words,
        next_show=seen.next_show[0] if seen.next_show else None,
        on_their_way=[shapes.OnTheirWay(batch=key, originals=many) for key, many in seen.on_their_way.items()],
    )


def _lessons(seen: DaySeen) -> list[dict[str, Any]]:
    return [
        {
            "class_id": one.group.class_id,
            "class": one.group.label,
            "starts_at": one.slot.starts_at,
            "ends_at": one.slot.ends_at,
            "children": one.children,
            "filed": one.filed,
            "waits": one.waits,
            "centers": list(one.centers),
            "opens_today": list(one.opens_today),
        }
        for one in seen.lessons
    ]


def _next(seen: DaySeen) -> shapes.NextLesson | None:
    if seen.next_lesson is None:
        return None
    day, slot, label = seen.next_lesson
    return shapes.NextLesson.model_validate({"day": day, "class": label, "starts_at": slot.starts_at})


# --- cards --------------------------------------------------------------------------------------------------

_PDF: Final[dict[int | str, dict[str, Any]]] = {
    200: {"description": "Sheets to print.", "content": {"application/pdf": {}}}
}


@router.post("/cards", response_class=Response, responses=_PDF)
def print_cards(request: Request, given: Annotated[shapes.CardsIn, Body()]) -> Response:
    """The cards asked for as PDF. Class cards that are printed stand for their classes from then on."""
    desk = desk_of(request)
    pdf = printing.card_pdf(
        desk.library,
        numbers=sorted(set(given.numbers)),
        classes=given.classes,
        media=given.media,
        controls=given.controls,
        paper=Paper(given.paper),
        today=desk.today(),
    )
    return Response(pdf, media_type="application/pdf")


@router.get("/cards/how-to", response_class=Response, responses=_PDF)
def print_how_to(paper: Annotated[str, Query(pattern="^(letter|a4)$")] = "letter") -> Response:
    """One page as PDF that shows how to photograph a work with its card."""
    return Response(printing.how_to_pdf(Paper(paper)), media_type="application/pdf")


# --- a phone ------------------------------------------------------------------------------------------------


@router.get("/tickets")
def list_tickets(request: Request) -> shapes.TicketsOut:
    """The ticket with which a phone may send photos now, if one is open, and where a phone reaches this computer."""
    desk = desk_of(request)
    ticket = open_ticket(desk)
    told = [shapes.TicketOut.model_validate(_ticket(desk, ticket))] if ticket else []
    return shapes.TicketsOut(tickets=told, addresses=list(lan_addresses()))


def _ticket(desk: Desk, ticket: Ticket) -> dict[str, Any]:
    seen = see_batch(desk.library, ticket.batch_id)
    return {
        "batch": ticket.batch_id,
        "class": seen.class_label or None,
        "medium": seen.medium or None,
        "photos": tickets.photos_in(desk.library, ticket.batch_id),
        "ends_utc": ticket.ends_utc,
    }


@router.post("/tickets", status_code=201)
def open_new_ticket(request: Request, given: Annotated[shapes.TicketIn, Body()]) -> shapes.TicketMade:
    """Begin a batch for a phone, for an hour. A ticket that was open ends, and its photos are filed."""
    _, code = begin_ticket(request, _chosen(desk_of(request), given), address=given.address)
    return _made(desk_of(request), code)


def _chosen(desk: Desk, given: shapes.ChosenIn) -> Chosen:
    return chosen_for(desk.library, class_label=given.class_label, medium=given.medium, today=desk.today())


def _made(desk: Desk, code: str) -> shapes.TicketMade:
    ticket = open_ticket(desk)
    if ticket is None:
        raise Refused("ticket-over", item="This code", found="it was ended")
    return shapes.TicketMade.model_validate({**_ticket(desk, ticket), "upload_address": address_of(desk, code)})


@router.post("/tickets/{batch_id}/code", status_code=201)
def make_another_code(request: Request, batch_id: Id) -> shapes.TicketMade:
    """One more code for the open ticket of this batch, with the same end."""
    desk = desk_of(request)
    return _made(desk, desk.tickets.another_code(batch_id, now=datetime.now(UTC)))


@router.delete("/tickets/{batch_id}", status_code=202)
def end_open_ticket(request: Request, batch_id: Id) -> BatchMade:
    """End the ticket of this batch; what came is read and filed in the background."""
    desk = desk_of(request)
    ticket = open_ticket(desk)
    if ticket is None or ticket.batch_id != batch_id:
        raise Refused("ticket-over", item="This ticket", found="it was ended")
    end_ticket(desk, batch_id)
    return BatchMade(batch=batch_id)


# --- the camera station -------------------------------------------------------------------------------------


@router.get("/camera")
def list_stacks(request: Request) -> list[shapes.StackOut]:
    """The newest stack that has pictures and was not finished, if there is one."""
    left = camera_flow.unfinished(desk_of(request).library)
    return [_stack(left)] if left else []


def _stack(seen: camera_flow.StationSeen) -> shapes.StackOut:
    return shapes.StackOut.model_validate(
        {
            "batch": seen.batch_id,
            "class": seen.class_label or None,
            "medium": seen.medium or None,
            "taken": seen.taken,
            "is_open": seen.is_open,
        }
    )


@router.post("/camera", status_code=201)
def begin_stack(request: Request, given: Annotated[shapes.ChosenIn, Body()]) -> BatchMade:
    """Begin a stack at the camera."""
    desk = desk_of(request)
    return BatchMade(batch=take_in.open_batch(desk.library, _chosen(desk, given), source=camera_flow.SOURCE))


@router.get("/camera/{batch_id}")
def show_stack(request: Request, batch_id: Id) -> shapes.StackOut:
    """A stack as it stands."""
    return _stack(camera_flow.see_station(desk_of(request).library, batch_id))


_FRAME: Final = {
    "requestBody": {
        "required": True,
        "content": {"application/octet-stream": {"schema": {"type": "string", "format": "binary"}}},
    }
}


@router.post("/camera/frames", openapi_extra=_FRAME)
def look_at_frame(
    request: Request,
    frame: Annotated[bytes, Depends(body_of)],
    width: Annotated[int, Query(ge=1, le=FRAME_WIDTH_MAX)],
) -> shapes.FrameOut:
    """Which cards lie there, by one frame of live video: brightness, one byte a pixel, row by row. Nothing is kept."""
    seen = frame_seen(request, frame, width_px=width)
    return shapes.FrameOut(
        lying=seen.lying.value,
        cards=list(seen.cards),
        numbers=list(seen.numbers),
        corners_px=[_points(one) for one in seen.corners_px],
    )


def _points(polygon: Polygon) -> list[tuple[float, float]]:
    return [(round(x, 1), round(y, 1)) for x, y in polygon]


@router.post("/camera/{batch_id}/pictures", status_code=201, max_body_size=PICTURE_MAX)
def take_picture(
    request: Request,
    batch_id: Id,
    picture: Annotated[UploadFile, File()],
    cards: Annotated[str, Form(max_length=400)] = "",
) -> shapes.PictureOut:
    """Keep one picture. ``cards``: those that lay there by the last frame, separated by spaces; where the picture shows
    others, something had moved, and it is set aside.
    """
    desk = desk_of(request)
    found = picture_taken(desk, batch_id, picture.file.read(), wanted=cards.split())
    return shapes.PictureOut(
        photo=found.photo_id,
        kept=found.kept,
        cards=list(found.cards),
        numbers=list(found.numbers),
        taken=camera_flow.see_station(desk.library, batch_id).taken,
    )


@router.delete("/camera/{batch_id}/pictures/{photo_id}")
def take_back_picture(request: Request, batch_id: Id, photo_id: Id) -> ActionOut:
    """Take one picture back that is not filed yet. Nothing is deleted: the undo of this step brings it back."""
    return ActionOut(action=camera_flow.take_back(desk_of(request).library, batch_id, photo_id))


@router.post("/camera/{batch_id}/close", status_code=202)
def close_stack(request: Request, batch_id: Id) -> BatchMade:
    """The stack is done: file it in the background. Its batch tells the count of the class."""
    desk = desk_of(request)
    if not camera_flow.see_station(desk.library, batch_id).taken:
        raise PortfolioError("bad-request", item="This stack", found="no picture was taken yet")
    desk.reader.start(batch_id)
    return BatchMade(batch=batch_id)


# --- share time ---------------------------------------------------------------------------------------------


@router.get("/projector")
def show_projected(
    request: Request,
    day: date | None = None,
    class_label: Annotated[str, Query(alias="class", max_length=100)] = "",
) -> shapes.ProjectedOut:
    """The works of a day for the whole class to see, by number; without a day, of the last one with any."""
    desk = desk_of(request)
    seen = see_projected(desk.library, today=desk.today(), day=day, class_label=class_label)
    return shapes.ProjectedOut.model_validate(
        {
            "day": seen.day,
            "class": seen.class_label or None,
            "classes": list(seen.classes),
            "works": [_projected(one) for one in seen.works],
        }
    )


def _projected(work: WorkShown) -> dict[str, Any]:
    return {
        "work": work.work_id,
        "class": work.class_label,
        "number": work.number,
        "title": work.title,
        "medium": work.medium,
        "size_mm": [work.width_mm, work.height_mm] if work.width_mm and work.height_mm else None,
        "picture": f"/pictures/{work.derived_key}",
    }
