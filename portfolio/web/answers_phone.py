"""What the screens around an upload ticket show. No answer here has a name: one screen is a phone in plain Wi-Fi."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from portfolio.web.answers import Choice, Note


@dataclass(frozen=True, slots=True)
class PhoneStart:
    """Before a code is made: class and medium of the batch, and under which address the phone reaches this computer."""

    guess: str
    classes: tuple[Choice, ...]
    media: tuple[Choice, ...]
    addresses: tuple[Choice, ...]
    note: Note | None = None
    open_href: str = ""
    """Where the ticket stands that is open already."""


@dataclass(frozen=True, slots=True)
class PhoneCount:
    """What changes while a ticket is open."""

    batch_id: int
    photos: int
    came: str
    lasts: str
    is_open: bool


@dataclass(frozen=True, slots=True)
class PhonePage:
    """The code, large, for the phone's camera; both empty when it is not known any more."""

    about: str
    count: PhoneCount
    address_begins: str
    """The address in letters, up to the code."""
    code: str
    square: Markup
    """The whole address as a QR code: a drawing made here."""


@dataclass(frozen=True, slots=True)
class SendPage:
    """What the phone shows: counts and how long its code lasts."""

    here: str
    """Its own address, without a slash at the end."""
    photos: int
    received: str
    lasts: str
    seconds: int
    photo_max_mb: int
    told: str = ""
    problems: tuple[str, ...] = ()
