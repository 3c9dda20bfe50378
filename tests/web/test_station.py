"""The reflection station: a class's own numbers and works, a child's words as they were written, and nothing else."""

from __future__ import annotations

import dataclasses
import io
import json
import re
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from fastapi.testclient import TestClient
from PIL import Image
from sqlmodel import Session, col, select

from portfolio.archive import tables
from portfolio.archive.works import derived_path
from portfolio.errors import NotFound, PortfolioError, Refused
from portfolio.flows import sign_in, station
from portfolio.flows.held_words import waiting
from portfolio.flows.station_codes import LASTS, StationCodes, StationPlan
from portfolio.web import answers_station
from portfolio.web.sign_in import COOKIE
from tests.support.browser import Pages, barriers_at
from tests.web.conftest import OURS, PASSWORD, App, Served
from tests.web.room import FAMILY, GIVEN, TODAY

NOON = datetime(2026, 10, 6, 12, 0, tzinfo=UTC)


def browser(app: App, secret: str) -> TestClient:
    """Another browser with a session of its own, or of nobody."""
    cookies = {COOKIE: secret} if secret else {}
    return TestClient(
        app.client.app, base_url="http://127.0.0.1", headers=OURS, cookies=cookies, follow_redirects=False
    )


def opened(app: App, label: str = "3B") -> TestClient:
    """A browser that is the station of a class."""
    ends = datetime.now(UTC) + timedelta(hours=1)
    return browser(app, sign_in.start_station(app.room.library, app.room.classes[label], ends_utc=ends).secret)


@pytest.fixture(scope="module")
def child(app: App) -> TestClient:
    """The station of 3B."""
    return opened(app)


def kept(app: App, work_id: int) -> list[tables.Reflection]:
    """All words about a work."""
    with app.room.library.reading() as session:
        asked = select(tables.Reflection).where(tables.Reflection.work_id == work_id)
        return list(session.exec(asked.order_by(col(tables.Reflection.id))))


def view_of(session: Session, work_id: int) -> tables.View:
    """The one view of a work."""
    return session.exec(select(tables.View).where(tables.View.work_id == work_id)).one()


# --- starting ---------------------------------------------------------------------------------------------


def test_started_here_the_teachers_own_sign_in_ends(app: App) -> None:
    """The browser becomes the station: the secret is a new one, the old one opens nothing, "/" leads to the numbers."""
    before = sign_in.open_demo(app.room.library).secret
    teacher = browser(app, before)
    said = teacher.post("/settings/devices/stations", data={"class_id": app.room.classes["3B"], "span": "hour"})
    assert (said.status_code, said.headers["location"]) == (303, "/station")
    assert said.headers["clear-site-data"] == '"cache"'
    assert sign_in.who_is(app.room.library, before) is None
    now = re.search(rf"{COOKIE}=([^;]+)", said.headers["set-cookie"])
    assert now is not None
    at_station = browser(app, now[1])
    assert at_station.get("/").headers["location"] == "/station"
    assert at_station.get("/students").status_code == 403
    assert "Back to the numbers" in at_station.get("/students").text
    assert at_station.post("/sign-out").status_code == 403, "a child cannot end it"
    assert at_station.get("/sign-in").status_code == 200, "the teacher can come back"


def test_a_station_needs_a_class_and_a_known_span(app: App) -> None:
    """Nothing is started for no class, an unknown class or an unknown length."""
    three_b = app.room.classes["3B"]
    for data in ({"class_id": ""}, {"class_id": 99_999}, {"class_id": three_b, "span": "forever"}):
        said = app.client.post("/settings/devices/stations", data=data, follow_redirects=False)
        assert said.status_code in (404, 422), data
        assert app.client.get("/more").status_code == 200, "still signed in"


@pytest.mark.parametrize(
    ("clock", "key", "ends"),
    [
        ("09:20", "lesson", "09:55"),
        ("09:20", "hour", "10:20"),
        ("09:20", "day", "10:50"),
        ("10:10", "lesson", "10:50"),  # another class has its lesson: 45 minutes, but not beyond the school day
        ("10:10", "hour", "10:50"),
        ("15:00", "lesson", "15:45"),
        ("15:00", "day", "15:45"),
    ],
)
def test_it_lasts_for_the_lesson_and_at_most_the_school_day(app: App, clock: str, key: str, ends: str) -> None:
    """By the timetable of that day; after the last lesson 45 minutes."""
    now = datetime.fromisoformat(f"{TODAY}T{clock}").astimezone()
    found = station.span_end(app.room.library, app.room.classes["3B"], key, today=TODAY, now=now)
    assert found.astimezone().strftime("%H:%M") == ends


def test_on_another_day_than_the_clocks_there_is_no_bell(app: App) -> None:
    """The invented school stands on a day of its own: 45 minutes then, whatever its timetable says."""
    now = datetime.fromisoformat("2026-10-09T09:20").astimezone()
    found = station.spans(app.room.library, app.room.classes["3B"], today=TODAY, now=now)
    assert {one.ends_utc - now.astimezone(UTC) for one in found} == {station.USUAL}


def test_it_ends_at_its_time_however_quiet_it_was(app: App) -> None:
    """A station is not ended by an hour without a press, as other sign-ins are, but by its own time."""
    library, class_id = app.room.library, app.room.classes["3B"]
    found = sign_in.start_station(library, class_id, ends_utc=NOON + timedelta(hours=3), now=NOON)
    visitor = sign_in.who_is(library, found.secret, now=NOON + timedelta(minutes=179))
    assert visitor is not None
    assert (visitor.role, visitor.class_id) == ("station", class_id)
    assert sign_in.who_is(library, found.secret, now=NOON + timedelta(hours=3)) is None


def test_the_way_back_is_the_password_and_a_press_in_the_invented_school(app: App, monkeypatch: Any) -> None:
    """A child who went to the sign-in by mistake finds back; only the invented school has a press for the teacher."""
    at_station = opened(app)
    assert 'href="/station">Go back' in at_station.get("/sign-in").text
    assert "/station/leave" not in at_station.get("/station").text
    assert at_station.post("/station/leave").headers["location"] == "/sign-in"
    assert at_station.get("/station").status_code == 200, "still the station"
    monkeypatch.setattr(app.desk, "demo", True)
    assert "/station/leave" in at_station.get("/station").text
    assert at_station.post("/station/leave").headers["location"] == "/settings/devices"


# --- codes ------------------------------------------------------------------------------------------------


def test_a_code_opens_one_station_once(app: App) -> None:
    """The code on the teacher's screen makes another browser the station; used again it is refused in words."""
    said = app.client.post("/settings/devices/stations", data={"class_id": app.room.classes["3C"], "where": "code"})
    code = re.search(r'class="station-code">([^<]+)<', said.text)
    assert code is not None
    assert app.client.get("/more").status_code == 200, "the teacher stays signed in"
    other = browser(app, "")
    assert other.get("/join").status_code == 200
    joined = other.post("/join", data={"code": code[1].lower().replace(" ", "-")})
    assert (joined.status_code, joined.headers["location"]) == (303, "/station")
    assert "Class 3C" in other.get("/station").text
    again = browser(app, "").post("/join", data={"code": code[1]})
    assert again.status_code == 403
    assert "does not fit, was used before" in again.text


def test_a_code_lasts_ten_minutes() -> None:
    """station-code: one second later it opens nothing."""
    codes = StationCodes()
    plan = StationPlan(1, NOON + timedelta(hours=1))
    assert codes.take(codes.new(plan, now=NOON), now=NOON + LASTS - timedelta(seconds=1)) == plan
    late = codes.new(plan, now=NOON)
    with pytest.raises(Refused) as caught:
        codes.take(late, now=NOON + LASTS)
    assert caught.value.code == "station-code"


def test_wrong_codes_wait_longer_and_longer() -> None:
    """From the fifth in a row 1, 2, 4 … 60 seconds; within a code's time few tries are left; a right one is heard."""
    codes, moment, heard = StationCodes(), NOON, 0
    right = codes.new(StationPlan(1, NOON), now=NOON + timedelta(minutes=9))
    while moment < NOON + LASTS:
        try:
            codes.take("WRONG2", now=moment)
        except Refused as error:
            heard += error.code == "station-code"
        moment += timedelta(seconds=1)
    assert heard == 4 + 6 + 9, "four free, then after 1 to 32 seconds, then one a minute"
    with pytest.raises(Refused, match="not heard"):
        codes.take(right, now=moment - timedelta(seconds=2))
    assert codes.take(right, now=moment + timedelta(minutes=2)).class_id == 1


# --- what a child sees ------------------------------------------------------------------------------------


def test_the_numbers_of_the_class_stand_there(child: TestClient) -> None:
    """Every number that is held, and the class; nothing else to press but the teacher's way."""
    text = child.get("/station").text
    assert re.findall(r'href="/station/(\d+)"', text) == [str(number) for number in range(1, 13)]
    assert "Class 3B" in text


def test_a_number_sees_its_own_newest_works_only(app: App, child: TestClient) -> None:
    """Works of this class and child, newest first; not last year's, nobody else's; nobody's number is refused."""
    text = child.get("/station/1").text
    shown = [int(key) for key in re.findall(r'href="/station/1/(\d+)"', text)]
    assert shown == [app.room.works[8], *app.room.works[15:16], *app.room.works[18:20]]
    assert 'href="/works' not in text
    assert child.get("/station/40").status_code == 404
    assert child.get("/station/0").status_code == 422


def test_another_works_address_opens_nothing(app: App, child: TestClient) -> None:
    """A neighbor's work, last year's work of the same child and a work of no one: all the same 404, also to write."""
    neighbor, last_year = app.room.works[9], app.room.works[0]
    for work_id in (neighbor, last_year, 99_999):
        assert child.get(f"/station/1/{work_id}").status_code == 404
        assert child.post(f"/station/1/{work_id}", data={"text": "hello"}).status_code == 404
    assert child.get(f"/station/pictures/{last_year}/336").status_code == 404, "a picture of another class"
    assert opened(app, "3C").get(f"/station/pictures/{neighbor}/336").status_code == 404
    assert child.get(f"/station/pictures/{neighbor}/335").status_code == 404
    shown = child.get(f"/station/pictures/{neighbor}/336")
    assert (shown.status_code, shown.headers["content-type"]) == (200, "image/jpeg")
    assert shown.headers["cache-control"] == "no-store"


def test_no_name_and_nobodys_words_stand_on_any_page(app: App, child: TestClient) -> None:
    """The roll's names and all words kept so far are looked for in every byte; also a name in a title is left out."""
    with app.room.library.writing(who="teacher", what="described a work") as writing:
        row = writing.session.get_one(tables.Work, app.room.works[8])
        row.title = f"{GIVEN[0]} and the sea"
        writing.session.add(row)
    pages = ["/station", "/station/1", f"/station/1/{app.room.works[8]}", "/station/2", "/join", "/students"]
    text = "".join(child.get(path).text for path in pages)
    for name in (*GIVEN, *FAMILY):
        assert name not in text
    assert "sidways" not in text
    assert "asleep" not in text
    for kind in vars(answers_station).values():
        if dataclasses.is_dataclass(kind):
            assert not any("name" in one.name for one in dataclasses.fields(kind)), kind


def test_what_the_teacher_has_hidden_is_covered(app: App, child: TestClient) -> None:
    """A hidden part is gray at the station; where it cannot be told where the part lies, no picture is shown."""
    library, work_id = app.room.library, app.room.works[10]
    with library.writing(who="teacher", what="hid a part of a work") as writing:
        view = view_of(writing.session, work_id)
        photo = writing.session.get_one(tables.Photo, view.photo_id)
        photo.width_px, photo.height_px = 1200, 900
        view.masks = [[[0, 0], [600, 0], [600, 450], [0, 450]]]
        key = view.derived_key
    with Image.open(derived_path(library.derived, str(key), 336)) as before:
        size = before.size
    after = Image.open(io.BytesIO(child.get(f"/station/pictures/{work_id}/336").content))
    assert after.size == size
    corner = after.getpixel((after.width // 5, after.height // 5))
    assert all(abs(part - 128) < 8 for part in corner), corner
    with library.writing(who="teacher", what="hid a part of a work") as writing:
        view = view_of(writing.session, work_id)
        view.crop = {"outline_px": [[0, 0], [9, 0], [9, 9]], "shape": "free", "sure": True}
    assert child.get(f"/station/pictures/{work_id}/336").status_code == 404
    assert 'class="blank"' in child.get("/station/3").text
    assert "<img" not in child.get(f"/station/3/{work_id}").text


# --- what a child writes ----------------------------------------------------------------------------------


def test_words_are_kept_letter_for_letter_and_lead_back_to_the_numbers(app: App, child: TestClient) -> None:
    """Spelling, spaces and lines as they were; of that child, that work, today; sent twice it is kept once."""
    work_id, text = app.room.works[11], "  I made  the wind go sidways.\n\nIT has 3 eys "
    for _ in range(2):
        said = child.post(f"/station/4/{work_id}", data={"text": text.replace("\n", "\r\n")})
        assert (said.status_code, said.headers["location"]) == (303, "/station?kept=4")
    (*_, row) = kept(app, work_id)
    assert [one.text for one in kept(app, work_id)].count(text) == 1
    assert (row.text, row.student_id, row.said_on, row.written_by) == (text, app.room.students[3], TODAY, "child")
    assert row.held is None
    assert "Number 4, your words are kept." in child.get("/station?kept=4").text
    assert "your words" not in child.get("/station?kept=39").text


def test_a_classmates_name_in_the_words_is_held(app: App, child: TestClient) -> None:
    """The words are kept whole, and wait for the teacher like any other words."""
    work_id = app.room.works[12]
    child.post(f"/station/5/{work_id}", data={"text": f"I made it with {GIVEN[1]}"})
    (held,) = [one for one in waiting(app.room.library, work_ids=[work_id]) if GIVEN[1] in one.words.text]
    assert [held.words.text[one.start : one.end] for one in held.words.held] == [GIVEN[1]]
    assert GIVEN[1] not in child.get(f"/station/5/{work_id}").text


def test_nothing_written_and_too_much_is_said_and_not_lost(app: App, child: TestClient) -> None:
    """Blank words and too many keep the page with what was typed; nothing is kept."""
    work_id = app.room.works[13]
    before = len(kept(app, work_id))
    blank = child.post(f"/station/6/{work_id}", data={"text": " \n"})
    assert blank.status_code == 422
    assert "Write a few words first." in blank.text
    much = child.post(f"/station/6/{work_id}", data={"text": "wind " * 500})
    assert much.status_code == 422
    assert "more than 2000 letters" in much.text
    assert "wind wind wind" in much.text
    assert len(kept(app, work_id)) == before


def test_starters_are_put_behind_what_is_written_without_a_script(app: App, child: TestClient) -> None:
    """The press of a starter answers the page again with the text and the starter; nothing is kept by it."""
    work_id = app.room.works[13]
    page = child.get(f"/station/6/{work_id}").text
    assert 'name="starter" value="I was thinking of"' in page
    for word in ('spellcheck="false"', 'autocorrect="off"', 'autocapitalize="off"', 'autocomplete="off"'):
        assert word in page
    begun = child.post(f"/station/6/{work_id}", data={"text": "a fox.", "starter": "Next time"})
    assert begun.status_code == 200
    assert re.search(r"<textarea[^>]*>\na fox\. Next time </textarea>", begun.text)
    assert not [one for one in kept(app, work_id) if "fox" in one.text]


def test_the_flow_itself_refuses_what_is_not_the_numbers(app: App) -> None:
    """Not only the pages: words for another's work, a number nobody holds, no words."""
    library, class_id = app.room.library, app.room.classes["3B"]
    with pytest.raises(NotFound):
        station.keep_words(library, class_id, 1, app.room.works[9], "mine", today=TODAY)
    with pytest.raises(NotFound):
        station.keep_words(library, class_id, 30, app.room.works[8], "mine", today=TODAY)
    with pytest.raises(PortfolioError, match="none yet"):
        station.keep_words(library, class_id, 1, app.room.works[8], "  ", today=TODAY)
    with pytest.raises(NotFound):
        station.see_own_works(library, class_id, 1, today=date(2020, 1, 1)) and station.see_own_works(
            library, 99_999, 1, today=TODAY
        )


# --- in a browser -----------------------------------------------------------------------------------------


@pytest.fixture
def at_station(served: Served) -> dict[str, Any]:
    """A browser's cookies that make it the station of 3B."""
    ends = datetime.now(UTC) + timedelta(hours=1)
    secret = sign_in.start_station(served.room.library, served.room.classes["3B"], ends_utc=ends).secret
    return dataclasses.replace(served, secret=secret).cookies


@pytest.mark.browser
def test_a_child_writes_and_the_next_child_finds_the_numbers(
    served: Served, browser_pages: Pages, at_station: dict[str, Any]
) -> None:
    """By keyboard: number, work, a starter, own letters, done; Back brings no words; quiet keeps what was begun."""
    browser_pages.errors.clear()
    work = served.room.works[13]
    with browser_pages.opened(f"{served.url}/station", **at_station) as page:
        page.clock.install()
        page.get_by_role("link", name="Number 6", exact=True).press("Enter")
        page.locator(f'a[href="/station/6/{work}"]').press("Enter")
        page.get_by_role("button", name="I made …").press("Enter")
        assert page.evaluate("document.activeElement.id") == "text"
        page.keyboard.type("a kite for my sistr")
        page.get_by_role("button", name="I am done").press("Enter")
        page.get_by_text("Number 6, your words are kept.").wait_for()
        page.go_back()
        assert page.locator("#text").count() == 0 or page.input_value("#text") == ""
        page.goto(f"{served.url}/station/6/{work}")
        page.fill("#text", "it was left open")
        page.clock.fast_forward(1000)
        page.clock.run_for(130_000)
        assert "your words are kept" in page.inner_text("#warn")
        page.clock.run_for(30_000)
        page.wait_for_url("**/station?kept=6")
        page.goto(f"{served.url}/station/6")
        page.clock.run_for(61_000)
        page.wait_for_url("**/station")
    with served.room.library.reading() as session:
        texts = list(session.exec(select(tables.Reflection.text).where(tables.Reflection.work_id == work)))
    assert "I made a kite for my sistr" in texts
    assert "it was left open" in texts
    assert [one for one in browser_pages.errors if not one.startswith("failed:")] == []


@pytest.mark.browser
def test_a_child_writes_without_a_script(served: Served, browser_pages: Pages, at_station: dict[str, Any]) -> None:
    """Number, work, two starters around own letters, done: every step is a link or a press of a real form."""
    work = served.room.works[12]
    with browser_pages.opened(f"{served.url}/station", script=False, **at_station) as page:
        page.get_by_role("link", name="Number 5", exact=True).click()
        page.locator(f'a[href="/station/5/{work}"]').click()
        page.get_by_role("button", name="I made …").click()
        page.fill("#text", page.input_value("#text") + "a bote.")
        page.get_by_role("button", name="Next time …").click()
        assert page.input_value("#text") == "I made a bote. Next time "
        page.get_by_role("button", name="I am done").click()
        page.get_by_text("Number 5, your words are kept.").wait_for()
    browser_pages.errors.clear()


VOICES = """(voices) => {
  const told = (window.told = []);
  const heard = new EventTarget();
  const speech = {
    getVoices: () => window.voices,
    cancel: () => told.push("quiet"),
    speak: (line) => { told.push(`${line.voice.name}: ${line.words}`); line.dispatchEvent(new Event("start")); },
    addEventListener: heard.addEventListener.bind(heard),
    later: (more) => { window.voices = more; heard.dispatchEvent(new Event("voiceschanged")); },
  };
  window.voices = voices;
  Object.defineProperty(window, "speechSynthesis", { value: speech });
  window.SpeechSynthesisUtterance = class extends EventTarget { constructor(words) { super(); this.words = words; } };
}"""
"""A browser with these voices, which notes what they say: a computer for tests has none."""
AFAR = {"name": "afar", "lang": "en-US", "localService": False}
FOREIGN = {"name": "foreign", "lang": "fr-FR", "localService": True}
HERE = {"name": "here", "lang": "en-US", "localService": True}


@pytest.mark.browser
def test_starters_are_read_aloud_only_by_a_voice_of_this_device(
    served: Served, browser_pages: Pages, at_station: dict[str, Any]
) -> None:
    """No button without a voice, nor with one from elsewhere. With one: the question, each starter, then the one that
    is chosen or reached by the Tab key; pressed again it is quiet. Writing goes on as without it.
    """
    browser_pages.errors.clear()
    work = served.room.works[13]
    with browser_pages.opened(f"{served.url}/station", **at_station) as page:
        page.add_init_script(f"({VOICES})({json.dumps([AFAR])})")
        page.goto(f"{served.url}/station/6/{work}")
        aloud = page.locator("#aloud")
        assert aloud.is_hidden()
        page.evaluate("voices => speechSynthesis.later(voices)", [AFAR, FOREIGN, HERE])
        assert aloud.is_visible()
        aloud.click()
        assert aloud.get_attribute("aria-pressed") == "true"
        told = page.evaluate("told.splice(0)")
        assert told[:3] == ["quiet", "here: What is happening here?", f"here: {station.STARTERS[0]}"]
        assert len(told) == 2 + len(station.STARTERS)
        assert page.locator(".heard-now").get_attribute("value") == station.STARTERS[-1]
        page.keyboard.press("Tab")
        assert page.evaluate("told.splice(0)") == ["quiet", f"here: {station.STARTERS[0]}"]
        page.get_by_role("button", name=f"{station.STARTERS[1]} …").press("Enter")
        assert page.evaluate("told.splice(0)")[-1] == f"here: {station.STARTERS[1]}"
        assert page.input_value("#text") == f"{station.STARTERS[1]} "
        assert barriers_at(page) == []
        aloud.click()
        assert (aloud.get_attribute("aria-pressed"), page.locator(".heard-now").count()) == ("false", 0)
        page.evaluate("told.splice(0)")
        page.get_by_role("button", name=f"{station.STARTERS[0]} …").click()
        assert page.evaluate("told") == [], "switched off it is quiet"
    assert [one for one in browser_pages.errors if not one.startswith("failed:")] == []


@pytest.mark.browser
def test_no_other_tab_goes_on_showing_names(served: Served, browser_pages: Pages) -> None:
    """When one tab becomes the station, a class list in another tab gives way to the numbers by itself."""
    secret = sign_in.sign_in(served.room.library, PASSWORD).secret
    cookies = dataclasses.replace(served, secret=secret).cookies
    with browser_pages.opened(f"{served.url}/students?class=3B", **cookies) as names:
        assert GIVEN[0] in names.inner_text("main")
        page = names.context.new_page()
        page.goto(f"{served.url}/settings/devices?class={served.room.classes['3B']}")
        page.get_by_role("button", name="Start it in this browser").click()
        page.wait_for_url("**/station")
        names.wait_for_url("**/station")
        assert GIVEN[0] not in names.inner_text("main")
    browser_pages.errors.clear()


@pytest.mark.browser
def test_words_are_kept_when_the_time_is_over(served: Served, browser_pages: Pages) -> None:
    """Shortly before the station closes the child is told, and what is written then is kept."""
    work = served.room.works[12]
    ends = datetime.now(UTC) + timedelta(seconds=100)
    secret = sign_in.start_station(served.room.library, served.room.classes["3B"], ends_utc=ends).secret
    cookies = dataclasses.replace(served, secret=secret).cookies
    with browser_pages.opened(f"{served.url}/station/5/{work}", **cookies) as page:
        page.clock.install()
        page.reload()
        page.fill("#text", "half a sentens")
        page.clock.run_for(2000)
        assert page.inner_text("#warn") == "The station closes soon. Your words are kept."
        page.clock.run_for(90_000)
        page.wait_for_url("**/station?kept=5")
    with served.room.library.reading() as session:
        texts = list(session.exec(select(tables.Reflection.text).where(tables.Reflection.work_id == work)))
    assert "half a sentens" in texts
    browser_pages.errors.clear()


@pytest.mark.browser
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_no_barrier_at_the_station(
    served: Served, browser_pages: Pages, at_station: dict[str, Any], scheme: str
) -> None:
    """axe finds nothing at three widths, nothing scrolls sideways, everything to press is 44 px high and wide."""
    browser_pages.errors.clear()
    work = served.room.works[13]
    small = """() => [...document.querySelectorAll("a, button")].filter((one) => one.offsetParent)
        .map((one) => [one.outerHTML.slice(0, 80), one.getBoundingClientRect()])
        .filter(([, box]) => box.height < 43.5 || box.width < 43.5).map(([html]) => html)"""
    with browser_pages.opened(f"{served.url}/station", scheme=scheme, **at_station) as page:
        for path in ("/station?kept=6", "/station/6", f"/station/6/{work}", "/join?closed=1"):
            page.goto(served.url + path)
            assert barriers_at(page) == [], path
            for width in (320, 1280):
                page.set_viewport_size({"width": width, "height": 800})
                assert page.evaluate(small) == [], (path, width)
    assert [one for one in browser_pages.errors if not one.startswith("failed:")] == []  # left before its icon came
