"""Share time: the day's works large by number, without any name; H hides names on the teacher's own screens."""

from __future__ import annotations

from portfolio.archive import tables
from tests.web.room import FAMILY, GIVEN, TODAY


def texts(app, address):
    answer = app.client.get(address)
    assert answer.status_code == 200, address
    return answer.text


def test_the_works_of_the_last_day_stand_on_a_wall(app):
    """Without a day it is the newest with works; each leads to itself, large."""
    text = texts(app, "/projector")
    assert text.count('class="tile kept"') == 7
    assert 'href="/projector?work=' in text


def test_one_work_is_large_with_its_neighbors(app):
    """The first has no "before", the last no "next"; the place is told."""
    first, second, *_, last = sorted(app.room.works[8:15], key=lambda key: key)
    text = texts(app, f"/projector?work={first}")
    assert "1 of 7" in text
    assert f"work={second}" in text
    assert ">Before</a>" not in text
    assert ">Next</a>" not in texts(app, f"/projector?work={last}")


def test_no_name_stands_there_not_even_in_a_title(app):
    """Names of all children are looked for in the page's bytes, with a title that names one."""
    with app.room.library.writing(who="teacher", what="described a work") as writing:
        row = writing.session.get(tables.Work, app.room.works[8])
        row.title = f"{GIVEN[0]} and the sea"
        writing.session.add(row)
    pages = [texts(app, "/projector"), *(texts(app, f"/projector?work={key}") for key in app.room.works[8:15])]
    for name in (*GIVEN, *FAMILY):
        assert all(name not in page for page in pages), name
    assert any("The sea" in page or "Dragon" in page for page in pages)


def test_a_day_and_a_class_can_be_chosen(app):
    """Another day has its own works; a day without any says so; no date is refused."""
    assert texts(app, "/projector?day=2026-09-15").count('class="tile kept"') == 5
    assert "Nothing kept on this day." in texts(app, "/projector?day=2026-09-16")
    assert texts(app, f"/projector?day={TODAY}&class=3C").count('class="tile') == 0
    assert app.client.get("/projector?day=tomorrow").status_code == 422


def test_only_the_teacher_opens_it(app):
    """A stranger is sent to sign in."""
    assert app.stranger.get("/projector").status_code == 303


def test_arrows_go_through_the_works_and_h_hides_names(served, browser_pages):
    """Right, left, End and Escape in a real browser; on the roll H takes every name off the page and brings it back."""
    with browser_pages.opened(f"{served.url}/projector", **served.cookies) as page:
        page.keyboard.press("ArrowRight")
        page.wait_for_url("**/projector?work=*")
        first = page.url
        page.keyboard.press("ArrowRight")
        page.wait_for_url(lambda url: url != first)
        page.keyboard.press("ArrowLeft")
        page.wait_for_url(first)
        page.keyboard.press("Escape")
        page.wait_for_url("**/projector")
        page.goto(f"{served.url}/students?class=3B")
        assert GIVEN[0] in page.content()
        page.keyboard.press("h")
        assert all(name not in page.content() for name in (*GIVEN, *FAMILY))
        assert "Names are hidden." in page.inner_text("#page")
        page.goto(f"{served.url}/students/{served.room.students[0]}")
        assert GIVEN[0] not in page.inner_text("body")
        page.keyboard.press("h")
        assert GIVEN[0] in page.inner_text("h1")
    assert [one for one in browser_pages.errors if not one.startswith("failed:")] == []  # left before its icon came
