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
    """Natural log of the chance that ``written`` is set down for ``meant``, by the best cut into pieces."""
    meant, written = f"^{meant}$", f"^{written}$"
    best = [[NEVER] * (len(written) + 1) for _ in range(len(meant) + 1)]
    best[0][0] = 0.0
    for row in range(len(meant) + 1):
        rules = [
            (size, pieces[meant[row : row + size]])
            for size in range(LONGEST_PIECE + 1)
            if row + size <= len(meant) and meant[row : row + size] in pieces
        ]
        for column, here in enumerate(best[row]):  # read as it goes: an added letter raises the places to its right
            if here > NEVER:
                _by_one_letter(best, here, row, column, same=meant[row : row + 1] == written[column : column + 1])
                _by_pieces(best, here, (row, column), written=written, rules=rules)
    return best[-1][-1]


def _raise(best: list[list[float]], row: int, column: int, chance: float) -> None:
    best[row][column] = max(best[row][column], chance)


def _by_one_letter(best: list[list[float]], here: float, row: int, column: int, *, same: bool) -> None:
    below, beside = row + 1 < len(best), column + 1 < len(best[0])
    if below and beside:
        _raise(best, row + 1, column + 1, here if same else here + UNSEEN_CHANGE)
    if below:
        _raise(best, row + 1, column, here + UNSEEN_CHANGE)
    if beside:
        _raise(best, row, column + 1, here + UNSEEN_CHANGE)


def _by_pieces(
    best: list[list[float]],
    here: float,
    at: tuple[int, int],
    *,
    written: str,
    rules: list[tuple[int, Mapping[str, float]]],
) -> None:
    row, column = at
    for length in range(min(LONGEST_PIECE, len(written) - column) + 1):
        as_written = written[column : column + length]
        for size, rule in rules:
            if as_written in rule and (size or length):
                _raise(best, row + size, column + length, here + rule[as_written])
