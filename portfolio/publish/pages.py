"""The pages of a show's site: walls, one page a work, and a page to find a work.

A page knows a digest of everything that goes into it, so that a rebuild writes only what changed. Works hang in the
order of their opaque ids: it tells nothing about the roster.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

from markupsafe import Markup

from portfolio.model.people import Audience
from portfolio.model.showing import Label, SiteText
from portfolio.publish.parts import environment, json_words, sign_id, template_digest
from portfolio.publish.pictures import Shape

ONE_PAGE_MAX: Final = 240
"""Beyond this many works each sign gets a wall page of its own and the first page shows a beginning of each."""
BEGINNING: Final = 12
UNMEASURED_MM: Final = 230
"""A work without a measured size is drawn as wide as a sheet of 9 inches (229 mm)."""
SAID_MAX: Final = 140
"""Longer words stand on the work's own page only."""
SAID_EVERY: Final = 3
"""At least so many works between two works' words."""
_SIGNS: Final = ("K–2", "3–5", "6–8", "9–12", "All grades")
_SCALES: Final = (("(min-width: 1000px) ", 0.8), ("(min-width: 600px) ", 0.62), ("", 0.42))
_LARGEST_ON_PHONE_MM: Final = 680
_COUNTED_EXACTLY: Final = frozenset({Audience.TEACHER, Audience.SCHOOL, Audience.FAMILY})


@dataclass(frozen=True, slots=True)
class Page:
    """A page to come: its file, the digest of all that goes into it, and how it is made."""

    file: str
    digest: str
    render: Callable[[], str]


@dataclass(frozen=True, slots=True)
class Tile:
    """A work on the wall."""

    label: Label
    shape: Shape | None
    says: bool

    @property
    def mm(self) -> int:
        """The width class, in steps of 10 mm."""
        return min(1500, max(20, 10 * round((self.label.width_mm or UNMEASURED_MM) / 10)))

    @property
    def sizes(self) -> str:
        """How wide the picture will be, for the browser's choice of file."""
        return ", ".join(f"{query}{round(self.mm * scale)}px" for query, scale in _SCALES)


@dataclass(frozen=True, slots=True)
class Section:
    """One stretch of wall under a sign."""

    id: str
    sign: str
    count: str
    tiles: tuple[Tile, ...]
    more: str = ""


@dataclass(frozen=True, slots=True)
class Way:
    """A link at the head of a wall."""

    href: str
    words: str
    here: bool = False


def count_words(count: int, text: SiteText) -> str:
    """How many works, said whole; small numbers are not told to readers outside the school."""
    if count < text.small_group and text.audience not in _COUNTED_EXACTLY:
        return "a few works"
    return "1 work" if count == 1 else f"{count} works"


def pages(text: SiteText, labels: tuple[Label, ...], shapes: Mapping[str, Shape | None]) -> Iterator[Page]:
    """Every page of the site. ``shapes``: by label key; a work without a picture keeps its place."""
    hung = sorted(labels, key=lambda label: (_SIGNS.index(label.sign), label.key))
    walls = _walls(text, hung, shapes)
    yield from _wall_pages(text, walls, largest=max((label.width_mm or 0 for label in hung), default=0))
    split = len(hung) > ONE_PAGE_MAX
    for index, label in enumerate(hung):
        before = hung[index - 1].key if index else ""
        after = hung[index + 1].key if index + 1 < len(hung) else ""
        wall = f"{sign_id(label.sign)}.html" if split else "index.html"
        yield _work_page(text, label, shapes.get(label.key), wall=wall, before=before, after=after)
    yield _find_page(text, hung)


def _walls(text: SiteText, hung: list[Label], shapes: Mapping[str, Shape | None]) -> list[Section]:
    walls = []
    for sign in dict.fromkeys(label.sign for label in hung):
        here = [label for label in hung if label.sign == sign]
        walls.append(Section(sign_id(sign), sign, count_words(len(here), text), tuple(_tiles(here, shapes))))
    return walls


def _tiles(labels: list[Label], shapes: Mapping[str, Shape | None]) -> Iterator[Tile]:
    quiet = SAID_EVERY
    for label in labels:
        says = bool(label.words) and len(label.words) <= SAID_MAX and quiet >= SAID_EVERY
        quiet = 0 if says else quiet + 1
        yield Tile(label, shapes.get(label.key), says)


def _wall_pages(text: SiteText, walls: list[Section], *, largest: int) -> Iterator[Page]:
    total = count_words(sum(len(wall.tiles) for wall in walls), text)
    if sum(len(wall.tiles) for wall in walls) <= ONE_PAGE_MAX:
        ways = tuple(Way(f"#{wall.id}", _grades(wall.sign)) for wall in walls) if len(walls) > 1 else ()
        yield _wall_page("index.html", text, tuple(walls), ways=ways, total=total, largest=largest)
        return
    beginnings = tuple(
        Section(wall.id, wall.sign, wall.count, wall.tiles[:BEGINNING], more=f"{wall.id}.html") for wall in walls
    )
    ways = tuple(Way(f"{wall.id}.html", _grades(wall.sign)) for wall in walls)
    yield _wall_page("index.html", text, beginnings, ways=ways, total=total, largest=largest)
    for wall in walls:
        here = Way("index.html", "All grades"), *(Way(w.href, w.words, w.href == f"{wall.id}.html") for w in ways)
        yield _wall_page(f"{wall.id}.html", text, (wall,), ways=here, total=wall.count, largest=largest)


def _grades(sign: str) -> str:
    return sign if sign == "All grades" else f"Grades {sign}"


def _wall_page(
    file: str, text: SiteText, sections: tuple[Section, ...], *, ways: tuple[Way, ...], total: str, largest: int
) -> Page:
    smaller = largest > _LARGEST_ON_PHONE_MM

    def values() -> dict[str, Any]:
        return {
            "text": text,
            "sections": sections,
            "ways": ways,
            "total": total,
            "root": "",
            "largest_smaller": smaller,
        }

    return _page(file, "wall.html", values, told=(text, [_told_section(one) for one in sections], ways, total, smaller))


def _told_section(section: Section) -> object:
    tiles = [(_told(tile.label), tile.shape, tile.says) for tile in section.tiles]
    return section.sign, section.count, section.more, tiles


def _told(label: Label) -> object:
    """Everything of a label that a page can show (where its picture lies is not shown)."""
    names = (label.key, label.maker, label.artist, label.sign)
    return *names, label.title, label.medium, label.words, label.words_language, label.width_mm, label.height_mm


def _work_page(text: SiteText, label: Label, shape: Shape | None, *, wall: str, before: str, after: str) -> Page:

    def values() -> dict[str, Any]:
        return {
            "text": text,
            "label": label,
            "shape": shape,
            "wall": wall,
            "before": before,
            "after": after,
            "size": size_words(label, text.units),
            "linked": Markup(json_words(linked_data(text, label))) if text.audience is Audience.PUBLIC else "",  # noqa: S704  json_words escapes
            "root": "../",
            "largest_smaller": False,
        }

    told = (text, _told(label), shape, wall, before, after)
    return _page(f"works/{label.key}.html", "work.html", values, told=told)


def _find_page(text: SiteText, hung: list[Label]) -> Page:

    def values() -> dict[str, Any]:
        return {
            "text": text,
            "labels": hung,
            "index": Markup(json_words(_index(hung))),  # noqa: S704  json_words escapes what could end the element
            "root": "",
            "largest_smaller": False,
        }

    return _page("find.html", "find.html", values, told=(text, [_told(label) for label in hung]))


def _index(hung: list[Label]) -> list[dict[str, str]]:
    return [
        {"id": label.key, "title": label.title, "by": label.maker, "medium": label.medium, "words": label.words}
        for label in hung
    ]


def _page(file: str, template: str, values: Callable[[], dict[str, Any]], *, told: object) -> Page:
    digest = hashlib.sha256(f"{template_digest()} {template} {told!r}".encode()).hexdigest()
    return Page(file, digest, lambda: environment().get_template(template).render(values()))


def size_words(label: Label, units: str) -> str:
    """Width and height in whole inches or whole centimeters, e.g. "12 × 9 in"."""
    if not label.width_mm or not label.height_mm:
        return "Size not measured"
    one = 25.4 if units == "in" else 10.0
    return f"{max(1, round(label.width_mm / one))} × {max(1, round(label.height_mm / one))} {units}"


def linked_data(text: SiteText, label: Label) -> dict[str, Any]:
    """The work for machines that read the page (schema.org ``VisualArtwork``, release 30.0). Never an identifier, a
    birthday or a name: ``artist`` wants a ``Person``, so it says "Grade 2 artist".
    """
    found: dict[str, Any] = {
        "@context": "https://schema.org",
        "@type": "VisualArtwork",
        "name": label.title or "Untitled",
        "artist": {"@type": "Person", "name": label.artist},
        "image": f"../pictures/{label.key}-672.jpg",
        "isPartOf": {"@type": "Collection", "name": text.title},
    }
    if label.medium:
        found["artMedium"] = label.medium
    for side, millimeters in (("width", label.width_mm), ("height", label.height_mm)):
        if millimeters:
            found[side] = {"@type": "QuantitativeValue", "value": millimeters, "unitCode": "MMT"}
    return found
