"""Small pictures stand in for photos whose originals are still on their way; then the originals take their place."""

from __future__ import annotations

import io
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx2
import pytest
from fastapi.testclient import TestClient
from PIL import Image, ImageOps
from sqlmodel import select

from portfolio.archive import doctor, photos, settings, snapshot
from portfolio.archive.library import DATABASE, Library
from portfolio.archive.settings import Settings
from portfolio.archive.tables import Action, Photo, View, Work
from portfolio.archive.works import derived_path
from portfolio.errors import Refused
from portfolio.flows import sign_in
from portfolio.flows.arriving import by_batch
from portfolio.flows.settle import undo
from portfolio.flows.take_in import add_original, undo_batch
from portfolio.reading import BEGINNING_BYTES, open_photo, read_picture, stand_in_of
from portfolio.web.app import create_app
from portfolio.web.run import open_desk
from portfolio.web.sign_in import COOKIE
from tests.web.conftest import OURS, App
from tests.web.lesson import HALF, NUMBERS
from tests.web.room import TODAY, furnish
from tests.web.test_uploads import TUS, described, open_batch, send

RUNG = 672


@pytest.fixture
def fresh(tmp_path: Path) -> Iterator[App]:
    """The small art room in an app of its own: what is filed here is nobody else's."""
    with Library.create(tmp_path / "library"):
        settings.save(tmp_path / "library", Settings(executor="thread", workers=1, free_space_mb=1))
    with Library.open(tmp_path / "library") as library:
        room = furnish(library)
        desk = open_desk(library, today=TODAY)
        with TestClient(create_app(desk), base_url="http://127.0.0.1", headers=OURS, client=("127.0.0.1", 5)) as client:
            client.cookies.set(COOKIE, sign_in.open_demo(library).secret)
            yield App(room, desk, client, client)


def small(path: Path, long_px: int = 1600) -> bytes:
    """What a browser makes of a photo: upright, small, without any description."""
    with Image.open(path) as photo:
        upright = ImageOps.exif_transpose(photo).convert("RGB")
    upright.thumbnail((long_px, long_px))
    out = io.BytesIO()
    upright.save(out, "JPEG", quality=85)
    return out.getvalue()


def announce(app: App, batch_id: int, path: Path) -> str:
    """Announce a photo; gives where it is sent."""
    told = {"Upload-Length": str(path.stat().st_size), "Upload-Metadata": described(batch_id, path.name)}
    return str(app.client.post("/add/uploads", headers=TUS | told).headers["location"])


def look(app: App, to: str, path: Path, *, picture: bytes | None = None) -> httpx2.Response:
    """Send the small picture of a photo and how its file begins."""
    files = {"beginning": path.read_bytes()[:BEGINNING_BYTES], "look": picture or small(path)}
    return app.client.post(f"{to}/look", files=files)


def _settle(app: App, batch_id: int) -> None:
    app.client.post(f"/add/{batch_id}/close")
    _wait(app, lambda: not app.desk.reader.is_busy(batch_id))


def _wait(app: App, is_so: Any) -> None:
    until = time.monotonic() + 60
    while not is_so():
        assert time.monotonic() < until
        time.sleep(0.05)


def _rows(app: App, batch_id: int) -> dict[str, Photo]:
    with app.room.library.reading() as session:
        return {one.file_name: one for one in session.exec(select(Photo).where(Photo.batch_id == batch_id))}


def _all_renewed(app: App, batch_id: int) -> bool:
    return all(one.coming == photos.RENEWED for one in _rows(app, batch_id).values())


def _numbers(app: App, batch_id: int) -> dict[str, int]:
    found = app.client.get(f"/api/batches/{batch_id}").json()["photos"]
    return {one["file"]: one["number"] for one in found if one["state"] == "filed"}


def test_questions_come_before_the_originals_and_answers_stay(fresh: App, lesson: list[Path]) -> None:
    """By small pictures the lesson is filed and the half card is asked and answered; then the originals come: byte for
    byte, with pictures made anew, and every filing, answer and size as it was. The answer can still be undone.
    """
    library = fresh.room.library
    batch_id = open_batch(fresh, expected=len(lesson))
    ways = [announce(fresh, batch_id, path) for path in lesson]
    for to, path in zip(ways, lesson, strict=True):
        assert look(fresh, to, path).status_code == 201
    originals = set(library.originals.all())
    _settle(fresh, batch_id)
    assert by_batch(library) == {batch_id: len(lesson)}
    page = fresh.client.get(f"/add/{batch_id}").text
    assert f"{len(lesson)} originals still to come." in page
    rows = _rows(fresh, batch_id)
    assert all(one.taken_local is not None for one in rows.values()), "the time stands in the beginning"
    with Image.open(lesson[0]) as photo:
        assert {rows[lesson[0].name].width_px, rows[lesson[0].name].height_px} == set(photo.size)
    asked = _ask_of(fresh, batch_id)
    assert asked, "the half card is asked about by the small picture already"
    for question_id in asked:
        fresh.client.post(f"/check/{question_id}", data={"number": str(HALF)})
    by_looks = _numbers(fresh, batch_id)
    assert set(by_looks.values()) == set(NUMBERS)
    key = _key(fresh, rows[lesson[0].name].id)
    before = derived_path(library.derived, key, RUNG).read_bytes()
    assert fresh.client.get(f"/photos/{rows[lesson[0].name].id}/1600").status_code == 200
    refused = fresh.client.get(f"/photos/{rows[lesson[0].name].id}/original")
    assert "still on its way" in refused.text, "original-coming"
    assert doctor.check(library, whole=True).problems == ()
    assert set(library.originals.all()) == originals, "no half photo is an original"
    for to, path in zip(ways, lesson, strict=True):
        data = path.read_bytes()
        assert send(fresh, to, data[:1000], 0).status_code == 204
        assert send(fresh, to, data[1000:], 1000).status_code == 204
        assert fresh.client.get(to).json()["before"] == 0
    _wait(fresh, lambda: _all_renewed(fresh, batch_id))
    _settle(fresh, batch_id)
    assert _numbers(fresh, batch_id) == by_looks
    kept = _rows(fresh, batch_id)
    for path in lesson:
        assert kept[path.name].id == rows[path.name].id
        assert library.originals.path(kept[path.name].sha256).read_bytes() == path.read_bytes()
    assert _key(fresh, kept[lesson[0].name].id) == key
    assert derived_path(library.derived, key, RUNG).read_bytes() != before
    assert not list(library.stand_ins.all())
    assert by_batch(library) == {}
    assert "Safe to close." in fresh.client.get(f"/add/{batch_id}").text
    assert doctor.check(library, whole=True).problems == ()
    _undo_the_answer(fresh, batch_id)


def _ask_of(app: App, batch_id: int) -> list[int]:
    found = app.client.get("/api/questions").json()
    listed = found["questions"] if isinstance(found, dict) else found
    return [one["question"] for one in listed if one["kind"] != "crop"]


def _key(app: App, photo_id: int | None) -> str:
    with app.room.library.reading() as session:
        return str(session.exec(select(View.derived_key).where(View.photo_id == photo_id)).one())


def _undo_the_answer(app: App, batch_id: int) -> None:
    filed = len(_numbers(app, batch_id))
    undo(app.room.library)
    assert len(_numbers(app, batch_id)) == filed - 1


def test_an_original_that_comes_first_is_read_as_ever(fresh: App, lesson: list[Path]) -> None:
    """The original is whole before anything was decided: the photo is read from it, nothing of the look is left."""
    batch_id = open_batch(fresh)
    to = announce(fresh, batch_id, lesson[0])
    assert look(fresh, to, lesson[0]).status_code == 201
    assert send(fresh, to, lesson[0].read_bytes(), 0).status_code == 204
    _settle(fresh, batch_id)
    _wait(fresh, lambda: not list(fresh.room.library.stand_ins.all()))
    _settle(fresh, batch_id)
    (row,) = _rows(fresh, batch_id).values()
    assert (row.state, row.coming) == ("filed", "")
    assert _numbers(fresh, batch_id) == {lesson[0].name: NUMBERS[0]}


def test_the_original_may_come_by_another_road(fresh: App, lesson: list[Path]) -> None:
    """Sent ahead, the page closed; a week later the card's photos come by the plain form: it is the same photo."""
    library = fresh.room.library
    batch_id = open_batch(fresh)
    to = announce(fresh, batch_id, lesson[0])
    photo_id = look(fresh, to, lesson[0]).json()["photo"]
    _settle(fresh, batch_id)
    fresh.client.delete(to, headers=TUS)
    assert by_batch(library) == {batch_id: 1}, "still not here, whoever sends it"
    again = announce(fresh, open_batch(fresh), lesson[0])
    assert look(fresh, again, lesson[0]).json()["photo"] == photo_id, "looked at twice, it is one photo"
    files = [("photos", (lesson[0].name, lesson[0].read_bytes(), "image/jpeg"))]
    assert fresh.client.post("/add", files=files).status_code == 200
    _wait(fresh, lambda: not list(library.stand_ins.all()))
    rows = _rows(fresh, batch_id)
    assert [one.id for one in rows.values()] == [photo_id]
    assert _numbers(fresh, batch_id) == {lesson[0].name: NUMBERS[0]}


def test_a_photo_that_is_there_gets_no_stand_in(fresh: App, lesson: list[Path]) -> None:
    """Its original is known by size and beginning: no second photo, and the file is said to have come before."""
    batch_id = open_batch(fresh)
    to = announce(fresh, batch_id, lesson[1])
    send(fresh, to, lesson[1].read_bytes(), 0)
    again = announce(fresh, batch_id, lesson[1])
    assert look(fresh, again, lesson[1]).json()["photo"] is None
    send(fresh, again, lesson[1].read_bytes(), 0)
    assert fresh.client.get(again).json()["before"] == 1
    assert len(_rows(fresh, batch_id)) == 1


def test_what_cannot_stand_in_is_waited_for(fresh: App, lesson: list[Path], tmp_path: Path) -> None:
    """Another shape, no JPEG, a beginning of another length, a look that is too large: nothing is recorded."""
    batch_id = open_batch(fresh)
    to = announce(fresh, batch_id, lesson[0])
    wide = io.BytesIO()
    Image.new("RGB", (1600, 400)).save(wide, "JPEG")
    for picture in (wide.getvalue(), b"no picture", small(lesson[0]) + b"\0" * 2_000_000):
        assert look(fresh, to, lesson[0], picture=picture).json()["photo"] is None
    files = {"beginning": b"\xff\xd8\xff short", "look": small(lesson[0])}
    assert fresh.client.post(f"{to}/look", files=files).json()["photo"] is None
    assert look(fresh, "/add/uploads/1-" + "a" * 24, lesson[0]).status_code == 404
    assert not _rows(fresh, batch_id)
    assert not list(fresh.room.library.stand_ins.all())


def test_a_stand_in_opens_in_the_size_and_with_the_facts_of_its_original(lesson: list[Path]) -> None:
    """Cards found in it lie where they lie in the original, to a few pixels; time and camera are the original's."""
    data = lesson[0].read_bytes()
    made = stand_in_of(data[:BEGINNING_BYTES], small(lesson[0]))
    assert made is not None
    original, stands = open_photo(data, file="a"), open_photo(made.as_bytes, file="a")
    assert stands.facts == original.facts
    assert stands.rgb(2).shape == original.rgb(2).shape
    for ours, theirs in zip(read_picture(stands).cards, read_picture(original).cards, strict=True):
        assert (ours.value, ours.status) == (theirs.value, theirs.status)
        for one, other in zip(ours.left_px or (), theirs.left_px or (), strict=True):
            assert abs(one[0] - other[0]) < 3
            assert abs(one[1] - other[1]) < 3


def test_a_backup_counts_no_original_that_is_not_here(fresh: App, lesson: list[Path], tmp_path: Path) -> None:
    """The copy of the records lists only originals that are there; a rebuild from sidecars keeps the stand-in's photo,
    and its original takes its place afterwards.
    """
    library: Library = fresh.room.library
    batch_id = open_batch(fresh)
    to = announce(fresh, batch_id, lesson[0])
    look(fresh, to, lesson[0])
    _settle(fresh, batch_id)
    (row,) = _rows(fresh, batch_id).values()
    snapshot.copy_database(library.folder / DATABASE, tmp_path / "copy.db")
    assert row.sha256 not in snapshot.look_at(tmp_path / "copy.db").originals
    fresh.desk.reader.close()
    library.close()
    doctor.rebuild(library.folder)
    with Library.open(library.folder) as rebuilt:
        assert doctor.check(rebuilt).problems == ()
        added = add_original(rebuilt, batch_id, name="x.jpg", stream=io.BytesIO(lesson[0].read_bytes()))
        assert added.photo_id == row.id
        with rebuilt.reading() as session:
            assert session.exec(select(Work.id).join(View).where(View.photo_id == row.id)).one()


def test_a_batch_taken_back_comes_back_whole(fresh: App, lesson: list[Path]) -> None:
    """Filed by its small picture, taken back, then its original comes, then the batch is brought back: the same work,
    its original behind it. That the original came is no step that can be undone.
    """
    library = fresh.room.library
    batch_id = open_batch(fresh)
    to = announce(fresh, batch_id, lesson[0])
    look(fresh, to, lesson[0])
    _settle(fresh, batch_id)
    filed = _numbers(fresh, batch_id)
    assert list(filed.values()) == [NUMBERS[0]]
    taken_back = undo_batch(library, batch_id)
    assert send(fresh, to, lesson[0].read_bytes(), 0).status_code == 204
    _wait(fresh, lambda: _all_renewed(fresh, batch_id))
    with library.reading() as session:
        came = session.exec(select(Action.id).where(Action.what == "received an original")).one()
    with pytest.raises(Refused) as refused:
        undo(library, came)
    assert refused.value.code == "cannot-undo"
    undo(library, taken_back)
    assert _numbers(fresh, batch_id) == filed
    (row,) = _rows(fresh, batch_id).values()
    assert library.originals.path(row.sha256).read_bytes() == lesson[0].read_bytes()
    assert doctor.check(library, whole=True).problems == ()
