"""``portfolio show``: plan a show, choose its works, publish it."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime
from pathlib import Path
from typing import Annotated

import typer

from portfolio.cli.frame import JsonOption, LibraryOption, answer, open_library, progress
from portfolio.errors import PortfolioError
from portfolio.flows import plan_show
from portfolio.flows import publish as publishing
from portfolio.model.finding import Filters
from portfolio.model.people import Audience
from portfolio.model.showing import Mark, ShowLimits, ShowValue

group = typer.Typer(no_args_is_help=True, help="Plan a show, choose its works fairly, publish it.")

ShowArgument = Annotated[str, typer.Argument(help="Id or title of the show.")]
AudienceOption = Annotated[
    Audience, typer.Option("--audience", help="Who will see it: school, community or public.", show_default=True)
]


@group.command("list")
def list_shows(*, library: LibraryOption = None, as_json: JsonOption = False) -> None:
    """List the shows, newest first.

    Example: portfolio show list
    """
    with open_library(library, write=False) as opened:
        found = plan_show.all_shows(opened)
    lines = (f"{one.show_id:>4}  {one.title}  {one.year}  {one.works} works" for one in found)
    answer([_value(one) for one in found], as_json=as_json, lines=lines if found else ("No shows yet.",))


@group.command("new")
def new(
    title: Annotated[str, typer.Argument(help="Title of the show.")],
    *,
    intro: Annotated[str, typer.Option(help="One paragraph for its first page.")] = "",
    year: Annotated[str | None, typer.Option(help="School year, e.g. 2026-27.")] = None,
    place: Annotated[str, typer.Option(help="Where it hangs.")] = "",
    opens: Annotated[str | None, typer.Option(help="First day, e.g. 2027-04-24.")] = None,
    closes: Annotated[str | None, typer.Option(help="Last day.")] = None,
    library: LibraryOption = None,
    as_json: JsonOption = False,
) -> None:
    """Make a show.

    Example: portfolio show new "The Long Wall" --place "the hall by the library"
    """
    with open_library(library) as opened:
        made = plan_show.new_show(
            opened, title, intro=intro, year=year, place=place, opens_on=_day(opens), closes_on=_day(closes)
        )
    answer(_value(made), as_json=as_json, lines=(f"Show {made.show_id} is made. Add works to it next.",))


@group.command("add")
def add(
    show: ShowArgument,
    works: Annotated[list[int] | None, typer.Argument(help="Ids of works; none = all that fit the filters.")] = None,
    *,
    class_: Annotated[str | None, typer.Option("--class", help="A class, e.g. 3B.")] = None,
    grade: Annotated[str | None, typer.Option(help="A grade, e.g. K or 3.")] = None,
    year: Annotated[str | None, typer.Option(help="A school year, e.g. 2026-27.")] = None,
    medium: Annotated[str | None, typer.Option(help="A medium, e.g. tempera.")] = None,
    tag: Annotated[str | None, typer.Option(help="A tag.")] = None,
    must: Annotated[bool, typer.Option("--must", help="These works must be in the show.")] = False,
    never: Annotated[bool, typer.Option("--never", help="These works stay out of the show.")] = False,
    plain_title: Annotated[
        bool,
        typer.Option(
            "--title-names-nobody",
            help="You looked: the titles of these works (none given: the show's own words) name no child.",
        ),
    ] = False,
    library: LibraryOption = None,
    as_json: JsonOption = False,
) -> None:
    """Offer works to a show, or mark works that are in it.

    Example: portfolio show add "The Long Wall" --year 2026-27 --grade 3
    """
    if (must or never) and not works:
        raise PortfolioError("bad-request", item="This mark", found="it needs the ids of works")
    filters = Filters(class_label=class_, grade=grade, year=year, medium=medium, tag=tag)
    asked = None if plain_title and not works else filters
    with open_library(library) as opened:
        added = plan_show.add_works(opened, show, work_ids=works or (), filters=asked)
        if must or never:
            plan_show.mark_works(opened, show, works or (), mark=Mark.MUST if must else Mark.NEVER)
        if plain_title:
            plan_show.say_plain_title(opened, show, work_ids=works or (), show_title=not works)
    said = f"{added.added} works offered" + (f", {added.there} were there before." if added.there else ".")
    answer({"added": added.added, "there": added.there}, as_json=as_json, lines=(said,))


@group.command("choose")
def choose(
    show: ShowArgument,
    *,
    audience: AudienceOption = Audience.SCHOOL,
    each: Annotated[int, typer.Option(min=1, max=20, help="Most works of one child.")] = 1,
    works: Annotated[int | None, typer.Option(min=1, help="Most works in the show.")] = None,
    wall: Annotated[float | None, typer.Option(min=0.1, help="Wall that can be used, in square meters.")] = None,
    library: LibraryOption = None,
    as_json: JsonOption = False,
) -> None:
    """Choose the works: every child at least once if possible, each with its reason.

    Example: portfolio show choose "The Long Wall" --audience public --works 400
    """
    limits = ShowLimits(per_child=each, works=works, surface_mm2=round(wall * 1_000_000) if wall else None)
    with open_library(library) as opened:
        made = plan_show.choose_works(opened, show, audience=audience, limits=limits)
    value = {
        "chosen": list(made.chosen),
        "missing": list(made.missing),
        "short": made.short,
        "reasons": [{"work": key, "chosen": one.chosen, "why": one.why} for key, one in sorted(made.reasons.items())],
    }
    answer(value, as_json=as_json, lines=_choice_lines(len(made.chosen), len(made.reasons), made.short))


def _choice_lines(chosen: int, offered: int, short: str) -> Iterator[str]:
    yield f"{chosen} of {offered} works chosen."
    if short:
        yield short
    yield "'portfolio show works' tells why each is in or out."


@group.command("works")
def works(
    show: ShowArgument,
    *,
    audience: AudienceOption = Audience.SCHOOL,
    library: LibraryOption = None,
    as_json: JsonOption = False,
) -> None:
    """List the works of a show: in or out, and why.

    Example: portfolio show works "The Long Wall"
    """
    with open_library(library, write=False) as opened:
        found = plan_show.seen(opened, show, audience=audience)
    rows = [
        {
            "work": line.work.work_id,
            "title": line.work.title,
            "class": line.work.class_label,
            "number": line.work.number,
            "mark": line.mark.value,
            "reason": line.reason,
            "may_show": line.may_show,
        }
        for line in found.lines
    ]
    lines = (
        f"{row['work']:>6}  {row['class']}-{row['number']:<3} {row['mark']:<8} {row['title'] or 'no title yet'}"
        f"  {row['reason']}"
        for row in rows
    )
    empty = "No works offered yet."
    answer({**_value(found.show), "works": rows}, as_json=as_json, lines=lines if rows else (empty,))


@group.command("publish")
def publish(
    show: ShowArgument,
    *,
    audience: AudienceOption = Audience.PUBLIC,
    out: Annotated[Path | None, typer.Option("--out", help="Folder for the site. Default: in the library.")] = None,
    library: LibraryOption = None,
    as_json: JsonOption = False,
) -> None:
    """Build the show's site. Every byte is searched for names first; a hit leaves the folder as it was.

    Example: portfolio show publish "The Long Wall" --audience public --out site
    """
    with open_library(library) as opened, progress("Building", total=None) as done:
        made = publishing.publish(opened, show, audience=audience, folder=out, done=done)
    answer(made.as_json(), as_json=as_json, lines=_published_lines(made))


def _published_lines(made: publishing.Published) -> Iterator[str]:
    yield f"{made.pages} pages with {made.pictures} pictures are in {made.folder}."
    yield f"{made.sweep.files} files were searched; no name was found that these readers may not see."
    if made.left_out:
        yield f"{len(made.left_out)} chosen works were left out. 'portfolio show works' tells why."
    if made.words_held:
        yield f"The words of {len(made.words_held)} works wait for you, because a child may be named in them."


def _value(show: ShowValue) -> dict[str, object]:
    return {
        "show": show.show_id,
        "title": show.title,
        "year": show.year,
        "place": show.place,
        "opens_on": show.opens_on,
        "closes_on": show.closes_on,
        "works": show.works,
    }


def _day(text: str | None) -> date | None:
    try:
        return datetime.strptime(text, "%Y-%m-%d").date() if text else None  # noqa: DTZ007  a day has no time zone
    except ValueError as error:
        raise PortfolioError(
            "bad-request", item=f"The day {text}", found="it is not written like 2027-04-24"
        ) from error
