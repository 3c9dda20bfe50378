import json
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from sqlmodel import select

from portfolio.archive import doctor, sidecars, tables
from portfolio.archive.library import DATABASE, Library
from tests.support.school import make_class, make_library, make_work


@pytest.fixture
def library(tmp_path: Path):
    with make_library(tmp_path) as made:
        class_id, ids = make_class(made, children=3)
        for number in (1, 2, 3):
            make_work(made, class_id=class_id, number=number, student_id=ids[number - 1], reflection=f"Its nr {number}")
        with made.writing(who="teacher", what="noted") as writing:
            session = writing.session
            session.add(
                tables.ReleaseRecord(
                    student_id=ids[0],
                    audience="public",
                    allowed=True,
                    name_form="first",
                    from_day=date(2026, 9, 1),
                    recorded_utc=datetime.now(UTC),
                )
            )
            tag = tables.Tag(label="animals")
            session.add(tag)
            session.add(tables.Show(title="Spring"))
            session.flush()
            session.add(tables.WorkTag(work_id=1, tag_id=tag.id))
            session.add(tables.WorkColor(work_id=2, blue=40))
            session.add(tables.ShowWork(show_id=1, work_id=3))
            session.add(tables.Setting(key="school", value={"name": "Elm Lane"}))
            session.add(tables.Batch(created_utc=datetime.now(UTC)))
            said = tables.Reflection(student_id=ids[2], text="its a boat", said_on=date(2026, 10, 7))
            session.add(said)
            session.add(
                tables.Observation(student_id=ids[2], what="cutting", level="secure", seen_on=date(2026, 10, 7))
            )
            session.flush()
            session.add(
                tables.QuestionRow(
                    kind="reflection", reflection_id=said.id, evidence="No work that day.", asked_utc=datetime.now(UTC)
                )
            )
        with made.writing(who="program", what="stored a photo") as writing:
            loose = made.originals.put(_stream(b"a photo of no work yet"))
            photo = tables.Photo(sha256=loose.sha256, batch_id=1, stored_utc=datetime.now(UTC), state="question")
            writing.session.add(photo)
            writing.session.flush()
            writing.session.add(
                tables.QuestionRow(
                    kind="no card", photo_id=photo.id, evidence="No card in the photo.", asked_utc=datetime.now(UTC)
                )
            )
        yield made


def _stream(data: bytes):
    import io

    return io.BytesIO(data)


def everything(library: Library) -> dict[str, list[dict]]:
    """Every row of every table that a rebuild promises."""
    from portfolio.archive import rows

    with library.reading() as session:
        return {
            str(kind.__tablename__): [rows.dump(row) for row in session.exec(select(kind)).all()]
            for kind in sidecars.INSERT_ORDER
        }


def test_the_archive_can_be_rebuilt_from_its_sidecars_alone(library: Library) -> None:
    """With the database deleted, every row (names, numbers, works, words, releases, questions) comes back as it was."""
    before = everything(library)
    folder = library.folder
    library.close()
    for path in folder.glob(f"{DATABASE}*"):
        path.unlink()
    rebuilt = doctor.rebuild(folder)
    assert (rebuilt.recovered, rebuilt.left_out, rebuilt.damaged) == (0, 0, ())
    with Library.open(folder) as again:
        assert everything(again) == before
        assert doctor.check(again, whole=True).problems == ()


def test_what_came_after_a_photo_was_filed_comes_back_too(library: Library) -> None:
    """The end of its batch and the answered question of a photo that is a view by now."""
    with library.writing(who="teacher", what="answered a question") as writing:
        session = writing.session
        view = session.exec(select(tables.View)).first()
        asked = {"evidence": "No card in the photo.", "state": "answered", "asked_utc": datetime.now(UTC)}
        session.add(tables.QuestionRow(kind="no-card", photo_id=view.photo_id, **asked))
    with library.writing(who="program", what="finished a batch") as writing:
        for batch in writing.session.exec(select(tables.Batch)).all():
            batch.state = "done"
    before = everything(library)
    folder = library.folder
    library.close()
    (folder / DATABASE).unlink()
    doctor.rebuild(folder)
    with Library.open(folder) as again:
        after = everything(again)
    assert {row["state"] for row in after["batch"]} == {"done"}
    assert after == before


def test_no_new_step_gets_the_number_that_an_old_photo_names(library: Library) -> None:
    """History starts anew, but an old decision must never be undone by way of a step that is not its own."""
    with library.writing(who="program", what="filed a photo") as writing:
        writing.session.get(tables.Photo, 1).decision = {"by": "program", "action": 57, "mark": "m"}
    folder = library.folder
    library.close()
    (folder / DATABASE).unlink()
    doctor.rebuild(folder)
    with Library.open(folder) as again, again.writing(who="teacher", what="named a work") as writing:
        writing.session.get(tables.Work, 1).title = "Fox"
        assert writing.action_id > 57


def test_originals_without_a_sidecar_are_recovered_as_stored(library: Library) -> None:
    """A lost sidecar never loses a photo: its original is recorded again, waiting to be read."""
    folder = library.folder
    sidecars.path_of(folder / "sidecars", "work", 2).unlink()
    library.close()
    (folder / DATABASE).write_bytes(b"torn")
    rebuilt = doctor.rebuild(folder)
    assert rebuilt.recovered == 1
    assert rebuilt.rows["work"] == 2
    assert len(list(folder.glob(f"{DATABASE}.before-*"))) >= 1
    with Library.open(folder) as again:
        with again.reading() as session:
            assert doctor.photos_waiting(session) == 1
        assert doctor.check(again).problems == ()


def test_a_damaged_sidecar_is_named_and_the_rest_comes_back(library: Library) -> None:
    """Half a JSON file is reported by its name and stops nothing."""
    folder = library.folder
    path = sidecars.path_of(folder / "sidecars", "work", 1)
    path.write_text(path.read_text(encoding="utf-8")[:40], encoding="utf-8")
    library.close()
    rebuilt = doctor.rebuild(folder)
    assert rebuilt.damaged == ("1.json",)
    assert rebuilt.rows["work"] == 2


def test_sidecars_missed_by_a_crash_are_written_at_the_next_start(library: Library) -> None:
    """The note of what is due is in the same transaction, so a file lost before it was written comes back."""
    path = sidecars.path_of(library.sidecars, "work", 3)
    with library.writing(who="teacher", what="named a work") as writing:
        writing.session.get(tables.Work, 3).title = "Fox"
    path.unlink()
    folder = library.folder
    library.close()
    with Library.open(folder):
        found = json.loads(path.read_text(encoding="utf-8"))
    assert found["rows"]["work"][0]["title"] == "Fox"


def test_words_that_lose_their_work_again_are_not_lost(library: Library) -> None:
    """Matched and then undone: the words are in a sidecar at every moment."""
    from portfolio.archive import history

    with library.writing(who="teacher", what="matched words") as matched:
        said = matched.session.exec(select(tables.Reflection).where(tables.Reflection.text == "its a boat")).one()
        said.work_id = 3
    with library.writing(who="teacher", what="undid a step") as writing:
        history.undo(writing.session, matched.action_id, undoing_id=writing.action_id)
    before = everything(library)["reflection"]
    folder = library.folder
    library.close()
    (folder / DATABASE).unlink()
    doctor.rebuild(folder)
    with Library.open(folder) as again:
        assert everything(again)["reflection"] == before


def test_a_sidecar_goes_when_its_work_is_undone(library: Library) -> None:
    """No sidecar speaks of a work that is not there any more; the photo gets its own again."""
    from portfolio.archive import history

    with library.reading() as session:
        action = session.exec(select(tables.HistoryLine.action_id).where(tables.HistoryLine.subject == "work")).all()[
            -1
        ]
    with library.writing(who="teacher", what="took it out of the show") as writing:
        writing.session.delete(writing.session.exec(select(tables.ShowWork)).one())
    with library.writing(who="teacher", what="undid a step") as writing:
        history.undo(writing.session, action, undoing_id=writing.action_id)
    assert not sidecars.path_of(library.sidecars, "work", 3).exists()


def test_check_finds_each_fault(library: Library) -> None:
    """Missing, altered and unknown originals are each named with their own code."""
    with library.reading() as session:
        shas = session.exec(select(tables.Photo.sha256).order_by(tables.Photo.id)).all()
    library.originals.path(shas[0]).unlink()
    library.originals.path(shas[1]).write_bytes(b"flipped")
    library.originals.put(_stream(b"nobody knows me"))
    codes = sorted(problem.code for problem in doctor.check(library, whole=True).problems)
    assert codes == ["original-altered", "original-missing", "original-unknown"]
