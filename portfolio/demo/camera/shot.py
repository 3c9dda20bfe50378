"""Take the photo and keep the truth: where every card and work lies in it, to a fraction of a pixel."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from portfolio.cards.draw import srgb_of
from portfolio.cards.geometry import CARD, NUMBER_BOX, PAPER_REFLECTANCE, TAGS, WHITES, Rect, Side, tag_corners
from portfolio.demo.camera.arrange import arranged
from portfolio.demo.camera.chance import stream
from portfolio.demo.camera.conditions import Conditions, Difficulty
from portfolio.demo.camera.layers import gloss_at, scene_light, work_cover
from portfolio.demo.camera.light import cast_of, fall_of
from portfolio.demo.camera.phone import finished
from portfolio.demo.camera.pose import Array, Camera, aim, shifted
from portfolio.demo.camera.raster import LINEAR, Bytes
from portfolio.demo.camera.scene import (
    CardLaid,
    Laying,
    Scene,
    Shape,
    Table,
    TableKind,
    WorkLaid,
    corners_mm,
    height_at,
    to_table,
)
from portfolio.demo.camera.sensor import blurred, developed, stored, tone_table
from portfolio.demo.camera.table import sample_table
from portfolio.model.cards import CardKind, Polygon

CLIPPED_FROM = 0.955
"""Linear light of the card's white, as the file has it, from which colors cannot be corrected."""


@dataclass(frozen=True, slots=True)
class CardTruth:
    """One card as it truly lies. Corners in pixels of the upright photo, in the card's own order."""

    kind: CardKind
    value: int
    label: str | None
    corners_px: Polygon
    left_px: Polygon
    right_px: Polygon
    left_inside: bool
    """The left tag lies wholly in the frame."""
    right_inside: bool
    inside: bool
    """The whole card lies in the frame."""
    laying: Laying
    white: tuple[float, float, float]
    """Its bare white in the file, linear R, G, B at the card's middle, without noise; of a phone's photo the median of
    its white strips as the file has them."""
    left_glared: bool = False
    """A mirrored lamp washes out squares of the left tag."""
    right_glared: bool = False

    @property
    def clipped(self) -> bool:
        """Too bright to correct colors by."""
        return max(self.white) >= CLIPPED_FROM


@dataclass(frozen=True, slots=True)
class WorkTruth:
    """One work as it truly lies."""

    outline_px: Polygon
    """Its edge; for a solid work the edge of what is seen of it."""
    corners_px: Polygon
    """Corners of its picture, from the picture's own top left; those of a sheet are its corners."""
    width_mm: float
    height_mm: float
    shape: Shape
    inside: bool
    """The whole outline lies in the frame."""
    covered: bool
    """A card lies over part of it."""


@dataclass(frozen=True, slots=True, eq=False)
class Shot:
    """A photo and its truth. Pixels of the truth are those of the upright photo."""

    jpeg: bytes = field(repr=False)
    width_px: int
    height_px: int
    cards: tuple[CardTruth, ...]
    works: tuple[WorkTruth, ...]
    table: TableKind
    conditions: Conditions
    scene: Scene = field(repr=False)
    camera: Camera = field(repr=False)

    def upright(self) -> Bytes:
        """The file's own pixels, upright (height × width × 3, RGB)."""
        data = np.frombuffer(self.jpeg, dtype=np.uint8)
        bgr = cv2.imdecode(data, cv2.IMREAD_COLOR)  # OpenCV turns by the EXIF orientation
        if bgr is None:
            raise ValueError("the simulated photo cannot be decoded")
        return np.asarray(cv2.cvtColor(bgr, cv2.COLOR_BGR2RGB), dtype=np.uint8)

    def true_colors(self) -> Bytes:
        """The same view sharp, evenly lit, in neutral light (sRGB): what a color correction should arrive at."""
        return srgb_of(scene_light(self.scene, self.camera, None))

    def work_mask(self, index: int = 0) -> NDArray[np.bool_]:
        """Pixels that show nothing but work ``index``: its inside without cards that lie on it."""
        mask = work_cover(self.scene.works[index], self.camera) > 0.999
        over = np.zeros(mask.shape, np.uint8)
        for card in self.cards:
            cv2.fillConvexPoly(over, np.rint(card.corners_px).astype(np.int32), 1)
        free: NDArray[np.bool_] = np.asarray(cv2.dilate(over, np.ones((5, 5), np.uint8))) == 0
        return mask & free


def photograph(
    works: Sequence[WorkLaid],
    cards: Sequence[CardLaid],
    *,
    seed: int,
    difficulty: Difficulty = Difficulty.MIXED,
    conditions: Conditions | None = None,
    table: Table | None = None,
    width_px: int = 4032,
    height_px: int = 3024,
) -> Shot:
    """Lay the things on a table and photograph them. All that is not given is drawn from ``seed``.

    ``width_px`` and ``height_px`` are the sensor's; with orientation 6 or 8 the upright photo is the other way round.
    """
    conditions = conditions or Conditions.sample(seed, difficulty)
    scene = arranged(works, cards, table=table or sample_table(seed, difficulty), seed=seed, difficulty=difficulty)
    return expose(scene, conditions, seed=seed, width_px=width_px, height_px=height_px)


def expose(scene: Scene, conditions: Conditions, *, seed: int, width_px: int = 4032, height_px: int = 3024) -> Shot:
    """Photograph a scene whose things already have their places."""
    if conditions.sensor.orientation in (6, 8):
        width_px, height_px = height_px, width_px
    camera = _held(scene, conditions, chance=stream(seed, "framing"), width_px=width_px, height_px=height_px)
    fall, gains = fall_of(conditions.light, camera), cast_of(conditions.light)
    seen = blurred(scene_light(scene, camera, conditions.light), conditions.blur)
    picture = developed(seen, fall, gains=gains, sensor=conditions.sensor, chance=stream(seed, "sensor"))
    cards = tuple(_card_truth(card, camera, conditions, fall=fall, gains=gains) for card in scene.cards)
    if conditions.phone is not None:
        picture = finished(picture, conditions.phone)
        cards = tuple(
            replace(truth, white=_white_seen(picture, card, camera) or truth.white)
            for truth, card in zip(cards, scene.cards, strict=True)
        )
    return Shot(
        jpeg=stored(picture, conditions),
        width_px=width_px,
        height_px=height_px,
        cards=cards,
        works=tuple(_work_truth(work, scene, camera) for work in scene.works),
        table=scene.table.kind,
        conditions=conditions,
        scene=scene,
        camera=camera,
    )


def _held(
    scene: Scene, conditions: Conditions, *, chance: np.random.Generator, width_px: int, height_px: int
) -> Camera:
    """The camera over the scene. A card that is to be cut is pushed over the nearest edge of the frame."""
    cut = [card for card in scene.cards if card.laying is Laying.CUT and scene.works]
    things = [thing for thing in scene.things if thing not in cut]
    flat = np.vstack([corners_mm(thing) for thing in things])
    middle = flat.mean(axis=0)
    if not scene.works:  # room round cards by themselves
        flat = middle + (flat - middle) * 1.6
    view, share = conditions.view, float(chance.uniform(0.35, 0.8))
    camera = aim(view, _lifted(flat), width_px=width_px, height_px=height_px)
    while cut:
        shifted_over = _cutting(camera, cut[0], middle, share=share)
        if view.fill < 0.4 or _inside(shifted_over.project(_lifted(flat)), camera):
            return shifted_over
        # from farther away and with more of the card, until the work stays in the frame
        view, share = replace(view, fill=view.fill * 0.94), min(share + 0.05, 0.95)
        camera = aim(view, _lifted(flat), width_px=width_px, height_px=height_px)
    return camera


def _cutting(camera: Camera, card: CardLaid, work_mm: Array, *, share: float) -> Camera:
    """Shift the camera until the frame's edge runs through the card and leaves ``share`` of it in the photo."""
    size = np.array([camera.width_px, camera.height_px])
    for _ in range(3):
        pixels = camera.project(_lifted(corners_mm(card)))
        away = pixels.mean(axis=0) - camera.project(_lifted(work_mm[None]))[0]
        axis = int(np.argmax(np.abs(away)))
        near, far = pixels[:, axis].min(), pixels[:, axis].max()
        if away[axis] < 0:
            near, far = far, near
        now = pixels.mean(axis=0)
        want = now.copy()
        want[axis] += (size[axis] if away[axis] > 0 else 0) - (near + share * (far - near))
        camera = shifted(camera, now, want)
    return camera


def _lifted(points_mm: Array, heights_mm: Array | float = 0.0) -> Array:
    return np.column_stack([points_mm, np.broadcast_to(-np.asarray(heights_mm), len(points_mm))])


def _polygon(pixels: Array) -> Polygon:
    return tuple((float(x), float(y)) for x, y in pixels)


def _inside(pixels: Array, camera: Camera) -> bool:
    return bool(np.all((pixels >= -0.5) & (pixels <= (camera.width_px - 0.5, camera.height_px - 0.5))))


def card_px(card: CardLaid, camera: Camera, rect: Rect) -> Array:
    """Corners of a part of a card in the photo (4 × 2)."""
    return _of_card(card, camera, np.array(rect.corners))


def _of_card(card: CardLaid, camera: Camera, points_mm: Array) -> Array:
    """Points of a card (from its top left) in the photo, its curl included."""
    points = (points_mm - CARD.center) * card.scale
    lift = height_at(card, points[:, 0], points[:, 1])
    return camera.project(_lifted(to_table(points, card.place), lift))


def _card_truth(card: CardLaid, camera: Camera, conditions: Conditions, *, fall: Array, gains: Array) -> CardTruth:
    whole = card_px(card, camera, CARD)
    tags = {side: _of_card(card, camera, np.array(tag_corners(side))) for side in Side}
    middle = card_px(card, camera, NUMBER_BOX).mean(axis=0)
    node = np.clip(((middle + 8) / 8).astype(int), 0, (fall.shape[1] - 1, fall.shape[0] - 1))
    light = PAPER_REFLECTANCE * np.array(card.tint) * gains * fall[node[1], node[0]]
    table = tone_table(conditions.sensor.contrast)
    red, green, blue = LINEAR[table[(np.clip(light, 0, 1) * (len(table) - 1)).astype(int)]].tolist()
    return CardTruth(
        kind=card.kind,
        value=card.value,
        label=card.label,
        corners_px=_polygon(whole),
        left_px=_polygon(tags[Side.LEFT]),
        right_px=_polygon(tags[Side.RIGHT]),
        left_inside=_inside(tags[Side.LEFT], camera),
        right_inside=_inside(tags[Side.RIGHT], camera),
        inside=_inside(whole, camera),
        laying=card.laying,
        white=(red, green, blue),
        left_glared=_glared(card, Side.LEFT),
        right_glared=_glared(card, Side.RIGHT),
    )


def _white_seen(picture: Bytes, card: CardLaid, camera: Camera) -> tuple[float, float, float] | None:
    """Median of the card's white strips in the finished picture, linear; ``None`` when the photo shows none of them."""
    spots = np.array([(x, rect.center[1]) for rect in WHITES for x in range(8, 134, 4)], np.float64)
    at = np.rint(_of_card(card, camera, spots)).astype(int)
    at = at[((at >= 0) & (at < (camera.width_px, camera.height_px))).all(axis=1)]
    if not len(at):
        return None
    red, green, blue = LINEAR[np.median(picture[at[:, 1], at[:, 0]], axis=0).astype(int)].tolist()
    return red, green, blue


def _work_truth(work: WorkLaid, scene: Scene, camera: Camera) -> WorkTruth:
    half = np.array([work.width_mm, work.height_mm]) / 2
    box = np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]])
    outline = _on_photo(work, _outline(work), camera)
    return WorkTruth(
        outline_px=_polygon(outline),
        corners_px=_polygon(_on_photo(work, box * half, camera)),
        width_mm=work.width_mm,
        height_mm=work.height_mm,
        shape=work.shape,
        inside=_inside(outline, camera),
        covered=any(_touch(outline, card_px(card, camera, CARD)) for card in scene.cards),
    )


def _glared(card: CardLaid, side: Side) -> bool:
    """The mirrored lamp makes ink look as bright as gray paper over a fiftieth of the tag or more: there its border is
    broken and its squares cannot be told.
    """
    if card.glare is None:
        return False
    rect, steps = TAGS[side], (np.arange(20) + 0.5) / 20
    u, v = np.meshgrid(rect.x_mm + steps * rect.width_mm, rect.y_mm + steps * rect.height_mm)
    bright = gloss_at(card.glare, (u - CARD.center[0]) * card.scale, (v - CARD.center[1]) * card.scale)
    return bool((bright > PAPER_REFLECTANCE / 3).mean() > 0.02)


def _on_photo(work: WorkLaid, points_mm: Array, camera: Camera) -> Array:
    lift = height_at(work, points_mm[:, 0], points_mm[:, 1])
    return camera.project(_lifted(to_table(points_mm, work.place), lift))


def _outline(work: WorkLaid) -> Array:
    """The work's edge in millimeters from its middle: the sheet's sides in steps, or the edge of its alpha."""
    half = np.array([work.width_mm, work.height_mm]) / 2
    if work.picture.shape[2] == 3:
        corners = np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]]) * half
        steps = np.linspace(0, 1, 96 if work.folds else 16, endpoint=False)[:, None]
        sides = [one + steps * (other - one) for one, other in zip(corners, np.roll(corners, -1, axis=0), strict=True)]
        return np.vstack(sides)
    alpha = cv2.resize(np.ascontiguousarray(work.picture[..., 3]), None, fx=2, fy=2, interpolation=cv2.INTER_LINEAR)
    solid = cv2.copyMakeBorder((alpha >= 128).astype(np.uint8), 1, 1, 1, 1, cv2.BORDER_CONSTANT, value=0)
    found, _ = cv2.findContours(solid, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    edge = cv2.approxPolyDP(max(found, key=cv2.contourArea), 0.7, True).reshape(-1, 2).astype(np.float64)
    size = np.array(alpha.shape[::-1])
    points: Array = ((edge - 1 + 0.5) / size - 0.5) * 2 * half
    return points


def _touch(one_px: Array, other_px: Array) -> bool:
    hull = cv2.convexHull(one_px.astype(np.float32))
    area, _ = cv2.intersectConvexConvex(hull, other_px.astype(np.float32))
    return bool(area > 1.0)
