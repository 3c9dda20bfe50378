"""Any list of children that a spreadsheet program or a school system saved as CSV."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace

from portfolio.model.people import NUMBER_MAX, NUMBER_MIN
from portfolio.roster.columns import ROSTER, guess_columns, told
from portfolio.roster.names import child_name, name_order, split_name
from portfolio.roster.sheet import Sheet
from portfolio.roster.table import Line, Table
from portfolio.roster.values import Guess, LineProblem, RosterChild, RosterClass, RosterFile, trouble
from portfolio.roster.words import date_of, grade_in_label, grade_of, label_key

MAX_LABEL = 40


@dataclass(slots=True)
class _Found:
    """A child with the plain sort key, which never leaves this module."""

    child: RosterChild
    key: tuple[str, ...] = field(repr=False)
    grade: str | None = None


def guess_roster(table: Table, *, named: Mapping[str, int] | None = None, class_label: str | None = None) -> Guess:
    """What each column means. A list of one class has no class column: ``class_label`` stands in for it."""
    guess = guess_columns(table, ROSTER, named=named)
    if class_label is not None:
        guess = replace(guess, missing=tuple(one for one in guess.missing if one != "class"))
    return guess


def read_spreadsheet(
    table: Table, guess: Guess, *, class_label: str | None = None, grade: str | None = None
) -> RosterFile:
    """Read the children of a table by a guess that was looked at (or is sure). Refuses one with something missing."""
    sheet = Sheet(table, guess)
    reader = _Reader(sheet, class_label, grade, sheet.day_first("from", "to"))
    found = list(_once(reader.children(), sheet.problems))
    grades = _grades(found)
    kept = [one for one in found if reader.has_grade(one, grades)]
    ranked = sorted(kept, key=lambda one: (one.key, one.child.line))
    children = [replace(one.child, order=place) for place, one in enumerate(ranked)]
    labels = {label_key(child.class_label): child.class_label for child in reversed(children)}
    classes = tuple(RosterClass(label, grades[key]) for key, label in sorted(labels.items(), key=lambda item: item[1]))
    same_label = [replace(child, class_label=labels[label_key(child.class_label)]) for child in children]
    in_order = sorted(same_label, key=lambda child: child.line)
    ordered = sorted(sheet.problems, key=lambda one: one.line or 0)
    return RosterFile(table.file, "spreadsheet", classes, tuple(in_order), tuple(ordered), guess=guess)


@dataclass(frozen=True, slots=True)
class _Reader:
    """Reads one line after the other; what is wrong is told to the sheet."""

    sheet: Sheet
    class_label: str | None
    grade: str | None
    day_first: bool

    def children(self) -> Iterator[_Found]:
        """Every line that can be taken in."""
        for line in self.sheet.body:
            found = self._child(line)
            if found is not None:
                yield found

    def has_grade(self, found: _Found, grades: Mapping[str, str]) -> bool:
        """Whether the class's grade is known; without it the line is told and left out."""
        if label_key(found.child.class_label) in grades:
            return True
        line = found.child.line
        if not any(one.line == line and one.code == "roster-grade-unknown" for one in self.sheet.problems):
            self.sheet.tell("roster-grade-unknown", line, "no grade is given")
        return False

    def _child(self, line: Line) -> _Found | None:
        given, family = self.sheet.cell(line, "first name"), self.sheet.cell(line, "last name")
        if not given and not family:
            given, family = split_name(self.sheet.cell(line, "full name"), family_first=self._family_first())
        preferred, middle = self.sheet.cell(line, "preferred"), self.sheet.cell(line, "middle")
        name = child_name(given, family, preferred=preferred, middle=middle)
        if name is None:
            self.sheet.tell("roster-name-missing", line.line)
            return None
        label = self.sheet.cell(line, "class") or self.class_label or ""
        if not label or len(label) > MAX_LABEL:
            self.sheet.tell("roster-class-missing", line.line)
            return None
        child = RosterChild(
            line=line.line,
            file=self.sheet.file,
            name=name,
            class_label=label,
            order=0,
            number=self._number(line),
            identifier=self.sheet.cell(line, "id") or None,
            from_day=None,
            to_day=None,
        )
        return _Found(self._with_days(child, line), name_order(given, family), self._grade(line, label))

    def _family_first(self) -> bool:
        column = self.sheet.guess.column_of("full name")
        heading = self.sheet.guess.columns[column].header.casefold() if column is not None else ""
        return "last" in heading and "first" in heading and heading.index("last") < heading.index("first")

    def _number(self, line: Line) -> int | None:
        text = self.sheet.cell(line, "number").removesuffix(".0")
        if not text:
            return None
        if text.isdecimal() and len(text) < 10 and NUMBER_MIN <= int(text) <= NUMBER_MAX:
            return int(text)
        self.sheet.tell("roster-number-outside", line.line, told(text))
        return None

    def _grade(self, line: Line, label: str) -> str | None:
        text = self.sheet.cell(line, "grade")
        known = grade_of(text) if text else None
        if text and known is None:
            self.sheet.tell("roster-grade-unknown", line.line, told(text))
        return known or self.grade or grade_in_label(label)

    def _with_days(self, child: RosterChild, line: Line) -> RosterChild:
        days = {}
        for meaning, key in (("from", "from_day"), ("to", "to_day")):
            text = self.sheet.cell(line, meaning)
            days[key] = date_of(text, day_first=self.day_first) if text else None
            if text and days[key] is None:
                self.sheet.tell("roster-date-unreadable", line.line, told(text))
        return replace(child, from_day=days["from_day"], to_day=days["to_day"])


def _grades(found: list[_Found]) -> dict[str, str]:
    """The grade of each class: what most of its lines say."""
    votes: dict[str, Counter[str]] = {}
    for one in found:
        if one.grade is not None:
            votes.setdefault(label_key(one.child.class_label), Counter())[one.grade] += 1
    return {key: counter.most_common(1)[0][0] for key, counter in votes.items()}


def _once(found: Iterator[_Found], problems: list[LineProblem]) -> Iterator[_Found]:
    """Leave out what was said before: the same id with another name, or the same child in the same class again."""
    ids: dict[str, _Found] = {}
    lines: dict[tuple[object, ...], int] = {}
    for one in found:
        child = one.child
        earlier = ids.setdefault(child.identifier, one) if child.identifier else one
        if earlier.child.name != child.name:
            where = f"line {earlier.child.line}"
            problems.append(trouble("roster-id-twice", child.line, child.file, found=where))
            continue
        said = (child.name, label_key(child.class_label), child.identifier, child.number if not child.identifier else 0)
        first = lines.setdefault(said, child.line)
        if first != child.line:
            problems.append(trouble("roster-line-twice", child.line, child.file, found=f"line {first}"))
            continue
        yield one
