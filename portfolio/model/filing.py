"""Whose is it? What filing is given for a batch, and what it decides: frozen values, and their form as JSON."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from enum import StrEnum
from typing import Any

from portfolio.model.calendar import SlotMatch, TimetableSlot
from portfolio.model.cards import CardSeen
from portfolio.model.people import RollEntry
from portfolio.model.photo import Taken


class PhotoState(StrEnum):
    """Where a photo stands."""

    STORED = "stored"
    """Its bytes are safe; it was not read yet."""
    FILED = "filed"
    QUESTION = "question"
    PROBLEM = "problem"
    SLATE = "slate"
    """Holds only class, medium or control cards."""
    ASIDE = "aside"
    """Set aside by the teacher: kept, belongs to no work."""
    DUPLICATE = "duplicate"
    """Only in reports: the same bytes were there before."""


class Role(StrEnum):
    """What a photo shows of its work."""

    FRONT = "front"
    BACK = "back"
    DETAIL = "detail"
    ANGLE = "angle"
    SLIP = "slip"


class BatchMode(StrEnum):
    """How numbers are found. ``ORDER`` only when the teacher chose it."""

    CARDS = "cards"
    ORDER = "order"


class QuestionKind(StrEnum):
    """What the program is unsure of."""

    HALF_CARD = "half-card"
    CARDS_DISAGREE = "cards-disagree"
    TWO_NUMBERS = "two-numbers"
    GROUP_OF_ONE = "group-of-one"
    NOBODY = "number-nobody"
    ABSENT = "number-absent"
    CLASS_CHOSEN = "class-chosen"
    CLASS_TIME = "class-timetable"
    CLASS_CARD = "class-card"
    CLASS_DOUBT = "class-stack"
    NO_CLASS = "no-class"
    NO_DAY = "no-day"
    NO_SCHOOL = "no-school"
    SAME_NUMBER = "number-twice"
    NOTHING_BEFORE = "nothing-before"
    NO_CARD = "no-card"
    ORDER = "order"
    TAKEN_BACK = "taken-back"
    CROP = "crop"


@dataclass(frozen=True, slots=True)
class Chosen:
    """What the teacher chose for a whole batch."""

    class_id: int | None = None
    medium_id: int | None = None
    centre_id: int | None = None
    day: date | None = None
    mode: BatchMode = BatchMode.CARDS
    absent: frozenset[int] = frozenset()
    """Numbers of children who were not there. With a class chosen they are of that class only."""

    def absent_in(self, class_id: int) -> frozenset[int]:
        """The numbers of this class that were absent."""
        return self.absent if self.class_id in (None, class_id) else frozenset()


class SchoolDay(StrEnum):
    """What kind of day a date is at school."""

    SCHOOL = "school"
    WEEKEND = "weekend"
    OFF = "holiday"
    """A holiday or snow day of a known year."""
    OUTSIDE = "outside"
    """In no school year that the library knows."""


@dataclass(frozen=True, slots=True)
class PhotoEvidence:
    """What filing needs of one photo that could be read."""

    photo_id: int
    cards: tuple[CardSeen, ...] = ()
    taken: Taken | None = None
    camera: str | None = None
    crop_hash: int | None = None
    """64-bit perceptual hash of the rectified crop; ``None`` when there is none."""
    fixed: Filing | None = None
    """Where the teacher has put it already; filing keeps to that."""
    closed: bool = False
    """The teacher has dealt with it otherwise (set aside, question open by hand): no decision is made."""


@dataclass(frozen=True, slots=True)
class FiledWork:
    """A work of an earlier batch, so that the same number on the same day is noticed."""

    work_id: int
    class_id: int
    numbers: tuple[int, ...]
    day: date
    crop_hashes: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class FilingContext:
    """Everything about the school that one batch may need. The flow prepares it; filing only reads it."""

    roll: tuple[RollEntry, ...]
    labels: Mapping[int, str]
    """Class id → label, e.g. "3B"."""
    class_cards: Callable[[int, date], int | None]
    """Class card and day → class of that year; ``None`` when the card is mapped to none."""
    class_at: Callable[[datetime], SlotMatch]
    """Local time, already corrected by the camera's offset → class by the timetable."""
    slots_on: Callable[[date], tuple[TimetableSlot, ...]]
    """The lessons of one day."""
    school_day: Callable[[date], SchoolDay]
    added_on: date
    """The day of the upload, at school."""
    chosen: Chosen = field(default_factory=Chosen)
    medium_cards: Mapping[int, int] = field(default_factory=dict)
    """Medium card → medium id."""
    centre_of: Mapping[int, int] = field(default_factory=dict)
    """Medium id → center, for media that only one center has."""
    class_days: Mapping[int, tuple[date, date]] = field(default_factory=dict)
    """Class id → first and last day of its school year."""
    filed: tuple[FiledWork, ...] = ()
    clocks: Mapping[str, int] = field(default_factory=dict)
    """Camera → minutes that an earlier batch added to its clock."""


class What(StrEnum):
    """What a photo becomes."""

    WORK = "work"
    VIEW = "view"


@dataclass(frozen=True, slots=True)
class Filing:
    """How one photo is filed, or how it might be. A guess may leave out what is not known.

    ``joins_photo``/``joins_work`` say which work a view belongs to: by a photo of the same batch, or by its id.
    """

    what: What = What.WORK
    class_id: int | None = None
    numbers: tuple[int, ...] = ()
    day: date | None = None
    student_ids: tuple[int, ...] = ()
    role: Role = Role.FRONT
    medium_id: int | None = None
    centre_id: int | None = None
    joins_photo: int | None = None
    joins_work: int | None = None

    @property
    def is_complete(self) -> bool:
        """Whether it says enough to be carried out."""
        if self.what is What.VIEW:
            return self.joins_photo is not None or self.joins_work is not None
        return self.class_id is not None and self.day is not None and bool(self.numbers) and bool(self.student_ids)

    def as_json(self) -> dict[str, Any]:
        """Plain JSON; :meth:`from_json` reads it back."""
        return {
            "what": self.what.value,
            "class_id": self.class_id,
            "numbers": list(self.numbers),
            "day": self.day.isoformat() if self.day else None,
            "student_ids": list(self.student_ids),
            "role": self.role.value,
            "medium_id": self.medium_id,
            "centre_id": self.centre_id,
            "joins_photo": self.joins_photo,
            "joins_work": self.joins_work,
        }

    @classmethod
    def from_json(cls, found: Mapping[str, Any]) -> Filing:
        """The value that :meth:`as_json` wrote."""
        return cls(
            what=What(found["what"]),
            class_id=found["class_id"],
            numbers=tuple(found["numbers"]),
            day=date.fromisoformat(found["day"]) if found["day"] else None,
            student_ids=tuple(found["student_ids"]),
            role=Role(found["role"]),
            medium_id=found["medium_id"],
            centre_id=found["centre_id"],
            joins_photo=found["joins_photo"],
            joins_work=found["joins_work"],
        )

    def as_work(self) -> Filing:
        """The same as a new work of its own; who made it must be looked up again."""
        return replace(self, what=What.WORK, student_ids=(), role=Role.FRONT, joins_photo=None, joins_work=None)


@dataclass(frozen=True, slots=True)
class Asked:
    """A question about one photo: why it is asked in one sentence, the best guess first, and other likely answers."""

    kind: QuestionKind
    evidence: str
    guess: Filing
    options: tuple[Filing, ...] = ()
    group: str | None = None
    """Questions of a batch with the same group can be answered together."""
    beside: tuple[int, ...] = ()
    """Photos to show beside this one, e.g. the earlier photo of the same number."""


class Outcome(StrEnum):
    """The kind of a decision."""

    FILE = "file"
    SLATE = "slate"
    ASK = "ask"
    KEEP = "keep"
    """The teacher has decided; nothing to do."""


@dataclass(frozen=True, slots=True)
class Decision:
    """What filing decided for one photo, why in one sentence, and the evidence values behind it."""

    photo_id: int
    outcome: Outcome
    reason: str
    filing: Filing | None = None
    asked: Asked | None = None
    evidence: Mapping[str, Any] = field(default_factory=dict)

    @property
    def meant(self) -> Filing | None:
        """What is filed, or the best guess of what is asked; ``None`` for a slate and for what the teacher settled."""
        return self.filing or (self.asked.guess if self.asked else None)

    def carried_out(self, photo: PhotoEvidence) -> Filing | None:
        """How the photo is filed after this: as the teacher settled it, or as decided; ``None`` when it is not."""
        return photo.fixed if self.outcome is Outcome.KEEP else self.filing


@dataclass(frozen=True, slots=True)
class ClassCheck:
    """The count at the end of a class: which numbers have a work that day, which have none, which have several."""

    class_id: int
    label: str
    day: date
    present: int
    of: int
    missing: tuple[int, ...] = ()
    several: tuple[tuple[int, int], ...] = ()
    """Number and how many works."""
    absent_seen: tuple[int, ...] = ()
    """Numbers that were said to be absent and have a work all the same."""
    waiting: int = 0
    """Photos of this class still to check."""
    sentence: str = ""


@dataclass(frozen=True, slots=True)
class PhotoQuality:
    """What can make the photos of a whole batch worse than they need be. Sizes are of sheets with four sure edges."""

    place: int
    """The photo's place in the order taken, from 1."""
    clipped: bool = False
    """The card is too bright to correct the colors by."""
    table_near_white: bool = False
    size_mm: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class PrintedScale:
    """The number cards were printed at another scale, as all sheets of a batch show."""

    scale: float
    """Printed size as a share of the right one, e.g. 0.95; true size = measured size times this."""
    sheets: int
    """How many sheets say so."""
    of: int


@dataclass(frozen=True, slots=True)
class Hint:
    """Something about a whole batch that the teacher can change next time; said once a batch."""

    code: str
    """card-too-bright · table-too-light · card-scale · card-scale-corrected · camera-clock"""
    sentence: str


@dataclass(frozen=True, slots=True)
class BatchDecisions:
    """All decisions of a batch in the order taken, the class counts, and the camera clocks that were learned."""

    decisions: tuple[Decision, ...]
    checks: tuple[ClassCheck, ...] = ()
    clocks: Mapping[str, int] = field(default_factory=dict)
    """Camera → minutes added to its clock, as the class cards of this batch tell."""
