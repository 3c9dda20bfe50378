"""Several works in one photo, each with its number card: which work belongs to which card, and a crop of each.

A card and a work belong together when each is the other's nearest by far, and the photo shows as many clear things as
cards: where a work is not seen or a scrap lies about, everything in the photo is asked about. All works are found on
the table as the clearest card has it; each is then measured by its own card, in a cell that holds no other work.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray

from portfolio.model.cards import CardKind, CardSeen, CardStatus
from portfolio.model.photo import Straightened, WorkOfCard
from portfolio.straighten.freeform import disc
from portfolio.straighten.ladder import LEAST_PX
from portfolio.straighten.order import Measured, crop_of, cut_and_corrected, measure_by, screen_pixels
from portfolio.straighten.outline import Found, find_outline
from portfolio.straighten.plane import Float, Mask, Plane, cards_on_table
from portfolio.straighten.pose import Array, Pose, card_for_pose, carried
from portfolio.straighten.source import Pixels, Source
from portfolio.straighten.tabletop import UNLIKE

LEAST_WORK_MM2: Final = 9_000.0
"""Smaller things beside a card are scraps, pencils, erasers (the smallest usual work, 4 × 5 in, has 12,900)."""
CLEARLY_NEARER: Final = 1.5
"""The next card or work must be this many times as far away …"""
CLEARLY_NEARER_MM: Final = 10.0
"""… and farther by at least this."""
FARTHEST_MM: Final = 120.0
"""What lies farther from a card is not even guessed to be its work."""
SURE_MM: Final = 40.0
"""A work farther from its card than this is asked about: another one between them may not have been seen."""
_REACH_MM: Final = 260.0
"""How far from its card a small work reaches."""
_OPEN_MM: Final = 4.0
_CELL_MM: Final = 18.0
"""Table kept round a work: enough to see that it ends, less than half of what lies between two works."""

NO_WORK: Final = "no work can be seen beside this card"
UNCLEAR_WHOSE: Final = "it is not clear which work belongs to this card"


@dataclass(frozen=True, slots=True)
class _Owner:
    """Which thing is a card's work, and whether each is the other's nearest by far."""

    thing: int
    clear: bool


def straighten_each(source: Source, cards: tuple[CardSeen, ...]) -> tuple[WorkOfCard, ...]:
    """One crop for each number card of a photo, in the order of the cards. Raises what decoding raises.

    A card that is not whole, a card without a work, a work between two cards and an unclear edge come back with
    ``why``, to be asked about.
    """
    mine = tuple(card for card in cards if card.kind is CardKind.NUMBER)
    if not mine:
        return ()
    screen = screen_pixels(source)
    first = card_for_pose(mine)
    table = measure_by(source, screen, first, cards) if first is not None else None
    if table is None:
        return tuple(WorkOfCard(card, Straightened(()), card.why or NO_WORK) for card in mine)
    cards_mm = [_card_mm(card, table.pose) for card in mine]
    things = _things(table.plane, table.unlike)
    even = len(things) == len(mine)
    for card_mm, owner in zip(cards_mm, _owners(cards_mm, things), strict=True):
        if card_mm is not None and owner is None:
            things += _faint_things(screen, table, card_mm, things, shrink=source.shrink_for(LEAST_PX))
    owners = _owners(cards_mm, things)
    if not even or not all(owner is not None and owner.clear for owner in owners):  # one in doubt may be another's
        owners = [None if owner is None else replace(owner, clear=False) for owner in owners]
    measured = (
        None if owner is None else table if card is first else measure_by(source, screen, card, cards)
        for card, owner in zip(mine, owners, strict=True)
    )
    return tuple(
        _work_of(source, screen, card, owner, own=own, table=table, things=things)
        for card, owner, own in zip(mine, owners, measured, strict=True)
    )


# --- which work belongs to which card ---------------------------------------------------------------------------------


def _things(plane: Plane, unlike: Float) -> list[Array]:
    """Outlines (N × 2, mm of the first card) of everything on the table that is large enough for a work."""
    scale = plane.px_per_mm
    seen = ((unlike > UNLIKE) & plane.usable).astype(np.uint8)
    for how in (cv2.MORPH_OPEN, cv2.MORPH_CLOSE):
        seen = np.asarray(cv2.morphologyEx(seen, how, disc(_OPEN_MM * scale)), np.uint8)
    contours, _ = cv2.findContours(seen, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    large = [one for one in contours if cv2.contourArea(one) >= LEAST_WORK_MM2 * scale**2]
    return [plane.to_mm(np.asarray(one, np.float64).reshape(-1, 2)) for one in large]


def _faint_things(screen: Pixels, table: Measured, card_mm: Array, things: list[Array], *, shrink: int) -> list[Array]:
    """A work near a card that has none yet: nearly the color of the table, so that only its edge can be seen."""
    plane = table.plane
    spot = np.rint(plane.to_px(card_mm)).astype(np.int32)
    reach = np.asarray(cv2.dilate(_filled(plane, [spot]), np.ones((2 * round(_REACH_MM * plane.px_per_mm) + 1,) * 2)))
    known = [np.rint(plane.to_px(thing)).astype(np.int32) for thing in things]
    taken = np.asarray(cv2.dilate(_filled(plane, known), disc(_CELL_MM * plane.px_per_mm)))
    cell, unlike = _part_of(table, (reach > 0) & (taken == 0))
    found = find_outline(screen, cell, table.pose, unlike=unlike, shrink=shrink)
    return [found.outline_mm] if found is not None and _area_mm2(found.outline_mm) >= LEAST_WORK_MM2 else []


def _area_mm2(outline_mm: Array) -> float:
    return float(cv2.contourArea(outline_mm.astype(np.float32)))


def _card_mm(card: CardSeen, pose: Pose) -> Array | None:
    """Corners of a whole card on the table; ``None`` when half of it was not read."""
    if card.left_px is None or card.right_px is None:
        return None
    return cards_on_table((card,), pose)[-1]


def _owners(cards_mm: Sequence[Array | None], things: Sequence[Array]) -> list[_Owner | None]:
    """For each card the thing that is likeliest its work, none given twice; nearest pairs first."""
    away = np.array(
        [[np.inf if card is None else _apart_mm(card, thing) for thing in things] for card in cards_mm]
    ).reshape(len(cards_mm), len(things))
    owners: list[_Owner | None] = [None] * len(cards_mm)
    taken: set[int] = set()
    for flat in np.argsort(away, axis=None):
        card, thing = divmod(int(flat), len(things))
        if owners[card] is None and thing not in taken and away[card, thing] < FARTHEST_MM:
            near = bool(away[card, thing] <= SURE_MM)
            clear = near and _is_clear(away[card], thing) and _is_clear(away[:, thing], card)
            owners[card] = _Owner(thing, clear)
            taken.add(thing)
    return owners


def _is_clear(away: Array, chosen: int) -> bool:
    nearest = float(away[chosen])
    others = np.delete(away, chosen)
    limit = max(CLEARLY_NEARER * nearest, nearest + CLEARLY_NEARER_MM)
    return bool(np.isfinite(nearest)) and (not len(others) or float(others.min()) >= limit)


def _apart_mm(card_mm: Array, thing: Array) -> float:
    """The gap between a card and a thing; 0 when they touch."""
    outline = card_mm.astype(np.float32).reshape(-1, 1, 2)
    points = thing[::2]
    return max(0.0, min(-cv2.pointPolygonTest(outline, (float(x), float(y)), True) for x, y in points))


# --- one work ---------------------------------------------------------------------------------------------------------


def _work_of(
    source: Source,
    screen: Pixels,
    card: CardSeen,
    owner: _Owner | None,
    *,
    own: Measured | None,
    table: Measured,
    things: list[Array],
) -> WorkOfCard:
    """Find the edge of one card's work, as measured by that card, and cut it out."""
    if owner is None or own is None:
        return WorkOfCard(card, Straightened(()), _why_nothing(card, things))
    to_own = np.linalg.inv(own.pose.to_px) @ table.pose.to_px
    outlines = [carried(thing, to_own) for thing in things]
    plane, unlike = _cell(own, outlines, owner.thing)
    found = find_outline(screen, plane, own.pose, unlike=unlike, shrink=source.shrink_for(LEAST_PX))
    if found is None:
        return WorkOfCard(card, Straightened(()), NO_WORK)
    why = "" if card.alone is CardStatus.SURE else card.why
    why = why or _why_other(found, outlines, owner) or found.why
    crop = crop_of(replace(found, sure=not why, why=why), own.pose)
    return WorkOfCard(card, cut_and_corrected(source, screen, crop, measured=own, exact_mm=found.size_mm), why)


def _why_nothing(card: CardSeen, things: list[Array]) -> str:
    if card.alone is not CardStatus.SURE:
        return card.why or "the card cannot be read surely"
    return UNCLEAR_WHOSE if things else NO_WORK


def _cell(own: Measured, outlines: list[Array], owner: int) -> tuple[Plane, Float]:
    """The part of the table that holds one work and no other."""
    plane = own.plane
    spots = [np.rint(plane.to_px(outline)).astype(np.int32) for outline in outlines]
    reach = disc(2 * _CELL_MM * plane.px_per_mm)
    here = np.asarray(cv2.dilate(_filled(plane, [spots[owner]], hull=True), reach), np.uint8)
    others = _filled(plane, [spot for index, spot in enumerate(spots) if index != owner])
    near_others = np.asarray(cv2.dilate(others, disc(0.5 * _CELL_MM * plane.px_per_mm)), np.uint8)
    return _part_of(own, (here > 0) & (near_others == 0))


def _part_of(own: Measured, keep: Mask) -> tuple[Plane, Float]:
    """The smallest part of the table that holds all of ``keep``; nothing else counts as seen."""
    plane = own.plane
    rows, columns = np.nonzero(keep & plane.valid)
    if not len(rows):
        return plane, own.unlike
    part = slice(int(rows.min()), int(rows.max()) + 1), slice(int(columns.min()), int(columns.max()) + 1)
    low = plane.to_mm(np.array([[part[1].start, part[0].start]], np.float64))[0]
    cell = Plane(
        plane.lab[part],
        np.asarray((plane.valid & keep)[part], np.bool_),
        plane.card[part],
        plane.px_per_mm,
        (float(low[0]), float(low[1])),
    )
    return cell, np.asarray(np.where(cell.valid, own.unlike[part], 0), np.float32)


def _filled(plane: Plane, outlines: list[NDArray[np.int32]], *, hull: bool = False) -> NDArray[np.uint8]:
    mask = np.zeros(plane.valid.shape, np.uint8)
    for outline in outlines:
        shape = np.asarray(cv2.convexHull(outline) if hull else outline, np.int32).reshape(-1, 1, 2)
        cv2.fillPoly(mask, [shape], 1)
    return mask


def _why_other(found: Found, outlines: list[Array], owner: _Owner) -> str:
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
