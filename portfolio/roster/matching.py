"""Which known child is meant by a line? By id first; by the full name (capitals and accents don't matter) only
inside the same class and year.

Two children with one name are never linked across years by the name alone: that is a question, and until it is
answered they are two children.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Final

from portfolio.model.names import SealedName
from portfolio.model.people import ChildName, RollEntry, StudentRecord
from portfolio.privacy.alike import alike, alike_part
from portfolio.roster.planned import Choice, RosterQuestion
from portfolio.roster.values import RosterChild

NEW: Final = "new"
HOLD: Final = "hold"
SAME: Final = "same:"


@dataclass(frozen=True, slots=True)
class Match:
    """Who a line means. Held lines wait for the teacher; ``joins`` = this record and ``student_id`` are one child."""

    student_id: int | None = None
    question: RosterQuestion | None = None
    held: bool = False
    joins: int | None = None


@dataclass(slots=True)
class Matcher:
    """All known children, looked up by id and by name. ``used`` keeps a child from being meant twice in a class."""

    students: Iterable[StudentRecord]
    decisions: Mapping[str, str]
    by_source: dict[str, StudentRecord] = field(default_factory=dict)
    by_identifier: dict[str, list[StudentRecord]] = field(default_factory=dict)
    by_name: dict[ChildName, list[StudentRecord]] = field(default_factory=dict)
    by_id: dict[int, StudentRecord] = field(default_factory=dict)
    ids_doubtful: bool = False

    def __post_init__(self) -> None:
        for one in self.students:
            self.by_id[one.student_id] = one
            self.by_name.setdefault(alike(one.name), []).append(one)
            if one.source_id:
                self.by_source[one.source_id] = one
            if one.identifier:
                self.by_identifier.setdefault(one.identifier, []).append(one)

    def doubt_ids(self, children: Iterable[RosterChild]) -> None:
        """An id is believed, also with a new name, unless most ids of a file lead to children with quite other names.

        Then the column is rather a row number, or the ids were handed out anew.
        """
        pairs = [(known, child) for child in children if (known := self._by_ids(child)) is not None]
        strangers = sum(not shares_a_name(known.name, child.name) for known, child in pairs)
        self.ids_doubtful = strangers * 2 > len(pairs)

    def match(self, child: RosterChild, lines: Collection[RollEntry]) -> Match:
        """Who ``child`` is; ``lines`` are the lines of its class in this year, of children not yet meant by a line."""
        decided = self.decisions.get(_key(child), "")
        by_id = self._by_ids(child)
        if by_id is not None:
            if not self.ids_doubtful or shares_a_name(by_id.name, child.name) or decided == f"{SAME}{by_id.student_id}":
                return Match(by_id.student_id)
            return Match(question=_ask_id(child, by_id), held=True)
        here = self._in_class(child, lines)
        if len(here) > 1:
            chosen = next((one for one in here if decided == f"{SAME}{one.student_id}"), None)
            if chosen is not None:
                return Match(chosen.student_id)
            return Match(question=_ask_which(child, here), held=True)
        return self._elsewhere(child, here, decided)

    def _by_ids(self, child: RosterChild) -> StudentRecord | None:
        if child.source_id and child.source_id in self.by_source:
            return self.by_source[child.source_id]
        for key in (child.identifier, child.source_id):
            found = self.by_identifier.get(key, []) if key else []
            fitting = [one for one in found if not (one.source_id and child.source_id)]
            if len(fitting) == 1:
                return fitting[0]
        return self.by_source.get(child.identifier or "")

    def _in_class(self, child: RosterChild, lines: Collection[RollEntry]) -> list[StudentRecord]:
        """Children of this class and year with exactly this name; a number in the file decides between two."""
        holders = {entry.student_id: entry.number for entry in lines}
        found = [one for one in self.namesakes(child) if one.student_id in holders]
        numbered = [one for one in found if holders[one.student_id] == child.number]
        if child.number is not None and len(found) > 1:
            return numbered
        return found

    def _elsewhere(self, child: RosterChild, here: list[StudentRecord], decided: str) -> Match:
        """Not known in this class by id: the one child of the class with this name, or a new child."""
        alike_ids = {one.student_id: one for one in self.namesakes(child)}
        chosen = alike_ids.get(_number_of(decided))
        if here:
            other = here[0].student_id
            joins = other if chosen is not None and chosen.student_id != other else None
            return Match(chosen.student_id if joins and chosen else other, joins=joins)
        if chosen is not None:
            return Match(chosen.student_id)
        if not alike_ids or decided == NEW:
            return Match()
        return Match(question=_ask_same(child, list(alike_ids.values())))

    def namesakes(self, child: RosterChild) -> list[StudentRecord]:
        """Known children with this name and no id that says otherwise: the only ones a line may be joined to."""
        return [one for one in self.by_name.get(alike(child.name), []) if not _ids_differ(one, child)]


def shares_a_name(one: ChildName, other: ChildName) -> bool:
    """Whether two names have a part in common."""
    return bool(_parts(one) & _parts(other))


def _parts(name: ChildName) -> set[SealedName]:
    parts = (name.given, name.family, name.preferred, name.middle, *name.also)
    return {alike_part(part) for part in parts if part}


def _ids_differ(one: StudentRecord, child: RosterChild) -> bool:
    """Both have an id of the same kind and they differ: surely two children."""
    sources = one.source_id and child.source_id and one.source_id != child.source_id
    identifiers = one.identifier and child.identifier and one.identifier != child.identifier
    return bool(sources or identifiers)


def _key(child: RosterChild) -> str:
    return f"line {child.line}"


def _number_of(decided: str) -> int:
    text = decided.removeprefix(SAME)
    return int(text) if decided.startswith(SAME) and text.isdecimal() else 0


def _ask_same(child: RosterChild, alike: list[StudentRecord]) -> RosterQuestion:
    many = "a child" if len(alike) == 1 else f"{len(alike)} children"
    sentence = (
        f"Line {child.line}: the library knows {many} with this name, but no id says that it is the same child. "
        "Until you decide, this is a new child and nothing is mixed."
    )
    same = (Choice(f"{SAME}{one.student_id}", f"the same child as student {one.student_id}") for one in alike)
    return _question(
        child,
        "same-name",
        sentence=sentence,
        choices=(Choice(NEW, "another child"), *same),
        default=NEW,
        students=alike,
    )


def _ask_which(child: RosterChild, here: list[StudentRecord]) -> RosterQuestion:
    sentence = (
        f"Line {child.line}: {len(here)} children of the class have this name, and neither id nor number says which "
        "one is meant. The line waits; nothing was changed for it."
    )
    same = tuple(Choice(f"{SAME}{one.student_id}", f"student {one.student_id}") for one in here)
    return _question(child, "which-child", sentence=sentence, choices=same, default=HOLD, students=here)


def _ask_id(child: RosterChild, known: StudentRecord) -> RosterQuestion:
    sentence = (
        f"Line {child.line}: the id is that of student {known.student_id}, but no part of the name is the "
        "same, as in most lines of this file. The line waits; nothing was changed for it."
    )
    same = Choice(f"{SAME}{known.student_id}", f"student {known.student_id}, with a new name")
    return _question(child, "id-and-name", sentence=sentence, choices=(same,), default=HOLD, students=[known])


def _question(
    child: RosterChild,
    kind: str,
    *,
    sentence: str,
    choices: tuple[Choice, ...],
    default: str,
    students: list[StudentRecord],
) -> RosterQuestion:
    ids = tuple(one.student_id for one in students)
    return RosterQuestion(_key(child), kind, child.line, child.class_label, sentence, choices, default, ids)
