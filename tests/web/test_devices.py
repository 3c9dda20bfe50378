"""Settings, devices: what is signed in is seen and ended; starters and children's words are kept and taken back."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta

from fastapi.testclient import TestClient

from portfolio.flows import sign_in, station
from portfolio.web.sign_in import COOKIE
from tests.support.browser import Pages, barriers_at
from tests.web.conftest import OURS, App, Served
from tests.web.room import GIVEN, TODAY

PAGE = "/settings/devices"


def opened(app: App) -> tuple[TestClient, str]:
    """A browser that is the station of 3B, and its secret."""
    ends = datetime.now(UTC) + timedelta(hours=1)
    secret = sign_in.start_station(app.room.library, app.room.classes["3B"], ends_utc=ends).secret
    client = TestClient(
        app.client.app, base_url="http://127.0.0.1", headers=OURS, cookies={COOKIE: secret}, follow_redirects=False
    )
    return client, secret


def key_of(app: App, secret: str) -> int:
    """The id of a sign-in."""
    found = sign_in.who_is(app.room.library, secret)
    assert found is not None
    return found.sign_in_id


def test_every_signed_in_browser_stands_there(app: App) -> None:
    """This browser first, without a press that would end it; a station with its class and its end."""
    _, secret = opened(app)
    text = app.client.get(PAGE).text
    first, second = re.findall(r"<h3>([^<]+)</h3>", text)[:2]
    assert (first, second) == ("You, in this browser", "Reflection station for 3B")
    ours = sign_in.who_is(app.room.library, app.client.cookies[COOKIE])
    assert ours is not None
    assert f"/{ours.sign_in_id}/end" not in text
    assert f"/{key_of(app, secret)}/end" in text
    assert "used just now" in text


def test_one_is_ended_at_once(app: App) -> None:
    """The station's very next request finds it closed; ending it a second time is no trouble."""
    client, secret = opened(app)
    key = key_of(app, secret)
    assert client.get("/station").status_code == 200
    for _ in range(2):
        said = app.client.post(f"{PAGE}/{key}/end", follow_redirects=False)
        assert said.headers["location"] == f"{PAGE}?done=ended"
    assert client.get("/station").headers["location"] == "/join?closed=1"
    lost = client.post(f"/station/1/{app.room.works[8]}", data={"text": "too late"})
    assert lost.headers["location"] == "/join?closed=1"
    assert "This station is closed." in client.get("/join?closed=1").text
    assert "Signed out." in app.client.get(f"{PAGE}?done=ended").text


def test_all_others_are_ended(app: App) -> None:
    """Only the browser that asks stays."""
    secrets = [opened(app)[1] for _ in range(2)] + [sign_in.open_demo(app.room.library).secret]
    assert app.client.post(f"{PAGE}/end-others").status_code == 200
    assert [sign_in.who_is(app.room.library, secret) for secret in secrets] == [None] * 3
    text = app.client.get(PAGE).text
    assert text.count("<h3>") == 1
    assert "Sign out everything" not in text


def test_what_is_over_is_not_listed(app: App) -> None:
    """A station whose time is over and a browser that was idle too long are not signed in any more."""
    long_ago = datetime.now(UTC) - timedelta(hours=3)
    sign_in.start_station(
        app.room.library, app.room.classes["3C"], ends_utc=long_ago + timedelta(hours=1), now=long_ago
    )
    sign_in.open_demo(app.room.library, now=long_ago)
    assert "for 3C" not in app.client.get(PAGE).text
    assert "in another browser" not in app.client.get(PAGE).text


def test_starters_are_hers_and_can_be_taken_back(app: App) -> None:
    """One a line, blank lines and doubles left out; undo brings the old list back; an empty list offers none."""
    said = app.client.post(f"{PAGE}/starters", data={"starters": "I see\r\n\r\n  I   wonder \r\nI see"})
    assert station.starters(app.room.library) == ("I see", "I wonder")
    step = re.search(r'name="action_id" value="(\d+)"', said.text)
    assert step is not None
    app.client.post(f"{PAGE}/undo", data={"action_id": step[1]})
    assert station.starters(app.room.library) == station.STARTERS
    app.client.post(f"{PAGE}/starters", data={"starters": ""})
    assert station.starters(app.room.library) == ()
    assert 'name="starter"' not in opened(app)[0].get(f"/station/1/{app.room.works[8]}").text


def test_too_many_starters_are_refused_and_stay_in_the_field(app: App) -> None:
    """What she typed is not lost."""
    before = station.starters(app.room.library)
    said = app.client.post(f"{PAGE}/starters", data={"starters": "\n".join(f"Line {n}" for n in range(9))})
    assert said.status_code == 422
    assert "at most 8 lines" in said.text
    assert "Line 8" in said.text
    assert station.starters(app.room.library) == before


def test_what_was_written_today_is_seen_taken_back_and_brought_back(app: App) -> None:
    """A child took the wrong number: the words go with one press, and come back with another."""
    client, _ = opened(app)
    work_id = app.room.works[9]
    client.post(f"/station/2/{work_id}", data={"text": "a purple <whale>"})
    text = app.client.get(PAGE).text
    assert "a purple &lt;whale&gt;" in text
    assert f'href="/works/{work_id}#words"' in text
    assert "A child wrote about it at the reflection station." in app.client.get(f"/works/{work_id}").text

    def step(text: str) -> str:
        found = re.search(r'name="action_id" value="(\d+)"><input type="hidden" name="taken"', text)
        assert found is not None
        return found[1]

    for _ in range(2):  # taken back, brought back, and the same once more
        gone = app.client.post(f"{PAGE}/undo", data={"action_id": step(text), "taken": "1"}).text
        assert "whale" not in gone
        assert "Taken back." in gone
        assert "whale" not in app.client.get(f"/works/{work_id}").text
        back = re.search(r'name="action_id" value="(\d+)"', gone)
        assert back is not None
        text = app.client.post(f"{PAGE}/undo", data={"action_id": back[1]}).text
        assert "whale" in text


def test_words_that_may_name_a_child_are_marked(app: App) -> None:
    """She sees at once which of the words only she can read."""
    client, _ = opened(app)
    client.post(f"/station/3/{app.room.works[10]}", data={"text": f"like the one of {GIVEN[4]}"})
    lines = re.findall(r"<li>.*?</li>", app.client.get(PAGE).text.partition('id="written"')[2], re.DOTALL)
    assert [GIVEN[4] in line for line in lines] == ["may name a child, so only you see it" in line for line in lines]
    assert any(GIVEN[4] in line for line in lines)


def test_a_step_that_cannot_be_undone_is_said(app: App) -> None:
    """cannot-undo and not-found are told on the page."""
    assert app.client.post(f"{PAGE}/undo", data={"action_id": 999_999}).status_code == 404


def test_the_class_page_leads_to_its_station(app: App) -> None:
    """The class is chosen already; for a class of last year there is no such press."""
    three_b, two_a = app.room.classes["3B"], app.room.classes["2A"]
    assert f"{PAGE}?class={three_b}#station" in app.client.get(f"/classes/{three_b}").text
    assert PAGE not in app.client.get(f"/classes/{two_a}").text
    assert f'<option value="{three_b}" selected>3B' in app.client.get(f"{PAGE}?class={three_b}").text
    assert str(TODAY.year) not in app.client.get(PAGE).text.partition("<main")[2].partition("Start a")[2]


def test_no_barrier_on_the_page(served: Served, browser_pages: Pages) -> None:
    """axe finds nothing, also with a code, a station to end and words; it works at 320 px."""
    ends = datetime.now(UTC) + timedelta(hours=1)
    library, three_b = served.room.library, served.room.classes["3B"]
    sign_in.start_station(library, three_b, ends_utc=ends)
    station.keep_words(library, three_b, 1, served.room.works[8], "It is windy.", today=TODAY)
    browser_pages.errors.clear()
    for scheme in ("light", "dark"):
        with browser_pages.opened(f"{served.url}{PAGE}?class={three_b}", scheme=scheme, **served.cookies) as page:
            page.get_by_role("button", name="Show a code for another browser").click()
            page.locator(".station-code").wait_for()
            page.locator(".device-list summary").first.click()
            assert barriers_at(page) == [], scheme
    assert [one for one in browser_pages.errors if not one.startswith("failed:")] == []
