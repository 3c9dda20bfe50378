"""What machines send and get: shapes of their own, apart from tables and pages, so that nothing private is shown by
accident. The only name in them is none: children are numbers and ids here.
"""

from __future__ import annotations

from datetime import date, datetime, time
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

from portfolio.flows.describe import TAG_MAX, TAGS_MAX, TITLE_MAX
from portfolio.flows.helpers import LOGIN_MAX
from portfolio.flows.observe import NOTE_MAX, WHAT_MAX
from portfolio.flows.reflections import TEXT_MAX
from portfolio.flows.releases import SOURCE_MAX
from portfolio.flows.school_time import SCHOOL_NAME_MAX
from portfolio.flows.station import STARTER_MAX, STARTERS_MAX
from portfolio.model.calendar import CYCLE_DAYS_MAX
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


class BatchLine(Shape):
    """One of the newest batches. ``source``: how it came in; ``states``: how many photos stand how."""

    batch: Id
    began_utc: datetime
    source: str
    class_label: Annotated[str | None, Field(alias="class")]
    state: Literal["open", "reading", "done"]
    photos: int
    states: dict[str, int]


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
    """Exactly one answer; with ``number`` may go ``class``, ``day`` and ``view`` (it shows that number's work again),
    with ``yes`` or ``whole`` ``whole_group``, with ``polygon`` ``quarter_turns``. ``each``: of several numbers in the
    photo each has its own work.

    ``polygon`` is in pixels of the upright photo; ``first_number``: the earlier photo of a number that came twice is
    of this number.
    """

    yes: bool = False
    option: Annotated[int | None, Field(ge=0, le=100)] = None
    number: Number | None = None
    class_label: Annotated[Label | None, Field(alias="class")] = None
    day: date | None = None
    numbers: Annotated[list[Number], Field(max_length=40)] = []
    each: bool = False
    view_of: Id | None = None
    view: bool = False
    work: Id | None = None
    polygon: Annotated[
        list[Annotated[list[Annotated[float, Field(ge=-1e6, le=1e6)]], Field(min_length=2, max_length=2)]] | None,
        Field(min_length=3, max_length=200),
    ] = None
    quarter_turns: Annotated[int, Field(ge=0, le=3)] = 0
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
    behind: bool


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


# --- changes to works -----------------------------------------------------------------------------------------

PointPx = Annotated[
    tuple[float, float], Field(description="Pixels from the left and from the top of the upright photo.")
]
Corners = Annotated[list[PointPx], Field(min_length=4, max_length=4)]


class WorkChange(Shape):
    """What changes about a work; what is left out stays."""

    title: Annotated[str, Field(max_length=TITLE_MAX)] | None = None
    medium: Annotated[str, Field(max_length=100)] | None = None
    center: Annotated[str, Field(max_length=100)] | None = None
    tags: Annotated[list[Annotated[str, Field(max_length=TAG_MAX)]], Field(max_length=TAGS_MAX)] | None = None


class EdgeIn(Shape):
    """Four corners round the work, or none to show the whole photo. ``quarter_turns``: clockwise."""

    outline: Corners | None = None
    quarter_turns: Annotated[int, Field(ge=0, le=3)] = 0
    view: Annotated[int, Field(ge=0, le=ID_MAX)] = 0


class EdgeOut(Shape):
    """The edge of a view (0: of a photo that is no work's yet); no outline = shown as taken."""

    view: Annotated[int, Field(ge=0, le=ID_MAX)]
    size_px: tuple[int, int]
    outline: list[PointPx] | None
    by_hand: bool
    quarter_turns: int
    hidden: list[list[PointPx]]


class HiddenIn(Shape):
    """A part of a photo that nobody below the teacher sees."""

    part: Corners
    view: Annotated[int, Field(ge=0, le=ID_MAX)] = 0


class WordsIn(Shape):
    """What the child with this number said. Without a day: today."""

    number: Number
    text: Annotated[str, Field(min_length=1, max_length=TEXT_MAX)]
    said_on: date | None = None
    written_by: Literal["child", "teacher", "helper"] = "teacher"
    language: Annotated[str, Field(min_length=2, max_length=35)] = "en"
    work: Id | None = None


class WordsKeptOut(Shape):
    """The step that kept the words, and the question about whose work they are, if one was needed."""

    action: Id
    question: int | None


class ObservedIn(Shape):
    """A habit or skill seen today."""

    number: Number
    what: Annotated[str, Field(min_length=1, max_length=WHAT_MAX)]
    level: Literal["needs support", "getting there", "secure"]
    note: Annotated[str, Field(max_length=NOTE_MAX)] = ""


class SeenOut(Shape):
    """One thing seen today, with the child's number; ``action`` takes it back by its undo."""

    number: int
    what: str
    level: str
    note: str
    action: int | None


class ObservingOut(Shape):
    """Habits and skills that are offered, how it may go, and what was seen today."""

    offered: list[str]
    levels: list[str]
    today: list[SeenOut]


class ChosenIn(Shape):
    """Class, medium and day of a whole batch; what is left out is left to the cards and the timetable."""

    class_label: Annotated[Label | None, Field(alias="class")] = None
    medium: Label | None = None
    day: date | None = None


class AbsentIn(Shape):
    """Numbers of the children who were absent."""

    numbers: Annotated[list[Number], Field(max_length=40)]


# --- the school -----------------------------------------------------------------------------------------------


class TermShape(Shape):
    """A report period; both days belong to it."""

    label: Annotated[str, Field(min_length=1, max_length=40)]
    starts_on: date
    ends_on: date


class MarkedShape(Shape):
    """A day that differs from the plain week. ``cycle_day``: the day of the cycle that the school named."""

    day: date
    kind: Literal["holiday", "snow", "school"]
    note: Annotated[str, Field(max_length=60)] = ""
    cycle_day: Annotated[int | None, Field(ge=1, le=10)] = None


class LessonShape(Shape):
    """One lesson of a class, in wall time."""

    cycle_day: Annotated[int, Field(ge=1, le=10)]
    starts_at: time
    ends_at: time


class ClassLessons(Shape):
    """The lessons of one class."""

    class_id: Id
    class_label: Annotated[str, Field(alias="class")]
    lessons: list[LessonShape]


LostDayWord = Annotated[
    Literal["shift", "skip", "weekday"],
    Field(description="What a snow day does: the cycle waits for it, goes on without it, or is the week."),
]


class SchoolOut(Shape):
    """The school and one of its years."""

    name: str
    years: list[str]
    year: str | None
    starts_on: date | None
    ends_on: date | None
    cycle_days: int | None
    first_cycle_day: int | None
    lost_day: LostDayWord | None
    terms: list[TermShape]
    days: list[MarkedShape]
    timetable: list[ClassLessons]


class SchoolIn(Shape):
    """The school's name."""

    name: Annotated[str, Field(min_length=1, max_length=SCHOOL_NAME_MAX)]


class YearIn(Shape):
    """A new school year, like "2026-27", with its first and last day; its days are counted as the newest one's."""

    year: Annotated[str, Field(min_length=1, max_length=20)]
    starts_on: date
    ends_on: date


class YearChange(Shape):
    """A year's days, and how they are counted. ``first_cycle_day``: that of the first school day."""

    starts_on: date
    ends_on: date
    cycle_days: Annotated[int, Field(ge=1, le=CYCLE_DAYS_MAX)]
    first_cycle_day: Annotated[int, Field(ge=1, le=CYCLE_DAYS_MAX)] = 1
    lost_day: LostDayWord = "shift"


class TermsIn(Shape):
    """All terms of a year."""

    terms: Annotated[list[TermShape], Field(max_length=20)]


class DaysIn(Shape):
    """One day or days in a row; ``plain``: an ordinary day again."""

    first: date
    last: date | None = None
    kind: Literal["holiday", "snow", "school", "plain"]
    note: Annotated[str, Field(max_length=60)] = ""
    cycle_day: Annotated[int | None, Field(ge=1, le=10)] = None


class LessonsIn(Shape):
    """All lessons of a class."""

    lessons: Annotated[list[LessonShape], Field(max_length=20)]


class MediumIn(Shape):
    """A medium. ``aat_id``: its number in the Art & Architecture Thesaurus; ``solid``: usually three-dimensional."""

    label: Label
    aat_id: Annotated[str, Field(max_length=20)] = ""
    solid: bool = False


class MediumOut(Shape):
    """A medium with the count of its works; ``card``: its medium card."""

    medium: Id
    label: str
    aat_id: str | None
    card: int | None
    solid: bool
    offered: bool
    works: int


class CenterIn(Shape):
    """A center and the media at hand there."""

    label: Label
    media: Annotated[list[Id], Field(max_length=100)] = []


class CenterOut(Shape):
    """A center with the count of its works."""

    center: Id
    label: str
    media: list[int]
    offered: bool
    works: int


class OfferedIn(Shape):
    """Whether it is offered; works keep what they have."""

    offered: bool


class OpeningIn(Shape):
    """From when (and until when) a center is open; ``every``: for all classes of the year."""

    opens_on: date
    closes_on: date | None = None
    every: bool = False


Readers = Literal["school", "family", "community", "public"]


class ReleaseShape(Shape):
    """What a family has said for one circle of readers, from one day on."""

    readers: Readers
    allowed: bool
    name_form: Literal["none", "first", "first initial", "full"]
    from_day: date
    to_day: date | None
    source: str


class ChildReleasesOut(Shape):
    """One number of a class: what counts today, and every line that was said."""

    number: int
    student: Id
    counts: list[ReleaseShape]
    said: list[ReleaseShape]


class ReleasesOut(Shape):
    """The releases of a class. Nothing recorded = nothing allowed."""

    class_label: Annotated[str, Field(alias="class")]
    children: list[ChildReleasesOut]


class ReleasesIn(Shape):
    """What the families of these numbers have said. Without a day: from today."""

    numbers: Annotated[list[Number], Field(min_length=1, max_length=40)]
    readers: Annotated[list[Readers], Field(min_length=1, max_length=4)]
    allowed: bool
    name_form: Literal["none", "first", "first initial", "full"] = "none"
    from_day: date | None = None
    to_day: date | None = None
    source: Annotated[str, Field(max_length=SOURCE_MAX)] = ""


class ShowIn(Shape):
    """A new show of the current year."""

    title: Annotated[str, Field(min_length=1, max_length=200)]
    opens_on: date | None = None


class ChooseIn(Shape):
    """For whom to choose, and at most how many works."""

    audience: Literal["school", "community", "public"] = "school"
    works: Annotated[int | None, Field(ge=1, le=5000)] = None


class ChosenOut(Shape):
    """What was chosen; ``without``: how many children have no place; ``short``: why, when there are some."""

    chosen: list[int]
    without: int
    short: str


class TermClassOut(Shape):
    """What is kept for a class in the term. ``with_words``: children with words; ``nothing``: those with no work."""

    class_id: Id
    class_label: Annotated[str, Field(alias="class")]
    children: int
    works: int
    with_words: int
    nothing: int


class TermOut(Shape):
    """What report galleries of the term could show by now; without terms the whole year counts."""

    term: str | None
    year: str | None
    classes: list[TermClassOut]


class PublishIn(Shape):
    """For whom the pages are made."""

    audience: Literal["school", "community", "public"] = "school"


class PublishedOut(Shape):
    """Pages that were made, after the search for names found none. ``left_out``: works that are not in them."""

    pages: int
    pictures: int
    left_out: list[int]
    words_held: list[int]


class BackupIn(Shape):
    """The whole way to a folder of this computer."""

    folder: Annotated[str, Field(min_length=1, max_length=1000)]


class BackupOut(Shape):
    """When the last backup was made, and how far a running one is. ``trouble``: why the last one begun here stopped."""

    last_utc: str | None
    age_days: int | None
    due: bool
    running: bool
    done: int
    of: int
    trouble: str | None


class LimitsShape(Shape):
    """What one photo may cost: seconds and memory while it is read, its weight, and space left free on the disk."""

    photo_seconds: int
    photo_memory_mb: int
    photo_max_mb: int
    free_space_mb: int


# --- rosters --------------------------------------------------------------------------------------------------


class ColumnOut(Shape):
    """A column of a spreadsheet and how it is read; no word: it is not used."""

    column: int
    heading: str
    read_as: str | None


class LineOut(Shape):
    """Trouble with one line of the file."""

    line: int | None
    code: str
    sentence: str


class RosterChoice(Shape):
    """One way to decide."""

    value: str
    text: str


class ToDecide(Shape):
    """What an import cannot know. Until ``key`` is decided, ``default`` holds."""

    key: str
    kind: str
    line: int | None
    class_label: Annotated[str, Field(alias="class")]
    sentence: str
    choices: list[RosterChoice]
    default: str


class RosterOut(Shape):
    """What a roster changed; without ``action``: what it would change."""

    year: str
    students: int
    classes: int
    enrolments: int
    new: int
    changed: int
    joined: int
    moved: int
    left: int
    unchanged: int
    problems: list[LineOut]
    to_decide: list[ToDecide]
    notes: list[str]
    action: int | None


class RosterLooked(RosterOut):
    """A roster that waits under its token, and how its columns are read."""

    token: str
    columns: list[ColumnOut]
    doubts: list[str]


class ReleasesTaken(Shape):
    """What a list of releases records: lines that count, and how many of them are new."""

    taken: int
    changed: int
    problems: list[LineOut]
    notes: list[str]
    action: int | None


class ReleasesLooked(ReleasesTaken):
    """A list of releases that waits under its token, and how its columns are read."""

    token: str
    columns: list[ColumnOut]
    doubts: list[str]


class RosterIn(Shape):
    """Key of what is to be decided → value of one of its choices."""

    decisions: Annotated[
        dict[Annotated[str, Field(max_length=100)], Annotated[str, Field(max_length=100)]], Field(max_length=2000)
    ] = {}


# --- who may sign in ------------------------------------------------------------------------------------------


class HelperIn(Shape):
    """The name that a helper types to sign in."""

    login: Annotated[str, Field(min_length=1, max_length=LOGIN_MAX)]


class HelperOut(Shape):
    """A helper."""

    helper: Id
    login: str
    since_utc: datetime


class PasswordOut(Shape):
    """A new password of a helper. It is kept nowhere."""

    login: str
    password: str


class PasswordIn(Shape):
    """The teacher's password now, and the new one."""

    current: Annotated[str, Field(max_length=1000)]
    password: Annotated[str, Field(max_length=1000)]


class EndedOut(Shape):
    """How many browsers were signed out."""

    ended: int


class DeviceOut(Shape):
    """A signed-in browser: the teacher's, a helper's (``login``), or the station of a class. ``here``: this one."""

    device: Id
    role: Literal["teacher", "helper", "station"]
    login: str | None
    class_label: Annotated[str | None, Field(alias="class")]
    since_utc: datetime
    used_utc: datetime
    ends_utc: datetime
    here: bool


class StationIn(Shape):
    """The class of a station, and how long it lasts: until the lesson ends, an hour, or until the school day ends."""

    class_id: Id
    span: Literal["lesson", "hour", "day"] = "lesson"


class StationCodeOut(Shape):
    """The code that is typed at ``/join`` in the other browser, once, and when the station ends."""

    code: str
    class_label: Annotated[str, Field(alias="class")]
    ends_utc: datetime


class StartersShape(Shape):
    """How a sentence may begin."""

    starters: Annotated[list[Annotated[str, Field(max_length=STARTER_MAX)]], Field(max_length=STARTERS_MAX)]


class WrittenOut(Shape):
    """A child's words from a station. ``held``: they may name a child, so only the teacher sees them."""

    action: Id
    work: Id
    class_label: Annotated[str, Field(alias="class")]
    number: int
    text: str
    held: bool
