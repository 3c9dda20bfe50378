"""The teacher answers: one answer, one step, which can be undone; the same question is never answered twice."""

import json
from datetime import date, datetime, time, timedelta

import pytest

from portfolio.archive import photos, questions, works
from portfolio.errors import NotFound, PortfolioError, Refused
from portfolio.flows.settle import Answer, answer, crop_by_hand, one_question, undo, waiting
from portfolio.flows.take_in import batch_report, settle_batch, take_in, undo_batch
from portfolio.model.filing import Chosen, PhotoState
from tests.support.notes import ReadsNotes, note
from tests.support.school import YEAR_START, make_class

AT = datetime.combine(YEAR_START, time(9, 48))


@pytest.fixture
def roll(library):
    """Class id, and the students of numbers 1 to 5."""
    return make_class(library, children=5)


@pytest.fixture
def take(library, roll, tmp_path):
    """Take in one photo for each entry of cards, five seconds apart."""

    def taking(*cards: str, chosen: Chosen | None = None, at: datetime | None = AT, **said):
        for place, entry in enumerate(cards, start=1):
            shown = entry.split()
            crop_hash = place * 0x9E3779B97F4A7C15 & (2**64 - 1) if shown else None
            moment = at + timedelta(seconds=place * 5) if at else None
            note(tmp_path / "in", f"IMG_{place:04}.JPG", *shown, at=moment, crop_hash=crop_hash, **said)
        return take_in(library, [tmp_path / "in"], executor=ReadsNotes(), chosen=chosen, quiet_s=0)

    return taking


def _one(library):
    return waiting(library)[0].kept


def _lines(library, report):
    return [(line.state.value, line.number) for line in batch_report(library, report.batch_id).photos]


def _makers(library, work_id: int) -> list[int]:
    from portfolio.archive import finding

    with library.reading() as session:
        return list(finding.shown(session, [work_id])[0].student_ids)


def test_yes_takes_the_best_guess(library, roll, take):
    """Half a card of number 3: yes files it under number 3, and says that the teacher said so."""
    report = take("3?")
    answer(library, _one(library).question_id, Answer(yes=True))
    line = batch_report(library, report.batch_id).photos[0]
    assert (line.state, line.class_label, line.number) == (PhotoState.FILED, "3B", 3)
    assert _makers(library, line.work_id) == [roll[1][2]]
    assert waiting(library) == []


def test_another_number_another_class_or_both(library, roll, take):
    """The number's holder on that day is looked up in the class that was said."""
    _, others = make_class(library, label="4A", grade="4", children=3)
    report = take("3?", "3?", chosen=Chosen(class_id=roll[0]))
    first, second = (one.kept.question_id for one in waiting(library))
    answer(library, first, Answer(number=5))
    answer(library, second, Answer(class_label="4A", number=2))
    lines = batch_report(library, report.batch_id).photos
    assert [(line.class_label, line.number) for line in lines] == [("3B", 5), ("4A", 2)]
    assert _makers(library, lines[1].work_id) == [others[1]]


def test_a_number_of_nobody_is_refused_and_the_question_stays(library, roll, take):
    """Nothing is filed on a slip of the finger; the sentence says what does not fit, without a path or a name."""
    take("3?")
    with pytest.raises(PortfolioError) as caught:
        answer(library, _one(library).question_id, Answer(number=31))
    assert caught.value.code == "bad-request"
    assert "number 31" in caught.value.sentence
    assert len(waiting(library)) == 1


def test_a_photo_without_a_card_joins_the_work_before_with_one_key(library, roll, take):
    """The whole group of further views is accepted in one step, and undone in one step."""
    report = take("2", "", "")
    first = _one(library)
    step = answer(library, first.question_id, Answer(yes=True, whole_group=True))
    assert _lines(library, report) == [("filed", 2)] * 3
    assert len({line.work_id for line in batch_report(library, report.batch_id).photos}) == 1
    undo(library, step)
    assert _lines(library, report) == [("filed", 2), ("question", None), ("question", None)]


def test_a_group_stays_open_where_the_answer_does_not_fit(library, roll, take):
    """Two photos of one doubtful stack: the class answers both; a number would not, and is given alone."""
    make_class(library, label="4A", grade="4", children=1)
    report = take("1", "3", chosen=Chosen(class_id=roll[0]), at=AT.replace(month=8, day=23))
    settle_batch(library, report.batch_id, executor=ReadsNotes())
    open_before = len(waiting(library))
    assert open_before == 2
    answer(library, _one(library).question_id, Answer(day=YEAR_START, class_label="4A", whole_group=True))
    assert len(waiting(library)) == 1


def test_the_first_photo_of_a_number_can_turn_out_to_be_anothers(library, roll, take):
    """Number 2 came twice: the earlier card lay wrong. The first work moves to 4, the second stays with 2."""
    report = take("2", "2")
    step = answer(library, _one(library).question_id, Answer(first_number=4))
    assert _lines(library, report) == [("filed", 4), ("filed", 2)]
    first, second = (line.work_id for line in batch_report(library, report.batch_id).photos)
    assert (_makers(library, first), _makers(library, second)) == ([roll[1][3]], [roll[1][1]])
    undo(library, step)
    assert _lines(library, report) == [("filed", 2), ("question", None)]
    assert _makers(library, first) == [roll[1][1]]


def test_group_work_view_and_option(library, roll, take):
    """Several numbers make a group work; a work's id makes a view; a choice of the list is taken by its place."""
    report = take("1", "2?", "3?", "1")
    two, three, again = (one.kept for one in waiting(library))
    answer(library, two.question_id, Answer(numbers=(2, 4)))
    first = batch_report(library, report.batch_id).photos[0].work_id
    answer(library, three.question_id, Answer(view_of=first))
    answer(library, again.question_id, Answer(option=0))
    lines = batch_report(library, report.batch_id).photos
    assert _makers(library, lines[1].work_id) == [roll[1][1], roll[1][3]]
    assert lines[2].work_id == first
    assert all(line.state is PhotoState.FILED for line in lines)


def test_a_day_can_be_given(library, roll, take):
    """A photo taken in the holidays: the teacher says when it was made."""
    report = take("2", chosen=Chosen(class_id=roll[0]), at=datetime(2027, 7, 20, 10, 0))  # noqa: DTZ001  wall time
    assert report.photos[0].code == "no-school"
    answer(library, _one(library).question_id, Answer(day=date(2027, 6, 1)))
    with library.reading() as session:
        work_id = works.work_of_photo(session, report.photos[0].photo_id)
        assert works.work_facts(session, work_id)[2] == date(2027, 6, 1)


def test_a_number_that_changed_hands_needs_a_day_or_a_child(library, roll, take):
    """No time in the photo, and number 2 was held by two children: yes is not enough, choosing one is."""
    with library.writing(who="teacher", what="changed the roll") as writing:
        from portfolio.archive import people

        entry = next(one for one in people.enrolments(writing.session, class_id=roll[0]) if one.number == 2)
        people.end_enrolment(writing.session, entry, to_day=date(2027, 1, 15))
        five = next(one for one in people.enrolments(writing.session, class_id=roll[0]) if one.number == 5)
        people.end_enrolment(writing.session, five, to_day=date(2027, 1, 15))
        people.enrol(writing.session, roll[1][4], class_id=roll[0], number=2, from_day=date(2027, 1, 18))
    report = take("2", chosen=Chosen(class_id=roll[0]), at=None)
    assert report.photos[0].code == "no-day"
    key = _one(library).question_id
    with pytest.raises(PortfolioError):
        answer(library, key, Answer(yes=True))
    answer(library, key, Answer(option=1))
    assert _makers(library, batch_report(library, report.batch_id).photos[0].work_id) == [roll[1][4]]


def test_aside_and_later(library, roll, take):
    """Set aside: kept, belongs to no work. Later: behind the others, still to check."""
    report = take("2?", "3?")
    first, second = (one.kept.question_id for one in waiting(library))
    answer(library, first, Answer(later=True))
    assert [one.kept.question_id for one in waiting(library)] == [second, first]
    answer(library, first, Answer(aside=True))
    assert _lines(library, report)[0] == ("aside", None)


def test_two_tabs_cannot_answer_the_same_question(library, roll, take):
    """The first answer stands; the second is refused by its code, with nothing changed."""
    report = take("3?")
    key = _one(library).question_id
    answer(library, key, Answer(yes=True))
    with pytest.raises(Refused) as caught:
        answer(library, key, Answer(number=5))
    assert caught.value.code == "already-answered"
    assert _lines(library, report) == [("filed", 3)]


def test_two_tabs_at_the_same_moment(library, roll, take, monkeypatch):
    """Both saw the question open: the one that comes second inside the transaction is refused too."""
    take("3?")
    key = _one(library).question_id
    kept = one_question(library, key).kept
    answer(library, key, Answer(yes=True))
    monkeypatch.setattr(questions, "question", lambda _session, _key: kept)
    with pytest.raises(Refused):
        answer(library, key, Answer(number=5))


def test_an_answer_that_says_nothing_is_refused(library, roll, take):
    """Neither yes nor anything else; a choice that is not in the list; a question that is not there."""
    take("3?")
    key = _one(library).question_id
    for given in (Answer(), Answer(option=7), Answer(first_number=2)):
        with pytest.raises(PortfolioError) as caught:
            answer(library, key, given)
        assert caught.value.code == "bad-request"
    with pytest.raises(NotFound):
        answer(library, 999, Answer(yes=True))


def test_a_view_of_a_photo_that_is_not_filed_waits_for_it(library, roll, take):
    """The photo before is itself a question: that one must be answered first."""
    report = take("2?", "")
    first, second = (one.kept.question_id for one in waiting(library))
    with pytest.raises(PortfolioError) as caught:
        answer(library, second, Answer(yes=True))
    assert "answer that one first" in caught.value.sentence
    answer(library, first, Answer(yes=True))
    answer(library, second, Answer(yes=True))
    assert _lines(library, report) == [("filed", 2), ("filed", 2)]


# --- edges ------------------------------------------------------------------------------------------------------------


def test_an_edge_is_accepted_and_undone(library, roll, take):
    """Yes crops the picture anew under a new key and gives the work its size; undo brings the whole photo back."""
    report = take("2", crop="unsure")
    photo_id = report.photos[0].photo_id
    with library.reading() as session:
        before = works.view_of_photo(session, photo_id)
    step = answer(library, _one(library).question_id, Answer(yes=True), executor=ReadsNotes())
    with library.reading() as session:
        after = works.view_of_photo(session, photo_id)
    assert after.crop["sure"]
    assert after.derived_key != before.derived_key
    assert works.derived_path(library.derived, after.derived_key, 336).is_file()
    undo(library, step)
    with library.reading() as session:
        assert works.view_of_photo(session, photo_id) == before
    assert [one.kept.kind for one in waiting(library)] == ["crop"]


def test_an_edge_set_by_hand_stays(library, roll, take):
    """The teacher's own corners are kept as hers; keeping the whole photo closes the question."""
    report = take("2", "3", crop="unsure")
    first, second = (one.kept.question_id for one in waiting(library))
    corners = ((5.0, 5.0), (60.0, 6.0), (61.0, 70.0), (4.0, 71.0))
    answer(library, first, Answer(polygon=corners), executor=ReadsNotes())
    answer(library, second, Answer(whole=True))
    with library.reading() as session:
        views = [works.view_of_photo(session, line.photo_id) for line in report.photos]
    assert views[0].crop["by_hand"]
    assert [tuple(point) for point in views[0].crop["outline_px"]] == list(corners)
    assert views[1].crop is None
    crop_by_hand(library, report.photos[1].photo_id, corners, quarter_turns=1, executor=ReadsNotes())
    with library.reading() as session:
        assert works.view_of_photo(session, report.photos[1].photo_id).quarter_turns == 1


# --- undo -------------------------------------------------------------------------------------------------------------


def test_what_the_program_filed_can_be_taken_back_and_is_not_filed_again(library, roll, take):
    """Undo of a filing: the work is gone, the photo waits as a question, and settling again does not file it."""
    report = take("2")
    undo(library)
    assert _lines(library, report) == [("question", None)]
    assert _one(library).kind == "taken-back"
    settle_batch(library, report.batch_id, executor=ReadsNotes())
    assert _lines(library, report) == [("question", None)]
    answer(library, _one(library).question_id, Answer(number=5))
    assert _lines(library, report) == [("filed", 5)]


def test_undo_can_be_undone(library, roll, take):
    """Taken back by mistake: one more undo brings the work back as it was."""
    report = take("2")
    work_id = report.photos[0].work_id
    undo(library, undo(library))
    line = batch_report(library, report.batch_id).photos[0]
    assert (line.state, line.work_id) == (PhotoState.FILED, work_id)
    assert waiting(library) == []


def test_an_answer_is_undone_to_its_question(library, roll, take):
    """The question is asked again, with the same guess."""
    report = take("3?")
    before = _one(library)
    undo(library, answer(library, before.question_id, Answer(number=5)))
    assert _one(library) == before
    assert _lines(library, report) == [("question", None)]


def test_a_step_that_something_hangs_on_is_not_undone(library, roll, take):
    """A further view joined the work: its filing cannot be undone before that; the sentence says so."""
    report = take("2", "2 101")
    with library.reading() as session:
        first = photos.photo(session, report.photos[0].photo_id)
    with pytest.raises(Refused) as caught:
        undo(library, first.decided.action_id)
    assert caught.value.code == "cannot-undo"
    assert _lines(library, report) == [("filed", 2), ("filed", 2)]


def test_a_whole_batch_is_taken_back_and_brought_back(library, roll, take):
    """One step for all its photos; undoing it restores every work and question."""
    report = take("1", "2", "3?")
    before = _lines(library, report)
    step = undo_batch(library, report.batch_id)
    assert waiting(library) == []
    assert {state for state, _ in _lines(library, report)} == {"aside"}
    undo(library, step)
    assert _lines(library, report) == before
    assert len(waiting(library)) == 1


def test_answers_are_kept_when_the_batch_is_settled_again(library, roll, take):
    """What the teacher said stands, however often the batch is filed."""
    report = take("3?", "2")
    answer(library, _one(library).question_id, Answer(number=5))
    before = _lines(library, report)
    settle_batch(library, report.batch_id, executor=ReadsNotes())
    assert _lines(library, report) == before
    assert json.dumps(before)
