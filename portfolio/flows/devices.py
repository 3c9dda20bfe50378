"""Which browsers are signed in, and ending them; and what came in from reflection stations today. For the teacher."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from portfolio.archive import accounts, finding, school, shows, words
from portfolio.archive.library import Library, Session
from portfolio.errors import NotFound
from portfolio.flows.sign_in import TEACHER, Visitor, stands
from portfolio.flows.station import WROTE
from portfolio.model.finding import WorkShown


@dataclass(frozen=True, slots=True)
class DeviceSeen:
    """One signed-in browser. ``login``: of a helper; ``class_label``: of a station; ``here``: the one that asks."""

    sign_in_id: int
    role: str
    login: str
    class_label: str
    since_utc: datetime
    used_utc: datetime
    ends_utc: datetime
    here: bool


def see_devices(library: Library, asking: Visitor, *, now: datetime) -> tuple[DeviceSeen, ...]:
    """Every browser that is signed in now, the one that asks first, then the newest."""
    with library.reading() as session:
        logins = {one.account_id: one.login for one in accounts.accounts(session)}
        found = [
            DeviceSeen(
                sign_in_id=one.sign_in_id,
                role=one.role,
                login=logins.get(one.account_id, ""),
                class_label=_label(session, one.class_id),
                since_utc=one.created_utc,
                used_utc=one.seen_utc,
                ends_utc=one.ends_utc,
                here=one.sign_in_id == asking.sign_in_id,
            )
            for one in accounts.sign_ins(session, now_utc=now)
            if stands(one, now)
        ]
    return tuple(sorted(found, key=lambda one: not one.here))


def _label(session: Session, class_id: int | None) -> str:
    if class_id is None:
        return ""
    try:
        return school.class_by_id(session, class_id).label
    except NotFound:  # the roster that brought the class was taken back
        return ""


def end_device(library: Library, sign_in_id: int) -> None:
    """Sign one browser out at once. One that has ended by itself meanwhile is no trouble."""
    with library.writing(who=TEACHER, what="signed a browser out") as writing:
        accounts.end_sign_in(writing.session, sign_in_id)


def end_other_devices(library: Library, asking: Visitor) -> int:
    """Sign out every browser but the one that asks; gives how many."""
    with library.writing(who=TEACHER, what="signed all other browsers out") as writing:
        return accounts.end_others(writing.session, asking.sign_in_id)


@dataclass(frozen=True, slots=True)
class WrittenSeen:
    """What a child wrote at a station, and the step that takes it back."""

    action_id: int
    work: WorkShown
    text: str
    held: bool
    """A place in it may name a child and waits for the teacher."""


def see_written(library: Library, day: date) -> tuple[WrittenSeen, ...]:
    """Everything that was written at stations on a day and stands, the newest first."""
    with library.reading() as session:
        found = words.written_on(session, day, what=WROTE)
        shown = {one.work_id: one for one in finding.shown(session, [work_id for _, _, work_id, _ in found])}
        return tuple(
            WrittenSeen(step, shown[work_id], said.text, held=_waits(session, key))
            for step, key, work_id, said in found
            if work_id in shown
        )


def _waits(session: Session, reflection_id: int) -> bool:
    return any(one.decided is None for one in shows.words_of(session, reflection_id).held)
