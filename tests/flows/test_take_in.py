"""Photos are taken in: originals first, one bad file never stops the batch, and a run that was cut off goes on."""

import hashlib
import json
from dataclasses import replace
from datetime import datetime, time
from pathlib import Path

import pytest

from portfolio.archive import photos, works
from portfolio.archive.library import Library
from portfolio.archive.originals import Originals
from portfolio.errors import DiskError, NotFound
from portfolio.flows import read_photos
from portfolio.flows.take_in import (
    add_original,
    adopt_orphans,
    choose,
    finish_unfinished,
    make_pictures_again,
    open_batch,
    read_batch,
    report_as_json,
    settle_batch,
    take_in,
    undo_batch,
)
from portfolio.model.filing import Chosen, PhotoState
from tests.support.notes import ReadsNotes, note
from tests.support.school import YEAR_START, family_name, given_name, make_class

AT = datetime.combine(YEAR_START, time(9, 48))


@pytest.fixture
def class_id(library):
    return make_class(library, children=5)[0]


def _stack(folder: Path, *values: int) -> list[Path]:
    return [
        note(folder, f"IMG_{place:04}.JPG", str(value), at=AT.replace(second=place * 3), crop_hash=place << 40)
        for place, value in enumerate(values, start=1)
    ]


def _take(library, *paths, executor=None, **given):
    return take_in(library, list(paths), executor=executor or ReadsNotes(), quiet_s=0, **given)


def _originals(library) -> dict[str, str]:
    return {
        sha: hashlib.sha256(library.originals.path(sha).read_bytes()).hexdigest() for sha in library.originals.all()
    }


def _states(report) -> list[str]:
    return [line.state.value for line in report.photos]


def test_a_stack_is_filed_by_its_cards(library, class_id, tmp_path):
    """Three photos after the lesson: three works, each with its child, view, colors, pictures and history."""
    report = _take(library, *_stack(tmp_path / "in", 2, 5, 1))
    assert _states(report) == ["filed"] * 3
    assert [(line.class_label, line.number) for line in report.photos] == [("3B", 2), ("3B", 5), ("3B", 1)]
    assert report.checks[0].sentence == "3 of 5 numbers; 3 and 4 missing"
    with library.reading() as session:
        for line in report.photos:
            key = works.view_of_photo(session, line.photo_id).derived_key
            assert all(works.derived_path(library.derived, key, rung).is_file() for rung in (2016, 672, 336))


def test_the_json_is_the_contract(library, class_id, tmp_path):
    """Exactly these keys, and the counts are those of the states."""
    note(tmp_path / "in", "IMG_0009.JPG", at=AT)
    note(tmp_path / "in", "IMG_0008.JPG", "301", at=AT.replace(minute=40))
    _stack(tmp_path / "in", 2)
    told = json.loads(json.dumps(report_as_json(_take(library, tmp_path / "in"))))
    assert set(told) == {"batch", "filed", "questions", "problems", "duplicates", "photos", "checks", "hints"}
    assert (told["filed"], told["questions"], told["problems"], told["duplicates"]) == (1, 1, 0, 0)
    keys = {"file", "sha256", "state", "class", "number", "work", "reason", "code"}
    assert all(set(photo) == keys for photo in told["photos"])
    assert [photo["state"] for photo in told["photos"]] == ["slate", "question", "filed"]
    assert told["photos"][1]["code"] == "no-card"


def test_one_bad_file_never_stops_the_batch(library, class_id, tmp_path):
    """Empty, no picture, a reader that stopped, a copy: each is told by its code, the good ones are filed."""
    folder = tmp_path / "in"
    first, *_ = _stack(folder, 2, 3)
    (folder / "empty.jpg").write_bytes(b"")
    (folder / "text.jpg").write_bytes(b"no photo at all")
    note(folder, "hard.jpg", problem="photo-out-of-time")
    (folder / "copy.jpg").write_bytes(first.read_bytes())
    report = _take(library, folder)
    by_file = {line.file: line for line in report.photos}
    assert by_file["empty.jpg"].code == "photo-empty"
    assert by_file["text.jpg"].code == "photo-not-a-picture"
    assert by_file["hard.jpg"].code == "photo-out-of-time"
    assert sorted(_states(report)) == ["duplicate", "filed", "filed", "problem", "problem", "problem"]
    assert "text.jpg" not in {line.file for line in report.photos if line.state is PhotoState.FILED}


def test_originals_are_byte_for_byte_what_was_handed_over(library, class_id, tmp_path):
    """After filing, questions, problems and undo, every original still is the file that came in."""
    folder = tmp_path / "in"
    paths = [*_stack(folder, 1, 2, 2), note(folder, "x.jpg", problem="photo-damaged")]
    wanted = {hashlib.sha256(path.read_bytes()).hexdigest() for path in paths}
    report = _take(library, folder)
    undo_batch(library, report.batch_id)
    assert {path.read_bytes() for path in paths}
    assert _originals(library) == {sha: sha for sha in wanted}


def test_the_same_photos_again_are_skipped(library, class_id, tmp_path):
    """Everything is a duplicate, with the class and number it has; nothing is filed twice."""
    paths = _stack(tmp_path / "in", 1, 2)
    first, again = _take(library, *paths), _take(library, *paths)
    assert _states(again) == ["duplicate"] * 2
    assert {line.work_id for line in again.photos} == {line.work_id for line in first.photos}
    assert len(_originals(library)) == 2


def test_nothing_to_take_in_is_refused(library, tmp_path):
    """A folder without photos, told by its code; no batch is begun."""
    (tmp_path / "in").mkdir()
    with pytest.raises(NotFound) as caught:
        _take(library, tmp_path / "in")
    assert caught.value.code == "folder-without-photos"
    with library.reading() as session, pytest.raises(NotFound):
        photos.batch(session, 1)


def test_an_unsure_edge_is_asked_but_the_work_is_filed(library, class_id, tmp_path):
    """The number is sure: the work is there, shown as taken, without a size until the edge is answered."""
    report = _take(library, note(tmp_path / "in", "IMG_1.JPG", "2", at=AT, crop="unsure"))
    assert _states(report) == ["filed"]
    assert report.questions == 1
    with library.reading() as session:
        assert works.view_of_photo(session, report.photos[0].photo_id).crop is None


def test_a_photo_of_a_solid_medium_is_looked_at_again_as_solid(library, class_id, tmp_path):
    """A clay card beside the work: never rectified by the plane of the card."""
    from portfolio.archive import room

    with library.writing(who="teacher", what="set up") as writing:
        room.add_starter(writing.session)
        clay = next(one for one in room.media(writing.session) if one.label == "clay")
    executor = ReadsNotes()
    report = _take(library, note(tmp_path / "in", "IMG_1.JPG", "2", str(clay.card), at=AT), executor=executor)
    assert executor.read == ["IMG_1.JPG", "IMG_1.JPG"]
    with library.reading() as session:
        assert photos.photo(session, report.photos[0].photo_id).reading["crop"]["shape"] == "solid"


# --- cut off ----------------------------------------------------------------------------------------------------------


class _Killed(BaseException):
    """Stands for the machine stopping: nothing catches it."""


@pytest.mark.parametrize("after", [0, 3])
def test_a_run_killed_while_reading_is_finished_by_the_next(library, class_id, tmp_path, after):
    """Stored photos are kept; handing the folder over again files every one of them once, as if nothing happened."""
    folder = tmp_path / "in"
    note(folder, "IMG_0000.JPG", "301", at=AT.replace(minute=47))
    _stack(folder, 1, 2, 3)

    def kill(count: int) -> None:
        if count == after:
            raise _Killed

    with pytest.raises(_Killed):
        _take(library, folder, executor=ReadsNotes(kill))
    report = _take(library, folder)
    assert sorted(_states(report)) == ["filed", "filed", "filed", "slate"]
    assert len({line.work_id for line in report.photos if line.work_id}) == 3
    assert _take(library, folder).count(PhotoState.DUPLICATE) == 4


def test_a_run_killed_while_filing_keeps_its_class_card(library, class_id, tmp_path):
    """The class card was decided before the stop: the photos behind it still belong to its class."""
    folder = tmp_path / "in"
    with library.writing(who="teacher", what="mapped a card") as writing:
        from portfolio.archive import school

        school.map_card(writing.session, 305, class_id=class_id)
    lunch = AT.replace(hour=12)
    note(folder, "IMG_0000.JPG", "305", at=lunch)
    for place in (1, 2, 3):
        note(folder, f"IMG_000{place}.JPG", str(place), at=lunch.replace(second=place), crop_hash=place << 30)

    def kill(what: str, done: int, _of: int) -> None:
        if (what, done) == ("filed", 2):
            raise _Killed

    with pytest.raises(_Killed):
        _take(library, folder, told=kill)
    report = _take(library, folder)
    assert _states(report) == ["slate", "filed", "filed", "filed"]
    assert {line.class_label for line in report.photos[1:]} == {"3B"}


def test_an_original_that_no_record_speaks_of_is_adopted(library, class_id, tmp_path):
    """The machine stopped between storing and recording: it is recorded, and the next run reads and files it."""
    lost = note(tmp_path / "lost", "IMG_7.JPG", "4", at=AT)
    library.originals.put(lost)
    adopt_orphans(library)
    _take(library, *_stack(tmp_path / "in", 1))
    with library.reading() as session:
        sha = hashlib.sha256(lost.read_bytes()).hexdigest()
        assert photos.photo_by_digest(session, sha).state is PhotoState.FILED


def test_a_photo_whose_reader_was_stopped_is_read_again_when_it_comes_again(library, class_id, tmp_path, monkeypatch):
    """Handing it over once more is another try, not a duplicate."""
    from tests.support import notes

    path = note(tmp_path / "in", "IMG_1.JPG", "2", at=AT, problem="photo-out-of-memory")
    assert _states(_take(library, path)) == ["problem"]
    well, plain = note(tmp_path / "well", "IMG_1.JPG", "2", at=AT), notes.see_note
    monkeypatch.setattr(notes, "see_note", lambda request: plain(replace(request, path=well)))
    assert _states(_take(library, path)) == ["filed"]


# --- the disk ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("broken", ["original", "picture"])
def test_a_full_disk_keeps_everything_before_and_half_files_nothing(library, class_id, tmp_path, monkeypatch, broken):
    """Full at the third original or picture: what came before is kept, no temp file stays, and the same call again
    finishes."""
    folder = tmp_path / "in"
    _stack(folder, 1, 2, 3, 4)
    with monkeypatch.context() as patched:
        if broken == "original":
            _fill_at(patched, Originals, "_place", 3)
        else:
            _fill_at(patched, read_photos, "write_pictures", 3)
        with pytest.raises(DiskError) as caught:
            _take(library, folder)
    assert caught.value.code == "disk-full"
    assert str(tmp_path) not in caught.value.sentence
    assert not list((library.folder / "originals" / "tmp").iterdir())
    assert all(sha == digest for sha, digest in _originals(library).items())
    assert _states(_take(library, folder)) == ["filed"] * 4


def _fill_at(patched, owner, name, turn):
    plain, count = getattr(owner, name), []

    def full(*given, **named):
        count.append(1)
        if len(count) == turn:
            raise DiskError("disk-full", item="IMG")
        return plain(*given, **named)

    patched.setattr(owner, name, full)


def test_pictures_half_written_on_a_full_disk_are_removed(library, monkeypatch):
    """The second picture does not fit: the first does not stay behind."""
    from tests.support.notes import see_note

    path = note(library.folder / "x", "IMG_1.JPG", "2")
    made = see_note(read_photos.SeeRequest(path, "IMG_1.JPG")).straightened.derivatives
    plain, count = Path.write_bytes, []

    def full(self, content):
        count.append(1)
        if len(count) == 2:
            raise OSError(28, "No space left on device")
        return plain(self, content)

    monkeypatch.setattr(Path, "write_bytes", full)
    with pytest.raises(DiskError):
        read_photos.write_pictures(library, made)
    assert not [path for path in library.derived.rglob("*") if path.is_file()]


def test_a_file_that_changes_while_it_is_stored_is_told_and_left(library, class_id, tmp_path, monkeypatch):
    """Half a copy never becomes an original."""
    folder = tmp_path / "in"
    _stack(folder, 1, 2)
    plain = Originals.put

    def growing(self, source, *, name):
        if name == "IMG_0001.JPG":
            with (folder / name).open("a") as more:
                more.write(" ")
        return plain(self, source, name=name)

    monkeypatch.setattr(Originals, "put", growing)
    report = _take(library, folder)
    assert sorted((line.state.value, line.code) for line in report.photos) == [
        ("filed", None),
        ("problem", "photo-changing"),
    ]
    assert len(_originals(library)) == 1


# --- in steps ---------------------------------------------------------------------------------------------------------


def _add(library, batch_id, path):
    with path.open("rb") as stream:
        return add_original(library, batch_id, name=path.name, stream=stream)


def test_uploads_are_read_ahead_and_filed_in_the_order_taken(library, class_id, tmp_path):
    """Files arrive in any order; the batch is decided in the order of the camera."""
    view = note(tmp_path / "in", "IMG_3.JPG", "2", "101", at=AT.replace(second=30))
    first = note(tmp_path / "in", "IMG_1.JPG", "2", at=AT)
    batch_id, executor = open_batch(library, Chosen()), ReadsNotes()
    _add(library, batch_id, view)
    read_batch(library, batch_id, executor=executor)
    _add(library, batch_id, first)
    report = settle_batch(library, batch_id, executor=executor)
    assert executor.read == ["IMG_3.JPG", "IMG_1.JPG"]
    assert [(line.file, line.state.value) for line in report.photos] == [("IMG_1.JPG", "filed"), ("IMG_3.JPG", "filed")]
    assert len({line.work_id for line in report.photos}) == 1


def test_a_class_card_that_arrives_late_is_heeded(library, class_id, tmp_path):
    """Filed by the timetable, then a class card of another class turns up before it: taken back and asked."""
    other, _ = make_class(library, label="4A", grade="4", children=5)
    with library.writing(who="teacher", what="mapped a card") as writing:
        from portfolio.archive import school

        school.set_slots(writing.session, other, [])
        school.map_card(writing.session, 306, class_id=other)
    batch_id, executor = open_batch(library, Chosen()), ReadsNotes()
    _add(library, batch_id, note(tmp_path / "in", "IMG_2.JPG", "2", at=AT.replace(second=9)))
    assert _states(settle_batch(library, batch_id, executor=executor)) == ["filed"]
    _add(library, batch_id, note(tmp_path / "in", "IMG_1.JPG", "306", at=AT))
    report = settle_batch(library, batch_id, executor=executor)
    assert _states(report) == ["slate", "question"]
    assert report.photos[1].code == "class-timetable"
    assert report.photos[1].work_id is None


def test_settling_again_changes_nothing(library, class_id, tmp_path):
    """The same evidence, the same decisions: no second work, no new step in the history."""
    report = _take(library, *_stack(tmp_path / "in", 1, 2, 2))
    again = settle_batch(library, report.batch_id, executor=ReadsNotes())
    assert [line.work_id for line in again.photos] == [line.work_id for line in report.photos]
    assert again.questions == report.questions


def test_another_choice_files_the_batch_anew(library, class_id, tmp_path):
    """The teacher had chosen the wrong class: choosing again and settling moves what she has not touched."""
    other, _ = make_class(library, label="4A", grade="4", children=5)
    lunch = AT.replace(hour=12)
    path = note(tmp_path / "in", "IMG_1.JPG", "2", at=lunch)
    report = _take(library, path, chosen=Chosen(class_id=class_id))
    assert report.photos[0].class_label == "3B"
    choose(library, report.batch_id, Chosen(class_id=other))
    again = settle_batch(library, report.batch_id, executor=ReadsNotes())
    assert again.photos[0].class_label == "4A"


def test_pictures_that_were_thrown_away_are_made_again_under_their_names(library, class_id, tmp_path):
    """``derived/`` can be deleted: every picture comes back, byte for byte, and no record changes."""
    _take(library, *_stack(tmp_path / "in", 1, 2))
    before = {path.name: path.read_bytes() for path in library.derived.rglob("*.jpg")}
    for path in library.derived.rglob("*.jpg"):
        path.unlink()
    assert make_pictures_again(library, executor=ReadsNotes()) == 2
    assert {path.name: path.read_bytes() for path in library.derived.rglob("*.jpg")} == before
    assert make_pictures_again(library, executor=ReadsNotes()) == 0


def test_unfinished_batches_are_finished_at_the_next_start(library, class_id, tmp_path):
    """Stored, then the app was closed: nothing is lost and nothing is asked of the teacher."""
    batch_id = open_batch(library, Chosen())
    _add(library, batch_id, _stack(tmp_path / "in", 3)[0])
    assert finish_unfinished(library, executor=ReadsNotes()) == 1
    assert finish_unfinished(library, executor=ReadsNotes()) == 0
    assert _states(settle_batch(library, batch_id, executor=ReadsNotes())) == ["filed"]


def test_a_photo_that_was_found_again_gets_its_name_when_it_comes_again(library, class_id, tmp_path):
    """Stopped between storing and recording, and nobody knows its name; then it is handed over once more."""
    path = _stack(tmp_path / "in", 3)[0]
    library.originals.put(path)
    assert adopt_orphans(library) == 1
    assert adopt_orphans(library) == 0
    with library.reading() as session:
        (found,) = photos.unfinished_batches(session)
        assert photos.photos_of(session, found)[0].file_name == "recovered-1"
    batch_id = open_batch(library, Chosen())
    _add(library, batch_id, path)
    with library.reading() as session:
        assert [one.file_name for one in photos.photos_of(session, batch_id)] == [path.name]
        assert photos.photos_of(session, found) == []


def test_what_is_being_taken_in_is_not_found_again_beside_it(library, class_id, tmp_path, monkeypatch):
    """Finishing earlier batches while a photo lies between storing and recording leaves the photo to its own batch."""
    path = _stack(tmp_path / "in", 3)[0]
    put = library.originals.put

    def put_and_finish(*given, **named):
        stored = put(*given, **named)
        finish_unfinished(library, executor=ReadsNotes())
        return stored

    monkeypatch.setattr(library.originals, "put", put_and_finish)
    batch_id = open_batch(library, Chosen())
    _add(library, batch_id, path)
    with library.reading() as session:
        assert [one.file_name for one in photos.photos_of(session, batch_id)] == [path.name]


def test_no_sentence_holds_a_name_or_a_path(library, class_id, tmp_path):
    """Reasons, evidence and problems speak of numbers and classes only."""
    folder = tmp_path / "in"
    _stack(folder, 1, 1, 2)
    note(folder, "IMG_0020.JPG", "9", at=AT)
    note(folder, "IMG_0021.JPG", "3?", at=AT)
    note(folder, "IMG_0022.JPG", at=AT)
    (folder / "bad.jpg").write_bytes(b"x")
    report = _take(library, folder)
    with library.reading() as session:
        told = [line.reason or "" for line in report.photos] + [check.sentence for check in report.checks]
        told += [json.dumps(one.reading) for one in photos.photos_of(session, report.batch_id)]
    names = [given_name("3B", n) for n in range(1, 6)] + [family_name("3B", n) for n in range(1, 6)]
    assert not [text for text in told if str(tmp_path) in text or any(name in text for name in names)]


def test_a_library_that_is_open_elsewhere_is_not_written(library, tmp_path):
    """A second program is refused by its code, with nothing changed."""
    from portfolio.errors import LibraryError

    with pytest.raises(LibraryError) as caught:
        Library.open(library.folder)
    assert caught.value.code == "library-in-use"
