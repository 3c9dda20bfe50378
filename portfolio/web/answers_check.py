"""What the screen To check shows: one question, its photo, its answers."""

from __future__ import annotations

from dataclasses import dataclass

from portfolio.web.answers import Choice, Note, Picture, Wall


@dataclass(frozen=True, slots=True)
class Answer:
    """One press: what is sent, what it says, and the key for it."""

    value: str
    say: str
    figure: str = ""
    key: str = ""
    main: bool = False


@dataclass(frozen=True, slots=True)
class Outline:
    """A found edge to draw over the photo, as the two attributes of an SVG."""

    view_box: str
    points: str


@dataclass(frozen=True, slots=True)
class CheckPage:
    """The question that is asked now. ``question_id`` 0 = nothing to check."""

    question_id: int
    place: str
    taken: str
    heading: str
    guess: str
    guess_words: str
    why: str
    answers: tuple[Answer, ...]
    other_number: bool
    digits: str
    """What a digit does while the question has the focus: "number" begins a number, "answer" presses an answer."""
    classes: tuple[Choice, ...]
    photo: Picture | None
    beside: tuple[Picture, ...]
    said: str
    outline: Outline | None
    after: Wall
    later: int
    undo: int | None
    undo_words: str
    batch: str = ""
    note: Note | None = None
