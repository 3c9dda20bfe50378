"""A work's edge and its hidden parts: set by plain numbers, by mouse and by keyboard, and taken back."""

from __future__ import annotations

import io
import re
from html import unescape
from itertools import count

import pytest

from portfolio.archive import photos, questions, shows, tables, works
from portfolio.flows.edge import see_edge
from portfolio.flows.helping import hidden_photos
from portfolio.flows.read_photos import make_pictures_again
from tests.support.browser import Pages, axe_violations, sideways_scroll_px
from tests.web.asked import ask_about_two_numbers
from tests.web.conftest import App, Served
from tests.web.room import Room, painted

_PAINTED = count(100)
"""So many other pictures are there already."""
SQUARE = {"x": ["10", "60", "60", "10"], "y": ["20", "20", "80", "80"]}


def _measure(room: Room, at: int) -> int:
    """A work whose photo's size is known; gives its id."""
    with room.library.writing(who="program", what="read a photo") as writing:
        photo = writing.session.get(tables.Photo, room.photos[at])
        photo.width_px, photo.height_px, photo.derived_key = 1200, 900, "read"
    return room.works[at]


def _undo(page: str) -> dict[str, str]:
    form = page[page.index("/edge/undo") :]
    return dict(re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', form[: form.index("</form>")]))


def test_an_edge_by_numbers_is_kept_and_taken_back(app: App) -> None:
    """Without scripts eight numbers and a turn do it; the pictures are new; undo brings the old ones back."""
    work = _measure(app.room, 9)
    before = see_edge(app.room.library, work).view
    page = app.client.post(f"/works/{work}/edge", data={**SQUARE, "turns": "1"}).text
    seen = see_edge(app.room.library, work)
    assert seen.outline == ((120, 180), (720, 180), (720, 720), (120, 720))
    assert seen.by_hand
    assert seen.quarter_turns == 1
    assert seen.view.derived_key != before.derived_key
    app.client.post(f"/works/{work}/edge/undo", data=_undo(page))
    assert see_edge(app.room.library, work).view == before


def test_the_whole_photo_keeps_the_size_of_the_work(app: App) -> None:
    """The whole photo is shown; how large the work is was measured before and stays."""
    work = _measure(app.room, 10)
    with app.room.library.reading() as session:
        size = session.get(tables.Work, work).width_mm
    app.client.post(f"/works/{work}/edge", data={**SQUARE, "whole": "1"})
    assert see_edge(app.room.library, work).outline == ((0, 0), (1200, 0), (1200, 900), (0, 900))
    with app.room.library.reading() as session:
        assert session.get(tables.Work, work).width_mm == size


@pytest.mark.parametrize(
    ("corners", "found"),
    [
        ({"x": ["10", "60", "10", "60"], "y": ["20", "20", "80", "80"]}, "sides cross"),
        ({"x": ["10", "10.1", "10.1", "10"], "y": ["20", "20", "20.1", "20.1"]}, "next to nothing"),
        ({"x": ["10", "nan", "60", "10"], "y": ["20", "20", "80", "80"]}, "no number from 0 to 100"),
        ({"x": ["10", "60", "60"], "y": ["20", "20", "80"]}, "four are needed"),
    ],
)
def test_corners_that_are_none_are_refused_in_words(app: App, corners: dict[str, list[str]], found: str) -> None:
    """The page says what is wrong with them, and nothing has changed."""
    work = _measure(app.room, 11)
    before = see_edge(app.room.library, work).view
    for task in ("edge", "hide"):
        answer = app.client.post(f"/works/{work}/{task}", data=corners)
        assert answer.status_code == 422 or answer.status_code == 400
        assert found in answer.text
    assert see_edge(app.room.library, work).view == before
    assert see_edge(app.room.library, work).hidden == ()


def test_a_part_is_hidden_shown_and_undone(app: App) -> None:
    """Hidden parts are listed; each can be shown again; both can be undone."""
    work = _measure(app.room, 12)
    page = app.client.post(f"/works/{work}/hide", data=SQUARE).text
    assert "Show part 1 again" in page
    app.client.post(f"/works/{work}/edge/undo", data=_undo(page))
    assert see_edge(app.room.library, work).hidden == ()
    app.client.post(f"/works/{work}/hide", data=SQUARE)
    page = app.client.post(f"/works/{work}/hide/show", data={"place": "1"}).text
    assert see_edge(app.room.library, work).hidden == ()
    app.client.post(f"/works/{work}/edge/undo", data=_undo(page))
    assert see_edge(app.room.library, work).hidden == (((120, 180), (720, 180), (720, 720), (120, 720)),)
    with app.room.library.reading() as session:
        assert works.hidden_parts(session, see_edge(app.room.library, work).view.view_id)


@pytest.mark.browser
def test_corners_move_by_mouse_and_by_keyboard(served: Served, browser_pages: Pages) -> None:
    """Dragged, then moved by arrows, then kept: the record has what the screen showed; axe finds nothing."""
    work = _measure(served.room, 9)
    browser_pages.errors.clear()
    for width, scheme in ((390, "dark"), (1280, "light")):
        address = f"{served.url}/works/{work}/edge"
        with browser_pages.opened(address, width=width, scheme=scheme, **served.cookies) as page:
            assert axe_violations(page) == []
            assert sideways_scroll_px(page) == 0
            handle = page.locator(".corner-handle").first
            box, frame = handle.bounding_box(), page.locator("#corners-frame").bounding_box()
            page.mouse.move(box["x"] + 22, box["y"] + 22)
            page.mouse.down()
            page.mouse.move(frame["x"] + frame["width"] * 0.3, frame["y"] + frame["height"] * 0.25, steps=3)
            page.mouse.up()
            page.keyboard.press("ArrowRight")
            page.keyboard.press("Shift+ArrowDown")
            page.get_by_role("button", name="Keep this edge").click()
            page.wait_for_url("**undo=*")
        across, down = see_edge(served.room.library, work).outline[0]
        assert (across / 1200, down / 900) == pytest.approx((0.302, 0.27), abs=0.004)
    assert browser_pages.errors == []


@pytest.mark.browser
def test_a_corner_moves_under_a_finger(served: Served, browser_pages: Pages) -> None:
    """On a tablet: a finger takes the corner along, and the page does not scroll under it."""
    work = _measure(served.room, 14)
    address = f"{served.url}/works/{work}/edge"
    with browser_pages.opened(address, width=390, has_touch=True, is_mobile=True, **served.cookies) as page:
        handle = page.locator(".corner-handle").first
        handle.scroll_into_view_if_needed()
        before = page.evaluate("scrollY")
        box, frame = handle.bounding_box(), page.locator("#corners-frame").bounding_box()
        x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
        to_x, to_y = frame["x"] + frame["width"] * 0.3, frame["y"] + frame["height"] * 0.4
        cdp = page.context.new_cdp_session(page)
        for kind, points in (
            ("touchStart", [{"x": x, "y": y}]),
            ("touchMove", [{"x": (x + to_x) / 2, "y": (y + to_y) / 2}]),
            ("touchMove", [{"x": to_x, "y": to_y}]),
            ("touchEnd", []),
        ):
            cdp.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
        assert page.evaluate("scrollY") == before
        page.get_by_role("button", name="Keep this edge").tap()
        page.wait_for_url("**undo=*")
    across, down = see_edge(served.room.library, work).outline[0]
    assert (across / 1200, down / 900) == pytest.approx((0.3, 0.4), abs=0.006)


def test_an_edge_set_by_hand_answers_the_question_about_it(app: App) -> None:
    """The question links to the corners; keeping them leads back to To check, where the question is gone; undo asks."""
    work, photo = _measure(app.room, 13), app.room.photos[13]
    outline = {"outline_px": [[10, 10], [900, 10], [900, 700], [10, 700]], "sure": False, "shape": "sheet"}
    with app.room.library.writing(who="program", what="asked") as writing:
        batch_id = photos.photo(writing.session, photo).batch_id
        key = questions.ask_crop(
            writing.session, outline, batch_id=batch_id, photo_id=photo, work_id=work, evidence="White on white."
        )
    asked = app.client.get(f"/check?ask={key}").text
    href, hide = (unescape(re.search(rf'href="(/works/[^"]+/{to}[^"]*)"', asked).group(1)) for to in ("edge", "hide"))
    page = app.client.get(hide).text
    fields = dict(re.findall(r'type="hidden" name="(view|ask)" value="([^"]*)"', page))
    page = app.client.post(f"/works/{work}/hide", data={**SQUARE, **fields}).text
    assert f'href="/check?ask={key}"' in page, "hiding a part leads back to the question, which stays"
    page = app.client.get(href).text
    fields = dict(re.findall(r'type="hidden" name="(view|ask)" value="([^"]*)"', page))
    page = app.client.post(f"/works/{work}/edge", data={**SQUARE, **fields}).text
    assert "Nothing to check" in page
    with app.room.library.reading() as session:
        assert questions.question(session, key).state == "answered"
    action = re.search(r'name="action_id" value="(\d+)"', page).group(1)
    assert "Is the edge right?" in app.client.post("/check/undo", data={"action_id": action, "question": str(key)}).text
    app.client.post(f"/check/{key}", data={"answer": "whole"})


def _photo_of_nobody(room: Room) -> tuple[int, int]:
    """A photo of which it is asked whether it is number 8's or 9's of 3B; gives the question and the photo."""
    stored = room.library.originals.put(io.BytesIO(painted(next(_PAINTED), 1200, 900)), name="two.jpg")
    key = ask_about_two_numbers(room, sha256=stored.sha256)
    with room.library.reading() as session:
        return key, questions.question(session, key).photo_id


def test_a_photo_is_turned_before_it_is_said_whose_it_is(app: App) -> None:
    """From the question, without a script: the edge and the turn are kept, the question stays and shows the picture;
    the work that the photo becomes has both, and is not asked about its edge. Each step can be taken back.
    """
    key, photo_id = _photo_of_nobody(app.room)
    asked = app.client.get(f"/check?ask={key}").text
    assert f'href="/check/{key}/edge" data-key="E"' in asked
    page = app.client.get(f"/check/{key}/edge").text
    assert f'href="/check?ask={key}"' in page
    page = app.client.post(f"/check/{key}/edge", data={**SQUARE, "turns": "1"}).text
    assert "It is kept." in page
    asked = app.client.get(f"/check?ask={key}").text
    assert "By the edge that you set" in asked
    picture = re.search(r'src="(/pictures/[^"]+/336)"', asked).group(1)
    drawn = app.client.get(picture).content
    for path in app.room.library.derived.rglob(f"{picture.split('/')[2]}-*.jpg"):
        path.unlink()
    make_pictures_again(app.room.library, executor=app.desk.workers.get())
    assert app.client.get(picture).content == drawn, "made again by the same edge and turn"
    app.client.post(f"/check/{key}", data={"number": "8", "class_label": "3B"})
    with app.room.library.reading() as session:
        work = works.work_of_photo(session, photo_id)
        assert not questions.about_edge(session, photo_id)
    seen = see_edge(app.room.library, work)
    assert (seen.quarter_turns, seen.by_hand) == (1, True)
    assert seen.outline == ((120, 180), (720, 180), (720, 720), (120, 720))
    assert seen.view.derived_key in picture
    refused = app.client.post(f"/check/{key}/edge", data=SQUARE)
    assert refused.status_code == 404, "it is a work now"


def test_a_part_hidden_before_it_is_said_whose_it_is_stays_hidden(app: App) -> None:
    """At once no helper sees the photo; the work it becomes hides the part, and undone it is still hidden."""
    key, photo_id = _photo_of_nobody(app.room)
    library = app.room.library
    assert not hidden_photos(library, [photo_id])
    page = app.client.post(f"/check/{key}/hide", data=SQUARE).text
    assert f'action="/check/{key}/hide/show"' in page
    assert hidden_photos(library, [photo_id])
    assert "1 part is hidden from everybody else." in app.client.get(f"/check?ask={key}").text
    answered = app.client.post(f"/check/{key}", data={"number": "8", "class_label": "3B"}).text
    with library.reading() as session:
        work = works.work_of_photo(session, photo_id)
        assert shows.marked_pictures(session, [work])[work].regions_px
    part = ((120, 180), (720, 180), (720, 720), (120, 720))
    assert see_edge(library, work).hidden == (part,)
    action = re.search(r'name="action_id" value="(\d+)"', answered).group(1)
    app.client.post("/check/undo", data={"action_id": action, "question": str(key)})
    assert hidden_photos(library, [photo_id])
    app.client.post(f"/check/{key}/hide/show", data={"place": "1"})
    assert not hidden_photos(library, [photo_id])


def test_a_part_hidden_in_one_of_two_works_is_covered_in_the_other(app: App) -> None:
    """Hidden first, then each number its own work: the part is hidden in both, as it is one photo."""
    key, _ = _photo_of_nobody(app.room)
    app.client.post(f"/check/{key}/hide", data=SQUARE)
    app.client.post(f"/check/{key}", data={"answer": "each"})
    with app.room.library.reading() as session:
        photo_id = questions.question(session, key).photo_id
        both = [one.photo_id for one in photos.photos_of(session, photos.photo(session, photo_id).batch_id)]
        found = [works.view_of_photo(session, one).view_id for one in both]
        assert len(found) == 2
        assert all(works.hidden_parts(session, one) for one in found)


@pytest.mark.parametrize("task", ["edge", "hide"])
def test_only_the_photo_of_an_open_question_about_whose_it_is_is_worked_on(app: App, task: str) -> None:
    """A question about an edge has its work's address; a question that is not there is not found."""
    assert app.client.get(f"/check/999999/{task}").status_code == 404
    with app.room.library.writing(who="program", what="asked") as writing:
        batch_id = photos.photo(writing.session, app.room.photos[12]).batch_id
        outline = {"outline_px": [[1, 1], [9, 1], [9, 9], [1, 9]], "sure": False, "shape": "sheet"}
        key = questions.ask_crop(
            writing.session, outline, batch_id=batch_id, photo_id=app.room.photos[12], work_id=app.room.works[12],
            evidence="Pale.",
        )  # fmt: skip
    assert app.client.get(f"/check/{key}/{task}").status_code == 404
    app.client.post(f"/check/{key}", data={"answer": "whole"})
