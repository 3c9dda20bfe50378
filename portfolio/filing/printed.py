"""Were the number cards printed at the right scale? Printed to fit a page, a card is not 140 mm wide, and then every
size of a batch is off by the same factor. Standard sheets show it: all of them miss their size alike.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from math import sqrt
from statistics import median

from portfolio.model.filing import PrintedScale

Pair = tuple[float, float]

LEAST_SHEETS = 5
"""So many sheets must say the same, …"""
LEAST_SHARE = 0.6
"""… and be so large a share of all sheets measured: cut paper is off by chance, not alike."""
MOST_RIGHT = 0.2
"""If more than this share of them has its size already, the cards are right."""
FARTHEST = 0.12
"""Printers that fit a page shrink or stretch by 3 to 6 % (common practice, no source); farther is no scale."""
LEAST_OFF = 0.02
"""Below this the standard sheet is named all the same."""
ALIKE = 0.012
"""Sides may differ from the common factor by this share (sizes are right within about 1 %)."""


def printed_scale(sizes_mm: Sequence[Pair], *, sheets_mm: Mapping[str, Pair]) -> PrintedScale | None:
    """The scale at which the cards of a batch were printed, when most sheets agree on one that is not 1.

    ``sizes_mm``: width and height of each sheet as measured; ``sheets_mm``: short and long side of standard sheets.
    """
    factors = [found for size in sizes_mm if (found := _factors(size, sheets_mm.values()))]
    right = sum(any(abs(factor - 1) <= ALIKE for factor in found) for found in factors)
    if len(sizes_mm) < LEAST_SHEETS or right > MOST_RIGHT * len(sizes_mm):
        return None
    best = max((_agreeing(center, factors) for found in factors for center in found), key=len, default=[])
    enough = len(best) >= max(LEAST_SHEETS, LEAST_SHARE * len(sizes_mm))
    scale = median(best) if enough else 1.0
    return PrintedScale(scale, len(best), len(sizes_mm)) if abs(scale - 1) >= LEAST_OFF else None


def _factors(size_mm: Pair, sheets_mm: Iterable[Pair]) -> list[float]:
    """What a size would have to be multiplied with to be a standard sheet, for each sheet of its proportions."""
    short, long = sorted(size_mm)
    found = []
    for width, height in sheets_mm:
        factor = sqrt(width * height / (short * long))
        fits = abs(short * factor / width - 1) <= ALIKE
        if fits and abs(factor - 1) <= FARTHEST:
            found.append(factor)
    return found


def _agreeing(center: float, factors: Iterable[Sequence[float]]) -> list[float]:
    """Of each sheet the factor nearest to ``center``, if it is near enough."""
    nearest = (min(found, key=lambda factor: abs(factor - center)) for found in factors)
    return [factor for factor in nearest if abs(factor / center - 1) <= ALIKE]
