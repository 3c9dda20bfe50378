"""Lay works and cards on the table as a teacher would: each card beside its work, several works in rows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from portfolio.cards.geometry import PATCH_REFLECTANCE
from portfolio.demo.camera.chance import stream
from portfolio.demo.camera.conditions import Difficulty
from portfolio.demo.camera.scene import CardLaid, Laying, Place, Scene, Table, Thing, WorkLaid, size_mm

_SIDES = ((1, 0), (0, 1), (-1, 0), (0, -1))


def arranged(
    works: Sequence[WorkLaid], cards: Sequence[CardLaid], *, table: Table, seed: int, difficulty: Difficulty
) -> Scene:
    """Give every work and card its place. Card i goes with work i; cards left over go round the last work."""
    chance = stream(seed, "arrange")
    if not works:
        return Scene(table, (), tuple(_stacked(cards, chance, difficulty)))
    groups = [
        _group(work, _share(cards, index, len(works)), chance, difficulty=difficulty, alone=len(works) == 1)
        for index, work in enumerate(works)
    ]
    spots = _spots([_extent(*group) for group in groups])
    laid_works, laid_cards = [], []
    for (work, round_it), (dx, dy) in zip(groups, spots, strict=True):
        laid_works.append(work.at(_shifted(work.place, dx, dy)))
        laid_cards += [card.at(_shifted(card.place, dx, dy)) for card in round_it]
    return Scene(table, tuple(laid_works), tuple(laid_cards))


def printed(card: CardLaid, seed: int) -> CardLaid:
    """The card as some printer made it: grays 3 % off in level and 2 % per channel, paper with a tint."""
    chance = stream(seed, "printer")
    levels = np.array(PATCH_REFLECTANCE)[:, None] * np.exp(
        chance.normal(0, 0.03, (4, 1)) + chance.normal(0, 0.02, (4, 3))
    )
    red, green, blue = np.exp(chance.normal(0, 0.008, 3)).tolist()
    patches = tuple((float(row[0]), float(row[1]), float(row[2])) for row in levels)
    return replace(card, patches=patches, tint=(red, green, blue))


def _share(cards: Sequence[CardLaid], index: int, count: int) -> Sequence[CardLaid]:
    return cards[index:] if index == count - 1 else cards[index : index + 1]


def _shifted(place: Place, dx: float, dy: float) -> Place:
    return Place(place.x_mm + dx, place.y_mm + dy, place.angle_deg)


def _half_extent(thing: Thing, angle_deg: float) -> np.ndarray:
    width, height = size_mm(thing)
    turn = np.deg2rad(angle_deg)
    c, s = abs(np.cos(turn)), abs(np.sin(turn))
    return np.array([width * c + height * s, width * s + height * c]) / 2


def _group(
    work: WorkLaid, cards: Sequence[CardLaid], chance: np.random.Generator, *, difficulty: Difficulty, alone: bool
) -> tuple[WorkLaid, list[CardLaid]]:
    """One work in the middle of its own patch of table, its cards at its sides."""
    gentle = difficulty is Difficulty.GENTLE
    angle = float(chance.normal(0, 1.0 if gentle or not alone else 2.5))
    work = work.at(Place(0.0, 0.0, angle))
    first = int(chance.integers(4))
    if gentle:  # the long side of the card along the lower or upper edge, or to the right
        first = int(chance.choice((0, 1, 1, 3)))
    laid = []
    for index, card in enumerate(cards):
        turn = 0 if gentle or chance.random() < 0.75 else int(chance.integers(1, 4))
        card_angle = angle + 90.0 * turn + float(chance.normal(0, 2.0 if gentle else 7.0))
        side = np.array(_SIDES[(first + index) % 4])
        gap = chance.uniform(12, 30) if gentle else chance.uniform(8, 60)
        if card.laying is Laying.OVER:
            gap = -chance.uniform(10, 45)
        half_work, half_card = _half_extent(work, angle), _half_extent(card, card_angle)
        slide = chance.uniform(-0.6, 0.6) * np.abs(half_work - half_card)
        at = side * (half_work + half_card + gap) + (1 - np.abs(side)) * slide
        laid.append(card.at(Place(float(at[0]), float(at[1]), card_angle)))
    return work, laid


def _extent(work: WorkLaid, cards: Sequence[CardLaid]) -> tuple[np.ndarray, np.ndarray]:
    things: list[Thing] = [work, *cards]
    middles = np.array([(t.place.x_mm, t.place.y_mm) for t in things])
    halves = np.array([_half_extent(t, t.place.angle_deg) for t in things])
    return (middles - halves).min(axis=0), (middles + halves).max(axis=0)


def _spots(extents: Sequence[tuple[np.ndarray, np.ndarray]]) -> list[tuple[float, float]]:
    """Shifts that put the groups into rows of about equal length, 40 mm apart."""
    across = int(np.ceil(np.sqrt(len(extents))))
    spots, top = [], 0.0
    for start in range(0, len(extents), across):
        left, lowest = 0.0, 0.0
        for low, high in extents[start : start + across]:
            spots.append((float(left - low[0]), float(top - low[1])))
            left += float(high[0] - low[0]) + 40
            lowest = max(lowest, float(high[1] - low[1]))
        top += lowest + 40
    return spots


def _stacked(cards: Sequence[CardLaid], chance: np.random.Generator, difficulty: Difficulty) -> list[CardLaid]:
    """Cards by themselves, one below the other."""
    wild = 1.5 if difficulty is Difficulty.GENTLE else 8.0
    laid, top = [], 0.0
    for card in cards:
        half = _half_extent(card, 0)
        laid.append(card.at(Place(float(chance.normal(0, wild)), top + float(half[1]), float(chance.normal(0, wild)))))
        top += 2 * float(half[1]) + 45
    return laid
