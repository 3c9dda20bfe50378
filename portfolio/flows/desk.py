"""What the drawers of the app show: the day, what waits, the classes, what is kept for a term, the school.

Every function reads one snapshot and gives frozen values; names come opened for the teacher, by ``privacy``.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from portfolio.archive import desk, finding, people, room, school
from portfolio.archive.desk import BatchLine
from portfolio.archive.library import Library, Session
from portfolio.errors import NotFound
from portfolio.flows import arriving
from portfolio.model.calendar import Calendar, SchoolYear, Term, TimetableSlot, term_of
from portfolio.model.finding import WorkShown
from portfolio.model.people import Audience, ChildName, RollEntry
from portfolio.model.school import Centre, ClassGroup, Medium
from portfolio.privacy.asking import asked_for
from portfolio.privacy.forms import first_name_for_teacher, label_for
from portfolio.privacy.releases import may_show
from portfolio.roster import calendar as days

FRESH = timedelta(days=7)
"""So long a child remembers what a work was about; older works without words are not counted as waiting."""
LATEST = 18
"""Works of the last lesson day shown on Today."""
LONGEST_BREAK_DAYS = 30
"""So far ahead the next lesson is looked for; beyond it, it is summer."""


@dataclass(frozen=True, slots=True)
class Standing:
    """What every page needs to know: the school, the year, and how many questions wait."""

    school: str
    year: str
    waits: int


def standing(library: Library, today: date) -> Standing:
    """The school's name, the current year, and the open questions."""
    with library.reading() as session:
        year = school.current_year(session, today)
        name = room.setting(session, "school_name")
        return Standing(str(name or ""), year.label if year else "", desk.waiting(session).total())


# --- today ------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class LessonSeen:
    """One lesson of the day: the class, how many children, what was filed, what waits, what is open."""

    slot: TimetableSlot
    group: ClassGroup
    children: int
    filed: int
    waits: int
    centers: tuple[str, ...]
    opens_today: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class DaySeen:
    """The day as Today shows it."""

    day: date
    cycle_day: int | None
    cycle_days: int
    lessons: tuple[LessonSeen, ...]
    has_timetable: bool
    waits: Mapping[int | None, int]
    labels: Mapping[int, str]
    latest_day: date | None
    latest: tuple[WorkShown, ...]
    next_show: tuple[int, str, date] | None
    term: Term | None
    without_words: int = 0
    """Works of the last days about which no child has said anything yet."""
    on_their_way: Mapping[int, int] = field(default_factory=dict)
    """Batch → originals that were begun and did not come whole yet, newest batch first."""
    next_lesson: tuple[date, TimetableSlot, str] | None = None
    """On a day without lessons: the day, the slot and the class of the next one."""


def see_day(library: Library, today: date) -> DaySeen:
    """The lessons of the day on the school's cycle, what waits, and the works of the last lesson day."""
    with library.reading() as session:
        waits = desk.waiting(session)
        last = desk.last_day(session, today)
        latest = finding.shown(session, desk.works_of_day(session, last, limit=LATEST)) if last else []
        year = school.current_year(session, today)
        if year is None:
            coming = arriving.by_batch(library)
            return DaySeen(today, None, 0, (), False, waits, {}, last, tuple(latest), None, None, on_their_way=coming)
        calendar = school.calendar(session, year.year_id)
        slots = school.slots(session, year.year_id)
        groups = {one.class_id: one for one in school.classes(session, year.year_id)}
        lessons = days.slots_on(calendar, today, slots=slots)
        return DaySeen(
            day=today,
            cycle_day=days.cycle_day(calendar, today),
            cycle_days=calendar.cycle_days,
            lessons=tuple(_lessons(session, lessons, groups=groups, today=today, waits=waits, year=year)),
            has_timetable=bool(slots),
            waits=waits,
            labels={key: one.label for key, one in groups.items()},
            latest_day=last,
            latest=tuple(latest),
            next_show=desk.next_show(session, today),
            term=term_of(calendar.terms, today),
            without_words=desk.without_words(session, today - FRESH, today),
            on_their_way=arriving.by_batch(library),
            next_lesson=None if lessons else _next_lesson(calendar, today, slots=slots, groups=groups),
        )


def _next_lesson(
    calendar: Calendar, today: date, *, slots: Sequence[TimetableSlot], groups: Mapping[int, ClassGroup]
) -> tuple[date, TimetableSlot, str] | None:
    """The first lesson after today, up to the end of the longest break."""
    for ahead in range(1, LONGEST_BREAK_DAYS + 1):
        day = today + timedelta(days=ahead)
        if lessons := days.slots_on(calendar, day, slots=slots):
            return day, lessons[0], groups[lessons[0].class_id].label
    return None


def _lessons(
    session: Session,
    slots: Iterable[TimetableSlot],
    *,
    groups: Mapping[int, ClassGroup],
    today: date,
    waits: Mapping[int | None, int],
    year: SchoolYear,
) -> Iterable[LessonSeen]:
    filed = desk.filed_on(session, today)
    openings = room.openings(session, year.year_id)
    names = {one.centre_id: one.label for one in room.centres(session)}
    for slot in slots:
        key = slot.class_id
        opened = room.open_centres(session, year.year_id, class_id=key, day=today)
        fresh = [one.centre_id for one in openings if one.opens_on == today and one.covers(today, class_id=key)]
        yield LessonSeen(
            slot=slot,
            group=groups[key],
            children=len(people.roll(session, day=today, class_id=key)),
            filed=filed.get(key, 0),
            waits=waits.get(key, 0),
            centers=tuple(one.label for one in opened),
            opens_today=tuple(names[one] for one in fresh),
        )


# --- lists to pick from -----------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Picks:
    """What can be chosen for a batch, and the newest batches."""

    classes: tuple[ClassGroup, ...]
    media: tuple[Medium, ...]
    batches: tuple[BatchLine, ...]


def see_picks(library: Library, today: date) -> Picks:
    """Classes of the year, media in use, and the newest batches."""
    with library.reading() as session:
        year = school.current_year(session, today)
        classes = school.classes(session, year.year_id) if year else ()
        media = tuple(one for one in room.media(session) if one.active)
        return Picks(classes, media, tuple(desk.batches(session, limit=6)))


def see_lesson_now(library: Library, today: date, *, now: datetime | None = None) -> str:
    """The class whose lesson is on or was the last one today, like "3B, at 10:05"; empty when there was none."""
    moment = now or datetime.now()  # noqa: DTZ005  the school's wall time
    with library.reading() as session:
        year = school.current_year(session, today)
        if year is None or moment.date() != today:
            return ""
        calendar = school.calendar(session, year.year_id)
        slots = days.slots_on(calendar, today, slots=school.slots(session, year.year_id))
        begun = [one for one in slots if one.starts_at <= moment.time()]
        if not begun:
            return ""
        label = school.class_by_id(session, begun[-1].class_id).label
        return f"{label}, at {(begun[-1].starts_at.hour - 1) % 12 + 1}:{begun[-1].starts_at.minute:02d}"


def see_class_picks(library: Library, today: date) -> tuple[ClassGroup, ...]:
    """Classes of the year, to choose from."""
    with library.reading() as session:
        year = school.current_year(session, today)
        return school.classes(session, year.year_id) if year else ()


# --- classes and children ---------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class ClassSeen:
    """A class of a year with its children and kept works counted."""

    group: ClassGroup
    children: int
    works: int


def see_classes(
    library: Library, today: date, *, year: str | None = None
) -> tuple[SchoolYear | None, tuple[str, ...], tuple[ClassSeen, ...]]:
    """The year that is shown, every year's label (newest first), and the classes of that year."""
    with library.reading() as session:
        known = school.years(session)
        labels = tuple(one.label for one in reversed(known))
        shown = school.pick_year(session, year, today=today) if year else school.current_year(session, today)
        if shown is None:
            return None, labels, ()
        kept = desk.kept_by_class(session, shown.year_id)
        day = shown.clamp(today)
        holding: dict[int, int] = {}
        for entry in people.roll(session, day=day, year_id=shown.year_id):
            holding[entry.class_id] = holding.get(entry.class_id, 0) + 1
        groups = school.classes(session, shown.year_id)
        return (
            shown,
            labels,
            tuple(ClassSeen(one, holding.get(one.class_id, 0), kept.get(one.class_id, 0)) for one in groups),
        )


@dataclass(frozen=True, slots=True)
class ChildLine:
    """A child in a list, with the name opened for the teacher."""

    student_id: int
    class_id: int
    class_label: str
    number: int
    name: str
    first_name: str
    works: int
    last: date | None


def see_roll(library: Library, class_id: int, *, today: date) -> tuple[ClassGroup, tuple[ChildLine, ...]]:
    """The children of a class by number, on today or the nearest day of its year."""
    with library.reading() as session:
        group = school.class_by_id(session, class_id)
        day = school.year_by_id(session, group.year_id).clamp(today)
        entries = people.roll(session, day=day, class_id=class_id)
        return group, _child_lines(session, entries, labels={class_id: group.label})


def _child_lines(session: Session, entries: Iterable[RollEntry], *, labels: Mapping[int, str]) -> tuple[ChildLine, ...]:
    held = list(entries)
    names = people.names(session, {one.student_id for one in held})
    kept = {key: desk.kept_by_child(session, key) for key in {one.class_id for one in held}}
    return tuple(
        ChildLine(
            student_id=one.student_id,
            class_id=one.class_id,
            class_label=labels[one.class_id],
            number=one.number,
            name=teachers_name(names[one.student_id]),
            first_name=first_name_for_teacher(names[one.student_id]),
            works=kept[one.class_id].get(one.student_id, (0, None))[0],
            last=kept[one.class_id].get(one.student_id, (0, None))[1],
        )
        for one in held
    )


def teachers_name(name: ChildName) -> str:
    """A child's whole name, for the teacher's own screen."""
    return label_for(name, Audience.TEACHER, releases=(), grade="", day=date.min)


def look_for_children(
    library: Library, typed: str, *, today: date, class_id: int | None = None
) -> tuple[ChildLine, ...]:
    """The children of the current year whose name holds what was typed, the one meant by "3B-14", or for "14" those
    with this number: in the class ``class_id``, or in every class.
    """
    with library.reading() as session:
        year = school.current_year(session, today)
        if year is None:
            return ()
        labels = {one.class_id: one.label for one in school.classes(session, year.year_id)}
        entries = people.roll(session, day=year.clamp(today), year_id=year.year_id)
        if typed.isdecimal():
            held = [one for one in entries if one.number == int(typed) and class_id in (None, one.class_id)]
            return _child_lines(session, held, labels=labels)
        try:
            wanted = {people.resolve_student(session, typed, year_id=year.year_id, day=today)}
        except NotFound:
            ids = {one.student_id for one in entries}
            wanted = set(asked_for(typed, people.names(session, ids)))
        return _child_lines(session, [one for one in entries if one.student_id in wanted], labels=labels)


# --- report galleries and settings --------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class TermLine:
    """What is kept for one class in a term."""

    group: ClassGroup
    children: int
    works: int
    with_words: int
    nothing: int


def see_term(library: Library, today: date) -> tuple[Term | None, SchoolYear | None, tuple[TermLine, ...]]:
    """What report pages of this term could show, class by class. Without terms the whole year counts."""
    with library.reading() as session:
        year = school.current_year(session, today)
        if year is None:
            return None, None, ()
        term = term_of(school.terms(session, year.year_id), today)
        first, last = (term.starts_on, term.ends_on) if term else (year.starts_on, year.ends_on)
        works = desk.works_between(session, first, last)
        words = desk.words_between(session, first, last)
        rolls: dict[int, list[int]] = {}
        for entry in people.roll(session, day=year.clamp(today), year_id=year.year_id):
            rolls.setdefault(entry.class_id, []).append(entry.student_id)
        lines = []
        for group in school.classes(session, year.year_id):
            children = rolls.get(group.class_id, [])
            kept: Mapping[int, int] = works.get(group.class_id, {})
            lines.append(
                TermLine(
                    group=group,
                    children=len(children),
                    works=sum(kept.values()),
                    with_words=sum(1 for child in children if words.get(child)),
                    nothing=sum(1 for child in children if not kept.get(child)),
                )
            )
        return term, year, tuple(lines)


@dataclass(frozen=True, slots=True)
class SchoolSeen:
    """The school as the library knows it."""

    name: str
    year: SchoolYear | None
    years: tuple[str, ...]
    cycle_days: int
    lessons: int
    terms: tuple[Term, ...]
    classes: int
    children: int
    media: tuple[Medium, ...]
    centers: tuple[Centre, ...]
    photos: int
    works: int
    reflections: int


def see_school(library: Library, today: date) -> SchoolSeen:
    """School, year, timetable, media, centers, and how much is kept."""
    with library.reading() as session:
        year = school.current_year(session, today)
        photos, works, reflections = desk.kept_in_all(session)
        name = room.setting(session, "school_name")
        return SchoolSeen(
            name=str(name or ""),
            year=year,
            years=tuple(one.label for one in reversed(school.years(session))),
            cycle_days=school.calendar(session, year.year_id).cycle_days if year else 0,
            lessons=len(school.slots(session, year.year_id)) if year else 0,
            terms=school.terms(session, year.year_id) if year else (),
            classes=len(school.classes(session, year.year_id)) if year else 0,
            children=len(people.roll(session, day=year.clamp(today), year_id=year.year_id)) if year else 0,
            media=room.media(session),
            centers=room.centres(session),
            photos=photos,
            works=works,
            reflections=reflections,
        )


# --- what was typed -----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Understood:
    """What a typed line means besides its words: one child by class and number, or a class."""

    student_id: int | None = None
    class_label: str | None = None


def understand(library: Library, typed: str, *, today: date) -> Understood:
    """Whether a line like "3B-14" means a child, or "3B" a class, of the current year; words mean neither."""
    plain = typed.strip()
    if not plain or len(plain) > 40 or plain.isdecimal():
        return Understood()
    with library.reading() as session:
        year = school.current_year(session, today)
        if year is None:
            return Understood()
        try:
            if "-" in plain:
                found = people.resolve_student(session, plain, year_id=year.year_id, day=today)
                return Understood(student_id=found)
            return Understood(class_label=school.class_by_label(session, plain, year_id=year.year_id).label)
        except NotFound:
            return Understood()


# --- one child and one class, beside their works --------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class ChildNow:
    """Where a child is now, and who may see the works: audience → allowed."""

    class_label: str
    class_id: int | None
    number: int | None
    shown_to: Mapping[Audience, bool]


def see_child(library: Library, student_id: int, *, today: date) -> ChildNow:
    """The child's number in the current year (or the nearest day of it), and what the family has allowed."""
    with library.reading() as session:
        year = school.current_year(session, today)
        day = year.clamp(today) if year else today
        holding = [one for one in people.enrolments(session, student_id=student_id) if one.holds_on(day)]
        allowed = people.releases(session, [student_id])
        entry = holding[-1] if holding else None
        return ChildNow(
            class_label=school.class_by_id(session, entry.class_id).label if entry else "",
            class_id=entry.class_id if entry else None,
            number=entry.number if entry else None,
            shown_to={one: may_show(allowed, one, day=today) for one in (Audience.SCHOOL, Audience.PUBLIC)},
        )


def class_and_year(library: Library, class_id: int) -> tuple[ClassGroup, SchoolYear]:
    """A class and its school year."""
    with library.reading() as session:
        group = school.class_by_id(session, class_id)
        return group, school.year_by_id(session, group.year_id)
