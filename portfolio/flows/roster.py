"""Take in a roster: read it, look at what it would change, apply that as one step that can be undone."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from pathlib import Path

from portfolio.archive import people, room, school
from portfolio.archive.library import Library, Session
from portfolio.errors import PortfolioError
from portfolio.model.calendar import SchoolYear
from portfolio.model.people import ChildName, RollEntry
from portfolio.roster.columns import refuse_unsure
from portfolio.roster.matching import SAME, Matcher
from portfolio.roster.plan import Decisions, merged_name, plan_roster
from portfolio.roster.planned import Known, RosterPlan, RosterQuestion, Status
from portfolio.roster.read import look_at_roster, read_roster
from portfolio.roster.sessions import default_year, read_year_label, year_holding
from portfolio.roster.values import Guess, LineProblem, RosterFile, YearTold
from portfolio.roster.words import label_key

NO_YEAR = 0
"""Id of a school year that is not in the library yet."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What an import may be told beside the file."""

    columns: Mapping[str, int] | None = None
    """Meaning → column from 1; wins over the guess."""
    class_label: str | None = None
    """For a list of one class without a class column."""
    grade: str | None = None
    decisions: Decisions | None = None
    """Key of a question → value of one of its choices."""
    looked_at: bool = False
    """The teacher has looked at an unsure guess and wants it applied."""


@dataclass(frozen=True, slots=True)
class RosterResult:
    """What an import did (or, not ``applied``, would do).

    ``students``, ``classes`` and ``enrolments`` count what the file holds and was taken in; ``questions`` wait.
    """

    year: str
    students: int
    classes: int
    enrolments: int
    new: int
    changed: int
    joined: int
    moved: int
    left: int
    unchanged: int
    questions: tuple[RosterQuestion, ...]
    problems: tuple[LineProblem, ...]
    notes: tuple[str, ...] = ()
    action_id: int | None = None

    @property
    def applied(self) -> bool:
        """Whether it was done, not only looked at."""
        return self.action_id is not None

    def as_json(self) -> dict[str, object]:
        """The contract of ``portfolio roster import --json``; what waits is spelled out in ``to_decide``."""
        counts = ("students", "classes", "enrolments", "new", "changed", "left", "joined", "moved", "unchanged")
        return {
            **{key: getattr(self, key) for key in counts},
            "questions": len(self.questions),
            "problems": [{"line": one.line, "code": one.code, "sentence": one.sentence} for one in self.problems],
            "to_decide": [_question_json(one) for one in self.questions],
            "notes": list(self.notes),
            "year": self.year,
            "applied": self.applied,
        }


def _question_json(question: RosterQuestion) -> dict[str, object]:
    return {
        "key": question.key,
        "kind": question.kind,
        "line": question.line,
        "class": question.class_label,
        "sentence": question.sentence,
        "choices": [{"value": choice.value, "text": choice.text} for choice in question.choices],
        "default": question.default,
    }


def look(path: Path, *, asked: Asked | None = None) -> Guess | None:
    """How the columns of a spreadsheet would be read, to be shown first; ``None`` for a OneRoster set."""
    asked = asked or Asked()
    return look_at_roster(path, columns=asked.columns, class_label=asked.class_label)


def preview(
    library: Library, path: Path, *, year: str | None = None, today: date | None = None, asked: Asked | None = None
) -> RosterPlan:
    """What an import would change; nothing is changed."""
    today, asked, label = today or _today(), asked or Asked(), read_year_label(year) if year else None
    roster = _read(path, year=label, today=today, asked=asked)
    with library.reading() as session:
        return _plan(session, roster, label=label, today=today, decisions=asked.decisions or {})


def apply(
    library: Library,
    path: Path,
    *,
    year: str | None = None,
    today: date | None = None,
    asked: Asked | None = None,
    who: str = "teacher",
) -> RosterResult:
    """Take in a roster in one transaction: what needs no decision is done, the rest is told."""
    today, asked, label = today or _today(), asked or Asked(), read_year_label(year) if year else None
    roster = _read(path, year=label, today=today, asked=asked)
    with library.writing(who=who, what="imported a roster") as writing:
        session = writing.session
        made = _make_year(session, roster, label=label, today=today)
        plan = _plan(session, roster, label=label, today=today, decisions=asked.decisions or {})
        _apply(session, plan)
        return summary(replace(plan, notes=(*made, *plan.notes)), action_id=writing.action_id)


def summary(plan: RosterPlan, *, action_id: int | None = None) -> RosterResult:
    """The counts of a plan. Without ``action_id`` it was only looked at."""
    return RosterResult(
        year=plan.year.label,
        students=len(plan.people(*Status)),
        classes=len(plan.classes),
        enrolments=len(plan.steps),
        new=len(plan.people(Status.NEW)),
        changed=len(plan.changed),
        joined=len(plan.people(Status.JOINED)),
        moved=len(plan.people(Status.MOVED)),
        left=len(plan.left),
        unchanged=len(plan.people(Status.UNCHANGED) - plan.changed),
        questions=plan.questions,
        problems=plan.problems,
        notes=plan.notes,
        action_id=action_id,
    )


def same_child(library: Library, keep_id: int, other_id: int) -> None:
    """The teacher says that two records are one child; everything goes to ``keep_id``. Can be undone."""
    with library.writing(who="teacher", what="joined two records of one child") as writing:
        people.join_students(writing.session, keep_id, other_id)


def numbers_by_source(library: Library, *, year: str) -> dict[tuple[str, str], int]:
    """(class label, the school's own id of the child) → number, in one year; for whoever matches files by id."""
    with library.reading() as session:
        found = school.pick_year(session, read_year_label(year), today=date.max)
        labels = {one.class_id: one.label for one in school.classes(session, found.year_id)}
        ids = {one.student_id: one.source_id or one.identifier for one in people.students(session)}
        roll = people.enrolments(session, year_id=found.year_id)
        return {(labels[one.class_id], key): one.number for one in roll if (key := ids[one.student_id]) is not None}


@dataclass(frozen=True, slots=True)
class RollLine:
    """One child of a class, for the teacher's own list. The name is sealed; ``privacy`` opens it for the door."""

    entry: RollEntry
    name: ChildName


def show_class(
    library: Library, label: str, *, year: str | None = None, today: date | None = None
) -> tuple[SchoolYear, tuple[RollLine, ...]]:
    """Who is in a class today (in a year that is over: on its last day), by number."""
    today = today or _today()
    with library.reading() as session:
        found = school.pick_year(session, read_year_label(year) if year else None, today=today)
        group = school.class_by_label(session, label, year_id=found.year_id)
        entries = people.roll(session, day=found.clamp(today), class_id=group.class_id)
        names = people.names(session, {entry.student_id for entry in entries})
        return found, tuple(RollLine(entry, names[entry.student_id]) for entry in entries)


def _today() -> date:
    return date.today()  # noqa: DTZ011  the school's own wall time


# --- reading and planning ---------------------------------------------------------------------------------


def _read(path: Path, *, year: str | None, today: date, asked: Asked) -> RosterFile:
    guess = look(path, asked=asked)
    if guess is not None:
        refuse_unsure(guess, looked_at=asked.looked_at)
    return read_roster(
        path, today=today, year=year, columns=asked.columns, class_label=asked.class_label, grade=asked.grade
    )


def _plan(session: Session, roster: RosterFile, *, label: str | None, today: date, decisions: Decisions) -> RosterPlan:
    told = _year_told(session, roster, label=label, today=today)
    found = next((one for one in school.years(session) if one.label == told.label), None)
    year = found or SchoolYear(NO_YEAR, told.label, told.starts_on, told.ends_on)
    known = Known(
        year,
        school.classes(session, year.year_id),
        tuple(one for one in people.students(session) if not one.erased),
        people.enrolments(session, year_id=year.year_id),
    )
    if decisions:
        _check_decisions(plan_roster(roster, known, today=today), decisions, roster=roster, known=known)
    return plan_roster(roster, known, today=today, decisions=decisions)


def _check_decisions(open_plan: RosterPlan, decisions: Decisions, *, roster: RosterFile, known: Known) -> None:
    """Refuse an answer to no question, and one that is none of the choices.

    "line 14 is student 212" may also be said later, when the line is a child already, but only of a namesake.
    """
    asked = {one.key: {choice.value for choice in one.choices} for one in open_plan.questions}
    matcher = Matcher(known.students, {})
    for child in roster.children:
        later = {f"{SAME}{one.student_id}" for one in matcher.namesakes(child)}
        asked.setdefault(f"line {child.line}", later)
    for key, value in decisions.items():
        if value not in asked.get(key, set()):
            found = f"there is no question '{key}' with that answer"
            raise PortfolioError("bad-request", item="The decision", found=found)


# --- which year -------------------------------------------------------------------------------------------


def _year_told(session: Session, roster: RosterFile, *, label: str | None, today: date) -> YearTold:
    """Asked for · told by the file · the library's year that holds today · the usual year that holds today."""
    if label is not None:
        told = roster.year if roster.year is not None and roster.year.label == label else default_year(label)
    elif roster.year is not None:
        told = roster.year
    else:
        holding = school.year_of_day(session, today)
        told = YearTold(holding.label, holding.starts_on, holding.ends_on) if holding else year_holding(today)
    return _between(session, told)


def _between(session: Session, told: YearTold) -> YearTold:
    """Cut a year's days where another year of the library has them."""
    starts_on, ends_on = told.starts_on, told.ends_on
    for other in school.years(session):
        if other.label < told.label:
            starts_on = max(starts_on, other.ends_on + timedelta(days=1))
        elif other.label > told.label:
            ends_on = min(ends_on, other.starts_on - timedelta(days=1))
    return replace(told, starts_on=starts_on, ends_on=ends_on)


def _make_year(session: Session, roster: RosterFile, *, label: str | None, today: date) -> tuple[str, ...]:
    """Make the year if it is not there, and the starter media in a library that has none; gives what to say of it."""
    if not room.media(session):
        room.add_starter(session)
    told = _year_told(session, roster, label=label, today=today)
    if any(one.label == told.label for one in school.years(session)):
        return ()
    year = school.add_year(session, told.label, starts_on=told.starts_on, ends_on=told.ends_on)
    terms = [one for one in told.terms if year.holds(one.starts_on) and year.holds(one.ends_on)]
    school.set_terms(session, year.year_id, terms)
    why = "as the file tells" if roster.year is not None and roster.year.label == told.label else "the usual days"
    return (f"The school year {told.label} was made: {told.starts_on} to {told.ends_on}, {why}.",)


# --- applying ---------------------------------------------------------------------------------------------


def _apply(session: Session, plan: RosterPlan) -> None:
    for kept, other in plan.joins:
        people.join_students(session, kept, other)
    classes = _apply_classes(session, plan)
    for ending in plan.endings:
        people.end_enrolment(session, ending.entry, to_day=ending.to_day)
    ids = _apply_students(session, plan)
    for step in plan.steps:
        if step.enrols:
            people.enrol(
                session,
                ids[step.person],
                class_id=classes[label_key(step.child.class_label)],
                number=step.number,
                from_day=step.from_day,
                to_day=step.child.to_day,
            )
    back = {ids[step.person] for step in plan.steps if step.enrols}
    for record in people.students(session, back):
        if record.left_on is not None:
            people.set_left(session, record.student_id, None)
    _note_left(session, plan)


def _apply_classes(session: Session, plan: RosterPlan) -> dict[str, int]:
    """Key of the class label as the file has it → class id."""
    ids: dict[str, int] = {}
    for step in plan.classes:
        class_id = step.class_id
        if class_id is None:
            class_id = school.add_class(
                session, plan.year.year_id, label=step.label, grade=step.grade, source_id=step.source_id
            ).class_id
        elif step.changes:
            school.change_class(session, class_id, label=step.label, grade=step.grade, source_id=step.source_id)
        ids[label_key(step.file_label)] = class_id
    return ids


def _apply_students(session: Session, plan: RosterPlan) -> dict[str, int]:
    """Person of the plan → student id. A new child is made once, however many lines it has."""
    ids: dict[str, int] = {}
    known = people.names(session, {step.student_id for step in plan.steps if step.student_id is not None})
    for step in plan.steps:
        child = step.child
        if step.student_id is not None:
            ids[step.person] = step.student_id
            if step.changes:
                name = merged_name(known[step.student_id], child.name)
                people.change_student(
                    session, step.student_id, name=name, source_id=child.source_id, identifier=child.identifier
                )
        elif step.person not in ids:
            made = people.add_student(session, child.name, source_id=child.source_id, identifier=child.identifier)
            ids[step.person] = made.student_id
    return ids


def _note_left(session: Session, plan: RosterPlan) -> None:
    """A child who holds no number any more has left, until a roster brings it back."""
    last = {ending.entry.student_id: ending.to_day for ending in plan.endings if not ending.moved}
    still = {
        entry.student_id
        for entry in people.enrolments(session, year_id=plan.year.year_id)
        if entry.to_day is None or entry.to_day > last.get(entry.student_id, date.max)
    }
    for student_id, day in last.items():
        if student_id not in still:
            people.set_left(session, student_id, day)
