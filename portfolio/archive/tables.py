"""The tables. SQLModel classes stay inside ``archive``; other rooms meet frozen values of ``model``.

Every moment ends in ``_utc`` (timezone-aware, stored as UTC) or ``_local`` (the school's wall time, naive). Days are
``date``. Ids are whole numbers below 2**63 and never used again. Nothing here holds an email, phone, password of a
family, birthday or any other demographic fact: there is no column for it.
"""

from __future__ import annotations

from datetime import date, datetime, time
from typing import Any

from sqlalchemy import JSON, Column, DateTime, Index, MetaData, UniqueConstraint
from sqlmodel import Field, SQLModel

from portfolio.archive.columns import SealedColumn, UtcColumn
from portfolio.model.names import SealedName

SQLModel.metadata.naming_convention = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s",
        "pk": "pk_%(table_name)s",
    }
).naming_convention


def _json() -> Any:
    return Field(default=None, sa_column=Column(JSON, nullable=True))


def _utc() -> Any:
    return Field(sa_column=Column(UtcColumn, nullable=False))


def _utc_or_none() -> Any:
    return Field(default=None, sa_column=Column(UtcColumn, nullable=True))


def _name() -> Any:
    return Field(sa_column=Column(SealedColumn, nullable=False))


def _name_or_none() -> Any:
    return Field(default=None, sa_column=Column(SealedColumn, nullable=True))


# --- the school's time ------------------------------------------------------------------------------------


class SchoolYear(SQLModel, table=True):
    """One school year; ``label`` like "2025-26". ``lost_day`` says what a snow day does to the cycle: shift or skip."""

    __tablename__ = "school_year"
    id: int | None = Field(default=None, primary_key=True)
    label: str = Field(unique=True)
    starts_on: date
    ends_on: date
    cycle_days: int = 6
    first_cycle_day: int = 1
    lost_day: str = "shift"


class Term(SQLModel, table=True):
    """A report period inside a year."""

    id: int | None = Field(default=None, primary_key=True)
    year_id: int = Field(foreign_key="school_year.id", index=True)
    label: str
    starts_on: date
    ends_on: date


class CalendarDay(SQLModel, table=True):
    """A weekday without school, or a Saturday with school. ``kind``: holiday · snow · school."""

    __tablename__ = "calendar_day"
    __table_args__ = (UniqueConstraint("year_id", "day"),)
    id: int | None = Field(default=None, primary_key=True)
    year_id: int = Field(foreign_key="school_year.id", index=True)
    day: date
    kind: str
    note: str = ""
    cycle_day: int | None = None
    """Set when the school itself named the cycle day of this date; counting goes on from there."""


class ClassGroup(SQLModel, table=True):
    """A class in one school year, e.g. label "3B", grade "3"."""

    __tablename__ = "class_group"
    __table_args__ = (UniqueConstraint("year_id", "label"),)
    id: int | None = Field(default=None, primary_key=True)
    year_id: int = Field(foreign_key="school_year.id", index=True)
    label: str
    grade: str
    source_id: str | None = Field(default=None, index=True)


class Slot(SQLModel, table=True):
    """When a class has art: cycle day and wall time."""

    id: int | None = Field(default=None, primary_key=True)
    class_id: int = Field(foreign_key="class_group.id", index=True)
    cycle_day: int
    starts_at: time
    ends_at: time


class ClassCard(SQLModel, table=True):
    """Which class a printed class card (301-360) stands for in one year."""

    __tablename__ = "class_card"
    __table_args__ = (UniqueConstraint("year_id", "card"),)
    id: int | None = Field(default=None, primary_key=True)
    year_id: int = Field(foreign_key="school_year.id", index=True)
    card: int
    class_id: int = Field(foreign_key="class_group.id", index=True)


# --- children ---------------------------------------------------------------------------------------------


class Student(SQLModel, table=True):
    """A child: one record for life. The names are sealed."""

    model_config = {"arbitrary_types_allowed": True}
    id: int | None = Field(default=None, primary_key=True)
    source_id: str | None = Field(default=None, index=True, unique=True)
    identifier: str | None = Field(default=None, index=True)
    """The school's own student number, for rosters that come without ``source_id``."""
    given: SealedName = _name()
    family: SealedName = _name()
    preferred: SealedName | None = _name_or_none()
    middle: SealedName | None = _name_or_none()
    left_on: date | None = None
    erased: bool = False


class StudentAlso(SQLModel, table=True):
    """A nickname or another spelling of a child's name, so that the sweep finds it."""

    __tablename__ = "student_also"
    model_config = {"arbitrary_types_allowed": True}
    id: int | None = Field(default=None, primary_key=True)
    student_id: int = Field(foreign_key="student.id", index=True)
    name: SealedName = _name()


class Enrolment(SQLModel, table=True):
    """Child × class × number × days. A number that changes hands keeps its history."""

    __table_args__ = (Index("ix_enrolment_class_number", "class_id", "number"),)
    id: int | None = Field(default=None, primary_key=True)
    student_id: int = Field(foreign_key="student.id", index=True)
    class_id: int = Field(foreign_key="class_group.id", index=True)
    number: int
    from_day: date
    to_day: date | None = None
    source_id: str | None = None


class ReleaseRecord(SQLModel, table=True):
    """What a family has allowed for one audience; the newest line that covers a day counts. None = not allowed."""

    __tablename__ = "release"
    id: int | None = Field(default=None, primary_key=True)
    student_id: int = Field(foreign_key="student.id", index=True)
    audience: str
    allowed: bool
    name_form: str = "none"
    from_day: date
    to_day: date | None = None
    source: str = ""
    recorded_utc: datetime = _utc()


# --- the room ---------------------------------------------------------------------------------------------


class Medium(SQLModel, table=True):
    """What a work is made with. ``card`` is the medium card (61-90) that stands for it."""

    id: int | None = Field(default=None, primary_key=True)
    label: str = Field(unique=True)
    aat_id: str | None = None
    card: int | None = Field(default=None, unique=True)
    solid: bool = False
    """Usually three-dimensional: never rectified by the card's plane."""
    active: bool = True
    position: int = 0


class Centre(SQLModel, table=True):
    """A place in the room where a medium is at hand."""

    id: int | None = Field(default=None, primary_key=True)
    label: str = Field(unique=True)
    active: bool = True
    position: int = 0


class CentreMedium(SQLModel, table=True):
    """Which media belong to a centre."""

    __tablename__ = "centre_medium"
    __table_args__ = (UniqueConstraint("centre_id", "medium_id"),)
    id: int | None = Field(default=None, primary_key=True)
    centre_id: int = Field(foreign_key="centre.id", index=True)
    medium_id: int = Field(foreign_key="medium.id", index=True)


class CentreOpening(SQLModel, table=True):
    """When a centre opens in a year, for one class or (``class_id`` empty) for all."""

    __tablename__ = "centre_opening"
    id: int | None = Field(default=None, primary_key=True)
    centre_id: int = Field(foreign_key="centre.id", index=True)
    year_id: int = Field(foreign_key="school_year.id", index=True)
    class_id: int | None = Field(default=None, foreign_key="class_group.id", index=True)
    opens_on: date
    closes_on: date | None = None


# --- photos and works -------------------------------------------------------------------------------------


class Batch(SQLModel, table=True):
    """The photos of one upload or import, with what the teacher chose for all of them."""

    id: int | None = Field(default=None, primary_key=True)
    created_utc: datetime = _utc()
    source: str = "command line"
    class_id: int | None = Field(default=None, foreign_key="class_group.id")
    medium_id: int | None = Field(default=None, foreign_key="medium.id")
    centre_id: int | None = Field(default=None, foreign_key="centre.id")
    day: date | None = None
    mode: str = "cards"
    """cards · order (of numbers; only when the teacher chose it)"""
    absent: Any = _json()
    """Numbers that were absent, when the order of numbers is used."""
    state: str = "open"
    """open · reading · done"""
    expected: int = 0
    closed_utc: datetime | None = _utc_or_none()


class Photo(SQLModel, table=True):
    """One picture file as received. Its bytes are the original, found by ``sha256``. A photo of several works has a
    row for each of them, so that each is filed, asked about and undone by itself.
    """

    __table_args__ = (UniqueConstraint("sha256", "part"),)
    id: int | None = Field(default=None, primary_key=True)
    sha256: str
    part: int = Field(default=0, sa_column_kwargs={"server_default": "0"})
    """0 = the photo shows one work (or none); 1, 2, ... = which of its several works this row is about."""
    batch_id: int = Field(foreign_key="batch.id", index=True)
    position: int = 0
    file_name: str = ""
    size_bytes: int = Field(default=0, index=True)
    format: str | None = None
    width_px: int | None = None
    height_px: int | None = None
    taken_local: datetime | None = Field(default=None, sa_column=Column(DateTime, nullable=True, index=True))
    # sqlmodel would make a UTC column of a bare datetime; this one is the school's wall time
    taken_offset_minutes: int | None = None
    taken_source: str | None = None
    camera: str | None = None
    state: str = Field(default="stored", index=True)
    """stored · filed · question · problem · slate · aside"""
    problem_code: str | None = None
    problem_found: str | None = None
    reason: str | None = None
    """One sentence: why it is where it is."""
    reading: Any = _json()
    """What was seen (cards, outline, size, color) as JSON, with the recipe version."""
    crop_hash: str | None = None
    """64-bit perceptual hash of the crop as 16 hex digits."""
    coming: str = Field(default="", index=True, sa_column_kwargs={"server_default": ""})
    """Empty = the original was there from the beginning. Else ``sha256`` named a stand-in at first: how the original
    begins, as long as it is still on its way; "came" = its pictures are still the stand-in's; "renewed" = they are not.
    """
    decision: Any = _json()
    """What filing decided and the evidence values behind it, as JSON; says nothing about names."""
    derived_key: str | None = None
    """Names this photo's derivatives as they were first made; a view that is cropped anew has its own key."""
    stored_utc: datetime = _utc()
    by_hand: Any = _json()
    """What the teacher did to it while it was nobody's work yet: ``quarter_turns``, and parts that are ``hidden`` (like
    a view's masks). The view that it becomes takes both over; an edge set by hand stands in ``reading``.
    """


class Work(SQLModel, table=True):
    """One artwork by one child or a group. Class and number are those of the day it was made."""

    __table_args__ = (Index("ix_work_class_number", "class_id", "number"),)
    id: int | None = Field(default=None, primary_key=True)
    class_id: int = Field(foreign_key="class_group.id", index=True)
    number: int
    made_on: date = Field(index=True)
    title: str = ""
    medium_id: int | None = Field(default=None, foreign_key="medium.id", index=True)
    centre_id: int | None = Field(default=None, foreign_key="centre.id", index=True)
    width_mm: float | None = None
    height_mm: float | None = None
    size_about: bool = False
    sheet: str | None = None
    solid: bool = False
    group_work: bool = False
    removed: bool = False
    """Taken out by the teacher; kept so that it can be undone."""


class Maker(SQLModel, table=True):
    """Who made a work: one child or several."""

    __table_args__ = (UniqueConstraint("work_id", "student_id"),)
    id: int | None = Field(default=None, primary_key=True)
    work_id: int = Field(foreign_key="work.id", index=True)
    student_id: int = Field(foreign_key="student.id", index=True)


class View(SQLModel, table=True):
    """One photo of a work. ``role``: front · back · detail · angle · slip. Position 0 is the main picture."""

    id: int | None = Field(default=None, primary_key=True)
    work_id: int = Field(foreign_key="work.id", index=True)
    photo_id: int = Field(foreign_key="photo.id", index=True)
    role: str = "front"
    position: int = 0
    crop: Any = _json()
    """Outline in pixels of the upright photo, shape, sure, by_hand; empty = shown as taken."""
    quarter_turns: int = 0
    masks: Any = _json()
    """Regions (polygons in pixels of the upright photo) hidden from everyone but the teacher."""
    derived_key: str | None = None
    """Names the derivatives on disk; changes whenever they are made anew."""


class WorkColor(SQLModel, table=True):
    """Percent of a work in each basic color, paper excluded."""

    __tablename__ = "work_color"
    work_id: int = Field(foreign_key="work.id", primary_key=True, sa_column_kwargs={"autoincrement": False})
    red: int = 0
    orange: int = 0
    yellow: int = 0
    green: int = 0
    blue: int = 0
    purple: int = 0
    pink: int = 0
    brown: int = 0
    black: int = 0
    white: int = 0
    gray: int = 0


# --- words ------------------------------------------------------------------------------------------------


class Reflection(SQLModel, table=True):
    """What the child said or wrote, letter for letter; never altered. ``work_id`` empty = not matched yet."""

    id: int | None = Field(default=None, primary_key=True)
    work_id: int | None = Field(default=None, foreign_key="work.id", index=True)
    student_id: int = Field(foreign_key="student.id", index=True)
    text: str
    language: str = "en"
    written_by: str = "child"
    """child · teacher (spoken by the child) · helper"""
    said_on: date
    held: Any = _json()
    """Places where another child's name may stand: held back from everyone but the teacher until decided."""


class Observation(SQLModel, table=True):
    """What the teacher saw: a habit or skill, and how secure it is. Never about the worth of a work."""

    id: int | None = Field(default=None, primary_key=True)
    student_id: int = Field(foreign_key="student.id", index=True)
    work_id: int | None = Field(default=None, foreign_key="work.id", index=True)
    class_id: int | None = Field(default=None, foreign_key="class_group.id", index=True)
    what: str
    level: str
    """needs support · getting there · secure"""
    note: str = ""
    seen_on: date


class Tag(SQLModel, table=True):
    """A word that the teacher puts on works."""

    id: int | None = Field(default=None, primary_key=True)
    label: str = Field(unique=True)


class WorkTag(SQLModel, table=True):
    """A tag on a work."""

    __tablename__ = "work_tag"
    __table_args__ = (UniqueConstraint("work_id", "tag_id"),)
    id: int | None = Field(default=None, primary_key=True)
    work_id: int = Field(foreign_key="work.id", index=True)
    tag_id: int = Field(foreign_key="tag.id", index=True)


class QuestionRow(SQLModel, table=True):
    """What the program is unsure of; waits in To check."""

    __tablename__ = "question"
    id: int | None = Field(default=None, primary_key=True)
    kind: str = Field(index=True)
    batch_id: int | None = Field(default=None, foreign_key="batch.id", index=True)
    photo_id: int | None = Field(default=None, foreign_key="photo.id", index=True)
    work_id: int | None = Field(default=None, foreign_key="work.id", index=True)
    reflection_id: int | None = Field(default=None, foreign_key="reflection.id", index=True)
    evidence: str
    """One sentence why this is asked."""
    guess: Any = _json()
    options: Any = _json()
    group_key: str | None = None
    """Questions of a batch with the same group can be answered together."""
    beside: Any = _json()
    """Photos to show beside this one, by id."""
    state: str = Field(default="open", index=True)
    """open · later · answered · gone"""
    answer: Any = _json()
    asked_utc: datetime = _utc()
    answered_utc: datetime | None = _utc_or_none()


# --- shows ------------------------------------------------------------------------------------------------


class Show(SQLModel, table=True):
    """An exhibition."""

    id: int | None = Field(default=None, primary_key=True)
    title: str
    intro: str = ""
    year_id: int | None = Field(default=None, foreign_key="school_year.id", index=True)
    opens_on: date | None = None
    closes_on: date | None = None
    place: str = ""
    rules: Any = _json()
    """What was asked for when choosing: filters, limits per child, balance."""


class ShowWork(SQLModel, table=True):
    """A work chosen for (or kept out of) a show. ``mark``: chosen · must · never; ``reason`` explains it."""

    __tablename__ = "show_work"
    __table_args__ = (UniqueConstraint("show_id", "work_id"),)
    id: int | None = Field(default=None, primary_key=True)
    show_id: int = Field(foreign_key="show.id", index=True)
    work_id: int = Field(foreign_key="work.id", index=True)
    mark: str = "chosen"
    position: int = 0
    reason: str = ""


class Publication(SQLModel, table=True):
    """Something built for an audience, with the result of its name sweep.

    ``state``: current · replaced. Whether it still fits is seen when it is read (``flows/see_shows``).
    """

    id: int | None = Field(default=None, primary_key=True)
    show_id: int | None = Field(default=None, foreign_key="show.id", index=True)
    kind: str = "site"
    audience: str
    built_utc: datetime = _utc()
    digest: str = ""
    pages: int = 0
    pictures: int = 0
    sweep: Any = _json()
    state: str = "current"


class PublicationWork(SQLModel, table=True):
    """Which work stood in a publication, under which opaque id."""

    __tablename__ = "publication_work"
    id: int | None = Field(default=None, primary_key=True)
    publication_id: int = Field(foreign_key="publication.id", index=True)
    work_id: int = Field(foreign_key="work.id", index=True)
    opaque_id: str


class Disclosure(SQLModel, table=True):
    """Who was given what, when, why."""

    id: int | None = Field(default=None, primary_key=True)
    at_utc: datetime = _utc()
    audience: str
    what: str
    why: str = ""
    publication_id: int | None = Field(default=None, foreign_key="publication.id", index=True)
    student_id: int | None = Field(default=None, foreign_key="student.id", index=True)


# --- history, outbox, settings, people who sign in ---------------------------------------------------------


class Action(SQLModel, table=True):
    """One teacher action (or one decision of the program) = one transaction. Undone as a whole."""

    id: int | None = Field(default=None, primary_key=True)
    at_utc: datetime = _utc()
    who: str
    """teacher · helper · program · station"""
    what: str
    """A short verb phrase, e.g. "filed a photo", "imported a roster"."""
    batch_id: int | None = Field(default=None, foreign_key="batch.id", index=True)
    undo_of: int | None = Field(default=None, foreign_key="action.id")
    undone: bool = False


class HistoryLine(SQLModel, table=True):
    """One record changed by an action: the row before and after, so that it can be told and undone."""

    __tablename__ = "history_line"
    __table_args__ = (Index("ix_history_line_subject", "subject", "subject_id"),)
    id: int | None = Field(default=None, primary_key=True)
    action_id: int = Field(foreign_key="action.id", index=True)
    subject: str
    """Table name."""
    subject_id: int
    photo_id: int | None = None
    before: Any = _json()
    after: Any = _json()


class Outbox(SQLModel, table=True):
    """Works whose search words have changed; the indexer follows ``seq``."""

    seq: int | None = Field(default=None, primary_key=True)
    work_id: int = Field(index=True)


class SidecarDue(SQLModel, table=True):
    """Sidecar files that must be written again. ``unit``: work · photo · school."""

    __tablename__ = "sidecar_due"
    seq: int | None = Field(default=None, primary_key=True)
    unit: str
    unit_id: int


class Setting(SQLModel, table=True):
    """A named value that belongs to the library (school name, locale, current year)."""

    key: str = Field(primary_key=True, sa_column_kwargs={"autoincrement": False})
    value: Any = _json()


class Account(SQLModel, table=True):
    """Someone who may sign in. ``role``: teacher · helper."""

    id: int | None = Field(default=None, primary_key=True)
    role: str
    login: str = Field(unique=True)
    password_hash: str
    created_utc: datetime = _utc()
    failures: int = 0
    next_try_utc: datetime | None = _utc_or_none()


class SignIn(SQLModel, table=True):
    """One signed-in browser. Only the hash of its secret is stored."""

    __tablename__ = "sign_in"
    id: int | None = Field(default=None, primary_key=True)
    account_id: int = Field(foreign_key="account.id", index=True)
    secret_sha256: str = Field(unique=True)
    role: str
    """teacher · helper · station (of the account that opened it)"""
    class_id: int | None = None
    """The class of a station. Not a foreign key: a sign-in never stands in the way of taking a roster back."""
    created_utc: datetime = _utc()
    seen_utc: datetime = _utc()
    ends_utc: datetime = _utc()


class SetupCode(SQLModel, table=True):
    """The one-time code, printed in the console, that opens "choose a password". Only its hash is stored."""

    __tablename__ = "setup_code"
    id: int | None = Field(default=None, primary_key=True)
    secret_sha256: str
    ends_utc: datetime = _utc()
    used: bool = False


for _table in SQLModel.metadata.tables.values():
    if len(_table.primary_key.columns) == 1 and next(iter(_table.primary_key.columns)).autoincrement is not False:
        _table.kwargs["sqlite_autoincrement"] = True  # an id is never used again, even after its row was removed
