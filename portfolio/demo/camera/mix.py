"""Photos as a school makes them: works of all shapes on all tables, one number card each."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from portfolio.demo.camera.arrange import printed
from portfolio.demo.camera.chance import stream
from portfolio.demo.camera.conditions import Conditions, Difficulty
from portfolio.demo.camera.drawings import SHEETS_MM, cut_out, drawing, sample_work, torn
from portfolio.demo.camera.phone_things import crumpled, worn
from portfolio.demo.camera.scene import CardLaid, Laying, Place, Scene, Shape, Table, TableKind, WorkLaid
from portfolio.demo.camera.shot import Shot, expose, photograph
from portfolio.demo.camera.table import sample_table, table_of
from portfolio.model.cards import CardKind


def sample_shot(
    seed: int,
    *,
    difficulty: Difficulty = Difficulty.MIXED,
    number: int | None = None,
    laying: Laying | None = None,
    shape: Shape | None = None,
    work: WorkLaid | None = None,
    table: Table | None = None,
    conditions: Conditions | None = None,
    width_px: int = 4032,
    height_px: int = 3024,
) -> Shot:
    """One work with its number card: beside it in 80 of 100 photos, over it in 13, cut by the frame in 7.

    Whatever is given is not drawn: the number, how the card lies, the shape of the work or the work itself.
    """
    chance = stream(seed, "mix")
    drawn = list(Laying)[int(chance.choice(3, p=(0.80, 0.13, 0.07)))]
    value = int(chance.integers(1, 41))
    if difficulty is Difficulty.GENTLE:
        drawn, shape = Laying.BESIDE, shape or Shape.SHEET
    card = printed(CardLaid(CardKind.NUMBER, number or value, laying=laying or drawn), seed)
    work = work or sample_work(seed, shape=shape)
    if difficulty is Difficulty.PHONE:
        card, work = worn(card, seed), crumpled(work, seed)
    return photograph(
        [work],
        [card],
        seed=seed,
        difficulty=difficulty,
        conditions=conditions,
        table=table,
        width_px=width_px,
        height_px=height_px,
    )


def white_on_white(seed: int) -> Shot:
    """White paper on a white table in light from all sides: only a faint shadow tells where the sheet ends."""
    chance = stream(seed, "white on white")
    conditions = Conditions.sample(seed)
    light = replace(conditions.light, contact=float(chance.uniform(0, 0.07)))
    width, height = SHEETS_MM[int(chance.integers(len(SHEETS_MM)))]
    work = WorkLaid(drawing(seed, width, height, paper=int(chance.integers(2))), width, height)
    return sample_shot(
        seed,
        laying=Laying.BESIDE,
        work=work,
        table=table_of(TableKind.WHITE, seed),
        conditions=replace(conditions, light=light),
    )


SMALL_MM = ((152.0, 229.0), (148.0, 210.0), (127.0, 178.0), (102.0, 152.0), (140.0, 140.0))
"""6 × 9 in, A5, 5 × 7 in, 4 × 6 in, a square: works of which several fit in one photo."""


def several_works(seed: int, *, width_px: int = 4032, height_px: int = 3024) -> Shot:
    """Two to eight small works in rows, each with its card at the same side; card i belongs to work i.

    In one photo of six the sides differ from work to work, so that it may be unclear whose a card is.
    """
    chance = stream(seed, "several")
    count = int(chance.integers(2, 9))
    numbers = chance.choice(np.arange(1, 41), count, replace=False).tolist()
    mixed_sides = chance.random() < 1 / 6
    side = int(chance.integers(4))
    works, cards, low = [], [], np.zeros(2)
    across = int(np.ceil(np.sqrt(count)))
    row_bottom = 0.0
    for index, number in enumerate(numbers):
        if index % across == 0:
            low = np.array([0.0, row_bottom + (45.0 if index else 0.0)])
        own_side = int(chance.integers(4)) if mixed_sides else side
        work, card, extent = _pair(seed * 16 + index, number, side=own_side, low=low, chance=chance)
        works.append(work)
        cards.append(card)
        low = np.array([low[0] + extent[0] + 45.0, low[1]])
        row_bottom = max(row_bottom, float(low[1] + extent[1]))
    scene = Scene(sample_table(seed, Difficulty.MIXED), tuple(works), tuple(cards))
    return expose(scene, Conditions.sample(seed), seed=seed, width_px=width_px, height_px=height_px)


def _pair(
    seed: int, number: int, *, side: int, low: np.ndarray, chance: np.random.Generator
) -> tuple[WorkLaid, CardLaid, np.ndarray]:
    """A work and its card 8-25 mm beside it, the top left of both at ``low``; and how much room they take (mm)."""
    width, height = SMALL_MM[int(chance.integers(len(SMALL_MM)))]
    if chance.random() < 0.3:
        width, height = height, width
    shape = list(Shape)[int(chance.choice(3, p=(0.8, 0.1, 0.1)))]
    picture = drawing(seed, width, height)
    if shape is not Shape.SHEET:
        picture = torn(picture, seed) if shape is Shape.TORN else cut_out(picture, seed)
    size, card_size = np.array([width, height]), np.array([140.0, 60.0])
    way = np.array([(1, 0), (0, 1), (-1, 0), (0, -1)][side])
    apart = (size + card_size) / 2 + chance.uniform(8, 25)
    at = way * apart + (1 - np.abs(way)) * chance.uniform(-0.3, 0.3) * np.abs(size - card_size)
    middles = np.array([np.zeros(2), at])
    first = (middles - np.array([size, card_size]) / 2).min(axis=0)
    last = (middles + np.array([size, card_size]) / 2).max(axis=0)
    (x, y), (card_x, card_y) = (middles - first + low).tolist()
    work = WorkLaid(picture, width, height, shape, Place(x, y, float(chance.normal(0, 2))))
    card = printed(CardLaid(CardKind.NUMBER, number), seed).at(Place(card_x, card_y, float(chance.normal(0, 2))))
    return work, card, last - first
