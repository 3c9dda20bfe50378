"""A work's page: where its ways lead."""

from __future__ import annotations

import re
from typing import Any

from sqlmodel import select

from portfolio.archive import tables
from portfolio.flows import edge, settle
from tests.support.browser import Pages, barriers_at
from tests.web.conftest import App, Served
from tests.web.room import GIVEN, Room


def measure(room: Room, place: int) -> None:
    """Let the photo of a work have sides, so that an edge can be set in it."""
    with room.library.writing(who="program", what="read a photo") as writing:
        photo = writing.session.get(tables.Photo, room.photos[place])
        photo.width_px, photo.height_px = 1200, 900


def add_view(room: Room, place: int, *, role: str, of: int) -> None:
    """The photo of another work is shown as a further view of this one."""
    with room.library.writing(who="program", what="filed a photo") as writing:
        seen = settle.works.view_of_photo(writing.session, room.photos[of])
        row = tables.View(work_id=room.works[place], photo_id=room.photos[of], derived_key=seen.derived_key)
        row.role, row.position = role, 1
        writing.session.add(row)


def until(page: Any, so: str) -> None:
    """Wait until a script's answer is true; the page's own policy forbids the browser's way of waiting."""
    for _ in range(60):
        if page.evaluate(so):
            return
        page.wait_for_timeout(50)
    raise AssertionError(so)


def history_of(page: str) -> str:
    """The sentences of a work's history."""
    return re.sub(r"<[^>]+>", " ", page[page.index('<ol class="history">') :])


def test_the_edge_of_the_open_view_is_one_press_away(app: App) -> None:
    """The link opens the edge of the very view that is large on the page."""
    room = app.room
    before = app.client.get(f"/works/{room.works[10]}").text
    assert "/edge?" not in before, "a photo without sides has no edge to set"
    assert "/hide?" not in before
    measure(room, 10)
    page = app.client.get(f"/works/{room.works[10]}").text
    link = re.search(r'href="(/works/\d+/edge\?view=\d+)">Set the edge again<', page)
    assert link, "the way to the edge is missing"
    assert app.client.get(link.group(1)).status_code == 200


def test_works_without_words_are_found_and_told_on_today(app: App) -> None:
    """The chips divide all works; Today counts those of the last week and leads there."""
    every = len(app.room.works)
    client = app.client
    counted = {word: client.get(f"/find?said={word}").text for word in ("with", "without")}
    found = {word: len(set(re.findall(r'href="/works/(\d+)"', text))) for word, text in counted.items()}
    assert found["with"] + found["without"] == every
    assert min(found.values()) > 0
    assert "Without words" in client.get("/find").text
    for none in ("said=maybe", "size=tiny", "color=plaid"):
        assert len(set(re.findall(r'href="/works/(\d+)"', client.get(f"/find?{none}").text))) == every, none
    today = client.get("/").text
    assert re.search(r"\d works? of the last seven days ha(s|ve) no words from the child yet\.", today)
    assert 'href="/find?said=without"' in today


def test_the_teacher_writes_down_what_a_child_says(app: App) -> None:
    """Letter for letter, once however often it is pressed, with who wrote it; a classmate's name waits for her; one
    press in the history takes it back.
    """
    room, client = app.room, app.client
    work = room.works[13]
    text = "it is a fox  he has TO many legs\nand thats good"
    for _ in range(2):
        kept = client.post(f"/works/{work}/said", data={"text": text.replace("\n", "\r\n")}, follow_redirects=False)
        assert kept.headers["location"] == f"/works/{work}#words"
    with room.library.reading() as session:
        (row,) = session.exec(select(tables.Reflection).where(tables.Reflection.text == text)).all()
    assert (row.work_id, row.student_id, row.written_by) == (work, room.students[5], "teacher")
    page = client.get(f"/works/{work}").text
    assert "said, and written down by the teacher" in page
    assert "You wrote down what the child said about it." in history_of(page)
    undo = re.search(r'name="action_id" value="(\d+)"', page[page.index('<ol class="history">') :])[1]
    assert "TO many legs" not in client.post(f"/works/{work}/undo", data={"action_id": undo}).text
    client.post(f"/works/{work}/said", data={"text": f"I sat with {GIVEN[1]}", "written_by": "child"})
    page = client.get(f"/works/{work}").text
    assert f"“{GIVEN[1]}” may name a child" in page
    assert "written by the child" in page


def test_words_that_cannot_be_kept_stay_in_their_field(app: App) -> None:
    """Blank, too long, a child who did not make it, a writer that is none: told, nothing kept, nothing typed lost."""
    work = app.room.works[14]
    refused = (
        {"text": " \n"},
        {"text": "x" * 2001},
        {"text": "mine", "child": str(app.room.students[0])},
        {"text": "mine", "written_by": "parrot"},
    )
    before = app.client.get(f"/works/{work}").text.count("<blockquote")
    for given in refused:
        answer = app.client.post(f"/works/{work}/said", data=given)
        assert 400 <= answer.status_code < 500, given
        assert given["text"].strip() in answer.text
    assert app.client.get(f"/works/{work}").text.count("<blockquote") == before


def test_of_a_group_work_it_is_asked_who_says_it(app: App) -> None:
    """Each of its makers can be chosen; the words are that child's."""
    room, work = app.room, app.room.works[12]
    with room.library.writing(who="teacher", what="answered a question") as writing:
        writing.session.add(tables.Maker(work_id=work, student_id=room.students[7], position=1))
    page = app.client.get(f"/works/{work}").text
    assert f'<option value="{room.students[7]}">' in page
    app.client.post(f"/works/{work}/said", data={"text": "we glued it", "child": str(room.students[7])})
    with room.library.reading() as session:
        (row,) = session.exec(select(tables.Reflection).where(tables.Reflection.text == "we glued it")).all()
    assert row.student_id == room.students[7]


def test_medium_center_and_tags_are_changed_and_taken_back(app: App) -> None:
    """One form, one step; the history tells what changed, and one press puts all of it back."""
    path = f"/works/{app.room.works[2]}"
    before = app.client.get(path).text
    sent = {"title": "The fox", "medium": "clay", "center": "", "tags": " night , animals,, night"}
    page = app.client.post(path, data=sent).text
    assert ">animals</a>, <a" in page
    assert ">night</a>" in page
    told = history_of(page)
    assert "to “The fox”." in told
    assert "You gave it the tag “animals”." in told
    assert "You took the center" in told
    undo = re.search(r'name="action_id" value="(\d+)"', page[page.index('<ol class="history">') :]).group(1)
    again = app.client.post(f"{path}/undo", data={"action_id": undo}).text
    facts = re.compile(r'<dl class="facts">.*?</dl>', re.DOTALL)
    assert facts.search(again).group(0) == facts.search(before).group(0)
    assert "You took the tag “night” away." in history_of(again)
    refused = app.client.post(path, data={"title": "x", "tags": "a" * 61})
    assert refused.status_code == 422
    assert "at most 60 letters" in refused.text


def test_tags_alone_leave_a_line_in_the_history(app: App) -> None:
    """A step that touched only a tag is told, though no row of the work itself changed."""
    path = f"/works/{app.room.works[3]}"
    page = app.client.get(path).text
    form = {name: re.search(rf'name="{name}" value="([^"]*)"', page).group(1) for name in ("title", "tags")}
    form |= {
        name: re.search(rf'<select id="{name}".*?value="([^"]*)" selected', page, re.DOTALL).group(1)
        for name in ("medium", "center")
    }
    told = history_of(app.client.post(path, data={**form, "tags": "sea"}).text)
    assert "You gave it the tag “sea”." in told
    assert "You changed" not in told


def test_a_hidden_part_is_shown_again_from_the_works_own_history(app: App) -> None:
    """Hiding a part stands in the history with its own undo, though only the view's row changed."""
    room = app.room
    measure(room, 4)
    seen = edge.see_edge(room.library, room.works[4])
    done = edge.hide_part(room.library, seen, ((10.0, 10.0), (200.0, 10.0), (200.0, 90.0), (10.0, 90.0)))
    path = f"/works/{room.works[4]}"
    page = app.client.get(path).text
    assert "You hid a part of it: only you see that part." in page
    assert f'value="{done}"' in page[page.index('<ol class="history">') :]
    app.client.post(f"{path}/undo", data={"action_id": done})
    assert edge.see_edge(room.library, room.works[4]).hidden == ()


def test_views_are_named_and_lead_to_each_other(app: App) -> None:
    """Front and back: the open one is named with its place, and a plain link leads to the next."""
    add_view(app.room, 5, role="back", of=6)
    page = app.client.get(f"/works/{app.room.works[5]}").text
    assert "<b>Front</b>, 1 of 2" in page
    assert 'rel="prev"' not in page
    after = re.search(r'rel="next" href="([^"]+)"', page).group(1)
    assert "<b>Back</b>, 2 of 2" in app.client.get(after).text


def test_the_picture_comes_nearer_and_views_turn(served: Served, browser_pages: Pages) -> None:
    """By press, key and wheel in its frame; Esc shows it whole; arrows turn the views; a plain link without script."""
    add_view(served.room, 0, role="detail", of=1)
    work = f"{served.url}/works/{served.room.works[0]}"
    with browser_pages.opened(work, script=False, **served.cookies) as page:
        page.locator("#picture").click()
        assert page.url.endswith("/2016"), "without script the picture is a link to its largest form"
    browser_pages.errors.clear()  # a browser's own page round a bare picture styles itself, which our policy stops
    with browser_pages.opened(work, **served.cookies) as page:
        place = "getComputedStyle(document.querySelector('#picture img')).transform"
        assert page.evaluate(place) == "none"
        page.get_by_role("button", name="Nearer", exact=True).click()
        near = page.evaluate(place)
        assert near.startswith("matrix(2,")
        page.locator("#picture").focus()
        page.keyboard.press("ArrowRight")
        assert page.evaluate(place) != near, "arrows move a near picture instead of turning the views"
        page.keyboard.press("+")
        assert page.evaluate(place).startswith("matrix(4,")
        page.locator("#picture").hover()
        page.mouse.wheel(0, 300)
        until(page, f"!{place}.startsWith('matrix(4,')")
        page.keyboard.press("Escape")
        assert page.evaluate(place) == "none"
        page.mouse.wheel(0, 300)
        until(page, "scrollY > 0")
        assert barriers_at(page) == []
        page.locator("#picture").focus()
        page.keyboard.press("ArrowRight")
        page.get_by_text("Detail, 2 of 2").wait_for()
        page.wait_for_load_state()  # turned on before, the browser would give its picture up, which counts as an error
        assert page.evaluate("document.activeElement.id") == "picture"
        page.keyboard.press("ArrowLeft")
        page.get_by_text("Front, 1 of 2").wait_for()
        page.wait_for_load_state()
        page.locator("summary", has_text="Change title").click()
        page.locator("#title").press("ArrowRight")
        page.wait_for_timeout(200)
        assert "1 of 2" in page.inner_text("#views"), "arrows in a field stay in the field"
    assert browser_pages.errors == []
