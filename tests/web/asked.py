"""Questions that a test puts to the teacher of the small art room."""

from __future__ import annotations

from datetime import UTC, datetime

from portfolio.archive import questions
from portfolio.archive.tables import Batch, Photo
from portfolio.model.filing import Asked, Filing, QuestionKind
from tests.web.room import TODAY, Room


def ask_about_two_numbers(room: Room, *, sha256: str = "e" * 64) -> int:
    """A photo of its own batch in which the cards 8 and 9 of 3B lie; gives the question. ``sha256``: of its
    original, which need not be there.
    """
    with room.library.writing(who="program", what="asked") as writing:
        now = datetime.now(UTC)
        batch = Batch(created_utc=now, source="test", state="done", expected=1)
        writing.session.add(batch)
        writing.session.flush()
        row = Photo(
            sha256=sha256, batch_id=batch.id, file_name="two.jpg", size_bytes=9, stored_utc=now,
            reading={"cards": []}, width_px=1200, height_px=900, state="question",
        )  # fmt: skip
        writing.session.add(row)
        writing.session.flush()
        both = Filing(class_id=room.classes["3B"], numbers=(8, 9), day=TODAY, student_ids=tuple(room.students[7:9]))
        about = Asked(QuestionKind.TWO_NUMBERS, "Number cards 8 and 9 lie in the photo.", both)
        return questions.ask(writing.session, about, batch_id=batch.id, photo_id=row.id)
