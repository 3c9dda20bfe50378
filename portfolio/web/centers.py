"""The centers on a class's page: open since when or opening when, to whom they are new; and saying when they open."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Final

from fastapi import APIRouter, Form, Request
from fastapi.responses import RedirectResponse, Response

from portfolio.errors import PortfolioError
from portfolio.flows import settle
from portfolio.flows.centers import CenterSeen, CentersSeen, open_for
from portfolio.web import words
from portfolio.web.answers import LineKind
from portfolio.web.answers_class import CenterLine, CentersPart
from portfolio.web.desk import desk_of
from portfolio.web.fields import DayWord, FormId, Id, day_in

router = APIRouter(include_in_schema=False)

NAMED: Final = 6
"""So many numbers are named; more are counted."""


@router.post("/classes/{class_id}/centers/undo")
def take_back(request: Request, class_id: Id, action_id: FormId) -> Response:
    """Take back what was said about a center; the days before it hold again."""
    settle.undo(desk_of(request).library, action_id)
    return RedirectResponse(f"/classes/{class_id}#centers", status_code=303)


@router.post("/classes/{class_id}/centers/{centre_id}")
def say_when(
    request: Request,
    class_id: Id,
    centre_id: Id,
    *,
    opens: DayWord = "",
    closes: DayWord = "",
    every: Annotated[str, Form(max_length=3)] = "",
) -> Response:
    """Say when a center opens (and closes) for this class, or for all classes of its year."""
    first, last = day_in(opens, item="The day it opens"), day_in(closes, item="The day it closes")
    if first is None:
        raise PortfolioError("bad-request", item="The day it opens", found="no day is given")
    library = desk_of(request).library
    done = open_for(library, class_id, centre_id, opens_on=first, closes_on=last, every=bool(every))
    return RedirectResponse(f"/classes/{class_id}?opened={done}#centers", status_code=303)


def centers_part(seen: CentersSeen, *, class_id: int, label: str, today: date, undo: int = 0) -> CentersPart:
    """The answer: one line a center, in the room's order; ``undo``: the step that was just carried out."""
    lines = tuple(_line(one, seen, today) for one in seen.centers)
    return CentersPart(class_id, label, _newcomer_words(seen), lines, undo)


def _newcomer_words(seen: CentersSeen) -> str:
    new = len(seen.newcomers)
    if not seen.of:
        return ""
    if not new:
        return "All children were here last year or before."
    if new == seen.of:
        return "All children are new to this room this year."
    return f"{_numbers(seen.newcomers, seen.of)} new to this room this year; {seen.of - new} are returning."


def _numbers(numbers: tuple[int, ...], of: int) -> str:
    if len(numbers) <= NAMED:
        named = words.listed([str(number) for number in numbers])
        return f"Number {named} is" if len(numbers) == 1 else f"Numbers {named} are"
    return f"{len(numbers)} of {of} are"


def _line(one: CenterSeen, seen: CentersSeen, today: date) -> CenterLine:
    sentence, line = _standing(one, seen, today)
    return CenterLine(
        centre_id=one.centre_id,
        label=words.capital(one.label),
        sentence=sentence,
        second=_new_words(one, seen.of),
        line=line,
        opens=one.opens_on.isoformat() if one.opens_on else "",
        closes=one.closes_on.isoformat() if one.closes_on else "",
        for_all=one.for_all,
    )


def _standing(one: CenterSeen, seen: CentersSeen, today: date) -> tuple[str, LineKind]:
    if not seen.dated:
        return "Open, since no center has a day yet.", "kept"
    if one.opens_on is None:
        return "No day yet.", "not-yet"
    if one.is_open:
        until = f", until {words.day_plain(one.closes_on, today=today)}" if one.closes_on else ""
        return f"Open since {words.day_plain(one.opens_on, today=today)}{until}.", "kept"
    if one.opens_on > today:
        return f"Opens {words.day_plain(one.opens_on, today=today)}.", "not-yet"
    closed = one.closes_on or one.opens_on
    return f"Closed since {words.day_plain(closed, today=today)}.", "not-yet"


def _new_words(one: CenterSeen, of: int) -> str:
    if not of:
        return ""
    if not one.new_to:
        return "Every child has worked here."
    if len(one.new_to) == of:
        return "New to everybody."
    return f"{_numbers(one.new_to, of)} new to it."
