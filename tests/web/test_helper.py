"""Helpers: the teacher lets them in; they add photos and say numbers of their own batches of today, and see no name."""

from __future__ import annotations

import dataclasses
import re
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from fastapi.testclient import TestClient
from sqlmodel import select

from portfolio.archive import tables
from portfolio.errors import NotFound, PortfolioError, Refused
from portfolio.flows import helpers, helping, sign_in
from portfolio.web import answers_helper
from portfolio.web.sign_in import COOKIE
from tests.support.browser import Pages, barriers_at
from tests.web.conftest import OURS, App, Served
from tests.web.lesson import HALF
from tests.web.room import FAMILY, GIVEN

PEOPLE = "/settings/people"


def browser(app: App) -> TestClient:
    """A browser in which nobody is signed in."""
    return TestClient(app.client.app, base_url="http://127.0.0.1", headers=OURS, follow_redirects=False)


def let_in(app: App, login: str) -> TestClient:
    """A helper, signed in by the page."""
    password = helpers.add_helper(app.room.library, login)
    client = browser(app)
    said = client.post("/sign-in/helper", data={"login": login, "password": password})
    assert said.headers["location"] == "/helper"
    return client


@pytest.fixture(scope="module")
def helper(app: App) -> TestClient:
    """One helper, signed in."""
    return let_in(app, "Helper One")


# --- the account ------------------------------------------------------------------------------------------


def test_a_helper_is_let_in_and_removed(app: App) -> None:
    """The password is shown once and kept nowhere; removing ends the browser at once; the page tells who there is."""
    assert "nobody else can sign in" in app.client.get("/settings").text
    assert "Sign in as a helper" not in app.stranger.get("/sign-in").text
    made = app.client.post(PEOPLE, data={"login": " Mr.  Ostrander "})
    password = re.search(r'helper-code">([^<]+)<', made.text)
    assert password is not None
    assert len(password[1].replace("-", "")) * 5 == 80
    assert password[1] not in app.client.get(PEOPLE).text
    assert "Mr. Ostrander" in app.client.get("/settings").text
    assert "Sign in as a helper" in app.stranger.get("/sign-in").text
    client = browser(app)
    typed = {"login": "mr. ostrander", "password": password[1].lower().replace("-", " ")}
    assert client.post("/sign-in/helper", data=typed).headers["location"] == "/helper"
    assert client.get("/").headers["location"] == "/helper"
    assert "Mr. Ostrander, as a helper" in app.client.get("/settings/devices").text
    assert client.post("/sign-out").headers["location"] == "/sign-in"
    assert client.post("/sign-in/helper", data=typed).status_code == 303
    (known,) = helpers.see_helpers(app.room.library)
    gone = app.client.post(f"{PEOPLE}/{known.account_id}/remove")
    assert "Removed." in gone.text
    assert client.get("/helper").headers["location"].startswith("/sign-in")
    assert browser(app).post("/sign-in/helper", data=typed).status_code == 403


def test_names_that_will_not_do_are_told(app: App) -> None:
    """helper-known: taken, the teacher's own, empty, too long."""
    helpers.add_helper(app.room.library, "Ada B")
    for login, status, says in (
        ("ada  b", 409, "is the name of a helper already"),
        ("Teacher", 409, "is the name of a helper already"),
        (" ", 422, "1 to 40 letters"),
        ("x" * 41, 422, "1 to 40 letters"),
    ):
        said = app.client.post(PEOPLE, data={"login": login})
        assert (said.status_code, says in said.text) == (status, True), login


def test_only_helpers_can_be_removed_here(app: App) -> None:
    """The teacher's own account is no helper: its password and browsers stay."""
    ours = sign_in.who_is(app.room.library, app.client.cookies[COOKIE])
    assert ours is not None
    for what in ("remove", "password"):
        assert app.client.post(f"{PEOPLE}/{ours.account_id}/{what}").status_code == 404
    assert app.client.get("/more").status_code == 200


def test_a_new_password_ends_the_old_one(app: App) -> None:
    """The old one opens nothing any more and the browser is signed out."""
    client = let_in(app, "Second")
    known = next(one for one in helpers.see_helpers(app.room.library) if one.login == "Second")
    shown = app.client.post(f"{PEOPLE}/{known.account_id}/password")
    password = re.search(r'helper-code">([^<]+)<', shown.text)
    assert password is not None
    assert client.get("/helper").headers["location"].startswith("/sign-in")
    assert sign_in.sign_in_helper(app.room.library, "Second", password[1]).secret


def test_wrong_name_and_wrong_password_are_the_same(app: App) -> None:
    """helper-wrong: nothing tells whether a name is known; the teacher's name opens nothing here."""
    helpers.add_helper(app.room.library, "Third")
    texts = set()
    for login in ("Third", "Nobody at all", "teacher"):
        said = browser(app).post("/sign-in/helper", data={"login": login, "password": "AAAA-AAAA-AAAA-AAAA"})
        assert said.status_code == 403
        texts.add(said.text.partition('<div class="note"')[2].partition("</section>")[0])
    assert len(texts) == 1


def test_wrong_passwords_of_a_helper_wait_longer_too(app: App) -> None:
    """From the fifth in a row; then even the right one waits."""
    password, moment = helpers.add_helper(app.room.library, "Fourth"), datetime.now(UTC)
    for _ in range(5):
        with pytest.raises(Refused):
            sign_in.sign_in_helper(app.room.library, "Fourth", "wrong", now=moment)
    with pytest.raises(Refused, match="not heard"):
        sign_in.sign_in_helper(app.room.library, "Fourth", password, now=moment)
    assert sign_in.sign_in_helper(app.room.library, "Fourth", password, now=moment + timedelta(seconds=2)).secret


def test_a_helpers_sign_in_ends_with_the_day(app: App) -> None:
    """At midnight by the school's clock, and after an hour without a press."""
    password = helpers.add_helper(app.room.library, "Fifth")
    evening = datetime(2026, 10, 6, 22, 30).astimezone()
    opened = sign_in.sign_in_helper(app.room.library, "Fifth", password, now=evening.astimezone(UTC))
    assert opened.ends_utc.astimezone().strftime("%d %H:%M") == "07 00:00"
    assert sign_in.who_is(app.room.library, opened.secret, now=evening + timedelta(minutes=61)) is None


# --- the work ---------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def batch(app: App, helper: TestClient, lesson: list[Path]) -> int:
    """The photos of one lesson, added by the helper's form and read."""
    files = [("photos", (path.name, path.read_bytes(), "image/jpeg")) for path in lesson]
    said = helper.post("/helper", files=files, data={"class_id": app.room.classes["3B"], "medium_id": ""})
    assert said.status_code == 303, said.text
    key = int(said.headers["location"].rpartition("/")[2])
    until = time.monotonic() + 60
    while app.desk.reader.is_busy(key):
        assert time.monotonic() < until
        assert "They are being read." in helper.get(f"/helper/{key}").text or not app.desk.reader.is_busy(key)
        time.sleep(0.1)
    return key


def test_photos_are_added_and_a_number_is_said_and_taken_back(app: App, helper: TestClient, batch: int) -> None:
    """Three are filed by their cards; the half card is asked, said, undone and said again, by the helper."""
    text = helper.get(f"/helper/{batch}").text
    assert "3 of 4 filed. 1 needs its number." in text
    asked = re.search(rf'action="/helper/{batch}/(\d+)" method="post" class="say-number"', text)
    assert asked is not None
    for _ in range(2):
        kept = helper.post(f"/helper/{batch}/{asked[1]}", data={"number": str(HALF)}, follow_redirects=True)
        assert "4 of 4 filed." in kept.text
        step = re.search(r'name="action_id" value="(\d+)"', kept.text)
        assert step is not None
        helper.post(f"/helper/{batch}/answers/undo", data={"action_id": step[1]})
        asked = re.search(rf'action="/helper/{batch}/(\d+)" method="post"', helper.get(f"/helper/{batch}").text)
        assert asked is not None
    helper.post(f"/helper/{batch}/{asked[1]}", data={"number": str(HALF)})
    with app.room.library.reading() as session:
        done = session.exec(select(tables.Action).where(tables.Action.batch_id == batch, tables.Action.who == "helper"))
        assert {one.what for one in done} >= {"answered a question"}
        filed = select(tables.Photo).where(tables.Photo.batch_id == batch, tables.Photo.reason == "A helper said so.")
        assert len(session.exec(filed).all()) == 1


def test_what_does_not_fit_is_told_and_nothing_changes(app: App, helper: TestClient, batch: int) -> None:
    """No class, no photo, no number, a number that nobody holds, an answer that was given before."""
    none = helper.post("/helper", files={"photos": ("a.jpg", b"x", "image/jpeg")}, data={"class_id": ""})
    assert (none.status_code, "none is chosen" in none.text) == (422, True)
    assert helper.post("/helper", data={"class_id": app.room.classes["3B"]}).status_code == 404
    with app.room.library.reading() as session:
        asked = session.exec(select(tables.QuestionRow.id).where(tables.QuestionRow.batch_id == batch)).all()
    for question in (*asked, 999_999):
        assert helper.post(f"/helper/{batch}/{question}", data={"number": "ten"}).status_code == 422
        assert helper.post(f"/helper/{batch}/{question}", data={"number": "3"}).status_code in (404, 422)
    assert helper.post(f"/helper/{batch}/answers/undo", data={"action_id": 1}).status_code == 404


def test_only_own_batches_of_today_open(app: App, helper: TestClient, batch: int) -> None:
    """Another helper's, the teacher's and yesterday's batch are not there, nor any picture of them."""
    with app.room.library.reading() as session:
        photo = session.exec(select(tables.Photo.id).where(tables.Photo.batch_id == batch)).first()
    own = f"/helper/{batch}/photos/{photo}/400"
    shown = helper.get(own)
    assert (shown.status_code, shown.headers["cache-control"]) == (200, "no-store")
    other = let_in(app, "Another")
    teachers_photo = app.room.photos[0]
    for client, path in (
        (other, f"/helper/{batch}"),
        (other, own),
        (helper, "/helper/1"),
        (helper, f"/helper/1/photos/{teachers_photo}/400"),
        (helper, f"/helper/{batch}/photos/{teachers_photo}/400"),
        (helper, "/helper/999999"),
    ):
        assert client.get(path).status_code == 404, path
    account = next(one for one in helpers.see_helpers(app.room.library) if one.login == "Helper One")
    asking = sign_in.Visitor("helper", account.account_id, 1, datetime.now(UTC))
    tomorrow = datetime.now().astimezone().date() + timedelta(days=1)
    with pytest.raises(NotFound):
        helping.see_own_batch(app.room.library, asking, batch, day=tomorrow)
    assert helping.own_batches(app.room.library, asking, now=datetime.now().astimezone() + timedelta(days=1)) == ()
    with pytest.raises(PortfolioError):
        helping.own_picture(app.room.library, asking, batch, photo or 0, day=tomorrow, long_px=400)


def test_what_the_teacher_hides_is_hidden_from_the_helper_too(app: App, helper: TestClient, batch: int) -> None:
    """A photo with a hidden part is not shown any more, also not as it was taken."""
    with app.room.library.writing(who="teacher", what="hid a part of a work") as writing:
        asked = select(tables.View).join(tables.Photo).where(tables.Photo.batch_id == batch)
        view = writing.session.exec(asked).first()
        assert view is not None
        view.masks = [[[0, 0], [100, 0], [100, 100], [0, 100]]]
        photo = view.photo_id
    assert helper.get(f"/helper/{batch}/photos/{photo}/400").status_code == 404
    assert f"/photos/{photo}/400" not in helper.get(f"/helper/{batch}").text


def test_no_name_stands_on_a_helpers_pages(app: App, helper: TestClient, batch: int) -> None:
    """Every page and refusal, byte by byte; and what pages are made of has no field for a name."""
    pages = ("/helper", f"/helper/{batch}", "/sign-in/helper", "/students", "/helper/1", "/nowhere")
    text = "".join(helper.get(path).text for path in pages)
    for name in (*GIVEN, *FAMILY, "sidways"):
        assert name not in text
    for kind in vars(answers_helper).values():
        if dataclasses.is_dataclass(kind):
            assert not any("name" in one.name for one in dataclasses.fields(kind)), kind


def test_no_barrier_on_the_pages(served: Served, browser_pages: Pages, lesson: list[Path]) -> None:
    """axe finds nothing on the helper's and the teacher's page at three widths, light and dark, also while asking."""
    library = served.room.library
    password = helpers.add_helper(library, "Helper One")
    browser_pages.errors.clear()
    with browser_pages.opened(f"{served.url}/sign-in/helper") as page:
        page.fill("#login", "Helper One")
        page.fill("#password", password)
        page.keyboard.press("Enter")
        page.wait_for_url("**/helper")
        page.select_option("#class", label="3B")
        page.set_input_files("#photos", [str(path) for path in lesson[2:3]])
        page.get_by_role("button", name="Add them").click()
        page.locator("#helping:not([hx-get])").wait_for(timeout=60_000)
        assert "1 needs its number" in page.inner_text("#helping")
        paths = ["/sign-in/helper", "/helper", page.url.removeprefix(served.url)]
        state = page.context.storage_state()
    for scheme in ("light", "dark"):
        for paths_now, cookies in ((paths, {"storage_state": state}), ([PEOPLE], served.cookies)):
            with browser_pages.opened(served.url + paths_now[0], scheme=scheme, **cookies) as page:
                for path in paths_now:
                    page.goto(served.url + path)
                    assert barriers_at(page) == [], path
    assert [one for one in browser_pages.errors if not one.startswith("failed:")] == []
