"""What a phone's photos show besides: laminated and curled cards, sheets that were crumpled and smoothed out again."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from portfolio.demo.camera.chance import stream
from portfolio.demo.camera.scene import CardLaid, Fold, Glare, Shape, WorkLaid

LAMINATED, MIRRORS_LAMP, CURLED, CRUMPLED = 0.25, 0.5, 0.25, 0.2
"""Shares: of all cards, of the laminated cards, of all cards, of all flat works. Own judgment, no source."""


def worn(card: CardLaid, seed: int) -> CardLaid:
    """The card as a year of use leaves it: some are laminated and mirror a lamp, some curl."""
    chance = stream(seed, "worn card")
    if chance.random() < CURLED:
        card = replace(card, curl_mm=float(chance.uniform(0.5, 4.0)))
    if chance.random() < LAMINATED:
        card = replace(card, glare=_glare(chance))
    return card


def _glare(chance: np.random.Generator) -> Glare:
    at = chance.uniform((-65, -25), (65, 25)).tolist()
    radii = chance.uniform((6, 2), (22, 6)).tolist()
    peak = float(chance.uniform(0.2, 2.0)) if chance.random() < MIRRORS_LAMP else 0.0
    veil = float(chance.uniform(0.0, 0.05))
    return Glare((at[0], at[1]), (radii[0], radii[1]), float(chance.uniform(0, 180)), peak, veil)


def crumpled(work: WorkLaid, seed: int) -> WorkLaid:
    """The work as it comes out of a pocket: some flat works have three to seven creases."""
    chance = stream(seed, "crumpled")
    if work.shape is Shape.SOLID or chance.random() >= CRUMPLED:
        return work
    half = np.array([work.width_mm, work.height_mm]) / 2
    return replace(work, folds=tuple(_fold(chance, half) for _ in range(int(chance.integers(3, 8)))))


def _fold(chance: np.random.Generator, half_mm: np.ndarray) -> Fold:
    x, y = (chance.uniform(-0.8, 0.8, 2) * half_mm).tolist()
    return Fold((x, y), float(chance.uniform(0, 180)), float(chance.uniform(0.4, 2.0)), float(chance.uniform(8, 30)))
