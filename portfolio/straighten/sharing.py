"""Do several works share this photo? And which card measures one of them?"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from portfolio.cards.geometry import CONTROLS
from portfolio.model.cards import CardKind, CardSeen, Control
from portfolio.model.photo import WorkOfCard

LEAST: Final = 2


def may_show_several(cards: Sequence[CardSeen]) -> bool:
    """Whether to look for several works: several numbers lie there, and no card that says "group work"."""
    numbers = {card.value for card in cards if card.kind is CardKind.NUMBER}
    group = any(card.kind is CardKind.CONTROL and CONTROLS.get(card.value) is Control.GROUP_WORK for card in cards)
    return len(numbers) >= LEAST and not group


def are_several(works: Sequence[WorkOfCard]) -> bool:
    """Whether at least two cards have a work of their own. Otherwise a card was left in view, or is a group's."""
    return sum(one.straightened.crop is not None for one in works) >= LEAST


def cards_beside(cards: tuple[CardSeen, ...], number: int | None) -> tuple[CardSeen, ...]:
    """The photo's cards without the number cards of other works; all of them when ``number`` is ``None``."""
    return tuple(card for card in cards if number is None or card.kind is not CardKind.NUMBER or card.value == number)
