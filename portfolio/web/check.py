"""To check: one question at a time, the photo large, the best guess first; every answer is a plain form."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Any
from urllib.parse import urlencode

from fastapi import APIRouter, Form, Path, Query, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from portfolio.errors import PortfolioError
from portfolio.flows import settle
from portfolio.flows.see_batch import QuestionSeen, QuestionsSeen, see_questions
from portfolio.web import scale, words
from portfolio.web.answers import Choice, Note, Picture, Tile, Wall
from portfolio.web.answers_check import CheckPage, Outline
from portfolio.web.asking import Asking, asking_of
from portfolio.web.desk import desk_of
from portfolio.web.render import note_of, page

router = APIRouter(include_in_schema=False)

ID_MAX = 2**63 - 1
Id = Annotated[int, Path(ge=1, le=ID_MAX)]
OptionalId = Annotated[int, Query(ge=0, le=ID_MAX)]


@router.get("/check")
def show_check(
    request: Request, batch: OptionalId = 0, ask: OptionalId = 0, undo: OptionalId = 0, later: int = 0
) -> HTMLResponse:
    """The question that is asked now."""
    return _page(request, batch=batch, ask=ask, undo=undo, later=bool(later))


def _page(
    request: Request,
    *,
    batch: int = 0,
    ask: int = 0,
    undo: int = 0,
    later: bool = False,
    note: Note | None = None,
    status: int = 200,
) -> HTMLResponse:
    desk = desk_of(request)
    seen = see_questions(desk.library, batch_id=batch or None, question_id=ask or None, later=later)
    answer = check_page(seen, today=desk.today(), batch=batch, undo=undo, note=note)
    return page(request, "check.html", drawer="/check", status=status, page=answer)


@router.post("/check/undo")
def undo(
    request: Request,
    action_id: Annotated[int, Form(ge=1, le=ID_MAX)],
    batch: Annotated[str, Form(max_length=20)] = "",
) -> Response:
    """Take the last answer back; its question is asked again."""
    try:
        settle.undo(desk_of(request).library, action_id)
    except PortfolioError as error:
        return _page(request, batch=_number(batch), note=note_of(error), status=error.http)
    return _on(batch=_number(batch))


@router.post("/check/{question_id}")
def take_answer(
    request: Request,
    question_id: Id,
    *,
    answer: Annotated[str, Form(max_length=20)] = "",
    number: Annotated[str, Form(max_length=20)] = "",
    class_label: Annotated[str, Form(max_length=40)] = "",
    batch: Annotated[str, Form(max_length=20)] = "",
) -> Response:
    """Carry out an answer and go on to the next question."""
    desk = desk_of(request)
    try:
        given = answer_of(answer, number=number, class_label=class_label)
        done = settle.answer(desk.library, question_id, given, executor=desk.workers.get())
    except PortfolioError as error:
        return _page(request, batch=_number(batch), ask=question_id, note=note_of(error), status=error.http)
    return _on(batch=_number(batch), undo=done)


def answer_of(answer: str, *, number: str = "", class_label: str = "") -> settle.Answer:
    """A form's fields as an answer. Refuses words that are none."""
    if number:
        if not number.isdecimal() or not 1 <= int(number) <= 99:
            raise PortfolioError("bad-request", item="The number", found="it is no number from 1 to 40")
        return settle.Answer(number=int(number), class_label=class_label or None)
    kind, _, place = answer.partition("-")
    if kind == "option" and place.isdecimal() and len(place) < 4:
        return settle.Answer(option=int(place))
    if answer == "yes-all":
        return settle.Answer(yes=True, whole_group=True)
    if answer in ("yes", "later", "aside", "whole"):
        return settle.Answer(
            yes=answer == "yes", later=answer == "later", aside=answer == "aside", whole=answer == "whole"
        )
    raise PortfolioError("bad-request", item="The answer", found="it says nothing that is asked")


def _number(text: str) -> int:
    return int(text) if text.isdecimal() and len(text) < 19 else 0


def _on(*, batch: int, undo: int = 0) -> RedirectResponse:
    query = urlencode({key: value for key, value in {"batch": batch, "undo": undo}.items() if value})
    return RedirectResponse(f"/check?{query}" if query else "/check", status_code=303)


def check_page(
    seen: QuestionsSeen, *, today: date, batch: int = 0, undo: int = 0, note: Note | None = None
) -> CheckPage:
    """The answer: the question now, what comes after it, and the way back."""
    asked = seen.asked
    asking = asking_of(asked, seen.labels, today=today) if asked else None
    photo = asked.photo if asked else None
    return CheckPage(
        question_id=asked.question.question_id if asked else 0,
        place=_place(seen, batch),
        taken=f"Photo taken {words.day_plain(photo.taken.local.date(), today=today)}, {words.clock(photo.taken.local)}"
        if photo and photo.taken
        else "",
        heading=asking.heading if asking else "",
        guess=asking.figure if asking else "",
        guess_words=_guess_words(asking),
        why=asked.question.evidence if asked else "",
        answers=asking.answers if asking else (),
        other_number=asking.takes_number if asking else False,
        digits=asking.digits if asking else "",
        classes=_classes(seen),
        photo=_photo(asked),
        beside=tuple(_beside(one) for one in asked.question.beside[:3]) if asked else (),
        said=asked.said if asked else "",
        outline=_outline(asked),
        after=Wall(tuple(_tile(one, seen, batch, today) for one in seen.after)),
        later=seen.later,
        undo=undo or None,
        undo_words="Your last answer is kept." if undo else "",
        batch=str(batch or ""),
        note=note,
    )


def _place(seen: QuestionsSeen, batch: int) -> str:
    if not seen.of:
        return ""
    where = " in this batch" if batch else ""
    return f"{words.count(seen.of, 'question')} to answer{where}"


def _guess_words(asking: Asking | None) -> str:
    if asking is None or not asking.figure:
        return ""
    return "best guess" if asking.digits == "number" or asking.takes_number else ""


def _classes(seen: QuestionsSeen) -> tuple[Choice, ...]:
    guessed = ((seen.asked.question.guess or {}) if seen.asked else {}).get("class_id")
    labels = [(key, seen.labels[key]) for key in seen.current]
    chosen = guessed if guessed in seen.current else None
    lead = () if chosen else (Choice("", "class", True),)
    return (*lead, *(Choice(label, label, key == chosen) for key, label in labels))


def _photo(asked: QuestionSeen | None) -> Picture | None:
    if asked is None or asked.photo is None or not asked.photo.was_read:
        return None
    width, height = asked.size_px or (1600, 1200)
    share = min(1.0, 1600 / max(width, height))
    return Picture(
        src=f"/photos/{asked.photo.photo_id}/1600",
        width_px=round(width * share),
        height_px=round(height * share),
        mm=scale.UNMEASURED_MM,
        alt="The photo as it was taken",
    )


def _beside(photo_id: int) -> Picture:
    return Picture(f"/photos/{photo_id}/400", 400, 300, scale.UNMEASURED_MM, "The earlier photo of this number")


def _outline(asked: QuestionSeen | None) -> Outline | None:
    if asked is None or asked.size_px is None or asked.question.kind != "crop":
        return None
    points = (asked.question.guess or {}).get("outline_px") or ()
    width, height = asked.size_px
    return Outline(f"0 0 {width} {height}", " ".join(f"{x:.0f},{y:.0f}" for x, y in points))


def _tile(one: QuestionSeen, seen: QuestionsSeen, batch: int, today: date) -> Tile:
    asking = asking_of(one, seen.labels, today=today)
    query: dict[str, Any] = {"ask": one.question.question_id, **({"batch": batch} if batch else {})}
    picture = None
    if one.photo is not None and one.photo.was_read:
        width, height = one.size_px or (400, 300)
        picture = Picture(
            f"/photos/{one.photo.photo_id}/400",
            400,
            max(1, round(400 * height / width)),
            scale.UNMEASURED_MM,
            "The photo as it was taken",
        )
    figure = asking.figure or "?"
    return Tile(
        name=f"{figure}: {asking.heading} {asking.short}",
        number=figure,
        title=asking.heading,
        second=asking.short,
        line="asks",
        href=f"/check?{urlencode(query)}",
        picture=picture,
    )
