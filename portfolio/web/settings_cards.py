"""Settings, cards: the sheets to print, of number cards and of the cards that stand for classes and media."""

from __future__ import annotations

from typing import Annotated, Final

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse, Response

from portfolio.cards.sheets import Paper
from portfolio.errors import PortfolioError
from portfolio.flows import printing
from portfolio.flows.misfits import refuse
from portfolio.model.people import NUMBER_MAX
from portfolio.web import words
from portfolio.web.answers import Choice
from portfolio.web.answers_settings import CardsPage
from portfolio.web.desk import Desk, desk_of
from portfolio.web.render import page
from portfolio.web.settings_frame import settings_frame
from portfolio.web.settings_releases import read_numbers
from portfolio.web.settings_year import Fields
from portfolio.web.typed import Typed

router = APIRouter(include_in_schema=False)

_HERE: Final = "/settings/cards"
_USUAL_NUMBERS: Final = "1-30"
_PAPERS: Final = {Paper.LETTER: "Letter", Paper.A4: "A4"}


@router.get("/settings/cards")
def show_cards(request: Request) -> HTMLResponse:
    """What can be printed."""
    return _page(request)


@router.post("/settings/cards")
def print_cards(request: Request, fields: Fields) -> Response:
    """The sheets as PDF. Class cards that are printed stand for their classes from then on."""
    desk, typed = desk_of(request), Typed(fields)
    try:
        numbers = read_numbers(typed.raw("numbers"), everyone=set(range(1, NUMBER_MAX + 1)))
        if numbers is None:
            refuse({"numbers": f"Write numbers from 1 to {NUMBER_MAX}, like 1-28, or all."})
        pdf = printing.card_pdf(
            desk.library,
            numbers=sorted(numbers or ()),
            classes=bool(typed.raw("classes")),
            media=bool(typed.raw("media")),
            controls=bool(typed.raw("controls")),
            paper=Paper.A4 if typed.raw("paper") == Paper.A4 else Paper.LETTER,
            today=desk.today(),
        )
    except PortfolioError as error:
        return _page(request, typed=typed, error=error)
    return _pdf(pdf, "cards.pdf")


@router.get("/settings/cards/how-to.pdf")
def show_how_to(paper: Annotated[str, Query(max_length=10)] = "") -> Response:
    """One page that shows how to photograph a work with its card."""
    return _pdf(printing.how_to_pdf(Paper.A4 if paper == Paper.A4 else Paper.LETTER), "how-to-photograph.pdf")


def _pdf(pdf: bytes, name: str) -> Response:
    return Response(
        pdf, media_type="application/pdf", headers={"Content-Disposition": f'attachment; filename="{name}"'}
    )


def _page(request: Request, *, typed: Typed | None = None, error: PortfolioError | None = None) -> HTMLResponse:
    form = typed or Typed()
    frame = settings_frame(request, _HERE, form=form, error=error)
    hint = "Like 1-28. One set serves every class: the number and the class say who."
    answer = CardsPage(
        frame=frame,
        numbers=form.field("numbers", "Number cards", _USUAL_NUMBERS, hint=hint, most=120),
        others=_others(desk_of(request), form if typed else None),
        papers=tuple(Choice(one.value, label, form.raw("paper") == one.value) for one, label in _PAPERS.items()),
    )
    return page(request, "settings_cards.html", drawer="/settings", status=error.http if error else 200, page=answer)


def _others(desk: Desk, typed: Typed | None) -> tuple[Choice, ...]:
    """The larger cards, each kind as one tick; class cards only when there are classes."""
    classes, media = printing.labels(desk.library, desk.today())
    offered = {
        "classes": f"A card for each class: {words.listed(_few(classes))}" if classes else "",
        "media": f"A card for each medium: {words.listed(_few(media))}" if media else "",
        "controls": "Cards for another view, group work, a slip, the back, a detail, the end of a class",
    }
    return tuple(
        Choice(key, label, bool(typed.raw(key)) if typed else key == "controls")
        for key, label in offered.items()
        if label
    )


def _few(labels: list[str], most: int = 3) -> list[str]:
    return [*labels[:most], f"{len(labels) - most} more"] if len(labels) > most + 1 else labels
