"""Find works: words through the index, filters and facets through the records, a child's name through ``privacy``."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from portfolio.archive import finding, people
from portfolio.archive.library import Library, Session
from portfolio.flows.indexing import Words
from portfolio.model.finding import Filters, Found, FoundWork, WorkShown
from portfolio.privacy.asking import asked_for

PAGE = 60
"""Works on one page."""


def find(
    library: Library, words: Words, typed: str, *, filters: Filters | None = None, limit: int = PAGE, offset: int = 0
) -> Found:
    """The works that fit the words typed and the filters. Without words: all that fit, newest first.

    A child's name typed by the teacher finds that child's works, after the works whose own words hold it.
    """
    filters = filters or Filters()
    with library.reading() as session:
        allowed = finding.matching_ids(session, filters)
        if not typed.strip():
            return _answer(session, [(key, "") for key in allowed], limit=limit, offset=offset)
        result = words.search(typed, allowed_ids=None if filters == Filters() else allowed)
        there = set(allowed)  # the index may lag behind by a moment
        ranked = [(int(hit.work_id), hit.tier.value) for hit in result.hits if int(hit.work_id) in there]
        ranked += _by_name(session, typed, allowed=allowed, found={key for key, _ in ranked})
        showing = result.showing_for[0].shown[0] if result.showing_for else None
        return _answer(session, ranked, limit=limit, offset=offset, showing_for=showing)


def found_as_json(found: FoundWork) -> dict[str, Any]:
    """One found work as the contract of ``portfolio find --json`` and the JSON door have it."""
    return {**work_as_json(found.work), "tier": found.tier}


def work_as_json(work: WorkShown) -> dict[str, Any]:
    """What every contract says of a work."""
    return {
        "work": work.work_id,
        "title": work.title,
        "class": work.class_label,
        "number": work.number,
        "grade": work.grade,
        "year": work.year,
        "medium": work.medium,
        "made_on": work.made_on.isoformat(),
    }


def suggest(words: Words, prefix: str) -> list[str]:
    """Words of the archive that begin like the last word typed, for the box while the teacher types."""
    return words.suggest(prefix)


def _by_name(session: Session, typed: str, *, allowed: Sequence[int], found: set[int]) -> list[tuple[int, str]]:
    children = asked_for(typed, people.names(session))
    theirs = {key for child in children for key in finding.matching_ids(session, Filters(student_id=child))}
    return [(key, "name") for key in allowed if key in theirs and key not in found]


def _answer(
    session: Session, ranked: list[tuple[int, str]], *, limit: int, offset: int, showing_for: str | None = None
) -> Found:
    page = ranked[offset : offset + limit]
    tiers = dict(page)
    works = finding.shown(session, [key for key, _ in page])
    return Found(
        total=len(ranked),
        works=tuple(FoundWork(work, tiers[work.work_id]) for work in works),
        facets=finding.facets(session, [key for key, _ in ranked]),
        showing_for=showing_for,
    )
