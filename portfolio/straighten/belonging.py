"""Which work belongs to which card, among several in one photo: each is the other's nearest by far, or it is asked."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import cv2
import numpy as np

from portfolio.straighten.pose import Array


@dataclass(frozen=True, slots=True)
class Owner:
    """Which thing is a card's work, whether each is the other's nearest by far, and whether it is near at all."""

    thing: int
    clear: bool
    near: bool = True


CLEARLY_NEARER: Final = 1.5
"""The next card or work must be this many times as far away …"""
CLEARLY_NEARER_MM: Final = 10.0
"""… and farther by at least this."""
FARTHEST_MM: Final = 120.0
"""What lies farther from a card is not even guessed to be its work."""
SURE_MM: Final = 40.0
"""A work farther from its card than this is asked about: another one between them may not have been seen."""
ALONE_MM: Final = 50.0
"""A card is rather left alone at first than given what counts as farther away: its own work may not have been seen."""
NEVER_MM: Final = 10_000.0
"""What a pair counts that is not even guessed."""
STEP_MM: Final = 2.0
SCRAP_MM2: Final = 9_000.0
SCRAP_MM: Final = 30.0
"""A thing smaller than this may be a scrap: a larger one is preferred although it lies farther away by so much."""
OTHER_SIDE_MM: Final = 40.0
"""A work at another side of its card than most in the photo counts as so much farther away."""
LEAST_ORDER: Final = 3
"""So many cards make an order; two may lie at the same side of what they lie beside by chance."""
USUAL: Final = 0.6
"""More than this share of the clear pairs make a side the usual one."""

NEARLY_ALL: Final = 0.8
"""The share of cards that must have something near at a side, for it to be the usual one where pairs do not tell."""


def area_mm2(outline_mm: Array) -> float:
    """What an outline (N × 2, mm) encloses."""
    return float(cv2.contourArea(outline_mm.astype(np.float32)))


def walked(outline_mm: Array) -> Array:
    """The same outline with a point at least every :data:`STEP_MM` (N × 2, mm): a side of a sheet is near a card where
    neither of its corners is.
    """
    ends = np.roll(outline_mm, -1, axis=0)
    counts = np.maximum(1, np.ceil(np.linalg.norm(ends - outline_mm, axis=1) / STEP_MM)).astype(int)
    parts = [a + (b - a) * (np.arange(n) / n)[:, None] for a, b, n in zip(outline_mm, ends, counts, strict=True)]
    return np.concatenate(parts)


def owners_of(cards_mm: Sequence[Array | None], things: Sequence[Array]) -> list[Owner | None]:
    """For each card the thing that is likeliest its work, none given twice: what lies nearest for all of them together.

    One card's nearest may be another's work; given to it, that other card would be left with something far away. What
    is left when all that is near was given out goes to the cards that are left.
    """
    away = apart_mm_of(cards_mm, things)
    cost = np.where(away < FARTHEST_MM, away + _unlikely_mm(cards_mm, things, away), NEVER_MM)
    chosen = _cheapest(cost, alone=ALONE_MM)
    left = np.array([card for card, thing in enumerate(chosen) if thing is None], int)
    free = np.array([thing for thing in range(len(things)) if thing not in chosen], int)
    for card, place in zip(left.tolist(), _cheapest(cost[np.ix_(left, free)], alone=NEVER_MM - 1), strict=True):
        chosen[card] = None if place is None else int(free[place])
    return [None if thing is None else _owner(away, card, thing) for card, thing in enumerate(chosen)]


def _cheapest(cost: Array, *, alone: float) -> list[int | None]:
    """For each row of ``cost`` (N × M) a column or none, no column twice, at the least cost in all; a row without a
    column costs ``alone``. It is an earth mover's distance in which every row moves one unit.
    """
    rows, columns = cost.shape
    if not rows or not columns:
        return [None] * rows
    full = np.hstack([cost, np.full((rows, rows), alone)]).astype(np.float32)
    ones = [np.ones((count, 1), np.float32) for count in (rows, rows + columns)]
    _, _, moved = cv2.EMD(ones[0], ones[1], cv2.DIST_USER, cost=full)
    best = np.argmax(np.asarray(moved), axis=1).tolist()
    return [column if column < columns else None for column in best]


def _owner(away: Array, card: int, thing: int) -> Owner:
    near = bool(away[card, thing] <= SURE_MM)
    return Owner(thing, near and _is_clear(away[card], thing) and _is_clear(away[:, thing], card), near)


def apart_mm_of(cards_mm: Sequence[Array | None], things: Sequence[Array]) -> Array:
    """Cards × things: the gap between them in mm; infinite for a card that was not wholly read."""
    found = [[np.inf if card is None else _apart_mm(card, thing) for thing in things] for card in cards_mm]
    return np.array(found, np.float64).reshape(len(cards_mm), len(things))


def _unlikely_mm(cards_mm: Sequence[Array | None], things: Sequence[Array], away: Array) -> Array:
    """How much farther away each pair counts: a small thing may be a scrap, and in one photo the cards mostly lie at
    the same side of their works.
    """
    found = np.tile([SCRAP_MM * (area_mm2(thing) < SCRAP_MM2) for thing in things], (len(cards_mm), 1))
    usual = usual_side(cards_mm, things, away)
    if usual is not None:
        for row, card_mm in enumerate(cards_mm):
            for column, thing in enumerate(things):
                other = card_mm is not None and side_of(card_mm, thing) != usual
                found[row, column] += OTHER_SIDE_MM if other else 0.0
    return found


def usual_side(cards_mm: Sequence[Array | None], things: Sequence[Array], away: Array) -> int | None:
    """The side of the card at which most works lie: the one side at which every card has something near, or that of
    the pairs that are each other's nearest, or the side at which nearly every card has something.
    """
    works = [k for k, thing in enumerate(things) if area_mm2(thing) >= SCRAP_MM2]
    if len(works) > 1:  # scraps and shadows lie at any side
        things, away = [things[k] for k in works], away[:, works]
    near = _near_by_side(cards_mm, things, away)
    sides: Counter[int] = Counter()
    for row, card_mm in enumerate(cards_mm):
        if card_mm is None or not things or not np.isfinite(away[row]).any():
            continue
        column = int(np.argmin(away[row]))
        if away[row, column] <= SURE_MM and int(np.argmin(away[:, column])) == row:
            sides[side_of(card_mm, things[column])] += 1
    side, count = sides.most_common(1)[0] if sides else (0, 0)
    of_pairs = side if count >= 2 and count > USUAL * sides.total() else None
    choices = (_first_side(near, len(cards_mm)), of_pairs, _first_side(near, NEARLY_ALL * len(cards_mm)))
    return next((one for one in choices if one is not None), None)


def _near_by_side(cards_mm: Sequence[Array | None], things: Sequence[Array], away: Array) -> Counter[int]:
    """Side → how many cards have something near there. In a row of works each card lies between two of them, but at
    the row's end only one side of a card has a work. Too few cards tell nothing.
    """
    near = Counter[int]()
    for row, card_mm in enumerate(cards_mm):
        if card_mm is not None and len(cards_mm) >= LEAST_ORDER:
            near.update({side_of(card_mm, one) for one, mm in zip(things, away[row], strict=True) if mm <= SURE_MM})
    return near


def _first_side(near: Counter[int], least: float) -> int | None:
    """The side of most cards, when it is that of at least so many and of more than any other."""
    (side, count), (_, next_count) = [*near.most_common(2), (0, 0), (0, 0)][:2]
    return side if count >= max(1.0, least) and next_count < count else None


def may_be_scrap(card_mm: Array, thing: Array, usual: int | None) -> bool:
    """Whether what lies beside a card may be no work: it is small, or not at the side where the other works lie."""
    return area_mm2(thing) < SCRAP_MM2 or (usual is not None and side_of(card_mm, thing) != usual)


def in_one_order(cards_mm: Sequence[Array | None], things: Sequence[Array], owners: Sequence[Owner | None]) -> bool:
    """Whether every card has a work, none of them may be a scrap, and all lie at the same side of their cards: then it
    does not matter what else lies about.
    """
    if len(owners) < LEAST_ORDER:
        return False
    sides = set()
    for card_mm, owner in zip(cards_mm, owners, strict=True):
        if card_mm is None or owner is None or area_mm2(things[owner.thing]) < SCRAP_MM2:
            return False
        sides.add(side_of(card_mm, things[owner.thing]))
    return len(sides) == 1


def side_of(card_mm: Array, thing: Array) -> int:
    """At which side of the card a thing lies: 0 right, 1 below, 2 left, 3 above, as the card is read."""
    middle = card_mm.mean(axis=0)
    across, down = (card_mm[1] - card_mm[0]) / 2, (card_mm[3] - card_mm[0]) / 2
    nearest = thing[int(np.argmin(np.linalg.norm(thing - middle, axis=1)))] - middle
    right, below = float(nearest @ across / (across @ across)), float(nearest @ down / (down @ down))
    if abs(right) > abs(below):
        return 0 if right > 0 else 2
    return 1 if below > 0 else 3


def _is_clear(away: Array, chosen: int) -> bool:
    nearest = float(away[chosen])
    others = np.delete(away, chosen)
    limit = max(CLEARLY_NEARER * nearest, nearest + CLEARLY_NEARER_MM)
    return bool(np.isfinite(nearest)) and (not len(others) or float(others.min()) >= limit)


def _apart_mm(card_mm: Array, thing: Array) -> float:
    """The gap between a card and a thing; 0 when they touch."""
    outline = card_mm.astype(np.float32).reshape(-1, 1, 2)
    points = thing[::2]
    return max(0.0, min(-cv2.pointPolygonTest(outline, (float(x), float(y)), True) for x, y in points))
