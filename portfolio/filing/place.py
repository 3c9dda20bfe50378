"""Which day and which class a photo belongs to, by everything but its number; and whether anything contradicts it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from typing import Any

from portfolio.filing.laid import Doubt, Laid
from portfolio.filing.stream import Stream
from portfolio.model.calendar import SlotMatch
from portfolio.model.cards import CardStatus, only_sure
from portfolio.model.filing import FilingContext, PhotoEvidence, QuestionKind, SchoolDay
from portfolio.model.photo import TakenSource
from portfolio.model.phrases import clock, day_words, listed

STATE_LASTS = timedelta(minutes=60)
"""A class card that the timetable cannot confirm holds across a gap of at most this long."""


@dataclass(frozen=True, slots=True)
class Place:
    """Day and class of one photo. ``doubt`` is set when they may not be used without asking."""

    day: date | None = None
    day_known: bool = True
    """False when the photo says no time and only the day of the upload is known."""
    at: datetime | None = None
    """The photo's own time, corrected by what is known of its camera's clock."""
    class_id: int | None = None
    doubt: Doubt | None = None
    clause: str = ""
    """How the class is known, e.g. "class 3B by its class card and the timetable"."""
    others: tuple[int, ...] = ()
    confirmed: bool = False
    """The timetable says the same for sure."""
    by_state: bool = False
    """Only a class card that lay before it says the class."""
    by_clock: bool = False
    """Only the timetable says the class."""
    evidence: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Clocks:
    """Minutes to add to the cameras' clocks."""

    learned: Mapping[str, int]
    """By the class cards of this batch."""
    remembered: Mapping[str, int] = field(default_factory=dict)
    """By an earlier batch only. The clock may have been set right since, so the timetable alone does not file by it."""

    def minutes(self, photo: PhotoEvidence) -> int:
        """Minutes to add to this photo's own time."""
        camera = photo.camera or ""
        return self.learned.get(camera, self.remembered.get(camera, 0))

    def is_remembered(self, photo: PhotoEvidence) -> bool:
        """Whether its time is corrected on the word of an earlier batch alone."""
        return (photo.camera or "") not in self.learned and self.minutes(photo) != 0


def taken_at(photo: PhotoEvidence, clocks: Clocks) -> datetime | None:
    """The photo's own wall time, corrected; ``None`` when the file says none. A file's own time is never used."""
    if photo.taken is None or photo.taken.source is TakenSource.FILE:
        return None
    return photo.taken.local + timedelta(minutes=clocks.minutes(photo))


def place_of(photo: PhotoEvidence, found: Laid, stream: Stream, *, context: FilingContext, clocks: Clocks) -> Place:
    """Day and class by the strongest evidence that nothing contradicts; else the doubt, with the best guess in it."""
    at = taken_at(photo, clocks)
    day = context.chosen.day or (at.date() if at else context.added_on)
    timed = at is not None and at.date() == day
    match = context.class_at(at) if at is not None and timed else SlotMatch(None)
    said = _said(found, stream, context=context, at=at, day=day)
    minutes, remembered = clocks.minutes(photo), clocks.is_remembered(photo)
    if remembered and match.sure and (said.unclear or not said.sources):
        match = replace(match, sure=False, why=f"this camera's clock was{_off(minutes)} in an earlier batch")
    judged = _judge(said, match, context=context)
    evidence: dict[str, Any] = {
        "taken": at.isoformat() if at else None,
        "camera_minutes": minutes,
        "class_said": dict(said.sources),
        "class_timetable": match.class_id,
        "timetable_sure": match.sure,
        "minutes_off": match.minutes_off,
    }
    day_known = at is not None or context.chosen.day is not None
    doubt = judged.doubt or _day_doubt(day, at, judged, context=context)
    return Place(
        day=day if day_known else _inside_year(day, judged.class_id, context),
        day_known=day_known,
        at=at,
        class_id=judged.class_id,
        doubt=doubt,
        clause=judged.clause + _clock_words(minutes, remembered=remembered),
        others=judged.others,
        confirmed=judged.confirmed,
        by_state=judged.by_state,
        by_clock=judged.class_id is not None and not said.sources,
        evidence=evidence,
    )


def _inside_year(day: date, class_id: int | None, context: FilingContext) -> date:
    first, last = context.class_days.get(class_id or 0, (day, day))
    return min(max(day, first), last)


def _clock_words(minutes: int, *, remembered: bool) -> str:
    if not minutes:
        return ""
    by = "an earlier batch showed" if remembered else "its class cards show"
    return f" (this camera's clock is{_off(minutes)}, as {by})"


def _off(minutes: int) -> str:
    return f" {abs(minutes)} minutes {'slow' if minutes > 0 else 'fast'}"


# --- what was said about the class ------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Said:
    """Who says which class, strongest first, and whether a class card was unclear."""

    sources: tuple[tuple[str, int], ...] = ()
    unclear: str = ""
    half: int | None = None
    at: datetime | None = None
    stale: bool = False
    in_its_lesson: bool = False
    """The class card that lay before it lay there in its own lesson: the camera's clock was right then."""


def _said(found: Laid, stream: Stream, *, context: FilingContext, at: datetime | None, day: date) -> _Said:
    sources: list[tuple[str, int]] = []
    unclear, half, stale, in_its_lesson = "", None, False, False
    if found.classes:
        card = found.classes[0]
        known = context.class_cards(card.value, day) if len(found.classes) == 1 else None
        if len(only_sure(found.classes)) == 1 == len(found.classes) and known is not None:
            sources.append(("class card in the photo", known))
        else:
            half = known
            unclear = _unclear_words(found)
    elif stream.unclear_class is not None:
        half, unclear = stream.unclear_class or None, "the class card before it was not clear"
    elif stream.class_id is not None and _same_day(stream, at, day):
        sources.append(("class card before it", stream.class_id))
        stale = at is not None and stream.last_at is not None and abs(at - stream.last_at) > STATE_LASTS
        begun = context.class_at(stream.begun_at) if stream.begun_at is not None else SlotMatch(None)
        in_its_lesson = begun.sure and begun.class_id == stream.class_id
    if context.chosen.class_id is not None:
        sources.append(("chosen", context.chosen.class_id))
    return _Said(tuple(sources), unclear, half, at, stale, in_its_lesson)


def _same_day(stream: Stream, at: datetime | None, day: date) -> bool:
    """A class card does not hold overnight. Photos without a time follow their neighbors."""
    return at is None or stream.set_on is None or stream.set_on == at.date() or stream.set_on == day


def _unclear_words(found: Laid) -> str:
    if len(found.classes) > 1:
        return f"class cards {listed(card.value for card in found.classes)} lie in the photo"
    card = found.classes[0]
    if card.status is not CardStatus.SURE:
        return f"the class card: {card.why or 'it cannot be read surely'}"
    return f"class card {card.value} stands for no class yet"


# --- the verdict ------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Judged:
    class_id: int | None
    clause: str = ""
    doubt: Doubt | None = None
    others: tuple[int, ...] = ()
    confirmed: bool = False
    by_state: bool = False


def _judge(said: _Said, match: SlotMatch, *, context: FilingContext) -> _Judged:
    if said.unclear:
        return _unclear(said, match, context=context)
    if not said.sources:
        return _by_timetable(said, match, context=context)
    return _by_word(said, match, context=context)


def _by_word(said: _Said, match: SlotMatch, *, context: FilingContext) -> _Judged:
    """A class card or the teacher's choice says the class; all who speak must agree, and a sure timetable too."""
    classes = list(dict.fromkeys(class_id for _, class_id in said.sources))
    first = classes[0]
    label = _label(first, context)
    if len(classes) > 1:
        ranked = sorted(classes, key=lambda key: key != match.class_id)
        clause = f"its class card says {_label(classes[0], context)}, chosen was {_label(classes[1], context)}"
        return _Judged(ranked[0], doubt=Doubt(QuestionKind.CLASS_CHOSEN, clause), others=tuple(ranked[1:]))
    confirmed = match.sure and match.class_id == first
    if match.sure and match.class_id not in (None, first) and first not in match.others:
        other = _label(match.class_id, context)
        clause = f"{_source_words(said)} says {label}, but by the timetable {_time_words(said)} belongs to {other}"
        if said.in_its_lesson and len(said.sources) == 1:
            clause = (
                f"the class card of {label} lay there in its own lesson, but {_time_words(said)} belongs to {other}"
            )
            return _Judged(match.class_id, doubt=Doubt(QuestionKind.CLASS_TIME, clause), others=(first,))
        return _Judged(first, doubt=Doubt(QuestionKind.CLASS_TIME, clause), others=(match.class_id or 0,))
    by_state = said.sources[0][0] == "class card before it"
    if by_state and said.stale and not confirmed and len(said.sources) == 1:
        clause = f"the class card of {label} lies more than {STATE_LASTS.seconds // 60} minutes back"
        return _Judged(first, doubt=Doubt(QuestionKind.NO_CLASS, clause), others=_others(match, first))
    how = f"class {label} by {'the class chosen' if said.sources[0][0] == 'chosen' else 'its class card'}"
    how += " and the timetable" if confirmed else ""
    return _Judged(first, how, confirmed=confirmed, by_state=by_state and len(said.sources) == 1)


def _by_timetable(said: _Said, match: SlotMatch, *, context: FilingContext) -> _Judged:
    if match.sure and match.class_id is not None:
        return _Judged(match.class_id, f"class {_label(match.class_id, context)} by the timetable", confirmed=True)
    if match.class_id is not None:
        clause = f"no class card and no class chosen, and the timetable is not sure: {match.why}"
    elif said.at is not None:
        clause = f"no class card, no class chosen, and no lesson at {clock(said.at)} on {day_words(said.at.date())}"
    else:
        clause = "no class card, no class chosen, and no time in the photo"
    return _Judged(match.class_id, doubt=Doubt(QuestionKind.NO_CLASS, clause), others=_others(match, match.class_id))


def _unclear(said: _Said, match: SlotMatch, *, context: FilingContext) -> _Judged:
    """An unclear class card leaves only a sure timetable, and nothing else may speak against that."""
    voices = {class_id for _, class_id in said.sources} | ({said.half} if said.half else set())
    if match.sure and match.class_id is not None and voices <= {match.class_id}:
        label = _label(match.class_id, context)
        return _Judged(match.class_id, f"class {label} by the timetable ({said.unclear})", confirmed=True)
    ranked = list(dict.fromkeys(key for key in (said.half, match.class_id, *voices) if key))
    guess = ranked[0] if ranked else None
    return _Judged(guess, doubt=Doubt(QuestionKind.CLASS_CARD, said.unclear), others=tuple(ranked[1:]))


def _others(match: SlotMatch, guess: int | None) -> tuple[int, ...]:
    return tuple(key for key in (match.class_id, *match.others) if key is not None and key != guess)


def _source_words(said: _Said) -> str:
    return "what was chosen" if said.sources[0][0] == "chosen" else "its class card"


def _time_words(said: _Said) -> str:
    return clock(said.at) if said.at else "that time"


def _label(class_id: int | None, context: FilingContext) -> str:
    return context.labels.get(class_id or 0, "another class")


# --- the day ----------------------------------------------------------------------------------------------------------


def _day_doubt(day: date, at: datetime | None, judged: _Judged, *, context: FilingContext) -> Doubt | None:
    """A day without school is asked about. A weekend is not when somebody says the class: stacks are also
    photographed on Saturdays. The day of the upload says nothing, so it is never held against a photo.
    """
    if at is None and context.chosen.day is None:
        return None
    kind = context.school_day(day)
    if kind is SchoolDay.SCHOOL or (kind is SchoolDay.WEEKEND and judged.class_id is not None):
        return None
    words = {
        SchoolDay.WEEKEND: "a weekend",
        SchoolDay.OFF: "a day without school",
        SchoolDay.OUTSIDE: "in no school year that is known here",
    }[kind]
    return Doubt(QuestionKind.NO_SCHOOL, f"its day, {day_words(day)}, is {words}")
