"""A phone with an upload ticket: what the socket in the Wi-Fi answers, what a code opens, and when it is over."""

from __future__ import annotations

import http.client
import io
import re
import socket
import time
import zipfile
from datetime import UTC, datetime, timedelta

import pytest
from fastapi.testclient import TestClient
from sqlmodel import select

from portfolio.archive.tables import Photo
from portfolio.flows import tickets
from portfolio.web import outside, phone, roles
from portfolio.web.guard import CSP
from portfolio.web.run import open_desk
from portfolio.web.sign_in import COOKIE
from tests.web.conftest import App
from tests.web.phones import LAN, TUS, announce, new_ticket, send
from tests.web.phones import phone as phone_of
from tests.web.room import FAMILY, GIVEN, painted

HERE = "127.0.0.2"


@pytest.fixture
def device(app: App) -> TestClient:
    """A phone in the Wi-Fi, with an address of its own for every test: wrong codes are counted by address."""
    device.count = getattr(device, "count", 0) + 1
    return phone_of(app.client.app, address=f"192.168.7.{100 + device.count}")


def _kept(app: App, batch_id: int) -> dict[str, bytes]:
    library = app.room.library
    with library.reading() as session:
        rows = session.exec(select(Photo.file_name, Photo.sha256).where(Photo.batch_id == batch_id)).all()
    return {name: library.originals.path(sha256).read_bytes() for name, sha256 in rows}


def _until(true: object, *, seconds: float = 20) -> None:
    until = time.monotonic() + seconds
    while not true():
        assert time.monotonic() < until
        time.sleep(0.02)


# --- the socket in the Wi-Fi ------------------------------------------------------------------------------


@pytest.mark.parametrize(("method", "path"), sorted(roles.ROUTES))
def test_in_the_wifi_only_the_tickets_routes_answer(app: App, method: str, path: str) -> None:
    """photos-only: every route, asked over plain HTTP with the teacher's own cookie: a sentence and no name, before
    the session is looked at; a ticket's own route asks for its code.
    """
    client = phone_of(app.client.app, address="192.168.7.9", cookies={COOKIE: app.client.cookies[COOKIE]})
    app.desk.tickets._wrong.clear()
    said = client.request(method, re.sub(r"{\w+}", "1", path))
    assert not [name for name in (*GIVEN, *FAMILY) if name in said.text + repr(said.headers)]
    assert said.status_code == 403
    if method != "HEAD":
        words = "does not fit" if path.startswith("/send/") else "only photos can be sent here"
        assert words in said.text
    assert "set-cookie" not in said.headers
    assert said.headers["content-security-policy"] == CSP


def test_in_the_wifi_only_the_files_of_the_phones_page_answer(app: App, device: TestClient) -> None:
    """The program's own files: those that the phone's page names, none of the desk's, no template, no way around."""
    _, code = new_ticket(app.desk)
    page = device.get(f"/send/{code}").text
    named = re.findall(r'(?:href|src)="(/static/[^"]+)"', page)
    assert len(named) >= 6
    assert [device.get(path).status_code for path in named] == [200] * len(named)
    assert device.get("/static/desk/sending.js").status_code == 200, "imported by the page's script"
    fonts = set(re.findall(r"url\(([^)]+)\)", device.get("/static/fonts/fonts.css").text))
    assert all(re.fullmatch(r'"?[\w.-]+\.woff2"?', one) for one in fonts), "they lie beside the sheet"
    for path in (
        "/static/desk/add.js",
        "/static/desk/templates/send.html",
        "/static/vendor/htmx.min.js",
        "/static/desk/../vendor/htmx.min.js",
        "/static/fonts/..%2fdesk/add.js",
        "/desk/scale.css",
        "/send",
        "/nowhere",
        "/favicon.ico",
        "//send/x",
    ):
        assert device.get(path).status_code == 403, path


def test_in_the_wifi_the_host_must_be_the_address(app: App) -> None:
    """A name that somebody points at this computer gets nothing; nor does a socket that nobody marked."""
    _, code = new_ticket(app.desk)
    for host in ("evil.test", "127.0.0.1", "localhost", ""):
        said = phone_of(app.client.app).get(f"/send/{code}", headers={"Host": host})
        assert (said.status_code, "another website" in said.text) == (400, True), host
    unmarked = TestClient(app.client.app, base_url=f"http://{LAN}")
    for path in ("/", f"/send/{code}", "/healthz", "/static/desk/tokens.css"):
        assert "only photos can be sent here" in unmarked.get(path).text
    assert TestClient(app.client.app, base_url="https://127.0.0.1").get("/healthz").status_code == 200


def test_on_this_computer_a_cookie_adds_nothing_to_a_code(app: App, device: TestClient) -> None:
    """With a ticket nobody is signed in; without one not even the teacher opens its routes."""
    _, code = new_ticket(app.desk)
    assert app.client.get(f"/send/{code}").status_code == 200
    assert app.client.get("/send/AAAA-AAAA-AAAA-AAAA").status_code == 403
    assert device.get("/students", headers={"Cookie": f"{COOKIE}={app.client.cookies[COOKIE]}"}).status_code == 403


# --- codes ------------------------------------------------------------------------------------------------


def test_a_code_is_kept_hashed_and_read_as_it_is_typed(app: App, device: TestClient) -> None:
    """80 bits in letters that cannot be mistaken; small letters and missing dashes do not matter."""
    _, code = new_ticket(app.desk)
    assert re.fullmatch(r"[A-HJ-NP-Z2-9]{4}(-[A-HJ-NP-Z2-9]{4}){3}", code)
    assert code.replace("-", "") not in repr(vars(app.desk.tickets))
    assert device.get(f"/send/{code.replace('-', '').lower()}").status_code == 200


def test_wrong_codes_are_slowed_down_for_their_sender_only(app: App, device: TestClient) -> None:
    """ticket-wrong: from the fifth on the next try is heard later and later, the right one too; another phone is not
    kept waiting.
    """
    batch_id, code = new_ticket(app.desk)
    said = [device.get("/send/WRNG-WRNG-WRNG-WRNG") for _ in range(6)]
    assert [one.status_code for one in said] == [403] * 5 + [429]
    assert "Scan the code on the teacher’s screen again" in said[0].text
    assert "the next is heard in 1 second" in said[5].text
    assert device.get(f"/send/{code}").status_code == 429
    assert phone_of(app.client.app, address="192.168.7.34").get(f"/send/{code}").status_code == 200
    shelf, now = tickets.Tickets(), datetime.now(UTC)
    right = shelf.new(batch_id, now=now)
    pauses = []
    for _ in range(12):
        with pytest.raises(tickets.Refused, match="does not fit"):
            shelf.check("wrong", sender="a", now=now)
        pauses.append((shelf._wrong["a"][1] - now).total_seconds())
        now += timedelta(seconds=pauses[-1])
    assert pauses == [0, 0, 0, 0, 1, 2, 4, 8, 16, 32, 60, 60]
    assert shelf.check(right, sender="a", now=now).batch_id == batch_id
    assert "a" not in shelf._wrong, "the right one ends the waiting"


def test_devices_that_waited_long_enough_are_forgotten(monkeypatch: pytest.MonkeyPatch) -> None:
    """Wrong codes from a thousand addresses do not fill the memory."""
    monkeypatch.setattr(tickets, "_DEVICES_MAX", 10)
    shelf, now = tickets.Tickets(), datetime.now(UTC)
    for place in range(50):
        with pytest.raises(tickets.Refused):
            shelf.check("wrong", sender=str(place), now=now + timedelta(seconds=place))
    assert len(shelf._wrong) <= 11


@pytest.mark.parametrize("path", ["", "/state", "/uploads", "/done"])
def test_a_code_that_is_over_says_why(app: App, device: TestClient, path: str) -> None:
    """ticket-over: after 60 minutes, when it was ended, when another one was opened, and when its batch is filed."""
    post = path in ("/uploads", "/done")

    def says(code: str, why: str) -> None:
        said = device.request("POST" if post else "GET", f"/send/{code}{path}", headers=TUS)
        assert (said.status_code, why in said.text) == (410, True), said.text
        assert "Every photo that came whole is kept" in said.text

    batch_id, code = new_ticket(app.desk, datetime.now(UTC) - timedelta(minutes=60))
    says(code, "its 60 minutes have passed")
    batch_id, code = new_ticket(app.desk)
    app.desk.tickets.end(batch_id)
    says(code, "it was ended")
    batch_id, code = new_ticket(app.desk)
    new_ticket(app.desk)
    says(code, "it was ended")
    batch_id, code = new_ticket(app.desk)
    app.client.post(f"/add/{batch_id}/close")
    _until(lambda: not app.desk.reader.is_busy(batch_id))
    says(code, "its photos are being filed")


def test_nothing_of_a_body_is_read_before_the_code(app: App) -> None:
    """A wrong code with a large body: refused although not a byte of it was asked for."""

    asked = []

    async def receive() -> dict[str, object]:
        asked.append(1)
        return {"type": "http.request", "body": b"x", "more_body": True}

    said = []

    async def send_it(message: dict[str, object]) -> None:
        said.append(message)

    headers = {"host": LAN, "origin": f"http://{LAN}", "content-type": "multipart/form-data; boundary=x"}
    scope = {
        "type": "http",
        "http_version": "1.1",
        "method": "POST",
        "scheme": "http",
        "path": "/send/WRNG",
        "raw_path": b"/send/WRNG",
        "root_path": "",
        "query_string": b"",
        "server": (LAN, 80),
        "client": ("192.168.7.41", 5),
        "headers": [(name.encode(), value.encode()) for name, value in headers.items()],
    }
    app.client.portal.call(outside.Outside(app.client.app, LAN), scope, receive, send_it)
    assert said[0]["status"] == 403
    assert asked == []


# --- sending ----------------------------------------------------------------------------------------------


def test_a_photo_comes_piece_by_piece_over_a_wifi_that_breaks(app: App, device: TestClient) -> None:
    """Half of it, the phone leaves the Wi-Fi, asks how far it came, goes on: the same bytes, in the ticket's batch
    whatever the phone asked for; it can read back counts only.
    """
    batch_id, code = new_ticket(app.desk)
    data = painted(7001, 320, 240)
    to = announce(device, code, len(data), batch=1).headers["location"]
    assert to.startswith(f"/send/{code}/uploads/{batch_id}-")
    assert send(device, to, data[:1000]).headers["upload-offset"] == "1000"
    assert device.head(to, headers=TUS).headers["upload-offset"] == "1000"
    assert send(device, to, data[1000:], at=1000).status_code == 204
    assert device.get(to).json()["whole"] is True
    assert _kept(app, batch_id) == {"IMG_1.JPG": data}
    told = device.get(f"/send/{code}/state").json()
    assert set(told) == {"photos", "lasts", "seconds"}
    assert told["photos"] == 1
    assert 3500 < told["seconds"] <= 3600
    page = device.get(f"/send/{code}").text
    assert "photo received." in page
    assert "60 more minutes, until" in page
    given_up = announce(device, code, 100).headers["location"]
    assert device.delete(given_up, headers=TUS).status_code == 204
    assert device.get(given_up).status_code == 404


def test_a_ticket_cannot_touch_files_of_another_batch(app: App, device: TestClient) -> None:
    """upload-gone: with a code of one batch, the key of another: as if it were not there."""
    _, first = new_ticket(app.desk)
    foreign = announce(device, first, 100).headers["location"].rpartition("/")[2]
    _, code = new_ticket(app.desk)
    for method in ("GET", "HEAD", "PATCH", "DELETE"):
        for key in (foreign, "x", "..%2f1-x"):
            said = device.request(method, f"/send/{code}/uploads/{key}", headers=TUS)
            assert said.status_code in (403, 404), (method, key)
    assert len(app.room.library.arriving.on_their_way(int(foreign.partition("-")[0]))) == 1


def test_what_is_too_heavy_or_no_photo_is_refused_before_its_first_byte(app: App, device: TestClient) -> None:
    """photo-too-heavy, ticket-zip, photo-empty: a file of 3 GB and a zip file are refused when they are announced."""
    _, code = new_ticket(app.desk)
    assert "more than one photo may weigh" in announce(device, code, 3_000_000_000, wanted=413).text
    assert "single photos only" in announce(device, code, 100, name="lesson.ZIP", wanted=422).text
    announce(device, code, 0, wanted=422)
    assert announce(device, code, 5, wanted=201)
    too_much = device.post(f"/send/{code}", content=b"x", headers={"Content-Length": "3000000000"})
    assert too_much.status_code == 413
    assert device.post(f"/send/{code}/uploads").status_code == 412
    cross = device.post(f"/send/{code}/done", headers={"Origin": "http://evil.test"})
    assert cross.status_code == 403
    assert device.get(f"/send/{code}").status_code == 200, "not ended by it"


def test_one_form_without_a_script(app: App, device: TestClient) -> None:
    """Two photos, one of them here before, a zip and an empty file: each is told; an empty form too."""
    batch_id, code = new_ticket(app.desk)
    photo, other = painted(7002, 320, 240), painted(7003, 320, 240)
    zipped = io.BytesIO()
    with zipfile.ZipFile(zipped, "w") as out:
        out.writestr("a.jpg", photo)
    files = {"a.jpg": photo, "b.jpg": other, "c.zip": zipped.getvalue(), "d.jpg": b""}
    said = device.post(f"/send/{code}", files=[("photos", one) for one in files.items()])
    assert said.status_code == 422
    assert "2 photos kept." in said.text
    assert "c.zip is a zip file" in said.text
    assert "d.jpg is empty" in said.text
    assert _kept(app, batch_id) == {"a.jpg": photo, "b.jpg": other}
    again = device.post(f"/send/{code}", files=[("photos", ("a.jpg", photo))])
    assert "0 photos kept. 1 was here before." in again.text
    assert "No photo was chosen" in device.post(f"/send/{code}", data={}).text
    assert not [name for name in (*GIVEN, *FAMILY) if name in said.text + again.text]


def test_the_phone_says_that_all_photos_are_there(app: App, device: TestClient) -> None:
    """I am done: the count once more, the code is over, the photos are read and filed."""
    batch_id, code = new_ticket(app.desk)
    device.post(f"/send/{code}", files=[("photos", ("a.jpg", painted(7004, 320, 240)))])
    said = device.post(f"/send/{code}/done")
    assert "1 photo received." in said.text
    assert device.get(f"/send/{code}").status_code == 410
    _until(lambda: tickets.is_closed(app.room.library, batch_id))


def test_the_report_of_an_open_batch_says_that_filing_ends_the_code(app: App, device: TestClient) -> None:
    """While the code is open the report leads back to it, and the press that files says that it ends the code. After
    that no word of a phone is left.
    """
    batch_id, code = new_ticket(app.desk)
    device.post(f"/send/{code}", files=[("photos", ("a.jpg", painted(7006, 320, 240)))])
    page = app.client.get(f"/add/{batch_id}").text
    assert "A phone may still send photos." in page
    assert f'href="/phone/{batch_id}">Back to the code' in page
    assert "End the code and file the photos" in page
    assert "Read what is here" not in page
    assert device.get(f"/send/{code}").status_code == 200, "looking at the report ends nothing"
    app.client.post(f"/phone/{batch_id}/end")
    _until(lambda: tickets.is_closed(app.room.library, batch_id))
    page = app.client.get(f"/add/{batch_id}").text
    assert "the code" not in page
    assert device.get(f"/send/{code}").status_code == 410


def test_a_photo_on_its_way_when_the_code_ends_is_still_filed(app: App, device: TestClient) -> None:
    """The last byte comes after the end: it is kept, and its batch is filed once more."""
    batch_id, code = new_ticket(app.desk)
    data = painted(7005, 320, 240)
    to = announce(device, code, len(data)).headers["location"]
    real = app.desk.reader.start_ahead

    def ends(key: int) -> None:
        app.desk.tickets.end(batch_id)
        real(key)

    app.desk.reader.start_ahead = ends
    try:
        assert send(device, to, data).status_code == 204
    finally:
        del app.desk.reader.start_ahead
    _until(lambda: tickets.is_closed(app.room.library, batch_id))
    assert _kept(app, batch_id) == {"IMG_1.JPG": data}


def test_a_mistake_of_ours_is_told_on_the_phone_too(
    app: App, device: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    """program-mistake: in words, with nothing of the desk around it; so is a page that is not there."""
    _, code = new_ticket(app.desk)
    missing = device.get(f"/send/{code}/uploads/x/y")
    assert missing.status_code == 404
    assert f'href="/send/{code}"' in missing.text

    def stop(*_: object) -> None:
        raise ZeroDivisionError(GIVEN[0])

    monkeypatch.setattr(tickets, "photos_in", stop)
    said = device.get(f"/send/{code}")
    assert said.status_code == 500
    assert "Something went wrong in the program" in said.text
    assert GIVEN[0] not in said.text
    for page in (said.text, missing.text):
        assert "htmx" not in page
        assert "/desk/scale.css" not in page


# --- the teacher's screen ---------------------------------------------------------------------------------


def test_without_a_network_no_code_is_made(app: App, monkeypatch: pytest.MonkeyPatch) -> None:
    """no-network: said before a class is chosen; nor is an address opened that is not this computer's own."""
    monkeypatch.setattr(phone, "lan_addresses", tuple)
    said = app.client.get("/phone")
    assert "in no Wi-Fi or network" in said.text
    assert "Show the code" not in said.text
    assert app.client.post("/phone").status_code == 409
    monkeypatch.setattr(phone, "lan_addresses", lambda: (HERE,))
    assert app.client.post("/phone", data={"address": "0.0.0.0"}).status_code == 409
    monkeypatch.setattr(phone, "lan_addresses", lambda: ("198.51.100.7",))
    assert "in no Wi-Fi" in app.client.post("/phone").text, "the address is gone since the page was opened"
    monkeypatch.setattr(phone, "lan_addresses", lambda: (HERE, "127.0.0.3"))
    both = app.client.get("/phone").text
    assert both.count('<option value="127.0.0') == 2
    assert app.client.post("/phone", data={"class_id": "999"}).status_code == 404
    assert app.desk.phone.host == ""


def _asked(host: str, path: str, *, named: str = "") -> tuple[int, str]:
    line = http.client.HTTPConnection(host, timeout=10)
    try:
        line.request("GET", path, headers={"Host": named or host})
        answer = line.getresponse()
        return answer.status, answer.read().decode()
    finally:
        line.close()


def test_a_real_socket_is_open_only_as_long_as_the_code(app: App, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing listens; "Use a phone" opens the address, where the phone's page answers and no other; a second code is
    for the same batch; End is said there for a while, then nothing listens again.
    """
    monkeypatch.setattr(phone, "lan_addresses", lambda: (HERE,))
    class_id = app.room.classes["3B"]
    shown = app.client.post("/phone", data={"class_id": str(class_id), "address": HERE})
    assert shown.status_code == 200
    address = re.search(r'phone-address">http://([\d.:]+)/send/<wbr><span>([\w-]+)<', shown.text)
    assert address
    host, path = address[1], f"/send/{address[2]}"
    assert host == app.desk.phone.host
    assert "<svg" in shown.text
    assert "3B" in shown.text
    status, page = _asked(host, path)
    assert (status, "Send photos" in page) == (200, True)
    assert _asked(host, "/students")[0] == 403
    assert _asked(host, "/healthz")[0] == 403
    assert _asked(host, path, named="127.0.0.1")[0] == 400
    batch_id = int(re.search(r"/phone/(\d+)/end", shown.text)[1])
    hidden = app.client.get(f"/phone/{batch_id}")
    assert "<svg" not in hidden.text, "the code is kept nowhere"
    again = app.client.post(f"/phone/{batch_id}/code")
    second = "/send/" + re.search(r"<wbr><span>([\w-]+)<", again.text)[1]
    assert second != path
    assert [_asked(host, one)[0] for one in (path, second)] == [200, 200]
    assert "A code is open" in app.client.get("/phone").text
    assert "0</span><p>photos have come" in app.client.get(f"/phone/{batch_id}/state").text
    monkeypatch.setattr(outside, "LINGER_SECONDS", 2)
    ended = app.client.post(f"/phone/{batch_id}/end")
    assert ended.url.path == f"/add/{batch_id}"
    assert _asked(host, path)[0] == 410
    assert "The code is over." in app.client.get(f"/phone/{batch_id}/state").text
    assert app.client.get(f"/phone/{batch_id}").url.path == f"/add/{batch_id}"
    assert app.client.post(f"/phone/{batch_id}/code").status_code == 410
    _until(lambda: app.desk.phone.host == "")

    def is_closed() -> bool:
        with socket.socket() as asking:
            return asking.connect_ex((HERE, int(host.partition(":")[2]))) != 0

    _until(is_closed)


def test_time_ends_a_code_and_files_its_photos(app: App, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nobody ends it: after 60 minutes the app does, and the photos do not wait. Another code ends the one before."""
    needed = phone._is_needed(app.desk)
    batch_id, _ = new_ticket(app.desk)
    assert needed() is True
    old, _ = new_ticket(app.desk, datetime.now(UTC) - timedelta(minutes=61))
    assert needed() is False
    _until(lambda: tickets.is_closed(app.room.library, old))
    monkeypatch.setattr(phone, "lan_addresses", lambda: (HERE,))
    batch_id, _ = new_ticket(app.desk)
    app.client.post("/phone")
    _until(lambda: tickets.is_closed(app.room.library, batch_id))
    now = app.desk.tickets.current(datetime.now(UTC))
    assert now is not None
    app.client.post(f"/phone/{now.batch_id}/end")


def test_the_socket_is_closed_with_the_app(app: App, monkeypatch: pytest.MonkeyPatch) -> None:
    """Closing Portfolio closes the address too, though a code is open."""
    from portfolio.flows import sign_in
    from portfolio.web.app import create_app

    monkeypatch.setattr(phone, "lan_addresses", lambda: (HERE,))
    desk = open_desk(app.room.library)
    with TestClient(create_app(desk), base_url="http://127.0.0.1", headers={"Origin": "http://127.0.0.1"}) as client:
        client.cookies.set(COOKIE, sign_in.open_demo(app.room.library).secret)
        client.post("/phone")
        host = desk.phone.host
        assert host.startswith(HERE)
        assert _asked(host, "/")[0] == 403
    with socket.socket() as asking:
        assert asking.connect_ex((HERE, int(host.partition(":")[2]))) != 0
