"""Years, days, classes, lessons, cards, media and centers in the records."""

import csv
from datetime import date, time

import pytest

from portfolio.archive import history, offered, room, school
from portfolio.archive.offered import CENTRES, MEDIA
from portfolio.errors import NotFound, PortfolioError, Refused
from portfolio.model.calendar import DayKind, LostDay, MarkedDay, Term, TimetableSlot
from portfolio.model.media import STARTER_CENTRES, STARTER_MEDIA
from portfolio.model.school import CentreOpening
from tests.support.outside import outside
from tests.support.school import make_library

FIRST, LAST = date(2026, 8, 24), date(2027, 6, 11)


@pytest.fixture
def library(tmp_path):
    with make_library(tmp_path) as made:
        yield made


@pytest.fixture
def session(library):
    with library.writing(who="teacher", what="tested") as now:
        yield now.session


@pytest.fixture
def year(session):
    return school.add_year(session, "2026-27", starts_on=FIRST, ends_on=LAST)


def test_the_current_year_holds_today_else_is_the_newest(session):
    """In July between two years the newest counts; in an empty library there is none."""
    assert school.current_year(session, FIRST) is None
    with pytest.raises(NotFound):
        school.pick_year(session, today=FIRST)
    old = school.add_year(session, "2025-26", starts_on=date(2025, 8, 25), ends_on=date(2026, 6, 12))
    new = school.add_year(session, "2026-27", starts_on=FIRST, ends_on=LAST)
    assert school.current_year(session, date(2026, 1, 5)) == old
    assert school.current_year(session, date(2026, 7, 5)) == new
    assert school.pick_year(session, "2025-26", today=FIRST) == old
    assert school.years(session) == (old, new)


@pytest.mark.parametrize(
    ("label", "starts_on", "ends_on", "code"),
    [
        ("2026-27", date(2028, 8, 1), date(2029, 6, 1), "school-exists"),
        ("2027-28", date(2027, 6, 1), date(2028, 6, 1), "school-exists"),
        ("2028-29", date(2029, 6, 1), date(2028, 8, 1), "bad-request"),
    ],
)
def test_years_do_not_overlap(session, year, label, starts_on, ends_on, code):
    """A second year of one label, of the same days, or turned round is refused."""
    with pytest.raises(PortfolioError) as refused:
        school.add_year(session, label, starts_on=starts_on, ends_on=ends_on)
    assert refused.value.code == code


def test_days_and_cycle_come_back(session, year):
    """A day marked twice stands once, as said last; unmarked it is plain again."""
    key, day = year.year_id, date(2026, 11, 26)
    assert school.mark_days(session, key, [MarkedDay(day, DayKind.SNOW)]) == 1
    assert school.mark_days(session, key, [MarkedDay(day, DayKind.HOLIDAY, "feast")]) == 1
    assert school.mark_days(session, key, [MarkedDay(day, DayKind.HOLIDAY, "feast")]) == 0
    made = school.set_cycle(session, key, cycle_days=5, first_cycle_day=2, lost_day=LostDay.SKIP)
    assert (made.cycle_days, made.first_cycle_day, made.lost_day) == (5, 2, LostDay.SKIP)
    assert made.marked == (MarkedDay(day, DayKind.HOLIDAY, "feast"),)
    assert school.unmark_day(session, key, day)
    assert not school.unmark_day(session, key, day)
    with pytest.raises(PortfolioError):
        school.mark_days(session, key, [MarkedDay(date(2028, 1, 1), DayKind.SNOW)])
    with pytest.raises(PortfolioError):
        school.set_cycle(session, key, cycle_days=4, first_cycle_day=5)


def test_terms_keep_their_ids(session, year):
    """A term with the same label is the same term, since works are counted by it."""
    fall = Term("Fall", FIRST, date(2027, 1, 15))
    first = school.set_terms(session, year.year_id, [fall, Term("Spring", date(2027, 1, 16), LAST)])
    again = school.set_terms(session, year.year_id, [Term("Fall", FIRST, date(2027, 1, 22))])
    assert [one.term_id for one in again] == [first[0].term_id]
    assert again[0].ends_on == date(2027, 1, 22)
    with pytest.raises(PortfolioError):
        school.set_terms(session, year.year_id, [Term("Late", LAST, date(2028, 1, 1))])


def test_a_class_is_found_however_it_is_typed(session, year):
    """Capitals and spaces don't matter; a second class of one label is refused."""
    made = school.add_class(session, year.year_id, label="K Smyx", grade="K", source_id="c1")
    assert school.class_by_label(session, " ksmyx", year_id=year.year_id) == made
    with pytest.raises(Refused):
        school.add_class(session, year.year_id, label="k smyx", grade="K")
    with pytest.raises(NotFound):
        school.class_by_label(session, "3B", year_id=year.year_id)
    changed = school.change_class(session, made.class_id, label="K Blue")
    assert (changed.label, changed.grade, changed.source_id) == ("K Blue", "K", "c1")


def test_lessons_that_stay_are_not_written_again(library):
    """Setting the same timetable twice leaves no history."""
    with library.writing(who="teacher", what="a timetable") as now:
        year = school.add_year(now.session, "2026-27", starts_on=FIRST, ends_on=LAST)
        group = school.add_class(now.session, year.year_id, label="3B", grade="3")
        key = group.class_id
        slots = [TimetableSlot(key, day, time(8, 15), time(8, 55)) for day in (1, 4)]
        school.set_slots(now.session, key, slots)
    with library.writing(who="teacher", what="the same") as now:
        assert school.set_slots(now.session, key, slots) == tuple(slots)
        assert history.undo(now.session, now.action_id, undoing_id=now.action_id) == []
        school.set_slots(now.session, key, slots[:1])
        assert school.slots(now.session, year.year_id) == (slots[0],)
        with pytest.raises(PortfolioError):
            school.set_slots(now.session, key, [TimetableSlot(key, 1, time(9, 0), time(8, 0))])


def test_a_class_card_means_one_class_a_year(session, year):
    """Mapped anew, the old meaning goes; next year the same card means another class."""
    later = school.add_year(session, "2027-28", starts_on=date(2027, 8, 23), ends_on=date(2028, 6, 9))
    groups = [school.add_class(session, year.year_id, label=label, grade="3") for label in ("3C", "3A", "3B")]
    next_year = school.add_class(session, later.year_id, label="4A", grade="4")
    school.map_card(session, 301, class_id=groups[0].class_id)
    assert school.map_cards_in_order(session, year.year_id) == {
        301: groups[0].class_id,
        302: groups[1].class_id,
        303: groups[2].class_id,
    }
    school.map_card(session, 303, class_id=groups[0].class_id)
    assert school.class_cards(session, year.year_id) == {302: groups[1].class_id, 303: groups[0].class_id}
    school.map_card(session, 303, class_id=next_year.class_id)
    assert school.class_cards(session, later.year_id) == {303: next_year.class_id}
    assert school.class_cards(session, year.year_id)[303] == groups[0].class_id
    with pytest.raises(PortfolioError):
        school.map_card(session, 361, class_id=groups[0].class_id)


# --- the room ---------------------------------------------------------------------------------------------


def test_the_starter_media_have_cards_in_order(session):
    """Thirty media on cards 61-90; asked for twice they are there once."""
    room.add_starter(session)
    room.add_starter(session)
    media = room.media(session)
    assert [one.card for one in media] == list(range(61, 91))
    assert [one.label for one in media] == [one.label for one in STARTER_MEDIA]
    assert room.medium_by_card(session, 61).label == "crayon"
    assert {"clay", "paper sculpture", "papier-mâché"} <= {one.label for one in media if one.solid}
    assert not {"crayon", "tempera", "collage"} & {one.label for one in media if one.solid}
    known = {one.medium_id for one in media}
    assert all(set(one.medium_ids) <= known and one.medium_ids for one in room.centres(session))
    assert {label for centre in STARTER_CENTRES for label in centre.media} == {one.label for one in media}


def test_ids_of_media_are_those_of_the_thesaurus():
    """Each id stands in the list of Getty AAT ids for school media, under a fitting word; one id, one medium."""
    with outside("facts", "aat_media.csv").open(encoding="utf-8") as stream:
        listed = {
            row["aat_id"]: f"{row['school_term']} {row['aat_label']}" for row in csv.DictReader(stream) if row["aat_id"]
        }
    ids = [one.aat_id for one in STARTER_MEDIA if one.aat_id]
    assert len(ids) == len(set(ids))
    for medium in STARTER_MEDIA:
        if medium.aat_id:
            words = {"found objects": "assemblage"}.get(medium.label, medium.label.split()[0])
            assert words in listed[medium.aat_id].casefold(), medium
    unknown = {one.label for one in STARTER_MEDIA if one.aat_id is None}
    assert unknown == {"marker", "oil pastel", "cut paper", "paper sculpture", "modeling dough", "papier-mâché"}


def test_a_medium_takes_the_next_free_card(session):
    """After the thirtieth there is none left; a second medium of one label, and a taken card, are refused."""
    assert room.add_medium(session, "sand").card == 61
    assert room.add_medium(session, "wire", card=63).card == 63
    assert room.add_medium(session, "wood", solid=True).card == 62
    for card in (63, 91):
        with pytest.raises(PortfolioError):
            room.add_medium(session, "felt", card=card)
    with pytest.raises(Refused):
        room.add_medium(session, "SAND")
    for n in range(27):
        room.add_medium(session, f"medium {n}")
    assert room.add_medium(session, "one more").card is None
    offered.offer(session, MEDIA, 1, active=False)
    assert room.media(session)[0].active is False
    assert room.change_medium(session, 1, label="fine sand", aat_id="").label == "fine sand"


def test_what_is_said_for_a_class_wins_over_what_is_said_for_all(session, year):
    """Clay opens for all in October, for 3B already in September."""
    group = school.add_class(session, year.year_id, label="3B", grade="3")
    other = school.add_class(session, year.year_id, label="3C", grade="3")
    clay = room.add_centre(session, "clay", medium_ids=[room.add_medium(session, "clay", solid=True).medium_id])
    room.open_centre(session, CentreOpening(clay.centre_id, year.year_id, date(2026, 10, 1)))
    early = CentreOpening(clay.centre_id, year.year_id, date(2026, 9, 1), group.class_id, date(2026, 12, 1))
    room.open_centre(session, early)
    room.open_centre(session, early)
    assert len(room.openings(session, year.year_id)) == 2

    def is_open(one, day):
        return room.open_centres(session, year.year_id, class_id=one.class_id, day=day) != ()

    assert [is_open(group, date(2026, month, 15)) for month in (8, 9, 11, 12)] == [False, True, True, False]
    assert [is_open(other, date(2026, month, 15)) for month in (9, 11, 12)] == [False, True, True]
    offered.offer(session, CENTRES, clay.centre_id, active=False)
    assert not is_open(other, date(2026, 11, 15))
    with pytest.raises(PortfolioError):
        room.open_centre(session, CentreOpening(clay.centre_id, year.year_id, LAST, None, FIRST))


def test_settings_come_back(session):
    """A named value, set and set anew."""
    assert room.setting(session, "school_name") is None
    room.put_setting(session, "school_name", "Quarry")
    room.put_setting(session, "school_name", "Quarry School")
    assert room.setting(session, "school_name") == "Quarry School"
