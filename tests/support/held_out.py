"""The photos that nothing is ever tuned on. Look at the figures they give; never at why one of them fails, to change a
threshold by it: for that there are tuning photos (seeds from 70,000).
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from portfolio.demo.camera.conditions import Difficulty
from portfolio.demo.camera.mix import sample_shot, several_works, white_on_white
from portfolio.demo.camera.scene import Laying
from portfolio.demo.camera.shot import Shot

MIXED: Final = tuple(range(920_000, 920_250))
PHONE: Final = tuple(range(920_250, 920_500))
ONE_TAG: Final = tuple(range(921_000, 921_100))
"""The frame cuts the card; half of them as phones make photos."""
WHITE: Final = tuple(range(922_000, 922_100))
SEVERAL: Final = tuple(range(925_000, 925_100))
"""923,000 to 923,099 were looked into once and are spent."""
CLASS: Final = tuple(range(924_000, 924_030))
"""A class of 30 photos, for the time it takes."""
TUNING: Final = 70_000
"""Seeds from here on may be looked into."""


def mixed_shot(seed: int) -> Shot:
    """A photo of the mix of a school's year."""
    return sample_shot(seed)


def phone_shot(seed: int) -> Shot:
    """The same as a phone makes it."""
    return sample_shot(seed, difficulty=Difficulty.PHONE)


def one_tag_shot(seed: int) -> Shot:
    """The frame cuts the card."""
    return sample_shot(seed, difficulty=Difficulty.PHONE if seed % 2 else Difficulty.MIXED, laying=Laying.CUT)


SETS: Final[dict[str, tuple[tuple[int, ...], Callable[[int], Shot]]]] = {
    "mixed": (MIXED, mixed_shot),
    "phone": (PHONE, phone_shot),
    "one-tag": (ONE_TAG, one_tag_shot),
    "white": (WHITE, white_on_white),
    "several": (SEVERAL, several_works),
    "class": (CLASS, mixed_shot),
}
"""Name → seeds, and how each is photographed."""
