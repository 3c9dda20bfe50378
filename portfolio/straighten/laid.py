"""What lies on the table of a photo with several number cards, and which of it is whose work."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray

from portfolio.straighten.belonging import (
    SCRAP_MM2,
    SURE_MM,
    Owner,
    apart_mm_of,
    area_mm2,
    may_be_scrap,
    owners_of,
    side_of,
    usual_side,
    walked,
)
from portfolio.straighten.cells import CELL_MM, coarse_part_of, mask_of, part_of
from portfolio.straighten.evidence import Candidate
from portfolio.straighten.faint import faint_sheets
from portfolio.straighten.freeform import disc
from portfolio.straighten.ladder import LEAST_PX
from portfolio.straighten.order import Measured
from portfolio.straighten.outline import find_outline
from portfolio.straighten.plane import Float, Mask, Plane
from portfolio.straighten.pose import Array
from portfolio.straighten.source import Pixels, Source
from portfolio.straighten.tabletop import UNLIKE

LEAST_WORK_MM2: Final = 5_000.0
"""Smaller things beside a card are scraps, pencils, erasers (a cut-out from a sheet of 4 × 6 in may have 6,000)."""
REACH_MM: Final = 260.0
"""How far from its card a small work reaches."""
OPEN_MM: Final = 4.0
THIN_MM: Final = 20.0
"""What is thinner is a pencil or a crayon, not a work."""
_PENCIL_MM2: Final = 400.0
_CLUTTER: Final = 3
"""So many pencils and scraps make a table on which one may touch a work unseen."""
_BRIDGE_MM: Final = 60.0
"""A scrap that joins two works is narrower; hardly a work is."""
_NO_BAY: Final = 0.92
"""Two works that are joined leave a bay between them: they fill less of their hull."""
FAINT_ROUNDS: Final = 3
"""Each faint work that is found may free a work for another card, whose own is then looked for."""
MUCH_LARGER: Final = 1.3
"""What may be a scrap is left for something so many times as large."""
MOSTLY_FREE: Final = 0.8
"""A sheet seen by its sides only may reach so little over what else lies there, or over the margin round that."""
MOSTLY_INSIDE: Final = 0.9
"""A sheet with so much of itself within a thing is a part of it; one with so much of a thing within it, its paper."""


def things_on(plane: Plane, unlike: Float, cards_mm: Sequence[Array | None]) -> list[Array]:
    """Outlines (N × 2, mm of the first card) of everything on the table that is large enough for a work. What may be
    two things is parted when a card is without a work otherwise.
    """
    scale = plane.px_per_mm
    seen = ((unlike > UNLIKE) & plane.usable).astype(np.uint8)
    for how, size_mm in ((cv2.MORPH_OPEN, OPEN_MM), (cv2.MORPH_CLOSE, OPEN_MM), (cv2.MORPH_OPEN, THIN_MM)):
        seen = np.asarray(cv2.morphologyEx(seen, how, disc(size_mm * scale)), np.uint8)
    large = _large(seen, scale)
    whole, parted = (
        [plane.to_mm(np.asarray(one, np.float64).reshape(-1, 2)) for one in some]
        for some in (large, [part for one in large for part in _parted(one, scale)])
    )
    return parted if _without_work(cards_mm, parted) < _without_work(cards_mm, whole) else whole


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


def is_cluttered(table: Measured, things: list[Array]) -> bool:
    """Whether pencils and small scraps lie about besides the works."""
    plane, scale = table.plane, table.plane.px_per_mm
    seen = ((table.unlike > UNLIKE) & plane.usable).astype(np.uint8)
    seen[mask_of(plane, things) > 0] = 0
    seen = np.asarray(cv2.morphologyEx(seen, cv2.MORPH_OPEN, disc(OPEN_MM * scale)), np.uint8)
    contours, _ = cv2.findContours(seen, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    return sum(cv2.contourArea(one) >= _PENCIL_MM2 * scale**2 for one in contours) >= _CLUTTER


def with_faint(
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
                if owner is not None:
                    doubted.add(index)
                things, sheet = _with_sheet_out(screen, table, card_mm, things, usual=usual, shrink=shrink)
                fresh += sheet or _beside(screen, table, card_mm, things + fresh, usual=usual, shrink=shrink)
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


def _faint_things(
    screen: Pixels, table: Measured, card_mm: Array, things: list[Array], *, side: int | None, shrink: int
) -> list[Array]:
    """A work near a card that has none yet: nearly the color of the table, so that only its edge can be seen. It is
    looked for at this ``side`` of the card, or (``None``) all round.
    """
    keep = _room_free(table.plane, card_mm, things, side)
    for cell, unlike in (part_of(screen, table, keep, shrink=shrink), coarse_part_of(table, keep)):
        found = find_outline(screen, cell, table.pose, unlike=unlike, shrink=shrink)
        if found is not None and area_mm2(found.outline_mm) >= LEAST_WORK_MM2:
            return [walked(found.outline_mm)]
    return []


def _sheets_by_edge(
    screen: Pixels, table: Measured, card_mm: Array, things: list[Array], *, usual: int | None, shrink: int
) -> list[Array]:
    """The likeliest sheet near a card, and at the usual side of it, of which color says nothing."""
    keep = _room_free(table.plane, card_mm, things, usual)
    seen: list[Candidate] = []
    for cell, unlike in (part_of(screen, table, keep, shrink=shrink), coarse_part_of(table, keep)):
        seen += faint_sheets(screen, cell, table.pose, unlike=unlike, shrink=shrink)
    for sheet in sorted(seen, key=lambda sheet: -sheet.likely_by_edge):
        outline = walked(sheet.fitted.corners_mm)
        here = mask_of(table.plane, [outline]) > 0
        near = apart_mm_of([card_mm], [outline])[0, 0] <= SURE_MM
        free = float((here & keep).sum()) >= MOSTLY_FREE * float(here.sum())
        if near and free and area_mm2(outline) >= LEAST_WORK_MM2 and not may_be_scrap(card_mm, outline, usual):
            return [outline]
    return []


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
    whole, part = (mask_of(plane, [one]) for one in (thing, sheet))
    if float((whole & part).sum()) < MOSTLY_INSIDE * float(part.sum()):
        return None
    grown = np.asarray(cv2.dilate(part, disc(OPEN_MM * plane.px_per_mm)), np.uint8)
    rest = np.asarray(cv2.morphologyEx(whole & (1 - grown), cv2.MORPH_OPEN, disc(THIN_MM * plane.px_per_mm)), np.uint8)
    large = sorted(_large(rest, plane.px_per_mm), key=cv2.contourArea)
    return plane.to_mm(np.asarray(large[-1], np.float64).reshape(-1, 2)) if large else None


def _room_free(plane: Plane, card_mm: Array, things: list[Array], side: int | None) -> Mask:
    """Where a work of this card may lie, at a ``side`` of it or all round, that holds none of the things."""
    grown = 1 if side is not None else 2 * round(REACH_MM * plane.px_per_mm) + 1
    reach = np.asarray(cv2.dilate(mask_of(plane, [_room_beside(card_mm, side)]), np.ones((grown, grown))))
    taken = np.asarray(cv2.dilate(mask_of(plane, things), disc(CELL_MM * plane.px_per_mm)))
    return np.asarray((reach > 0) & (taken == 0), np.bool_)


def _room_beside(card_mm: Array, side: int | None) -> Array:
    """Where a work at this side of the card may lie (4 corners, mm): as wide as works reach, centered on the card."""
    if side is None:
        return card_mm
    middle = card_mm.mean(axis=0)
    across, down = (card_mm[1] - card_mm[0]) / 2, (card_mm[3] - card_mm[0]) / 2
    out, along = ((across, down), (down, across), (-across, down), (-down, across))[side]
    forth, wide = out / np.linalg.norm(out), along / np.linalg.norm(along) * REACH_MM * 0.75
    near, far = middle + out, middle + out + forth * REACH_MM
    return np.array([near - wide, near + wide, far + wide, far - wide])
