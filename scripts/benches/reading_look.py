"""One simulated photo, seen by the program and compared with the exact truth; runs in the bench's worker processes."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, replace

import cv2
import numpy as np
import simplejpeg
from numpy.typing import NDArray

from portfolio.cards.draw import srgb_of
from portfolio.demo.camera.layers import scene_light, work_cover
from portfolio.demo.camera.scene import Shape
from portfolio.demo.camera.shot import CardTruth, Shot
from portfolio.model.photo import Reading, Straightened
from portfolio.reading import Picture, open_photo, read_photo, read_picture
from portfolio.straighten import straighten
from portfolio.straighten.order import measure, screen_pixels, true_color
from portfolio.straighten.pose import carried
from portfolio.straighten.several import straighten_each
from portfolio.straighten.srgb import LIGHT_OF
from tests.support.color_difference import ciede2000, lab_of
from tests.support.held_out import SETS

_COLOR_SAMPLES = 4000
_SCREEN_PX = 1920


@dataclass(frozen=True, slots=True)
class Seen:
    """One photo of one work: truth and finding side by side."""

    seed: int
    table: str
    shape: str
    crumpled: bool
    card_inside: bool
    glared: bool
    tags_inside: int
    work_inside: bool
    wrong: bool
    status: str
    iou: float | None
    sure: bool
    size_error: float | None
    sheet_said: bool
    named_wrong: bool
    card_clipped: bool
    clipped_said: bool
    color: tuple[float, float] | None
    """Median and 95th percentile of CIEDE2000 over the work's pixels."""
    gray_world: float | None
    number_cost: float
    whole_cost: float


@dataclass(frozen=True, slots=True)
class SeenRead:
    """A photo of which only the card is read."""

    seed: int
    tags_inside: int
    glared: bool
    """A lamp is mirrored in a tag that lies in the frame."""
    wrong: bool
    status: str


@dataclass(frozen=True, slots=True)
class SeenSeveral:
    """A photo of several works: how many lie there, had a card that was read, were given to the right number, to a
    wrong one, were asked.
    """

    seed: int
    works: int
    read: int
    right: int
    wrong: int
    asked_right: int


def look(name: str, seed: int) -> Seen:
    """Photograph, read and straighten one scene, and compare."""
    cv2.setNumThreads(1)
    shot = SETS[name][1](seed)
    card, work = shot.cards[0], shot.works[0]
    decode = _fastest(lambda: simplejpeg.decode_jpeg(shot.jpeg), 3)
    number = _fastest(lambda: read_photo(shot.jpeg, file="photo"), 2)
    started = time.process_time()
    picture = open_photo(shot.jpeg, file="photo")
    picture.rgb(picture.shrink_for(_SCREEN_PX))
    reading = read_picture(picture)
    made = straighten(picture, reading.cards)
    whole = time.process_time() - started
    size_error, named_wrong = _size(made, shot) if work.shape is Shape.SHEET and work.inside else (None, False)
    colors = None if card.clipped else _colors(picture, reading, shot)
    return Seen(
        seed=seed,
        table=shot.table.value,
        shape=work.shape.value,
        crumpled=bool(shot.scene.works[0].folds),
        card_inside=card.inside,
        glared=card.left_glared or card.right_glared,
        tags_inside=_tags_inside(card),
        work_inside=work.inside,
        wrong=reading.number is not None and reading.number != card.value,
        status=reading.status,
        iou=_iou(made.crop.outline_px, shot) if made.crop else None,
        sure=bool(made.crop and made.crop.sure),
        size_error=size_error,
        sheet_said=bool(made.size and made.size.sheet and not named_wrong),
        named_wrong=named_wrong,
        card_clipped=card.clipped,
        clipped_said=bool(made.color and made.color.clipped),
        color=colors[0] if colors else None,
        gray_world=colors[1] if colors else None,
        number_cost=number / decode,
        whole_cost=whole / decode,
    )


def look_at_card(name: str, seed: int) -> SeenRead:
    """Read the card only."""
    cv2.setNumThreads(1)
    shot = SETS[name][1](seed)
    card, reading = shot.cards[0], read_photo(shot.jpeg, file="photo")
    wrong = reading.number is not None and reading.number != card.value
    glared = (card.left_inside and card.left_glared) or (card.right_inside and card.right_glared)
    return SeenRead(seed, _tags_inside(card), glared, wrong, reading.status)


def look_at_several(name: str, seed: int) -> SeenSeveral:
    """Give every work of the photo to its card. Card i truly belongs to work i."""
    cv2.setNumThreads(1)
    shot = SETS[name][1](seed)
    picture = open_photo(shot.jpeg, file="photo")
    found = straighten_each(picture, read_picture(picture).cards)
    right = wrong = asked_right = 0
    owner = {card.value: index for index, card in enumerate(shot.cards)}
    for one in found:
        crop = one.straightened.crop
        if crop is None:
            continue
        overlaps = [_iou(crop.outline_px, shot, index) for index in range(len(shot.works))]
        own = owner.get(one.card.value)
        if one.sure and crop.sure and own is not None and overlaps[own] >= 0.95:
            right += 1
        elif one.sure and (crop.sure or own is None or overlaps[own] < 0.5):
            wrong += 1  # given away badly cut, or (however cut) to a number whose work it is not
        elif own is not None and overlaps[own] >= 0.9:
            asked_right += 1
    read = len(owner.keys() & {one.card.value for one in found})
    return SeenSeveral(seed, len(shot.works), read, right, wrong, asked_right)


def _tags_inside(card: CardTruth) -> int:
    return card.left_inside + card.right_inside


def _fastest(act: Callable[[], object], times: int) -> float:
    best = float("inf")
    for _ in range(times):
        started = time.process_time()
        act()
        best = min(best, time.process_time() - started)
    return best


def _iou(outline_px: object, shot: Shot, index: int = 0) -> float:
    """Intersection over union of the outlines, drawn at half size with eighths of a pixel."""
    masks = []
    for outline in (outline_px, shot.works[index].outline_px):
        mask = np.zeros((shot.height_px // 2, shot.width_px // 2), np.uint8)
        points = (np.array(outline) + 0.5) / 2 - 0.5
        cv2.fillPoly(mask, [np.rint(points * 8).astype(np.int32)], 1, shift=3)
        masks.append(mask > 0)
    return float((masks[0] & masks[1]).sum() / max(1, (masks[0] | masks[1]).sum()))


def _size(made: Straightened, shot: Shot) -> tuple[float | None, bool]:
    """Largest relative error of both sides, and whether a wrong name was given to a sheet cropped without asking."""
    if made.size is None or made.crop is None or made.crop.shape != "sheet":
        return None, False
    work = shot.works[0]
    pairs = zip(sorted((made.size.width_mm, made.size.height_mm)), sorted((work.width_mm, work.height_mm)), strict=True)
    error = max(abs(seen / true - 1) for seen, true in pairs)
    return error, bool(made.crop.sure and made.size.sheet and error > 0.04)


def _colors(picture: Picture, reading: Reading, shot: Shot) -> tuple[tuple[float, float], float] | None:
    """CIEDE2000 on pixels that show nothing but the work: (median, 95th percentile) corrected; median by gray world."""
    screen = screen_pixels(picture)
    measured = measure(picture, screen, reading.cards)
    if measured is None or measured.color is None or measured.color.clipped:
        return None
    shrink = max(1, round(shot.width_px / screen.shape[1]))
    true, mask = _truth_at(shot, shrink)
    height, width = min(true.shape[0], screen.shape[0]), min(true.shape[1], screen.shape[1])
    rows, columns = np.nonzero(mask[:height, :width])
    if not len(rows):
        return None
    pick = np.random.default_rng(shot.width_px).integers(0, len(rows), _COLOR_SAMPLES)
    rows, columns = rows[pick], columns[pick]
    seen = screen[rows, columns]
    places = (np.column_stack([columns, rows]).astype(np.float64) + 0.5) * shrink - 0.5
    places_mm = carried(places, np.linalg.inv(measured.pose.to_px))
    want = lab_of(true[rows, columns])
    error = ciede2000(lab_of(true_color(seen[None], measured, places_mm[None])), want)
    plain = ciede2000(lab_of(_gray_world(screen, seen)[None]), want)
    return (float(np.median(error)), float(np.percentile(error, 95))), float(np.median(plain))


def _truth_at(shot: Shot, shrink: int) -> tuple[NDArray[np.uint8], NDArray[np.bool_]]:
    """True colors and the work's own pixels of the photo shrunk by ``shrink``."""
    size = {"width_px": shot.width_px // shrink, "height_px": shot.height_px // shrink}
    camera = replace(shot.camera, focal_px=shot.camera.focal_px / shrink, **size)
    mask = work_cover(shot.scene.works[0], camera) > 0.999
    over = np.zeros(mask.shape, np.uint8)
    for card in shot.cards:
        cv2.fillConvexPoly(over, np.rint(np.array(card.corners_px) / shrink).astype(np.int32), 1)
    free = np.asarray(cv2.dilate(over, np.ones((5, 5), np.uint8))) == 0
    return srgb_of(scene_light(shot.scene, camera, None)), mask & free


def _gray_world(screen: NDArray[np.uint8], seen: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """The peer: every channel scaled so that the photo's mean is gray, its brightness kept."""
    means = cv2.LUT(screen[::8, ::8], LIGHT_OF).reshape(-1, 3).mean(axis=0)
    return srgb_of(np.asarray(LIGHT_OF[seen] * (means.mean() / means), np.float32))
