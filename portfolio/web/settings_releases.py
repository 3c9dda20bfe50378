"""Settings, what families allow: seen class by class, recorded for one child or many, or taken in from a list."""

from __future__ import annotations

import re
from datetime import date
from typing import Annotated, Any, Final

from fastapi import APIRouter, File, Request, UploadFile
from fastapi.responses import HTMLResponse, Response

from portfolio.errors import PortfolioError
from portfolio.flows import releases as flow
from portfolio.flows import school
from portfolio.flows.desk import see_class_picks
from portfolio.flows.releases import AUDIENCES, ChildReleases, Said
from portfolio.flows.upload import own_name
from portfolio.model.people import NUMBER_MAX, Audience, NameForm, Release
from portfolio.model.school import ClassGroup
from portfolio.web import words
from portfolio.web.answers import Chip, Choice
from portfolio.web.answers_settings import ListPreview, ReleaseCell, ReleaseRow, ReleasesPage
from portfolio.web.desk import desk_of
from portfolio.web.fields import Id, OptionalId
from portfolio.web.render import page
from portfolio.web.rosters import column_words, doubt_words, no_longer_held
from portfolio.web.settings_frame import kept, settings_frame
from portfolio.web.settings_year import Fields
from portfolio.web.typed import Typed

router = APIRouter(include_in_schema=False)

_HERE: Final = "/settings/releases"
_TICK: Final = "audience-"
_ALLOWED: Final = {
    Audience.SCHOOL: "In the building",
    Audience.FAMILY: "Families",
    Audience.COMMUNITY: "In a booklet",
    Audience.PUBLIC: "On the web",
}
_REFUSED: Final = {
    Audience.SCHOOL: "Not in the building",
    Audience.FAMILY: "Not for families",
    Audience.COMMUNITY: "Not in a booklet",
    Audience.PUBLIC: "Not on the web",
}
_FORMS: Final = {
    NameForm.NONE.value: "no name",
    NameForm.FIRST.value: "first name",
    NameForm.FIRST_INITIAL.value: "first name and initial",
    NameForm.FULL.value: "whole name",
}
_OFFERED: Final = {
    NameForm.NONE.value: "No name",
    NameForm.FIRST.value: "First name",
    NameForm.FIRST_INITIAL.value: "First name and initial, in the building only",
}
_ANSWERS: Final = {"yes": "Allowed", "no": "Not allowed"}
_DASH: Final = re.compile(r"\s*[-–]\s*")
_BETWEEN: Final = re.compile(r"[,;\s]+")
_RUN: Final = re.compile(r"(\d{1,2})(?:-(\d{1,2}))?")


@router.get("/settings/releases")
def show_releases(request: Request, class_id: OptionalId = 0) -> HTMLResponse:
    """What the families of a class have said."""
    return _page(request, class_id)


@router.post("/settings/releases/list")
def look_at_list(request: Request, file: Annotated[UploadFile | None, File()] = None) -> HTMLResponse:
    """Show what a list of the office would record. Nothing is written."""
    desk = desk_of(request)
    if file is None or not file.filename:
        return _page(request, 0, error=_refused_list("no file was chosen"))
    token, held = desk.rosters.put(own_name(file.filename), file.file, year="")
    try:
        taken, guess = school.preview_releases(desk.library, held.path, today=desk.today())
    except PortfolioError as error:
        desk.rosters.drop(token)
        return _page(request, 0, error=error)
    preview = ListPreview(
        token=token,
        file=held.path.name,
        counted=f"{words.count(taken.taken, 'line')} that count, {taken.changed:,} of them new.",
        columns=column_words(guess),
        doubts=doubt_words(guess),
        problems=tuple(f"Line {one.line}: {one.sentence}" if one.line else one.sentence for one in taken.problems),
        news=bool(taken.changed),
    )
    return _page(request, 0, preview=preview)


@router.post("/settings/releases/list/apply")
def take_list(request: Request, fields: Fields) -> Response:
    """Record what the list says, as one step."""
    desk = desk_of(request)
    held = desk.rosters.take(fields.get("token", ""))
    if held is None:
        return _page(request, 0, error=no_longer_held("The list"))
    try:
        taken = school.import_releases(desk.library, held.path, looked_at=True, today=desk.today())
    except PortfolioError as error:
        return _page(request, 0, error=error)
    desk.rosters.drop(fields["token"])
    return kept(_HERE, taken.action_id)


def _refused_list(found: str) -> PortfolioError:
    return PortfolioError("bad-request", item="The list", found=found)


@router.post("/settings/releases/{class_id}")
def record(request: Request, class_id: Id, fields: Fields) -> Response:
    """Record what the families of some numbers have said."""
    desk = desk_of(request)
    typed = Typed(fields)
    try:
        action = flow.record(desk.library, class_id, _said(request, class_id, typed), today=desk.today())
    except PortfolioError as error:
        return _page(request, class_id, typed=typed, error=error)
    return kept(f"{_HERE}?class_id={class_id}", action)


def _said(request: Request, class_id: int, typed: Typed) -> Said:
    desk = desk_of(request)
    _, rows = flow.see_releases(desk.library, class_id, today=desk.today())
    numbers = read_numbers(typed.raw("numbers"), everyone={one.child.number for one in rows})
    if not numbers:
        like = "like 1-5, 8, or all."
        typed.problems["numbers"] = (
            f"Write numbers from 1 to {NUMBER_MAX}, {like}" if numbers is None else f"Say which numbers, {like}"
        )
    if typed.raw("answer") not in _ANSWERS:
        typed.problems["answer"] = "Say which."
    from_day, to_day = typed.day("from_day"), typed.day("to_day", needed=False)
    source = typed.text("source", most=flow.SOURCE_MAX)
    form = typed.raw("name_form", NameForm.NONE.value)
    typed.check()
    assert numbers is not None  # check has refused otherwise
    return Said(
        numbers=numbers,
        audiences=tuple(one for one in AUDIENCES if typed.raw(f"{_TICK}{one.value}")),
        allowed=typed.raw("answer") == "yes",
        name_form=NameForm(form if form in _OFFERED else NameForm.NONE),
        from_day=from_day or desk.today(),
        to_day=to_day,
        source=source,
    )


def read_numbers(text: str, *, everyone: set[int]) -> frozenset[int] | None:
    """Numbers as people write them ("1-5, 8", "all"); ``None`` when it cannot be read."""
    plain = text.strip().casefold()
    if plain == "all":
        return frozenset(everyone)
    found: set[int] = set()
    for part in filter(None, _BETWEEN.split(_DASH.sub("-", plain))):
        run = _RUN.fullmatch(part)
        if run is None:
            return None
        first, last = int(run[1]), int(run[2] or run[1])
        if not 1 <= first <= last <= NUMBER_MAX:
            return None
        found.update(range(first, last + 1))
    return frozenset(found)


def _page(
    request: Request,
    class_id: int,
    *,
    typed: Typed | None = None,
    error: PortfolioError | None = None,
    preview: ListPreview | None = None,
) -> HTMLResponse:
    desk = desk_of(request)
    form = typed or Typed()
    frame = settings_frame(request, _HERE, form=form, error=error)
    groups = see_class_picks(desk.library, desk.today())
    group, rows = flow.see_releases(desk.library, class_id, today=desk.today()) if class_id else (None, ())
    answer = ReleasesPage(
        frame=frame,
        classes=_class_chips(groups, class_id),
        class_id=group.class_id if group else None,
        class_label=group.label if group else "",
        rows=tuple(_row(one, desk.today()) for one in rows),
        preview=preview,
        **(_form(form, desk.today()) if group else {}),
    )
    status = error.http if error else 200
    return page(request, "settings_releases.html", drawer="/settings", status=status, page=answer)


def _class_chips(groups: tuple[ClassGroup, ...], chosen: int) -> tuple[Chip, ...]:
    in_order = sorted(groups, key=lambda one: (words.grade_order(one.grade), one.label))
    return tuple(Chip(f"{_HERE}?class_id={one.class_id}", one.label, chosen=one.class_id == chosen) for one in in_order)


def _form(form: Typed, today: date) -> dict[str, Any]:
    ticked = {one: bool(form.raw(f"{_TICK}{one.value}")) for one in AUDIENCES}
    return {
        "numbers": form.field("numbers", "Numbers", hint="Like 1-5, 8, or all.", most=120),
        "audiences": tuple(Choice(f"{_TICK}{one.value}", _ALLOWED[one], ticked[one]) for one in AUDIENCES),
        "audiences_problem": form.problems.get("audiences", ""),
        "answers": form.choices("answer", _ANSWERS),
        "answers_problem": form.problems.get("answer", ""),
        "name_forms": form.choices("name_form", _OFFERED, NameForm.NONE.value),
        "when": (
            form.field("from_day", "From", today.isoformat(), kind="date"),
            form.field("to_day", "Until, if it ends", kind="date", hint="Only for what is allowed."),
        ),
        "source": form.field(
            "source", "Where it is written down", hint="Like “registration form 2026–27”.", most=flow.SOURCE_MAX
        ),
    }


def _row(one: ChildReleases, today: date) -> ReleaseRow:
    return ReleaseRow(
        number=one.child.number,
        name=one.child.name,
        href=f"/students/{one.child.student_id}",
        cells=tuple(_cell(audience, line, today) for audience, line in one.standing.items()),
        said=tuple(_line_words(line, today) for line in one.said),
    )


def _cell(audience: Audience, line: Release | None, today: date) -> ReleaseCell:
    if line is None:
        return ReleaseCell("nothing", _REFUSED[audience], "nothing said")
    since = f"since {words.day_plain(line.from_day, today=today)}"
    if not line.allowed:
        return ReleaseCell("refused", _REFUSED[audience], since)
    until = f", until {words.day_plain(line.to_day, today=today)}" if line.to_day else ""
    return ReleaseCell("allowed", _ALLOWED[audience], f"{_form_words(line)}{since}{until}")


def _form_words(line: Release) -> str:
    """A family sees its own child's name anyway."""
    return "" if line.audience is Audience.FAMILY else f"{_FORMS[line.name_form.value]}, "


def _line_words(line: Release, today: date) -> str:
    what = _ALLOWED[line.audience] if line.allowed else _REFUSED[line.audience]
    form = f", {_form_words(line)}".removesuffix(", ") if line.allowed else ""
    until = f" until {words.day_plain(line.to_day, today=today)}" if line.to_day else ""
    source = f" ({line.source})" if line.source else ""
    return f"From {words.day_plain(line.from_day, today=today)}{until}: {words.capital(what)}{form}{source}."
