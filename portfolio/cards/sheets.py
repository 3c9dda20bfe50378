"""Pages to print: number cards, class, medium and control cards, and how to photograph.

The pages are set by typst from the templates in ``static/print``; everything goes in as JSON, never as markup, so a
label prints as it is. The same input gives the same bytes. The PDF is tagged (PDF/UA-1) and carries no name, date or
path.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Any, Final

import numpy as np
import typst

from portfolio.cards import geometry as g
from portfolio.cards.draw import srgb_of, tag_modules
from portfolio.errors import PortfolioError
from portfolio.model.assets import asset
from portfolio.model.cards import CardKind, Control

CHECK_MM: Final = 100
"""Length of the line that shows whether a page was printed at its true size."""
_LARGE_MM: Final = (190.0, 116.0)
"""Class, medium and control cards: the card of the contract in a wide colored frame."""
_TINTS: Final = {CardKind.CLASS: "#e6d6e8", CardKind.MEDIUM: "#cfe0ea", CardKind.CONTROL: "#f0e2b6"}
_HINTS: Final = {
    CardKind.CLASS: "Photograph this first. The photos that follow are from this class.",
    CardKind.MEDIUM: "Photograph this by itself. The photos that follow are made with it.",
}
_CONTROL_HINTS: Final = {
    Control.ANOTHER_VIEW: "Lay this beside the number card: the same work once more.",
    Control.GROUP_WORK: "Lay this beside the number cards of everybody who made the work.",
    Control.SLIP: "Lay this and the number card beside what the child wrote.",
    Control.BACK: "Lay this beside the number card: the back of the work.",
    Control.DETAIL: "Lay this beside the number card: a part of the work, close.",
    Control.END_OF_CLASS: "Photograph this last. The class is done.",
}
_Steps = dict[tuple[int, int], list[tuple[int, int]]]
_SIDES: Final = (
    ((0, 0), (1, 0), (-1, 0)),
    ((1, 0), (1, 1), (0, 1)),
    ((1, 1), (0, 1), (1, 0)),
    ((0, 1), (0, 0), (0, -1)),
)
"""The four sides of a square, clockwise: from, to, and the neighbor (row, column) beyond."""


class Paper(StrEnum):
    """Sizes of paper that the cards are set for."""

    LETTER = "letter"
    A4 = "a4"


_PAPERS: Final = {
    Paper.LETTER: {"width": 215.9, "height": 279.4, "top": 12.0, "left": 14.0, "foot": 7.0},
    Paper.A4: {"width": 210.0, "height": 297.0, "top": 16.0, "left": 12.0, "foot": 12.0},
}


@dataclass(frozen=True, slots=True)
class CardToPrint:
    """One card: its kind, its value, and the word on it (a class or a medium)."""

    kind: CardKind
    value: int
    label: str | None = None

    @property
    def is_large(self) -> bool:
        """Everything but a number card has a colored frame."""
        return self.kind is not CardKind.NUMBER


def card_sheets(cards: Sequence[CardToPrint], *, paper: Paper = Paper.LETTER) -> bytes:
    """The cards as PDF, in the order given, four number cards or two large cards a page.

    Refuses a card that does not exist (``ValueError``) and letters that none of the shipped fonts has.
    """
    if not cards:
        raise PortfolioError("bad-request", item="The list of cards", found="it is empty")
    pages = list(_pages(cards))
    return _pdf(
        "cards.typ",
        {"title": "Cards", "page": _PAPERS[paper], "large": _LARGE_MM, "geometry": _geometry(), "pages": pages},
    )


def how_to_sheet(*, paper: Paper = Paper.LETTER) -> bytes:
    """One page that shows how to photograph a work with its card."""
    cards = [CardToPrint(CardKind.CLASS, 301, "3B"), *(CardToPrint(CardKind.NUMBER, n) for n in (14, 15, 16))]
    shown = [_card(card) for card in [*cards, CardToPrint(CardKind.CONTROL, 106)]]
    return _pdf("how-to.typ", {"page": _PAPERS[paper], "geometry": _geometry(), "cards": shown, "tints": _TINTS})


def _pages(cards: Sequence[CardToPrint]) -> Iterator[dict[str, Any]]:
    """Cards of one kind by pages, with the name of each page."""
    for kind in (CardKind.NUMBER, CardKind.CLASS, CardKind.MEDIUM, CardKind.CONTROL):
        those = [card for card in cards if card.kind is kind]
        a_page = 4 if kind is CardKind.NUMBER else 2
        for few in (those[start : start + a_page] for start in range(0, len(those), a_page)):
            yield {"large": few[0].is_large, "name": _page_name(few), "cards": [_card(card) for card in few]}


def _page_name(cards: Sequence[CardToPrint]) -> str:
    faces = [g.face_of(card.kind, card.value, card.label) for card in cards]
    return f"{_kind_words(cards[0])}{'s' if len(cards) > 1 else ''} {', '.join(faces)}"


def _card(card: CardToPrint) -> dict[str, Any]:
    face = g.face_of(card.kind, card.value, card.label)
    tags = zip(g.Side, g.tags_of(card.kind, card.value), strict=True)
    return {
        "kind": card.kind.value,
        "face": _lines(face) if card.is_large else [face],
        "word": face,
        "kind-words": _kind_words(card) + (f", slot {g.slot_of(card.value)}" if card.kind is CardKind.CLASS else ""),
        "hint": _hint(card),
        "tint": _TINTS.get(card.kind, "#ffffff"),
        "tags": {side.value: black_outline(tag) for side, tag in tags},
    }


def _kind_words(card: CardToPrint) -> str:
    return f"{card.kind.value.capitalize()} card"


def _lines(words: str) -> list[str]:
    """A long label in two lines of about the same length."""
    gaps = [at for at, letter in enumerate(words) if letter == " "]
    if len(words) <= 8 or not gaps:
        return [words]
    middle = min(gaps, key=lambda at: max(at, len(words) - at - 1))
    return [words[:middle], words[middle + 1 :]]


def _hint(card: CardToPrint) -> str:
    control = g.CONTROLS.get(card.value)
    return _CONTROL_HINTS[control] if control else _HINTS.get(card.kind, "")


def _geometry() -> dict[str, Any]:
    """The one geometry, for the templates."""
    # A printer's white is the bare paper, so a patch is asked for as a share of it, encoded as sRGB gray.
    shares = np.array(g.PATCH_REFLECTANCE, dtype=np.float32) / g.PAPER_REFLECTANCE
    return {
        "card": g.CARD,
        "tags": {side.value: rect for side, rect in g.TAGS.items()},
        "patches": g.PATCHES,
        "grays": srgb_of(shares).tolist(),
        "number": g.NUMBER_BOX,
        "ledge": g.LEDGE,
        "baseline": g.NUMBER_BASELINE_MM,
        "em": g.DIGIT_MM / g.CAPITAL_EM,
        "check": CHECK_MM,
    }


def black_outline(tag_id: int) -> list[list[tuple[float, float]]]:
    """Edges of a tag's black as closed lines in millimeters from its top left corner, to be filled even-odd.

    One filled shape, not 64 squares: between squares a printer or a viewer leaves hairlines.
    """
    black = np.pad(tag_modules(tag_id), 1)
    steps: _Steps = {}
    for row, column in zip(*np.nonzero(black), strict=True):
        x, y = int(column) - 1, int(row) - 1
        for (start_x, start_y), (end_x, end_y), (down, right) in _SIDES:
            if not black[row + down, column + right]:
                steps.setdefault((x + start_x, y + start_y), []).append((x + end_x, y + end_y))
    return [[(x * g.MODULE_MM, y * g.MODULE_MM) for x, y in loop] for loop in _loops(steps)]


def _loops(steps: _Steps) -> Iterator[list[tuple[int, int]]]:
    """Follow steps from point to point until each line closes."""
    while steps:
        start = at = next(iter(steps))
        loop: list[tuple[int, int]] = []
        while not loop or at != start:
            loop.append(at)
            ends = steps[at]
            following = ends.pop()
            if not ends:
                del steps[at]
            at = following
        yield loop


def _pdf(template: str, data: dict[str, Any]) -> bytes:
    folder = asset("print")
    try:
        made = typst.compile(
            str(folder / template),
            root=str(folder),
            font_paths=[str(folder / "fonts")],
            ignore_system_fonts=True,
            sys_inputs={"data": json.dumps(data)},
            format="pdf",
            pdf_standards="ua-1",
        )
    except typst.TypstError as error:
        missing = re.search(r"the text `\"(.+?)\"` could not be displayed", error.message)
        if missing is None:
            raise
        raise PortfolioError("letters-not-printable", item="A label", found=missing[1]) from error
    return bytes(made)
