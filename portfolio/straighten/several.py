"""Several works in one photo, each with its number card: which work belongs to which card, and a crop of each.

A card and a work belong together when each is the other's nearest by far, and the photo shows as many clear things as
cards: where a work is not seen or a scrap lies about, everything in the photo is asked about. All works are found on
the table as the clearest card has it; each is then measured by its own card, in a cell that holds no other work.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import cv2
import numpy as np

from portfolio.model.cards import CardKind, CardSeen, CardStatus
from portfolio.model.photo import Straightened, WorkOfCard
from portfolio.straighten.belonging import Owner, area_mm2, in_one_order
from portfolio.straighten.cells import CELL_MM, cell_of, mask_of
from portfolio.straighten.faint import faint_sheets
from portfolio.straighten.freeform import agreement, disc
from portfolio.straighten.ladder import LEAST_PX
from portfolio.straighten.laid import MOSTLY_INSIDE, REACH_MM, THIN_MM, is_cluttered, things_on, with_faint
from portfolio.straighten.order import Measured, crop_of, cut_and_corrected, measure_by, screen_pixels
from portfolio.straighten.outline import NEARLY_TABLE, OTHERS, SHAKEN, UNCLEAR, Found, find_outline
from portfolio.straighten.plane import Plane, card_on_table
from portfolio.straighten.pose import Array, card_for_pose, carried
from portfolio.straighten.source import Pixels, Source

MOSTLY_LOST: Final = 0.6
"""Less than this share of what was seen on the whole table: the thing itself is proposed, to be asked about."""
SAME_THING: Final = {"sheet": 0.8, "free": 0.95}
"""Intersection over union with what is seen on the whole table, below which a close look is asked about. A sheet bears
itself out by its sides; a free shape has nothing else.
"""
LARGER: Final = 1.03
"""A sheet larger than what is seen, with that in it, is the paper that it is drawn on, or lies beyond a line across
it."""
NO_WORK: Final = "no work can be seen beside this card"
UNCLEAR_WHOSE: Final = "it is not clear which work belongs to this card"


def straighten_each(source: Source, cards: tuple[CardSeen, ...], *, solid: bool = False) -> tuple[WorkOfCard, ...]:
    """One crop for each number card of a photo, in the order of the cards. Raises what decoding raises.

    A card that is not whole, a card without a work and a work between two cards come back with ``why``, to be asked
    about; an unclear edge is said by the crop. ``solid``: the works are known to be 3-D.
    """
    mine = tuple(card for card in cards if card.kind is CardKind.NUMBER)
    if not mine:
        return ()
    screen = screen_pixels(source)
    first = card_for_pose(mine)
    table = measure_by(source, screen, first, cards) if first is not None else None
    if table is None:
        return tuple(WorkOfCard(card, Straightened(()), card.why or NO_WORK) for card in mine)
    cards_mm = [card_on_table(card, table.pose) for card in mine]
    things = things_on(table.plane, table.unlike, cards_mm)
    even = len(things) == len(mine)
    things, owners = with_faint(source, screen, table, cards_mm, things)
    even = even or in_one_order(cards_mm, things, owners)
    if not even or not all(owner is not None and owner.clear for owner in owners):  # one in doubt may be another's
        owners = [None if owner is None else replace(owner, clear=False) for owner in owners]
    scraps = len(things) > sum(owner is not None for owner in owners) or is_cluttered(table, things)
    measured = (
        None if owner is None else table if card is first else measure_by(source, screen, card, cards)
        for card, owner in zip(mine, owners, strict=True)
    )
    return tuple(
        _work_of(source, screen, card, owner, own=own, table=table, things=things, scraps=scraps, solid=solid)
        for card, owner, own in zip(mine, owners, measured, strict=True)
    )


def _work_of(
    source: Source,
    screen: Pixels,
    card: CardSeen,
    owner: Owner | None,
    *,
    own: Measured | None,
    table: Measured,
    things: list[Array],
    scraps: bool,
    solid: bool,
) -> WorkOfCard:
    """Find the edge of one card's work, as measured by that card, and cut it out. With ``scraps`` about, one of them
    may be a part of a free shape.
    """
    if owner is None or own is None:
        return WorkOfCard(card, Straightened(()), _why_nothing(card, things))
    to_own = np.linalg.inv(own.pose.to_px) @ table.pose.to_px
    outlines = [carried(thing, to_own) for thing in things]
    near = disc(2 * CELL_MM * own.plane.px_per_mm)
    shrink = source.shrink_for(LEAST_PX)
    plane, unlike = cell_of(screen, own, outlines, owner.thing, brush=near, shrink=shrink, hull=True)
    found = find_outline(screen, plane, own.pose, unlike=unlike, shrink=shrink, scraps=scraps)
    if scraps and found is not None and found.sure and found.shape == "free":
        found = replace(found, sure=False, why=OTHERS)
    if found is None or not found.sure:
        found = _as_drawing(screen, own, outlines, owner.thing, found, shrink=shrink)
    lost = area_mm2(found.outline_mm) < MOSTLY_LOST * area_mm2(outlines[owner.thing])
    if lost and found.shape == "free" and not found.sure:
        found = Found(outlines[owner.thing], "free", sure=False, why=found.why)
    found = _without_thin_parts(found, plane, outlines[owner.thing])
    if found.sure and _alike(own.plane, found.outline_mm, outlines[owner.thing]) < SAME_THING[found.shape]:
        found = replace(found, sure=False, why=UNCLEAR)
    if card.shaken:
        found = replace(found, sure=False, why=SHAKEN)
    why = "" if card.alone is CardStatus.SURE else card.why
    why = why or _why_other(found, outlines, owner)
    crop = crop_of(found, own.pose, solid=solid)
    return WorkOfCard(card, cut_and_corrected(source, screen, crop, measured=own, exact_mm=found.size_mm), why)


def _as_drawing(
    screen: Pixels, own: Measured, outlines: list[Array], thing: int, found: Found | None, *, shrink: int
) -> Found:
    """What is seen may be only the drawing on paper nearly the color of the table: a sheet larger than it, all round
    it, is proposed instead; and where nothing at all was found, the thing itself. None of these is sure.
    """
    drawing = found or Found(outlines[thing], "free", sure=False, why=UNCLEAR)
    grown = np.ones((2 * round(REACH_MM / 2 * own.plane.px_per_mm) + 1,) * 2, np.uint8)
    cell, unlike = cell_of(screen, own, outlines, thing, brush=grown, shrink=shrink)
    wide = find_outline(screen, cell, own.pose, unlike=unlike, shrink=shrink)
    if wide is not None and wide.shape == "sheet" and _lies_within(drawing.outline_mm, wide.outline_mm):
        return replace(wide, sure=False, why=wide.why or NEARLY_TABLE)
    if drawing.shape == "sheet":
        return drawing
    for sheet in faint_sheets(screen, cell, own.pose, unlike=unlike, shrink=shrink):
        if _is_paper_of(own.plane, drawing, sheet.fitted.corners_mm):
            return Found(sheet.fitted.corners_mm, "sheet", sure=False, why=NEARLY_TABLE, size_mm=sheet.size_mm)
    return drawing


def _lies_within(drawing_mm: Array, sheet_mm: Array) -> bool:
    """Whether an outline is smaller than a sheet, and nearly all of it lies in the sheet."""
    edge = sheet_mm.astype(np.float32).reshape(-1, 1, 2)
    inside = [cv2.pointPolygonTest(edge, (float(x), float(y)), False) >= 0 for x, y in drawing_mm[::4]]
    return area_mm2(sheet_mm) >= LARGER * area_mm2(drawing_mm) and float(np.mean(inside)) >= MOSTLY_INSIDE


def _is_paper_of(plane: Plane, drawing: Found, sheet_mm: Array) -> bool:
    """Whether most of what was found, but for what touches it, lies on this sheet, and is less than the sheet."""
    on_it, sheet = (mask_of(plane, [one]) > 0 for one in (drawing.outline_mm, sheet_mm))
    larger = float(sheet.sum()) >= LARGER * float(on_it.sum())
    return larger and float((on_it & sheet).sum()) >= MOSTLY_INSIDE * float(on_it.sum())


def _alike(plane: Plane, one: Array, other: Array) -> float:
    """Intersection over union of two outlines (mm)."""
    masks = [mask_of(plane, [outline]) > 0 for outline in (one, other)]
    return agreement(masks[0], masks[1])


def _without_thin_parts(found: Found, plane: Plane, thing: Array) -> Found:
    """What is proposed of a free shape: without the pencils and scraps that touch it. A sure shape stays as it is."""
    if found.sure or found.shape != "free":
        return found
    brush = disc(THIN_MM * plane.px_per_mm)
    mask = mask_of(plane, [found.outline_mm])
    opened = np.asarray(cv2.morphologyEx(mask, cv2.MORPH_OPEN, brush), np.uint8)
    contours, _ = cv2.findContours(opened, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    own = mask_of(plane, [thing])
    parts = [plane.to_mm(np.asarray(one, np.float64).reshape(-1, 2)) for one in contours]
    overlaps = [int((mask_of(plane, [one]) & own).sum()) for one in parts]
    if not overlaps or not max(overlaps):
        return found
    return replace(found, outline_mm=parts[int(np.argmax(overlaps))])


def _why_nothing(card: CardSeen, things: list[Array]) -> str:
    if card.alone is not CardStatus.SURE:
        return card.why or "the card cannot be read surely"
    return UNCLEAR_WHOSE if things else NO_WORK


def _why_other(found: Found, outlines: list[Array], owner: Owner) -> str:
    """A doubt when another work may be the card's, or when the edge found is not that of the thing beside the card, or
    reaches over another.
    """
    if not owner.clear:
        return UNCLEAR_WHOSE
    edge = found.outline_mm.astype(np.float32).reshape(-1, 1, 2)
    for index, outline in enumerate(outlines):
        x, y = outline.mean(axis=0)
        inside = cv2.pointPolygonTest(edge, (float(x), float(y)), False) >= 0
        if inside != (index == owner.thing):
            return UNCLEAR_WHOSE
    return ""
