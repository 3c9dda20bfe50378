"""What speaks for a rectangle being the sheet: the figures of one fitted rectangle, and how likely they make it.

The weights are those of a logistic regression on simulated photos (see :data:`SIGNS`): a right rectangle is one that
shares 97 % with the true sheet, a wrong one less than 95 %.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from portfolio.straighten.freeform import Blob, agreement, filled
from portfolio.straighten.plane import Float, Plane
from portfolio.straighten.pose import Array, Pose, carried
from portfolio.straighten.sides import Fitted, fit_sides
from portfolio.straighten.sizes import sheet_name
from portfolio.straighten.squared import true_size_mm
from portfolio.straighten.tabletop import UNLIKE

Pixels = NDArray[np.uint8]

LEAST_SUPPORT: Final = 0.55
"""Weakest side of what may still be called a sheet."""
_LEAST_POINTS: Final = 5
_BAND_MM: Final = (2.5, 4.5, 6.5)
_ALONG: Final = np.linspace(0.04, 0.96, 48)
_SAME_MM: Final = 1.0
_SAME_START_MM: Final = 1.5
_SETTLED: Final = 4.0
"""Log odds from which nobody looks for a better rectangle in the same place."""
_ELSEWHERE_MM: Final = 60.0
_MUCH_LARGER: Final = 1.3
_SMALL_MM2: Final = 30_000.0
"""A sheet smaller than about 6 × 8 in is the less likely the smaller it is: tables are full of small papers."""


@dataclass(frozen=True, slots=True)
class Sign:
    """One thing that speaks for a rectangle: its weight, its usual figure on sheets, and what to say when it lacks."""

    weight: float
    usual: float
    doubt: str


SIGNS: Final = (
    Sign(2.3, 1.0, "one side of the sheet is not clear"),
    Sign(2.6, 1.0, "the sides of the sheet are not clear"),
    Sign(-0.5, 0.3, "the corners of the sheet are not square"),
    Sign(-3.6, 0.3, "a line goes on beyond the corners of the sheet"),
    Sign(2.4, 1.0, "what lies round the sheet is not clearly table"),
    Sign(3.3, 0.9, "the sheet is nearly the color of the table"),
    Sign(5.3, 0.95, "edges and colors do not agree on where the sheet ends"),
    Sign(3.1, 1.0, "the sheet has no usual size and its edge is not clear enough to be sure"),
    Sign(1.7, 0.0, "what was found is very small"),
)
"""Weakest side · all sides · worst angle (degrees) · lines beyond corners · table outside the worst side · not table
inside · agreement with the colors · has the size of a standard sheet · smallness.

Weights: logistic regression with a ridge of 1 on the candidates of 250 simulated photos (seeds 70000-70099 and
70150-70299; 357 right ones, 391 wrong ones), each right one a second time as if it had no usual size, since the
simulator lays only usual sheets. On 50 other photos (70100-70149) all best candidates above 0 were right (measured
2026).
"""
_BASE: Final = -9.8
_OF_COLOR: Final = (5, 6)
"""Which of the signs are about color."""


@dataclass(frozen=True, slots=True, eq=False)
class Candidate:
    """A fitted sheet and what speaks for it."""

    fitted: Fitted
    outside: Array
    """For each side, the share of a band just outside it that looks like table."""
    within: Array
    """For each side, the share of a band just inside it that does not."""
    agrees: float
    """Intersection over union with what does not look like table."""
    sheet: str | None
    inside: bool
    """All corners lie in the photo."""
    size_mm: tuple[float, float]

    @property
    def area_mm2(self) -> float:
        """About: the product of two sides."""
        return float(self.fitted.sides_mm[:2].prod())

    @property
    def figures(self) -> Array:
        """One figure for each of :data:`SIGNS`."""
        fit = self.fitted
        return np.array(
            [
                fit.weakest,
                float(fit.supports.mean()),
                min(fit.worst_angle_deg, 5.0),
                float(fit.beyond.max()),
                float(self.outside.min()),
                float(self.within.mean()),
                self.agrees,
                float(self.sheet is not None),
                min(float(np.log(max(self.area_mm2, 1.0) / _SMALL_MM2)), 0.0),
            ]
        )

    @property
    def likely(self) -> float:
        """Natural log of the odds that this is the sheet."""
        return _BASE + float(self.figures @ [sign.weight for sign in SIGNS])

    @property
    def likely_by_edge(self) -> float:
        """The same as if its color were as clear as it usually is: of paper nearly the color of the table."""
        return self.likely + sum(SIGNS[k].weight * (SIGNS[k].usual - float(self.figures[k])) for k in _OF_COLOR)

    @property
    def doubt(self) -> str:
        """What speaks most against it, as one clause for the teacher."""
        lost = [sign.weight * (sign.usual - figure) for sign, figure in zip(SIGNS, self.figures, strict=True)]
        return SIGNS[int(np.argmax(lost))].doubt


@dataclass(frozen=True, slots=True, eq=False)
class Sheets:
    """Fits rectangles to one photo and judges them. ``unlike``: distance from table (see ``tabletop``)."""

    pixels: Pixels
    plane: Plane
    pose: Pose
    unlike: Float
    shrink: int

    def fitted(
        self, starts: list[Array], *, blobs: list[Blob], known: list[Candidate] | None = None
    ) -> list[Candidate]:
        """Fit rectangles (4 × 2 each, plane pixels, clockwise) to the photo; each that is not one ``known`` before."""
        every = list(known or ())
        for start in starts:
            start_mm = self.plane.to_mm(start)
            if any(_makes_needless(candidate, start_mm) for candidate in every):
                continue
            fitted = fit_sides(self.pixels, self.pose, self.plane, start_mm, shrink=self.shrink)
            if all(_apart_mm(fitted.corners_mm, other.fitted.corners_mm) > _SAME_MM for other in every):
                every.append(self._candidate(fitted, blobs))
        return every[len(known or ()) :]

    def judged_again(self, candidates: list[Candidate], *, start: Array, blobs: list[Blob]) -> list[Candidate]:
        """The same candidates against more ``blobs``, and one more from ``start``."""
        again = [replace(candidate, agrees=self._agrees(candidate.fitted, blobs)) for candidate in candidates]
        return again + self.fitted([start], blobs=blobs, known=again)

    def _candidate(self, fitted: Fitted, blobs: list[Blob]) -> Candidate:
        """What speaks for a fitted sheet. This costs more than the fit, so it comes after equal ones were dropped."""
        plane = self.plane
        size = _size_of(fitted, self.pose)
        bands = [_bands(plane, self.unlike, fitted.corners_mm[[k, (k + 1) % 4]]) for k in range(4)]
        at = np.rint(plane.to_px(fitted.corners_mm)).astype(int)
        height, width = plane.valid.shape
        inside = bool(((at >= 1) & (at < (width - 1, height - 1))).all())
        return Candidate(
            fitted,
            np.array([outside for outside, _ in bands]),
            np.array([within for _, within in bands]),
            self._agrees(fitted, blobs),
            sheet_name(*size),
            inside and bool(plane.valid[at[:, 1], at[:, 0]].all()),
            size,
        )

    def _agrees(self, fitted: Fitted, blobs: list[Blob]) -> float:
        mask = filled(self.plane.valid.shape, self.plane.to_px(fitted.corners_mm))
        return max((agreement(mask, blob.mask) for blob in blobs), default=0.0)


def is_elsewhere(one_mm: Array, other_mm: Array) -> bool:
    """Whether the second rectangle (4 × 2, mm) lies in another place than the first, or is much larger."""
    apart = float(np.linalg.norm(one_mm.mean(axis=0) - other_mm.mean(axis=0)))
    areas = [
        float(np.linalg.norm(corners[1] - corners[0]) * np.linalg.norm(corners[2] - corners[1]))
        for corners in (one_mm, other_mm)
    ]
    return apart > _ELSEWHERE_MM or areas[1] > _MUCH_LARGER * areas[0]


def _makes_needless(candidate: Candidate, start_mm: Array) -> bool:
    """A start near to what was fitted before would only be fitted to the same; one within what is as good as settled
    would only be a part of it.
    """
    corners = candidate.fitted.corners_mm
    if _apart_mm(start_mm, corners) < _SAME_START_MM:
        return True
    return candidate.inside and candidate.likely > _SETTLED and not is_elsewhere(corners, start_mm)


def _apart_mm(one: Array, other: Array) -> float:
    """How far the farthest two like corners of two rectangles are apart; corners may be counted from any of them."""
    return min(float(np.abs(one - np.roll(other, turn, axis=0)).max()) for turn in range(4))


def _bands(plane: Plane, unlike: Float, side_mm: Array) -> tuple[float, float]:
    """Share of table just outside a side, and of what is not table just inside it. Unseen places are left out."""
    start, end = side_mm
    direction = (end - start) / max(float(np.linalg.norm(end - start)), 1e-9)
    outward = np.array([direction[1], -direction[0]])
    shares = []
    for sign in (1.0, -1.0):
        offsets = sign * np.array(_BAND_MM)[None, :, None] * outward
        places = (start + _ALONG[:, None] * (end - start))[:, None] + offsets
        at = np.rint(plane.to_px(places.reshape(-1, 2))).astype(int)
        height, width = plane.valid.shape
        at = at[((at >= 0) & (at < (width, height))).all(axis=1)]
        at = at[plane.usable[at[:, 1], at[:, 0]]]
        like = unlike[at[:, 1], at[:, 0]] < UNLIKE
        shares.append(float(like.mean()) if len(like) > len(_ALONG) // 2 else 0.5)
    return shares[0], 1 - shares[1]


def _size_of(fitted: Fitted, pose: Pose) -> tuple[float, float]:
    """Lengths of the first and second side: by right angles where the edges bear that out, else as they lie."""
    sides = fitted.sides_mm
    plain = float(sides[[0, 2]].mean()), float(sides[[1, 3]].mean())
    if fitted.weakest < LEAST_SUPPORT or min(len(points) for points in fitted.edges_mm) < _LEAST_POINTS:
        return plain
    edges = [carried(points, pose.to_px) for points in fitted.edges_mm]
    return true_size_mm(pose, edges, fitted.corners_mm) or plain
