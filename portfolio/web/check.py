"""To check: one question at a time, the photo large, the best guess first; every answer is a plain form."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from typing import Annotated, Any
from urllib.parse import urlencode

from fastapi import APIRouter, Depends, Form, Query, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from portfolio.archive.photos import PhotoKept
from portfolio.errors import PortfolioError
from portfolio.flows import settle
from portfolio.flows.desk import class_and_year
from portfolio.flows.file_batch import count_batch
from portfolio.flows.see_batch import QuestionSeen, QuestionsSeen, batch_of_question, classes_of_batch, see_questions
from portfolio.model.filing import PhotoState, QuestionKind
from portfolio.web import scale, words
from portfolio.web.answers import Choice, Note, Picture, Tile, Wall
from portfolio.web.answers_check import CheckPage, Outline
from portfolio.web.asking import CROP, asking_of
from portfolio.web.classes import grid_page
from portfolio.web.desk import Desk, desk_of
from portfolio.web.fields import FormId, Id, IdWord, OptionalId, id_in
from portfolio.web.render import note_of, page
from portfolio.web.walls import as_taken, shown_now, wall_picture

router = APIRouter(include_in_schema=False)

GRIDS = 4
"""Classes of one batch whose grids stand at the end; a batch is of one class nearly always."""
Flag = Annotated[str, Form(max_length=1)]


@dataclass(frozen=True, slots=True)
class Line:
    """Where the teacher is in the line of questions: of one batch or all, and whether those put off are asked too."""

    batch: int = 0
    later: bool = False

    def href(self, **more: int) -> str:
        """The address of this line, with what else is to be known there; 0 is left out."""
        query = {**more, "batch": self.batch, "later": int(self.later)}
        words_of_it = urlencode({key: value for key, value in query.items() if value})
        return f"/check?{words_of_it}" if words_of_it else "/check"


def line_of(batch: IdWord = "", later: Flag = "") -> Line:
    """The line that a form was sent from."""
    return Line(id_in(batch) or 0, later == "1")


SentFrom = Annotated[Line, Depends(line_of)]


@router.get("/check")
def show_check(
    request: Request,
    *,
    batch: OptionalId = 0,
    ask: OptionalId = 0,
    undo: OptionalId = 0,
    undone: OptionalId = 0,
    later: Annotated[int, Query(ge=0, le=1)] = 0,
) -> HTMLResponse:
    """The question that is asked now."""
    return _page(request, Line(batch, bool(later)), ask=ask, undo=undo, undone=undone)


def _page(
    request: Request,
    line: Line,
    *,
    ask: int = 0,
    undo: int = 0,
    undone: int = 0,
    note: Note | None = None,
    status: int = 200,
) -> HTMLResponse:
    desk = desk_of(request)
    seen = see_questions(desk.library, batch_id=line.batch or None, question_id=ask or None, later=line.later)
    answer = check_page(seen, line, today=desk.today(), undo=undo, undone=undone, note=note)
    if seen.asked is None and not answer.put_off:
        answer = replace(answer, **_at_the_end(desk, line.batch or batch_of_question(desk.library, undone)))
    return page(request, "check.html", drawer="/check", status=status, page=answer)


def _at_the_end(desk: Desk, batch_id: int) -> dict[str, Any]:
    """What the batch has come to, once its last question is answered: its count, and the grids of its classes."""
    if not batch_id:
        return {}
    checks = count_batch(desk.library, batch_id)
    classes = [class_and_year(desk.library, one) for one in classes_of_batch(desk.library, batch_id)[:GRIDS]]
    return {
        "counted": tuple(f"{one.label}: {one.sentence.rstrip('.')}." for one in checks),
        "grids": tuple(grid_page(desk, group, year) for group, year in classes),
        "batch_href": f"/add/{batch_id}",
    }


@router.post("/check/undo")
def undo(request: Request, action_id: FormId, line: SentFrom, question: IdWord = "") -> Response:
    """Take the last answer back; its question is asked again."""
    try:
        settle.undo(desk_of(request).library, action_id)
    except PortfolioError as error:
        return _page(request, line, note=note_of(error), status=error.http)
    return RedirectResponse(line.href(ask=id_in(question) or 0), status_code=303)


@router.post("/check/{question_id}")
def take_answer(
    request: Request,
    question_id: Id,
    line: SentFrom,
    *,
    answer: Annotated[str, Form(max_length=20)] = "",
    number: Annotated[str, Form(max_length=60)] = "",
    shown_as: Annotated[str, Form(alias="as", max_length=20)] = "",
    class_label: Annotated[str, Form(max_length=40)] = "",
    earlier: Annotated[str, Form(max_length=20)] = "",
    following: Annotated[str, Form(alias="next", max_length=20)] = "",
) -> Response:
    """Carry out an answer and go on to the question that stood next on the ledge."""
    desk = desk_of(request)
    try:
        given = answer_of(answer, number=number, class_label=class_label, earlier=earlier, view=shown_as == "view")
        done = settle.answer(desk.library, question_id, given, executor=desk.workers.get())
    except PortfolioError as error:
        return _page(request, line, ask=question_id, note=note_of(error), status=error.http)
    if given.later and not following:  # put off again with nothing behind it: not the same question at once
        line = replace(line, later=False)
    address = line.href(ask=id_in(following) or 0, undo=done, undone=question_id)
    return RedirectResponse(address, status_code=303)


def answer_of(
    answer: str, *, number: str = "", class_label: str = "", earlier: str = "", view: bool = False
) -> settle.Answer:
    """A form's fields as an answer; several numbers are a group work. Refuses words that are none."""
    if earlier:
        return settle.Answer(first_number=_number_in(earlier))
    if number.strip(" ,"):
        numbers = tuple(dict.fromkeys(_number_in(one) for one in number.replace(",", " ").split()))
        if view and len(numbers) > 1:
            raise PortfolioError("bad-request", item="The number", found="a view is of one number")
        of_class = class_label or None
        if len(numbers) > 1:
            return settle.Answer(numbers=numbers, class_label=of_class)
        return settle.Answer(number=numbers[0], class_label=of_class, view=view)
    kind, _, place = answer.partition("-")
    if kind == "option" and place.isdecimal() and len(place) < 4:
        return settle.Answer(option=int(place))
    if answer in ("yes-all", "whole-all"):
        return settle.Answer(yes=answer == "yes-all", whole=answer == "whole-all", whole_group=True)
    if answer in ("yes", "later", "aside", "whole", "each"):
        return settle.Answer(
            yes=answer == "yes",
            later=answer == "later",
            aside=answer == "aside",
            whole=answer == "whole",
            each=answer == "each",
        )
    raise PortfolioError("bad-request", item="The answer", found="it says nothing that is asked")


def _number_in(text: str) -> int:
    if not text.isdecimal() or not 1 <= int(text) <= 99:
        raise PortfolioError("bad-request", item="The number", found="it is no number from 1 to 40")
    return int(text)


def check_page(
    seen: QuestionsSeen, line: Line, *, today: date, undo: int = 0, undone: int = 0, note: Note | None = None
) -> CheckPage:
    """The answer: the question now, what comes after it, and the way back."""
    asked = seen.asked
    asking = asking_of(asked, seen.labels, today=today) if asked else None
    photo = asked.photo if asked else None
    hidden = 0 if line.later else seen.put_off - (asked is not None and asked.question.state == "later")
    return CheckPage(
        question_id=asked.question.question_id if asked else 0,
        place=_place(seen, line),
        taken=f"Photo taken {words.moment(photo.taken.local, today=today)}" if photo and photo.taken else "",
        heading=asking.heading if asking else "",
        guess=asking.figure if asking else "",
        guess_words="best guess" if asking and asking.figure and asking.takes_number else "",
        why=asked.question.evidence if asked else "",
        answers=asking.answers if asking else (),
        other_number=asking.takes_number if asking else False,
        earlier_number=asked is not None and asked.question.kind == QuestionKind.SAME_NUMBER.value,
        digits=asking.digits if asking else "",
        classes=_classes(seen),
        photo=as_taken(photo, long_px=1600) if photo else None,
        beside=tuple(_beside(one) for one in asked.question.beside[:3]) if asked else (),
        said=asked.said if asked else "",
        outline=_outline(asked),
        outline_words=_outline_words(asked),
        edge_href=_edge_href(asked),
        hide_href=_edge_href(asked, "hide"),
        will_be=_as_it_will_be(asked),
        hidden_words=_hidden_words(asked),
        after=Wall(tuple(_tile(one, seen, line, today) for one in seen.after)),
        put_off=hidden,
        later_href=replace(line, later=True).href(),
        batch_href=f"/add/{line.batch}" if line.batch else "",
        nothing=_nothing(line, hidden),
        carried=_carried(seen, line),
        undo=undo or None,
        undo_words="Your last answer is kept." if undo else "",
        undone_question=str(undone or ""),
        note=note,
    )


def _place(seen: QuestionsSeen, line: Line) -> str:
    if not seen.of:
        return ""
    where = " in this batch" if line.batch else ""
    put_off = f", {seen.put_off} of them put off before" if line.later and seen.put_off < seen.of else ""
    return f"{words.count(seen.of, 'question')} to answer{where}{put_off}"


def _nothing(line: Line, put_off: int) -> str:
    where = " in this batch" if line.batch else ""
    if put_off:
        left = words.count(put_off, "question that you put off is", "questions that you put off are")
        return f"Nothing new to check{where}. Only {left} left."
    return f"Nothing to check{where}. Every photo has its number."


def _carried(seen: QuestionsSeen, line: Line) -> tuple[tuple[str, str], ...]:
    following = seen.after[0].question.question_id if seen.after else ""
    fields = (("batch", str(line.batch or "")), ("later", "1" if line.later else ""), ("next", str(following)))
    return tuple(one for one in fields if one[1])


def _classes(seen: QuestionsSeen) -> tuple[Choice, ...]:
    guessed = ((seen.asked.question.guess or {}) if seen.asked else {}).get("class_id")
    labels = [(key, seen.labels[key]) for key in seen.current]
    chosen = guessed if guessed in seen.current else None
    lead = () if chosen else (Choice("", "class", True),)
    return (*lead, *(Choice(label, label, key == chosen) for key, label in labels))


def _beside(photo_id: int) -> Picture:
    return Picture(f"/photos/{photo_id}/400", 400, 300, scale.UNMEASURED_MM, "The earlier photo of this number")


def _outline(asked: QuestionSeen | None) -> Outline | None:
    """The edge that is asked about; among several works, the one whose number is asked."""
    if asked is None or asked.photo is None or asked.photo.size_px is None:
        return None
    about_edge = asked.question.kind == CROP
    if not about_edge and not asked.photo.part:
        return None
    found = asked.question.guess if about_edge else (asked.photo.reading or {}).get("crop")
    points = (found or {}).get("outline_px") or ()
    if not points:
        return None
    width, height = asked.photo.size_px
    return Outline(f"0 0 {width} {height}", " ".join(f"{x:.0f},{y:.0f}" for x, y in points))


def _outline_words(asked: QuestionSeen | None) -> str:
    """What the dashed line is; one about a number is only drawn among several works."""
    if asked is not None and asked.question.kind != CROP:
        return "The photo shows several works; the one asked about has the dashed line."
    return "The dashed line is the edge that was found."


def _edge_href(asked: QuestionSeen | None, task: str = "edge") -> str:
    """Where the edge (or a part to hide) of the very photo that is asked about is set."""
    if asked is None or asked.photo is None:
        return ""
    if is_nobodys(asked.photo):
        return f"/check/{asked.question.question_id}/{task}"
    if asked.question.kind != CROP or not asked.question.work_id:
        return ""
    return f"/works/{asked.question.work_id}/{task}?" + urlencode(
        {"photo": asked.photo.photo_id, "ask": asked.question.question_id}
    )


def is_nobodys(photo: PhotoKept) -> bool:
    """Whether it is still asked whose work a photo is, and it has pixels to point at."""
    return photo.state is PhotoState.QUESTION and photo.size_px is not None


def _as_it_will_be(asked: QuestionSeen | None) -> Picture | None:
    """The picture of a photo that is nobody's yet, once its edge was set by hand."""
    photo = asked.photo if asked else None
    if photo is None or not is_nobodys(photo) or photo.quarter_turns is None or photo.derived_key is None:
        return None
    return wall_picture(photo.derived_key, width_mm=None, height_mm=None, alt="The work by the edge that you set")


def _hidden_words(asked: QuestionSeen | None) -> str:
    count = len(asked.photo.hidden) if asked and asked.photo and is_nobodys(asked.photo) else 0
    return f"{words.count(count, 'part is', 'parts are')} hidden from everybody else." if count else ""


def _tile(one: QuestionSeen, seen: QuestionsSeen, line: Line, today: date) -> Tile:
    asking = asking_of(one, seen.labels, today=today)
    figure = asking.figure or "?"
    return Tile(
        name=f"{figure}: {asking.heading} {asking.short}",
        number=figure,
        title=asking.heading,
        second=asking.short,
        line="asks",
        href=line.href(ask=one.question.question_id),
        picture=shown_now(one.photo) if one.photo else None,
        said=one.said,
    )
