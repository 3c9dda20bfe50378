"""What the pages of Settings show: their names, what was kept last, fields with words beside them."""

from __future__ import annotations

from dataclasses import dataclass

from portfolio.web.answers import Chip, Choice, Fact, Note


@dataclass(frozen=True, slots=True)
class Kept:
    """What was kept a moment ago, and the step that takes it back (``None``: it was taken back)."""

    words: str
    undo: int | None
    back: str
    """The page to come back to."""


@dataclass(frozen=True, slots=True)
class SettingsFrame:
    """What every page of Settings has: the list of pages, what was kept, and what went wrong."""

    title: str
    pages: tuple[Chip, ...]
    """``value`` is the address."""
    kept: Kept | None = None
    note: Note | None = None
    beside: bool = False
    """Something typed does not fit; words stand beside the field."""


@dataclass(frozen=True, slots=True)
class Field:
    """One field of a form as it was typed; ``problem`` stands beside it in words."""

    id: str
    name: str
    label: str
    value: str = ""
    kind: str = "text"
    hint: str = ""
    problem: str = ""
    most: int = 200
    required: bool = False
    options: tuple[str, ...] = ()
    """Offered while typing; anything else may be typed too."""


@dataclass(frozen=True, slots=True)
class BackupPage:
    """The last backup, one that is running, and the form for the next."""

    frame: SettingsFrame
    last: str
    old: bool
    """It is over a week old, or there was none."""
    folder: Field
    running: bool
    progress: str
    done: int
    of: int
    result: tuple[str, ...] = ()
    trouble: Note | None = None


@dataclass(frozen=True, slots=True)
class YearPage:
    """The school's name, one school year with its terms, and the form for a new year."""

    frame: SettingsFrame
    years: tuple[Chip, ...]
    year: str
    """As it is stored; empty in a library without a year."""
    title: str
    school: Field
    span: tuple[Field, ...]
    cycle: tuple[Field, ...]
    lost_day: tuple[Choice, ...]
    terms: tuple[tuple[Field, Field, Field], ...]
    """Name, first day, last day; the last rows are empty, for more."""
    new: tuple[Field, ...]
    new_open: bool


@dataclass(frozen=True, slots=True)
class LessonsOfDay:
    """One day of the cycle with its lessons: time and class."""

    title: str
    lessons: tuple[Fact, ...]


@dataclass(frozen=True, slots=True)
class TimetablePage:
    """The lessons of the cycle, and the form for those of one class."""

    frame: SettingsFrame
    years: tuple[Chip, ...]
    year: str
    days: tuple[LessonsOfDay, ...]
    overlaps: str
    classes: tuple[Chip, ...]
    class_id: int | None = None
    class_label: str = ""
    lessons: tuple[tuple[Field, Field, Field], ...] = ()
    """Cycle day, begin, end; the last rows are empty, for more."""


@dataclass(frozen=True, slots=True)
class MarkedLine:
    """Days that are marked alike; the two days say which to make plain again."""

    days: str
    what: str
    first: str
    last: str


@dataclass(frozen=True, slots=True)
class DaysPage:
    """The marked days of a year, and the form for more."""

    frame: SettingsFrame
    years: tuple[Chip, ...]
    year: str
    marked: tuple[MarkedLine, ...]
    counted: str
    fields: tuple[Field, ...]
    kinds: tuple[Choice, ...]
    note: Field | None = None
    cycle_day: Field | None = None


@dataclass(frozen=True, slots=True)
class RoomLine:
    """A medium or center in its list, with the form that changes it."""

    address: str
    id: str
    """Of its place on the page."""
    label: str
    second: str
    active: bool
    removable: bool
    first: bool
    last: bool
    open: bool
    fields: tuple[Field, ...]
    ticks: tuple[Choice, ...]
    """What can be ticked; ``value`` is the field's name."""


@dataclass(frozen=True, slots=True)
class RoomPage:
    """The media or the centers: those offered, those retired, and the form for a new one."""

    frame: SettingsFrame
    one: str
    """"medium" or "center"."""
    address: str
    ticks_words: str
    offered: tuple[RoomLine, ...]
    retired: tuple[RoomLine, ...]
    new: tuple[Field, ...]
    new_ticks: tuple[Choice, ...]
    new_open: bool


@dataclass(frozen=True, slots=True)
class ReleaseCell:
    """What counts for one audience: allowed (solid), refused (hatch) or nothing said (dotted), in words, and since."""

    kind: str
    """allowed · refused · nothing"""
    words: str
    since: str


@dataclass(frozen=True, slots=True)
class ReleaseRow:
    """A child of the class, with the name opened for the teacher."""

    number: int
    name: str
    href: str
    cells: tuple[ReleaseCell, ...]
    said: tuple[str, ...]
    """Everything that was said, newest first."""


@dataclass(frozen=True, slots=True)
class ListPreview:
    """What a list of releases would record, before it does."""

    token: str
    file: str
    counted: str
    columns: tuple[Fact, ...]
    doubts: tuple[str, ...]
    problems: tuple[str, ...]
    news: bool


@dataclass(frozen=True, slots=True)
class ReleasesPage:
    """What the families of a class have said, the form for more, and a list of the office."""

    frame: SettingsFrame
    classes: tuple[Chip, ...]
    class_id: int | None
    class_label: str
    rows: tuple[ReleaseRow, ...]
    numbers: Field | None = None
    audiences: tuple[Choice, ...] = ()
    audiences_problem: str = ""
    answers: tuple[Choice, ...] = ()
    answers_problem: str = ""
    name_forms: tuple[Choice, ...] = ()
    when: tuple[Field, ...] = ()
    source: Field | None = None
    preview: ListPreview | None = None


@dataclass(frozen=True, slots=True)
class CardsPage:
    """The cards that can be printed."""

    frame: SettingsFrame
    numbers: Field
    others: tuple[Choice, ...]
    papers: tuple[Choice, ...]


@dataclass(frozen=True, slots=True)
class AboutPage:
    """The program, where its library lies, and the parts that others made with their licenses."""

    frame: SettingsFrame
    program: tuple[Fact, ...]
    folder: str
    limits: tuple[Field, ...]
    kept: str
    """What was kept a moment ago."""
    before: tuple[tuple[str, int], ...]
    """The limits before that, to be put back."""
    usual: tuple[tuple[str, int], ...]
    """The limits of a new library; empty when they are in force."""
    packages: tuple[Fact, ...]
    packages_words: str
    files: tuple[Fact, ...]


@dataclass(frozen=True, slots=True)
class PasswordPage:
    """The form for the teacher's own password."""

    frame: SettingsFrame
    fields: tuple[Field, ...]
    done: str = ""
