"""How likely is it that one word is set down for another? A noisy channel over pieces of up to three letters.

The chance that ``written`` stands for ``meant`` is that of the best way to cut both into pieces, each piece written
as another with a learnt chance (Brill and Moore, "An improved error model for noisy channel spelling correction",
2000). The table of chances is made by :mod:`portfolio.search.training`.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Final

LONGEST_PIECE: Final = 3
UNSEEN_CHANGE: Final = -9.0
"""Natural log of the chance of a change of one letter that training never met."""
NEVER: Final = -math.inf

Pieces = Mapping[str, Mapping[str, float]]
"""Meant piece → written piece → natural log of its chance. ``^`` and ``$`` mark the edges of a word."""


def written_chance(meant: str, written: str, *, pieces: Pieces) -> float:
    """Natural log of the chance that ``written`` is set down for ``meant``, by the best cut into pieces.

    Equal letters at either end cost nothing and are laid aside, but for as many as a piece may reach back.
    """
    meant, written = _inner(f"^{meant}$", f"^{written}$")
    spans = [
        [written[column : column + length] for length in range(min(LONGEST_PIECE, len(written) - column) + 1)]
        for column in range(len(written) + 1)
    ]
    best = [[NEVER] * (len(written) + 1) for _ in range(len(meant) + 1)]
    best[0][0] = 0.0
    for row, places in enumerate(best):
        rules = [
            (best[row + size], pieces[meant[row : row + size]])
            for size in range(min(LONGEST_PIECE, len(meant) - row) + 1)
            if meant[row : row + size] in pieces
        ]
        below = best[row + 1] if row < len(meant) else None
        for column, here in enumerate(places):  # read as it goes: an added letter raises the places to its right
            if here == NEVER:
                continue
            _by_one_letter(places, below, column, same=meant[row : row + 1] == written[column : column + 1])
            for length, span in enumerate(spans[column]):
                for target, rule in rules:
                    chance = rule.get(span)
                    if chance is not None and here + chance > target[column + length]:
                        target[column + length] = here + chance
    return best[-1][-1]


def _inner(meant: str, written: str) -> tuple[str, str]:
    shorter = min(len(meant), len(written))
    front = 0
    while front < shorter and meant[front] == written[front]:
        front += 1
    back = 0
    while back < shorter - front and meant[-1 - back] == written[-1 - back]:
        back += 1
    front, back = max(0, front - LONGEST_PIECE), max(0, back - LONGEST_PIECE)
    return meant[front : len(meant) - back], written[front : len(written) - back]


def _by_one_letter(places: list[float], below: list[float] | None, column: int, *, same: bool) -> None:
    here = places[column]
    changed = here + UNSEEN_CHANGE
    if column + 1 < len(places):
        places[column + 1] = max(places[column + 1], changed)
        if below is not None:
            below[column + 1] = max(below[column + 1], here if same else changed)
    if below is not None:
        below[column] = max(below[column], changed)
