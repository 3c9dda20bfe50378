"""What a helper sees: own batches of today by class and number. Nothing here has a name."""

from __future__ import annotations

from dataclasses import dataclass

from portfolio.web.answers import Choice, Line, LineKind, Note, Picture


@dataclass(frozen=True, slots=True)
class HelperStart:
    """Where photos are added, and what was added today."""

    login: str
    classes: tuple[Choice, ...]
    media: tuple[Choice, ...]
    batches: tuple[Line, ...]
    note: Note | None = None


@dataclass(frozen=True, slots=True)
class HelperPhoto:
    """One photo: what became of it. ``question_id``: a number can be said; ``guess``: the likely one."""

    place: str
    number: str
    state: str
    line: LineKind
    picture: Picture | None
    question_id: int = 0
    guess: str = ""


@dataclass(frozen=True, slots=True)
class HelperBatch:
    """One batch, in the order the photos were taken."""

    batch_id: int
    title: str
    sentence: str
    busy: bool
    photos: tuple[HelperPhoto, ...]
    undo: int | None = None
    undo_words: str = ""
    problems: tuple[str, ...] = ()
    note: Note | None = None

    @property
    def asking(self) -> bool:
        """Whether a number can be said here."""
        return any(one.question_id for one in self.photos)


@dataclass(frozen=True, slots=True)
class HelperSignIn:
    """The fields of the sign-in, with what was typed."""

    school: str
    login: str
    note: Note | None = None
