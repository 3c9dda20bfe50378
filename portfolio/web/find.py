"""Find: words, chips with counts, and calm walls of works, told apart by how they were found."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Annotated, Final
from urllib.parse import urlencode

from fastapi import APIRouter, Query, Request
from fastapi.responses import RedirectResponse, Response

from portfolio.flows.desk import Understood, understand
from portfolio.flows.find import filters_of, find, find_by_color, find_now
from portfolio.model.finding import COLORS, SIZES, Filters, Found
from portfolio.web import words
from portfolio.web.answers import Chip, Wall
from portfolio.web.answers_find import FindPage, TierWall
from portfolio.web.desk import Desk, desk_of
from portfolio.web.render import note, page
from portfolio.web.walls import by_year, tile_of

router = APIRouter(include_in_schema=False)

FACETS: Final = {
    "grade": "grade",
    "year": "year",
    "class": "class_label",
    "medium": "medium",
    "center": "centre",
    "color": "color",
    "size": "size",
    "said": "words",
}
"""Word in the address → filter."""
_FEW: Final = {"medium": 4, "color": 2, "grade": 3, "year": 1, "size": 3, "said": 2}
"""How many chips of each kind stand open; the rest are under "More to choose from"."""
_CHIPS: Final = {
    "size": {
        "small": "Small, under 10 in",
        "medium": "Middle-sized, 10 to 15 in",
        "large": "Large, over 15 in",
        "about": "Size only about",
        "unmeasured": "Size not measured",
    },
    "said": {"with": "With words", "without": "Without words"},
}
"""Chips whose words are ours; what else the address says of these kinds is not asked for."""
SAID: Final = {"with": True, "without": False}
"""Works with a child's words, or without."""
Short = Annotated[str, Query(max_length=100)]
Words = Annotated[str, Query(max_length=200)]
Offset = Annotated[int, Query(ge=0, le=10_000_000)]


@dataclass(frozen=True, slots=True)
class Asked:
    """What the address asks for: the words and the chips that are switched on."""

    words: str
    chosen: dict[str, str]
    offset: int = 0

    @property
    def href(self) -> str:
        """The address of this question."""
        found = {"words": self.words, **self.chosen, **({"offset": str(self.offset)} if self.offset else {})}
        query = urlencode({key: value for key, value in found.items() if value})
        return f"/find?{query}" if query else "/find"

    def toggled(self, chip: str) -> Asked:
        """The same question with one chip ("medium:Clay") switched on or off."""
        kind, _, value = chip.partition(":")
        if kind not in FACETS:
            return self
        chosen = {key: kept for key, kept in self.chosen.items() if key != kind}
        if self.chosen.get(kind) != value:
            chosen[kind] = value
        return replace(self, chosen=chosen, offset=0)


@router.get("/find")
def show_find(
    request: Request,
    *,
    words: Words = "",
    grade: Short = "",
    year: Short = "",
    class_label: Annotated[str, Query(alias="class", max_length=100)] = "",
    medium: Short = "",
    center: Short = "",
    color: Short = "",
    size: Short = "",
    said: Short = "",
    toggle: Short = "",
    offset: Offset = 0,
) -> Response:
    """The works that fit; a pressed chip leads to the address of the new question."""
    given = {"grade": grade, "year": year, "class": class_label, "medium": medium, "center": center}
    ours = {"color": (color, COLORS), "size": (size, SIZES), "said": (said, SAID)}
    given |= {kind: value for kind, (value, known) in ours.items() if value in known}
    asked = Asked(words.strip(), {key: value for key, value in given.items() if value}, offset)
    if toggle:
        return RedirectResponse(asked.toggled(toggle).href, status_code=303)
    desk = desk_of(request)
    return page(request, "find.html", drawer="/find", page=find_page(desk, asked))


def find_page(desk: Desk, asked: Asked) -> FindPage:
    """The answer: what was typed is understood as words, a class, a class and number, or a color."""
    today = desk.today()
    chosen = asked.chosen
    plain = {kind: value for kind, value in chosen.items() if kind != "said"}
    filters = filters_of({**plain, "with_words": SAID.get(chosen.get("said", ""))})
    meant = understand(desk.library, asked.words, today=today)
    if meant.student_id is not None:
        found = find(
            desk.library, desk.words, "", filters=replace(filters, student_id=meant.student_id), offset=asked.offset
        )
    elif meant.class_label is not None:
        found = find(
            desk.library, desk.words, "", filters=replace(filters, class_label=meant.class_label), offset=asked.offset
        )
    else:
        found = find_now(desk.library, desk.words, asked.words, filters=filters, offset=asked.offset)
    tiers = list(_tiers(found, asked))
    also = _by_color(desk, asked, filters) if not asked.offset else None
    if also:
        tiers.append(also)
    shown = asked.offset + len(found.works)
    open_chips, more_chips = _chips(found, asked)
    return FindPage(
        words=asked.words,
        chips=open_chips,
        more_chips=more_chips,
        hidden=tuple(asked.chosen.items()),
        total=_total(found, asked, shown),
        tiers=tuple(tiers),
        more_href=replace(asked, offset=shown).href if shown < found.total else "",
        nothing="" if tiers else _nothing(asked, meant=meant != Understood()),
        note=note("index-behind") if found.behind else None,
    )


def _tiers(found: Found, asked: Asked) -> list[TierWall]:
    whole = found.total <= len(found.works)
    walls = []
    for tier in dict.fromkeys(one.tier for one in found.works):
        works = [one.work for one in found.works if one.tier == tier]
        count = f" · {len(works)}" if whole else ""
        title, sentence = _tier_words(tier, asked, found)
        tiles = tuple(tile_of(work, second=by_year) for work in works)
        walls.append(TierWall(f"{title}{count}", sentence, Wall(tiles)))
    return walls


def _tier_words(tier: str, asked: Asked, found: Found) -> tuple[str, str]:
    typed = f"“{asked.words}”"
    match tier:
        case "exact" if found.showing_for:
            return f"Written “{found.showing_for}”", f"No work has {typed}. These have a word close to it."
        case "exact":
            return f"Written {typed}", ""
        case "children":
            return "As children spell it", "Spelled by ear, the way it sounds."
        case "maybe":
            return "Maybe", "Only near to what you typed."
        case "name":
            return "By a child with this name", ""
    return ("Works that fit" if asked.words or asked.chosen else "Every work, newest first"), ""


def _by_color(desk: Desk, asked: Asked, filters: Filters) -> TierWall | None:
    """A color that was typed is also looked for in the pictures."""
    color = asked.words.lower().removeprefix("mostly ").strip()
    if color not in COLORS or filters.color:
        return None
    found = find_by_color(desk.library, color, filters=filters)
    if not found.total:
        return None
    tiles = tuple(tile_of(one.work, second=by_year) for one in found.works)
    return TierWall(f"Mostly {color} · {found.total}", "Seen in the picture, the most of it first.", Wall(tiles))


def _chips(found: Found, asked: Asked) -> tuple[tuple[Chip, ...], tuple[Chip, ...]]:
    on = [Chip(f"{key}:{value}", _chip_words(key, value), chosen=True) for key, value in asked.chosen.items()]
    few: list[Chip] = []
    more: list[Chip] = []
    for key, filter_name in FACETS.items():
        if key in asked.chosen:
            continue
        offered = [pair for pair in found.facets.get(filter_name, ()) if pair[1]]
        if len(offered) < 2:
            continue
        chips = [Chip(f"{key}:{value}", _chip_words(key, value), count) for value, count in offered]
        few += chips[: _FEW.get(key, 0)]
        more += chips[_FEW.get(key, 0) :]
    return (*on, *few), tuple(more)


def _chip_words(key: str, value: str) -> str:
    match key:
        case "grade":
            return words.grade(value)
        case "color":
            return f"Mostly {value}"
        case "year":
            return words.year(value)
        case "size" | "said":
            return _CHIPS[key][value]
        case "center":
            return f"{words.capital(value)} center"
    return words.capital(value)


def _total(found: Found, asked: Asked, shown: int) -> str:
    if not found.total:
        return ""
    if shown >= found.total and not asked.offset:
        return f"{words.count(found.total, 'work')} in all."
    return f"{asked.offset + 1:,} to {shown:,} of {found.total:,} works."


def _nothing(asked: Asked, *, meant: bool) -> str:
    if not asked.words and not asked.chosen:
        return "Nothing is kept yet. After the next lesson, add the photos."
    if asked.chosen and not asked.words:
        return "No work fits all of these. Switch one off."
    if meant:
        return "Nothing is kept here yet."
    return "No work has this word. Try one letter less, or a color."
