"""The page of one work: its views, what the child said, what the teacher saw, and what happened to it."""

from __future__ import annotations

from dataclasses import dataclass

from portfolio.archive import finding, one_work, people, room, shows, words
from portfolio.archive.library import Library
from portfolio.archive.one_work import ActionSeen, ViewSeen
from portfolio.errors import NotFound
from portfolio.flows.desk import teachers_name
from portfolio.model.finding import WorkShown
from portfolio.model.school import Centre, Medium
from portfolio.model.showing import HeldPlace
from portfolio.model.words import Observed, Said


@dataclass(frozen=True, slots=True)
class SaidSeen:
    """A child's words about the work, and the places in them where another child's name may stand."""

    reflection_id: int
    said: Said
    held: tuple[HeldPlace, ...]


@dataclass(frozen=True, slots=True)
class WorkSeen:
    """One work, for the teacher: the names of its makers are opened."""

    work: WorkShown
    makers: tuple[tuple[int, str], ...]
    """(student, name), the first maker first."""
    views: tuple[ViewSeen, ...]
    said: tuple[SaidSeen, ...]
    observed: tuple[Observed, ...]
    tags: tuple[str, ...]
    mostly: tuple[str, ...]
    actions: tuple[ActionSeen, ...]
    media: tuple[Medium, ...]
    centers: tuple[Centre, ...]


def see_work(library: Library, work_id: int) -> WorkSeen:
    """Everything about one work. A work that was taken out is not there."""
    with library.reading() as session:
        shown = finding.shown(session, [work_id])
        if not shown:
            raise NotFound("not-found", item=f"Work {work_id}")
        work = shown[0]
        names = people.names(session, set(work.student_ids))
        makers = tuple((key, teachers_name(names[key])) for key in work.student_ids)
        return WorkSeen(
            work=work,
            makers=makers,
            views=one_work.views(session, work_id),
            said=tuple(
                SaidSeen(key, said, shows.words_of(session, key).held)
                for key, said in words.reflections_of(session, [work_id]).get(work_id, ())
            ),
            observed=words.observations_of(session, work_id=work_id),
            tags=words.tags_of(session, work_id),
            mostly=one_work.mostly(session, work_id),
            actions=one_work.actions(session, work_id),
            media=room.media(session),
            centers=room.centres(session),
        )
