"""The cards that lie in one photo, sorted by what they say, and what is wrong with them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from portfolio.cards.geometry import CONTROLS
from portfolio.model.cards import CardKind, CardSeen, CardStatus, Control, only_sure
from portfolio.model.filing import QuestionKind, Role
from portfolio.model.phrases import listed

ROLES = {
    Control.ANOTHER_VIEW: Role.ANGLE,
    Control.BACK: Role.BACK,
    Control.DETAIL: Role.DETAIL,
    Control.SLIP: Role.SLIP,
}
"""The control cards that say what a photo shows of a work."""


@dataclass(frozen=True, slots=True)
class Doubt:
    """Why something must be asked: the kind and one clause."""

    kind: QuestionKind
    clause: str


@dataclass(frozen=True, slots=True)
class Laid:
    """Cards of one photo by kind."""

    numbers: tuple[CardSeen, ...] = ()
    classes: tuple[CardSeen, ...] = ()
    media: tuple[CardSeen, ...] = ()
    controls: tuple[CardSeen, ...] = ()

    @property
    def is_empty(self) -> bool:
        """No card at all."""
        return not (self.numbers or self.classes or self.media or self.controls)

    @property
    def is_slate(self) -> bool:
        """Only class, medium or control cards: sets or ends a state for the photos that follow."""
        return not self.numbers and not self.is_empty

    @property
    def values(self) -> tuple[int, ...]:
        """The different numbers on number cards, in order."""
        return tuple(sorted({card.value for card in self.numbers}))

    @property
    def sure_controls(self) -> frozenset[Control]:
        """The control words that were read surely."""
        return frozenset(CONTROLS[card.value] for card in only_sure(self.controls) if card.value in CONTROLS)

    @property
    def role(self) -> Role | None:
        """What a control card beside the work says that the photo shows; the first in a fixed order."""
        return next((role for control, role in ROLES.items() if control in self.sure_controls), None)


def laid(cards: Iterable[CardSeen]) -> Laid:
    """Sort the cards of one photo."""
    found = tuple(cards)
    by_kind = {kind: tuple(card for card in found if card.kind is kind) for kind in CardKind}
    return Laid(by_kind[CardKind.NUMBER], by_kind[CardKind.CLASS], by_kind[CardKind.MEDIUM], by_kind[CardKind.CONTROL])


def number_doubt(found: Laid) -> Doubt | None:
    """Why the number (or the group's numbers) may not be used as it is; ``None`` when it may."""
    return _numbers_doubt(found) or _controls_doubt(found)


def _numbers_doubt(found: Laid) -> Doubt | None:
    group = Control.GROUP_WORK in found.sure_controls
    unsure = [card for card in found.numbers if card.status is not CardStatus.SURE]
    if len(found.values) > 1 and not group:
        return Doubt(QuestionKind.TWO_NUMBERS, f"number cards {listed(found.values)} lie in the photo")
    if len(found.numbers) > len(found.values):
        return Doubt(QuestionKind.CARDS_DISAGREE, f"number card {found.values[0]} is seen more than once")
    for card in unsure:
        why = card.why or "it cannot be read surely"
        kind = QuestionKind.HALF_CARD if card.status is CardStatus.CHECK else QuestionKind.CARDS_DISAGREE
        return Doubt(kind, f"number card {card.value}: {why}")
    if group and len(found.numbers) == 1:
        clause = f"the group card lies in the photo, but number card {found.values[0]} is alone"
        return Doubt(QuestionKind.GROUP_OF_ONE, clause)
    return None


def _controls_doubt(found: Laid) -> Doubt | None:
    for card in found.controls:
        if card.status is not CardStatus.SURE:
            kind = QuestionKind.HALF_CARD if card.status is CardStatus.CHECK else QuestionKind.CARDS_DISAGREE
            word = CONTROLS[card.value].value if card.value in CONTROLS else f"control {card.value}"
            return Doubt(kind, f"the card \u201c{word}\u201d: {card.why or 'it cannot be read surely'}")
        if card.value not in CONTROLS:
            return Doubt(QuestionKind.CARDS_DISAGREE, f"control card {card.value} says nothing yet")
    if len(found.sure_controls & ROLES.keys()) > 1:
        words = listed(f"\u201c{control.value}\u201d" for control in ROLES if control in found.sure_controls)
        return Doubt(QuestionKind.CARDS_DISAGREE, f"the cards {words} lie in one photo")
    return None
