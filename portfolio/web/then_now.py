"""Then and now: two works of one child at one scale, chosen by the program or by the teacher. Nothing is judged."""

from __future__ import annotations

from dataclasses import replace

from portfolio.flows.look_back import StudentPage
from portfolio.model.finding import WorkShown
from portfolio.web import words
from portfolio.web.answers import Choice, Picture
from portfolio.web.answers_people import PairEnd, PairPicks, ThenNow
from portfolio.web.walls import picture_of, tile_of, title_of

SLID_PX = 620
"""How wide a picture is drawn at most when one lies over the other."""


def then_now_of(seen: StudentPage) -> ThenNow | None:
    """The pair; ``None`` when there are no two works far enough apart in time and none were picked."""
    pair = seen.pair
    if pair is None:
        return None
    same = pair.then.medium if pair.then.medium == pair.now.medium else None
    return ThenNow(
        title=f"Then and now: {same}" if same else "Then and now",
        then=_end(pair.then, "Then"),
        now=_end(pair.now, "Now"),
        between=words.between(pair.then.made_on, pair.now.made_on),
        why="You picked these two." if seen.picked else f"Why these two: {pair.why}.",
    )


def picks_of(seen: StudentPage) -> PairPicks | None:
    """What the teacher can pick from, oldest first; ``None`` when there are no two works with a picture."""
    works = [work for year in reversed(seen.years) for work in year.works if work.derived_key is not None]
    if len(works) < 2:
        return None
    then, now = (seen.pair.then, seen.pair.now) if seen.pair else (works[0], works[-1])
    return PairPicks(_choices(works, then), _choices(works, now), "" if seen.pair else "Which two?")


def _choices(works: list[WorkShown], chosen: WorkShown) -> tuple[Choice, ...]:
    return tuple(Choice(str(work.work_id), _said_short(work), work.work_id == chosen.work_id) for work in works)


def _said_short(work: WorkShown) -> str:
    parts = (words.month(work.made_on), work.class_label, words.capital(work.medium), work.title)
    return " · ".join(part for part in parts if part)


def _end(work: WorkShown, word: str) -> PairEnd:
    parts = (words.capital(work.medium), title_of(work))
    alt = f"{word}, {words.year(work.year)}: {', '.join(part for part in parts if part)}"
    small = picture_of(work)
    return PairEnd(
        tile=replace(tile_of(work, numbered=False), name=alt, picture=replace(small, alt=alt) if small else None),
        large=_large(small, work.derived_key, alt),
        href=f"/works/{work.work_id}",
        when=f"{words.month(work.made_on)}, {words.grade(work.grade)}",
        about=" · ".join(part for part in (words.year(work.year), *parts) if part),
    )


def _large(picture: Picture | None, key: str | None, alt: str) -> Picture | None:
    """The same picture, fine enough to be drawn several times as large as on a wall."""
    if picture is None:
        return None
    srcset = f"/pictures/{key}/672 672w, /pictures/{key}/2016 2016w"
    sizes = f"(max-width: 599px) 90vw, {SLID_PX}px"
    return replace(picture, src=f"/pictures/{key}/672", srcset=srcset, sizes=sizes, alt=alt)
