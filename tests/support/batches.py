"""Simulated batches with their truth: an invented timetable, stacks of works, and the slips that happen at a desk.

No pixels: a photo is the cards that a reader would report. The rates are assumptions (nobody has published any);
they follow those under which the rules were first tried out, and the bench prints them beside its figures.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, time, timedelta

from portfolio.model.calendar import Calendar, SchoolYear, TimetableSlot
from portfolio.model.cards import CardKind, CardSeen, CardStatus
from portfolio.model.filing import Chosen, FilingContext, PhotoEvidence, SchoolDay
from portfolio.model.people import RollEntry
from portfolio.model.photo import Taken, TakenSource
from portfolio.roster.calendar import class_at, is_school_day, slots_on

YEAR = SchoolYear(1, "2026-27", date(2026, 8, 24), date(2027, 6, 11))
CALENDAR = Calendar(YEAR, cycle_days=6)
BELLS = (time(8, 40), time(9, 35), time(10, 30), time(12, 30), time(13, 25))
LESSON = timedelta(minutes=45)
CLASSES = 24


@dataclass(frozen=True, slots=True)
class Rates:
    """How often what goes wrong, as shares of the photos, works or stacks named."""

    no_card: float = 0.03
    """Works photographed without their card."""
    half_card: float = 0.03
    unread: float = 0.005
    stale_card: float = 0.01
    """The card of the work before is still in view."""
    wrong_card: float = 0.0
    """A child puts down the card of another child of the class, who may be absent: no reader can see that."""
    ticked: bool = False
    """In batches of one chosen class, the teacher has ticked who was absent."""
    slate_forgotten: float = 0.03
    slate_unread: float = 0.003
    solid: float = 0.12
    second_view: float = 0.5
    """Of solid works."""
    view_card: float = 0.7
    """Of second views: the card "another view" lies beside it."""
    card_stays: bool = True
    """Otherwise second views are taken without any card."""
    second_photo: float = 0.02
    """Of flat works: photographed twice."""
    second_work: float = 0.01
    absent: float = 0.08
    clock_wrong: float = 0.0
    """Uploads: the camera's clock is an hour off."""
    lunch: float = 0.0
    """Stacks photographed at lunch, far from any lesson."""


@dataclass(frozen=True, slots=True)
class Truth:
    """What a photo really shows; ``student_id`` is ``None`` for a slate."""

    student_id: int | None
    work: int | None = None
    wrong_card: bool = False
    laid: int | None = None
    """The child whose card lies there."""
    clock_alone: bool = False
    """The camera's clock is an hour off, and neither a card nor a choice says the class."""


@dataclass(frozen=True, slots=True)
class SimulatedBatch:
    """Photos in the order taken, the truth of each, and what filing is given."""

    photos: tuple[PhotoEvidence, ...]
    truth: dict[int, Truth]
    context: FilingContext
    stacks: int
    away: frozenset[int] = frozenset()
    """The children who were absent."""


@dataclass(slots=True)
class _Desk:
    """The teacher's desk while one batch is photographed."""

    chance: random.Random
    rates: Rates
    camera_off: timedelta
    photos: list[PhotoEvidence] = field(default_factory=list)
    truth: dict[int, Truth] = field(default_factory=dict)
    clock_alone: bool = False
    last_number: int | None = None
    works: int = 0
    away: list[RollEntry] = field(default_factory=list)

    def shoot(self, at: datetime, cards: tuple[CardSeen, ...], truth: Truth, *, crop_hash: int | None = None) -> None:
        key = len(self.photos) + 1
        taken = Taken(at + self.camera_off, TakenSource.ORIGINAL)
        self.photos.append(PhotoEvidence(key, cards, taken, "phone", crop_hash))
        self.truth[key] = replace(truth, clock_alone=self.clock_alone)


def card(kind: CardKind, value: int, status: CardStatus = CardStatus.SURE) -> CardSeen:
    """A card as the reader would report it."""
    return CardSeen(kind, value, status)


def number(value: int, status: CardStatus = CardStatus.SURE) -> CardSeen:
    """A number card."""
    return card(CardKind.NUMBER, value, status)


def timetable() -> tuple[TimetableSlot, ...]:
    """24 classes on a six-day cycle, five lessons a day at most; every class once."""
    slots = []
    for place in range(CLASSES):
        bell = BELLS[place // 6]
        ends = (datetime.combine(YEAR.starts_on, bell) + LESSON).time()
        slots.append(TimetableSlot(place + 1, place % 6 + 1, bell, ends))
    return tuple(slots)


def school_roll(chance: random.Random) -> tuple[RollEntry, ...]:
    """18 to 28 children a class; in every third class one number changes hands in January."""
    entries = []
    student = 0
    for class_id in range(1, CLASSES + 1):
        for value in range(1, chance.randint(18, 28) + 1):
            student += 1
            if class_id % 3 == 0 and value == 7:
                entries.append(RollEntry(student, class_id, value, YEAR.starts_on, date(2027, 1, 15)))
                student += 1
                entries.append(RollEntry(student, class_id, value, date(2027, 1, 18)))
            else:
                entries.append(RollEntry(student, class_id, value, YEAR.starts_on))
    return tuple(entries)


def context_for(roll: Sequence[RollEntry], *, chosen: Chosen, added_on: date) -> FilingContext:
    """What filing is given about the invented school."""
    slots = timetable()

    def school_day(day: date) -> SchoolDay:
        if is_school_day(CALENDAR, day):
            return SchoolDay.SCHOOL
        if not YEAR.holds(day):
            return SchoolDay.OUTSIDE
        return SchoolDay.WEEKEND if day.weekday() >= 5 else SchoolDay.OFF

    return FilingContext(
        roll=tuple(roll),
        labels={class_id: f"{class_id // 4}{'ABCD'[class_id % 4]}" for class_id in range(1, CLASSES + 1)},
        class_cards=lambda value, day: value - 300 if 301 <= value <= 300 + CLASSES and YEAR.holds(day) else None,
        class_at=lambda moment: class_at(CALENDAR, moment, slots=slots),
        slots_on=lambda day: slots_on(CALENDAR, day, slots=slots),
        school_day=school_day,
        added_on=added_on,
        chosen=chosen,
        medium_cards={value: value - 60 for value in range(61, 91)},
        class_days=dict.fromkeys(range(1, CLASSES + 1), (YEAR.starts_on, YEAR.ends_on)),
    )


def simulate(seed: int, *, rates: Rates, roll: Sequence[RollEntry]) -> SimulatedBatch:
    """One upload: the stack of one lesson (two in three), or of a whole day of lessons."""
    chance = random.Random(seed)
    day = _school_day(chance)
    lessons = list(slots_on(CALENDAR, day, slots=timetable()))
    whole_day = chance.random() < 1 / 3
    chosen_lessons = lessons if whole_day else [chance.choice(lessons)]
    off = timedelta(hours=chance.choice((-1, 1))) if chance.random() < rates.clock_wrong else timedelta()
    desk = _Desk(chance, rates, off + timedelta(seconds=chance.uniform(-40, 40)))
    how = chance.choices(("slate", "chosen", "timetable"), (0.6, 0.25, 0.15))[0]
    chosen = Chosen(class_id=chosen_lessons[0].class_id if how == "chosen" and not whole_day else None)
    desk.clock_alone = bool(off) and chosen.class_id is None
    lunch = chance.random() < rates.lunch and (how == "slate" or chosen.class_id is not None)
    at = datetime.combine(day, time(11, 50))
    for slot in chosen_lessons:
        if not lunch:
            at = datetime.combine(day, slot.ends_at) - timedelta(minutes=chance.uniform(1, 5))
        at = _stack(desk, slot, at, slate=how == "slate", roll=roll)
    if rates.ticked and chosen.class_id is not None:
        chosen = replace(chosen, absent=frozenset(entry.number for entry in desk.away))
    context = context_for(roll, chosen=chosen, added_on=day)
    away = frozenset(entry.student_id for entry in desk.away)
    return SimulatedBatch(tuple(desk.photos), desk.truth, context, len(chosen_lessons), away)


def _school_day(chance: random.Random) -> date:
    while True:
        day = YEAR.starts_on + timedelta(days=chance.randrange((YEAR.ends_on - YEAR.starts_on).days))
        if slots_on(CALENDAR, day, slots=timetable()):
            return day


def _stack(desk: _Desk, slot: TimetableSlot, at: datetime, *, slate: bool, roll: Sequence[RollEntry]) -> datetime:
    chance, rates = desk.chance, desk.rates
    enrolled = [entry for entry in roll if entry.class_id == slot.class_id and entry.holds_on(at.date())]
    present = [entry for entry in enrolled if chance.random() >= rates.absent]
    desk.away += [entry for entry in enrolled if entry not in present]
    chance.shuffle(present)
    desk.last_number = None
    if slate and chance.random() >= rates.slate_forgotten:
        read = chance.random() >= rates.slate_unread
        desk.shoot(at, (card(CardKind.CLASS, 300 + slot.class_id),) if read else (), Truth(None))
        desk.clock_alone = False
        at += timedelta(seconds=4)
    for entry in present:
        for _ in range(1 + (chance.random() < rates.second_work)):
            at = _work(desk, entry, enrolled, at)
    return at + timedelta(minutes=chance.uniform(0.5, 2))


def _work(desk: _Desk, entry: RollEntry, enrolled: Sequence[RollEntry], at: datetime) -> datetime:
    chance, rates = desk.chance, desk.rates
    desk.works += 1
    work, solid = desk.works, chance.random() < rates.solid
    crop_hash = None if solid else chance.getrandbits(64)
    wrong = chance.random() < rates.wrong_card
    lying = chance.choice(enrolled) if wrong else entry
    value = lying.number
    truth = Truth(entry.student_id, work, lying is not entry, lying.student_id)
    desk.shoot(at, _cards(desk, value), truth, crop_hash=crop_hash)
    at += timedelta(seconds=chance.uniform(4, 9))
    again = chance.random() < (rates.second_view if solid else rates.second_photo)
    if again:
        cards: tuple[CardSeen, ...] = ()
        if rates.card_stays:
            view = chance.random() < rates.view_card and solid
            cards = (number(value), card(CardKind.CONTROL, 101)) if view else (number(value),)
        nearly = None if crop_hash is None else _flipped(crop_hash, chance)
        desk.shoot(at, cards, truth, crop_hash=nearly if cards else None)
        at += timedelta(seconds=chance.uniform(3, 6))
    desk.last_number = value
    return at


def _cards(desk: _Desk, value: int) -> tuple[CardSeen, ...]:
    """The cards that are seen beside one work: the right one, half of it, none, or a second one left over."""
    chance, rates = desk.chance, desk.rates
    if chance.random() < rates.no_card + rates.unread:
        return ()
    if chance.random() < rates.half_card:
        return (number(value, CardStatus.CHECK),)
    if desk.last_number not in (None, value) and chance.random() < rates.stale_card:
        old = CardSeen(CardKind.NUMBER, desk.last_number or 0, CardStatus.CONFLICT, why="another number card is seen")
        return (replace(old, value=value), old)
    return (number(value),)


def _flipped(crop_hash: int, chance: random.Random) -> int:
    for _ in range(chance.randint(0, 6)):
        crop_hash ^= 1 << chance.randrange(64)
    return crop_hash
