"""Settings, about: the program's version and parts, where the library lies, and that nothing is sent anywhere."""

from __future__ import annotations

from typing import Final

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from portfolio.flows.about import Part, about
from portfolio.web import words
from portfolio.web.answers import Fact
from portfolio.web.answers_settings import AboutPage
from portfolio.web.desk import desk_of
from portfolio.web.render import page
from portfolio.web.settings_frame import settings_frame

router = APIRouter(include_in_schema=False)

_HERE: Final = "/settings/about"


@router.get("/settings/about")
def show_about(request: Request) -> HTMLResponse:
    """What this is, where it lies, what it is made of."""
    told = about(desk_of(request).library)
    answer = AboutPage(
        frame=settings_frame(request, _HERE),
        program=(Fact("Portfolio", told.version), Fact("License", told.license)),
        folder=str(told.folder),
        limits=(
            Fact("Seconds one photo may take", f"{told.photo_seconds:,}"),
            Fact("Memory one photo may take", f"{told.photo_memory_mb:,} MB"),
            Fact("Heaviest file taken in", f"{told.photo_max_mb:,} MB"),
            Fact("Space left free on the disk", f"{told.free_space_mb:,} MB"),
        ),
        packages=_facts(told.packages),
        packages_words=words.count(len(told.packages), "package"),
        files=_facts(told.files),
    )
    return page(request, "settings_about.html", drawer="/settings", page=answer)


def _facts(parts: tuple[Part, ...]) -> tuple[Fact, ...]:
    return tuple(Fact(f"{one.name} {one.version}".strip(), one.license) for one in parts)
