"""What machines send and get: shapes of their own, apart from tables and pages, so that nothing private is shown by
accident. The only name in them is none: children are numbers and ids here.
"""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

from portfolio.web.fields import ID_MAX

Id = Annotated[int, Field(ge=1, le=ID_MAX)]
Number = Annotated[int, Field(ge=1, le=40)]
Label = Annotated[str, Field(min_length=1, max_length=100)]


class Shape(BaseModel):
    """A value of the JSON door. What is not known is refused."""

    model_config = ConfigDict(extra="forbid", populate_by_name=True)


class Problem(BaseModel):
    """A problem object of RFC 9457, with the code of the table of sentences."""

    type: str
    title: str
    status: int
    detail: str
    code: str


class BatchIn(Shape):
    """What is chosen for a batch. Everything may be left to the cards and the timetable."""

    class_label: Annotated[Label | None, Field(alias="class")] = None
    medium: Label | None = None
    day: date | None = None
    by_order: bool = False
    """No cards: the works lie in the order of the class's numbers."""
    absent: Annotated[list[Number], Field(max_length=40)] = []
    expected: Annotated[int, Field(ge=0, le=100_000)] = 0


class BatchMade(Shape):
    """The new batch."""

    batch: Id


class PhotoOut(Shape):
    """One photo of a batch: where it stands, and why in one sentence."""

    file: str
    sha256: str | None
    state: Literal["stored", "filed", "question", "problem", "slate", "aside", "duplicate"]
    class_label: Annotated[str | None, Field(alias="class")]
    number: int | None
    work: int | None
    reason: str | None
    code: str | None


class CheckOut(Shape):
    """The count of numbers of one class at the end of its batch. ``several``: number and how many works."""

    class_label: Annotated[str, Field(alias="class")]
    day: date
    present: int
    of: int
    missing: list[int]
    several: list[tuple[int, int]]
    absent_seen: list[int]
    waiting: int
    sentence: str


class HintOut(Shape):
    """Something about the whole batch that can be done better next time."""

    code: str
    sentence: str


class BatchOut(Shape):
    """A batch as it stands. ``reading``: photos are being read and filed right now."""

    batch: Id
    reading: bool
    filed: int
    questions: int
    problems: int
    duplicates: int
    photos: list[PhotoOut]
    checks: list[CheckOut]
    hints: list[HintOut]


class Uploaded(Shape):
    """What became of one file: ids of its photos, how many of them were there before, sentences of trouble."""

    photos: list[int]
    before: int
    problems: list[str]


class ActionOut(Shape):
    """The step that was written down; it can be undone by this id."""

    action: Id


class ChoiceOut(Shape):
    """One likely answer, in words and as values."""

    say: str
    class_label: Annotated[str | None, Field(alias="class")] = None
    numbers: list[int] = []
    day: date | None = None
    view_of: int | None = None
    work: int | None = None


class QuestionOut(Shape):
    """One question: why it is asked, the best guess first."""

    question: Id
    kind: str
    state: str
    sentence: str
    batch: int | None
    photo: int | None
    work: int | None
    guess: ChoiceOut | None
    options: list[ChoiceOut]


class AnswerIn(Shape):
    """Exactly one answer; ``class`` may go with ``number``, ``whole_group`` with ``yes`` or ``whole``.

    ``polygon`` is in pixels of the upright photo; ``first_number``: the earlier photo of a number that came twice is
    of this number.
    """

    yes: bool = False
    option: Annotated[int | None, Field(ge=0, le=100)] = None
    number: Number | None = None
    class_label: Annotated[Label | None, Field(alias="class")] = None
    numbers: Annotated[list[Number], Field(max_length=40)] = []
    view_of: Id | None = None
    work: Id | None = None
    polygon: Annotated[
        list[Annotated[list[Annotated[float, Field(ge=-1e6, le=1e6)]], Field(min_length=2, max_length=2)]] | None,
        Field(min_length=3, max_length=200),
    ] = None
    first_number: Number | None = None
    whole: bool = False
    aside: bool = False
    later: bool = False
    whole_group: bool = False


class WorkFound(Shape):
    """A work that was found, and how."""

    work: Id
    title: str
    class_label: Annotated[str, Field(alias="class")]
    number: int
    grade: str
    year: str
    medium: str | None
    made_on: date
    tier: str


class FoundOut(Shape):
    """An answer of Find."""

    total: int
    works: list[WorkFound]
    showing_for: str | None


class ViewOut(Shape):
    """One view of a work; ``picture`` is an address that takes a rung: 336, 672, 2016."""

    view: Id
    photo: Id
    role: str
    picture: str | None


class WordsOut(Shape):
    """A child's words, letter for letter."""

    text: str
    said_on: date
    written_by: str
    language: str


class StepOut(Shape):
    """One step of a work's history."""

    action: Id
    who: str
    what: str
    undone: bool


class WorkOut(Shape):
    """One work, whole."""

    work: Id
    title: str
    class_label: Annotated[str, Field(alias="class")]
    number: int
    grade: str
    year: str
    medium: str | None
    center: str | None
    made_on: date
    size_mm: list[float] | None
    students: list[int]
    group_work: bool
    tags: list[str]
    colors: list[str]
    views: list[ViewOut]
    reflections: list[WordsOut]
    history: list[StepOut]


class TimelineWork(Shape):
    """A work of a timeline."""

    work: Id
    title: str
    medium: str | None
    made_on: date
    size_mm: list[float] | None
    reflections: list[str]


class TimelineYear(Shape):
    """One school year of a child."""

    year: str
    class_label: Annotated[str, Field(alias="class")]
    number: int
    grade: str
    works: list[TimelineWork]


class TimelineOut(Shape):
    """A child over all years, newest first."""

    student: Id
    years: list[TimelineYear]


class ClassOut(Shape):
    """A class of a year."""

    class_id: Id
    class_label: Annotated[str, Field(alias="class")]
    grade: str
    children: int
    works: int


class ClassesOut(Shape):
    """The classes of a year."""

    year: str | None
    years: list[str]
    classes: list[ClassOut]


class GridRowOut(Shape):
    """One number of a class."""

    number: int
    student: Id
    kept: list[int]
    open: list[bool]
    last_seen: date | None
    works: list[int]


class GridOut(Shape):
    """The class grid: by number, how many works in each column."""

    class_label: Annotated[str, Field(alias="class")]
    year: str
    grade: str
    span: str
    from_day: Annotated[date, Field(alias="from")]
    to_day: Annotated[date, Field(alias="to")]
    columns: list[str]
    rows: list[GridRowOut]
    nothing_kept: list[int]
    worth_knowing: list[str]


class ShowOut(Shape):
    """A show; ``chosen`` counts its works."""

    show: Id
    title: str
    year: str
    opens_on: date | None
    closes_on: date | None
    chosen: int


class ShowMark(Shape):
    """A work in a show: its mark, why, and whether these readers may see it."""

    work: Id
    mark: Literal["offered", "chosen", "must", "never"]
    reason: str
    may_show: bool


class ShowWhole(Shape):
    """A show for one circle of readers."""

    show: ShowOut
    audience: str
    may_show: int
    works: list[ShowMark]
