"""What the screen To check shows: one question, its photo, its answers."""

from __future__ import annotations

from dataclasses import dataclass

from portfolio.web.answers import Choice, Note, Picture, Wall
from portfolio.web.answers_people import ClassPage


@dataclass(frozen=True, slots=True)
class Answer:
    """One press: what is sent, what it says, and the key for it."""

    value: str
    say: str
    figure: str = ""
    key: str = ""
    """One key that presses it, or what to type for it ("14 Enter")."""
    main: bool = False

    @property
    def pressed_by(self) -> str:
        """The single key that presses it; empty when it takes more than one."""
        return "" if " " in self.key else self.key


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
    earlier_number: bool
    """The number came twice: it may be the earlier photo whose card lay wrong."""
    digits: str
    """What a digit does while the question has the focus: "number" begins a number, "answer" presses an answer."""
    classes: tuple[Choice, ...]
    photo: Picture | None
    beside: tuple[Picture, ...]
    said: str
    outline: Outline | None
    outline_words: str
    edge_href: str
    """Where the edge is set and the picture is turned by hand; empty when there is nothing to point at."""
    hide_href: str
    """Where a part of it is hidden; empty when there is nothing to point at."""
    will_be: Picture | None
    """The picture by the edge and turn that were set while it is still asked whose work it is."""
    hidden_words: str
    after: Wall
    put_off: int
    """Questions put off that are not asked now."""
    later_href: str
    """Where those put off are asked."""
    batch_href: str
    """The batch with its class, number by number; empty when all batches are asked about."""
    nothing: str
    """What stands here when nothing is asked."""
    carried: tuple[tuple[str, str], ...]
    """Hidden fields of every form: where the teacher is in the line of questions."""
    undo: int | None
    undo_words: str
    undone_question: str = ""
    """The question that comes back when the last answer is undone."""
    note: Note | None = None
    counted: tuple[str, ...] = ()
    """At the end: which numbers of each class are there."""
    grids: tuple[ClassPage, ...] = ()
    """At the end: the classes of the batch, number by number."""
