"""Find works: words through the index, filters and facets through the records, a child's name through ``privacy``."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any, Final

from portfolio.archive import finding, people
from portfolio.archive.facets import WORDS
from portfolio.archive.library import Library, Session
from portfolio.errors import NotFound
from portfolio.flows.indexing import STOPPED, Words
from portfolio.model.finding import COLORS, SIZES, Filters, Found, FoundWork, WorkShown
from portfolio.privacy.asking import asked_for

PAGE = 60
"""Works on one page."""


_CALLED: Final = {"class": "class_label", "center": "centre", "student": "student_id"}
"""Filters that are called otherwise outside."""


def filters_of(given: Mapping[str, Any]) -> Filters:
    """The filters by the words of screens, commands and machines; an empty one is not asked. Refuses a color or a size
    that is none.
    """
    for name, known in (("color", COLORS), ("size", SIZES)):
        if given.get(name) and given[name] not in known:
            raise NotFound("not-found", item=f"The {name} '{given[name]}' (one of {', '.join(known)})")
    return Filters(**{_CALLED.get(name, name): value for name, value in given.items() if value not in (None, "")})


def find(
    library: Library, words: Words, typed: str, *, filters: Filters | None = None, limit: int = PAGE, offset: int = 0
) -> Found:
    """The works that fit the words typed and the filters. Without words: all that fit, newest first.

    A child's name typed by the teacher finds that child's works, after the works whose own words hold it.
    """
    filters = filters or Filters()
    with library.reading() as session:
        if not typed.strip():
            page = finding.matching_ids(session, filters, limit=limit, offset=offset)
            facets = library.facets.of(session, filters)
            return Found(
                total=sum(count for _, count in facets[WORDS]),
                works=_shown(session, page),
                facets=facets,
            )
        allowed = None if filters == Filters() else finding.ids_of(session, filters)
        result = words.search(typed, allowed_ids=allowed)
        hits = [int(hit.work_id) for hit in result.hits]
        there = finding.still_there(session, hits)  # the index may lag behind by a moment
        ranked = {key: hit.tier.value for key, hit in zip(hits, result.hits, strict=True) if key in there}
        for key in _by_name(session, typed, filters):
            ranked.setdefault(key, "name")
        showing = result.showing_for[0].shown[0] if result.showing_for else None
        return Found(
            total=len(ranked),
            works=_shown(session, list(ranked)[offset : offset + limit], ranked),
            facets=library.facets.of(session, ranked),
            showing_for=showing,
        )


def find_now(
    library: Library, words: Words, typed: str, *, filters: Filters, limit: int = PAGE, offset: int = 0
) -> Found:
    """``find`` by the newest words. An index that cannot be brought up to date (a full disk) does not close Find: it
    answers by what it knows, a torn one by children's names alone, and the answer says so (``behind``).
    """
    is_current = words.is_current()
    try:
        found = find(library, words, typed, filters=filters, limit=limit, offset=offset)
    except STOPPED:
        is_current, found = False, _found_by_name(library, typed, filters, limit=limit, offset=offset)
    return replace(found, behind=not is_current and bool(typed.strip()))


def _found_by_name(library: Library, typed: str, filters: Filters, *, limit: int, offset: int) -> Found:
    with library.reading() as session:
        tiers = dict.fromkeys(_by_name(session, typed, filters), "name")
        return Found(
            total=len(tiers),
            works=_shown(session, list(tiers)[offset : offset + limit], tiers),
            facets=library.facets.of(session, tiers),
        )


def count_ahead(library: Library) -> None:
    """Count all works once, so that the first answer is as quick as the next."""
    with library.reading() as session:
        library.facets.of(session, Filters())


def find_by_color(library: Library, color: str, *, filters: Filters) -> Found:
    """The works that are mostly of this color, the most of it first: how many, and the first page of them. No counts
    of further filters: at 20,000 works they would be most of the time, and this wall has no chips of its own.
    """
    asked = replace(filters, color=color)
    with library.reading() as session:
        works = _shown(session, finding.matching_ids(session, asked, limit=PAGE))
        return Found(total=finding.how_many(session, asked), works=works)


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


def _by_name(session: Session, typed: str, filters: Filters) -> list[int]:
    children = asked_for(typed, people.names(session))
    return finding.matching_ids(session, filters, students=children) if children else []


def _shown(session: Session, page: Sequence[int], tiers: Mapping[int, str] | None = None) -> tuple[FoundWork, ...]:
    tiers = tiers or {}
    return tuple(FoundWork(work, tiers.get(work.work_id, "")) for work in finding.shown(session, page))
