"""The site's templates, and which pieces of a page are the program's own.

Every page is made of fixed template words and of values; values are always escaped. So a piece of template that
holds ``<`` or ``"`` can never be forged by a title or a child's words, and the sweep may let it pass: a child called
May does not stop every page that says "May be shown".
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable
from functools import cache
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined, nodes

from portfolio.model.assets import asset
from portfolio.model.media import STARTER_MEDIA
from portfolio.model.showing import Label, SiteText

TEMPLATES = ("parts.html", "page.html", "wall.html", "work.html", "find.html")


@cache
def environment() -> Environment:
    """The templates, with everything escaped and nothing undefined."""
    return Environment(
        loader=FileSystemLoader(asset("site")),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


@cache
def template_digest() -> str:
    """Changes whenever a template changes, so that pages are written anew."""
    whole = b"".join(asset("site", name).read_bytes() for name in TEMPLATES)
    return hashlib.sha256(whole).hexdigest()


def json_words(value: Any) -> str:
    """JSON that can stand inside a ``script`` element."""
    text = json.dumps(value, ensure_ascii=False, separators=(", ", ": "))
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")


def medium_words(label: str) -> str:
    """A medium as it is shown: with a capital letter."""
    return label[:1].upper() + label[1:]


@cache
def fixed_pieces() -> frozenset[str]:
    """Every piece of template text that no value can forge, and the program's own list of media in its places."""
    env = environment()
    found: set[str] = set()
    for name in TEMPLATES:
        tree = env.parse(asset("site", name).read_text(encoding="utf-8"))
        found |= {node.data for node in tree.find_all(nodes.TemplateData)}
    for medium in STARTER_MEDIA:
        words = medium_words(medium.label)
        quoted = json_words(words)
        found |= {_part("medium", words), f', {words}"', f'"medium": {quoted}', f'"artMedium": {quoted}'}
    return frozenset(piece for piece in found if ("<" in piece or '"' in piece) and any(c.isalpha() for c in piece))


def _part(name: str, *values: str) -> str:
    module: Any = environment().get_template("parts.html").module
    return str(getattr(module, name)(*values))


def label_pieces(label: Label) -> frozenset[str]:
    """The maker's label as it stands in pages, when a name was released for it; else nothing."""
    if label.maker == label.artist:
        return frozenset()
    return frozenset({_part("by", label.maker), f'"by": {json_words(label.maker)}'})


def plain_pieces(label: Label, text: SiteText) -> frozenset[str]:
    """Title and words of a work in all their places, as far as the teacher said that they name nobody."""
    found: set[str] = set()
    if label.plain_title and label.title:
        found |= {_part("title", label.title), _part("heading", label.title), _part("alt", label.title, label.medium)}
        found |= {_part("page_title", label.title, text.title), f'"name": {json_words(label.title)}'}
        found |= {f'"title": {json_words(label.title)}'}
    if label.plain_words and label.words:
        found |= {_part("said", label.words, label.words_language), f'"words": {json_words(label.words)}'}
    return frozenset(found)


def show_pieces(text: SiteText, labels: Iterable[Label]) -> frozenset[str]:
    """The school's name (a place, not a child), and the show's own words when the teacher said that they
    name nobody.
    """
    found = {_part("school", text.school)} if text.school else set()
    if text.plain_title:
        found |= {_part("page_title", text.title, ""), _part("heading", text.title)}
        found |= {_part("intro", text.intro), _part("place", text.place)}
        found |= {_part("page_title", label.title or "Untitled", text.title) for label in labels}
        found |= {_part("page_title", "Find a work", text.title), f'"name": {json_words(text.title)}'}
    return frozenset(found)


def wall_files(labels: Iterable[Label]) -> frozenset[str]:
    """The names, without ending, of the wall pages that these labels can stand on."""
    return frozenset(sign_id(label.sign) for label in labels)


def sign_id(sign: str) -> str:
    """A sign as part of a file name: "k-2"."""
    return sign.replace("–", "-").replace(" ", "-").lower()
