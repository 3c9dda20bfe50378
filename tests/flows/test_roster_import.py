"""A roster comes in as one step: the same child stays the same child, and a number never changes by itself."""

from datetime import date
from pathlib import Path

import pytest
from sqlmodel import select

from portfolio.archive import people, room, school, tables
from portfolio.errors import NotFound, PortfolioError, Refused
from portfolio.flows import releases, roster
from portfolio.flows import school as schools
from portfolio.flows.releases import Said
from portfolio.model.calendar import DayKind, MarkedDay
from portfolio.model.people import Audience, NameForm
from tests.support.rosters import SENTINELS, Pupil, make_pupils, oneroster_files, sheet_rows, write_set, write_sheet
from tests.support.school import make_library

YEAR, DAY = "2026-27", date(2026, 8, 24)
LATER = date(2026, 10, 5)


@pytest.fixture
def library(tmp_path: Path):
    with make_library(tmp_path) as made:
        schools.start(made, school_name="Elm Lane", year=YEAR, starts_on=DAY, ends_on=date(2027, 6, 11), cycle_days=5)
        yield made


def take(library, tmp_path: Path, pupils, *, today=DAY, year=YEAR, **more):
    path = write_sheet(tmp_path / "list.csv", sheet_rows(pupils, **more))
    return roster.apply(library, path, year=year, today=today)


def numbers(library, label: str, *, day=DAY, year=YEAR) -> dict[str, int]:
    """Office id → number of everybody who holds one on a day."""
    with library.reading() as session:
        of_year = school.pick_year(session, year, today=day)
        group = school.class_by_label(session, label, year_id=of_year.year_id)
        records = {one.student_id: one for one in people.students(session)}
        entries = people.roll(session, day=day, class_id=group.class_id)
        return {records[one.student_id].identifier: one.number for one in entries}


def test_numbers_are_handed_out_in_order_of_names(library, tmp_path: Path) -> None:
    """Sorted by family, then given name; 1 to n in each class; the contract's counts."""
    pupils = make_pupils(classes=("3A", "3B"), children=6)
    result = take(library, tmp_path, pupils)
    told = result.as_json()
    assert {key: told[key] for key in ("students", "classes", "enrolments", "new", "changed", "left")} == {
        "students": 12,
        "classes": 2,
        "enrolments": 12,
        "new": 12,
        "changed": 0,
        "left": 0,
    }
    assert told["problems"] == []
    assert sorted(numbers(library, "3A").values()) == [1, 2, 3, 4, 5, 6]


def test_the_same_list_again_changes_nothing(library, tmp_path: Path) -> None:
    """Idempotent: no new child, no new line, no history but the action itself."""
    pupils = make_pupils()
    take(library, tmp_path, pupils)
    before = numbers(library, "3A")
    again = take(library, tmp_path, pupils, today=LATER)
    assert (again.new, again.changed, again.left) == (0, 0, 0)
    assert numbers(library, "3A", day=LATER) == before
    with library.reading() as session:
        lines = session.exec(select(tables.HistoryLine).where(tables.HistoryLine.action_id == again.action_id)).all()
        assert lines == []


def test_a_joiner_gets_the_next_free_number_and_a_leavers_is_not_used_again(library, tmp_path: Path) -> None:
    """Whoever stays keeps the number, whatever the alphabet says."""
    pupils = make_pupils(classes=("3A",), children=5)
    take(library, tmp_path, pupils)
    before = numbers(library, "3A")
    gone = pupils[0]
    fresh = Pupil("fresh", "Aaa", "Aaaa", "3A", "3")
    result = take(library, tmp_path, [*pupils[1:], fresh], today=LATER)
    after = numbers(library, "3A", day=LATER)
    assert (result.new, result.left) == (1, 1)
    assert after == {key: number for key, number in before.items() if key != gone.key} | {"fresh": 6}
    assert numbers(library, "3A", day=DAY)[gone.key] == before[gone.key]


def test_a_childs_identity_hangs_on_the_id_not_on_the_name(library, tmp_path: Path) -> None:
    """Married name, corrected spelling: one record; the old form stays known to the sweep."""
    pupils = make_pupils(classes=("3A",), children=3)
    take(library, tmp_path, pupils)
    renamed = [Pupil(pupils[0].key, "Newgiven", "Newfamily", "3A", "3"), *pupils[1:]]
    result = take(library, tmp_path, renamed, today=LATER)
    assert (result.new, result.changed) == (0, 1)
    with library.reading() as session:
        assert len(people.students(session)) == 3
        assert any(one.name.also for one in people.students(session))


def test_next_year_the_same_child_has_a_new_class_and_number(library, tmp_path: Path) -> None:
    """One record for life; last year's number stays as it was."""
    pupils = make_pupils(classes=("3A",), children=4)
    take(library, tmp_path, pupils)
    up = [Pupil(one.key, one.given, one.family, "4C", "4") for one in pupils]
    result = take(library, tmp_path, up, year="2027-28", today=date(2027, 8, 30))
    assert (result.new, result.students) == (0, 4)
    with library.reading() as session:
        assert len(people.students(session)) == 4
    assert set(numbers(library, "3A")) == set(numbers(library, "4C", year="2027-28", day=date(2027, 9, 1)))


def test_two_children_of_one_name_are_never_made_one_by_name_alone(library, tmp_path: Path) -> None:
    """Without ids, last year's namesake in another year is asked about, not linked."""
    one = make_pupils(classes=("3A",), children=1)
    take(library, tmp_path, one, ids=False)
    twin = [Pupil("x", one[0].given, one[0].family, "4A", "4")]
    result = take(library, tmp_path, twin, ids=False, year="2027-28", today=date(2027, 8, 30))
    assert len(result.questions) == 1
    with library.reading() as session:
        assert len(people.students(session)) == 2
    roster.same_child(library, 1, 2)
    with library.reading() as session:
        assert len(people.students(session)) == 1


def test_the_lists_own_numbers_are_kept_and_a_double_one_is_told(library, tmp_path: Path) -> None:
    """ "roster-number-twice": the first keeps it, the other gets the next free one."""
    pupils = sorted(make_pupils(classes=("3A",), children=4), key=lambda one: one.key)
    given = {pupils[0].key: 7, pupils[1].key: 7, pupils[2].key: 20, pupils[3].key: 3}
    result = take(library, tmp_path, pupils, number=lambda one: given[one.key])
    assert [one.code for one in result.problems] == ["roster-number-twice"]
    held = numbers(library, "3A")
    assert (held[pupils[2].key], held[pupils[3].key]) == (20, 3)
    assert sorted(held.values()).count(7) == 1
    changed = {**given, pupils[3].key: 9}
    again = take(library, tmp_path, pupils, number=lambda one: changed[one.key], today=LATER)
    assert "roster-number-kept" in [one.code for one in again.problems]
    assert numbers(library, "3A", day=LATER) == held


def test_a_class_of_more_than_forty_is_told(library, tmp_path: Path) -> None:
    """There are cards for forty: the rest is told, nobody is lost silently."""
    result = take(library, tmp_path, make_pupils(classes=("3A",), children=43))
    assert [one.code for one in result.problems] == ["roster-class-full"] * 3
    assert len(numbers(library, "3A")) == 40


def test_contact_data_is_in_no_byte_of_the_library(library, tmp_path: Path) -> None:
    """Spreadsheet and OneRoster, with mails, phones, passwords, logins and birthdays: none is kept anywhere."""
    take(library, tmp_path, make_pupils(seed=4))
    for version in ("1.1", "1.2"):
        files = oneroster_files(make_pupils(seed=len(version)), version=version)
        roster.apply(library, write_set(tmp_path / version, files), today=DAY)
    folder = library.folder
    library.close()
    for path in folder.rglob("*"):
        if path.is_file():
            data = path.read_bytes()
            assert not [secret for secret in SENTINELS.values() if secret.encode() in data], path.name


def test_a_failure_in_the_middle_leaves_nothing(library, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """One transaction: half a roster is no roster."""
    calls = []
    enrol = people.enrol

    def fails_late(*args, **more):
        calls.append(1)
        if len(calls) == 5:
            raise ZeroDivisionError
        return enrol(*args, **more)

    monkeypatch.setattr(people, "enrol", fails_late)
    with pytest.raises(ZeroDivisionError):
        take(library, tmp_path, make_pupils())
    with library.reading() as session:
        assert people.students(session) == ()


def test_a_preview_changes_nothing_and_says_the_same(library, tmp_path: Path) -> None:
    """What is shown first is what is done then."""
    path = write_sheet(tmp_path / "list.csv", sheet_rows(make_pupils()))
    plan = roster.preview(library, path, year=YEAR, today=DAY)
    with library.reading() as session:
        assert people.students(session) == ()
    told = roster.summary(plan).as_json()
    done = roster.apply(library, path, year=YEAR, today=DAY).as_json()
    assert {key: told[key] for key in ("students", "new", "enrolments")} == {
        key: done[key] for key in ("students", "new", "enrolments")
    }


def test_an_unsure_guess_is_refused_until_it_was_looked_at(library, tmp_path: Path) -> None:
    """A list without headings is not taken in unseen; one without a class column not at all."""
    path = tmp_path / "bare.csv"
    path.write_text("Zyx,Quor,3B\nVlin,Ott,3B\nBrem,Emi,3B\n", encoding="utf-8")
    with pytest.raises(PortfolioError) as unsure:
        roster.apply(library, path, year=YEAR, today=DAY)
    assert unsure.value.code in ("roster-columns-unsure", "roster-columns-missing")
    path.write_text("First Name,Last Name\nZyx,Quor\n", encoding="utf-8")
    with pytest.raises(PortfolioError) as missing:
        roster.apply(library, path, year=YEAR, today=DAY)
    assert missing.value.code == "roster-columns-missing"


def test_school_files_name_classes_and_numbers_that_are_there(library, tmp_path: Path) -> None:
    """A timetable of an unknown class and a release of a number nobody holds are told; the good lines are kept."""
    take(library, tmp_path, make_pupils(classes=("3A",), children=2))
    timetable = tmp_path / "timetable.csv"
    timetable.write_text("Class,Cycle Day,Start,End\n3A,1,9:10,9:50\n9Z,2,9:10,9:50\n", encoding="utf-8")
    taken = schools.import_timetable(library, timetable, year=YEAR)
    assert [one.code for one in taken.problems] == ["roster-class-unknown"]
    told = tmp_path / "releases.csv"
    told.write_text("Class,Number,Audience,Allowed,Name form\n3A,1,public,yes,first\n3A,9,public,yes,\n", "utf-8")
    taken = schools.import_releases(library, told, year=YEAR, today=DAY)
    assert [one.code for one in taken.problems] == ["roster-number-empty"]
    with library.reading() as session:
        assert [(one.audience, one.allowed) for one in people.releases(session)] == [(Audience.PUBLIC, True)]


def test_what_is_there_already_is_refused(library, tmp_path: Path) -> None:
    """A second year of one label, class, medium or center; a number that another holds; one child that is two."""
    take(library, tmp_path, make_pupils(classes=("3A",), children=2))
    with library.writing(who="teacher", what="tried") as writing:
        with pytest.raises(Refused) as medium:
            room.add_medium(writing.session, "crayon")
        with pytest.raises(Refused) as center:
            room.add_centre(writing.session, "Drawing")
        with pytest.raises(Refused) as year:
            school.add_year(writing.session, YEAR, starts_on=DAY, ends_on=date(2027, 6, 1))
        with pytest.raises(Refused) as taken:
            people.enrol(writing.session, 1, class_id=1, number=2, from_day=DAY)
        with pytest.raises(Refused) as joined:
            people.join_students(writing.session, 1, 2)
    assert (medium.value.code, center.value.code) == ("school-exists", "school-exists")
    assert (year.value.code, taken.value.code, joined.value.code) == (
        "school-exists",
        "school-number-taken",
        "school-one-child",
    )


def test_days_cards_and_releases_by_hand(library, tmp_path: Path) -> None:
    """A snow day, a class card, a release: each its own step; what is not there is not found."""
    take(library, tmp_path, make_pupils(classes=("3A",), children=1))
    schools.mark_day(library, MarkedDay(date(2027, 2, 9), DayKind.SNOW, "snow"))
    calendar, _ = schools.see_calendar(library, YEAR)
    assert [(one.day, one.kind) for one in calendar.marked] == [(date(2027, 2, 9), DayKind.SNOW)]
    assert schools.map_card(library, 301, "3A", year=YEAR)[1].label == "3A"
    assert schools.class_cards(library, year=YEAR) == {301: "3A"}
    said = Said(frozenset({1}), (Audience.SCHOOL,), True, NameForm.FIRST, DAY, None, "form")
    releases.record(library, 1, said, today=DAY)
    with library.reading() as session:
        assert [(one.audience, one.allowed) for one in people.releases(session)] == [(Audience.SCHOOL, True)]
    with pytest.raises(NotFound):
        schools.map_card(library, 302, "9Z", year=YEAR)
    with pytest.raises(NotFound):
        releases.record(library, 99, said, today=DAY)


def test_an_answer_to_no_question_is_refused(library, tmp_path: Path) -> None:
    """A line is never joined to a child of another name, also when the answer comes later."""
    take(library, tmp_path, make_pupils(classes=("3A",), children=2), ids=False)
    twin = [Pupil("x", "Zyx", "Lateron", "4A", "4")]
    take(library, tmp_path, twin, ids=False)
    path = tmp_path / "list.csv"
    for key, value in (("line 2", "same:1"), ("line 9", "new"), ("line 2", "perhaps")):
        asked = roster.Asked(decisions={key: value})
        with pytest.raises(PortfolioError) as refused:
            roster.apply(library, path, year=YEAR, today=LATER, asked=asked)
        assert refused.value.code == "bad-request"
    with library.reading() as session:
        assert len(people.students(session)) == 3


def test_a_later_answer_joins_the_namesake(library, tmp_path: Path) -> None:
    """The question of the first import may be answered at the next one; the number stays."""
    one = make_pupils(classes=("3A",), children=1)
    take(library, tmp_path, one, ids=False)
    up = [Pupil("x", one[0].given, one[0].family, "4A", "4")]
    assert len(take(library, tmp_path, up, ids=False, year="2027-28", today=date(2027, 8, 30)).questions) == 1
    again = roster.apply(
        library,
        tmp_path / "list.csv",
        year="2027-28",
        today=date(2027, 9, 1),
        asked=roster.Asked(decisions={"line 2": "same:1"}),
    )
    assert (again.new, again.left) == (0, 0)
    with library.reading() as session:
        assert [record.student_id for record in people.students(session)] == [1]
        assert len(people.enrolments(session, student_id=1)) == 2
