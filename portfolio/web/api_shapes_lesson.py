"""What machines send and get around a lesson: the day, cards, a phone's ticket, the camera station, share time."""

from __future__ import annotations

from datetime import date, datetime, time
from typing import Annotated, Literal

from pydantic import Field

from portfolio.web.api_shapes import Id, Label, Number, PointPx, Shape


class LessonOut(Shape):
    """One lesson of today: children, works filed, questions that wait, centers that are open, those from today on."""

    class_id: Id
    class_label: Annotated[str, Field(alias="class")]
    starts_at: time
    ends_at: time
    children: int
    filed: int
    waits: int
    centers: list[str]
    opens_today: list[str]


class NextLesson(Shape):
    """The first lesson after a day without any."""

    day: date
    class_label: Annotated[str, Field(alias="class")]
    starts_at: time


class OnTheirWay(Shape):
    """Originals of a batch that were begun and did not come whole yet."""

    batch: Id
    originals: int


class TodayOut(Shape):
    """Today: its place in the school's cycle, its lessons, what waits, and the works of the last day with any.
    ``without_words``: works of the last days about which no child has said anything yet.
    """

    day: date
    cycle_day: int | None
    cycle_days: int
    lessons: list[LessonOut]
    next_lesson: NextLesson | None
    waits: int
    latest_day: date | None
    latest: list[int]
    without_words: int
    next_show: int | None
    on_their_way: list[OnTheirWay]


class CardsIn(Shape):
    """Cards to print: these number cards, and a card for each class, each medium, each control."""

    numbers: list[Number] = Field(default_factory=list, max_length=40)
    classes: bool = False
    media: bool = False
    controls: bool = False
    paper: Literal["letter", "a4"] = "letter"


class ChosenIn(Shape):
    """Class and medium of all that comes; what is left out is told by the cards and the timetable."""

    class_label: Annotated[Label | None, Field(alias="class")] = None
    medium: Label | None = None


class TicketIn(ChosenIn):
    """What a phone will send, and the address of this computer at which it comes in; without one, the likeliest."""

    address: Annotated[str, Field(max_length=20)] = ""


class TicketOut(Shape):
    """An open ticket: its batch, how many photos have come, and its end."""

    batch: Id
    class_label: Annotated[str | None, Field(alias="class")]
    medium: str | None
    photos: int
    ends_utc: datetime


class TicketMade(TicketOut):
    """A ticket and what the phone opens. The code in the address is kept nowhere: it is told this once."""

    upload_address: str


class TicketsOut(Shape):
    """The ticket that is open (one at most), and this computer's addresses, the likeliest first."""

    tickets: list[TicketOut]
    addresses: list[str]


class StackOut(Shape):
    """A stack of the camera station. ``taken``: pictures that count; when it is not open, its batch tells the rest."""

    batch: Id
    class_label: Annotated[str | None, Field(alias="class")]
    medium: str | None
    taken: int
    is_open: bool


class FrameOut(Shape):
    """What lies under the camera. ``cards``: like "number-14"; ``corners_px``: of each tag, in pixels of the frame."""

    lying: Literal["nothing", "clear", "unclear", "several"]
    cards: list[str]
    numbers: list[int]
    corners_px: list[list[PointPx]]


class PictureOut(Shape):
    """A picture that was taken: what it shows, and whether it counts. ``taken``: how many do now."""

    photo: Id
    kept: bool
    cards: list[str]
    numbers: list[int]
    taken: int


class ProjectedWork(Shape):
    """A work for share time; ``picture`` is an address that takes a rung: 336, 672, 2016. A title that may name a
    child is left out.
    """

    work: Id
    class_label: Annotated[str, Field(alias="class")]
    number: int
    title: str
    medium: str | None
    size_mm: list[float] | None
    picture: str


class ProjectedOut(Shape):
    """The works of one day by class and number, and the classes that have any."""

    day: date
    class_label: Annotated[str | None, Field(alias="class")]
    classes: list[str]
    works: list[ProjectedWork]
