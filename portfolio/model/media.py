"""The media that a new library starts with, in the order of their cards (61, 62, …).

The list is common practice in elementary art rooms, no source; the teacher changes it. The ids are those of the
Art & Architecture Thesaurus (Getty Research Institute, ODC-By 1.0), only where one is known: unknown = no id, never a
near miss.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True, slots=True)
class StarterMedium:
    """A medium before it is in a library. ``solid`` = usually three-dimensional (not rectified by a card's plane)."""

    label: str
    aat_id: str | None = None
    solid: bool = False


STARTER_MEDIA: Final = (
    StarterMedium("crayon", "300022415"),
    StarterMedium("colored pencil", "300022441"),
    StarterMedium("pencil", "300410335"),
    StarterMedium("marker"),
    StarterMedium("oil pastel"),
    StarterMedium("pastel", "300404632"),
    StarterMedium("chalk", "300011727"),
    StarterMedium("charcoal", "300012862"),
    StarterMedium("ink", "300015012"),
    StarterMedium("tempera", "300015062"),
    StarterMedium("watercolor", "300015045"),
    StarterMedium("acrylic", "300015058"),
    StarterMedium("collage", "300033963"),
    StarterMedium("cut paper"),
    StarterMedium("paper sculpture", solid=True),
    StarterMedium("cardboard", "300014224", solid=True),
    StarterMedium("clay", "300010439", solid=True),
    StarterMedium("modeling dough", solid=True),
    StarterMedium("papier-mâché", solid=True),
    StarterMedium("found objects", "300047194", solid=True),
    StarterMedium("print", "300041273"),
    StarterMedium("stencil", "300053433"),
    StarterMedium("weaving", "300053642"),
    StarterMedium("embroidery", "300264024"),
    StarterMedium("fiber", "300185615", solid=True),
    StarterMedium("mixed media", "300163347"),
    StarterMedium("digital art", "300386810"),
    StarterMedium("photography", "300054225"),
    StarterMedium("mosaic", "300015342"),
    StarterMedium("mask", "300138758", solid=True),
)
"""Thirty media, one for each medium card 61 to 90."""


@dataclass(frozen=True, slots=True)
class StarterCentre:
    """A center before it is in a library, with the labels of its media."""

    label: str
    media: tuple[str, ...]


STARTER_CENTRES: Final = (
    StarterCentre(
        "drawing",
        ("crayon", "colored pencil", "pencil", "marker", "oil pastel", "pastel", "chalk", "charcoal", "ink"),
    ),
    StarterCentre("painting", ("tempera", "watercolor", "acrylic")),
    StarterCentre("collage", ("collage", "cut paper", "mixed media", "mosaic")),
    StarterCentre("building", ("cardboard", "paper sculpture", "papier-mâché", "found objects", "mask")),
    StarterCentre("clay", ("clay", "modeling dough")),
    StarterCentre("printmaking", ("print", "stencil")),
    StarterCentre("fiber", ("weaving", "embroidery", "fiber")),
    StarterCentre("digital", ("digital art", "photography")),
)
"""Centers of a choice-based room; common practice, no source."""
