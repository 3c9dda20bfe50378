"""A show is planned: made, offered works, chosen fairly, marked by hand. Only what may be shown is ever chosen."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Final

from portfolio.archive import finding, school, shows
from portfolio.archive.library import Library, Session
from portfolio.errors import NotFound, PortfolioError
from portfolio.model.finding import Filters, WorkShown
from portfolio.model.people import Audience
from portfolio.model.showing import (
    Candidate,
    Choice,
    KnownChild,
    Mark,
    Reason,
    ShowLimits,
    ShowValue,
)
from portfolio.privacy.releases import all_may_show
from portfolio.shows.choose import choose

MAT_MM, GAP_MM, LABEL_MM = 38, 50, 60
"""Mat on each side, space between works, label below: what a work takes of a wall beyond itself (common practice, no
source; the hanging plan measures exactly)."""
NOT_ALLOWED: Final = "Its family has not allowed it to be shown to these readers."
NOT_ALL_ALLOWED: Final = "Not every family of this group has allowed it to be shown to these readers."
NOBODY: Final = "It is not known who made it."


@dataclass(frozen=True, slots=True)
class Added:
    """How many works were offered to a show, and how many of them were in it before."""

    added: int
    there: int


@dataclass(frozen=True, slots=True)
class ShowLine:
    """One work of a show for the teacher: facts, mark, reason, and whether these readers may see it."""

    work: WorkShown
    mark: Mark
    reason: str
    may_show: bool


@dataclass(frozen=True, slots=True)
class ShowSeen:
    """A show with its works, as asked for one audience."""

    show: ShowValue
    audience: Audience
    lines: tuple[ShowLine, ...]
    may_show: int
    """Works of the show that these readers may see."""


def all_shows(library: Library) -> tuple[ShowValue, ...]:
    """Every show, newest first."""
    with library.reading() as session:
        return shows.shows(session)


def new_show(
    library: Library,
    title: str,
    *,
    intro: str = "",
    year: str | None = None,
    place: str = "",
    opens_on: date | None = None,
    closes_on: date | None = None,
    today: date | None = None,
    who: str = "teacher",
) -> ShowValue:
    """Make a show in a school year (the current one when none is named)."""
    if not title.strip():
        raise PortfolioError("bad-request", item="The title of the show", found="it is empty")
    if opens_on and closes_on and closes_on < opens_on:
        raise PortfolioError("bad-request", item="The last day of the show", found="it is before the first day")
    with library.writing(who=who, what="made a show") as writing:
        found = school.pick_year(writing.session, year, today=today or date.today())  # noqa: DTZ011  the school's day
        wanted = ShowValue(
            0, title.strip(), intro.strip(), found.year_id, found.label, place.strip(), opens_on, closes_on
        )
        return replace(wanted, show_id=shows.add_show(writing.session, wanted))


def add_works(
    library: Library,
    asked: str | int,
    *,
    work_ids: Collection[int] = (),
    filters: Filters | None = None,
    who: str = "teacher",
) -> Added:
    """Offer works to a show: these, or all that fit the filters. Nothing is decided yet about releases."""
    with library.writing(who=who, what="offered works to a show") as writing:
        session = writing.session
        show = shows.find_show(session, asked)
        wanted = list(work_ids) or (finding.matching_ids(session, filters) if filters is not None else [])
        known = {work.work_id for work in finding.shown(session, wanted)}
        if unknown := sorted(set(work_ids) - known):
            raise NotFound("not-found", item=f"Work {unknown[0]}")
        there = {one.work_id for one in shows.marks(session, show.show_id)}
        fresh = [key for key in wanted if key in known and key not in there]
        shows.set_marks(session, show.show_id, dict.fromkeys(fresh, (Mark.OFFERED, "")))
        return Added(len(fresh), len(known) - len(fresh))


def mark_works(library: Library, asked: str | int, work_ids: Iterable[int], *, mark: Mark, who: str = "teacher") -> int:
    """Mark works by hand: must be in, never in, chosen, or back to offered; tells how many changed."""
    said = {
        Mark.MUST: "You marked it to be in the show.",
        Mark.NEVER: "You marked it to stay out.",
        Mark.CHOSEN: "You chose it.",
        Mark.OFFERED: "",
    }
    with library.writing(who=who, what="marked works of a show") as writing:
        session = writing.session
        show = shows.find_show(session, asked)
        known = [work.work_id for work in finding.shown(session, list(work_ids))]
        if not known:
            raise NotFound("not-found", item="This work")
        return shows.set_marks(session, show.show_id, dict.fromkeys(known, (mark, said[mark])))


def say_plain_title(
    library: Library,
    asked: str | int,
    *,
    work_ids: Collection[int] = (),
    show_title: bool = False,
    who: str = "teacher",
) -> None:
    """The teacher has looked: the titles of these works (``show_title``: the show's own words) name nobody, though a
    word in them is also a child's name. The sweep then lets exactly these pass.
    """
    with library.writing(who=who, what="said that a title names nobody") as writing:
        show = shows.find_show(writing.session, asked)
        plain = sorted(plain_titles(show) | set(work_ids))
        rules = {**show.rules, "plain_titles": plain, "plain_title": show_title or bool(show.rules.get("plain_title"))}
        shows.change_show(writing.session, show.show_id, rules=rules)


def plain_titles(show: ShowValue) -> set[int]:
    """Works of a show whose titles the teacher has said to name nobody."""
    kept = show.rules.get("plain_titles", ())
    return {int(key) for key in kept} if isinstance(kept, list | tuple) else set()


def choose_works(
    library: Library,
    asked: str | int,
    *,
    audience: Audience,
    limits: ShowLimits,
    today: date | None = None,
    who: str = "teacher",
) -> Choice:
    """Choose among the works offered (none offered = all of the show's year): every child at least once if possible.
    What was chosen before tends to stay.

    The reasons cover every work of the show, also those that may not be shown.
    """
    day = today or date.today()  # noqa: DTZ011  the school's day
    with library.writing(who=who, what="chose the works of a show") as writing:
        session = writing.session
        show = shows.find_show(session, asked)
        if not shows.marks(session, show.show_id):  # nothing was offered by hand: the whole year is
            whole_year = finding.matching_ids(session, Filters(year=show.year or None))
            shows.set_marks(session, show.show_id, dict.fromkeys(whole_year, (Mark.OFFERED, "")))
        free, barred = _parted(session, show, audience, day=day)
        marked = {one.work_id: one.mark for one in shows.marks(session, show.show_id)}
        before = shows.shown_elsewhere(session, show.show_id)
        candidates = [_candidate(work, marked[work.work_id], shown_before=work.work_id in before) for work in free]
        stay = frozenset(key for key, mark in marked.items() if mark in (Mark.CHOSEN, Mark.MUST))
        choice = choose(candidates, limits, stay=stay)
        reasons = {**choice.reasons, **{key: Reason(False, why) for key, why in barred.items()}}
        shows.set_choice(session, show.show_id, reasons)
        rules = {**show.rules, "audience": audience.value, "per_child": limits.per_child, "works": limits.works}
        shows.change_show(session, show.show_id, rules=rules)
    return replace(choice, reasons=reasons)


def seen(library: Library, asked: str | int, *, audience: Audience, today: date | None = None) -> ShowSeen:
    """A show with every work in it, its mark and its reason."""
    day = today or date.today()  # noqa: DTZ011  the school's day
    with library.reading() as session:
        show = shows.find_show(session, asked)
        free, barred = _parted(session, show, audience, day=day)
        works = {work.work_id: work for work in finding.shown(session, [*(one.work_id for one in free), *barred])}
        lines = tuple(
            ShowLine(works[one.work_id], one.mark, barred.get(one.work_id, one.reason), one.work_id not in barred)
            for one in shows.marks(session, show.show_id)
            if one.work_id in works
        )
    return ShowSeen(show, audience, lines, len(free))


def makers_of(work: WorkShown, children: Mapping[int, KnownChild]) -> list[KnownChild]:
    """The children who made a work."""
    return [children[key] for key in work.student_ids if key in children]


def why_barred(work: WorkShown, children: Mapping[int, KnownChild], audience: Audience, *, day: date) -> str:
    """Why these readers may not see a work; empty = they may."""
    makers = makers_of(work, children)
    if not makers or len(makers) < len(work.student_ids):
        return NOBODY
    if all_may_show([child.releases for child in makers], audience, day=day):
        return ""
    return NOT_ALLOWED if len(makers) == 1 else NOT_ALL_ALLOWED


def _parted(
    session: Session, show: ShowValue, audience: Audience, *, day: date
) -> tuple[list[WorkShown], dict[int, str]]:
    """The show's works that these readers may see, and why not for the others. Works taken out since are gone."""
    children = {child.student_id: child for child in shows.known_children(session)}
    works = finding.shown(session, [one.work_id for one in shows.marks(session, show.show_id)])
    why = {work.work_id: why_barred(work, children, audience, day=day) for work in works}
    return [work for work in works if not why[work.work_id]], {key: told for key, told in why.items() if told}


def _candidate(work: WorkShown, mark: Mark, *, shown_before: bool) -> Candidate:
    area = None
    if work.width_mm and work.height_mm:
        wide = work.width_mm + 2 * MAT_MM + GAP_MM
        area = round(wide * (work.height_mm + 2 * MAT_MM + LABEL_MM + GAP_MM))
    own = mark if mark in (Mark.MUST, Mark.NEVER) else Mark.OFFERED
    return Candidate(
        work.work_id, work.student_ids, work.grade, work.medium or "", area, mark=own, shown_before=shown_before
    )
