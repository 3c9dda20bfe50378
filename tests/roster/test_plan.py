"""What an import would change, as a pure comparison: whose line is it, which number, who has left."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from portfolio.model.calendar import SchoolYear
from portfolio.model.people import NUMBER_MAX, RollEntry, StudentRecord
from portfolio.model.school import ClassGroup
from portfolio.roster.plan import next_free_number, plan_roster
from portfolio.roster.planned import Known, Status
from portfolio.roster.values import RosterChild, RosterClass, RosterFile
from tests.support.names import make_name

YEAR = SchoolYear(1, "2026-27", date(2026, 8, 24), date(2027, 6, 11))
START, TODAY = YEAR.starts_on, date(2026, 10, 5)


def make_child(name="Zyx", *, label="3B", line=2, key=None, family="Quorrab", source=None, **more) -> RosterChild:
    return RosterChild(line, "x.csv", make_name(name, family), label, line, identifier=key, source_id=source, **more)


def make_file(*children, labels=None, **more) -> RosterFile:
    labels = labels or sorted({child.class_label for child in children})
    return RosterFile("x.csv", "spreadsheet", tuple(RosterClass(one, one[0]) for one in labels), children, **more)


def make_known(*members, students=()) -> Known:
    """Members: (id, class label, number, key or None, name[, last day])."""
    labels = sorted({one[1] for one in members})
    groups = tuple(ClassGroup(n, 1, label, label[0]) for n, label in enumerate(labels, start=1))
    ids = {one.label: one.class_id for one in groups}
    records = {one[0]: StudentRecord(one[0], make_name(one[4]), identifier=one[3]) for one in members}
    roll = tuple(RollEntry(one[0], ids[one[1]], one[2], START, one[5] if len(one) > 5 else None) for one in members)
    return Known(YEAR, groups, (*records.values(), *students), roll)


def plan(file, known, **more):
    return plan_roster(file, known, today=more.pop("today", TODAY), **more)


def codes(found) -> list[str]:
    return [one.code for one in found.problems]


# --- whose line is it? ------------------------------------------------------------------------------------


def test_capitals_and_accents_do_not_make_another_child():
    """ZOE QUORRAB in the same class and year is Zoë Quorrab; only the spelling changes."""
    known = make_known((1, "3B", 1, None, "Zoë"))
    found = plan(make_file(make_child("ZOE", family="QUORRAB")), known)
    assert [(step.student_id, step.status) for step in found.steps] == [(1, Status.UNCHANGED)]
    assert found.steps[0].changes


def test_one_name_twice_in_a_class_is_told_apart_by_the_number_or_asked():
    """Two children of one name in one class: the number decides; without it the line waits and nobody leaves."""
    known = make_known((1, "3B", 1, None, "Zyx"), (2, "3B", 2, None, "Zyx"))
    numbered = plan(make_file(make_child(number=2), make_child(number=1, line=3)), known)
    assert {step.child.line: step.student_id for step in numbered.steps} == {2: 2, 3: 1}
    asked = plan(make_file(make_child()), known)
    assert [one.kind for one in asked.questions] == ["which-child"]
    assert (asked.steps, asked.endings) == ((), ())
    decided = plan(make_file(make_child()), known, decisions={"line 2": "same:2"})
    assert [step.student_id for step in decided.steps] == [2]


def test_a_name_of_another_class_or_year_is_never_enough():
    """A namesake elsewhere is asked about; until then it is a new child. Different ids: not even a question."""
    elsewhere = StudentRecord(7, make_name("Zyx"))
    found = plan(make_file(make_child()), make_known(students=(elsewhere,)))
    assert [(one.kind, one.default) for one in found.questions] == [("same-name", "new")]
    assert found.steps[0].status is Status.NEW
    same = plan(make_file(make_child()), make_known(students=(elsewhere,)), decisions={"line 2": "same:7"})
    assert (same.steps[0].student_id, same.steps[0].status) == (7, Status.JOINED)
    other = plan(make_file(make_child(key="a")), make_known(students=(replace(elsewhere, identifier="b"),)))
    assert not other.questions


def test_an_answer_that_comes_later_joins_the_two_records():
    """The new record of the first import and the old one become one, without a second line on the roll."""
    known = make_known((9, "3B", 4, None, "Zyx"), students=(StudentRecord(7, make_name("Zyx")),))
    found = plan(make_file(make_child()), known, decisions={"line 2": "same:7"})
    assert found.joins == ((7, 9),)
    assert [(step.student_id, step.number, step.enrols) for step in found.steps] == [(7, 4, False)]
    assert not found.endings


def test_one_new_name_under_a_known_id_is_believed():
    """Adopted or mistyped: in a list whose other ids fit, the id says who it is."""
    found = plan(make_file(make_child("Tob", family="Smyx", key="1"), *children_of(2, 3)), make_known(*members(3)))
    assert found.changed == {"student 1"}
    assert not found.questions


def test_ids_that_lead_to_other_names_wait():
    """Row numbers taken for ids never rename a class unseen."""
    known = make_known((1, "3B", 1, "a", "Zyx"))
    file = make_file(make_child("Tob", family="Smyx", key="a"))
    found = plan(file, known)
    assert [one.kind for one in found.questions] == ["id-and-name"]
    assert (found.steps, found.endings) == ((), ())
    decided = plan(file, known, decisions={"line 2": "same:1"})
    assert decided.steps[0].changes == ("given name", "family name")


def test_ids_of_one_system_are_found_by_the_other():
    """A sheet's id column and a OneRoster set's identifier or sourcedId lead to the same child."""
    known = make_known((1, "3B", 1, "a", "Zyx"))
    by_identifier = plan(make_file(make_child(source="s-1", key="a")), known)
    assert (by_identifier.steps[0].student_id, by_identifier.steps[0].changes) == (1, ("id",))
    by_source = plan(make_file(make_child(source="a")), known)
    assert by_source.steps[0].student_id == 1


def test_questions_and_problems_never_hold_a_name():
    """Sentences speak of lines, numbers and ids."""
    known = make_known((1, "3B", 1, "a", "Zyx"), (2, "3B", 2, None, "Bo"), (3, "3B", 3, None, "Bo"))
    twin = StudentRecord(7, make_name("Ulf"))
    file = make_file(make_child("Tob", family="Smyx", key="a"), make_child("Bo", line=3), make_child("Ulf", line=4))
    found = plan(file, replace(known, students=(*known.students, twin)))
    said = " ".join(
        [*(one.sentence for one in found.questions), *(c.text for one in found.questions for c in one.choices)]
    )
    assert len(found.questions) == 3
    assert not [name for name in ("Zyx", "Tob", "Smyx", "Bo", "Ulf", "Quorrab") if name in said]


# --- numbers ----------------------------------------------------------------------------------------------


@given(st.permutations(range(12)), st.lists(st.one_of(st.none(), st.integers(1, 40)), min_size=12, max_size=12))
@settings(max_examples=60, deadline=None)
def test_every_child_of_a_new_class_has_one_number(order, given_numbers):
    """All different, 1 to 40, told numbers honored once, and the rest in order of names without gaps."""
    children = [
        make_child(f"Zyx{n}", line=2 + place, key=str(n), number=given_numbers[n]) for place, n in enumerate(order)
    ]
    children = [replace(child, order=int(child.identifier)) for child in children]
    found = plan(make_file(*children), make_known())
    held = {int(step.child.identifier): step.number for step in found.steps}
    assert len(set(held.values())) == 12
    assert all(1 <= number <= NUMBER_MAX for number in held.values())
    for number in {one for one in given_numbers if one}:
        assert sum(held[n] == number for n in range(12) if given_numbers[n] == number) == 1
    handed = [held[n] for n in sorted(held) if held[n] != given_numbers[n]]
    assert handed == sorted(handed)
    assert codes(found).count("roster-number-twice") == sum(
        held[n] != one for n, one in enumerate(given_numbers) if one
    )


@given(st.sets(st.integers(0, 19), min_size=1), st.sets(st.integers(0, 39)), st.integers(0, 60))
@settings(max_examples=60, deadline=None)
def test_a_reimport_never_moves_a_number(before, after, days):
    """Whoever stays keeps the number; no number of this year goes to another child; order of lines is nothing."""
    first = plan(make_file(*(make_child(f"Z{n}", line=n + 2, key=str(n)) for n in before)), make_known(), today=START)
    known = make_known(
        *(
            (int(one.child.identifier) + 1, "3B", one.number, one.child.identifier, f"Z{one.child.identifier}")
            for one in first.steps
        )
    )
    children = [make_child(f"Z{n}", line=100 - n, key=str(n)) for n in after]
    answer = {"left 3B": "left"} if before - after else {}
    found = plan(make_file(*children, labels=["3B"]), known, today=START + timedelta(days), decisions=answer)
    was = {entry.student_id - 1: entry.number for entry in known.roll}
    now = {int(one.child.identifier): one.number for one in found.steps}
    assert {n: number for n, number in now.items() if n in was} == {n: was[n] for n in before & after}
    assert not {number for n, number in now.items() if n not in was} & set(was.values())
    assert {ending.entry.student_id - 1 for ending in found.endings} == before - after
    again = plan(make_file(*children, labels=["3B"]), known, today=START + timedelta(days), decisions={})
    assert {one.number for one in again.steps} == set(now.values())


def test_a_child_who_comes_back_has_the_old_number():
    """It was not given to anybody else."""
    known = make_known((1, "3B", 1, "a", "Zyx", date(2026, 9, 30)), (2, "3B", 2, "b", "Bo"))
    found = plan(
        make_file(make_child(key="a"), make_child("Bo", key="b", line=3), make_child("Ulf", key="c", line=4)), known
    )
    back = next(step for step in found.steps if step.student_id == 1)
    assert (back.number, back.from_day, back.enrols) == (1, TODAY, True)
    assert next(step.number for step in found.steps if step.status is Status.NEW) == 3
    assert next_free_number(known.roll) == 3
    assert next_free_number([RollEntry(n, 1, n, START) for n in range(1, 41)]) is None


def test_another_number_in_the_file_does_not_change_hands():
    """roster-number-kept: cards are on the tables already."""
    found = plan(make_file(make_child(key="a", number=9)), make_known((1, "3B", 1, "a", "Zyx")))
    assert codes(found) == ["roster-number-kept"]
    assert found.is_empty


# --- who has left -----------------------------------------------------------------------------------------


def members(count=6):
    return [(n, "3B", n, str(n), f"Z{n}") for n in range(1, count + 1)]


def children_of(*ids, label="3B"):
    return [make_child(f"Z{n}", line=n + 1, key=str(n), label=label) for n in ids]


def test_who_is_missing_from_a_whole_class_has_left():
    """The line stays with its last day, the day before the import."""
    found = plan(make_file(*children_of(1, 2, 3, 4, 5)), make_known(*members()))
    assert [(one.entry.student_id, one.to_day, one.moved) for one in found.endings] == [
        (6, TODAY - timedelta(1), False)
    ]
    assert found.left == {6}


def test_a_class_that_the_file_does_not_list_is_left_alone():
    """A list of 4A says nothing about 3B; a delta set says nothing about who is not in it."""
    other = plan(make_file(make_child("New", label="4A")), make_known(*members()))
    assert not other.endings
    delta = plan(make_file(*children_of(1), whole=False), make_known(*members()))
    assert not delta.endings
    told = plan(
        make_file(*children_of(1), whole=False, gone=(("3B", "s2"),)), with_source(make_known(*members()), 2, "s2")
    )
    assert [one.entry.student_id for one in told.endings] == [2]


def with_source(known, student_id, source_id):
    students = [replace(one, source_id=source_id) if one.student_id == student_id else one for one in known.students]
    return replace(known, students=tuple(students))


def test_half_a_class_missing_is_asked_first():
    """A list that was cut short does not empty a class."""
    known, file = make_known(*members(10)), make_file(*children_of(1, 2, 3))
    asked = plan(file, known)
    assert [(one.kind, one.default) for one in asked.questions] == [("many-left", "keep")]
    assert not asked.endings
    assert len(plan(file, known, decisions={"left 3B": "left"}).endings) == 7


def test_a_move_between_two_listed_classes_is_a_move():
    """Old number ended, next free number in the new class, nobody has left."""
    known = make_known(*members(), (20, "3C", 1, "20", "Z20"))
    found = plan(make_file(*children_of(1, 2, 3, 4, 5), *children_of(6, 20, label="3C")), known)
    moved = next(step for step in found.steps if step.student_id == 6)
    assert (moved.status, moved.number, moved.enrols) == (Status.MOVED, 2, True)
    assert [(one.entry.student_id, one.moved) for one in found.endings] == [(6, True)]
    assert found.left == frozenset()


def test_a_child_in_a_class_that_is_not_listed_is_asked_about():
    """In both classes until the teacher says otherwise."""
    known, file = make_known(*members()), make_file(*children_of(6, label="4A"))
    asked = plan(file, known)
    assert [(one.kind, one.default) for one in asked.questions] == [("two-classes", "both")]
    assert not asked.endings
    moved = plan(file, known, decisions={asked.questions[0].key: "moved"})
    assert [(one.entry.student_id, one.moved) for one in moved.endings] == [(6, True)]


def test_a_last_day_in_the_file_ends_the_number_then():
    """What the file itself tells wins over "the day before the import"."""
    child = replace(children_of(2)[0], to_day=date(2026, 9, 18))
    found = plan(make_file(*children_of(1), child), make_known(*members(2)))
    assert [(one.entry.student_id, one.to_day) for one in found.endings] == [(2, date(2026, 9, 18))]


@pytest.mark.parametrize("today", [date(2026, 7, 1), date(2027, 8, 1)])
def test_outside_the_year_days_stay_inside_it(today):
    """Importing next year's list in June, or last year's in August, gives days of that year."""
    found = plan(make_file(*children_of(1, 2)), make_known(), today=today)
    assert {step.from_day for step in found.steps} == {YEAR.starts_on}
    late = plan(make_file(*children_of(1, 2)), make_known(*members(1)), today=today)
    assert all(YEAR.holds(step.from_day) for step in late.steps)


def test_a_class_is_known_by_its_id_and_may_change_its_label():
    """The school renames 3B; its children keep their numbers."""
    known = make_known(*members(2))
    known = replace(known, classes=(replace(known.classes[0], source_id="c1"),))
    file = make_file(*children_of(1, 2, label="3 Blue"))
    file = replace(file, classes=(RosterClass("3 Blue", "3", "c1"),))
    found = plan(file, known)
    assert [(one.class_id, one.label, one.changes) for one in found.classes] == [(1, "3 Blue", ("label",))]
    assert [step.status for step in found.steps] == [Status.UNCHANGED] * 2
    assert not found.endings
