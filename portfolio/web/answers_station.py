"""What the reflection station shows to a child. Nothing here has a name, and no words but the child's own of now."""

from __future__ import annotations

from dataclasses import dataclass

from portfolio.web.answers import Picture


@dataclass(frozen=True, slots=True)
class NumbersPage:
    """The numbers of the class to pick from; ``kept`` is said once after a child's words were kept."""

    class_label: str
    numbers: tuple[int, ...]
    kept: str
    way_back: bool
    """Whether the invented school's own way back to the teacher's pages is offered."""


@dataclass(frozen=True, slots=True)
class WorkChoice:
    """One own work to write about: picture and words are one link."""

    href: str
    said: str
    """What the link is called."""
    title: str
    second: str
    picture: Picture | None
    has_words: bool


@dataclass(frozen=True, slots=True)
class OwnWorksPage:
    """A child's newest works."""

    number: int
    works: tuple[WorkChoice, ...]


@dataclass(frozen=True, slots=True)
class WritePage:
    """The work and the lines to write on; ``hint`` says why the words were not kept."""

    number: int
    action: str
    back_href: str
    title: str
    second: str
    picture: Picture | None
    starters: tuple[str, ...]
    text: str
    most: int
    hint: str
    ends: int
    """When the station closes, in seconds since 1970."""


@dataclass(frozen=True, slots=True)
class JoinPage:
    """Where a code is typed; ``closed``: a station was open here until now."""

    closed: bool
    hint: str
