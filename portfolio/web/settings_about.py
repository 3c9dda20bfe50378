"""Settings, about: the program's version and parts, where the library lies, what a photo may cost, and that nothing is
sent anywhere.
"""

from __future__ import annotations

from typing import Final

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from portfolio.errors import PortfolioError
from portfolio.flows import limits as flow
from portfolio.flows.about import Part, about
from portfolio.web import words
from portfolio.web.answers import Fact
from portfolio.web.answers_settings import AboutPage
from portfolio.web.desk import desk_of
from portfolio.web.render import page
from portfolio.web.settings_frame import settings_frame
from portfolio.web.settings_year import Fields
from portfolio.web.typed import Typed

router = APIRouter(include_in_schema=False)

_HERE: Final = "/settings/about"


@router.get("/settings/about")
def show_about(request: Request) -> HTMLResponse:
    """What this is, where it lies, what it is made of."""
    return _page(request)


@router.post("/settings/about/limits")
def keep_limits(request: Request, fields: Fields) -> HTMLResponse:
    """Keep what one photo may cost; the next photo keeps to it."""
    library, typed = desk_of(request).library, Typed(fields)
    before = flow.limits_now(library)
    read = {name: typed.number(name, least=one.least, most=one.most) for name, one in flow.LIMITS.items()}
    try:
        typed.check()
        flow.keep_limits(library, {name: value for name, value in read.items() if value is not None})
    except PortfolioError as error:
        return _page(request, typed=typed, error=error)
    back = typed.raw("back") == "1"
    return _page(request, kept="Taken back." if back else "Kept: what a photo may cost.", before={} if back else before)


def _page(
    request: Request,
    *,
    typed: Typed | None = None,
    error: PortfolioError | None = None,
    kept: str = "",
    before: dict[str, int] | None = None,
) -> HTMLResponse:
    library, form = desk_of(request).library, typed or Typed()
    frame = settings_frame(request, _HERE, form=form, error=error)
    told, now, usual = about(library), flow.limits_now(library), flow.usual_limits()
    answer = AboutPage(
        frame=frame,
        program=(Fact("Portfolio", told.version), Fact("License", told.license)),
        folder=str(told.folder),
        limits=tuple(
            form.field(name, one.label, str(now[name]), kind="number", hint=f"Usually {usual[name]:,}.")
            for name, one in flow.LIMITS.items()
        ),
        kept=kept,
        before=tuple((before or {}).items()),
        usual=tuple(usual.items()) if usual != now else (),
        packages=_facts(told.packages),
        packages_words=words.count(len(told.packages), "package"),
        files=_facts(told.files),
    )
    return page(request, "settings_about.html", drawer="/settings", status=error.http if error else 200, page=answer)


def _facts(parts: tuple[Part, ...]) -> tuple[Fact, ...]:
    return tuple(Fact(f"{one.name} {one.version}".strip(), one.license) for one in parts)
