"""Which cards lie in the photo, and how far each may be trusted.

A card is *sure* only when both its tags are seen, carry matching ids and fit one flat card. One tag alone is *check*.
Tags that contradict each other, or two cards that contradict each other, are *conflict*. Nothing is ever guessed:
an id that means nothing is as if it were not there.

The search goes from coarse to fine and stops at the first picture that holds only whole cards and no square that looks
like a blurred tag of one more. When a card may still be missing and the photo was clearly shaken, the shake is undone
and only whole cards are taken from what comes out.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations
from typing import Final, Protocol

import cv2
import numpy as np
from numpy.typing import NDArray

from portfolio.cards.geometry import (
    CONTROLS,
    Side,
    TagMeaning,
    card_of_tag,
    tag_corners,
)
from portfolio.model.cards import CardKind, CardSeen, CardStatus, Control
from portfolio.reading.shake import Shake, shakes_of, steadied
from portfolio.reading.tags import Gray, Quad, Tag, find_tags, find_tags_again, find_tags_and_squares, full_px, joined
from portfolio.reading.unread import is_at, unread_tags

MAX_MISFIT: Final = 0.08
"""Both tags must fit one flat card within this share of a tag's side (measured: real pairs stay below 0.04)."""

COARSE_PX: Final = 960
"""Long side of the first, cheapest look: a quarter of a 12-megapixel photo."""
FINE_PX: Final = 1900
"""Long side of the second look, and of the second reader's."""
STEADY_PX: Final = 1650
"""Long side of the picture in which a shake is undone: at most twice this, so that it stays within 200 MB."""
UNREAD: Final = "another card may lie there that cannot be read"
LEAST_SIDE_PX: Final = 24
"""Smaller pictures hold no card, and the second reader crashes on a picture of one pixel."""
FULL_LOOK_SHRINK: Final = 4
"""Photos that are larger than this many times the fine look are not searched at full size: the time is not worth it."""


Look = tuple[tuple[Tag, ...], tuple[Quad, ...]]
"""Tags, and squares that look like a tag that could not be read; in pixels of the full photo."""


class Grayscale(Protocol):
    """What the search needs of a photo: its brightness at a scale (see :class:`portfolio.reading.opening.Picture`)."""

    def shrink_for(self, least_px: int) -> int:
        """The largest shrink factor that leaves the long side at least this long."""

    def gray(self, shrink: int = 1) -> NDArray[np.uint8]:
        """H × W brightness, shrunk."""


def find_cards(picture: Grayscale, *, undo_shake: bool = True) -> tuple[CardSeen, ...]:
    """All cards in an upright photo, left to right. Corners are pixels of the full photo."""
    if min(picture.gray(picture.shrink_for(COARSE_PX)).shape) < LEAST_SIDE_PX:
        return ()
    tags: tuple[Tag, ...] = ()
    unread: tuple[Quad, ...] = ()
    for found, squares in _looks(picture):
        tags = joined(tags, found)
        unread = _not_at((*unread, *squares), tags)
        if tags and not unread and _are_whole_cards(tags):
            break
    added: tuple[Tag, ...] = ()
    if undo_shake and (unread or _may_miss_cards(tags)):
        added = _whole_cards_when_steadied(picture, known=tags)
    cards = judge(tags + added)
    if _not_at(unread, added):
        cards = tuple(_doubted(card) for card in cards)
    corners = {tag.corners_px for tag in added}
    return tuple(replace(card, shaken=True) if corners & {card.left_px, card.right_px} else card for card in cards)


def _doubted(card: CardSeen) -> CardSeen:
    """A card beside which another may lie that could not be read: the photo may not be of this number's work only."""
    if card.status is not CardStatus.SURE:
        return card
    return replace(card, status=CardStatus.CHECK, why=UNREAD, by_itself=card.status)


def _not_at(squares: tuple[Quad, ...], tags: tuple[Tag, ...]) -> tuple[Quad, ...]:
    """The squares (full photo) in whose place no tag was read."""
    known = [np.asarray(tag.corners_px) for tag in tags]
    return tuple(square for square in squares if not is_at(square, known))


def _looks(picture: Grayscale) -> Iterator[Look]:
    """Coarse, fine, second reader at both, full size. A card cut by the frame never gets the last, dearest look.

    The second reader looks at the coarse picture too: shrinking takes out motion blur that hides a tag at finer scales.
    """
    coarse, fine = picture.shrink_for(COARSE_PX), picture.shrink_for(FINE_PX)
    first = _first_look(picture, coarse)
    seen = first[0]
    yield first
    if fine != coarse:
        first = _first_look(picture, fine)
        seen = joined(seen, first[0])
        yield first
        again = find_tags_again(picture.gray(coarse), factor=coarse)
        seen = joined(seen, again)
        yield again, ()
    again = find_tags_again(picture.gray(fine), factor=fine)
    yield again, ()
    if 1 < fine <= FULL_LOOK_SHRINK and not joined(seen, again):
        yield find_tags(picture.gray(1), factor=1), ()


def _first_look(picture: Grayscale, shrink: int) -> Look:
    gray = picture.gray(shrink)
    tags, squares = find_tags_and_squares(gray, factor=shrink)
    return tags, tuple(full_px(square, shrink) for square in unread_tags(gray, squares, tags, factor=shrink))


def _are_whole_cards(tags: tuple[Tag, ...]) -> bool:
    return len(tags) % 2 == 0 and all(card.status is CardStatus.SURE for card in _pairs(tags))


def _may_miss_cards(tags: tuple[Tag, ...]) -> bool:
    """Nothing or half a card is seen; or several numbers, so that one work's card may be missing among the others'."""
    numbers = sum(card.kind is CardKind.NUMBER for card in _pairs(tags))
    return not tags or numbers > 1 or not _are_whole_cards(tags)


def _whole_cards_when_steadied(picture: Grayscale, *, known: tuple[Tag, ...]) -> tuple[Tag, ...]:
    """What the first of the likely shakes, undone, adds to the known tags; nothing for a photo that is not shaken."""
    shrink = picture.shrink_for(STEADY_PX)
    gray = picture.gray(shrink)
    for shake in _guesses(picture, gray, shrink):
        steady = steadied(gray, shake)
        seen = joined(find_tags(steady, factor=shrink), find_tags_again(steady, factor=shrink))
        if added := _completing(known, seen):
            return added
    return ()


def _guesses(picture: Grayscale, gray: Gray, shrink: int) -> Iterator[Shake]:
    """The lines along which the picture may be smeared, in pixels of ``gray``. Where noise or defocus hides the line,
    a smaller picture may still show it.
    """
    yield from shakes_of(gray)
    coarse = picture.shrink_for(COARSE_PX)
    if coarse > shrink:
        yield from (shake.times(coarse / shrink) for shake in shakes_of(picture.gray(coarse)))


def _completing(known: tuple[Tag, ...], seen: tuple[Tag, ...]) -> tuple[Tag, ...]:
    """Those of the seen tags that make a card whole which was not. A card already whole is never seen twice by this:
    undoing the wrong shake leaves copies beside things.
    """
    before = {(card.kind, card.value) for card in _pairs(known) if card.status is CardStatus.SURE}
    both = joined(known, seen)
    now = [card for card in _pairs(both) if card.status is CardStatus.SURE and (card.kind, card.value) not in before]
    corners = {tag_px for card in now for tag_px in (card.left_px, card.right_px)}
    return tuple(tag for tag in both[len(known) :] if tag.corners_px in corners)


def judge(tags: tuple[Tag, ...]) -> tuple[CardSeen, ...]:
    """From tags to cards: pairs, single tags and contradictions, left to right."""
    cards = _contradicted(_pairs(tags))
    return tuple(sorted(cards, key=lambda card: (card.left_px or card.right_px or ((0.0, 0.0),))[0]))


def _pairs(tags: tuple[Tag, ...]) -> list[CardSeen]:
    """Match every left tag with a right tag of the same card that fits best; what is left over stands alone."""
    sides: dict[Side, list[Tag]] = {side: [tag for tag in tags if _meaning(tag).side is side] for side in Side}
    fits = sorted(
        (
            (misfit(left, right), left, right)
            for left in sides[Side.LEFT]
            for right in sides[Side.RIGHT]
            if _meaning(left)[:2] == _meaning(right)[:2]
        ),
        key=lambda fit: fit[0],
    )
    cards, used = [], set[Tag]()
    for fit, left, right in fits:
        if left not in used and right not in used:
            used |= {left, right}
            cards.append(_card(left, right, fits=fit <= MAX_MISFIT))
    alone = [tag for tag in tags if tag not in used]
    crossed = _crossed(alone)
    return cards + [_single(tag, contradicted=tag in crossed) for tag in alone]


def _card(left: Tag, right: Tag, *, fits: bool) -> CardSeen:
    kind, value, _ = _meaning(left)
    status = CardStatus.SURE if fits else CardStatus.CONFLICT
    why = "" if fits else "the two halves of the card do not lie in one plane"
    return CardSeen(kind, value, status, left.corners_px, right.corners_px, why)


def _single(tag: Tag, *, contradicted: bool) -> CardSeen:
    kind, value, side = _meaning(tag)
    left_px, right_px = (tag.corners_px, None) if side is Side.LEFT else (None, tag.corners_px)
    if contradicted:
        return CardSeen(
            kind,
            value,
            CardStatus.CONFLICT,
            left_px,
            right_px,
            "the two halves of the card do not match",
        )
    return CardSeen(
        kind,
        value,
        CardStatus.CHECK,
        left_px,
        right_px,
        f"only the {side} half of the card can be seen",
    )


def _crossed(alone: list[Tag]) -> set[Tag]:
    """Single tags that would make one card by their place, but carry different values."""
    crossed = set[Tag]()
    for one, other in combinations(alone, 2):
        left, right = (one, other) if _meaning(one).side is Side.LEFT else (other, one)
        if (_meaning(left).side, _meaning(right).side) == (
            Side.LEFT,
            Side.RIGHT,
        ) and misfit(left, right) <= MAX_MISFIT:
            crossed |= {one, other}
    return crossed


def _contradicted(cards: list[CardSeen]) -> list[CardSeen]:
    """Two cards of one kind contradict each other, unless the group card says that several children are meant."""
    group = any(
        card.kind is CardKind.CONTROL
        and CONTROLS.get(card.value) is Control.GROUP_WORK
        and card.status is CardStatus.SURE
        for card in cards
    )
    seen: list[CardSeen] = []
    for card in cards:
        others = [other for other in cards if other is not card and other.kind is card.kind]
        same = any(other.value == card.value for other in others)
        allowed = card.kind is CardKind.CONTROL or (card.kind is CardKind.NUMBER and group)
        if same or (others and not allowed):
            why = card.why or ("the same card can be seen twice" if same else f"another {card.kind} card can be seen")
            by_itself = None if same else card.status
            seen.append(replace(card, status=CardStatus.CONFLICT, why=why, by_itself=by_itself))
        else:
            seen.append(card)
    return seen


def misfit(left: Tag, right: Tag) -> float:
    """How badly two tags fit one flat card: the largest corner error over the mean tag side. 0 is perfect."""
    card_mm = np.array([*tag_corners(Side.LEFT), *tag_corners(Side.RIGHT)], np.float64)
    seen_px = np.array([*left.corners_px, *right.corners_px], np.float64)
    homography, _ = cv2.findHomography(card_mm, seen_px, 0)
    if homography is None:
        return float("inf")
    fitted = cv2.perspectiveTransform(card_mm[None], homography)[0]
    error = float(np.linalg.norm(fitted - seen_px, axis=1).max())
    return error / ((left.side_px + right.side_px) / 2)


def _meaning(tag: Tag) -> TagMeaning:
    meaning = card_of_tag(tag.id)
    if meaning is None:
        raise ValueError(f"tag {tag.id} belongs to nothing")
    return meaning
