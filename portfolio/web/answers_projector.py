"""What the projector shows to a whole class. Nothing here has a name: whoever is in the room sees it."""

from __future__ import annotations

from dataclasses import dataclass

from portfolio.web.answers import Chip, Picture, Wall


@dataclass(frozen=True, slots=True)
class LargeWork:
    """One work as large as the screen allows, with its number on the line."""

    picture: Picture
    number: str
    title: str
    second: str


@dataclass(frozen=True, slots=True)
class ProjectorPage:
    """All works of a share time on a wall, or one of them large. Addresses are empty where there is nothing."""

    heading: str
    wall: Wall
    large: LargeWork | None
    classes: tuple[Chip, ...]
    all_href: str
    first_href: str
    before_href: str
    after_href: str
    last_href: str
    place: str
