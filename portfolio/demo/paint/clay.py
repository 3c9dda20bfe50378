"""Clay: what a child makes of it, its bodies, and the unevenness that fingers leave."""

from dataclasses import dataclass

import numpy as np

from portfolio.demo.paint.chance import smooth_2d
from portfolio.demo.paint.hand import Hand
from portfolio.demo.paint.shape import Plane

BODIES = {"bisque": (0.90, 0.86, 0.79), "terracotta": (0.70, 0.38, 0.25), "red clay": (0.55, 0.29, 0.20)}


@dataclass(frozen=True)
class ClayPlan:
    """What a clay work is: "pinch pot", "coil pot" or a creature; its body and, if glazed, its glaze colors."""

    form: str
    body: str
    glaze: tuple[str, ...]


def clay_plan(hand: Hand) -> ClayPlan:
    """What a child of this age makes of clay."""
    rng, child = hand.rng, hand.child
    pots = ("pinch pot", "pinch pot", "coil pot") if hand.age > 7.4 else ("pinch pot",)
    beasts = ("cat", "dinosaur", "turtle", "snail") if hand.age > 6.2 else ("turtle", "snail")
    pool = pots if rng.random() < 0.55 else beasts
    form = pool[int(rng.integers(len(pool)))]
    body = str(rng.choice(np.array(list(BODIES))))
    glazed = rng.random() < 0.62
    glaze = (
        tuple(str(name) for name in rng.permutation(np.array([*child.favorites, "teal"]))[: int(rng.integers(1, 3))])
        if glazed
        else ()
    )
    return ClayPlan(form, body, glaze)


def clay_bumps(rng: np.random.Generator, size: tuple[int, int], amount: float) -> Plane:
    """Finger-made unevenness that closes around the last axis."""
    noise = (
        smooth_2d(rng, (size[0], size[1] // 2 + 1), cell_px=18) * 0.65
        + smooth_2d(rng, (size[0], size[1] // 2 + 1), cell_px=6) * 0.35
    )
    return np.asarray(
        np.concatenate([noise, noise[:, ::-1]], axis=1)[:, : size[1]] * np.float32(amount), dtype=np.float32
    )
