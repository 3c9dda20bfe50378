"""What was typed when the sign-in had ended: not lost, shown to nobody before the next, sent by one press after it."""

from __future__ import annotations

import re

from fastapi.testclient import TestClient
from sqlmodel import select

from portfolio.archive import tables
from portfolio.flows import sign_in
from portfolio.web import held_forms
from portfolio.web.held_forms import HeldForms
from portfolio.web.sign_in import COOKIE
from tests.support.browser import Pages, axe_violations
from tests.web.conftest import OURS, PASSWORD, App, Served

SAW = (("number", "4"), ("what", "observe"), ("level", "secure"), ("note", "Looked twice."))


def test_words_typed_before_the_sign_in_are_kept_after_it(app: App) -> None:
    """A note sent without a session leads to the sign-in; after it the words stand there, and one press keeps them."""
    class_id, work = app.room.classes["3B"], app.room.works[8]
    sent = app.stranger.post(f"/classes/{class_id}/saw", data=dict(SAW))
    assert sent.status_code == 303
    way = sent.headers["location"]
    token = re.fullmatch(r"/sign-in\?next=(/again/[\w-]+)", way)[1]
    assert "Looked twice." not in app.stranger.get(way).text
    assert app.stranger.get(token).status_code == 303, "nobody sees it without a sign-in"
    page = app.client.get(token).text
    assert "You were signed out before this was kept." in page
    assert "Looked twice." in page
    action = re.search(r'<form action="([^"]+)" method="post" class="ruled-less"', page)[1]
    fields = dict(re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', page))
    assert (action, tuple(fields.items())) == (f"/classes/{class_id}/saw", SAW)
    assert "Kept: number 4, observe, secure, Looked twice." in app.client.post(action, data=fields).text
    said = app.stranger.post(f"/works/{work}/said", data={"text": "two\r\nlines"}).headers["location"]
    assert "two\r\nlines" in app.client.get(said.partition("next=")[2]).text


def test_only_a_few_forms_are_held_and_not_for_long(app: App) -> None:
    """No password, no step that is hard to undo, nothing empty, nothing endless; the oldest goes, and all after an
    hour. What is not held any more leads to the first page.
    """
    forms = HeldForms()
    assert forms.put("/settings/password", [("new", "x")]) == ""
    assert forms.put("/add/1/undo", [("action_id", "3")]) == ""
    assert forms.put("/works/1", [("title", " ")]) == ""
    assert forms.put("/works/1", [("title", "x" * held_forms.LETTERS_MAX)]) == ""
    tokens = [forms.put("/works/1", [("title", str(at))], now=at) for at in range(held_forms.MOST + 1)]
    assert forms.see(tokens[0], now=10) is None
    assert forms.see(tokens[1], now=10).fields == (("title", "1"),)
    assert forms.see(tokens[-1], now=held_forms.HELD_SECONDS + held_forms.MOST) is None
    assert app.client.get("/again/nothing", follow_redirects=False).headers["location"] == "/"
    plain = app.stranger.post("/settings/password", data={"new": "x"})
    assert plain.headers["location"] == "/sign-in"
    pages = (("/settings/devices/starters", {"starters": "I made"}), ("/check/1", {"number": "4"}))
    for action, data in pages:
        way = app.stranger.post(action, data=data).headers["location"].partition("next=")[2]
        back = re.search(r'<a class="press" href="([^"]+)">Leave it', app.client.get(way).text)[1]
        assert app.client.get(back).status_code == 200


def test_a_note_survives_the_end_of_the_session(served: Served, browser_pages: Pages) -> None:
    """In a browser: typed, signed out meanwhile, sent, signed in by the password, and kept with one press."""
    class_id = served.room.classes["3B"]
    browser_pages.errors.clear()
    with browser_pages.opened(f"{served.url}/classes/{class_id}/saw", width=390, **served.cookies) as page:
        for field, value in SAW[:3]:
            page.locator(f'[name="{field}"][value="{value}"]').check(force=True)
        page.fill("#note", SAW[3][1])
        page.context.clear_cookies()
        page.get_by_role("button", name="Keep it").click()
        page.get_by_role("heading", name="Sign in").wait_for()
        page.fill("#password", PASSWORD)
        page.keyboard.press("Enter")
        page.get_by_role("heading", name="Not kept yet").wait_for()
        assert axe_violations(page) == []
        page.get_by_role("button", name="Keep it now").click()
        page.get_by_text("Kept: number 4, observe, secure, Looked twice.").wait_for()
        assert axe_violations(page) == []
    assert browser_pages.errors == []
    with served.room.library.reading() as session:
        assert session.exec(select(tables.Observation).where(tables.Observation.note == SAW[3][1])).one()


def test_an_answer_after_the_sign_in_is_the_teachers_own(app: App) -> None:
    """A helper who signs in instead does not reach what was held."""
    way = app.stranger.post(f"/works/{app.room.works[8]}", data={"title": "Sea"}).headers["location"]
    ends = sign_in.datetime.now(sign_in.UTC) + sign_in.timedelta(hours=1)
    secret = sign_in.start_station(app.room.library, app.room.classes["3B"], ends_utc=ends).secret
    child = TestClient(app.client.app, base_url="http://127.0.0.1", headers=OURS, cookies={COOKIE: secret})
    assert child.get(way.partition("next=")[2], follow_redirects=False).status_code == 403
