"""Photos of one simulated lesson: numbers 8 to 12 of 3B, one card half out of the frame."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from portfolio.demo.shooting import Shooting, shoot, times

NUMBERS = (8, 9, 10, 11)
HALF = 10
"""The number whose card is cut by the frame."""


def photograph_lesson(folder: Path) -> list[Path]:
    """Four photos of the lesson on October 6, 2026, at 9:10."""
    taken = times(datetime(2026, 10, 6, 9, 10), len(NUMBERS))  # noqa: DTZ001  the camera's wall time
    plan = zip(NUMBERS, taken, ("tempera", "crayon", "tempera", "collage"), strict=True)
    return [
        shoot(
            Shooting(
                folder / f"DSC_{at:04}.jpg",
                moment,
                seed=300 + at,
                number=number,
                child_seed=number,
                grade=3,
                month=1,
                medium=medium,
                work_seed=at + 5,
                half_card=number == HALF,
            )
        )
        for at, (number, moment, medium) in enumerate(plan, start=1)
    ]
