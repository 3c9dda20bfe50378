"""``portfolio cards``: pages to print. Needs no library; labels that a library knows come as arguments."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Annotated

import typer

from portfolio.cards.geometry import CONTROLS, VALUES
from portfolio.cards.sheets import CardToPrint, Paper, card_sheets, how_to_sheet
from portfolio.cli.frame import JsonOption, answer
from portfolio.errors import PortfolioError
from portfolio.model.cards import CardKind
from portfolio.model.media import STARTER_MEDIA

MEDIA_LABELS = {value: medium.label for value, medium in zip(VALUES[CardKind.MEDIUM], STARTER_MEDIA, strict=False)}
"""What the medium cards of a new library say, by card value."""


def print_cards(
    *,
    out: Annotated[Path, typer.Option("--out", help="The PDF to write.", show_default=False)],
    numbers: Annotated[str, typer.Option(help="Number cards, e.g. 1-30 or 4,7,12-15.", show_default=False)] = "",
    media: Annotated[
        str, typer.Option(help="Medium cards by word, e.g. crayon,clay; or all.", show_default=False)
    ] = "",
    classes: Annotated[
        str,
        typer.Option(help="Class cards in slots from 1, e.g. 3A,3B; or with the slot: 7=3A.", show_default=False),
    ] = "",
    controls: Annotated[
        bool, typer.Option("--controls", help="Another view, group work, slip, back, detail, end of class.")
    ] = False,
    how_to: Annotated[bool, typer.Option("--how-to", help="Write the page on how to photograph instead.")] = False,
    paper: Annotated[Paper, typer.Option(help="Paper to print on.")] = Paper.LETTER,
    json: JsonOption = False,
) -> None:
    """Make pages of cards to print at 100 % on matt paper and cut. Without a choice: numbers 1-30 and the controls.

    Example: portfolio cards --numbers 1-28 --controls --out cards.pdf
    """
    asked = chosen_cards(
        numbers=numbers_in(numbers),
        media=media_in(media, MEDIA_LABELS),
        classes=classes_in(classes),
        controls=controls,
    )
    cards = [] if how_to else asked or USUAL
    write_pdf(out, how_to_sheet(paper=paper) if how_to else card_sheets(cards, paper=paper))
    said = "The page on how to photograph is written."
    if cards:
        said = f"{len(cards)} cards are written. Print them at 100 % and measure the 100 mm line."
    answer({"cards": len(cards), "paper": paper}, as_json=json, lines=[said])


def write_pdf(out: Path, pdf: bytes) -> None:
    """Write the file, or say in a sentence that the disk refused it."""
    try:
        out.write_bytes(pdf)
    except OSError as error:
        raise PortfolioError("disk-unwritable", found=error.strerror or "the disk gave an error") from error


def chosen_cards(
    *, numbers: Sequence[int], media: Mapping[int, str], classes: Mapping[int, str], controls: bool
) -> list[CardToPrint]:
    """The cards asked for. ``media`` and ``classes`` are labels by card value (61-90, 301-360)."""
    cards = [CardToPrint(CardKind.NUMBER, number) for number in numbers]
    cards += [CardToPrint(CardKind.CLASS, value, label) for value, label in classes.items()]
    cards += [CardToPrint(CardKind.MEDIUM, value, label) for value, label in media.items()]
    return cards + ([CardToPrint(CardKind.CONTROL, value) for value in CONTROLS] if controls else [])


USUAL = chosen_cards(numbers=range(1, 31), media={}, classes={}, controls=True)
"""What is printed when nothing is asked for."""


def numbers_in(words: str) -> list[int]:
    """Numbers of "1-30" or "4,7,12-15", each once, in order. Refuses what is not 1-40."""
    cards, chosen = VALUES[CardKind.NUMBER], set[int]()
    for part in _parts(words):
        low, dash, high = part.partition("-")
        high = high if dash else low
        if not (low.isdecimal() and high.isdecimal()) or int(low) > int(high):
            raise _unfit("--numbers", f"“{part}” is not a number or a span like 1-30")
        for end in (int(low), int(high)):
            if end not in cards:
                raise _unfit("--numbers", f"there is no number card {end}, only {cards[0]} to {cards[-1]}")
        chosen.update(range(int(low), int(high) + 1))
    return sorted(chosen)


def media_in(words: str, labels: Mapping[int, str]) -> dict[int, str]:
    """Medium cards by their words; "all" gives every one. Refuses a word that no card has."""
    if words.strip().casefold() == "all":
        return dict(labels)
    values = {label.casefold(): value for value, label in labels.items()}
    parts = _parts(words)
    unknown = [part for part in parts if part.casefold() not in values]
    if unknown:
        raise _unfit("--media", f"no card has the word “{unknown[0]}”")
    return {values[part.casefold()]: labels[values[part.casefold()]] for part in parts}


def classes_in(words: str) -> dict[int, str]:
    """Class cards by slot: "3A,3B" are slots 1 and 2, "7=3A" is slot 7. Refuses a slot beyond 60 or given twice."""
    labels: dict[int, str] = {}
    slots = VALUES[CardKind.CLASS]
    for position, part in enumerate(_parts(words), start=1):
        slot, equals, label = part.partition("=")
        slot, label = (slot, label) if equals else (str(position), part)
        if not slot.strip().isdecimal() or not 1 <= int(slot) <= len(slots):
            raise _unfit("--classes", f"there is no slot {slot.strip()}, only 1 to {len(slots)}")
        value = slots[int(slot) - 1]
        if value in labels:
            raise _unfit("--classes", f"slot {int(slot)} is given twice")
        labels[value] = label.strip()
    return labels


def _parts(words: str) -> list[str]:
    return [part.strip() for part in words.split(",") if part.strip()]


def _unfit(item: str, found: str) -> PortfolioError:
    return PortfolioError("bad-request", item=item, found=found)
