"""What earlier cards have set for the photos that follow, for one camera: like a slate in film."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime

from portfolio.cards.geometry import CONTROLS
from portfolio.filing.laid import ROLES, Laid
from portfolio.model.cards import CardSeen, Control, only_sure
from portfolio.model.filing import Filing, Role
from portfolio.model.phrases import listed


@dataclass(frozen=True, slots=True)
class Before:
    """The photo before: what it showed, so far as it is known, and when."""

    photo_id: int
    filing: Filing
    at: datetime | None
    filed: bool
    crop_hash: int | None = None


@dataclass(frozen=True, slots=True)
class Stream:
    """The state of one camera's row of photos."""

    class_id: int | None = None
    unclear_class: int | None = None
    """A class card came that could not be trusted: its class if it was half read, else 0. The class before it is
    over in any case."""
    set_on: date | None = None
    begun_at: datetime | None = None
    """When the class card lay there."""
    last_at: datetime | None = None
    """When the class was last used; a class card does not hold across a long gap."""
    medium_id: int | None = None
    medium_set: bool = False
    role: Role | None = None
    """Set by a control card that lay alone."""
    group: bool = False
    before: Before | None = None
    loose: bool = False
    """A photo without any card came after ``before``."""


ClassOf = Callable[[int], int | None]


def after_class_cards(
    stream: Stream, cards: tuple[CardSeen, ...], *, class_of: ClassOf, on: date | None, at: datetime | None
) -> Stream:
    """Class cards begin a new class; medium and control words of the class before end with it."""
    if not cards:
        return stream
    trusted = only_sure(cards)
    known = class_of(trusted[0].value) if len(trusted) == 1 and len(cards) == 1 else None
    half = class_of(cards[0].value) if len(cards) == 1 else None
    begun = Stream(class_id=known, set_on=on, begun_at=at, last_at=at, before=stream.before)
    return begun if known is not None else replace(begun, unclear_class=half or 0)


def after_slate(
    stream: Stream,
    found: Laid,
    *,
    class_of: ClassOf,
    medium_cards: Mapping[int, int],
    on: date | None,
    at: datetime | None,
) -> Stream:
    """The state behind a photo that holds only class, medium and control cards."""
    stream = after_class_cards(stream, found.classes, class_of=class_of, on=on, at=at)
    if found.media:
        trusted = only_sure(found.media)
        known = medium_cards.get(trusted[0].value) if len(trusted) == 1 and len(found.media) == 1 else None
        stream = replace(stream, medium_id=known, medium_set=True)
    if found.controls:
        words = found.sure_controls
        role = next((ROLES[word] for word in ROLES if word in words), None)
        stream = replace(stream, role=role, group=Control.GROUP_WORK in words)
        if Control.END_OF_CLASS in words:
            stream = Stream(before=None)
    return stream


def slate_sentence(found: Laid, stream: Stream, *, labels: Mapping[int, str]) -> str:
    """What a slate set or ended, for the teacher."""
    told: list[str] = []
    if found.classes:
        told.append(_class_words(stream, labels=labels))
    if found.media:
        clear = stream.medium_id is not None
        told.append("sets the medium for the photos that follow" if clear else "a medium card that is not clear")
    trusted = only_sure(found.controls)
    words = [f"\u201c{CONTROLS[card.value].value}\u201d" for card in trusted if card.value in CONTROLS]
    if words:
        told.append(f"the card {listed(words)} for what comes before or after it")
    if len(trusted) < len(found.controls):
        told.append("a control card that cannot be read surely")
    return f"Holds no number card: {'; '.join(told) or 'a card that says nothing yet'}."


def _class_words(stream: Stream, *, labels: Mapping[int, str]) -> str:
    if stream.class_id is not None:
        return f"the class card of {labels.get(stream.class_id, 'a class')} begins that class"
    return "a class card that is not clear, so the class before it is over"
