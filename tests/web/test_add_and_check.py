"""Photos come in by a plain form or one by one, and what is unsure is asked; every step without JavaScript."""

from __future__ import annotations

import io
import re
import time
import zipfile
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import pytest
from PIL import Image
from sqlmodel import col, select

from portfolio.archive.tables import Photo, QuestionRow, View, Work
from portfolio.demo.shooting import Shooting, shoot, times
from portfolio.errors import PortfolioError
from portfolio.flows.upload import own_name
from portfolio.web.check import answer_of
from tests.web.conftest import App
from tests.web.lesson import HALF


def _files(paths: list[Path]) -> list[tuple[str, tuple[str, bytes, str]]]:
    return [("photos", (path.name, path.read_bytes(), "image/jpeg")) for path in paths]


def _finished(app: App, batch: int) -> str:
    """The batch's page once everything is read and filed."""
    until = time.monotonic() + 60
    while app.desk.reader.is_busy(batch):
        assert time.monotonic() < until
        time.sleep(0.05)
    return app.client.get(f"/add/{batch}").text


@dataclass(frozen=True)
class Filed:
    """The lesson as it was sent by one form: its batch, the page right after, and the page once all was filed."""

    batch: int
    sent: str
    done: str


@pytest.fixture(scope="module")
def filed(app: App, lesson: list[Path]) -> Filed:
    """The lesson's photos, sent by one plain form and filed. Each test leaves them kept."""
    sent = app.client.post("/add", files=_files(lesson), data={"class_id": "", "medium_id": "", "day": ""})
    assert sent.status_code == 200
    batch = int(re.search(r"/add/(\d+)$", str(sent.url)).group(1))
    return Filed(batch, sent.text, _finished(app, batch))


def test_whole_lesson_by_one_plain_form(app: App, lesson: list[Path], filed: Filed) -> None:
    """One form with all files: each photo is kept, read and filed; half a card is asked; the report tells it."""
    assert "Safe to close." in filed.sent
    assert "of 4 filed" in filed.done
    assert "hx-get" not in filed.done, "a finished report is not asked for again"
    whole, last = (app.client.get(f"/add/{filed.batch}{tail}").text for tail in ("", "/state"))
    assert 'id="drawers" hx-swap-oob="true"' in last, "the last state brings the drawers with it"
    waits = r'class="waits figure">(\d+)'
    assert re.findall(waits, last) == re.findall(waits, whole)
    assert re.search(waits, filed.done)
    with app.room.library.reading() as session:
        kept = session.exec(select(Photo).where(Photo.batch_id == filed.batch)).all()
        numbers = {
            w.number for w in session.exec(select(Work).where(Work.class_id == app.room.classes["3B"], Work.number > 7))
        }
    assert len(kept) == 4
    assert numbers >= {8, 9, 11}
    assert numbers <= {8, 9, 10, 11}
    for path, photo in zip(lesson, sorted(kept, key=lambda p: p.file_name), strict=True):
        assert app.room.library.originals.path(photo.sha256).read_bytes() == path.read_bytes()


@pytest.mark.usefixtures("filed")
def test_class_medium_and_day_are_chosen_again_for_the_whole_batch(app: App, filed: Filed) -> None:
    """On the report of a filed batch, also by a program: what she has not touched is filed anew, and choosing again
    leads back. A class or medium that is none is refused.
    """

    def media() -> set[int | None]:
        with app.room.library.reading() as session:
            photos = session.exec(select(Photo.id).where(Photo.batch_id == filed.batch)).all()
            views = session.exec(select(View.work_id).where(col(View.photo_id).in_(photos))).all()
            asked = select(Work.medium_id).where(col(Work.id).in_(views), col(Work.removed).is_(False))
            return set(session.exec(asked).all())

    way = f"/add/{filed.batch}/choose"
    before = media()
    assert 'id="choose-again"' in filed.done
    assert app.client.post(way, data={"medium_id": "3"}).status_code == 200
    page = _finished(app, filed.batch)
    assert media() == {3} != before
    assert '<option value="3" selected>' in page
    nobody = app.client.post(way, data={"class_id": str(app.room.classes["3C"])})
    assert nobody.status_code == 200
    assert "0 of 4 filed" in re.sub(r"<[^>]+>|\s+", " ", _finished(app, filed.batch)).replace("  ", " ")
    assert app.client.put(f"/api/batches/{filed.batch}/chosen", json={"class": "3B"}).status_code == 200
    assert media() == before
    for data in ({"class_id": "99999"}, {"medium_id": "99999"}, {"day": "soon"}):
        assert app.client.post(way, data=data).status_code in (404, 422), data
    assert media() == before


def test_the_same_photos_again_are_skipped(app: App, lesson: list[Path]) -> None:
    """Sent twice, kept once: the second time is told as "came before"."""
    opened = app.client.post("/add/batches", data={"expected": "1"}).json()["batch"]
    with app.room.library.reading() as session:
        before = len(session.exec(select(Photo)).all())
    said = app.client.post(
        f"/api/batches/{opened}/photos", files={"photo": (lesson[0].name, lesson[0].read_bytes(), "image/jpeg")}
    )
    assert said.status_code == 201
    assert said.json()["before"] == 1
    with app.room.library.reading() as session:
        assert len(session.exec(select(Photo)).all()) == before


def test_check_asks_the_half_card_and_an_answer_can_be_undone(app: App, filed: Filed) -> None:
    """The question stands first with its guess; yes files it, undo asks it again, another number files it anew."""
    of_batch = {"batch": str(filed.batch)}
    page = app.client.get("/check", params=of_batch).text
    assert "best guess" in page
    with app.room.library.reading() as session:
        open_ones = select(QuestionRow).where(QuestionRow.state == "open", QuestionRow.batch_id == filed.batch)
        asked = session.exec(open_ones.where(QuestionRow.kind != "crop")).first()
    assert asked is not None, "the half card must have been asked about"
    assert asked.evidence.rstrip(".") in page.replace("&#39;", "'")
    yes = app.client.post(f"/check/{asked.id}", data={"answer": "yes", **of_batch})
    assert yes.status_code == 200
    undo = re.search(r'name="action_id" value="(\d+)"', yes.text).group(1)
    assert _state(app, asked.id) == "answered"
    again = app.client.post(f"/check/{asked.id}", data={"answer": "yes"})
    assert again.status_code == 409
    assert "The first answer stands" in again.text
    assert app.client.post("/check/undo", data={"action_id": undo}).status_code == 200
    assert _state(app, asked.id) == "open"
    misfit = app.client.post(f"/check/{asked.id}", data={"number": "39", "class_label": "3B"})
    assert misfit.status_code == 422
    assert "nobody has number 39" in misfit.text
    app.client.post(f"/check/{asked.id}", data={"number": str(HALF), "class_label": "3B"})
    assert _state(app, asked.id) == "answered"


def _state(app: App, question: int) -> str:
    with app.room.library.reading() as session:
        return session.get(QuestionRow, question).state


def test_undo_of_a_batch_takes_it_out_and_brings_it_back(app: App, filed: Filed) -> None:
    """Undo this batch: its works are gone from sight, nothing is deleted, and one press brings it back."""
    gone = app.client.post(f"/add/{filed.batch}/undo")
    assert "Bring this batch back" in gone.text
    assert "/pictures/" not in gone.text
    action = re.search(r'name="action_id" value="(\d+)"', gone.text).group(1)
    back = app.client.post(f"/add/{filed.batch}/back", data={"action_id": action})
    assert back.status_code == 200
    assert "Bring this batch back" not in back.text
    assert "Filed" in back.text


def test_files_that_are_no_photos_are_told_and_the_rest_goes_on(app: App) -> None:
    """photo-empty, and a text that calls itself a photo: told by its name, the library is not troubled."""
    files = [
        ("photos", ("empty.jpg", b"", "image/jpeg")),
        ("photos", ("../../evil<b>.jpg", b"this is no picture", "image/jpeg")),
    ]
    sent = app.client.post("/add", files=files)
    assert "empty.jpg" in sent.text
    assert "holds no bytes" in sent.text
    batch = int(re.search(r"/add/(\d+)/", sent.text).group(1))
    done = _finished(app, batch)
    assert "evil&lt;b&gt;.jpg" in done
    assert "not a picture" in done


@pytest.mark.usefixtures("filed")
def test_zip_of_a_lesson_is_opened(app: App, lesson: list[Path]) -> None:
    """A zip file brings its photos, and a broken one is told."""
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        archive.write(lesson[0], "Photos/IMG_0001.jpg")
    batch = app.client.post("/add/batches", data={}).json()["batch"]
    said = app.client.post(
        f"/api/batches/{batch}/photos", files={"photo": ("lesson.zip", packed.getvalue(), "application/zip")}
    )
    assert said.json()["before"] == 1
    broken = app.client.post(
        f"/api/batches/{batch}/photos", files={"photo": ("broken.zip", b"PK no", "application/zip")}
    )
    assert broken.json()["photos"] == []
    assert broken.json()["problems"]


def test_too_heavy_and_nothing_chosen_are_told(app: App, monkeypatch: pytest.MonkeyPatch) -> None:
    """photo-too-heavy and an empty form: a sentence on the same page, nothing stored."""
    assert "holds no photos" in app.client.post("/add", data={"day": ""}).text
    assert app.client.post("/add", data={"day": "next tuesday"}).status_code in (404, 422)
    monkeypatch.setattr("portfolio.flows.upload.os.SEEK_END", 2)
    batch = app.client.post("/add/batches", data={}).json()["batch"]
    heavy = b"x" * ((app.room.library.settings.photo_max_mb << 20) + 1)
    said = app.client.post(f"/api/batches/{batch}/photos", files={"photo": ("big.jpg", heavy, "image/jpeg")})
    assert said.json()["photos"] == []
    assert "more than one photo may weigh" in said.json()["problems"][0]


@pytest.mark.parametrize(
    ("given", "own"),
    [
        ("IMG_1.JPG", "IMG_1.JPG"),
        ("C:\\Users\\x\\a.jpg", "a.jpg"),
        ("/tmp/../b.png", "b.png"),
        (None, "photo"),
        ("\x00\n", "photo"),
        ("a" * 300, "a" * 120),
    ],
)
def test_own_name_is_only_a_name(given: str | None, own: str) -> None:
    """No folder of either kind of computer, no control signs, not endless."""
    assert own_name(given) == own


def test_answers_that_say_nothing_are_refused() -> None:
    """bad-request: a form that says none of the answers."""
    for words in ("", "maybe", "option-x", "option-99999"):
        with pytest.raises(PortfolioError):
            answer_of(words)
    for number in ("0", "100", "x", "²"):
        with pytest.raises(PortfolioError):
            answer_of("", number=number)
    assert answer_of("option-1").option == 1
    assert answer_of("later").later
    assert answer_of("", number="14", class_label="3B").number == 14
    assert answer_of("", number="4, 7 4").numbers == (4, 7)


# --- works without cards, and who was absent ------------------------------------------------------------------------


def _bare(count: int, shade: int) -> list[tuple[str, tuple[str, bytes, str]]]:
    """Photos of empty tables: no card, no edge, each another gray."""
    files = []
    for place in range(count):
        stream = io.BytesIO()
        Image.new("RGB", (640, 480), (shade + place,) * 3).save(stream, "JPEG")
        files.append(("photos", (f"BARE_{shade}_{place}.JPG", stream.getvalue(), "image/jpeg")))
    return files


def test_works_without_cards_go_by_the_order_once_the_absent_are_ticked(app: App) -> None:
    """Plain forms only: two photos for a whole class are asked about; ticking all but two numbers files them."""
    class_id = app.room.classes["3B"]
    given = {"class_id": str(class_id), "day": "2026-09-08", "by_order": "1", "absent": ""}
    sent = app.client.post("/add", files=_bare(2, 90), data=given)
    batch = int(re.search(r"/add/(\d+)$", str(sent.url)).group(1))
    page = _finished(app, batch)
    assert "Who of 3B was absent?" in page
    assert "File by the order again" in page
    numbers = [int(found) for found in re.findall(r'name="absent" value="(\d+)"', page)]
    assert len(numbers) > 2
    app.client.post(f"/add/{batch}/absent", data={"absent": [str(number) for number in numbers[2:]]})
    page = _finished(app, batch)
    assert "3B: 2 of 2 numbers." in page
    with app.room.library.reading() as session:
        reasons = [one.reason for one in session.exec(select(Photo).where(Photo.batch_id == batch))]
    assert all("order of numbers" in reason for reason in reasons)
    value = app.client.get(f"/api/batches/{batch}").json()
    assert value["checks"][0]["present"] == 2
    assert value["hints"] == []
    app.client.post(f"/add/{batch}/absent", data={})
    assert "Who of 3B was absent?" in _finished(app, batch)
    app.client.post(f"/add/{batch}/undo")
    assert "Who of" not in _finished(app, batch), "a batch taken back is not counted"


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"by_order": "1"}, "the class is not chosen"),
        ({"absent": "three"}, "they are not like 3,11"),
        ({"absent": "41"}, "numbers go from 1 to 40"),
    ],
)
def test_an_order_without_a_class_and_numbers_that_are_none_are_told(
    app: App, given: dict[str, str], said: str
) -> None:
    """Told on the page, and nothing is begun."""
    sent = app.client.post("/add", files=_bare(1, 200), data=given)
    assert sent.status_code >= 400
    assert said in sent.text


def test_sizes_cannot_be_corrected_where_nothing_shows_a_scale(app: App) -> None:
    """A batch without sheets, and a correction that was never made: refused with a sentence."""
    sent = app.client.post("/add", files=_bare(1, 150), data={})
    batch = int(re.search(r"/add/(\d+)$", str(sent.url)).group(1))
    _finished(app, batch)
    assert app.client.post(f"/add/{batch}/sizes").status_code >= 400
    assert app.client.post(f"/add/{batch}/sizes/undo").status_code == 404


def test_one_press_answers_all_that_are_asked_for_the_same_reason(app: App) -> None:
    """Two photos in doubt for one reason: one press takes each one's own guess, one undo brings both back."""
    given = {"class_id": str(app.room.classes["3B"]), "day": "2026-09-15", "by_order": "1"}
    sent = app.client.post("/add", files=_bare(2, 120), data=given)
    batch = int(re.search(r"/add/(\d+)$", str(sent.url)).group(1))
    _finished(app, batch)
    page = app.client.get(f"/check?batch={batch}").text
    assert "Yes, and so for all 2 asked for this reason: 1 and 2" in page
    question = re.search(r'action="/check/(\d+)" method="post" class="answers"', page).group(1)
    done = app.client.post(f"/check/{question}", data={"answer": "yes-all", "batch": str(batch)})
    assert done.status_code == 200
    assert _numbers(app, batch) == [1, 2]
    undo = re.search(r'name="action_id" value="(\d+)"', done.text).group(1)
    app.client.post("/check/undo", data={"action_id": undo})
    assert _numbers(app, batch) == []


def test_edges_that_were_guessed_without_a_card_are_answered_by_one_press(app: App) -> None:
    """Two white sheets on a brown table, filed by their order: each has an edge to check; one press sets both."""
    class_id = app.room.classes["3B"]
    absent = ", ".join(str(number) for number in range(3, 13))
    given = {"class_id": str(class_id), "day": "2026-09-22", "by_order": "1", "absent": absent}
    files = []
    for place in range(2):
        picture, stream = Image.new("RGB", (800, 600), (140, 100, 70)), io.BytesIO()
        picture.paste((245, 245, 245), (150 + 30 * place, 100, 600, 500))
        picture.save(stream, "JPEG")
        files.append(("photos", (f"SHEET_{place}.JPG", stream.getvalue(), "image/jpeg")))
    sent = app.client.post("/add", files=files, data=given)
    batch = int(re.search(r"/add/(\d+)$", str(sent.url)).group(1))
    assert "3B: 2 of 2 numbers" in _finished(app, batch)
    page = app.client.get(f"/check?batch={batch}").text
    assert "no card can be seen, so this edge is a guess" in page.lower()
    assert "Yes, all 2 edges without a card are right" in page
    question = re.search(r'action="/check/(\d+)" method="post" class="answers"', page).group(1)
    done = app.client.post(f"/check/{question}", data={"answer": "yes-all", "batch": str(batch)})
    assert done.status_code == 200
    assert 'class="answers"' not in app.client.get(f"/check?batch={batch}").text


def _numbers(app: App, batch: int) -> list[int]:
    found = app.client.get(f"/api/batches/{batch}").json()["photos"]
    return sorted(one["number"] for one in found if one["state"] == "filed")


def test_when_a_number_comes_twice_the_earlier_photo_can_be_moved(app: App, tmp_path: Path) -> None:
    """Two pictures with card 5: the first was child 6's. It is moved there, the second stays 5's; undone at once."""
    taken = times(datetime(2026, 9, 29, 9, 10), 2)  # noqa: DTZ001  the camera's wall time
    shots = [
        shoot(
            Shooting(
                tmp_path / f"TWICE_{at}.jpg",
                moment,
                seed=800 + at,
                number=5,
                child_seed=at,
                grade=3,
                month=1,
                medium="tempera",
                work_seed=40 + at,
            )
        )
        for at, moment in enumerate(taken)
    ]
    given = {"class_id": str(app.room.classes["3B"]), "day": "2026-09-29"}
    sent = app.client.post("/add", files=_files(shots), data=given)
    batch = int(re.search(r"/add/(\d+)$", str(sent.url)).group(1))
    _finished(app, batch)
    page = app.client.get(f"/check?batch={batch}").text
    assert "The earlier photo is of another number" in page
    question = re.search(r'action="/check/(\d+)" method="post" class="other-number" id="earlier-photo"', page).group(1)
    app.client.post(f"/check/{question}", data={"earlier": "41", "batch": str(batch)})
    assert _numbers(app, batch) == [5], "41 is nobody's number"
    done = app.client.post(f"/check/{question}", data={"earlier": "6", "batch": str(batch)})
    assert _numbers(app, batch) == [5, 6]
    undo = re.search(r'name="action_id" value="(\d+)"', done.text).group(1)
    app.client.post("/check/undo", data={"action_id": undo})
    assert _numbers(app, batch) == [5]
    assert ">3B: 2 photos, " in app.client.get("/add").text, "the class that was chosen stands on the batch's line"
