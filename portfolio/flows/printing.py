"""Print cards for the room: number cards, and those that stand for the library's own classes and media."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from portfolio.archive.library import Library
from portfolio.cards.geometry import CONTROLS
from portfolio.cards.sheets import CardToPrint, Paper, card_sheets, how_to_sheet
from portfolio.flows import desk, school
from portfolio.flows.misfits import refuse
from portfolio.model.cards import CardKind


def labels(library: Library, today: date) -> tuple[list[str], list[str]]:
    """The classes of the year and the media that have a card, as they would be printed."""
    picks = desk.see_picks(library, today)
    return sorted(one.label for one in picks.classes), [one.label for one in picks.media if one.card]


def card_pdf(
    library: Library,
    *,
    numbers: Sequence[int],
    classes: bool,
    media: bool,
    controls: bool,
    paper: Paper,
    today: date,
) -> bytes:
    """The cards asked for as PDF, numbers first. A class without a card is given the next free one. Refuses an empty
    choice.
    """
    picks = desk.see_picks(library, today)
    cards = [CardToPrint(CardKind.NUMBER, number) for number in numbers]
    if classes and picks.classes:
        mapped = school.map_cards(library, today=today)
        cards += [CardToPrint(CardKind.CLASS, card, label) for card, label in mapped.items()]
    if media:
        cards += [CardToPrint(CardKind.MEDIUM, one.card, one.label) for one in picks.media if one.card]
    if controls:
        cards += [CardToPrint(CardKind.CONTROL, value) for value in CONTROLS]
    if not cards:
        refuse({"numbers": "Choose at least one card."})
    return card_sheets(cards, paper=paper)


def how_to_pdf(paper: Paper) -> bytes:
    """One page that shows how to photograph a work with its card."""
    return how_to_sheet(paper=paper)
