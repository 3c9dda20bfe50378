"""Words that may name a child wait for the teacher: each place is shown or kept. The words themselves never change."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace

from portfolio.archive import shows
from portfolio.archive.library import Library
from portfolio.errors import NotFound
from portfolio.model.showing import Decision, HeldPlace, WordsKept
from portfolio.privacy.words import NameFinder, hold


@dataclass(frozen=True, slots=True)
class HeldWords:
    """One child's words with the places that wait. For the teacher's own view only."""

    reflection_id: int
    work_id: int | None
    words: WordsKept


def waiting(
    library: Library, *, work_ids: Collection[int] | None = None, reflection_id: int | None = None
) -> tuple[HeldWords, ...]:
    """All words with an undecided place, oldest first; ``work_ids``: of these works only, e.g. of a show;
    ``reflection_id``: these words only.
    """
    with library.reading() as session:
        found = shows.held_words(session, work_ids=work_ids)
    return tuple(
        HeldWords(key, work_id, words) for key, (work_id, words) in found.items() if reflection_id in (None, key)
    )


def decide(
    library: Library, reflection_id: int, decisions: Mapping[int, Decision], *, who: str = "teacher"
) -> tuple[HeldPlace, ...]:
    """Decide places of a text by where they start: shown (names nobody, or may stay) or kept (nobody else sees the
    text). Gives all places as they stand now; refuses a start that no place has.
    """
    with library.writing(who=who, what="decided about a name in a child's words") as writing:
        kept = shows.words_of(writing.session, reflection_id)
        if unknown := set(decisions) - {place.start for place in kept.held}:
            raise NotFound("not-found", item=f"A held place at letter {min(unknown)}")
        held = tuple(replace(place, decided=decisions.get(place.start, place.decided)) for place in kept.held)
        shows.set_held(writing.session, reflection_id, held)
    return held


def decide_waiting(
    library: Library, reflection_id: int, decision: Decision, *, work_id: int, who: str = "teacher"
) -> tuple[HeldPlace, ...]:
    """Decide every place of a text that waits, read on the page of its work. Gives all places as they stand now;
    refuses words that are not about this work or of which nothing waits.
    """
    (held,) = waiting(library, work_ids=[work_id], reflection_id=reflection_id) or (None,)
    if held is None:
        raise NotFound("not-found", item="A place that waits in these words")
    places = {place.start: decision for place in held.words.held if place.decided is None}
    return decide(library, reflection_id, places, who=who)


def look_again(library: Library, *, who: str = "program") -> int:
    """Hold names that came later: every text is looked through with the names of today; what was
    decided stays. Tells how many texts wait now that did not before.
    """
    with library.writing(who=who, what="looked through children's words for names") as writing:
        session = writing.session
        finder = NameFinder(shows.known_children(session))
        fresh = 0
        for reflection_id, kept in shows.all_words(session).items():
            held = hold(finder, kept.text, before=kept.held)
            if held != kept.held:
                shows.set_held(session, reflection_id, held)
                fresh += any(place.decided is None for place in held if place not in kept.held)
    return fresh
