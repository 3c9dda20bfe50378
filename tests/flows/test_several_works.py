"""One photo of several works becomes that many works: each filed, asked about, cropped and undone by itself."""

import hashlib
from datetime import datetime, time

import pytest

from portfolio.archive import doctor, photos, tables, works
from portfolio.archive.library import Library
from portfolio.errors import PortfolioError
from portfolio.flows import settle
from portfolio.flows.desk import see_school
from portfolio.flows.look import as_json
from portfolio.flows.take_in import make_pictures_again, report_as_json, settle_batch, take_in, undo_batch
from portfolio.flows.worker import SeeRequest
from portfolio.model.filing import PhotoState
from portfolio.model.seen_json import cards_of
from tests.support.notes import ReadsNotes, note, see_note
from tests.support.school import YEAR_START, make_class

AT = datetime.combine(YEAR_START, time(9, 48))


@pytest.fixture
def class_id(library):
    return make_class(library, children=9)[0]


def take(library, folder, *shown, cards=(), executor=None):
    for place, each in enumerate(shown, start=1):
        note(folder, f"IMG_{place:04}.JPG", *cards, works=each, at=AT.replace(second=place * 3))
    return take_in(library, [folder], executor=executor or ReadsNotes(), quiet_s=0)


def picture_of(library, line):
    with library.reading() as session:
        key = works.view_of_photo(session, line.photo_id).derived_key
    return works.derived_path(library.derived, key, 336).read_bytes()


def test_each_card_gets_its_work(library, class_id, tmp_path):
    """Three works in one photo and two in the next: five works, each with its own picture, in the order seen."""
    report = take(library, tmp_path / "in", ("4", "2", "7"), ("1", "9"))
    assert {line.state for line in report.photos} == {PhotoState.FILED}
    assert [line.file for line in report.photos] == ["IMG_0001.JPG"] * 3 + ["IMG_0002.JPG"] * 2
    assert [line.number for line in report.photos] == [4, 2, 7, 1, 9]
    assert len({line.work_id for line in report.photos}) == 5
    assert [picture_of(library, line) for line in report.photos[:3]] == [
        repr((number, False)).encode() for number in ("4", "2", "7")
    ]
    assert report.checks[0].sentence == "5 of 9 numbers; 3, 5, 6 and 8 missing"


def test_the_original_is_kept_once(library, class_id, tmp_path):
    """One file, one original; handed over again it is the same photo; the school counts it once."""
    report = take(library, tmp_path / "in", ("4", "2"))
    assert len(list(library.originals.all())) == 1
    assert len({line.sha256 for line in report.photos}) == 1
    again = report_as_json(take_in(library, [tmp_path / "in"], executor=ReadsNotes(), quiet_s=0))
    assert (again["duplicates"], again["filed"]) == (1, 0)
    seen = see_school(library, YEAR_START)
    assert (seen.photos, seen.works) == (1, 2)


def test_what_is_unclear_is_asked_for_that_work_only(library, class_id, tmp_path):
    """Whose it is unclear: asked with its number; an unclear edge: filed, shown by the edge found, and asked."""
    report = take(library, tmp_path / "in", ("4", "2!", "7~", "8-"))
    states = {line.photo_id: line.state for line in report.photos}
    assert list(states.values()) == [PhotoState.FILED, PhotoState.QUESTION, PhotoState.FILED, PhotoState.QUESTION]
    asked = {(one.kept.kind, tuple(one.kept.guess.get("numbers", ()))): one.kept for one in settle.waiting(library)}
    assert set(asked) == {("cards-disagree", (2,)), ("cards-disagree", (8,)), ("crop", ())}
    assert "it is not clear which work belongs to this card" in asked["cards-disagree", (2,)].evidence
    assert asked["crop", ()].evidence == "It is pale, so the work is shown by the edge that was found until you say."
    assert picture_of(library, report.photos[2]) == repr(("7", False)).encode()
    settle.answer(library, asked["cards-disagree", (2,)].question_id, settle.Answer(yes=True))
    with library.reading() as session:
        work_id = works.work_of_photo(session, report.photos[1].photo_id)
        assert works.work_facts(session, work_id)[1] == 2
        assert works.view_of_photo(session, report.photos[1].photo_id).crop["outline_px"][0] == [110.0, 10.0]


def test_undoing_one_leaves_the_others(library, class_id, tmp_path):
    """The filing of one work is taken back and asked again; the works beside it stay."""
    report = take(library, tmp_path / "in", ("4", "2", "7"))
    with library.reading() as session:
        action = photos.photo(session, report.photos[1].photo_id).decided.action_id
    settle.undo(library, action)
    with library.reading() as session:
        kept = [photos.photo(session, line.photo_id).state for line in report.photos]
    assert kept == [PhotoState.FILED, PhotoState.QUESTION, PhotoState.FILED]
    undo_batch(library, report.batch_id)
    with library.reading() as session:
        assert {photos.photo(session, line.photo_id).state for line in report.photos} == {PhotoState.ASIDE}


def test_settling_again_changes_nothing(library, class_id, tmp_path):
    """A batch that is settled twice has the same works; none is read or filed anew."""
    report = take(library, tmp_path / "in", ("4", "2!"), ("7", "8"))
    reader = ReadsNotes()
    again = settle_batch(library, report.batch_id, executor=reader)
    assert reader.read == []
    assert [(one.photo_id, one.work_id, one.state) for one in again.photos] == [
        (one.photo_id, one.work_id, one.state) for one in report.photos
    ]


def test_lost_pictures_come_back_each_its_own(library, class_id, tmp_path):
    """Pictures that were thrown away are made again from the same original, for each work its own."""
    report = take(library, tmp_path / "in", ("4", "2", "7"))
    before = [picture_of(library, line) for line in report.photos]
    for path in library.derived.rglob("*.jpg"):
        path.unlink()
    reader = ReadsNotes()
    assert make_pictures_again(library, executor=reader) == 3
    assert reader.read == ["IMG_0001.JPG"], "one look at the photo gives all its works"
    assert [picture_of(library, line) for line in report.photos] == before


def test_an_edge_set_by_hand_is_measured_by_its_own_card(library, class_id, tmp_path):
    """The crop of one of several works is asked of the worker with the number of its card."""
    report = take(library, tmp_path / "in", ("4", "2"))
    asked = []

    class Spies(ReadsNotes):
        def submit(self, _fn, /, request):
            asked.append(request.number)
            return super().submit(_fn, request)

    square = ((0.0, 0.0), (50.0, 0.0), (50.0, 50.0), (0.0, 50.0))
    settle.crop_by_hand(library, report.photos[1].photo_id, square, executor=Spies())
    assert asked == [2]
    with library.reading() as session:
        assert works.view_of_photo(session, report.photos[1].photo_id).crop["by_hand"]
        assert works.view_of_photo(session, report.photos[0].photo_id).crop["outline_px"][0] == [10.0, 10.0]


def test_the_teacher_says_that_each_number_has_its_own_work(library, class_id, tmp_path):
    """Two numbers that were seen as one work become two works of one original. Neither has a picture before its edge is
    set by hand, since it would show the other child's work too; one undo makes one question of it again.
    """
    note(tmp_path / "in", "IMG_0001.JPG", "4", "2", at=AT)
    report = take_in(library, [tmp_path / "in"], executor=ReadsNotes(), quiet_s=0)
    (line,) = report.photos
    (asked,) = settle.waiting(library)
    assert asked.kept.kind == "two-numbers"
    done = settle.answer(library, asked.kept.question_id, settle.Answer(each=True))
    with library.reading() as session:
        rows = photos.all_photos(session)
        facts = [works.work_facts(session, works.work_of_photo(session, one.photo_id))[:2] for one in rows]
        views = [works.view_of_photo(session, one.photo_id) for one in rows]
    assert facts == [(class_id, 2), (class_id, 4)]
    assert [(one.part, one.size_px, [card.value for card in cards_of(one.reading)]) for one in rows] == [
        (1, (100, 100), [2]),
        (2, (100, 100), [4]),
    ]
    assert [(one.derived_key, one.crop) for one in views] == [(None, None)] * 2
    edges = settle.waiting(library)
    assert [one.kept.kind for one in edges] == ["crop", "crop"]
    with pytest.raises(PortfolioError, match="no edge was found"):
        settle.answer(library, edges[0].kept.question_id, settle.Answer(yes=True), executor=ReadsNotes())
    hand = settle.Answer(polygon=((0.0, 0.0), (50.0, 0.0), (50.0, 50.0), (0.0, 50.0)))
    cut = settle.answer(library, edges[1].kept.question_id, hand, executor=ReadsNotes())
    with library.reading() as session:
        assert [works.view_of_photo(session, one.photo_id).derived_key is None for one in rows] == [True, False]
    assert [one.kept.question_id for one in settle.waiting(library)] == [edges[0].kept.question_id]
    again = settle_batch(library, report.batch_id, executor=ReadsNotes())
    assert [one.state for one in again.photos] == [PhotoState.FILED] * 2
    settle.undo(library, cut)
    settle.undo(library, done)
    with library.reading() as session:
        (one,) = photos.all_photos(session)
    assert (one.photo_id, one.part, one.state) == (line.photo_id, 0, PhotoState.QUESTION)
    assert [again.kept.kind for again in settle.waiting(library)] == ["two-numbers"]


def test_three_dimensional_works_are_looked_at_as_such(library, class_id, tmp_path):
    """Clay: each of the works is looked at again as a solid thing, and stays its own."""
    with library.writing(who="teacher", what="made a medium") as writing:
        clay = tables.Medium(key="clay", label="clay", card=64, solid=True)
        writing.session.add(clay)
    report = take(library, tmp_path / "in", ("4", "2"), cards=("64",))
    assert [line.number for line in report.photos] == [4, 2]
    assert [picture_of(library, line) for line in report.photos] == [repr((n, True)).encode() for n in ("4", "2")]


def test_an_archive_without_its_database_comes_back(tmp_path, library, class_id):
    """Rebuilt from its sidecars, each work still belongs to its own row of the photo."""
    take(library, tmp_path / "in", ("4", "2", "7"))
    folder = library.folder
    library.close()
    doctor.rebuild(folder)
    with Library.open(folder) as again:
        assert doctor.check(again, whole=True).problems == ()
        with again.reading() as session:
            kept = photos.all_photos(session)
            numbers = [works.work_facts(session, works.work_of_photo(session, one.photo_id))[1] for one in kept]
        assert [one.part for one in kept] == [1, 2, 3]
        assert numbers == [4, 2, 7]


def test_look_tells_each_work(tmp_path):
    """The JSON of ``look`` has one entry for each work; the photo itself has no number and no outline."""
    path = note(tmp_path, "IMG.JPG", works=("4", "2!"))
    told = as_json(see_note(SeeRequest(path, "IMG.JPG")))
    assert (told["number"], told["outline_px"]) == (None, None)
    assert [(one["number"], one["sure"], one["crop_sure"]) for one in told["works"]] == [
        (4, True, True),
        (2, False, True),
    ]


def test_the_digest_of_an_original_is_shared(library, class_id, tmp_path):
    """Every row of a photo names the same bytes."""
    report = take(library, tmp_path / "in", ("4", "2"))
    (sha,) = {line.sha256 for line in report.photos}
    assert hashlib.sha256((tmp_path / "in" / "IMG_0001.JPG").read_bytes()).hexdigest() == sha
