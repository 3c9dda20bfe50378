"""Choosing a password, signing in, staying signed in, signing out."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from portfolio.archive.library import Library
from portfolio.errors import Refused
from portfolio.flows import sign_in
from portfolio.web.app import create_app
from portfolio.web.run import open_desk
from portfolio.web.sign_in import COOKIE, inside

GOOD = "four odd violet goats"
OURS = {"Origin": "http://127.0.0.1"}
NOON = datetime(2026, 10, 6, 12, 0, tzinfo=UTC)


@pytest.fixture
def library(tmp_path: Path) -> Iterator[Library]:
    """An empty library."""
    with Library.create(tmp_path / "library") as opened:
        yield opened


@pytest.fixture
def client(library: Library) -> Iterator[TestClient]:
    """The app over an empty library, asked from this computer."""
    asgi = create_app(open_desk(library))
    with TestClient(
        asgi, base_url="http://127.0.0.1", headers=OURS, client=("127.0.0.1", 5), follow_redirects=False
    ) as c:
        yield c


def _refusal(call: object, *args: object, **kwargs: object) -> str:
    with pytest.raises(Refused) as caught:
        call(*args, **kwargs)  # type: ignore[operator]
    return caught.value.code


def test_first_visit_leads_to_set_up_and_code_opens_it_once(library: Library, client: TestClient) -> None:
    """Before any password, every page leads to the set-up; the console's code works once and signs in."""
    assert client.get("/").headers["location"] == "/sign-in"
    assert client.get("/sign-in").headers["location"] == "/set-up"
    code = sign_in.new_setup_code(library)
    assert len(code.replace("-", "")) * 5 >= 80
    chosen = client.post("/set-up", data={"code": code.lower(), "password": GOOD, "again": GOOD})
    assert (chosen.status_code, chosen.headers["location"]) == (303, "/")
    assert client.get("/").status_code == 200
    assert _refusal(sign_in.set_up, library, code, password=GOOD) == "set-up-done"


@pytest.mark.parametrize(
    ("code", "password", "again", "says"),
    [
        ("wrong", GOOD, GOOD, "does not fit"),
        (None, "short", "short", "at least 8"),
        (None, "ArtRoom2026!", "ArtRoom2026!", "anyone would try"),
        (None, "aaaaaaaaaa", "aaaaaaaaaa", "anyone would try"),
        (None, "x" * 129, "x" * 129, "128"),
        (None, GOOD, GOOD + "x", "not the same"),
    ],
    ids=[
        "set-up-code",
        "password-weak-short",
        "password-weak-common",
        "password-weak-one-sign",
        "password-weak-long",
        "password-differs",
    ],
)
def test_set_up_says_what_is_wrong_and_keeps_nothing(
    library: Library, client: TestClient, code: str | None, password: str, again: str, says: str
) -> None:
    """A code or password that will not do is told in a sentence; the code still works afterwards."""
    real = sign_in.new_setup_code(library)
    said = client.post("/set-up", data={"code": code or real, "password": password, "again": again})
    assert said.status_code in (403, 422)
    assert says in said.text
    assert password not in said.text
    assert not sign_in.has_teacher(library)
    assert sign_in.set_up(library, real, password=GOOD).secret


def test_set_up_is_only_for_this_computer(library: Library) -> None:
    """Another device cannot choose the first password, even with the code."""
    asgi = create_app(open_desk(library))
    with TestClient(asgi, base_url="http://127.0.0.1", headers=OURS, client=("192.168.1.9", 5)) as far:
        assert far.get("/set-up").status_code == 403
        code = sign_in.new_setup_code(library)
        assert far.post("/set-up", data={"code": code, "password": GOOD, "again": GOOD}).status_code == 403
    assert not sign_in.has_teacher(library)


def test_code_ends_after_30_minutes(library: Library) -> None:
    """An old code does nothing."""
    code = sign_in.new_setup_code(library, now=NOON)
    late = NOON + timedelta(minutes=31)
    assert _refusal(sign_in.set_up, library, code, password=GOOD, now=late) == "set-up-code"


def test_wrong_passwords_wait_longer_but_nobody_is_locked_out(library: Library) -> None:
    """From the fifth failure the next try waits 1, 2, 4 ... 60 seconds; the right one works after the wait."""
    sign_in.set_up(library, sign_in.new_setup_code(library, now=NOON), password=GOOD, now=NOON)
    moment, waits = NOON, []
    for _ in range(12):
        assert _refusal(sign_in.sign_in, library, "wrong password", now=moment) == "sign-in-wrong"
        wait = 0
        while _is_waiting(library, moment + timedelta(seconds=wait)):
            wait += 1
        waits.append(wait)
        moment += timedelta(seconds=wait)
    assert waits == [0, 0, 0, 0, 1, 2, 4, 8, 16, 32, 60, 60]
    assert sign_in.sign_in(library, GOOD, now=moment).secret


def _is_waiting(library: Library, moment: datetime) -> bool:
    """Asks the record, since a try that is heard would count as another failure."""
    from portfolio.archive import accounts

    with library.reading() as session:
        who = accounts.account(session, sign_in.TEACHER)
    return who is not None and who.next_try_utc is not None and moment < who.next_try_utc


def test_a_try_during_the_wait_is_not_heard(library: Library) -> None:
    """Even the right password waits; the sentence says how long."""
    sign_in.set_up(library, sign_in.new_setup_code(library, now=NOON), password=GOOD, now=NOON)
    for _ in range(7):
        with pytest.raises(Refused):
            sign_in.sign_in(library, "wrong password", now=NOON)
            # heard or not, it is refused
    with pytest.raises(Refused, match="not heard") as caught:
        sign_in.sign_in(library, GOOD, now=NOON)
    assert caught.value.code == "sign-in-wait"


def test_sign_in_ends_when_idle_and_at_the_latest(library: Library) -> None:
    """60 minutes without a request, or 12 hours in any case."""
    opened = sign_in.set_up(library, sign_in.new_setup_code(library, now=NOON), password=GOOD, now=NOON)
    assert sign_in.who_is(library, opened.secret, now=NOON + timedelta(minutes=59)) is not None
    assert sign_in.who_is(library, opened.secret, now=NOON + timedelta(minutes=118)) is not None
    assert sign_in.who_is(library, opened.secret, now=NOON + timedelta(minutes=179)) is None
    other = sign_in.sign_in(library, GOOD, now=NOON)
    for minutes in range(0, 720, 50):
        assert sign_in.who_is(library, other.secret, now=NOON + timedelta(minutes=minutes)) is not None
    assert sign_in.who_is(library, other.secret, now=NOON + timedelta(minutes=720)) is None


def test_the_secret_is_nowhere_in_the_library(library: Library) -> None:
    """Neither password nor session secret nor set-up code stands in any byte of the records."""
    code = sign_in.new_setup_code(library)
    opened = sign_in.set_up(library, code, password=GOOD)
    for path in library.folder.rglob("*"):
        if path.is_file():
            held = path.read_bytes()
            assert GOOD.encode() not in held
            assert opened.secret.encode() not in held
            assert code.replace("-", "").encode() not in held


def test_signing_out_ends_it_in_the_library_too(library: Library, client: TestClient) -> None:
    """A copied cookie is worth nothing after signing out."""
    opened = sign_in.set_up(library, sign_in.new_setup_code(library), password=GOOD)
    client.cookies.set(COOKIE, opened.secret)
    assert client.get("/more").status_code == 200
    out = client.post("/sign-out")
    assert out.headers["location"] == "/sign-in"
    assert sign_in.who_is(library, opened.secret) is None


def test_signing_in_gives_a_new_secret_and_reset_ends_all(library: Library, client: TestClient) -> None:
    """A secret is never carried over a sign-in; a new password signs every browser out."""
    first = sign_in.set_up(library, sign_in.new_setup_code(library), password=GOOD)
    client.cookies.set(COOKIE, first.secret, domain="127.0.0.1", path="/")
    again = client.post("/sign-in", data={"password": GOOD, "next": "/find"})
    assert again.headers["location"] == "/find"
    assert "HttpOnly" in again.headers["set-cookie"]
    assert "samesite=lax" in again.headers["set-cookie"].lower()
    assert sign_in.who_is(library, first.secret) is None
    assert sign_in.reset_password(library, "five odd violet goats") == 1
    assert _refusal(sign_in.sign_in, library, GOOD) == "sign-in-wrong"


def test_one_time_link_signs_in_once(library: Library) -> None:
    """The invented school's link opens the door once; used again it leads to the sign-in."""
    desk = open_desk(library, demo=True)
    link = desk.links.new()
    with TestClient(
        create_app(desk), base_url="http://127.0.0.1", client=("127.0.0.1", 5), follow_redirects=False
    ) as c:
        assert c.get(f"/enter/{link}").headers["location"] == "/"
        assert c.get("/").status_code == 200
        c.cookies.clear()
        assert c.get(f"/enter/{link}").headers["location"] == "/sign-in"
        assert c.get("/enter/anything").headers["location"] == "/sign-in"


def test_a_reset_ends_stations_and_the_wait(library: Library) -> None:
    """The password chosen on the machine itself is heard at once, whatever failed before; stations end with it."""
    sign_in.set_up(library, sign_in.new_setup_code(library, now=NOON), password=GOOD, now=NOON)
    at_station = sign_in.start_station(library, 1, ends_utc=NOON + timedelta(hours=1), now=NOON)
    for _ in range(9):
        with pytest.raises(Refused):
            sign_in.sign_in(library, "not this one", now=NOON)
    assert sign_in.reset_password(library, "five odd violet goats", now=NOON) == 2
    assert sign_in.sign_in(library, "five odd violet goats", now=NOON).secret
    assert sign_in.who_is(library, at_station.secret, now=NOON) is None


@pytest.mark.parametrize(
    ("path", "to"),
    [
        ("/find?words=cat", "/find?words=cat"),
        ("//evil.test", "/"),
        ("/\\evil.test", "/"),
        ("https://evil.test", "/"),
        ("", "/"),
        ("/sign-in", "/"),
        ("/join?closed=1", "/"),
    ],
)
def test_going_on_stays_inside(path: str, to: str) -> None:
    """After signing in the way never leads to another site."""
    assert inside(path) == to


def test_sign_in_before_set_up_is_refused(library: Library) -> None:
    """set-up-needed: without a teacher there is nothing to sign in to."""
    assert _refusal(sign_in.sign_in, library, GOOD) == "set-up-needed"
