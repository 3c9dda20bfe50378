from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from portfolio.archive import tables
from portfolio.errors import NotFound
from portfolio.flows import describe, look_back
from portfolio.model.words import Observed
from tests.support.school import family_name, given_name, make_class, make_library, make_work

TODAY = date(2026, 11, 25)


@pytest.fixture
def library(tmp_path: Path):
    with make_library(tmp_path) as made:
        with made.writing(who="teacher", what="set up media") as writing:
            writing.session.add_all(
                [tables.Medium(label="tempera", position=1), tables.Medium(label="clay", position=2)]
            )
        class_id, ids = make_class(made, children=3)
        with made.writing(who="teacher", what="set up terms") as writing:
            session = writing.session
            session.add(tables.Term(year_id=1, label="Fall", starts_on=date(2026, 8, 24), ends_on=date(2026, 12, 18)))
            session.add(tables.SchoolYear(label="2025-26", starts_on=date(2025, 8, 25), ends_on=date(2026, 6, 12)))
            session.flush()
            before = tables.ClassGroup(year_id=2, label="2B", grade="2")
            session.add(before)
            session.flush()
            session.add(tables.Enrolment(student_id=ids[0], class_id=before.id, number=7, from_day=date(2025, 8, 25)))
            session.flush()
            old = before.id
        make_work(made, class_id=class_id, number=1, student_id=ids[0], medium_id=1, reflection="I overlapped it")
        make_work(made, class_id=class_id, number=2, student_id=ids[1], medium_id=2, title="Pot")
        make_work(made, class_id=old, number=7, student_id=ids[0], medium_id=1, made_on=date(2025, 10, 7))
        with made.writing(who="program", what="made pictures") as writing:
            for key in (1, 2, 3):
                writing.session.get(tables.View, key).derived_key = f"key{key}"
        yield made


def test_a_childs_years_are_one_life_with_two_classes_and_numbers(library) -> None:
    """The timeline's contract: student, years newest first, class, number and grade of each year, works with words."""
    student = look_back.resolve(library, "3B-1", today=TODAY)
    assert student == look_back.resolve(library, "2B-7", year="2025-26", today=TODAY) == look_back.resolve(library, "1")
    page = look_back.student_page(library, student)
    value = look_back.timeline_as_json(page)
    assert value["student"] == student
    assert [(one["year"], one["class"], one["number"], one["grade"]) for one in value["years"]] == [
        ("2026-27", "3B", 1, "3"),
        ("2025-26", "2B", 7, "2"),
    ]
    assert value["years"][0]["works"][0]["reflections"] == ["I overlapped it"]


def test_the_teacher_sees_name_pair_words_and_what_was_tried(library) -> None:
    """Then and now is of one medium; the art word is dated; the name is opened for the teacher."""
    page = look_back.student_page(library, 1)
    assert page.name == f"{given_name('3B', 1)} {family_name('3B', 1)}"
    assert (page.pair.then.work_id, page.pair.now.work_id, page.pair.why) == (3, 1, "both are tempera")
    assert [(use.word, use.day) for use in page.art_words] == [("overlap", date(2026, 10, 6))]
    assert [(one.medium, one.count) for one in page.tried] == [("tempera", 2), ("clay", 0)]


def test_the_class_grid_covers_the_term_and_says_who_has_nothing(library) -> None:
    """Numbers × media for the term that holds today; number 3 has nothing kept."""
    page = look_back.class_page(library, "3B", today=TODAY)
    value = look_back.class_as_json(page)
    assert (value["span"], value["columns"], value["nothing_kept"]) == ("Fall", ["tempera", "clay"], [3])
    assert [row["kept"] for row in value["rows"]] == [[1, 0], [0, 1], [0, 0]]
    assert value["worth_knowing"][0] == "3 has nothing kept in these weeks."


def test_a_center_that_is_not_open_is_told_as_not_open(library) -> None:
    """Once any center has a date, those without one are closed; a medium of no center stays open."""
    with library.writing(who="teacher", what="opened a center") as writing:
        session = writing.session
        session.add_all([tables.Centre(label="painting"), tables.Centre(label="clay table")])
        session.flush()
        session.add_all([tables.CentreMedium(centre_id=1, medium_id=1), tables.CentreMedium(centre_id=2, medium_id=2)])
        session.add(tables.CentreOpening(centre_id=1, year_id=1, opens_on=date(2026, 9, 1)))
    page = look_back.class_page(library, "3B", today=TODAY)
    assert [[cell.open for cell in row.cells] for row in page.grid.rows] == [[True, False], [True, True], [True, False]]


def test_what_the_teacher_saw_stands_with_the_child(library) -> None:
    """An observation is kept and told by day."""
    describe.observe(library, Observed(2, "cutting curves", "getting there", TODAY, class_id=1))
    assert look_back.student_page(library, 2).observations[0].what == "cutting curves"
    assert look_back.class_page(library, "3B", today=TODAY).observations[0].student_id == 2


@pytest.mark.parametrize("who", ["3B-9", "9Z-1", "999", "nobody"])
def test_a_child_that_is_not_there_is_not_found(library, who: str) -> None:
    """The sentence never repeats what was typed: it may be a name."""
    with pytest.raises(NotFound) as caught:
        look_back.student_page(library, look_back.resolve(library, who, today=TODAY))
    assert "nobody" not in caught.value.sentence
    assert datetime.now(UTC)
