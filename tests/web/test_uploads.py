"""Photos sent piece by piece: how far a file is, where it goes on, what is refused, and what becomes of it."""

from __future__ import annotations

import base64
import hashlib
import io
import os
import re
import shutil
import socket
import time
import zipfile
from datetime import UTC, datetime, timedelta
from itertools import count
from typing import Any

import httpx2
import pytest
from PIL import Image
from sqlmodel import select

from portfolio.archive import arriving
from portfolio.archive.library import Library
from portfolio.archive.tables import Photo
from portfolio.flows import arriving as flow
from portfolio.web import uploads
from tests.web.conftest import App, Served
from tests.web.room import painted

TUS = {"Tus-Resumable": "1.0.0"}
PIECE = {**TUS, "Content-Type": "application/offset+octet-stream"}
_another = count(1)


def padded(size_bytes: int) -> bytes:
    """A small picture that no other test sends, with random bytes behind its end, of so many bytes in all."""
    picture = painted(5000 + next(_another), 80, 60)
    return picture + os.urandom(size_bytes - len(picture))


def described(batch_id: int, name: str = "IMG_0001.JPG", modified_ms: int = 1_700_000_000_000) -> str:
    """The header that says what a file is."""
    told = {"name": name, "batch": str(batch_id), "modified": str(modified_ms)}
    return ",".join(f"{word} {base64.b64encode(text.encode()).decode()}" for word, text in told.items())


def open_batch(app: App, *, expected: int = 1) -> int:
    """A new batch."""
    return int(app.client.post("/add/batches", data={"expected": str(expected)}).json()["batch"])


def create(app: App, size_bytes: int, *, batch_id: int = 0, **told: Any) -> httpx2.Response:
    """Announce a file."""
    headers = {"Upload-Length": str(size_bytes), "Upload-Metadata": described(batch_id or open_batch(app), **told)}
    return app.client.post("/add/uploads", headers=TUS | headers)


def send(app: App, to: str, data: bytes, at: int) -> httpx2.Response:
    """Send a piece."""
    return app.client.patch(to, content=data, headers=PIECE | {"Upload-Offset": str(at)})


def _kept(app: App, photo_id: int) -> bytes:
    with app.room.library.reading() as session:
        sha256 = session.exec(select(Photo.sha256).where(Photo.id == photo_id)).one()
    return app.room.library.originals.path(sha256).read_bytes()


def test_a_photo_in_three_pieces_is_the_same_bytes(app: App) -> None:
    """Created, sent in pieces, asked for in between; the end tells the photo, whose original is byte for byte it."""
    data = padded(300_000)
    made = create(app, len(data), name="folder\\IMG_7.JPG")
    assert made.status_code == 201
    assert made.headers["upload-expires"].endswith("GMT")
    to = made.headers["location"]
    assert re.fullmatch(r"/add/uploads/\d+-[\w-]{24}", to)
    for begin, end in ((0, 100_000), (100_000, 100_001), (100_001, len(data))):
        assert app.client.head(to).headers["upload-offset"] == str(begin)
        assert app.client.get(to).json()["whole"] is False
        said = send(app, to, data[begin:end], begin)
        assert (said.status_code, said.headers["upload-offset"]) == (204, str(end))
    told = app.client.get(to).json()
    assert (told["whole"], told["before"], told["problems"]) == (True, 0, [])
    assert hashlib.sha256(_kept(app, told["photos"][0])).digest() == hashlib.sha256(data).digest()
    with app.room.library.reading() as session:
        assert session.get(Photo, told["photos"][0]).file_name == "IMG_7.JPG"
    assert not list(app.room.library.arriving.folder.glob("*.part"))
    again = send(app, to, b"", len(data))
    assert again.status_code == 204, "the last answer may get lost: asking again changes nothing"
    assert app.client.get(to).json() == told


def test_a_large_photo_may_come_in_one_piece(app: App) -> None:
    """More than a page's form may bring, in one request: the door lets it in."""
    data = padded(2_000_000)
    to = create(app, len(data)).headers["location"]
    assert send(app, to, data, 0).status_code == 204
    assert _kept(app, app.client.get(to).json()["photos"][0]) == data


def test_the_same_photo_again_is_said(app: App) -> None:
    """A second time the same bytes: kept once, told as one that came before."""
    data, batch_id = padded(20_000), open_batch(app, expected=2)
    for before in (0, 1):
        to = create(app, len(data), batch_id=batch_id).headers["location"]
        assert send(app, to, data, 0).status_code == 204
        assert app.client.get(to).json()["before"] == before


def test_what_this_server_speaks(app: App) -> None:
    """OPTIONS tells version and extensions; another version, a wrong kind of body are refused."""
    said = app.client.options("/add/uploads")
    assert (said.status_code, said.headers["tus-version"]) == (204, "1.0.0")
    assert said.headers["tus-extension"] == "creation,termination,expiration"
    assert app.client.post("/add/uploads", headers={"Upload-Length": "5"}).status_code == 412
    to = create(app, 10).headers["location"]
    assert app.client.patch(to, content=b"x", headers={"Upload-Offset": "0"}).status_code == 412
    assert app.client.patch(to, content=b"x", headers=TUS | {"Upload-Offset": "0"}).status_code == 415
    assert app.client.delete(to).status_code == 412
    assert app.client.patch(to, content=b"x", headers=PIECE).status_code == 422, "upload-offset is missing"


def test_changes_from_another_site_are_refused(app: App) -> None:
    """The same door as every other change: no piece, no file, no giving up from elsewhere."""
    to = create(app, 10).headers["location"]
    there = {"Origin": "http://evil.test"}
    assert app.client.post("/add/uploads", headers=TUS | there).status_code == 403
    assert app.client.patch(to, content=b"x", headers=PIECE | there | {"Upload-Offset": "0"}).status_code == 403
    assert app.client.delete(to, headers=TUS | there).status_code == 403
    assert app.client.head(to).headers["upload-offset"] == "0"


@pytest.mark.parametrize(
    ("size_bytes", "name", "status", "said"),
    [
        (3 << 30, "IMG_1.JPG", 413, "more than one photo may weigh"),
        (3 << 30, "lesson.zip", 413, "more than one photo may weigh"),
        ((64 << 20) + 1, "IMG_1.JPG", 413, "67 MB"),
        (0, "IMG_1.JPG", 422, "is empty"),
    ],
)
def test_too_large_or_empty_is_refused_before_the_first_byte(
    app: App, size_bytes: int, name: str, status: int, said: str
) -> None:
    """photo-too-heavy, photo-empty: by what is announced; nothing is written."""
    refused = create(app, size_bytes, name=name)
    assert refused.status_code == status
    assert said in refused.json()["problems"][0]
    assert "location" not in refused.headers


@pytest.mark.parametrize("header", ["", "name", "name %%%", "batch eA==", "batch " + "A" * 3000, "batch gICA"])
def test_a_description_that_cannot_be_read_is_refused(app: App, header: str) -> None:
    """No server error, whatever stands in it."""
    told = {"Upload-Length": "10", "Upload-Metadata": header}
    assert app.client.post("/add/uploads", headers=TUS | told).status_code == 422
    for length in ("", "-1", "ten", "9" * 40):
        told = {"Upload-Length": length, "Upload-Metadata": described(1)}
        assert app.client.post("/add/uploads", headers=TUS | told).status_code == 422


def test_a_batch_that_is_not_there_gets_nothing(app: App) -> None:
    """not-found: before anything is written."""
    assert create(app, 10, batch_id=999_999).status_code == 404


def test_more_photos_than_a_batch_takes_are_refused_in_words(app: App) -> None:
    """upload-too-many: 1,200 announced at once, the 1,001st file of a batch, and 401 in one plain form."""
    said = app.client.post("/add/batches", data={"expected": "1200"})
    assert said.status_code == 413
    assert "more than 1,000 photos" in said.text
    form = app.client.post("/add", files=[("photos", (f"{place}.jpg", b"x", "image/jpeg")) for place in range(401)])
    assert form.status_code == 413
    assert "more than 400 photos" in form.text
    batch_id = open_batch(app, expected=1000)
    folder = app.room.library.arriving.folder
    folder.mkdir(exist_ok=True)
    for place in range(1000):
        (folder / f"{batch_id}-{place:024d}.json").write_text("{}")
    refused = create(app, 10, batch_id=batch_id)
    assert (refused.status_code, refused.json()["code"]) == (413, "upload-too-many")
    for path in folder.glob(f"{batch_id}-*"):
        path.unlink()


def test_five_hundred_photos_at_once_are_all_kept(app: App) -> None:
    """A field trip: 500 announced, sent one after the other, each kept under its own name, none twice, none left; the
    report counts them. The reader is left out: how long it takes is not what is tried.
    """
    batch_id, library = open_batch(app, expected=500), app.room.library
    sent = {}
    for place in range(500):
        data = small_picture(place)
        name = f"IMG_{place:04d}.JPG"
        key = flow.begin(library, flow.Announced(batch_id, name, len(data)))
        flow.append(library, key, data)
        assert flow.finish(library, key).before == 0
        sent[name] = hashlib.sha256(data).hexdigest()
    with library.reading() as session:
        kept = session.exec(select(Photo.file_name, Photo.sha256).where(Photo.batch_id == batch_id)).all()
    assert len(kept) == 500
    assert dict(kept) == sent
    assert library.arriving.on_their_way(batch_id) == []
    assert "500 photos arrived so far." in app.client.get(f"/add/{batch_id}").text


def small_picture(place: int) -> bytes:
    """A picture as small as can be; another, of another size, for each place."""
    stream = io.BytesIO()
    Image.new("L", (8, 8), place % 256).save(stream, "JPEG")
    return stream.getvalue() + bytes(place)


def test_a_wrong_place_and_too_many_bytes_change_nothing(app: App) -> None:
    """upload-offset (409) names the right place; a longer rest than announced is refused (413) before it is read."""
    to = create(app, 1000).headers["location"]
    assert send(app, to, b"x" * 400, 0).status_code == 204
    for place in (0, 399, 401, 1000):
        refused = send(app, to, b"y", place)
        assert refused.status_code == 409
        assert "400 bytes came so far" in refused.json()["problems"][0]
    assert send(app, to, b"x" * 601, 400).status_code == 413
    pieces = iter([b"x" * 300, b"x" * 301])
    refused = app.client.patch(to, content=pieces, headers=PIECE | {"Upload-Offset": "400"})
    assert refused.status_code == 413, "also when the length is not announced"
    assert app.client.head(to).headers["upload-offset"] == "400"


@pytest.mark.parametrize("key", ["1-short", "1-" + "a" * 24, "..%2f..%2fportfolio", "1-" + "." * 24, "x-" + "a" * 24])
def test_keys_are_only_those_that_were_given(app: App, key: str) -> None:
    """upload-gone: guessed, malformed or made to leave the folder."""
    to = f"/add/uploads/{key}"
    assert app.client.head(to).status_code == 404
    assert app.client.get(to).status_code == 404
    assert send(app, to, b"x", 0).status_code == 404
    assert app.client.delete(to, headers=TUS).status_code == 404


def test_a_file_can_be_given_up(app: App) -> None:
    """Gone with its bytes; asked again, it is not there."""
    to = create(app, 1000).headers["location"]
    send(app, to, b"x" * 10, 0)
    assert app.client.delete(to, headers=TUS).status_code == 204
    assert app.client.head(to).status_code == 404
    assert send(app, to, b"x", 10).status_code == 404
    assert not list(app.room.library.arriving.folder.glob(f"*{to[-24:]}*"))


def test_a_zip_file_brings_its_photos(app: App) -> None:
    """A zip file goes the road of a zip file in the form: its photos, and trouble with one of them in words."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as packed:
        packed.writestr("one.jpg", padded(9000))
        packed.writestr("empty.jpg", b"")
    to = create(app, len(out.getvalue()), name="lesson.zip").headers["location"]
    assert send(app, to, out.getvalue(), 0).status_code == 204
    told = app.client.get(to).json()
    assert len(told["photos"]) == 1
    assert "empty.jpg is empty" in told["problems"][0]


def test_a_full_disk_is_said_and_what_came_stays(app: App, monkeypatch: pytest.MonkeyPatch) -> None:
    """disk-full (507): at the announcement, when asked how far it is, and before a piece; with room it goes on."""
    data = padded(50_000)
    batch_id = open_batch(app)
    to = create(app, len(data), batch_id=batch_id).headers["location"]
    send(app, to, data[:20_000], 0)
    real = shutil.disk_usage(app.room.library.folder)
    with monkeypatch.context() as full:
        full.setattr(shutil, "disk_usage", lambda _: real._replace(free=1 << 20))
        refused = create(app, len(data), batch_id=batch_id)
        assert (refused.status_code, refused.json()["code"]) == (507, "disk-full")
        assert app.client.head(to).status_code == 507
        assert send(app, to, data[20_000:], 20_000).status_code == 507
    assert app.client.head(to).headers["upload-offset"] == "20000"
    assert send(app, to, data[20_000:], 20_000).status_code == 204
    assert _kept(app, app.client.get(to).json()["photos"][0]) == data


def test_a_disk_that_fills_while_a_piece_is_written(app: App, monkeypatch: pytest.MonkeyPatch) -> None:
    """A piece that does not fit any more: 507, and the place is what was really written."""
    data = padded(50_000)
    to = create(app, len(data)).headers["location"]
    real_open = arriving.Path.open

    class Full(io.RawIOBase):
        def __init__(self, path: Any) -> None:
            self.out = real_open(path, "ab", buffering=0)

        def close(self) -> None:
            self.out.close()

        def write(self, data: Any) -> int:
            if self.out.tell() >= 10_000:
                raise OSError(28, "No space left on device")
            return self.out.write(bytes(data)[:10_000])

    def opened(path: Any, mode: str = "r", *rest: Any, **more: Any) -> Any:
        return Full(path) if mode == "ab" else real_open(path, mode, *rest, **more)

    with monkeypatch.context() as full:
        full.setattr(arriving.Path, "open", opened)
        assert send(app, to, data, 0).status_code == 507
    assert app.client.head(to).headers["upload-offset"] == "10000"
    assert send(app, to, data[10_000:], 10_000).status_code == 204
    assert _kept(app, app.client.get(to).json()["photos"][0]) == data


@pytest.mark.parametrize("stored", [False, True], ids=["nothing", "original"])
def test_a_file_that_came_whole_before_a_stop_keeps_its_name_and_batch(app: App, stored: bool) -> None:
    """Stopped after the last byte came, with or without its original: the next start keeps it as its own batch's."""
    library, data, batch_id = app.room.library, padded(20_000), open_batch(app)
    to = create(app, len(data), batch_id=batch_id, name="IMG_77.JPG").headers["location"]
    key = to.rpartition("/")[2]
    library.arriving.append(key, data, name="IMG_77.JPG")
    if stored:
        library.originals.put(io.BytesIO(data))
    half = create(app, 500, batch_id=batch_id).headers["location"]
    flow.recover(library)
    told = app.client.get(to).json()
    assert (told["whole"], told["before"]) == (True, 0)
    with library.reading() as session:
        photo = session.get(Photo, told["photos"][0])
        assert (photo.file_name, photo.batch_id) == ("IMG_77.JPG", batch_id)
    assert app.client.get(half).json()["whole"] is False
    flow.recover(library)
    assert app.client.get(to).json() == told


def test_files_begun_outlive_a_restart_and_expire_after_seven_days(app: App) -> None:
    """Six days old: still there. Older: its bytes and its note are gone, and the place is told as gone."""
    library = app.room.library
    young, old = (create(app, 1000).headers["location"] for _ in range(2))
    send(app, young, b"x" * 10, 0)
    send(app, old, b"x" * 10, 0)
    store = arriving.Arriving(library.arriving.folder)
    assert store.came(young.rpartition("/")[2]) == 10, "another start knows it"
    now = datetime.now(UTC)
    assert store.sweep(now=now + timedelta(days=6)) == 0
    for path in library.arriving.folder.glob(f"{old.rpartition('/')[2]}*"):
        os.utime(path, (time.time() - 8 * 86_400,) * 2)
    assert store.sweep(now=now) == 1
    assert app.client.head(old).status_code == 404
    assert app.client.head(young).headers["upload-offset"] == "10"


def test_a_crash_at_the_end_leaves_nothing_that_is_waited_for(tmp_path: Any) -> None:
    """Stopped between the note of the end and taking the partial file away; stopped before the note was there."""
    with Library.create(tmp_path / "library") as library:
        store = library.arriving
        key = store.begin(arriving.Announced(1, "a.jpg", 5))
        store.append(key, b"12345", name="a.jpg")
        store.finish(key, {"photos": [1], "before": 0, "problems": []})
        (store.folder / f"{key}.part").write_bytes(b"12345")
        (store.folder / f"1-{'b' * 24}.part").write_bytes(b"1")
        assert flow.by_batch(library) == {1: 2}
    with Library.open(tmp_path / "library") as library:
        assert flow.by_batch(library) == {}
        assert flow.see(library, key).kept == flow.Kept((1,), 0, ())


def test_a_photo_that_came_whole_later_is_not_waited_for(app: App) -> None:
    """Cut off in one batch, chosen again in another: the first try is forgotten; another file stays."""
    data = padded(5_000)
    first, other = open_batch(app), open_batch(app)
    create(app, len(data), batch_id=first)
    create(app, len(data), batch_id=first, name="IMG_0002.JPG")
    to = create(app, len(data), batch_id=other).headers["location"]
    assert flow.by_batch(app.room.library)[first] == 2
    assert "2 originals still to come." in app.client.get(f"/add/{first}").text
    assert "2 originals still to come from a phone or camera." in app.client.get("/").text
    send(app, to, data, 0)
    assert flow.by_batch(app.room.library)[first] == 1
    assert "1 original still to come." in app.client.get(f"/add/{first}").text


# --- over a real connection -------------------------------------------------------------------------------


def _raw(served: Served, method: str, path: str, headers: dict[str, str], body: bytes = b"") -> socket.socket:
    """A request that is sent and not waited for."""
    host, _, port = served.url.removeprefix("http://").partition(":")
    told = {"Host": f"{host}:{port}", "Origin": served.url, "Cookie": f"portfolio={served.secret}", **headers}
    head = "\r\n".join([f"{method} {path} HTTP/1.1", *(f"{name}: {value}" for name, value in told.items()), "", ""])
    line = socket.create_connection((host, int(port)), timeout=20)
    line.sendall(head.encode() + body)
    return line


def test_a_newer_sender_ends_one_that_hangs(served: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    """Two requests for one file at once, the first with its connection half open: the second goes on where HEAD says
    and finishes; neither waits for the other, and no byte stands twice.
    """
    data = padded(3_000_000)
    cookies = {c["name"]: c["value"] for c in served.cookies["storage_state"]["cookies"]}  # type: ignore[index]
    with httpx2.Client(base_url=served.url, headers={"Origin": served.url}, cookies=cookies, timeout=20) as client:
        batch_id = client.post("/add/batches", data={"expected": "1"}).json()["batch"]
        told = {"Upload-Length": str(len(data)), "Upload-Metadata": described(batch_id)}
        to = client.post("/add/uploads", headers=TUS | told).headers["location"]
        sign = "; ".join(f"{name}={value}" for name, value in cookies.items())
        piece = PIECE | {"Upload-Offset": "0", "Content-Length": str(len(data)), "Cookie": sign}
        hanging = _raw(served, "PATCH", to, piece, data[:1_500_000])
        until = time.monotonic() + 20
        while (came := int(client.head(to).headers["upload-offset"])) < uploads.BLOCK:
            assert time.monotonic() < until
            time.sleep(0.02)
        begun = time.monotonic()
        done = client.patch(to, content=data[came:], headers=PIECE | {"Upload-Offset": str(came)})
        assert done.status_code == 204
        assert time.monotonic() - begun < 10
        hanging.close()
        photo_id = client.get(to).json()["photos"][0]
        monkeypatch.setattr(uploads, "IDLE_SECONDS", 0.2)
        told["Upload-Metadata"] = described(batch_id, "IMG_2.JPG")
        to = client.post("/add/uploads", headers=TUS | told).headers["location"]
        silent = _raw(served, "PATCH", to, piece, data[:700_000])
        while int(client.head(to).headers["upload-offset"]) != 700_000:
            assert time.monotonic() < until
            time.sleep(0.02)
        silent.close()
    with served.room.library.reading() as session:
        sha256 = session.exec(select(Photo.sha256).where(Photo.id == photo_id)).one()
    assert served.room.library.originals.path(sha256).read_bytes() == data
