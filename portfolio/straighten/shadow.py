"""The edge of a soft shadow over the table: a straight line beyond which the light goes down by one step.

Somebody's shoulder, a shelf or a window's frame puts part of the table into shadow. A smooth surface cannot follow
that step: under a work that lies across it the light was wrong by 6-8 %, with the step it is by 2-4 % (measured 2026
on 57 simulated photos with a shadow). The line is looked for over all directions and places, on few blocks of table,
and then refined on more of them: what it would explain of what the smooth surface leaves is one product of matrices.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product
from typing import Final

import numpy as np

from portfolio.straighten.pose import Array

_DIRECTIONS, _PLACES, _WIDTHS = 16, 12, (0.02, 0.06)
_NARROWEST, _WIDEST = 0.006, 0.12
"""Width of the step over the table's (half of the light is lost within about two of it)."""
_COARSE_BLOCKS, _FINE_BLOCKS = 200, 800
_ROUNDS: Final = (1.0, 1.0, 0.5, 0.5, 0.25, 0.12)
"""Steps of the refinement, in halves of the coarse steps: it may move by a whole one, then closes in."""
_NOTHING_LEFT: Final = 1e-3
"""A step of which the smooth surface leaves less than this (mean square) cannot be told from it."""


@dataclass(frozen=True, slots=True)
class ShadowEdge:
    """Where a shadow begins. ``at`` and ``width`` in spans of the table, ``at`` from the card along ``angle``."""

    angle: float
    at: float
    width: float

    def shares(self, where: Array) -> Array:
        """How far places (… × 2, in spans from the card) lie beyond the edge: 0 = not at all, 1 = wholly."""
        return _beyond(where, np.array([[self.angle, self.at, self.width]]))[..., 0]


def find_edge(where: Array, logs: Array, columns: Array, weights: Array) -> tuple[ShadowEdge, float]:
    """The edge that explains most of what ``columns`` leave of ``logs``, and which share of that (0-1).

    ``where``: blocks of table (N × 2, in spans from the card); ``weights``: how much each counts.
    """
    mixed = np.random.default_rng(0).permutation(len(where))  # every n-th block could be one line of the table

    def best_of(candidates: Array, blocks: int) -> tuple[Array, float]:
        some = mixed[:blocks]
        return _best_of(candidates, where[some], logs[some], columns[some], weights[some])

    edge, share = best_of(_all_over(where), _COARSE_BLOCKS)
    reach = np.ptp(where @ [np.cos(edge[0]), np.sin(edge[0])])
    steps = np.array([np.pi / _DIRECTIONS, reach / (_PLACES + 1), np.log(_WIDTHS[1] / _WIDTHS[0])]) / 2
    for closer in _ROUNDS:
        near = np.array(list(product((-1, 0, 1), repeat=3))) * steps * closer
        width = np.clip(edge[2] * np.exp(near[:, 2]), _NARROWEST, _WIDEST)
        edge, share = best_of(np.column_stack([edge[:2] + near[:, :2], width]), _FINE_BLOCKS)
    angle, at, width = edge.tolist()
    return ShadowEdge(angle, at, width), share


def _all_over(where: Array) -> Array:
    """Angle, place and width (M × 3) of edges all over the table."""
    found = []
    for angle in np.arange(_DIRECTIONS) * np.pi / _DIRECTIONS:
        along = where @ [np.cos(angle), np.sin(angle)]
        places = np.linspace(along.min(), along.max(), _PLACES + 2)[1:-1]
        found += [(angle, at, width) for at in places for width in _WIDTHS]
    return np.array(found)


def _beyond(where: Array, edges: Array) -> Array:
    """Shares (… × M) of places (… × 2) beyond M edges."""
    angle, at, width = edges.T
    away = where[..., :1] * np.cos(angle) + where[..., 1:] * np.sin(angle) - at
    return np.asarray(1 / (1 + np.exp(-np.clip(away / width, -30, 30))), np.float64)


def _best_of(candidates: Array, where: Array, logs: Array, columns: Array, weights: Array) -> tuple[Array, float]:
    known, _ = np.linalg.qr(columns * weights[:, None])

    def left(values: Array) -> Array:
        weighted = values * weights.reshape(-1, *[1] * (values.ndim - 1))
        return np.asarray(weighted - known @ (known.T @ weighted), np.float64)

    rest, steps = left(logs), left(_beyond(where, candidates))
    squares = np.square(steps).sum(axis=0)
    told = np.where(squares > _NOTHING_LEFT * len(where), np.square(steps.T @ rest) / np.maximum(squares, 1e-12), 0.0)
    best = int(told.argmax())
    return candidates[best], float(told[best] / max(float(rest @ rest), 1e-12))
