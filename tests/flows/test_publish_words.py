"""Words that may name a child: they wait, the teacher decides, and a name that comes later makes them wait again."""

import pytest
from sqlmodel import select

from portfolio.archive import tables
from portfolio.errors import NotFound
from portfolio.flows import held_words, plan_show
from portfolio.flows.publish import publish
from portfolio.model.people import Audience
from portfolio.model.showing import Decision, Mark
from tests.support.shows import DAY, make_show_school, rename


@pytest.fixture
def school(tmp_path):
    library, works, students = make_show_school(tmp_path)
    rename(library, students[3], "Zyxqel", "Quorrab")
    with library.writing(who="teacher", what="kept what a child said") as writing:
        said = "I made it with zyxqel and Brimble."
        writing.session.add(tables.Reflection(work_id=works[0], student_id=students[0], text=said, said_on=DAY))
    held_words.look_again(library)
    yield library, works, students
    library.close()


def test_names_wait_and_can_be_decided(school, tmp_path):
    """Kept: nobody else reads the text. Shown: it stands in the site, letter for letter."""
    library, works, _ = school
    plan_show.new_show(library, "Wall", today=DAY)
    plan_show.add_works(library, "Wall", work_ids=works)
    plan_show.mark_works(library, "Wall", works, mark=Mark.CHOSEN)
    (waiting,) = held_words.waiting(library, work_ids=works)
    (place,) = waiting.words.held
    assert waiting.words.text[place.start : place.end] == "zyxqel"
    for decision, stands in ((Decision.KEPT, False), (Decision.SHOWN, True)):
        held_words.decide(library, waiting.reflection_id, {place.start: decision})
        assert held_words.waiting(library) == ()
        publish(library, "Wall", audience=Audience.PUBLIC, folder=tmp_path / "out", today=DAY)
        assert ("with zyxqel and" in (tmp_path / "out" / "find.html").read_text()) is stands


def test_a_name_that_comes_later_makes_old_words_wait(school):
    """A new child called Brimble: the old text waits again, what was decided stays decided."""
    library, _, students = school
    (waiting,) = held_words.waiting(library)
    held_words.decide(library, waiting.reflection_id, {waiting.words.held[0].start: Decision.SHOWN})
    rename(library, students[5], "Brimble", "Smythe")
    assert held_words.look_again(library) == 1
    assert held_words.look_again(library) == 0
    (again,) = held_words.waiting(library)
    assert [place.decided for place in again.words.held] == [Decision.SHOWN, None]


def test_a_place_that_is_not_held_cannot_be_decided(school):
    """And words that are not there are said."""
    library, _, _ = school
    (waiting,) = held_words.waiting(library)
    with pytest.raises(NotFound):
        held_words.decide(library, waiting.reflection_id, {0: Decision.SHOWN})
    with pytest.raises(NotFound):
        held_words.decide(library, 4711, {0: Decision.SHOWN})


def test_the_words_themselves_never_change(school):
    """Deciding touches what is held, not what was said."""
    library, _, _ = school
    (waiting,) = held_words.waiting(library)
    held_words.decide(library, waiting.reflection_id, {waiting.words.held[0].start: Decision.KEPT})
    with library.reading() as session:
        row = session.exec(select(tables.Reflection)).one()
    assert row.text == "I made it with zyxqel and Brimble."
