"""What would an import change? A pure comparison of a roster file with what the library knows.

A number never changes by itself: who holds one keeps it, a joiner gets the next one that nobody held this year, and
only in a class without numbers they are handed out in order of family and given name.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import date, timedelta

from portfolio.model.people import NUMBER_MAX, NUMBER_MIN, ChildName, RollEntry, StudentRecord
from portfolio.model.school import ClassGroup
from portfolio.roster.matching import Match, Matcher
from portfolio.roster.planned import Choice, ClassStep, Ending, Known, RosterPlan, RosterQuestion, Status, Step
from portfolio.roster.values import LineProblem, RosterChild, RosterClass, RosterFile, trouble
from portfolio.roster.words import label_key

FEW_LEFT = 3
"""So many children may be missing from a class without a question, or half of the class."""

Decisions = Mapping[str, str]


def plan_roster(roster: RosterFile, known: Known, *, today: date, decisions: Decisions | None = None) -> RosterPlan:
    """What applying ``roster`` would do on ``today``. ``decisions``: key of a question → value of a choice."""
    return _Planner(roster, known, today=today, decisions=decisions or {}).plan()


class _Planner:
    def __init__(self, roster: RosterFile, known: Known, *, today: date, decisions: Decisions) -> None:
        self.roster, self.known, self.decisions = roster, known, decisions
        self.today = known.year.clamp(today)
        self.matcher = Matcher(known.students, decisions)
        self.matcher.doubt_ids(roster.children)
        self.records = {one.student_id: one for one in known.students}
        self.questions: list[RosterQuestion] = []
        self.problems: list[LineProblem] = list(roster.problems)
        self.endings: dict[RollEntry, Ending] = {}
        self.joins: dict[int, int] = {}
        """Other record → the one that is kept."""
        self.asked: set[int] = set()
        """Children in an open question: they are not taken for missing."""

    def plan(self) -> RosterPlan:
        classes = tuple(self._class_step(one) for one in self.roster.classes)
        ids = {label_key(one.file_label): one.class_id for one in classes}
        steps: list[Step] = []
        for step in classes:
            steps.extend(self._class(step))
        self._end_gone(ids)
        self._end_missing(steps, ids)
        steps = self._end_moved(steps, ids)
        order = {one.label: place for place, one in enumerate(classes)}
        labels = {label_key(one.file_label): one.label for one in classes}
        steps.sort(key=lambda step: (order[labels[label_key(step.child.class_label)]], step.number))
        return RosterPlan(
            self.known.year,
            classes,
            tuple(steps),
            tuple(self.endings.values()),
            tuple((kept, other) for other, kept in self.joins.items()),
            tuple(self.questions),
            tuple(self.problems),
            self.roster.notes,
        )

    # --- classes ---

    def _class_step(self, told: RosterClass) -> ClassStep:
        by_source = [one for one in self.known.classes if told.source_id and one.source_id == told.source_id]
        by_label = [one for one in self.known.classes if label_key(one.label) == label_key(told.label)]
        found = next(iter(by_source or by_label), None)
        if found is None:
            return ClassStep(told.label, told.grade, told.source_id, None, told.label)
        taken = any(one.class_id != found.class_id for one in by_label)
        label = found.label if taken or label_key(found.label) == label_key(told.label) else told.label
        source_id = told.source_id or found.source_id
        wanted = ClassGroup(found.class_id, found.year_id, label, told.grade, source_id)
        changes = [key for key in ("label", "grade", "source_id") if getattr(wanted, key) != getattr(found, key)]
        return ClassStep(label, told.grade, source_id, found.class_id, told.label, tuple(changes))

    # --- children of one class ---

    def _class(self, group: ClassStep) -> list[Step]:
        key = label_key(group.file_label)
        children = [child for child in self.roster.children if label_key(child.class_label) == key]
        lines = [entry for entry in self.known.roll if entry.class_id == group.class_id]
        numbers = _Numbers(lines, self.problems)
        steps: list[Step] = []
        waiting: list[tuple[RosterChild, int | None]] = []
        for child, match in self._matches(children, lines):
            entry = _open_entry(lines, match.student_id, self.today) or _open_entry(lines, match.joins, self.today)
            if child.to_day is not None and child.to_day < self.today and lines:
                self._end_early(child, entry)
            elif entry is not None:
                numbers.keep(child, entry)
                steps.append(self._step(child, match.student_id, entry.number, entry.from_day, enrols=False))
            else:
                waiting.append((child, match.student_id))
        fresh = not lines
        for child, student_id, number in numbers.hand_out(waiting):
            from_day = self._first_day(child, lines, student_id, fresh=fresh)
            steps.append(self._step(child, student_id, number, from_day, enrols=True))
        return steps

    def _matches(self, children: list[RosterChild], lines: list[RollEntry]) -> Iterable[tuple[RosterChild, Match]]:
        """Lines with ids first, so that a name never takes a child away from an id."""
        free = list(lines)
        met: set[int] = set()
        for child in sorted(children, key=lambda one: (not (one.source_id or one.identifier), one.line)):
            match = self.matcher.match(child, [entry for entry in free if entry.student_id not in met])
            if match.question is not None:
                self.questions.append(match.question)
                if match.held:
                    self.asked.update(match.question.student_ids)
                    continue
            if match.joins is not None and match.student_id is not None:
                self.joins[match.joins] = match.student_id
                met.add(match.joins)
            if match.student_id in met:
                self.problems.append(trouble("roster-line-twice", child.line, child.file, found="the same child"))
                continue
            if match.student_id is not None:
                met.add(match.student_id)
            yield child, match

    def _step(self, child: RosterChild, student_id: int | None, number: int, from_day: date, *, enrols: bool) -> Step:
        known = self.records.get(student_id) if student_id is not None else None
        person = f"student {student_id}" if known is not None else _person(child)
        status = Status.NEW if known is None else Status.JOINED if enrols else Status.UNCHANGED
        changes = _changes(known, child) if known is not None else ()
        return Step(child, status, student_id, person, number, from_day, enrols, changes)

    def _first_day(self, child: RosterChild, lines: list[RollEntry], student_id: int | None, *, fresh: bool) -> date:
        """The first day told if it lies in the year; else the year's first day for a new class, today for a joiner."""
        year = self.known.year
        told = child.from_day if child.from_day is not None and year.holds(child.from_day) else None
        day = told or (year.starts_on if fresh else self.today)
        ended = [one.to_day for one in lines if one.student_id == student_id and one.to_day is not None]
        return max([day, *(last + timedelta(days=1) for last in ended)])

    # --- who gives up a number ---

    def _end(self, entry: RollEntry, to_day: date, *, moved: bool = False) -> None:
        self.endings.setdefault(entry, Ending(entry, max(to_day, entry.from_day), moved))

    def _end_early(self, child: RosterChild, entry: RollEntry | None) -> None:
        """The file itself gives a last day that has passed."""
        if entry is not None and child.to_day is not None:
            self._end(entry, child.to_day)

    def _end_gone(self, ids: Mapping[str, int | None]) -> None:
        """Lines that the file itself marks as ended."""
        for label, source_id in self.roster.gone:
            student = self.matcher.by_source.get(source_id)
            for entry in self._open():
                if student and entry.student_id == student.student_id and entry.class_id == ids.get(label_key(label)):
                    self._end(entry, self.today - timedelta(days=1))

    def _end_missing(self, steps: list[Step], ids: Mapping[str, int | None]) -> None:
        """Who held a number in a class that the file lists completely, and is not in it any more."""
        if not self.roster.whole:
            return
        placed = {(step.student_id, ids[label_key(step.child.class_label)]) for step in steps}
        elsewhere = {student_id for student_id, _ in placed}
        for class_id in [one for one in ids.values() if one is not None]:
            here = [one for one in self._open() if one.class_id == class_id]
            stay = self.asked | set(self.joins) | {student for student, place in placed if place == class_id}
            missing = [one for one in here if one.student_id not in stay]
            leaving = [one for one in missing if one.student_id not in elsewhere]
            kept = self._ask_many(class_id, leaving, here)
            for entry in missing:
                if entry not in kept:
                    self._end(entry, self.today - timedelta(days=1), moved=entry.student_id in elsewhere)

    def _ask_many(self, class_id: int, leaving: list[RollEntry], here: list[RollEntry]) -> list[RollEntry]:
        """Half a class missing is rather a list that was cut short: ask first. Gives who stays for now."""
        label = next(one.label for one in self.known.classes if one.class_id == class_id)
        key = f"left {label}"
        if len(leaving) <= FEW_LEFT or len(leaving) * 2 <= len(here) or self.decisions.get(key) == "left":
            return []
        sentence = (
            f"{len(leaving)} of {len(here)} children of {label} are not in the file. That may be a list that was cut "
            "short, so they keep their numbers until you decide."
        )
        choices = (Choice("keep", "they are still here"), Choice("left", "they have left the class"))
        ids = tuple(one.student_id for one in leaving)
        self.questions.append(RosterQuestion(key, "many-left", None, label, sentence, choices, "keep", ids))
        return leaving

    def _end_moved(self, steps: list[Step], ids: Mapping[str, int | None]) -> list[Step]:
        """Who gets a number in one class while holding one in another class of this year."""
        done = []
        for step in steps:
            if not step.enrols or step.student_id is None:
                done.append(step)
                continue
            class_id = ids[label_key(step.child.class_label)]
            before = [one for one in self.known.roll if one.student_id == step.student_id]
            moved = any(ending.moved and ending.entry in before for ending in self.endings.values())
            for entry in before:
                held = entry.class_id != class_id and entry in self._open() and entry.class_id not in ids.values()
                moved = moved or (held and self._ask_moved(step, entry))
            done.append(replace(step, status=Status.MOVED) if moved else step)
        return done

    def _ask_moved(self, step: Step, entry: RollEntry) -> bool:
        """The file says nothing about the class the child was in: both may be true."""
        key = f"moved {step.child.line}"
        if self.decisions.get(key) == "moved":
            self._end(entry, step.from_day - timedelta(days=1), moved=True)
            return True
        label = next(one.label for one in self.known.classes if one.class_id == entry.class_id)
        sentence = (
            f"Line {step.child.line}: this child holds number {entry.number} in {label}, which is not in the file. "
            "Until you decide, the child is in both classes."
        )
        choices = (Choice("both", "in both classes"), Choice("moved", f"has left {label}"))
        self.questions.append(
            RosterQuestion(
                key,
                "two-classes",
                step.child.line,
                step.child.class_label,
                sentence,
                choices,
                "both",
                (entry.student_id,),
            )
        )
        return False

    def _open(self) -> list[RollEntry]:
        return [
            entry
            for entry in self.known.roll
            if (entry.to_day is None or entry.to_day >= self.today) and entry not in self.endings
        ]


class _Numbers:
    """The numbers of one class in one year: who held one keeps it, and none is given to another child."""

    def __init__(self, lines: list[RollEntry], problems: list[LineProblem]) -> None:
        self.held = {entry.number: entry.student_id for entry in lines}
        self.problems = problems

    def keep(self, child: RosterChild, entry: RollEntry) -> None:
        """A child who holds a number keeps it, whatever the file says; the difference is told."""
        if child.number is not None and child.number != entry.number:
            found = f"{child.number} instead of {entry.number}"
            self.problems.append(trouble("roster-number-kept", child.line, child.file, found=found))

    def hand_out(self, waiting: list[tuple[RosterChild, int | None]]) -> Iterable[tuple[RosterChild, int | None, int]]:
        """Numbers told by the file first, then the ones held before, then the next free ones in order of names."""
        given: dict[int, int] = {}
        for child, student_id in sorted(waiting, key=lambda one: one[0].line):
            before = [number for number, holder in self.held.items() if student_id and holder == student_id]
            number = before[0] if before else self._told(child)
            if number is not None:
                given[child.order] = number
                self.held[number] = student_id or 0
        for child, student_id in sorted(waiting, key=lambda one: one[0].order):
            number = given.get(child.order) or self._free()
            if number is None:
                self.problems.append(trouble("roster-class-full", child.line, child.file))
                continue
            self.held.setdefault(number, student_id or 0)
            yield child, student_id, number

    def _told(self, child: RosterChild) -> int | None:
        if child.number is not None and child.number in self.held:
            self.problems.append(trouble("roster-number-twice", child.line, child.file, found=f"number {child.number}"))
            return None
        return child.number

    def _free(self) -> int | None:
        return next((number for number in range(NUMBER_MIN, NUMBER_MAX + 1) if number not in self.held), None)


def next_free_number(lines: Iterable[RollEntry]) -> int | None:
    """The next number that nobody held in this class this year; ``None`` when all 40 are taken."""
    return _Numbers(list(lines), [])._free()  # noqa: SLF001  the one rule, for classes changed by hand too


def _open_entry(lines: list[RollEntry], student_id: int | None, today: date) -> RollEntry | None:
    """The number this child holds today, or will hold."""
    mine = [one for one in lines if student_id is not None and one.student_id == student_id]
    return next((one for one in reversed(mine) if one.to_day is None or one.to_day >= today), None)


def _person(child: RosterChild) -> str:
    if child.source_id:
        return f"source {child.source_id}"
    return f"id {child.identifier}" if child.identifier else f"line {child.line}"


def _changes(known: StudentRecord, child: RosterChild) -> tuple[str, ...]:
    """What the file says otherwise. A part that the file does not give is not a change."""
    name = merged_name(known.name, child.name)
    changes = [
        f"{part} name"
        for part in ("given", "family", "preferred", "middle")
        if getattr(name, part) != getattr(known.name, part)
    ]
    if set(child.name.also) - set(known.name.also):
        changes.append("other spellings")
    new_source = child.source_id and child.source_id != known.source_id
    new_identifier = child.identifier and child.identifier not in (known.identifier, known.source_id)
    return (*changes, "id") if new_source or new_identifier else tuple(changes)


def merged_name(known: ChildName, told: ChildName) -> ChildName:
    """The name told by the file; preferred and middle name stay as they are when the file is silent."""
    return ChildName(told.given, told.family, told.preferred or known.preferred, told.middle or known.middle, told.also)
