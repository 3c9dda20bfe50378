"""To check as a line of questions: put off, jumped to, undone; each page says how many are left, in words."""

from __future__ import annotations

import re
from collections.abc import Iterator
from html import unescape

import pytest
from sqlmodel import col, select

from portfolio.archive import photos, questions
from portfolio.archive.tables import QuestionRow
from portfolio.model.filing import Asked, Filing, PhotoState, QuestionKind
from portfolio.web.asking import short_of
from tests.web.asked import ask_about_two_numbers
from tests.web.conftest import App
from tests.web.room import TODAY


@pytest.fixture
def line(app: App) -> Iterator[list[int]]:
    """Three questions about photos that are there, each whether it is number 4, 5 or 6 of 3B; gone afterwards."""
    with app.room.library.writing(who="program", what="asked") as writing:
        session = writing.session
        asked = []
        for number, photo_id in zip((4, 5, 6), app.room.photos[:3], strict=True):
            guess = Filing(
                class_id=app.room.classes["3B"],
                numbers=(number,),
                day=TODAY,
                student_ids=(app.room.students[number - 1],),
            )
            about = Asked(QuestionKind.HALF_CARD, f"Half a card says {number}.", guess)
            batch_id = photos.photo(session, photo_id).batch_id
            asked.append(questions.ask(session, about, batch_id=batch_id, photo_id=photo_id))
            photos.set_state(session, photo_id, PhotoState.QUESTION, reason="Half a card.")
    yield asked
    with app.room.library.writing(who="program", what="tidied") as writing:
        for row in writing.session.exec(select(QuestionRow).where(col(QuestionRow.id).in_(asked))):
            row.state = "gone"


def _asked(page: str) -> int:
    return int(re.search(r'action="/check/(\d+)"', page).group(1))


def _fields(page: str) -> dict[str, str]:
    """The hidden fields of the form with the answers."""
    form = page[page.index('id="answers"') : page.index("</form>", page.index('id="answers"'))]
    return dict(re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', form))


def _press(app: App, page: str, answer: str) -> str:
    return app.client.post(f"/check/{_asked(page)}", data={**_fields(page), "answer": answer}).text


def test_put_off_questions_are_gone_on_with_when_they_are_wanted(app: App, line: list[int]) -> None:
    """All put off: the page says that only those are left. Asked for, they come one after the other until none is."""
    page = app.client.get("/check").text
    assert _asked(page) == line[0]
    page = _press(app, page, "later")
    assert _asked(page) == line[1]
    assert "One question was put off" in page
    page = _press(app, _press(app, page, "later"), "later")
    assert "Every photo has its number" not in page
    assert "Only 3 questions that you put off are left." in page
    wanted = unescape(re.search(r'class="press main" href="([^"]+)"', page).group(1))
    page = app.client.get(wanted).text
    assert "3 questions to answer" in page
    seen = []
    for _ in line:
        seen.append(_asked(page))
        page = _press(app, page, "aside")
    assert seen == line, "each answer goes on to the next one put off"
    assert "Every photo has its number" in page


def test_put_off_again_goes_on_to_the_next_and_the_last_one_ends(app: App, line: list[int]) -> None:
    """Those put off can be put off again: the next is asked, and a single one is not asked again at once."""
    for _ in line[1:]:
        page = _press(app, app.client.get("/check").text, "aside")
    page = _press(app, page, "later")
    page = app.client.get("/check?later=1").text
    assert _asked(page) == line[2]
    assert "Only 1 question that you put off is left." in _press(app, page, "later")


def test_jumping_ahead_goes_on_from_there_and_undo_comes_back(app: App, line: list[int]) -> None:
    """Chosen from the ledge, the second question is answered, then the third is asked; undo asks the second again."""
    page = app.client.get(f"/check?ask={line[1]}").text
    page = _press(app, page, "aside")
    assert _asked(page) == line[2]
    undo = page[page.index('action="/check/undo"') :]
    fields = dict(re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', undo[: undo.index("</form>")]))
    assert _asked(app.client.post("/check/undo", data=fields).text) == line[1]


def test_one_batch_stays_one_batch(app: App, line: list[int]) -> None:
    """Answering within a batch never leads to the questions of another; the end says so."""
    with app.room.library.reading() as session:
        batch = questions.question(session, line[1]).batch_id
    page = app.client.get(f"/check?batch={batch}").text
    assert "1 question to answer in this batch" in page
    assert "Nothing to check in this batch." in _press(app, page, "aside")


def test_one_put_off_can_be_asked_by_its_own_address(app: App, line: list[int]) -> None:
    """The batch's wall links to each question, put off or not: that very one is asked."""
    _press(app, app.client.get("/check").text, "later")
    page = app.client.get(f"/check?ask={line[0]}").text
    assert _asked(page) == line[0]
    assert "put off" not in page


def test_a_doubt_about_the_class_asks_for_the_class(app: App) -> None:
    """A stack that may be of another class: the heading asks which class, the class stands large, digits pick."""
    ids = app.room.classes
    guess, other = (Filing(class_id=ids[one], numbers=(4,), day=TODAY, student_ids=(1,)) for one in ("3B", "3C"))
    about = Asked(QuestionKind.CLASS_DOUBT, "The numbers fit 3B better.", guess, (other,))
    photo_id = app.room.photos[4]
    with app.room.library.writing(who="program", what="asked") as writing:
        batch_id = photos.photo(writing.session, photo_id).batch_id
        key = questions.ask(writing.session, about, batch_id=batch_id, photo_id=photo_id)
    page = app.client.get(f"/check?ask={key}").text
    assert "Which class is it?" in page
    assert '<span class="num">3B</span>' in page
    assert 'data-digits="answer"' in page
    assert "3C, number 4" in page
    app.client.post(f"/check/{key}", data={"answer": "aside"})


@pytest.mark.parametrize("kind", [*QuestionKind, "reflection"])
def test_every_question_has_a_few_words(kind: str) -> None:
    """On a wall a question is told in words, never by its code."""
    assert re.fullmatch(r"[A-Z][a-z ]+", short_of(kind))


def test_keys_that_press_are_single_keys(app: App, line: list[int]) -> None:
    """aria-keyshortcuts names keys, so "14 Enter" stands only beside the answer, as words."""
    assert line
    for keys in re.findall(r'aria-keyshortcuts="([^"]*)"', app.client.get("/check").text):
        assert re.fullmatch(r"Enter|[0-9A-Z]", keys)


def test_the_class_stands_number_by_number_after_the_last_answer(app: App, line: list[int]) -> None:
    """With the last answer the grid of the batch's class is there, with its count; before it there is none."""
    first = app.room.photos[9]
    with app.room.library.reading() as session:
        batch_id = photos.photo(session, first).batch_id
    page = app.client.get("/check").text
    assert 'class="grid' not in page
    for _ in line:
        page = _press(app, page, "aside")
    assert "Every photo has its number" in page
    page = app.client.get(f"/check?batch={batch_id}").text
    assert "3B</span>, number by number, this term" in page
    assert page.count('<th scope="row">') == 12
    assert "number by number" not in app.client.get("/check").text, "no batch, no class"


def test_each_number_in_a_photo_gets_its_own_work(app: App) -> None:
    """Two numbers: one press makes two works; each has no picture and its edge is asked for, with no yes to a line that
    was not found; undone, the question is there again.
    """
    room = app.room
    key = ask_about_two_numbers(room)
    page = app.client.get(f"/check?ask={key}").text
    assert "Each is its own work: 8 and 9" in page
    page = _press(app, page, "each")
    assert page.count("Where is its edge?") >= 2
    assert "Yes, the edge is right" not in page
    assert re.search(r'by-hand main" href="/works/\d+/edge\?', page)
    edge = app.client.get(unescape(re.search(r'by-hand main" href="([^"]+)"', page).group(1)))
    assert edge.status_code == 200
    undone = re.search(r'name="action_id" value="(\d+)"', page).group(1)
    assert "Each is its own work" in app.client.post("/check/undo", data={"action_id": undone, "question": key}).text
    with room.library.writing(who="program", what="tidied") as writing:
        writing.session.get(QuestionRow, key).state = "gone"
