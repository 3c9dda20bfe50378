"""The scene as the lens sees it: reflectance of table, works and cards, with contact shadows, in linear light."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from math import ceil

import cv2
import numpy as np
from numpy.typing import NDArray

from portfolio.cards.draw import card_reflectance
from portfolio.cards.geometry import PATCH_REFLECTANCE, PATCHES
from portfolio.demo.camera.conditions import Light
from portfolio.demo.camera.pose import Array, Camera
from portfolio.demo.camera.raster import Box, Float, linear_of, nodes_of, sampled, strips
from portfolio.demo.camera.scene import (
    CardLaid,
    Glare,
    Scene,
    Shape,
    Thing,
    WorkLaid,
    corners_mm,
    from_table,
    height_at,
    is_uneven,
    peak_mm,
    size_mm,
)
from portfolio.demo.camera.table import canvas_of
from portfolio.model.cards import CardKind

_PAD = 2
"""Clear pixels round every texture, so that edges are smooth and lie exactly at the thing's edge."""
_SHADOW_PX_PER_MM = 2.0


def scene_light(scene: Scene, camera: Camera, light: Light | None) -> Float:
    """Reflectance of the scene for every pixel (height × width × 3); without ``light`` there are no shadows."""
    image = _table_seen(scene, camera)
    scale = camera.px_per_mm()
    for thing in scene.things:
        if light is not None:
            _darken(image, thing, camera, light)
        _lay(image, thing, camera, scale, light=light)
    return image


def work_cover(work: WorkLaid, camera: Camera) -> Float:
    """How much of each pixel the work covers, 0-1 (height × width), as if nothing lay on it."""
    cover = np.zeros((camera.height_px, camera.width_px, 3), dtype=np.float32)
    alpha = np.full(work.picture.shape[:2], 255, np.uint8) if work.picture.shape[2] == 3 else work.picture[..., 3]
    white = np.dstack([np.full((*alpha.shape, 3), 255, np.uint8), alpha])
    _lay(cover, replace(work, picture=white), camera, camera.px_per_mm())
    return cover[..., 0]


def _table_seen(scene: Scene, camera: Camera) -> Float:
    box = Box(0, 0, camera.width_px, camera.height_px)
    x_mm, y_mm = camera.on_table(*nodes_of(box))
    left, top = float(x_mm.min()), float(y_mm.min())
    extent = (float(x_mm.max()) - left, float(y_mm.max()) - top)
    scale = min(camera.px_per_mm() * 0.8, 3.5, (6e6 / (extent[0] * extent[1])) ** 0.5)
    canvas = canvas_of(scene.table, (left, top), size_mm=extent, px_per_mm=scale)
    image = np.empty((box.height, box.width, 3), dtype=np.float32)
    for rows, (x, y) in strips(box, (x_mm - left) * scale - 0.5, (y_mm - top) * scale - 0.5):
        image[rows] = linear_of(sampled(canvas, x, y, outside=cv2.BORDER_REPLICATE))
    return image


def _lay(image: Float, thing: Thing, camera: Camera, scale: float, *, light: Light | None = None) -> None:
    """Lay one thing over what is seen so far; in a light, uneven paper is shaded and a laminated card shines."""
    box = _box_of(thing, camera, margin_mm=0.5)
    if box is None:
        return
    texture = _work_texture(thing, scale) if isinstance(thing, WorkLaid) else _card_texture(thing, scale)
    u, v = _thing_map(thing, camera, box)
    width_mm, height_mm = size_mm(thing)
    inner_h, inner_w = texture.shape[0] - 2 * _PAD, texture.shape[1] - 2 * _PAD
    x = (u / width_mm + 0.5) * inner_w - 0.5 + _PAD
    y = (v / height_mm + 0.5) * inner_h - 0.5 + _PAD
    part = image[box.top : box.top + box.height, box.left : box.left + box.width]
    for rows, (fine_x, fine_y) in strips(box, x, y):
        seen = sampled(texture, fine_x, fine_y)
        part[rows] *= 1 - seen[..., 3:]
        part[rows] += seen[..., :3]
    if light is not None and (is_uneven(thing) or (isinstance(thing, CardLaid) and thing.glare)):
        _shine(part, box, thing, light, maps=(u, v, x, y), inner_px=(inner_w, inner_h))


def _shine(
    part: Float, box: Box, thing: Thing, light: Light, *, maps: tuple[Array, ...], inner_px: tuple[int, int]
) -> None:
    """Shade the slopes of uneven paper; add the mirrored lamp on a laminated card."""
    u, v, x, y = maps
    shade = _slope_light(thing, u, v, light)
    gloss = gloss_at(thing.glare, u, v) if isinstance(thing, CardLaid) and thing.glare else np.zeros_like(u)
    for rows, (fine_x, fine_y, fine_shade, fine_gloss) in strips(box, x, y, shade, gloss):
        width, height = inner_px
        over = (fine_x > _PAD - 0.5) & (fine_x < _PAD + width - 0.5)
        over &= (fine_y > _PAD - 0.5) & (fine_y < _PAD + height - 0.5)
        if isinstance(thing, WorkLaid) and thing.picture.shape[2] == 4:
            alpha = np.asarray(thing.picture[..., 3], np.float32) / np.float32(255)
            scale_x, scale_y = alpha.shape[1] / width, alpha.shape[0] / height
            over = over & (sampled(alpha, (fine_x - _PAD) * scale_x, (fine_y - _PAD) * scale_y) > 0.5)
        part[rows] = np.where(over[..., None], part[rows] * fine_shade[..., None] + fine_gloss[..., None], part[rows])


def _slope_light(thing: Thing, u: Array, v: Array, light: Light) -> Array:
    """Light on a slope over that on the flat table: half from the lamp (Lambert), half from all sides."""
    if not is_uneven(thing):
        return np.ones_like(u)
    step = 0.5
    slope_u = (height_at(thing, u + step, v) - height_at(thing, u - step, v)) / (2 * step)
    slope_v = (height_at(thing, u, v + step) - height_at(thing, u, v - step)) / (2 * step)
    turn = np.deg2rad(light.from_deg - thing.place.angle_deg)
    slant = 1 / np.tan(np.deg2rad(light.elevation_deg))
    lamp = 1 + slant * (np.cos(turn) * slope_u + np.sin(turn) * slope_v)
    lamp = np.maximum(lamp, 0) / np.sqrt(1 + slope_u**2 + slope_v**2)
    shade: Array = 0.5 + 0.5 * lamp
    return shade


def gloss_at(glare: Glare, u: Array, v: Array) -> Array:
    """Light that a laminated card mirrors, at points of the card."""
    turn = np.deg2rad(glare.angle_deg)
    du, dv = u - glare.at_mm[0], v - glare.at_mm[1]
    along = (du * np.cos(turn) + dv * np.sin(turn)) / glare.radii_mm[0]
    across = (dv * np.cos(turn) - du * np.sin(turn)) / glare.radii_mm[1]
    gloss: Array = glare.veil + glare.peak * np.exp(-(along**2 + across**2) / 2)
    return gloss


def _thing_map(thing: Thing, camera: Camera, box: Box) -> tuple[Array, Array]:
    """For the nodes of a box: where on the thing (mm from its middle) each ray lands."""
    x_px, y_px = nodes_of(box)
    u, v = from_table(*camera.on_table(x_px, y_px), thing.place)
    if peak_mm(thing) > 0:
        for _ in range(6):  # each round shrinks the error by about the slope times the tilt, < 0.1
            lift = height_at(thing, u, v)
            u, v = from_table(*camera.on_table(x_px, y_px, height_mm=lift), thing.place)
    return u, v


def _box_of(thing: Thing, camera: Camera, *, margin_mm: float) -> Box | None:
    """The part of the photo that a thing and a margin round it can reach."""
    flat = corners_mm(thing)
    middle = flat.mean(axis=0)
    reach = 1 + margin_mm / np.hypot(*(flat[0] - middle))
    lift = peak_mm(thing)
    wide = middle + (flat - middle) * reach * 1.02
    points = np.vstack([np.column_stack([wide, np.full(4, -height)]) for height in (0.0, lift)])
    pixels = camera.project(points)
    left, top = np.floor(pixels.min(axis=0)).astype(int) - 2
    right, bottom = np.ceil(pixels.max(axis=0)).astype(int) + 3
    left, top = max(int(left), 0), max(int(top), 0)
    right, bottom = min(int(right), camera.width_px), min(int(bottom), camera.height_px)
    return Box(left, top, right - left, bottom - top) if right > left and bottom > top else None


def _padded(texture: Float) -> Float:
    return np.pad(texture, ((_PAD, _PAD), (_PAD, _PAD), (0, 0)))


def _fitted(picture: Float, width_mm: float, height_mm: float, *, scale: float) -> Float:
    """The picture at about the photo's own scale, averaged down or smoothly enlarged."""
    size = (max(2, round(width_mm * scale)), max(2, round(height_mm * scale)))
    shrinks = size[0] < picture.shape[1]
    how = cv2.INTER_AREA if shrinks else cv2.INTER_LINEAR
    return np.asarray(cv2.resize(picture, size, interpolation=how), dtype=np.float32)


def _work_texture(work: WorkLaid, scale: float) -> Float:
    """Linear light times alpha, and alpha (height × width × 4)."""
    alpha = np.ones((*work.picture.shape[:2], 1), dtype=np.float32)
    if work.picture.shape[2] == 4:
        alpha = work.picture[..., 3:].astype(np.float32) / 255
    light = linear_of(np.ascontiguousarray(work.picture[..., :3])) * alpha
    return _padded(_fitted(np.dstack([light, alpha]), work.width_mm, work.height_mm, scale=scale))


def _card_texture(card: CardLaid, scale: float) -> Float:
    px_per_mm = ceil(scale * card.scale * 4.4) / 4
    gray = _card_gray(card.kind, card.value, px_per_mm, card.label)
    rgb = gray[..., None] * np.array(card.tint, dtype=np.float32)
    for rect, nominal, printed in zip(PATCHES, PATCH_REFLECTANCE, card.patches, strict=True):
        left, top = rect.x_mm * px_per_mm, rect.y_mm * px_per_mm
        right, bottom = left + rect.width_mm * px_per_mm, top + rect.height_mm * px_per_mm
        rgb[round(top) : round(bottom), round(left) : round(right)] *= np.array(printed, dtype=np.float32) / nominal
    return _padded(np.dstack([rgb, np.ones_like(gray)]))


@lru_cache(maxsize=48)
def _card_gray(kind: CardKind, value: int, px_per_mm: float, label: str | None) -> Float:
    return card_reflectance(kind, value, px_per_mm, label=label)


def _darken(image: Float, thing: Thing, camera: Camera, light: Light) -> None:
    """The shadow a thing throws on what lies below it."""
    height_mm = thing.thickness_mm if isinstance(thing, WorkLaid) else 0.3
    lift_mm = peak_mm(thing)
    margin_mm = 8.0 + 2.5 * (height_mm + lift_mm)
    box = _box_of(thing, camera, margin_mm=margin_mm * 1.5)
    if box is None or light.contact <= 0:
        return
    shade = _shade_of(thing, light, height_mm=height_mm, margin_mm=margin_mm)
    u, v = from_table(*camera.on_table(*nodes_of(box)), thing.place)
    x = u * _SHADOW_PX_PER_MM + (shade.shape[1] - 1) / 2
    y = v * _SHADOW_PX_PER_MM + (shade.shape[0] - 1) / 2
    part = image[box.top : box.top + box.height, box.left : box.left + box.width]
    for rows, (fine_x, fine_y) in strips(box, x, y):
        dark = sampled(shade, fine_x, fine_y)
        part[rows] *= 1 - dark[..., None]


def _shade_of(thing: Thing, light: Light, *, height_mm: float, margin_mm: float) -> Float:
    """Light taken away round a thing, 0-1, in its own frame: a cast shadow with a soft edge and a dark seam."""
    shape = _cover_small(thing)
    margin = round(margin_mm * _SHADOW_PX_PER_MM)
    shape = np.pad(shape, margin)
    rows, columns = np.indices(shape.shape, dtype=np.float32)
    u = (columns.astype(np.float64) - (shape.shape[1] - 1) / 2) / _SHADOW_PX_PER_MM
    v = (rows.astype(np.float64) - (shape.shape[0] - 1) / 2) / _SHADOW_PX_PER_MM
    lift: NDArray[np.float64] | float = height_at(thing, u, v)
    slant = 1 / np.tan(np.deg2rad(light.elevation_deg))
    turn = np.deg2rad(light.from_deg - thing.place.angle_deg)
    reach = np.asarray((height_mm + lift) * slant * _SHADOW_PX_PER_MM, dtype=np.float32)
    solid = isinstance(thing, WorkLaid) and thing.shape is Shape.SOLID
    thrown = shape
    for share in np.linspace(0.125, 1, 8) if solid else (1.0,):  # a body throws its shadow from the foot up
        x = columns - reach * np.float32(share * np.cos(turn))
        y = rows - reach * np.float32(share * np.sin(turn))
        part = sampled(shape, x, y)
        thrown = np.maximum(thrown, part) if solid else part
    soft = _SHADOW_PX_PER_MM * (0.5 + 0.2 * height_mm * slant)
    cast = cv2.GaussianBlur(thrown, (0, 0), soft)
    seam = cv2.GaussianBlur(shape, (0, 0), _SHADOW_PX_PER_MM * (0.8 + 0.15 * height_mm))
    shade = light.contact * ((1.0 if solid else 0.7) * cast + 0.5 * seam)
    return np.asarray(np.minimum(shade, 0.9), dtype=np.float32)


def _cover_small(thing: Thing) -> Float:
    width, height = (max(2, round(side * _SHADOW_PX_PER_MM)) for side in size_mm(thing))
    if isinstance(thing, WorkLaid) and thing.picture.shape[2] == 4:
        alpha = np.ascontiguousarray(thing.picture[..., 3])
        small = cv2.resize(alpha, (width, height), interpolation=cv2.INTER_AREA)
        return np.asarray(small, dtype=np.float32) / np.float32(255)
    return np.ones((height, width), dtype=np.float32)
