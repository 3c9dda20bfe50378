"""Photos as a school makes them: works of all shapes on all tables, one number card each."""

from __future__ import annotations

from portfolio.demo.camera.arrange import printed
from portfolio.demo.camera.chance import stream
from portfolio.demo.camera.conditions import Conditions, Difficulty
from portfolio.demo.camera.drawings import sample_work
from portfolio.demo.camera.scene import CardLaid, Laying, Shape, Table, WorkLaid
from portfolio.demo.camera.shot import Shot, photograph
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
    card = CardLaid(CardKind.NUMBER, number or value, laying=laying or drawn)
    return photograph(
        [work or sample_work(seed, shape=shape)],
        [printed(card, seed)],
        seed=seed,
        difficulty=difficulty,
        conditions=conditions,
        table=table,
        width_px=width_px,
        height_px=height_px,
    )
