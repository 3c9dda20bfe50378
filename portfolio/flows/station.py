"""The reflection station: a browser of one class, where a child picks the number, a work, and writes about it.

No name leaves this module, also none that stands in a title; what others said is never read here. The words that come
in are kept letter for letter, and places where a child's name may stand are held for the teacher.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from typing import Final

from portfolio.archive import finding, people, room, school, shows, words
from portfolio.archive.library import Library, Session
from portfolio.archive.works import derived_path
from portfolio.errors import NotFound, PortfolioError
from portfolio.flows.observe import holder
from portfolio.flows.reflections import TEXT_MAX, name_finder
from portfolio.flows.sign_in import STATION, Opened, start_station
from portfolio.model.finding import Filters, WorkShown
from portfolio.model.school import ClassGroup
from portfolio.model.words import Said
from portfolio.privacy.words import NameFinder, hold
from portfolio.publish.pictures import fresh_jpeg
from portfolio.publish.regions import regions_in_picture
from portfolio.roster import calendar as days
from portfolio.straighten.ladder import RUNGS

RECENT: Final = 8
"""Works a child can choose from; more would have to be scrolled."""
STARTERS: Final = ("I made", "I tried", "I was thinking of", "Next time")
"""Offered until the teacher has her own. Own words, no source."""
STARTERS_MAX: Final = 8
STARTER_MAX: Final = 40
USUAL: Final = timedelta(minutes=45)
"""How long a station lasts when the class has no lesson just now."""
LONGEST: Final = timedelta(hours=8)
WROTE: Final = "kept what a child wrote"
_STARTERS_KEY: Final = "station_starters"


# --- starting ---------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Span:
    """How long a station may last: a word for the form, and the moment at which it ends."""

    key: str
    ends_utc: datetime


def spans(library: Library, class_id: int, *, today: date, now: datetime) -> tuple[Span, ...]:
    """What may be chosen: the lesson, an hour, or the rest of the school day; never longer than that day.

    ``now``: with its time zone, which is the school's. ``today`` may be another day (the invented school stands on
    one): then there is no bell to go by.
    """
    with library.reading() as session:
        group = school.class_by_id(session, class_id)
        bells = _bells(session, group, today) if now.date() == today else ()
    lesson = [end for own, start, end in bells if own and start <= now < end]
    last = max((end for _, _, end in bells if end > now), default=now + USUAL)
    last = min(last, now + LONGEST)
    wanted = {"lesson": lesson[0] if lesson else now + USUAL, "hour": now + timedelta(hours=1), "day": last}
    return tuple(Span(key, min(end, last).astimezone(UTC)) for key, end in wanted.items())


def _bells(session: Session, group: ClassGroup, today: date) -> tuple[tuple[bool, datetime, datetime], ...]:
    """Every lesson of the day: whether it is this class's, and when it begins and ends."""
    calendar = school.calendar(session, group.year_id)
    return tuple(
        (
            slot.class_id == group.class_id,
            datetime.combine(today, slot.starts_at).astimezone(),
            datetime.combine(today, slot.ends_at).astimezone(),
        )
        for slot in days.slots_on(calendar, today, slots=school.slots(session, group.year_id))
    )


def span_end(library: Library, class_id: int, key: str, *, today: date, now: datetime) -> datetime:
    """When a station ends that lasts as long as ``key`` says."""
    found = next((one for one in spans(library, class_id, today=today, now=now) if one.key == key), None)
    if found is None:
        raise PortfolioError("bad-request", item="How long", found="it is none of those offered")
    return found.ends_utc


def open_station(library: Library, class_id: int, key: str, *, today: date, now: datetime) -> Opened:
    """Make the browser that asks the station of a class."""
    ends = span_end(library, class_id, key, today=today, now=now)
    return start_station(library, class_id, ends_utc=ends, now=now.astimezone(UTC))


# --- sentence starters ------------------------------------------------------------------------------------


def starters(library: Library) -> tuple[str, ...]:
    """How a sentence may begin, in the teacher's order."""
    with library.reading() as session:
        return _starters(session)


def _starters(session: Session) -> tuple[str, ...]:
    kept = room.setting(session, _STARTERS_KEY)
    return tuple(str(one) for one in kept) if isinstance(kept, list) else STARTERS


def set_starters(library: Library, text: str) -> int:
    """Keep the teacher's own starters, one a line; gives the action's id, for undo. No line at all: none is offered."""
    lines = list(dict.fromkeys(" ".join(line.split()) for line in text.splitlines() if line.strip()))
    if len(lines) > STARTERS_MAX or any(len(line) > STARTER_MAX for line in lines):
        found = f"at most {STARTERS_MAX} lines of {STARTER_MAX} letters can be read at a glance"
        raise PortfolioError("bad-request", item="The list of sentence starters", found=found)
    with library.writing(who="teacher", what="changed the sentence starters") as writing:
        room.put_setting(writing.session, _STARTERS_KEY, lines)
        return writing.action_id


# --- at the station ---------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class StationSeen:
    """A station: its class, and the numbers that are held today."""

    class_label: str
    numbers: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class OwnWork:
    """A child's own work as the station shows it; ``has_picture``: there is one that may be shown to children."""

    work: WorkShown
    has_picture: bool


def see_station(library: Library, class_id: int, *, today: date) -> StationSeen:
    """The numbers of the class."""
    with library.reading() as session:
        group, day = _group_and_day(session, class_id, today)
        held = people.roll(session, day=day, class_id=class_id)
        return StationSeen(group.label, tuple(one.number for one in held))


def _group_and_day(session: Session, class_id: int, today: date) -> tuple[ClassGroup, date]:
    group = school.class_by_id(session, class_id)
    return group, school.year_by_id(session, group.year_id).clamp(today)


def see_own_works(library: Library, class_id: int, number: int, *, today: date) -> tuple[OwnWork, ...]:
    """The newest works in this class of the child who holds the number today. Refuses a number that nobody holds."""
    with library.reading() as session:
        return _own_works(session, class_id, number, today, finder=name_finder(session))


def see_own_work(library: Library, class_id: int, number: int, work_id: int, *, today: date) -> OwnWork:
    """One of them. Refuses every other work, whether it is there or not."""
    found = {one.work.work_id: one for one in see_own_works(library, class_id, number, today=today)}
    if work_id not in found:
        raise NotFound("not-found", item="This work of this number")
    return found[work_id]


def _own_works(session: Session, class_id: int, number: int, today: date, *, finder: NameFinder) -> tuple[OwnWork, ...]:
    shown = finding.shown(session, _own_ids(session, class_id, number, today))
    marked = shows.marked_pictures(session, [one.work_id for one in shown])
    unsure = {key for key, one in marked.items() if regions_in_picture(one) is None}
    return tuple(
        OwnWork(
            replace(one, title="") if finder.places(one.title) else one,
            has_picture=one.derived_key is not None and one.work_id not in unsure,
        )
        for one in shown
    )


def _own_ids(session: Session, class_id: int, number: int, today: date) -> list[int]:
    group, _ = _group_and_day(session, class_id, today)
    student_id = holder(session, class_id, number, today)
    year = school.year_by_id(session, group.year_id).label
    own = Filters(student_id=student_id, class_label=group.label, year=year)
    return finding.matching_ids(session, own, limit=RECENT)


def station_picture(library: Library, class_id: int, work_id: int, *, rung: int) -> bytes:
    """A work's picture as JPEG, with what the teacher has hidden covered. Only works of the station's class."""
    with library.reading() as session:
        shown = finding.shown(session, [work_id])
        marked = shows.marked_pictures(session, [work_id]).get(work_id)
    regions = regions_in_picture(marked) if marked is not None else ()
    if not shown or shown[0].class_id != class_id or not shown[0].derived_key or regions is None or rung not in RUNGS:
        raise NotFound("not-found", item="This picture")
    path = derived_path(library.derived, shown[0].derived_key, rung)
    if not path.is_file():
        raise NotFound("not-found", item="This picture")
    return fresh_jpeg(path.read_bytes(), regions)


def keep_words(library: Library, class_id: int, number: int, work_id: int, text: str, *, today: date) -> None:
    """Keep what a child wrote about one of the own works; the same words sent twice are kept once.

    Refuses words that are blank or too long, and a work that is not this number's.
    """
    if not text.strip() or len(text) > TEXT_MAX:
        found = f"they have more than {TEXT_MAX} letters" if text.strip() else "there are none yet"
        raise PortfolioError("bad-request", item="The words", found=found)
    with library.writing(who=STATION, what=WROTE) as writing:
        session = writing.session
        if work_id not in _own_ids(session, class_id, number, today):
            raise NotFound("not-found", item="This work of this number")
        said = Said(holder(session, class_id, number, today), text, today)
        if not words.has_reflection(session, said):
            words.add_reflection(session, said, work_id=work_id, held=hold(name_finder(session), text))
