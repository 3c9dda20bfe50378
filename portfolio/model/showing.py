"""What is shown to others: works as finished labels, shows, choices, publications. No child's name but as released."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from enum import StrEnum
from pathlib import Path

from portfolio.model.people import Audience, ChildName, Release

FractionPolygon = tuple[tuple[float, float], ...]
"""Corners as shares of a picture's width and height, 0 to 1, origin top left."""


class Mark(StrEnum):
    """What the teacher or the program has said about a work in a show."""

    OFFERED = "offered"
    """May be chosen."""
    CHOSEN = "chosen"
    MUST = "must"
    NEVER = "never"


@dataclass(frozen=True, slots=True)
class KnownChild:
    """One child with the sealed name and everything the family has allowed: what the name sweep needs."""

    student_id: int
    name: ChildName
    releases: tuple[Release, ...] = ()
    class_labels: frozenset[str] = frozenset()
    """Classes the child has been in, e.g. "3B"; class and number, or class and initials, point at a child too."""


# --- words that may name a child --------------------------------------------------------------------------


class Decision(StrEnum):
    """What the teacher decided about a held place."""

    SHOWN = "shown"
    """It names nobody, or may stay: the text may be shown."""
    KEPT = "kept"
    """It names a child: the text stays with the teacher."""


@dataclass(frozen=True, slots=True)
class HeldPlace:
    """A place in a text where a child's name may stand. ``start`` and ``end`` count characters."""

    start: int
    end: int
    kind: str
    """"first name", "family name", "nickname", "close to a first name" …"""
    decided: Decision | None = None

    def as_json(self) -> dict[str, object]:
        """Plain values for the record."""
        decided = None if self.decided is None else self.decided.value
        return {"start": self.start, "end": self.end, "kind": self.kind, "decided": decided}

    @classmethod
    def from_json(cls, value: Mapping[str, object]) -> HeldPlace:
        """Back from the record."""
        decided = value.get("decided")
        return cls(
            int(str(value["start"])),
            int(str(value["end"])),
            str(value["kind"]),
            Decision(str(decided)) if decided else None,
        )


# --- choosing ---------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Candidate:
    """A work that may be shown, as the chooser sees it: ids only. Sizes in square millimeters of wall."""

    work_id: int
    student_ids: tuple[int, ...]
    grade: str
    medium: str
    area_mm2: int | None = None
    """Wall it takes with mat, label and half the gaps; ``None`` = size not known."""
    stars: int = 0
    mark: Mark = Mark.OFFERED
    shown_before: bool = False


@dataclass(frozen=True, slots=True)
class ShowLimits:
    """What the teacher asked for. ``None`` = no limit."""

    per_child: int = 1
    works: int | None = None
    surface_mm2: int | None = None
    balance: bool = True
    """Keep media and grades in balance."""


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a work is in or out, in one sentence."""

    chosen: bool
    why: str


@dataclass(frozen=True, slots=True)
class Choice:
    """The works chosen, why each is in or out, and what was missing."""

    chosen: tuple[int, ...]
    reasons: Mapping[int, Reason]
    missing: tuple[int, ...] = ()
    """Students with a work that may be shown, but no place."""
    short: str = ""
    """What is missing, in the teacher's words; empty = every child has a place."""
    proved: bool = True
    """Nothing better exists; false = the search was stopped before that was shown."""


@dataclass(frozen=True, slots=True)
class ShowValue:
    """One show as recorded. ``rules`` holds what was asked for when choosing."""

    show_id: int
    title: str
    intro: str = ""
    year_id: int | None = None
    year: str = ""
    place: str = ""
    opens_on: date | None = None
    closes_on: date | None = None
    rules: Mapping[str, object] = field(default_factory=dict)
    works: int = 0


@dataclass(frozen=True, slots=True)
class ShowWorkValue:
    """A work's mark and reason in a show."""

    work_id: int
    mark: Mark
    reason: str = ""
    position: int = 0


@dataclass(frozen=True, slots=True)
class WordsKept:
    """What a child said about a work, with the places that may name somebody."""

    text: str
    language: str
    held: tuple[HeldPlace, ...]


@dataclass(frozen=True, slots=True)
class MarkedPicture:
    """A work's main view with its marked regions, as recorded: pixels of the upright photo."""

    regions_px: tuple[tuple[tuple[float, float], ...], ...]
    photo_px: tuple[int, int] | None
    outline_px: tuple[tuple[float, float], ...] | None
    """Where the work was cut out; ``None`` = shown as taken."""
    shape: str = "sheet"
    quarter_turns: int = 0
    right_px: tuple[float, float] | None = None
    """Where "right" on the card points in the photo; ``None`` = no card was read."""


# --- publishing -------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Picture:
    """A work's picture for a site: JPEG files of the ladder, widest last, and regions to cover in each."""

    files: tuple[Path, ...]
    masks: tuple[FractionPolygon, ...] = ()
    light: bool = False
    """Few dots for a slow line or a small stick: one small JPEG and one WebP."""


@dataclass(frozen=True, slots=True)
class Label:
    """A finished label: every text in it may be read by the audience. No child's record, no number, no class."""

    key: str
    """Opaque id in this publication."""
    maker: str
    """As released: "Grade 2 artist", "Ana", "Ana M."."""
    artist: str
    """The maker without any name, for machines that read the page."""
    sign: str
    """The stretch of wall it hangs on: "K–2"."""
    title: str = ""
    medium: str = ""
    words: str = ""
    words_language: str = "en"
    width_mm: int | None = None
    height_mm: int | None = None
    picture: Picture | None = None
    plain_title: bool = False
    """The teacher has said that the title names nobody, though a word in it is also a child's name."""
    plain_words: bool = False
    """The same for the child's words."""


@dataclass(frozen=True, slots=True)
class SiteText:
    """Everything on a show's site that is not a work."""

    title: str
    audience: Audience
    intro: str = ""
    school: str = ""
    year: str = ""
    place: str = ""
    dates: str = ""
    """When the show hangs, in words; empty where the audience sees no dates."""
    language: str = "en"
    units: str = "in"
    """"in" or "cm": how sizes are said."""
    plain_title: bool = False
    """The teacher has said that the show's own words (title, intro, place) name nobody."""
    small_group: int = 10
    """Counts below this are not told."""


@dataclass(frozen=True, slots=True)
class PublicationValue:
    """Something that was built for an audience."""

    publication_id: int
    show_id: int | None
    audience: Audience
    built_utc: datetime
    state: str
    pages: int
    pictures: int
