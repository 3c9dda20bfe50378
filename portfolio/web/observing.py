"""The quick entry of what the teacher sees: tap a number, tap what it is, keep it; usable while walking."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Annotated, Final

from fastapi import APIRouter, Depends, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from portfolio.errors import PortfolioError
from portfolio.flows import settle
from portfolio.flows.observe import NOTE_MAX, WHAT_MAX, Entry, Observing, observe, see_observing
from portfolio.web import words
from portfolio.web.answers import Chip, Note
from portfolio.web.answers_class import NumberPick, ObservingPage, SeenLine
from portfolio.web.desk import desk_of
from portfolio.web.fields import FormId, Id, OptionalId
from portfolio.web.render import note_of, page

router = APIRouter(include_in_schema=False)


@dataclass(frozen=True, slots=True)
class Typed:
    """What was tapped and typed, so that nothing is lost when it cannot be kept."""

    number: str = ""
    what: str = ""
    other: str = ""
    level: str = ""
    text: str = ""

    @property
    def number_now(self) -> int:
        """The number that was tapped. Raises a sentence when there is none."""
        if not self.number.isdecimal():
            raise PortfolioError("bad-request", item="What you saw", found="no number is chosen")
        return int(self.number)

    @property
    def seen(self) -> str:
        """What was seen: the words typed win over the word tapped."""
        return self.other.strip() or self.what


NOTHING: Final = Typed()


def _typed(
    number: Annotated[str, Form(max_length=4)] = "",
    what: Annotated[str, Form(max_length=WHAT_MAX)] = "",
    other: Annotated[str, Form(max_length=4 * WHAT_MAX)] = "",
    level: Annotated[str, Form(max_length=40)] = "",
    text: Annotated[str, Form(alias="note", max_length=4 * NOTE_MAX)] = "",
) -> Typed:
    return Typed(number, what, other, level, text)


@router.get("/classes/{class_id}/saw")
def show_observing(request: Request, class_id: Id, kept: OptionalId = 0, number: OptionalId = 0) -> HTMLResponse:
    """The quick entry for one class; ``kept``: the action that was just carried out, ``number``: whom it is about."""
    return _page(request, class_id, kept=kept, typed=Typed(number=str(number)) if number else NOTHING)


def _page(
    request: Request,
    class_id: int,
    *,
    kept: int = 0,
    typed: Typed = NOTHING,
    note: Note | None = None,
    status: int = 200,
) -> HTMLResponse:
    desk = desk_of(request)
    seen = see_observing(desk.library, class_id, today=desk.today())
    answer = observing_page(seen, today=desk.today(), kept=kept, typed=typed, note=note)
    return page(request, "observing.html", drawer="/classes", status=status, page=answer)


@router.post("/classes/{class_id}/saw")
def keep_observation(request: Request, class_id: Id, typed: Annotated[Typed, Depends(_typed)]) -> Response:
    """Keep what was seen and stand ready for the next."""
    desk = desk_of(request)
    try:
        done = observe(
            desk.library,
            class_id,
            number=typed.number_now,
            what=typed.seen,
            level=typed.level,
            note=typed.text,
            today=desk.today(),
        )
    except PortfolioError as error:
        return _page(request, class_id, typed=typed, note=note_of(error), status=error.http)
    return RedirectResponse(f"/classes/{class_id}/saw?kept={done}", status_code=303)


@router.post("/classes/{class_id}/saw/undo")
def undo_observation(request: Request, class_id: Id, action_id: FormId) -> Response:
    """Take back one thing noted."""
    try:
        settle.undo(desk_of(request).library, action_id)
    except PortfolioError as error:
        return _page(request, class_id, note=note_of(error), status=error.http)
    return RedirectResponse(f"/classes/{class_id}/saw", status_code=303)


def observing_page(
    seen: Observing, *, today: date, kept: int = 0, typed: Typed = NOTHING, note: Note | None = None
) -> ObservingPage:
    """The answer: numbers, what may be seen, how it goes, and what was noted today. Nothing is chosen beforehand: a
    judgment is never kept by accident.
    """
    done = next((one for one in seen.today if one.action_id == kept), None) if kept else None
    noted = {one.number for one in seen.today}
    return ObservingPage(
        class_id=seen.group.class_id,
        class_label=seen.group.label,
        day=words.day_long(today),
        numbers=tuple(
            NumberPick(one.number, one.first_name, one.number in noted, str(one.number) == typed.number)
            for one in seen.roll
        ),
        offered=tuple(Chip(one, words.capital(one), chosen=one == typed.what) for one in seen.offered),
        levels=tuple(Chip(one, words.capital(one), chosen=one == typed.level) for one in seen.levels),
        other=typed.other,
        text=typed.text,
        today=tuple(SeenLine(one.number, _said(one), one.action_id) for one in seen.today),
        kept=f"Kept: number {done.number}, {_said(done)}." if done else "",
        undo=done.action_id if done else None,
        note=note,
    )


def _said(one: Entry) -> str:
    return ", ".join(part for part in (one.what, one.level, one.note.rstrip(".")) if part)
