"""The order of work in this room: from an opened photo and its cards to the pictures of the work itself."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import cv2
import numpy as np

from portfolio.cards.geometry import CARD
from portfolio.model.cards import CardKind, CardSeen, CardStatus, Point
from portfolio.model.photo import ColorSeen, Crop, SizeMm, Straightened
from portfolio.straighten.balance import balance, corrected, evened, read_grays
from portfolio.straighten.crops import Cut, cut_out, frame_of, from_top_left, places_of
from portfolio.straighten.fingerprint import fingerprint
from portfolio.straighten.ladder import LEAST_PX, ladder
from portfolio.straighten.lightfield import OF_PHONES, TONED, LightField, see_table
from portfolio.straighten.localtone import HALO, STRONGER, halo_of, surroundings, weakened
from portfolio.straighten.nocard import propose_edge
from portfolio.straighten.outline import SHAKEN, Found, find_outline
from portfolio.straighten.plane import Float, Plane, cards_on_table, see_plane
from portfolio.straighten.pose import Array, Pose, card_for_pose, carried, find_pose
from portfolio.straighten.sizes import sheet_name
from portfolio.straighten.source import Pixels, Source
from portfolio.straighten.srgb import to_srgb
from portfolio.straighten.tabletop import UNLIKE, TableLook, is_near_white, learn_table, unlikeness
from portfolio.straighten.terms import color_shares

RECIPE: Final = 7
"""Raise it when pictures made from the same photo change: they are then made again."""

Pair = tuple[float, float]

_FIELD_STEP_PX: Final = 16


@dataclass(frozen=True, slots=True, eq=False)
class Measured:
    """What the card tells of one photo: pose, the table from above, and color."""

    pose: Pose
    plane: Plane
    look: TableLook | None
    unlike: Float
    cards_mm: Sequence[Array]
    color: ColorSeen | None
    light: LightField | None
    """How the light falls over the table, where it may be used."""
    stronger: float = 1.0
    """By how much the camera made colors stronger than they are."""


def straighten(source: Source, cards: tuple[CardSeen, ...] = (), *, solid: bool = False) -> Straightened:
    """Straighten one photo by its number card. ``solid``: the work is known to be 3-D.

    Without a usable card, or with a card but an unsure outline, the photo is shown whole, and the outline that was
    found is given with ``sure=False``. Raises what decoding raises.
    """
    screen = screen_pixels(source)
    measured = measure(source, screen, cards)
    shrink = source.shrink_for(LEAST_PX)
    if measured is None:
        crop = None if cards or solid else propose_edge(screen, shrink=shrink)
        return Straightened(ladder(screen), crop=crop, recipe=RECIPE)
    found = find_outline(screen, measured.plane, measured.pose, unlike=measured.unlike, shrink=shrink)
    if found is None:
        return Straightened(ladder(true_color(screen, measured)), color=measured.color, recipe=RECIPE)
    if len([card for card in cards if card.kind is CardKind.NUMBER and card.status is CardStatus.CONFLICT]) > 1:
        found = replace(found, sure=False, why="more than one number card can be seen")
    if any(card.shaken for card in cards):
        found = replace(found, sure=False, why=SHAKEN)
    crop = crop_of(found, measured.pose, solid=solid)
    if not crop.sure:
        size = _size_of(found.outline_mm, measured.pose, shape=crop.shape, exact_mm=found.size_mm)
        return Straightened(
            ladder(true_color(screen, measured)), crop=crop, size=size, color=measured.color, recipe=RECIPE
        )
    return cut_and_corrected(source, screen, crop, measured=measured, exact_mm=found.size_mm)


def straighten_with(
    source: Source, crop: Crop, quarter_turns: int = 0, *, cards: tuple[CardSeen, ...] = ()
) -> Straightened:
    """Make the pictures from an outline that is given, e.g. set by hand; turned clockwise by ``quarter_turns``.

    With the photo's ``cards`` the work gets its true proportions, size and color; without, those of the photo.
    An outline of a "sheet" has four corners.
    """
    screen = screen_pixels(source)
    measured = measure(source, screen, cards)
    return cut_and_corrected(source, screen, crop, measured=measured, quarter_turns=quarter_turns)


def straighten_whole(source: Source, *, cards: tuple[CardSeen, ...] = ()) -> Straightened:
    """Make the pictures of the whole photo, in true color where its ``cards`` tell it: its edge is not known."""
    screen = screen_pixels(source)
    measured = measure(source, screen, cards)
    pixels = true_color(screen, measured) if measured is not None else screen
    return Straightened(ladder(pixels), color=measured.color if measured else None, recipe=RECIPE)


def screen_pixels(source: Source) -> Pixels:
    """The upright photo in sRGB at about the size of the largest picture."""
    return to_srgb(source.rgb(source.shrink_for(LEAST_PX)), icc=source.icc, adobe_rgb=source.adobe_rgb)


def measure(source: Source, screen: Pixels, cards: tuple[CardSeen, ...]) -> Measured | None:
    """Pose, plane and color from the best card; ``None`` without one."""
    card = card_for_pose(cards)
    return measure_by(source, screen, card, cards) if card is not None else None


def measure_by(source: Source, screen: Pixels, card: CardSeen, cards: tuple[CardSeen, ...]) -> Measured | None:
    """The same from one ``card`` of the photo's ``cards``; ``None`` when it fits no camera."""
    facts, shrink = source.facts, source.shrink_for(LEAST_PX)
    size_px = facts.width_px, facts.height_px
    pose = find_pose(screen, card, shrink=shrink, size_px=size_px, focal_35mm=facts.focal_35mm)
    if pose is None:
        return None
    cards_mm = cards_on_table(cards, pose)
    plane = see_plane(screen, pose, shrink=shrink, cards_mm=cards_mm)
    look = learn_table(plane)
    unlike = unlikeness(plane, look)
    grays, light, stronger = read_grays(screen, pose, shrink=shrink), None, 1.0
    if not grays.clipped:  # a clipped card is only said: nothing is corrected by it
        light, stronger = _seen_light(screen, plane, unlike, pose, shrink=shrink)
    if stronger != 1.0:
        weaker = read_grays(weakened(screen, stronger), pose, shrink=shrink)
        grays = replace(weaker, clipped=False)
    color = balance(evened(grays, light), table_near_white=is_near_white(plane, unlike))
    return Measured(pose, plane, look, unlike, cards_mm, color, light, stronger)


def look_closer(
    screen: Pixels, measured: Measured, low_mm: Array, high_mm: Array, *, shrink: int
) -> tuple[Plane, Float]:
    """A part of the table as closely as the photo shows it, and how unlike the table every place of it is."""
    within = low_mm, high_mm
    plane = see_plane(screen, measured.pose, shrink=shrink, cards_mm=measured.cards_mm, within_mm=within)
    return plane, unlikeness(plane, measured.look)


def _seen_light(
    screen: Pixels, plane: Plane, unlike: Float, pose: Pose, *, shrink: int
) -> tuple[LightField | None, float]:
    """The light over the table, and by how much colors are too strong: both depend on whether a phone made the photo.

    A phone is told by halos or by local tone; then what phones usually do stands in where the table says little.
    """
    seen = see_table(plane, unlike, card_mm=np.array(CARD.center))
    if seen is None:
        return None, STRONGER if halo_of(screen, pose, shrink=shrink) > HALO else 1.0
    cells = surroundings(screen, pose, shrink=shrink).on_table(plane, unlike < UNLIKE)
    seen = seen.with_shadow(cells)
    light = seen.field_with_tone(cells)
    toned = light is not None and light.tone is not None and light.tone.power < TONED
    if toned or halo_of(screen, pose, shrink=shrink) > HALO:
        return seen.field_with_tone(cells, OF_PHONES), STRONGER
    return seen.field(), 1.0


def crop_of(found: Found, pose: Pose, *, solid: bool = False) -> Crop:
    """An outline that was found on the table, as an outline in the photo."""
    outline = carried(found.outline_mm, pose.to_px)
    points: tuple[Point, ...] = tuple((float(x), float(y)) for x, y in outline)
    return Crop(points, found.sure, "solid" if solid else found.shape, found.why)


def _size_of(outline_mm: Array, pose: Pose, *, shape: str, exact_mm: Pair | None = None) -> SizeMm | None:
    """Size on the table's plane, as the card's "up" has it; a solid thing has none there."""
    if shape == "solid":
        return None
    if shape == "free":
        low, high = outline_mm.min(axis=0), outline_mm.max(axis=0)
        return SizeMm(float(high[0] - low[0]), float(high[1] - low[1]), pose.about)
    corners = from_top_left(outline_mm)
    sides = np.linalg.norm(np.roll(corners, -1, axis=0) - corners, axis=1)
    width, height = float(sides[[0, 2]].mean()), float(sides[[1, 3]].mean())
    if exact_mm is not None:
        straight = abs(exact_mm[0] / width - 1) <= abs(exact_mm[1] / width - 1)
        width, height = exact_mm if straight else exact_mm[::-1]
    return SizeMm(width, height, pose.about, sheet_name(width, height))


def cut_and_corrected(
    source: Source,
    screen: Pixels,
    crop: Crop,
    *,
    measured: Measured | None,
    quarter_turns: int = 0,
    exact_mm: Pair | None = None,
) -> Straightened:
    """Cut out, correct, and make everything that is made from a crop."""
    pose = measured.pose if measured else None
    corners, (width, height) = frame_of(crop, pose)
    size = None
    if pose is not None:
        outline_mm = carried(np.array(crop.outline_px, np.float64), np.linalg.inv(pose.to_px))
        size = _size_of(outline_mm, pose, shape=crop.shape, exact_mm=exact_mm)
        if size is not None and crop.shape == "sheet":
            width, height = size.width_mm, size.height_mm
    cut = cut_out(source, screen, corners, ratio=width / height, quarter_turns=quarter_turns)
    pixels = _in_true_color(cut, measured)
    return Straightened(
        ladder(pixels),
        crop=crop,
        size=_turned(size, quarter_turns),
        color=measured.color if measured else None,
        crop_hash=None if crop.shape == "solid" else fingerprint(pixels),
        color_shares=color_shares(pixels, _inside(cut, crop)),
        recipe=RECIPE,
    )


def _turned(size: SizeMm | None, quarter_turns: int) -> SizeMm | None:
    if size is None or quarter_turns % 2 == 0:
        return size
    return replace(size, width_mm=size.height_mm, height_mm=size.width_mm)


def _inside(cut: Cut, crop: Crop) -> np.ndarray[tuple[int, ...], np.dtype[np.bool_]] | None:
    """Which pixels of the cut belong to the work; ``None`` for a sheet, which fills it."""
    if crop.shape == "sheet":
        return None
    outline = carried(np.array(crop.outline_px, np.float64), np.linalg.inv(cut.to_photo))
    mask = np.zeros(cut.pixels.shape[:2], np.uint8)
    cv2.fillPoly(mask, [np.rint(outline).astype(np.int32)], 1)
    return mask > 0


def _in_true_color(cut: Cut, measured: Measured | None) -> Pixels:
    """The cut's pixels corrected by the card, and by the light over the table when that is known."""
    if measured is None or measured.color is None or measured.color.clipped:
        return cut.pixels
    if measured.light is None:
        return true_color(cut.pixels, measured)
    return true_color(cut.pixels, measured, places_of(cut, measured.pose, _FIELD_STEP_PX))


def true_color(pixels: Pixels, measured: Measured, places_mm: Array | None = None) -> Pixels:
    """Pixels in true color by the card. ``places_mm`` (rows × columns × 2): where a grid over them lies on the table,
    for the light there; without, as if it were the same everywhere. Unchanged when the card cannot tell.
    """
    if measured.color is None or measured.color.clipped:
        return pixels
    pixels = weakened(pixels, measured.stronger)
    if measured.light is None or places_mm is None:
        return corrected(pixels, measured.color)
    light, size = measured.light, (pixels.shape[1], pixels.shape[0])
    field = np.asarray(cv2.resize(light.at(places_mm), size, interpolation=cv2.INTER_LINEAR), np.float32)
    if light.tone is None:
        return corrected(pixels, measured.color, field)
    lift = np.asarray(cv2.resize(light.tone.lift_at(places_mm), size, interpolation=cv2.INTER_LINEAR), np.float32)
    return corrected(pixels, measured.color, field, lift)
