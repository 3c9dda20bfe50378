"""Several works in one photo, each with its number card: which work belongs to which card, and a crop of each.

A card and a work belong together when each is the other's nearest by far, and the photo shows as many clear things as
cards: where a work is not seen or a scrap lies about, everything in the photo is asked about. All works are found on
the table as the clearest card has it; each is then measured by its own card, in a cell that holds no other work.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray

from portfolio.model.cards import CardKind, CardSeen, CardStatus
from portfolio.model.photo import Straightened, WorkOfCard
from portfolio.straighten.belonging import (
    SCRAP_MM2,
    SURE_MM,
    Owner,
    apart_mm_of,
    area_mm2,
    in_one_order,
    may_be_scrap,
    owners_of,
    side_of,
    usual_side,
    walked,
)
from portfolio.straighten.evidence import Candidate
from portfolio.straighten.faint import faint_sheets
from portfolio.straighten.freeform import agreement, disc
from portfolio.straighten.ladder import LEAST_PX
from portfolio.straighten.order import Measured, crop_of, cut_and_corrected, look_closer, measure_by, screen_pixels
from portfolio.straighten.outline import NEARLY_TABLE, OTHERS, SHAKEN, UNCLEAR, Found, find_outline
from portfolio.straighten.plane import Float, Mask, Plane, card_on_table
from portfolio.straighten.pose import Array, card_for_pose, carried
from portfolio.straighten.source import Pixels, Source
from portfolio.straighten.tabletop import UNLIKE

LEAST_WORK_MM2: Final = 5_000.0
"""Smaller things beside a card are scraps, pencils, erasers (a cut-out from a sheet of 4 × 6 in may have 6,000)."""
_REACH_MM: Final = 260.0
"""How far from its card a small work reaches."""
_OPEN_MM: Final = 4.0
_THIN_MM: Final = 20.0
"""What is thinner is a pencil or a crayon, not a work."""
_PENCIL_MM2: Final = 400.0
_CLUTTER: Final = 3
"""So many pencils and scraps make a table on which one may touch a work unseen."""
_BRIDGE_MM: Final = 60.0
"""A scrap that joins two works is narrower; hardly a work is."""
_NO_BAY: Final = 0.92
"""Two works that are joined leave a bay between them: they fill less of their hull."""
_CELL_MM: Final = 18.0
"""Table kept round a work: enough to see that it ends, less than half of what lies between two works."""
FAINT_ROUNDS: Final = 3
"""Each faint work that is found may free a work for another card, whose own is then looked for."""
MOSTLY_LOST: Final = 0.6
"""Less than this share of what was seen on the whole table: the thing itself is proposed, to be asked about."""
SAME_THING: Final = {"sheet": 0.8, "free": 0.95}
"""Intersection over union with what is seen on the whole table, below which a close look is asked about. A sheet bears
itself out by its sides; a free shape has nothing else.
"""
LARGER: Final = 1.03
MUCH_LARGER: Final = 1.3
MOSTLY_INSIDE: Final = 0.9
"""A sheet larger than what is seen, with so much of that in it, is the paper that it is drawn on, or lies beyond a line
across it; a scrap is left for something much larger."""

MOSTLY_FREE: Final = 0.8
"""A sheet seen by its sides only may reach so little over what else lies there, or over the margin round that."""

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
    things = _things(table.plane, table.unlike, cards_mm)
    even = len(things) == len(mine)
    things, owners = _with_faint(source, screen, table, cards_mm, things)
    even = even or in_one_order(cards_mm, things, owners)
    if not even or not all(owner is not None and owner.clear for owner in owners):  # one in doubt may be another's
        owners = [None if owner is None else replace(owner, clear=False) for owner in owners]
    scraps = len(things) > sum(owner is not None for owner in owners) or _is_cluttered(table, things)
    measured = (
        None if owner is None else table if card is first else measure_by(source, screen, card, cards)
        for card, owner in zip(mine, owners, strict=True)
    )
    return tuple(
        _work_of(source, screen, card, owner, own=own, table=table, things=things, scraps=scraps, solid=solid)
        for card, owner, own in zip(mine, owners, measured, strict=True)
    )


# --- which work belongs to which card ---------------------------------------------------------------------------------


def _things(plane: Plane, unlike: Float, cards_mm: Sequence[Array | None]) -> list[Array]:
    """Outlines (N × 2, mm of the first card) of everything on the table that is large enough for a work. What may be
    two things is parted when a card is without a work otherwise.
    """
    scale = plane.px_per_mm
    seen = ((unlike > UNLIKE) & plane.usable).astype(np.uint8)
    for how, size_mm in ((cv2.MORPH_OPEN, _OPEN_MM), (cv2.MORPH_CLOSE, _OPEN_MM), (cv2.MORPH_OPEN, _THIN_MM)):
        seen = np.asarray(cv2.morphologyEx(seen, how, disc(size_mm * scale)), np.uint8)
    large = _large(seen, scale)
    whole, parted = (
        [plane.to_mm(np.asarray(one, np.float64).reshape(-1, 2)) for one in some]
        for some in (large, [part for one in large for part in _parted(one, scale)])
    )
    return parted if _without_work(cards_mm, parted) < _without_work(cards_mm, whole) else whole


def _is_cluttered(table: Measured, things: list[Array]) -> bool:
    """Whether pencils and small scraps lie about besides the works."""
    plane, scale = table.plane, table.plane.px_per_mm
    seen = ((table.unlike > UNLIKE) & plane.usable).astype(np.uint8)
    seen[_filled(plane, [_spot(plane, thing) for thing in things]) > 0] = 0
    seen = np.asarray(cv2.morphologyEx(seen, cv2.MORPH_OPEN, disc(_OPEN_MM * scale)), np.uint8)
    contours, _ = cv2.findContours(seen, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    return sum(cv2.contourArea(one) >= _PENCIL_MM2 * scale**2 for one in contours) >= _CLUTTER


def _without_work(cards_mm: Sequence[Array | None], things: list[Array]) -> int:
    """How many cards have nothing near."""
    return sum(owner is None or not owner.near for owner in owners_of(cards_mm, things))


def _large(seen: NDArray[np.uint8], scale: float) -> list[NDArray[np.int32]]:
    """Contours (plane pixels) of all that is large enough for a work."""
    contours, _ = cv2.findContours(seen, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    return [np.asarray(one, np.int32) for one in contours if cv2.contourArea(one) >= LEAST_WORK_MM2 * scale**2]


def _parted(one: NDArray[np.int32], scale: float) -> list[NDArray[np.int32]]:
    """Two works that a scrap between them joins, one by one; else the thing as it is."""
    if cv2.contourArea(one) > _NO_BAY * cv2.contourArea(cv2.convexHull(one)):
        return [one]
    x, y, width, height = cv2.boundingRect(one)
    corner = np.array([x - 1, y - 1], np.int32)
    mask = np.zeros((height + 2, width + 2), np.uint8)
    cv2.fillPoly(mask, [one - corner], 1)
    parts = _large(np.asarray(cv2.morphologyEx(mask, cv2.MORPH_OPEN, disc(_BRIDGE_MM * scale)), np.uint8), scale)
    return [np.asarray(part + corner, np.int32) for part in parts] if len(parts) > 1 else [one]


def _with_faint(
    source: Source, screen: Pixels, table: Measured, cards_mm: Sequence[Array | None], things: list[Array]
) -> tuple[list[Array], list[Owner | None]]:
    """Look for works nearly the color of the table beside the cards that have none near, or only what may be a scrap;
    each that is found may free a work for another card, so it is looked again.
    """
    owners = owners_of(cards_mm, things)
    shrink = source.shrink_for(LEAST_PX)
    doubted: set[int] = set()
    for _ in range(FAINT_ROUNDS):
        usual = usual_side(cards_mm, things, apart_mm_of(cards_mm, things))
        fresh: list[Array] = []
        for index, (card_mm, owner) in enumerate(zip(cards_mm, owners, strict=True)):
            if card_mm is None or index in doubted:
                continue
            if owner is None or not owner.near:
                doubted |= {index} if owner is not None else set()
                things, taken_out = _with_sheet_out(screen, table, card_mm, things, usual=usual, shrink=shrink)
                fresh += taken_out
                if taken_out:
                    continue
                fresh += _beside(screen, table, card_mm, things + fresh, usual=usual, shrink=shrink)
            elif may_be_scrap(card_mm, things[owner.thing], usual):
                doubted.add(index)
                others = [one for place, one in enumerate(things) if place != owner.thing] + fresh
                least = MUCH_LARGER * area_mm2(things[owner.thing])
                seen = _beside(screen, table, card_mm, others, usual=usual, shrink=shrink)
                fresh += [one for one in seen if area_mm2(one) >= least]
        if not fresh:
            break
        things = things + fresh
        owners = owners_of(cards_mm, things)
    return things, owners


def _beside(
    screen: Pixels, table: Measured, card_mm: Array, things: list[Array], *, usual: int | None, shrink: int
) -> list[Array]:
    """Faint works near a card: all round it, then where the other works lie; then any sheet whose sides can be seen."""
    seen = _faint_things(screen, table, card_mm, things, side=None, shrink=shrink)
    if usual is not None and not any(side_of(card_mm, one) == usual for one in seen):
        seen += _faint_things(screen, table, card_mm, things + seen, side=usual, shrink=shrink)
    if all(may_be_scrap(card_mm, one, usual) for one in seen):
        seen += _sheets_by_edge(screen, table, card_mm, things, usual=usual, shrink=shrink)
    return seen


def _with_sheet_out(
    screen: Pixels, table: Measured, card_mm: Array, things: list[Array], *, usual: int | None, shrink: int
) -> tuple[list[Array], list[Array]]:
    """A sheet beside the card that is part of a larger thing (another work, joined to it by scraps): the things with
    what is left of that one, and the sheet; or the same things and nothing.
    """
    away = apart_mm_of([card_mm], things)[0] if things else np.array([np.inf])
    nearest = int(np.argmin(away))
    if away[nearest] > SURE_MM or area_mm2(things[nearest]) < 2 * SCRAP_MM2:
        return things, []
    others = [one for place, one in enumerate(things) if place != nearest]
    for sheet in _sheets_by_edge(screen, table, card_mm, others, usual=usual, shrink=shrink):
        left = _left_of(table.plane, things[nearest], sheet)
        if left is not None:
            return [left if place == nearest else one for place, one in enumerate(things)], [sheet]
    return things, []


def _left_of(plane: Plane, thing: Array, sheet: Array) -> Array | None:
    """What else than the sheet a thing is; ``None`` when the sheet is no part of it, or nothing as large as a work is
    left.
    """
    whole, part = (_filled(plane, [_spot(plane, one)]) for one in (thing, sheet))
    if float((whole & part).sum()) < MOSTLY_INSIDE * float(part.sum()):
        return None
    grown = np.asarray(cv2.dilate(part, disc(_OPEN_MM * plane.px_per_mm)), np.uint8)
    rest = np.asarray(cv2.morphologyEx(whole & (1 - grown), cv2.MORPH_OPEN, disc(_THIN_MM * plane.px_per_mm)), np.uint8)
    large = sorted(_large(rest, plane.px_per_mm), key=cv2.contourArea)
    return plane.to_mm(np.asarray(large[-1], np.float64).reshape(-1, 2)) if large else None


def _sheets_by_edge(
    screen: Pixels, table: Measured, card_mm: Array, things: list[Array], *, usual: int | None, shrink: int
) -> list[Array]:
    """The likeliest sheet near a card, and at the usual side of it, of which color says nothing."""
    keep = _room_free(table.plane, card_mm, things, usual)
    seen: list[Candidate] = []
    for cell, unlike in (_part_of(screen, table, keep, shrink=shrink), _coarse_part_of(table, keep)):
        seen += faint_sheets(screen, cell, table.pose, unlike=unlike, shrink=shrink)
    for sheet in sorted(seen, key=lambda sheet: -sheet.likely_by_edge):
        outline = walked(sheet.fitted.corners_mm)
        here = _filled(table.plane, [_spot(table.plane, outline)]) > 0
        near = apart_mm_of([card_mm], [outline])[0, 0] <= SURE_MM
        free = float((here & keep).sum()) >= MOSTLY_FREE * float(here.sum())
        if near and free and area_mm2(outline) >= LEAST_WORK_MM2 and not may_be_scrap(card_mm, outline, usual):
            return [outline]
    return []


def _faint_things(
    screen: Pixels, table: Measured, card_mm: Array, things: list[Array], *, side: int | None, shrink: int
) -> list[Array]:
    """A work near a card that has none yet: nearly the color of the table, so that only its edge can be seen. It is
    looked for at this ``side`` of the card, or (``None``) all round.
    """
    keep = _room_free(table.plane, card_mm, things, side)
    for cell, unlike in (_part_of(screen, table, keep, shrink=shrink), _coarse_part_of(table, keep)):
        found = find_outline(screen, cell, table.pose, unlike=unlike, shrink=shrink)
        if found is not None and area_mm2(found.outline_mm) >= LEAST_WORK_MM2:
            return [walked(found.outline_mm)]
    return []


def _room_free(plane: Plane, card_mm: Array, things: list[Array], side: int | None) -> Mask:
    """Where a work of this card may lie, at a ``side`` of it or all round, that holds none of the things."""
    spot = _spot(plane, _room_beside(card_mm, side))
    grown = 1 if side is not None else 2 * round(_REACH_MM * plane.px_per_mm) + 1
    reach = np.asarray(cv2.dilate(_filled(plane, [spot]), np.ones((grown, grown))))
    known = [_spot(plane, thing) for thing in things]
    taken = np.asarray(cv2.dilate(_filled(plane, known), disc(_CELL_MM * plane.px_per_mm)))
    return np.asarray((reach > 0) & (taken == 0), np.bool_)


def _room_beside(card_mm: Array, side: int | None) -> Array:
    """Where a work at this side of the card may lie (4 corners, mm): as wide as works reach, centered on the card."""
    if side is None:
        return card_mm
    middle = card_mm.mean(axis=0)
    across, down = (card_mm[1] - card_mm[0]) / 2, (card_mm[3] - card_mm[0]) / 2
    out, along = ((across, down), (down, across), (-across, down), (-down, across))[side]
    forth, wide = out / np.linalg.norm(out), along / np.linalg.norm(along) * _REACH_MM * 0.75
    near, far = middle + out, middle + out + forth * _REACH_MM
    return np.array([near - wide, near + wide, far + wide, far - wide])


# --- one work ---------------------------------------------------------------------------------------------------------


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
    near = disc(2 * _CELL_MM * own.plane.px_per_mm)
    shrink = source.shrink_for(LEAST_PX)
    plane, unlike = _cell(screen, own, outlines, owner.thing, brush=near, shrink=shrink, hull=True)
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
    grown = np.ones((2 * round(_REACH_MM / 2 * own.plane.px_per_mm) + 1,) * 2, np.uint8)
    cell, unlike = _cell(screen, own, outlines, thing, brush=grown, shrink=shrink)
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
    on_it, sheet = (_filled(plane, [_spot(plane, one)]) > 0 for one in (drawing.outline_mm, sheet_mm))
    larger = float(sheet.sum()) >= LARGER * float(on_it.sum())
    return larger and float((on_it & sheet).sum()) >= MOSTLY_INSIDE * float(on_it.sum())


def _alike(plane: Plane, one: Array, other: Array) -> float:
    """Intersection over union of two outlines (mm)."""
    masks = [_filled(plane, [_spot(plane, outline)]) > 0 for outline in (one, other)]
    return agreement(masks[0], masks[1])


def _without_thin_parts(found: Found, plane: Plane, thing: Array) -> Found:
    """What is proposed of a free shape: without the pencils and scraps that touch it. A sure shape stays as it is."""
    if found.sure or found.shape != "free":
        return found
    brush = disc(_THIN_MM * plane.px_per_mm)
    mask = _filled(plane, [_spot(plane, found.outline_mm)])
    opened = np.asarray(cv2.morphologyEx(mask, cv2.MORPH_OPEN, brush), np.uint8)
    contours, _ = cv2.findContours(opened, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    own = _filled(plane, [_spot(plane, thing)])
    overlaps = [int((_filled(plane, [np.asarray(one, np.int32)]) & own).sum()) for one in contours]
    if not overlaps or not max(overlaps):
        return found
    best = np.asarray(contours[int(np.argmax(overlaps))], np.float64).reshape(-1, 2)
    return replace(found, outline_mm=plane.to_mm(best))


def _why_nothing(card: CardSeen, things: list[Array]) -> str:
    if card.alone is not CardStatus.SURE:
        return card.why or "the card cannot be read surely"
    return UNCLEAR_WHOSE if things else NO_WORK


def _cell(
    screen: Pixels,
    own: Measured,
    outlines: list[Array],
    thing: int,
    *,
    brush: NDArray[np.uint8],
    shrink: int,
    hull: bool = False,
) -> tuple[Plane, Float]:
    """The part of the table round one work (round its ``hull``), as far as the brush reaches, that holds no other."""
    plane = own.plane
    spots = [_spot(plane, outline) for outline in outlines]
    here = np.asarray(cv2.dilate(_filled(plane, [spots[thing]], hull=hull), brush))
    others = _filled(plane, [spot for index, spot in enumerate(spots) if index != thing])
    near_others = np.asarray(cv2.dilate(others, disc(0.5 * _CELL_MM * plane.px_per_mm)))
    return _part_of(screen, own, (here > 0) & (near_others == 0), shrink=shrink)


def _spot(plane: Plane, outline_mm: Array) -> NDArray[np.int32]:
    """An outline in whole pixels of the table seen from above."""
    return np.asarray(np.rint(plane.to_px(outline_mm)), np.int32)


def _part_of(screen: Pixels, own: Measured, keep: Mask, *, shrink: int) -> tuple[Plane, Float]:
    """The smallest part of the table that holds all of ``keep``, looked at closely; nothing else counts as seen."""
    plane = own.plane
    rows, columns = np.nonzero(keep & plane.valid)
    if not len(rows):
        return plane, own.unlike
    low, high = plane.to_mm(np.array([[columns.min(), rows.min()], [columns.max() + 1, rows.max() + 1]], np.float64))
    close, unlike = look_closer(screen, own, low, high, shrink=shrink)
    scale = plane.px_per_mm / close.px_per_mm
    shift_x, shift_y = plane.to_px(np.array([close.origin_mm]))[0]
    to_coarse = np.array([[scale, 0, shift_x], [0, scale, shift_y]])
    size, how = (close.valid.shape[1], close.valid.shape[0]), cv2.INTER_NEAREST | cv2.WARP_INVERSE_MAP
    kept = np.asarray(cv2.warpAffine(keep.astype(np.uint8), to_coarse, size, flags=how)) > 0
    part = replace(close, valid=np.asarray(close.valid & kept, np.bool_))
    return part, np.asarray(np.where(part.valid, unlike, 0), np.float32)


def _coarse_part_of(own: Measured, keep: Mask) -> tuple[Plane, Float]:
    """The whole table as it was seen first, of which only ``keep`` counts: fine lines of a mat are not seen in it."""
    cell = replace(own.plane, valid=np.asarray(own.plane.valid & keep, np.bool_))
    return cell, np.asarray(np.where(cell.valid, own.unlike, 0), np.float32)


def _filled(plane: Plane, outlines: list[NDArray[np.int32]], *, hull: bool = False) -> NDArray[np.uint8]:
    mask = np.zeros(plane.valid.shape, np.uint8)
    for outline in outlines:
        shape = np.asarray(cv2.convexHull(outline) if hull else outline, np.int32).reshape(-1, 1, 2)
        cv2.fillPoly(mask, [shape], 1)
    return mask


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
