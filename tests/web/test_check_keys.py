"""Thirty questions by keyboard alone: every key is counted, every answer is looked up in the record."""

from __future__ import annotations

import io
from datetime import UTC, datetime, time
from typing import Any

import pytest

from portfolio.archive import photos, questions, tables, works
from portfolio.model.filing import Asked, Filing, PhotoState, QuestionKind, Role, What
from tests.support.browser import Pages
from tests.web.conftest import App, Served
from tests.web.room import TODAY, Room, painted

MOST_KEYS = 3
ASKED = 30
VIEWED = 9
"""Index of the work of 3B's number 2 today: the room has one of each number from 1 to 7."""


_ANOTHER = (
    "was => document.querySelector('#question') && document.querySelector('#answers')?.getAttribute('action') !== was"
)


def _photo(room: Room, seed: int) -> tuple[int, int]:
    """A photo that was read and waits for its number; gives its batch and its id."""
    with room.library.writing(who="program", what="read a photo") as writing:
        session = writing.session
        batch = tables.Batch(created_utc=datetime.now(UTC), source="test", state="done", expected=1)
        session.add(batch)
        session.flush()
        stored = room.library.originals.put(io.BytesIO(painted(seed, 160, 120)), name="photo.jpg")
        photo = tables.Photo(
            sha256=stored.sha256,
            batch_id=batch.id,
            file_name=f"IMG_{seed}.jpg",
            size_bytes=stored.size_bytes,
            state=PhotoState.QUESTION.value,
            taken_local=datetime.combine(TODAY, time(9, 40)),
            stored_utc=datetime.now(UTC),
            width_px=160,
            height_px=120,
            reading={"cards": []},
            derived_key=f"made-{seed}",
        )
        session.add(photo)
        session.flush()
        return batch.id, photo.id


def _ask(room: Room, seed: int, kind: QuestionKind, number: int, options: tuple[Filing, ...] = ()) -> int:
    batch_id, photo_id = _photo(room, seed)
    with room.library.writing(who="program", what="asked") as writing:
        about = Asked(kind, "It is not sure.", _of(room, number), options)
        questions.ask(writing.session, about, batch_id=batch_id, photo_id=photo_id)
    return photo_id


def _of(room: Room, number: int) -> Filing:
    return Filing(class_id=room.classes["3B"], numbers=(number,), day=TODAY, student_ids=(room.students[number - 1],))


def _put_thirty(room: Room) -> list[tuple[int, list[str], Any]]:
    """Photo, the keys for it, and what must come of it: numbers, ("view", work) or "aside"."""
    plan: list[tuple[int, list[str], Any]] = []
    for at in range(5):
        seed = 900 + at * 6
        again = Filing(what=What.VIEW, role=Role.DETAIL, joins_work=room.works[VIEWED], day=TODAY)
        asks = [
            (QuestionKind.HALF_CARD, 8, (), ["Enter"], (8,)),
            (QuestionKind.CARDS_DISAGREE, 9, (_of(room, 10),), ["1", "0", "Enter"], (10,)),
            (QuestionKind.NOBODY, 11, (), ["A"], "aside"),
            (QuestionKind.SAME_NUMBER, 2, (again,), ["1"], ("view", room.works[VIEWED])),
            (QuestionKind.NO_CARD, 12, (), ["2", "V"], ("view", room.works[VIEWED])),
            (QuestionKind.GROUP_OF_ONE, 4, (), ["4", ",", "7", "Enter"], (4, 7)),
        ]
        for step, (kind, number, options, keys, comes) in enumerate(asks):
            plan.append((_ask(room, seed + step, kind, number, options), keys, comes))
    return plan


@pytest.mark.browser
def test_thirty_questions_take_at_most_three_keys_each(served: Served, browser_pages: Pages) -> None:
    """Six kinds of question, five of each: answered rightly without the mouse, with at most three keys on average."""
    plan = _put_thirty(served.room)
    assert len(plan) == ASKED
    browser_pages.errors.clear()
    pressed = 0
    with browser_pages.opened(f"{served.url}/check", **served.cookies) as page:
        for at, (_, keys, _) in enumerate(plan):
            page.wait_for_selector("#question[data-keys]:focus")
            before = page.locator("#answers").get_attribute("action")
            for key in keys:
                page.keyboard.press(key)
                pressed += 1
            page.wait_for_function(_ANOTHER, arg=before)
            assert page.locator(".note").count() == 0, (at, page.locator(".note").inner_text())
        assert "Nothing to check" in page.locator("main").inner_text()
    assert pressed <= MOST_KEYS * ASKED
    assert [line for line in browser_pages.errors if not line.startswith("failed:")] == []
    for photo_id, keys, comes in plan:
        assert _came_of(served.room, photo_id) == comes, keys


def _came_of(room: Room, photo_id: int) -> Any:
    with room.library.reading() as session:
        kept = photos.photo(session, photo_id)
        if kept.state is PhotoState.ASIDE:
            return "aside"
        work_id = works.work_of_photo(session, photo_id)
        if work_id in room.works:
            return "view", work_id
        filed = works.filed_on_days(session, [room.classes["3B"]], [TODAY])
        return next(one.numbers for one in filed if one.work_id == work_id)


@pytest.mark.parametrize(
    ("given", "found"),
    [
        ({"number": "33"}, "nobody has number 33"),
        ({"number": "4, x"}, "no number"),
        ({"number": "12", "as": "view"}, "no work of number 12"),
        ({"number": "4 7", "as": "view"}, "a view is of one number"),
    ],
)
def test_a_wrong_number_is_told_and_the_question_stays(app: App, given: dict[str, str], found: str) -> None:
    """No such number in the class, no number at all, nothing to be a view of: words, and the same question again."""
    if not _waiting(app):
        _ask(app.room, 990, QuestionKind.HALF_CARD, 5)
    key = _waiting(app)[0]
    answer = app.client.post(f"/check/{key}", data=given)
    assert found in answer.text
    assert f'action="/check/{key}"' in answer.text


def test_two_tabs_answer_once(app: App) -> None:
    """The second tab's answer is told to have come too late; the first one's stands."""
    photo_id = _ask(app.room, 995, QuestionKind.HALF_CARD, 6)
    with app.room.library.reading() as session:
        key = next(one.question_id for one in questions.questions(session) if one.photo_id == photo_id)
    app.client.post(f"/check/{key}", data={"answer": "yes"})
    late = app.client.post(f"/check/{key}", data={"number": "7"})
    assert late.status_code == 409
    assert 'role="alert"' in late.text
    assert _came_of(app.room, photo_id) == (6,)


def _waiting(app: App) -> list[int]:
    with app.room.library.reading() as session:
        return [one.question_id for one in questions.questions(session)]
