"""A question in the teacher's words: what is asked, what each answer says, and which key presses it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

from portfolio.archive.questions import QuestionKept
from portfolio.flows.see_batch import QuestionSeen
from portfolio.model.filing import QuestionKind
from portfolio.web import words
from portfolio.web.answers_check import Answer

CROP: Final = QuestionKind.CROP.value
REFLECTION: Final = "reflection"

_HEADINGS: Final = {
    QuestionKind.CARDS_DISAGREE: "Which number is it?",
    QuestionKind.TWO_NUMBERS: "Whose is it?",
    QuestionKind.GROUP_OF_ONE: "Is this a group work?",
    QuestionKind.NOBODY: "Who made this?",
    QuestionKind.ABSENT: "Whose is it?",
    QuestionKind.CLASS_CHOSEN: "Which class is it?",
    QuestionKind.CLASS_TIME: "Which class is it?",
    QuestionKind.CLASS_CARD: "Which class is it?",
    QuestionKind.CLASS_DOUBT: "Which class is it?",
    QuestionKind.NO_CLASS: "Which class is it?",
    QuestionKind.NO_DAY: "Which day was it made?",
    QuestionKind.NO_SCHOOL: "Was it made on this day?",
    QuestionKind.SAME_NUMBER: "Another view, or another work?",
    QuestionKind.NOTHING_BEFORE: "Which work does it belong to?",
    QuestionKind.NO_CARD: "Whose is it?",
    QuestionKind.TAKEN_BACK: "Whose is it?",
    QuestionKind.CROP: "Is the edge right?",
}
_SHORT: Final = {
    QuestionKind.HALF_CARD: "Only half a card",
    QuestionKind.CARDS_DISAGREE: "Two cards disagree",
    QuestionKind.TWO_NUMBERS: "Two numbers",
    QuestionKind.GROUP_OF_ONE: "A group of one",
    QuestionKind.NOBODY: "Nobody has this number",
    QuestionKind.ABSENT: "Said to be absent",
    QuestionKind.SAME_NUMBER: "The same number twice",
    QuestionKind.NO_CARD: "No card in the photo",
    QuestionKind.TAKEN_BACK: "Taken back",
    QuestionKind.CROP: "Edge not sure",
    QuestionKind.NO_DAY: "Day not sure",
    QuestionKind.NO_SCHOOL: "No school that day",
    QuestionKind.ORDER: "Order not sure",
    QuestionKind.NOTHING_BEFORE: "Nothing to add it to",
}
_ABOUT_CLASS: Final = frozenset(
    {
        QuestionKind.CLASS_CHOSEN,
        QuestionKind.CLASS_TIME,
        QuestionKind.CLASS_CARD,
        QuestionKind.CLASS_DOUBT,
        QuestionKind.NO_CLASS,
    }
)
_ROLES: Final = {"back": "the back", "detail": "a detail", "slip": "the slip"}
_NAMED: Final = 6
"""Up to so many numbers are named on the press for a whole group."""
_SAID_ABOUT: Final = "Which work are these words about?"
_SAID_SHORT: Final = "Words without a work"


@dataclass(frozen=True, slots=True)
class Asking:
    """One question, ready for the screen."""

    heading: str
    short: str
    figure: str
    """The best guess, large: a number, or a class when that is asked; empty when there is no guess."""
    answers: tuple[Answer, ...]
    takes_number: bool
    digits: str


def short_of(kind: str) -> str:
    """What is unsure, in a few words, for a tile on a wall."""
    return _SAID_SHORT if kind == REFLECTION else _SHORT.get(QuestionKind(kind), "Class not sure")


def asking_of(seen: QuestionSeen, labels: Mapping[int, str], *, today: date) -> Asking:
    """The question's words. ``labels``: class id → label."""
    kept = seen.question
    if kept.kind == REFLECTION:
        return Asking(_SAID_ABOUT, short_of(kept.kind), "", _work_answers(seen, today), False, "answer")
    kind = QuestionKind(kept.kind)
    if kind is QuestionKind.CROP:
        if not (kept.guess or {}).get("outline_px"):
            return Asking("Where is its edge?", short_of(kept.kind), _number_of_work(seen), (), False, "answer")
        one_of_several = seen.photo is not None and bool(seen.photo.part)
        answers = (_EDGE_RIGHT, _KEEP_SO if one_of_several else _WHOLE_PHOTO, *_for_all_edges(len(seen.together)))
        return Asking(_HEADINGS[kind], short_of(kept.kind), _number_of_work(seen), answers, False, "answer")
    figure = _figure(kept.guess, labels, kind)
    by_number = kind not in _ABOUT_CLASS and not _mixes(kept.guess, kept.options)
    picks = by_number or (kind not in _ABOUT_CLASS and not any(_says_enough(one) for one in kept.options))
    return Asking(
        heading=_heading(kind, kept.guess, figure),
        short=short_of(kept.kind),
        figure=figure,
        answers=_filing_answers(seen, labels, kind, by_number=by_number, today=today),
        takes_number=True,
        digits="number" if picks else "answer",
    )


def _heading(kind: QuestionKind, guess: dict[str, Any] | None, figure: str) -> str:
    if kind is QuestionKind.NO_CARD and figure and (guess or {}).get("what") == "view":
        return f"Is this number {figure} again?"
    return _HEADINGS.get(kind, f"Is this number {figure}?" if figure else "Whose is it?")


_EDGE_RIGHT: Final = Answer("yes", "Yes, the edge is right", key="Enter", main=True)
_WHOLE_PHOTO: Final = Answer("whole", "No, show the whole photo", key="1")
_KEEP_SO: Final = Answer("whole", "No, but leave it: other works are beside it", key="1")


def _for_all_edges(count: int) -> tuple[Answer, ...]:
    """The same for all edges that were guessed without a card."""
    if count < 2:
        return ()
    return (
        Answer("yes-all", f"Yes, all {count} edges without a card are right", key="Y"),
        Answer("whole-all", f"No, show all {count} as they were taken", key="2"),
    )


def _number_of_work(seen: QuestionSeen) -> str:
    work = seen.works.get(seen.question.work_id or 0)
    return str(work.number) if work else ""


def _figure(guess: dict[str, Any] | None, labels: Mapping[int, str], kind: QuestionKind) -> str:
    numbers: list[int] = (guess or {}).get("numbers") or []
    if kind in _ABOUT_CLASS:
        return labels.get((guess or {}).get("class_id") or 0, "")
    return words.listed([str(number) for number in numbers]) if len(numbers) < 3 else ""


def _mixes(guess: dict[str, Any] | None, options: tuple[dict[str, Any], ...]) -> bool:
    """Whether the answers differ in more than the number, so that a digit picks an answer instead."""
    said = [one for one in (guess, *options) if one and _says_enough(one)]
    return any(
        len({_plain(one.get(key)) for one in said}) > 1
        for key in ("what", "class_id", "day", "joins_work", "joins_photo")
    )


def _plain(value: Any) -> str:
    return str(value)


def _filing_answers(
    seen: QuestionSeen, labels: Mapping[int, str], kind: QuestionKind, *, by_number: bool, today: date
) -> tuple[Answer, ...]:
    kept = seen.question
    found = []
    if _says_enough(kept.guess):
        text = _filing_words(kept.guess or {}, seen, labels, kind, by_number=by_number, today=today)
        figure = _answer_figure(kept.guess, labels, kind)
        found.append(Answer("yes", f"Yes, {text}", figure, "Enter", main=True))
        if seen.together:
            found.append(Answer("yes-all", _all_words(seen), key="Y"))
    for at, option in enumerate(kept.options):
        if not _says_enough(option):
            continue  # "another work, of whom?": the number field asks that
        text = _filing_words(option, seen, labels, kind, by_number=by_number, today=today)
        figure = _answer_figure(option, labels, kind)
        one_number = by_number and len(option.get("numbers") or ()) == 1
        key = f"{figure} Enter" if one_number else str(at + 1)
        lead = "No, it is" if found and one_number else "No," if found else "It is"
        say = text.removeprefix("number ") if one_number and found else text
        found.append(Answer(f"option-{at}", f"{lead} {say}", figure, key))
    if kind is QuestionKind.TWO_NUMBERS and len(numbers := _all_numbers(kept)) > 1:
        found.append(Answer("each", f"Each is its own work: {words.listed(numbers)}", key="O"))
    found.append(Answer("aside", "Set it aside: it is no work", key="A"))
    return tuple(found)


def _all_numbers(kept: QuestionKept) -> list[str]:
    """The numbers that lie in the photo, by their size."""
    said = {number for one in (kept.guess, *kept.options) for number in (one or {}).get("numbers") or ()}
    return [str(number) for number in sorted(said)]


def _all_words(seen: QuestionSeen) -> str:
    """What one press says for a whole group: each photo gets its own best guess."""
    count = len(seen.together)
    numbers = [number for one in seen.together for number in (one.guess or {}).get("numbers") or ()]
    named = f": {words.listed([str(number) for number in numbers])}" if count == len(numbers) <= _NAMED else ""
    return f"Yes, and so for all {count} asked for this reason{named}"


def _says_enough(guess: dict[str, Any] | None) -> bool:
    """Whether a guess or option can be carried out as it is."""
    if not guess:
        return False
    if guess.get("what") == "view":
        return bool(guess.get("joins_work") or guess.get("joins_photo"))
    return bool(guess.get("numbers")) and guess.get("class_id") is not None and bool(guess.get("student_ids"))


def _answer_figure(filing: dict[str, Any] | None, labels: Mapping[int, str], kind: QuestionKind) -> str:
    if kind in _ABOUT_CLASS:
        return labels.get((filing or {}).get("class_id") or 0, "")
    numbers: list[int] = (filing or {}).get("numbers") or []
    return str(numbers[0]) if len(numbers) == 1 else ""


def _filing_words(
    filing: dict[str, Any],
    seen: QuestionSeen,
    labels: Mapping[int, str],
    kind: QuestionKind,
    *,
    by_number: bool,
    today: date,
) -> str:
    numbers = [str(number) for number in filing.get("numbers") or ()]
    if filing.get("what") == "view":
        work_id = filing.get("joins_work") or seen.work_of.get(filing.get("joins_photo") or 0)
        work = seen.works.get(work_id or 0)
        role = _ROLES.get(str(filing.get("role")), "another view")
        of = f"number {work.number}" if work else "the photo before"
        return f"{role} of {of}"
    text = f"number {numbers[0]}" if len(numbers) == 1 else f"{words.listed(numbers)} together" if numbers else "a work"
    if kind is QuestionKind.SAME_NUMBER:
        text = f"another work by {text}"
    if by_number:
        return text
    label = labels.get(filing.get("class_id") or 0)
    day = filing.get("day")
    made = f", made {words.day_plain(date.fromisoformat(day), today=today)}" if day and kind in _ABOUT_DAY else ""
    return f"{label}, {text}{made}" if label else f"{text}{made}"


_ABOUT_DAY: Final = frozenset({QuestionKind.NO_DAY, QuestionKind.NO_SCHOOL})


def _work_answers(seen: QuestionSeen, today: date) -> tuple[Answer, ...]:
    """For words: the works they may be about."""
    kept = seen.question
    found = []
    for at, option in enumerate(kept.options):
        work = seen.works.get(option.get("work") or 0)
        if work is None:
            continue
        title = work.title or work.medium or "A work without a title"
        text = f"{words.capital(title)}, {words.day_plain(work.made_on, today=today)}"
        is_guess = bool(kept.guess) and (kept.guess or {}).get("work") == work.work_id
        found.append(Answer(f"option-{at}", text, str(work.number), str(at + 1), main=is_guess))
    return tuple(found)
