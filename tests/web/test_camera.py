"""The camera station: frames are read and forgotten, a picture is taken when all lies still, one key takes it back."""

from __future__ import annotations

import io
from contextlib import contextmanager
from datetime import UTC, datetime

import cv2
import exifread
import numpy as np
import pytest
from playwright.sync_api import Response, sync_playwright

from portfolio.archive import photos
from portfolio.flows.camera import MOVED
from portfolio.intake import stamped
from portfolio.model.filing import PhotoState
from portfolio.reading import frame_of, read_frame
from tests.support.browser import FLAGS, barriers_at, chromium_path
from tests.web.at_camera import HIGH, WIDE, jpeg_of, picture_of
from tests.web.room import TODAY

FRAMES_A_SECOND = 5


@pytest.fixture(scope="module")
def works():
    return {number: picture_of(number) for number in (4, 7, 9, 11)}


@pytest.fixture
def stack(app):
    """A stack just begun for 3B."""
    answer = app.client.post("/camera", data={"class_id": app.room.classes["3B"]}, follow_redirects=False)
    assert answer.status_code == 303
    return answer.headers["location"]


def frame(app, stack, pixels):
    gray = cv2.cvtColor(pixels, cv2.COLOR_RGB2GRAY)
    return app.client.post(f"{stack}/frame?width={WIDE}", content=gray.tobytes())


def take(app, stack, pixels, cards):
    files = {"picture": ("camera.jpg", jpeg_of(pixels), "image/jpeg")}
    return app.client.post(f"{stack}/pictures", files=files, data={"cards": cards})


def state(app, photo_id):
    with app.room.library.reading() as session:
        return photos.photo(session, photo_id)


def test_a_frame_says_which_card_lies_there(app, stack, works):
    """An empty table says nothing; a card says its number and where its tags lie. Nothing is kept of either."""
    empty = np.full((HIGH, WIDE, 3), 60, np.uint8)
    assert frame(app, stack, empty).json() == {"lying": "nothing", "cards": [], "label": "", "corners": []}
    seen = frame(app, stack, works[4]).json()
    assert (seen["lying"], seen["cards"], seen["label"]) == ("clear", ["number-4"], "4")
    assert len(seen["corners"]) == 8
    with app.room.library.reading() as session:
        assert photos.photos_of(session, int(stack.rsplit("/", 1)[1])) == []


@pytest.mark.parametrize(("width", "size"), [(960, 7), (2000, 2000), (0, 10), (960, 960 * 2000)])
def test_what_is_no_frame_is_refused(app, stack, width, size):
    """Wrong sizes are told, not guessed."""
    answer = app.client.post(f"{stack}/frame?width={width}", content=bytes(size))
    assert 400 <= answer.status_code < 500


def test_a_picture_is_kept_with_its_time(app, stack, works):
    """It becomes a photo of this stack, with the moment in its EXIF block, so that it has an order and a lesson."""
    said = take(app, stack, works[7], "number-7").json()
    assert (said["kept"], said["label"], said["taken"]) == (True, "7", "1 taken")
    kept = state(app, said["photo"])
    assert kept.taken is not None
    assert kept.taken.local.date() == TODAY
    assert kept.camera == "Portfolio Camera station"


def test_a_picture_that_shows_something_else_is_set_aside(app, stack, works):
    """The card was changed while the picture was taken: it does not count, and is not lost."""
    said = take(app, stack, works[7], "number-4").json()
    assert (said["kept"], said["taken"]) == (False, "")
    assert state(app, said["photo"]).state is PhotoState.ASIDE


def covered(pixels, tags):
    """The same, with something dark over these of the card's two tags (0 left, 1 right)."""
    corners = [np.array(side) for card in read_frame(rgb_frame(pixels)) for side in (card.left_px, card.right_px)]
    over = pixels.copy()
    for tag in tags:
        (left, top), (right, bottom) = corners[tag].min(axis=0) - 6, corners[tag].max(axis=0) + 6
        over[int(top) : int(bottom), int(left) : int(right)] = 40
    return over


def rgb_frame(pixels):
    return frame_of(cv2.cvtColor(pixels, cv2.COLOR_RGB2GRAY).tobytes(), width_px=WIDE)


def test_a_half_covered_card_is_unclear_and_no_picture_of_it_counts(app, stack, works):
    """One tag says which number it may be, yet not surely; both covered say nothing. A picture of it is set aside."""
    half = covered(works[4], [1])
    seen = frame(app, stack, half).json()
    assert (seen["lying"], seen["label"]) == ("unclear", "4")
    assert frame(app, stack, covered(works[4], [0, 1])).json()["lying"] == "nothing"
    said = take(app, stack, half, "number-4").json()
    assert (said["kept"], said["taken"]) == (False, "")
    kept = state(app, said["photo"])
    assert (kept.state, kept.reason) == (PhotoState.ASIDE, MOVED)


def test_one_key_takes_a_picture_back_and_one_brings_it_again(app, stack, works):
    """Nothing is deleted: set aside, and back."""
    pixels = np.clip(works[4].astype(int) + 3, 0, 255).astype(np.uint8)
    photo_id = take(app, stack, pixels, "number-4").json()["photo"]
    back = app.client.post(f"{stack}/back", data={"photo_id": photo_id}).json()
    assert back["taken"] == ""
    assert state(app, photo_id).state is PhotoState.ASIDE
    assert app.client.post(f"{stack}/again", data={"action_id": back["action"]}).json()["taken"] == "1 taken"
    assert state(app, photo_id).state is not PhotoState.ASIDE
    again = app.client.post(f"{stack}/again", data={"action_id": back["action"]})
    assert 400 <= again.status_code < 500


def test_only_the_camera_page_may_open_a_camera(app, stack):
    """The permission stands in the header of this page alone; a stranger reaches none of it."""
    assert "camera=(self)" in app.client.get(stack).headers["Permissions-Policy"]
    assert "camera=()" in app.client.get("/camera").headers["Permissions-Policy"]
    assert app.stranger.get(stack).status_code == 303
    assert app.stranger.post(f"{stack}/frame?width=1", content=b"x").status_code in {303, 401, 403}


def test_the_time_is_put_before_the_picture_and_changes_nothing_else():
    """Read back by another library (exifread); the picture's own bytes stay; a second stamp does nothing."""
    plain = jpeg_of(np.full((60, 80, 3), 128, np.uint8))
    at = datetime(2026, 10, 6, 9, 41, 7, 250_000, tzinfo=UTC)
    made = stamped(plain, at)
    tags = exifread.process_file(io.BytesIO(made), details=False)
    assert str(tags["EXIF DateTimeOriginal"]) == "2026:10:06 09:41:07"
    assert str(tags["EXIF SubSecTimeOriginal"]) == "250"
    assert made.endswith(plain[20:])
    assert stamped(made, at.replace(year=2020)) == made
    assert stamped(b"no picture", at) == b"no picture"


def clip(path, shown, seconds):
    """A clip for a fake camera (YUV4MPEG2, 4:2:0): each picture (``None`` = the empty table) for so many seconds."""
    empty = np.full((HIGH, WIDE, 3), 60, np.uint8)
    with path.open("wb") as out:
        out.write(f"YUV4MPEG2 W{WIDE} H{HIGH} F{FRAMES_A_SECOND}:1 Ip A1:1 C420jpeg\n".encode())
        for pixels in shown:
            yuv = cv2.cvtColor(empty if pixels is None else pixels, cv2.COLOR_RGB2YUV_I420).tobytes()
            for _ in range(round((seconds if pixels is not None else 1.2) * FRAMES_A_SECOND)):
                out.write(b"FRAME\n" + yuv)


UNPLUGS = """() => {
  window.before = document.querySelector("#camera-video").srcObject;
  const [track] = before.getVideoTracks();
  track.stop();
  track.dispatchEvent(new Event("ended"));
}"""
"""Takes the camera away as a sleeping computer does."""
OPEN_AGAIN = """() => {
  const video = document.querySelector("#camera-video");
  return video.srcObject !== before && !video.paused && video.srcObject.getVideoTracks()[0].readyState === "live";
}"""
HEARS = """window.heard = 0;
const real = AudioContext.prototype.createOscillator;
AudioContext.prototype.createOscillator = function () { window.heard += 1; return real.call(this); };"""
"""Counts the tones of a page."""


@contextmanager
def fake_camera(path):
    """A browser whose only camera plays this clip."""
    flags = (*FLAGS, "--use-fake-device-for-media-stream", "--use-fake-ui-for-media-stream")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=chromium_path(), args=[*flags, f"--use-file-for-fake-video-capture={path}"]
        )
        yield browser
        browser.close()


@pytest.mark.skipif(chromium_path() is None, reason="no Chromium is installed")
def test_a_closed_lid_and_a_session_that_ended_at_the_camera(served, works, tmp_path):
    """The lid is closed and opened, which takes the camera away: it is opened again by itself. Signed out elsewhere:
    the page says so and that nothing is lost, and does not ask for ever.
    """
    path = tmp_path / "clip.y4m"
    clip(path, [None], seconds=5)
    with fake_camera(path) as browser:
        context = browser.new_context(viewport={"width": 390, "height": 844}, **served.cookies)
        page = context.new_page()
        page.goto(f"{served.url}/camera")
        page.click("text=Open the camera")
        page.wait_for_selector("#camera-next:text-is('Lay down the first one.')", timeout=30_000)
        page.evaluate(UNPLUGS)
        while not page.evaluate(OPEN_AGAIN):
            page.wait_for_timeout(50)
        assert not page.is_visible("#camera-note")
        context.clear_cookies()
        page.wait_for_selector("text=you are signed out", timeout=15_000)
        assert "What was taken is kept." in page.inner_text("#camera-note")


@pytest.mark.skipif(chromium_path() is None, reason="no Chromium is installed")
def test_a_stack_is_taken_hands_free(served, works, tmp_path):
    """A fake camera plays two works laid down and taken away: two pictures, each with a sound and its number
    as large as it fits, and the class's count.
    """
    path = tmp_path / "clip.y4m"
    clip(path, [None, works[9], None, works[11], *[None] * 12], seconds=5)
    errors: list[str] = []
    with fake_camera(path) as browser:
        context = browser.new_context(viewport={"width": 1280, "height": 900}, **served.cookies)
        page = context.new_page()
        page.add_init_script(HEARS)
        page.on("console", lambda line: errors.append(line.text) if line.type == "error" else None)
        page.on("pageerror", lambda error: errors.append(str(error)))
        page.goto(f"{served.url}/camera")
        page.select_option("[name=class_id]", str(served.room.classes["3B"]))
        page.click("text=Open the camera")
        page.wait_for_selector("#camera-count:text-is('1 taken')", timeout=30_000)
        first = page.inner_text("#camera-number")
        page.wait_for_selector("#camera-count:text-is('2 taken')", timeout=30_000)
        assert {first, page.inner_text("#camera-number")} == {"9", "11"}
        assert page.evaluate("heard") == 2, "a short sound for each picture"
        assert page.evaluate("parseFloat(getComputedStyle(document.querySelector('#camera-number')).fontSize)") >= 160
        page.keyboard.press("u")
        page.wait_for_selector("#camera-count:text-is('1 taken')")
        page.keyboard.press("u")
        page.wait_for_selector("#camera-count:text-is('2 taken')")
        page.wait_for_timeout(2500)  # the empty table comes: what was brought back is not taken a second time
        assert page.inner_text("#camera-count") == "2 taken"
        assert barriers_at(page, (320, 1280)) == []
        page.click("text=I am done")
        page.wait_for_url("**/add/*")
        page.wait_for_selector("text=Every photo is kept", timeout=60_000)
        assert "of 12 numbers" in page.inner_text("main")
        context.close()
    assert errors == []


@pytest.mark.skipif(chromium_path() is None, reason="no Chromium is installed")
def test_a_work_that_stays_is_taken_once_and_an_unclear_card_not_at_all(served, works, tmp_path):
    """Half covered: the page says so and takes nothing. Uncovered: one picture. It goes on lying there, a hand passes
    over its card, a cloud passes, it lies on: still one picture. The next work makes it two.
    """
    path = tmp_path / "clip.y4m"
    nine = works[9]
    hand, brighter = covered(nine, [0, 1]), np.clip(nine.astype(int) + 14, 0, 255).astype(np.uint8)
    clip(path, [None, covered(nine, [1]), nine, nine, hand, brighter, nine, None, works[11], *[None] * 12], seconds=3)
    with fake_camera(path) as browser:
        context = browser.new_context(viewport={"width": 390, "height": 844}, **served.cookies)
        page = context.new_page()
        answers: list[Response] = []
        page.on("response", lambda one: answers.append(one) if one.url.endswith("/pictures") else None)
        page.goto(f"{served.url}/camera")
        page.select_option("[name=class_id]", str(served.room.classes["3B"]))
        page.click("text=Open the camera")
        page.wait_for_selector("#camera-word:text-is('Card not clear: move it.')", timeout=30_000)
        assert page.inner_text("#camera-count") == ""
        page.wait_for_selector("#camera-count:text-is('1 taken')", timeout=30_000)
        assert page.inner_text("#camera-number") == "9"
        page.wait_for_selector("#camera-number:text-is('11')", timeout=60_000)
        page.wait_for_selector("#camera-count:text-is('2 taken')", timeout=30_000)
        assert [one.json()["label"] for one in answers if one.json()["kept"]] == ["9", "11"]
        context.close()
