"""How the school runs around the days of a batch: what filing needs, prepared once from the records."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping
from datetime import date, datetime, timedelta
from typing import TypeVar

from portfolio.archive import people, photos, room, school, works
from portfolio.archive.library import Session
from portfolio.model.calendar import Calendar, SchoolYear, SlotMatch, TimetableSlot
from portfolio.model.filing import FilingContext, PhotoEvidence, SchoolDay
from portfolio.model.school import Centre
from portfolio.roster import calendar as days

Answer = TypeVar("Answer")


def filing_context(session: Session, batch: photos.BatchKept, evidence: Collection[PhotoEvidence]) -> FilingContext:
    """The whole school as filing may ask for it, for one batch."""
    known = {year.year_id: _Year(session, year) for year in school.years(session)}
    labels = {one.class_id: one.label for year in known.values() for one in year.classes}
    spans = {one.class_id: (year.year.starts_on, year.year.ends_on) for year in known.values() for one in year.classes}
    seen_days = {one.taken.local.date() for one in evidence if one.taken is not None}
    seen_days |= {batch.chosen.day or batch.added_on, batch.added_on}
    cameras = {one.camera or "" for one in evidence}
    around = {day + timedelta(days=step) for day in seen_days for step in (-1, 0, 1)}
    return FilingContext(
        roll=people.enrolments(session),
        labels=labels,
        class_cards=lambda card, day: _year_at(known, day, lambda year: year.cards.get(card)),
        class_at=lambda moment: _year_at(known, moment.date(), lambda year: year.class_at(moment)) or SlotMatch(None),
        slots_on=lambda day: _year_at(known, day, lambda year: year.slots_on(day)) or (),
        school_day=lambda day: _school_day(known, day),
        added_on=batch.added_on,
        chosen=batch.chosen,
        medium_cards={one.card: one.medium_id for one in room.media(session) if one.card is not None},
        centre_of=_only_centres(room.centres(session)),
        class_days=spans,
        filed=works.filed_on_days(session, list(labels), around),
        clocks=photos.camera_clocks(session, cameras, before_batch=batch.batch_id),
    )


class _Year:
    """One school year with its calendar and timetable."""

    def __init__(self, session: Session, year: SchoolYear) -> None:
        self.year = year
        self.calendar: Calendar = school.calendar(session, year.year_id)
        self.classes = school.classes(session, year.year_id)
        self.slots = school.slots(session, year.year_id)
        self.cards: Mapping[int, int] = school.class_cards(session, year.year_id)

    def class_at(self, moment: datetime) -> SlotMatch:
        return days.class_at(self.calendar, moment, slots=self.slots)

    def slots_on(self, day: date) -> tuple[TimetableSlot, ...]:
        return days.slots_on(self.calendar, day, slots=self.slots)


def _year_at(known: Mapping[int, _Year], day: date, ask: Callable[[_Year], Answer]) -> Answer | None:
    holding = [year for year in known.values() if year.year.holds(day)]
    return ask(holding[-1]) if holding else None


def _school_day(known: Mapping[int, _Year], day: date) -> SchoolDay:
    holding = [year for year in known.values() if year.year.holds(day)]
    if not holding:
        return SchoolDay.OUTSIDE
    if days.is_school_day(holding[-1].calendar, day):
        return SchoolDay.SCHOOL
    marked = {one.day for one in holding[-1].calendar.marked}
    return SchoolDay.WEEKEND if day.weekday() >= 5 and day not in marked else SchoolDay.OFF


def _only_centres(centres: Iterable[Centre]) -> dict[int, int]:
    """Medium → center, for media that only one center has."""
    having: dict[int, list[int]] = {}
    for centre in centres:
        for medium in centre.medium_ids:
            having.setdefault(medium, []).append(centre.centre_id)
    return {medium: found[0] for medium, found in having.items() if len(found) == 1}
