"""The teacher describes a work: title, medium, center, tags, what she saw. Each call is one action, to be undone."""

from __future__ import annotations

from collections.abc import Collection

from portfolio.archive import describing, room, words
from portfolio.archive.library import Library
from portfolio.errors import PortfolioError
from portfolio.model.words import LEVELS, Observed

TITLE_MAX = 200
TAG_MAX = 60
TAGS_MAX = 40


def describe(
    library: Library,
    work_id: int,
    *,
    title: str | None = None,
    medium: str | None = None,
    centre: str | None = None,
    tags: Collection[str] | None = None,
) -> int:
    """Change what is given, keep what is ``None``; an empty medium or center takes it away. Gives the action's id."""
    if title is not None and len(title) > TITLE_MAX:
        raise PortfolioError("bad-request", item="The title", found=f"it has more than {TITLE_MAX} letters")
    if tags is not None and (len(tags) > TAGS_MAX or any(len(one) > TAG_MAX for one in tags)):
        found = f"a work has at most {TAGS_MAX} tags, each of at most {TAG_MAX} letters"
        raise PortfolioError("bad-request", item="The tags", found=found)
    with library.writing(who="teacher", what="described a work") as writing:
        session = writing.session
        changes: dict[str, object] = {}
        if title is not None:
            changes["title"] = title.strip()
        if medium is not None:
            changes["medium_id"] = room.medium_by_label(session, medium).medium_id if medium else None
        if centre is not None:
            changes["centre_id"] = room.centre_by_label(session, centre).centre_id if centre else None
        describing.change_work(session, work_id, **changes)
        if tags is not None:
            words.set_tags(session, work_id, tags)
        return writing.action_id


def take_out(library: Library, work_id: int) -> int:
    """Take a work out of everything that is shown; it is kept and can be undone. Gives the action's id."""
    with library.writing(who="teacher", what="took a work out") as writing:
        describing.change_work(writing.session, work_id, removed=True)
        return writing.action_id


def observe(library: Library, seen: Observed) -> int:
    """Keep what the teacher saw of a child. Gives the action's id."""
    if seen.level not in LEVELS:
        raise PortfolioError("bad-request", item="The level", found=f"one of {', '.join(LEVELS)} is needed")
    if not seen.what.strip():
        raise PortfolioError("bad-request", item="The observation", found="it says no habit or skill")
    with library.writing(who="teacher", what="noted an observation") as writing:
        words.add_observation(writing.session, seen)
        return writing.action_id
