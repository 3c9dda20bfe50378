"""What the teacher sees of signed-in browsers, reflection stations and helpers."""

from __future__ import annotations

from dataclasses import dataclass

from portfolio.web.answers import Choice
from portfolio.web.answers_settings import SettingsFrame


@dataclass(frozen=True, slots=True)
class DeviceLine:
    """One signed-in browser; ``action`` is what the press that ends it says."""

    sign_in_id: int
    title: str
    second: str
    here: bool
    station: bool
    action: str


@dataclass(frozen=True, slots=True)
class CodeShown:
    """A one-time code for another browser, large enough to be read across the room."""

    code: str
    sentence: str


@dataclass(frozen=True, slots=True)
class WrittenLine:
    """What a child wrote at a station today."""

    number: int
    href: str
    second: str
    text: str
    action_id: int


@dataclass(frozen=True, slots=True)
class DevicesPage:
    """Signed-in browsers, starting a station, its sentence starters, and what was written today."""

    frame: SettingsFrame
    devices: tuple[DeviceLine, ...]
    others: int
    classes: tuple[Choice, ...]
    spans: tuple[Choice, ...]
    starters: str
    written: tuple[WrittenLine, ...]
    way_back: str
    """How the teacher gets back into this browser when it has become a station."""
    code: CodeShown | None = None
    done: str = ""
    undo: int | None = None


@dataclass(frozen=True, slots=True)
class HelperLine:
    """A helper, by the name that is typed to sign in."""

    account_id: int
    login: str
    since: str


@dataclass(frozen=True, slots=True)
class PasswordShown:
    """A new password, shown once."""

    login: str
    password: str


@dataclass(frozen=True, slots=True)
class PeoplePage:
    """Who may sign in besides the teacher. ``address``: where helpers sign in."""

    frame: SettingsFrame
    helpers: tuple[HelperLine, ...]
    typed: str
    most: int
    address: str
    password: PasswordShown | None = None
    done: str = ""
