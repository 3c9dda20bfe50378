"""``portfolio cards``: pages to print, with the library's own words when there is one; ``cards map``."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Annotated

import typer

from portfolio.cards.geometry import CONTROLS, VALUES
from portfolio.cards.sheets import CardToPrint, Paper, card_sheets, how_to_sheet
from portfolio.cli.frame import JsonOption, LibraryOption, answer, library_folder, open_library
from portfolio.cli.roster import map_card
from portfolio.errors import NotFound, PortfolioError
from portfolio.flows import desk, school
from portfolio.model.cards import CardKind
from portfolio.model.media import STARTER_MEDIA

MEDIA_LABELS = {value: medium.label for value, medium in zip(VALUES[CardKind.MEDIUM], STARTER_MEDIA, strict=False)}
"""What the medium cards of a new library say, by card value."""


group = typer.Typer(help="Cards to print, and which class a class card stands for.", no_args_is_help=False)


@group.callback(invoke_without_command=True)
def print_cards(
    context: typer.Context,
    *,
    out: Annotated[Path | None, typer.Option("--out", help="The PDF to write.", show_default=False)] = None,
    numbers: Annotated[str, typer.Option(help="Number cards, e.g. 1-30 or 4,7,12-15.", show_default=False)] = "",
    media: Annotated[
        str, typer.Option(help="Medium cards by word, e.g. crayon,clay; or all.", show_default=False)
    ] = "",
    classes: Annotated[
        str,
        typer.Option(
            help="Class cards in slots from 1, e.g. 3A,3B; or with the slot: 7=3A; or all of the library's.",
            show_default=False,
        ),
    ] = "",
    controls: Annotated[
        bool, typer.Option("--controls", help="Another view, group work, slip, back, detail, end of class.")
    ] = False,
    how_to: Annotated[bool, typer.Option("--how-to", help="Write the page on how to photograph instead.")] = False,
    paper: Annotated[Paper, typer.Option(help="Paper to print on.")] = Paper.LETTER,
    library: LibraryOption = None,
    json: JsonOption = False,
) -> None:
    """Make pages of cards to print at 100 % on matt paper and cut. Without a choice: numbers 1-30 and the controls.

    Class cards that are printed with a library at hand stand for these classes of its current year from then on.

    Example: portfolio cards --numbers 1-28 --controls --out cards.pdf
    """
    if context.invoked_subcommand is not None:
        return
    if out is None:
        raise _unfit("--out", "the name of the PDF is missing")
    of_classes = known_classes(library) if classes.strip().casefold() == "all" else classes_in(classes)
    asked = chosen_cards(
        numbers=numbers_in(numbers),
        media=media_in(media, known_media(library)),
        classes=of_classes,
        controls=controls,
    )
    cards = [] if how_to else asked or USUAL
    write_pdf(out, how_to_sheet(paper=paper) if how_to else card_sheets(cards, paper=paper))
    said = "The page on how to photograph is written."
    if cards:
        said = f"{len(cards)} cards are written. Print them at 100 % and measure the 100 mm line."
    mapped = map_known(library, of_classes) if of_classes and not how_to else 0
    lines = [said, *([f"{mapped} class cards now stand for their classes."] if mapped else [])]
    answer({"cards": len(cards), "paper": paper, "mapped": mapped}, as_json=json, lines=lines)


def _is_library(given: Path | None) -> bool:
    return (library_folder(given) / "portfolio.db").is_file()


def known_media(given: Path | None) -> Mapping[int, str]:
    """Medium words by card: the library's own, or those that a new library starts with."""
    if not _is_library(given):
        return MEDIA_LABELS
    with open_library(given, write=False) as opened:
        return {one.card: one.label for one in desk.see_picks(opened, date.today()).media if one.card}  # noqa: DTZ011


def known_classes(given: Path | None) -> dict[int, str]:
    """All classes of the library's current year by class card; those without a card get the next free one."""
    with open_library(given) as opened:
        return dict(school.map_cards(opened))


def map_known(given: Path | None, labels: Mapping[int, str]) -> int:
    """Let the printed class cards stand for the classes of these labels; gives how many the library knows."""
    if not _is_library(given):
        return 0
    mapped = 0
    with open_library(given) as opened:
        for card, label in labels.items():
            try:
                school.map_card(opened, card, label)
            except NotFound:  # printed ahead of the roster: map it later with 'portfolio cards map'
                continue
            mapped += 1
    return mapped


group.command("map")(map_card)


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
