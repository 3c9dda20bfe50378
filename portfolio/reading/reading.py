"""One photo in, everything it says out: the file's facts and the cards in the picture."""

from __future__ import annotations

from pathlib import Path

from portfolio.errors import Problem
from portfolio.model.photo import Reading
from portfolio.reading.cards import find_cards
from portfolio.reading.opening import PhotoRefused, Picture, open_photo


def read_photo(source: Path | bytes, *, file: str) -> Reading:
    """Read one photo. Never raises for what the file holds: trouble comes back as ``Reading.problem``."""
    try:
        return read_picture(open_photo(source, file=file))
    except PhotoRefused as refused:
        return Reading(None, problem=refused.problem)


def read_picture(picture: Picture) -> Reading:
    """Read an opened photo. Part of a picture keeps its facts, but no card in it may file anything."""
    try:
        cards = find_cards(picture)
    except PhotoRefused as refused:
        return Reading(picture.facts, problem=refused.problem)
    if picture.damage:
        return Reading(
            picture.facts,
            problem=Problem("photo-damaged", picture.file, picture.damage),
        )
    return Reading(picture.facts, cards)
