"""The order of work in this room: from an opened photo and its cards to the pictures of the work itself."""

from __future__ import annotations

from portfolio.model.cards import CardSeen
from portfolio.model.photo import Straightened
from portfolio.straighten.ladder import LEAST_PX, ladder
from portfolio.straighten.source import Pixels, Source
from portfolio.straighten.srgb import to_srgb


def straighten(source: Source, cards: tuple[CardSeen, ...] = (), *, solid: bool = False) -> Straightened:
    """Straighten one photo by its card. Without a usable card the photo is shown as taken."""
    return as_taken(source)


def as_taken(source: Source) -> Straightened:
    """The whole upright photo in sRGB, with no crop and no correction."""
    return Straightened(ladder(screen_pixels(source)))


def screen_pixels(source: Source) -> Pixels:
    """The upright photo in sRGB at about the size of the largest picture."""
    return to_srgb(source.rgb(source.shrink_for(LEAST_PX)), icc=source.icc, adobe_rgb=source.adobe_rgb)
