"""Makers of simulated photos with their truth."""

from __future__ import annotations

from typing import Any

import cv2

from portfolio.demo.camera.mix import sample_shot
from portfolio.demo.camera.shot import Shot

cv2.setNumThreads(1)


def make_shot(seed: int, **given: Any) -> Shot:
    """A 3-megapixel photo of one work and its number card; anything of ``sample_shot`` can be given."""
    return sample_shot(seed, **{"width_px": 2016, "height_px": 1512} | given)
