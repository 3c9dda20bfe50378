"""What stands below a batch once it is filed: the count of each class, who was absent, and hints for the next stack."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import RedirectResponse, Response

from portfolio.archive.library import Library
from portfolio.flows import card_scale
from portfolio.flows.absent import say_absent, see_absent
from portfolio.flows.batch_report import hints_now
from portfolio.flows.choose_again import choose_again
from portfolio.flows.desk import see_picks
from portfolio.flows.file_batch import count_batch
from portfolio.flows.see_batch import BatchSeen
from portfolio.web import words
from portfolio.web.answers_photos import AbsentBox, BatchChoice, Counted
from portfolio.web.desk import Desk, desk_of
from portfolio.web.fields import DayWord, Id, IdWord, day_in, id_in
from portfolio.web.picks import class_choices, medium_choices, with_chosen

router = APIRouter(include_in_schema=False)


def counted_of(library: Library, batch_id: int) -> Counted:
    """The count as the batch stands now, also when questions were answered since it was read."""
    checks = count_batch(library, batch_id)
    hints = hints_now(library, batch_id)
    absent = see_absent(library, batch_id, checks)
    return Counted(
        checks=tuple(f"{one.label}: {one.sentence.rstrip('.')}." for one in checks),
        hints=tuple(one.sentence for one in hints),
        absent=tuple(AbsentBox(number, number in absent.said) for number in absent.may_be) if absent else (),
        absent_class=absent.class_label if absent else "",
        by_order=absent.by_order if absent else False,
        may_correct=any(one.code == "card-scale" for one in hints),
        is_corrected=any(one.code == "card-scale-corrected" for one in hints),
    )


def choice_of(desk: Desk, seen: BatchSeen) -> BatchChoice:
    """What may be chosen again for a filed batch, with what is chosen now."""
    picks, chosen = see_picks(desk.library, desk.today()), seen.batch.chosen
    return BatchChoice(
        classes=with_chosen(class_choices(picks), chosen.class_id, seen.class_label or ""),
        media=with_chosen(medium_choices(picks), chosen.medium_id, words.capital(seen.medium)),
        day=chosen.day.isoformat() if chosen.day else "",
    )


@router.post("/add/{batch_id}/choose")
def choose(
    request: Request, batch_id: Id, *, class_id: IdWord = "", medium_id: IdWord = "", day: DayWord = ""
) -> Response:
    """Choose class, medium and day again, and file the batch anew in the background."""
    desk = desk_of(request)
    choose_again(
        desk.library,
        batch_id,
        see_picks(desk.library, desk.today()),
        class_id=id_in(class_id),
        medium_id=id_in(medium_id),
        day=day_in(day, item="The day"),
    )
    desk.reader.start(batch_id)
    return RedirectResponse(f"/add/{batch_id}", status_code=303)


@router.post("/add/{batch_id}/absent")
def take_absent(
    request: Request,
    batch_id: Id,
    absent: Annotated[list[Annotated[int, Form(ge=1, le=40)]] | None, Form(max_length=40)] = None,
) -> Response:
    """Keep who was absent, and file and count the batch anew in the background."""
    desk = desk_of(request)
    say_absent(desk.library, batch_id, absent or ())
    desk.reader.start(batch_id)
    return RedirectResponse(f"/add/{batch_id}", status_code=303)


@router.post("/add/{batch_id}/sizes")
def correct_sizes(request: Request, batch_id: Id) -> Response:
    """Correct the sizes by the scale at which the cards were printed."""
    card_scale.correct_sizes(desk_of(request).library, batch_id)
    return RedirectResponse(f"/add/{batch_id}", status_code=303)


@router.post("/add/{batch_id}/sizes/undo")
def measure_again(request: Request, batch_id: Id) -> Response:
    """Take the correction of the sizes back."""
    card_scale.measured_sizes(desk_of(request).library, batch_id)
    return RedirectResponse(f"/add/{batch_id}", status_code=303)
