"""Set up the school: years, terms, days, lessons, cards, media, centers, and what families have allowed.

Every function is one teacher action: one transaction that can be undone.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from portfolio.archive import history, people, room, school
from portfolio.archive.library import Library, Session
from portfolio.errors import NotFound
from portfolio.flows import releases
from portfolio.model.calendar import Calendar, LostDay, MarkedDay, SchoolYear, Term, TimetableSlot
from portfolio.model.people import Release
from portfolio.model.school import CLASS_CARD_MIN, CentreOpening, ClassGroup
from portfolio.roster import calendar as days
from portfolio.roster.columns import CALENDAR, RELEASES, TIMETABLE, Form, refuse_unsure
from portfolio.roster.read import read_form
from portfolio.roster.school_files import LessonLine, read_days, read_lessons, read_releases
from portfolio.roster.sessions import default_year, read_year_label
from portfolio.roster.table import Table
from portfolio.roster.values import Guess, LineProblem, trouble
from portfolio.roster.words import label_key

SCHOOL_NAME = "school_name"
"""Key of the library's setting."""


@dataclass(frozen=True, slots=True)
class FileTaken:
    """What came of a calendar, timetable or list of releases."""

    taken: int
    """Days, lessons or releases that the file tells and that are now recorded."""
    changed: int
    """How many of them are news."""
    problems: tuple[LineProblem, ...]
    notes: tuple[str, ...] = ()
    action_id: int = 0
    """The step that took it in; 0 while it is only looked at."""

    def as_json(self) -> dict[str, object]:
        """Plain values for machines."""
        return {
            "taken": self.taken,
            "changed": self.changed,
            "problems": [{"line": one.line, "code": one.code, "sentence": one.sentence} for one in self.problems],
            "notes": list(self.notes),
        }


# --- the school and its years -----------------------------------------------------------------------------


def start(
    library: Library,
    *,
    school_name: str = "",
    year: str | None = None,
    starts_on: date | None = None,
    ends_on: date | None = None,
    cycle_days: int = 6,
    first_cycle_day: int = 1,
    lost_day: LostDay = LostDay.SHIFT,
) -> SchoolYear | None:
    """What a new library begins with: starter media and centers, the school's name, and a school year if one is told.

    Days that are not told are 1 August to 31 July.
    """
    with library.writing(who="teacher", what="set up the library") as writing:
        session = writing.session
        room.add_starter(session)
        if school_name:
            room.put_setting(session, SCHOOL_NAME, school_name)
        if year is None:
            return None
        usual = default_year(year)
        made = school.add_year(
            session, usual.label, starts_on=starts_on or usual.starts_on, ends_on=ends_on or usual.ends_on
        )
        school.set_cycle(
            session, made.year_id, cycle_days=cycle_days, first_cycle_day=first_cycle_day, lost_day=lost_day
        )
        return made


def school_name(library: Library) -> str:
    """The school's name; empty when none was set."""
    with library.reading() as session:
        return str(room.setting(session, SCHOOL_NAME) or "")


def keep_note(library: Library, key: str, *, value: object) -> None:
    """Keep a named value of the library that is no setting of the teacher's."""
    with library.writing(who="program", what="kept a note") as writing:
        room.put_setting(writing.session, key, value)


def note(library: Library, key: str) -> object:
    """A named value that was kept; ``None`` when it never was."""
    with library.reading() as session:
        return room.setting(session, key)


def current_year(library: Library, *, today: date | None = None) -> SchoolYear | None:
    """The year that holds today, else the newest; ``None`` in a new library."""
    with library.reading() as session:
        return school.current_year(session, today or _today())


def see_calendar(
    library: Library, year: str | None = None, *, today: date | None = None
) -> tuple[Calendar, tuple[TimetableSlot, ...]]:
    """Days and lessons of a year."""
    with library.reading() as session:
        found = _year(session, year, today=today)
        return school.calendar(session, found.year_id), school.slots(session, found.year_id)


def set_up_year(
    library: Library,
    year: str,
    *,
    starts_on: date | None = None,
    ends_on: date | None = None,
    cycle_days: int | None = None,
    first_cycle_day: int | None = None,
    lost_day: LostDay | None = None,
) -> Calendar:
    """Make a school year, or change what is given of one that is there. New days that are not told: 1 Aug to 31 Jul."""
    usual = default_year(year)
    with library.writing(who="teacher", what="set up a school year") as writing:
        session = writing.session
        found = next((one for one in school.years(session) if one.label == usual.label), None)
        if found is None:
            first, last = starts_on or usual.starts_on, ends_on or usual.ends_on
            found = school.add_year(session, usual.label, starts_on=first, ends_on=last)
        elif starts_on or ends_on:
            first, last = starts_on or found.starts_on, ends_on or found.ends_on
            found = school.move_year(session, found.year_id, starts_on=first, ends_on=last)
        now = school.calendar(session, found.year_id)
        return school.set_cycle(
            session,
            found.year_id,
            cycle_days=cycle_days or now.cycle_days,
            first_cycle_day=first_cycle_day or min(now.first_cycle_day, cycle_days or now.cycle_days),
            lost_day=lost_day or now.lost_day,
        )


def set_terms(library: Library, terms: Iterable[Term], *, year: str | None = None) -> tuple[Term, ...]:
    """Replace the report periods of a year."""
    with library.writing(who="teacher", what="set the terms") as writing:
        found = _year(writing.session, year)
        return school.set_terms(writing.session, found.year_id, terms)


def mark_day(library: Library, marked: MarkedDay) -> None:
    """Mark one day (a snow day, say) in the year that holds it."""
    with library.writing(who="teacher", what="marked a day") as writing:
        session = writing.session
        found = school.year_of_day(session, marked.day)
        if found is None:
            raise NotFound("not-found", item=f"A school year with {marked.day}")
        school.mark_days(session, found.year_id, [marked])


# --- files ------------------------------------------------------------------------------------------------


def look_at_file(path: Path, form: Form, *, columns: Mapping[str, int] | None = None) -> Guess:
    """How the columns of a calendar, timetable or list of releases would be read, to be shown first."""
    return read_form(path, form, columns=columns)[1]


def import_calendar(
    library: Library,
    path: Path,
    *,
    year: str | None = None,
    columns: Mapping[str, int] | None = None,
    looked_at: bool = False,
    today: date | None = None,
) -> FileTaken:
    """Mark the days of a calendar file (day, kind, note; or first and last day)."""
    table, guess = _read(path, CALENDAR, columns=columns, looked_at=looked_at)
    with library.writing(who="teacher", what="imported a calendar") as writing:
        session = writing.session
        found = _year(session, year, today=today)
        file = read_days(table, guess, year=found)
        changed = school.mark_days(session, found.year_id, file.days)
        return FileTaken(len(file.days), changed, file.problems)


def import_timetable(
    library: Library,
    path: Path,
    *,
    year: str | None = None,
    columns: Mapping[str, int] | None = None,
    looked_at: bool = False,
    today: date | None = None,
) -> FileTaken:
    """Set the lessons of the classes in a timetable file; other classes keep theirs."""
    table, guess = _read(path, TIMETABLE, columns=columns, looked_at=looked_at)
    with library.writing(who="teacher", what="imported a timetable") as writing:
        session = writing.session
        found = _year(session, year, today=today)
        before = set(school.slots(session, found.year_id))
        lines, problems = read_lessons(table, guess, cycle_days=school.calendar(session, found.year_id).cycle_days)
        wanted, unknown = _lessons(lines, school.classes(session, found.year_id), table)
        for class_id, slots in wanted.items():
            school.set_slots(session, class_id, slots)
        after = set(school.slots(session, found.year_id))
        clashes = days.overlaps(after)
        notes = (f"{len(clashes)} pairs of lessons overlap.",) if clashes else ()
        taken = sum(len(slots) for slots in wanted.values())
        return FileTaken(taken, len(after ^ before), _in_order([*problems, *unknown]), notes)


def _lessons(
    lines: Iterable[LessonLine], classes: Iterable[ClassGroup], table: Table
) -> tuple[dict[int, list[TimetableSlot]], list[LineProblem]]:
    ids = {label_key(one.label): one.class_id for one in classes}
    wanted: dict[int, list[TimetableSlot]] = {}
    problems = []
    for line in lines:
        class_id = ids.get(label_key(line.class_label))
        if class_id is None:
            problems.append(trouble("roster-class-unknown", line.line, table.file, found=line.class_label[:40]))
            continue
        slot = TimetableSlot(class_id, line.cycle_day, line.starts_at, line.ends_at)
        if slot not in wanted.setdefault(class_id, []):
            wanted[class_id].append(slot)
    return wanted, problems


def preview_releases(
    library: Library,
    path: Path,
    *,
    year: str | None = None,
    columns: Mapping[str, int] | None = None,
    today: date | None = None,
) -> tuple[FileTaken, Guess]:
    """What a list of releases would record, and how its columns are read. Nothing is written."""
    table, guess = _read(path, RELEASES, columns=columns, looked_at=True)
    with library.reading() as session:
        told, problems = _told(session, table, guess, year=year, today=today)
        return FileTaken(len(told), len(releases.news(session, told)), problems), guess


def import_releases(
    library: Library,
    path: Path,
    *,
    year: str | None = None,
    columns: Mapping[str, int] | None = None,
    looked_at: bool = False,
    today: date | None = None,
) -> FileTaken:
    """Record what families have allowed, by class and number or by the school's id. Nothing is allowed on a doubt."""
    table, guess = _read(path, RELEASES, columns=columns, looked_at=looked_at)
    with library.writing(who="teacher", what="imported releases") as writing:
        told, problems = _told(writing.session, table, guess, year=year, today=today)
        changed = sum(people.add_release(writing.session, one) for one in told)
        return FileTaken(len(told), changed, problems, action_id=writing.action_id)


def _told(
    session: Session, table: Table, guess: Guess, *, year: str | None, today: date | None
) -> tuple[tuple[Release, ...], tuple[LineProblem, ...]]:
    lines, bad = read_releases(table, guess)
    found = _year(session, year, today=today)
    told, unknown = releases.of_children(session, lines, year=found, day=found.clamp(today or _today()))
    problems = [trouble("roster-number-empty", line, table.file, found=who) for line, who in unknown]
    return told, _in_order([*bad, *problems])


# --- cards, media, centers --------------------------------------------------------------------------------


def map_card(
    library: Library, card: int, class_label: str, *, year: str | None = None, today: date | None = None
) -> tuple[int, ClassGroup, SchoolYear]:
    """Say which class a class card (301-360, or its slot 1-60) stands for in a year."""
    with library.writing(who="teacher", what="mapped a class card") as writing:
        session = writing.session
        found = _year(session, year, today=today)
        group = school.class_by_label(session, class_label, year_id=found.year_id)
        number = card if card >= CLASS_CARD_MIN else CLASS_CARD_MIN - 1 + card
        school.map_card(session, number, class_id=group.class_id)
        return number, group, found


def map_cards(library: Library, *, year: str | None = None, today: date | None = None) -> Mapping[int, str]:
    """Give every class without a card the next free class card, by label; gives card → class label."""
    with library.writing(who="teacher", what="mapped the class cards") as writing:
        session = writing.session
        found = _year(session, year, today=today)
        cards = school.map_cards_in_order(session, found.year_id)
        return {card: school.class_by_id(session, class_id).label for card, class_id in cards.items()}


def class_cards(library: Library, *, year: str | None = None, today: date | None = None) -> Mapping[int, str]:
    """Card → class label of a year."""
    with library.reading() as session:
        found = _year(session, year, today=today)
        cards = school.class_cards(session, found.year_id)
        return {card: school.class_by_id(session, class_id).label for card, class_id in cards.items()}


def open_centre(
    library: Library,
    label: str,
    *,
    opens_on: date,
    closes_on: date | None = None,
    class_label: str | None = None,
) -> CentreOpening:
    """Say when a center opens, for one class or for all, in the year that holds the day."""
    with library.writing(who="teacher", what=history.CENTER_OPENED) as writing:
        session = writing.session
        year = school.year_of_day(session, opens_on)
        if year is None:
            raise NotFound("not-found", item=f"A school year with {opens_on}")
        found = room.centre_by_label(session, label)
        group = school.class_by_label(session, class_label, year_id=year.year_id) if class_label else None
        opening = CentreOpening(found.centre_id, year.year_id, opens_on, group.class_id if group else None, closes_on)
        room.open_centre(session, opening)
        return opening


def _in_order(problems: Iterable[LineProblem]) -> tuple[LineProblem, ...]:
    return tuple(sorted(problems, key=lambda one: one.line or 0))


def _year(session: Session, year: str | None, *, today: date | None = None) -> SchoolYear:
    return school.pick_year(session, read_year_label(year) if year else None, today=today or _today())


def _read(path: Path, form: Form, *, columns: Mapping[str, int] | None, looked_at: bool) -> tuple[Table, Guess]:
    if not path.exists():
        raise NotFound("path-missing", item=path.name)
    table, guess = read_form(path, form, columns=columns)
    refuse_unsure(guess, looked_at=looked_at)
    return table, guess


def _today() -> date:
    return date.today()  # noqa: DTZ011  the school's own wall time
