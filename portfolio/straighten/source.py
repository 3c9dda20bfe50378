"""What this room needs of an opened photo. The reading room's ``Picture`` fits; this room does not know it."""

from __future__ import annotations

from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from portfolio.model.photo import PhotoFacts

Pixels = NDArray[np.uint8]
"""H × W × 3, 8-bit RGB."""


class Source(Protocol):
    """An opened photo: upright pixels at a scale, in the file's own color space."""

    @property
    def facts(self) -> PhotoFacts:
        """What the file says."""

    @property
    def icc(self) -> bytes | None:
        """The embedded RGB profile."""

    @property
    def adobe_rgb(self) -> bool:
        """Whether the file says Adobe RGB without carrying a profile."""

    def shrink_for(self, least_px: int) -> int:
        """The largest of 1, 2, 4, 8 that leaves the long side at least ``least_px``."""

    def rgb(self, shrink: int = 1) -> Pixels:
        """H × W × 3, shrunk."""
