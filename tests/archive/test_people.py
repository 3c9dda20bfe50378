"""Children, numbers and releases in the records."""

from datetime import date, timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from portfolio.archive import history, people, school
from portfolio.errors import NotFound, PortfolioError, Refused
from portfolio.model.people import Audience, NameForm, Release
from tests.support.names import make_name
from tests.support.school import YEAR_START, make_class, make_library, make_work

DAY = date(2026, 10, 6)


@pytest.fixture
def library(tmp_path):
    with make_library(tmp_path) as made:
        yield made


def writing(library):
    return library.writing(who="teacher", what="tested")


def test_a_name_goes_in_and_comes_out_sealed(library):
    """Equal to what was sealed, never readable, with every other spelling."""
    name = make_name("Zyx", "Quorrab", preferred="Zyxi", also=("Zix",))
    with writing(library) as now:
        made = people.add_student(now.session, name, source_id="s1", identifier="77")
    with library.reading() as session:
        assert people.student(session, made.student_id).name == name
        assert people.student_by_source(session, "s1") == made
        assert "Zyx" not in repr(people.students(session))
        assert people.names(session) == {made.student_id: name}


def test_a_name_that_goes_out_of_use_is_kept_beside(library):
    """A sweep must still find the old one."""
    with writing(library) as now:
        made = people.add_student(now.session, make_name("Zyx", "Quorrab"))
        changed = people.change_student(now.session, made.student_id, name=make_name("Zyx", "Vandrell"))
    assert changed.name.family == make_name("Zyx", "Vandrell").family
    assert changed.name.also == (make_name("Zyx", "Quorrab").family,)


def test_one_id_one_child(library):
    """A second child under a known id is refused."""
    with writing(library) as now:
        people.add_student(now.session, make_name(), source_id="s1")
        with pytest.raises(Refused) as refused:
            people.add_student(now.session, make_name("Bo"), source_id="s1")
    assert refused.value.code == "school-exists"


# --- numbers ----------------------------------------------------------------------------------------------


def test_a_number_that_changes_hands_keeps_its_history(library):
    """Until its last day it is one child's, after it another's."""
    class_id, ids = make_class(library, children=2)
    with writing(library) as now:
        session = now.session
        entry = people.roll(session, day=DAY, class_id=class_id)[0]
        people.end_enrolment(session, entry, to_day=DAY)
        joiner = people.add_student(session, make_name()).student_id
        people.enrol(session, joiner, class_id=class_id, number=1, from_day=DAY + timedelta(1))
    with library.reading() as session:
        before = {one.number: one.student_id for one in people.roll(session, day=DAY, class_id=class_id)}
        after = {one.number: one.student_id for one in people.roll(session, day=DAY + timedelta(1), class_id=class_id)}
        assert (before, after) == ({1: ids[0], 2: ids[1]}, {1: joiner, 2: ids[1]})
        assert people.resolve_student(session, "3b-1", year_id=1, day=DAY) == ids[0]
        assert people.resolve_student(session, "3B-1", year_id=1) == joiner
        assert people.resolve_student(session, f" {ids[1]} ") == ids[1]


@pytest.mark.parametrize("text", ["3B-40", "9Z-1", "Zyx Quorrab", "3B", "999", "Ann-Marie", "-4", ""])
def test_nobody_is_found_under_a_wrong_word(library, text):
    """not-found, and the sentence repeats nothing that may be a name."""
    make_class(library, children=2)
    with library.reading() as session, pytest.raises(NotFound) as refused:
        people.resolve_student(session, text, year_id=1)
    assert not {"Zyx", "Ann", "Marie"} & set(refused.value.sentence.replace("-", " ").split())


@pytest.mark.parametrize("number", [0, 41, -1])
def test_numbers_are_one_to_forty(library, number):
    """bad-request for any other."""
    class_id, _ = make_class(library, children=1)
    with writing(library) as now:
        child = people.add_student(now.session, make_name()).student_id
        with pytest.raises(PortfolioError) as refused:
            people.enrol(now.session, child, class_id=class_id, number=number, from_day=DAY)
    assert refused.value.code == "bad-request"


spans = st.tuples(st.integers(1, 3), st.integers(0, 60), st.one_of(st.none(), st.integers(0, 30)), st.integers(0, 2))


@given(st.lists(spans, max_size=14))
@settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_no_day_has_two_children_on_one_number(library, tries):
    """Whatever is tried, on every day each number is one child's and each child has one number; compared day by day."""
    with library.writing(who="teacher", what="tried") as now:
        session = now.session
        year = school.current_year(session, DAY)
        year_id = (
            year.year_id if year else school.add_year(session, "x", starts_on=DAY, ends_on=date(2027, 6, 1)).year_id
        )
        group = school.add_class(session, year_id, label=f"c{len(school.classes(session, year_id))}", grade="3")
        children = [people.add_student(session, make_name()).student_id for _ in range(3)]
        held: set[tuple[date, int]] = set()
        seated: set[tuple[date, int]] = set()
        for number, start, length, child in tries:
            first = DAY + timedelta(start)
            last = None if length is None else first + timedelta(length)
            days = [first + timedelta(n) for n in range(((last or DAY + timedelta(200)) - first).days + 1)]
            clash = any((day, number) in held or (day, children[child]) in seated for day in days)
            try:
                people.enrol(
                    session, children[child], class_id=group.class_id, number=number, from_day=first, to_day=last
                )
                done = True
            except Refused:
                done = False
            assert done is not clash
            if done:
                held |= {(day, number) for day in days}
                seated |= {(day, children[child]) for day in days}
        for step in range(90):
            roll = people.roll(session, day=DAY + timedelta(step), class_id=group.class_id)
            assert {one.number for one in roll} == {n for day, n in held if day == DAY + timedelta(step)}


# --- two records, one child -------------------------------------------------------------------------------


def test_two_records_become_one_child_and_can_be_parted_again(library):
    """Works, words, numbers and releases go along; undo puts everything back."""
    class_id, ids = make_class(library, children=1)
    other_class, others = make_class(library, label="4A", grade="4", children=1)
    work = make_work(library, class_id=other_class, number=1, student_id=others[0], reflection="mine")
    with writing(library) as now:
        people.add_release(now.session, Release(others[0], Audience.PUBLIC, allowed=True))
    with writing(library) as now:
        kept = people.join_students(now.session, ids[0], others[0])
        joined = now.action_id
    with library.reading() as session:
        assert {one.class_id for one in people.enrolments(session, student_id=ids[0])} == {class_id, other_class}
        assert [one.student_id for one in people.releases(session)] == [ids[0]]
        assert len(kept.name.also) == 2
        assert [one.student_id for one in people.students(session)] == [ids[0]]
    with writing(library) as now:
        assert work in history.undo(now.session, joined, undoing_id=now.action_id)
    with library.reading() as session:
        assert len(people.students(session)) == 2
        assert [one.student_id for one in people.releases(session)] == [others[0]]


def test_two_children_of_one_class_or_one_work_are_not_one(library):
    """school-one-child, and nothing was changed."""
    class_id, ids = make_class(library, children=2)
    _, others = make_class(library, label="4A", grade="4", children=1)
    work = make_work(library, class_id=class_id, number=1, student_id=ids[0])
    with writing(library) as now:
        from portfolio.archive import tables

        now.session.add(tables.Maker(work_id=work, student_id=others[0]))
    for keep, other in ((ids[0], ids[1]), (ids[0], others[0])):
        with pytest.raises(Refused) as refused, writing(library) as now:
            people.join_students(now.session, keep, other)
        assert refused.value.code == "school-one-child"
    with library.reading() as session:
        assert len(people.students(session)) == 3


# --- releases ---------------------------------------------------------------------------------------------


def test_releases_come_back_as_recorded_and_once(library):
    """Oldest first; the same line twice is kept once, a withdrawal is a new line."""
    _, ids = make_class(library, children=1)
    yes = Release(ids[0], Audience.PUBLIC, allowed=True, name_form=NameForm.FIRST, from_day=YEAR_START, source="form")
    no = Release(ids[0], Audience.PUBLIC, allowed=False, from_day=DAY, source="letter")
    with writing(library) as now:
        assert [people.add_release(now.session, one) for one in (yes, yes, no, yes)] == [True, False, True, True]
    with library.reading() as session:
        assert people.releases(session, ids) == (yes, no, yes)
