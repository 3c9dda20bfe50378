"""One lesson's photos: the works are painted, laid on dark cloth beside their number card, and photographed.

Runs in worker processes: plain values in, JPEG files out.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path

import cv2
import numpy as np

from portfolio.demo.camera.conditions import Conditions, Difficulty
from portfolio.demo.camera.scene import CardLaid, Laying, Shape, WorkLaid
from portfolio.demo.camera.shot import photograph
from portfolio.demo.paint import Painted, child_of, paint
from portfolio.model.cards import CardKind, Polygon

PAINT_PX = 1100
"""Long side of a painting; more than what the photo keeps of it."""
PHOTO_PX = (2016, 1512)
SECONDS_APART = 17
"""How long the teacher takes from one photo to the next; own judgment, no source."""


@dataclass(frozen=True, slots=True)
class Shooting:
    """One photo to take. Without a ``number``: a slate (class or medium card alone). ``half_card``: the frame cuts the
    card.
    """

    path: Path
    taken: datetime
    seed: int
    number: int = 0
    class_card: int = 0
    medium_card: int = 0
    child_seed: int = 0
    grade: int = 0
    month: int = 0
    medium: str = ""
    work_seed: int = 0
    half_card: bool = False


@dataclass(frozen=True, slots=True)
class Photographed:
    """A photo that was taken: the file, and where the work's edge lies in it (px); ``None`` of a slate."""

    path: Path
    edge_px: Polygon | None


def shoot(shooting: Shooting) -> Path:
    """Paint (unless it is a slate), photograph, write the JPEG; gives its path."""
    return photographed(shooting).path


def photographed(shooting: Shooting) -> Photographed:
    """The same, and where the work lies."""
    cv2.setNumThreads(1)
    conditions = replace(Conditions.sample(shooting.seed, Difficulty.GENTLE), taken=shooting.taken)
    works = (_laid(_painted(shooting)),) if shooting.number else ()
    shot = photograph(
        works,
        (_card(shooting),),
        seed=shooting.seed,
        difficulty=Difficulty.GENTLE,
        conditions=conditions,
        width_px=PHOTO_PX[0],
        height_px=PHOTO_PX[1],
    )
    shooting.path.write_bytes(shot.jpeg)
    return Photographed(shooting.path, shot.works[0].outline_px if shot.works else None)


def times(starts: datetime, count: int) -> list[datetime]:
    """When the photos of a lesson were taken: after its 40 minutes, one after the other."""
    first = starts + timedelta(minutes=41)
    return [
        first + timedelta(seconds=SECONDS_APART * place + place % 5, milliseconds=130 * place % 1000)
        for place in range(count)
    ]


def _card(shooting: Shooting) -> CardLaid:
    if shooting.class_card:
        return CardLaid(CardKind.CLASS, shooting.class_card)
    if shooting.medium_card:
        return CardLaid(CardKind.MEDIUM, shooting.medium_card)
    return CardLaid(CardKind.NUMBER, shooting.number, laying=Laying.CUT if shooting.half_card else Laying.BESIDE)


def _painted(shooting: Shooting) -> Painted:
    return paint(
        child_of(shooting.child_seed),
        grade=shooting.grade,
        month=shooting.month,
        medium=shooting.medium,
        work_seed=shooting.work_seed,
        long_px=PAINT_PX,
    )


def _laid(work: Painted) -> WorkLaid:
    if work.alpha is None:
        return WorkLaid(work.picture, work.width_mm, work.height_mm, bow_mm=1.0)
    picture = np.dstack([work.picture, work.alpha])
    if work.solid:
        return WorkLaid(picture, work.width_mm, work.height_mm, shape=Shape.SOLID, thickness_mm=0.4 * work.height_mm)
    return WorkLaid(picture, work.width_mm, work.height_mm, shape=Shape.TORN)
