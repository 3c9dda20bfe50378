"""A roster in Settings: the file is held for half an hour, shown as what it would change, then applied or left."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated, Final

from fastapi import APIRouter, Depends, File, Form, Request, UploadFile
from fastapi.responses import HTMLResponse

from portfolio.errors import PortfolioError
from portfolio.flows import roster as flow
from portfolio.flows.upload import own_name
from portfolio.roster.columns import LEFT_OUT
from portfolio.roster.planned import RosterPlan, RosterQuestion, Status
from portfolio.roster.values import ColumnGuess, Guess
from portfolio.web import words
from portfolio.web.answers import Choice, Fact
from portfolio.web.answers_shows import RosterDecision, RosterPreview
from portfolio.web.desk import desk_of
from portfolio.web.guard import ROSTER_MAX
from portfolio.web.render import note_of
from portfolio.web.settings import settings

router = APIRouter(include_in_schema=False)

_DECIDE: Final = "decide:"
LOOKED: Final = flow.Asked(looked_at=True)
"""The preview shows how each column is read, and nothing is written before the teacher says so."""


@router.post("/settings/roster", max_body_size=ROSTER_MAX)
def look_at_roster(
    request: Request,
    file: Annotated[UploadFile | None, File()] = None,
    year: Annotated[str, Form(max_length=20)] = "",
) -> HTMLResponse:
    """Show what a roster would change. Nothing is written."""
    desk = desk_of(request)
    token = ""
    try:
        if file is None or not file.filename:
            return settings(
                request,
                note=note_of(PortfolioError("bad-request", item="The roster", found="no file was chosen")),
                status=422,
            )
        token, held = desk.rosters.put(own_name(file.filename), file.file, year=year.strip())
        guess = flow.look(held.path)
        plan = flow.preview(desk.library, held.path, year=held.year or None, today=desk.today(), asked=LOOKED)
    except PortfolioError as error:
        desk.rosters.drop(token)
        return settings(request, note=note_of(error), status=error.http)
    return settings(request, preview=preview_of(plan, guess, token=token, file=held.path.name))


async def form_fields(request: Request) -> dict[str, str]:
    """All fields of a form: the decisions have names of their own."""
    form = await request.form(max_files=0, max_fields=2000)
    return {key: value for key, value in form.items() if isinstance(value, str)}


@router.post("/settings/roster/apply")
def apply_roster(request: Request, fields: Annotated[dict[str, str], Depends(form_fields)]) -> HTMLResponse:
    """Take the roster in as one step, with the decisions made in the form."""
    desk = desk_of(request)
    token = fields.get("token", "")
    held = desk.rosters.take(token)
    if held is None:
        return settings(request, note=note_of(no_longer_held()), status=422)
    decided = {key.removeprefix(_DECIDE): value for key, value in fields.items() if key.startswith(_DECIDE)}
    try:
        asked = replace(LOOKED, decisions=decided)
        result = flow.apply(desk.library, held.path, year=held.year or None, today=desk.today(), asked=asked)
    except PortfolioError as error:
        return settings(request, note=note_of(error), status=error.http)
    desk.rosters.drop(token)
    return settings(request, done=_done(result))


def no_longer_held(item: str = "The roster") -> PortfolioError:
    """The refusal of a file whose half hour is over."""
    return PortfolioError("bad-request", item=item, found="it was held for 30 minutes only; choose it again")


def _done(result: flow.RosterResult) -> str:
    parts = [
        f"{words.count(result.students, 'child', 'children')} in {words.count(result.classes, 'class', 'classes')}"
    ]
    parts += [f"{result.new} new"] if result.new else []
    parts += [f"{result.changed} changed"] if result.changed else []
    parts += [f"{result.left} left"] if result.left else []
    return f"The roster is taken in: {', '.join(parts)}."


def preview_of(plan: RosterPlan, guess: Guess | None, *, token: str, file: str) -> RosterPreview:
    """The answer: how the columns are read, counts, decisions to make, lines that could not be read."""
    counts = [
        Fact("Classes", _classes(plan)),
        Fact("New children", str(len(plan.people(Status.NEW)))),
        Fact("Known children with a number", str(len(plan.people(Status.JOINED, Status.MOVED)))),
        Fact("Names or ids that change", str(len(plan.changed))),
        Fact("Children who leave", str(len(plan.left))),
        Fact("Lines that change nothing", str(len(plan.people(Status.UNCHANGED)))),
    ]
    return RosterPreview(
        token=token,
        file=file,
        year=words.year(plan.year.label),
        counts=tuple(one for one in counts if one.value != "0"),
        problems=tuple(f"Line {one.line}: {one.sentence}" if one.line else one.sentence for one in plan.problems),
        decisions=tuple(_decision(at, one) for at, one in enumerate(plan.questions)),
        notes=plan.notes,
        empty=plan.is_empty,
        columns=column_words(guess),
        doubts=doubt_words(guess),
    )


def column_words(guess: Guess | None) -> tuple[Fact, ...]:
    """Heading in the file → how it is read."""
    return tuple(_column(one) for one in guess.columns) if guess else ()


def doubt_words(guess: Guess | None) -> tuple[str, ...]:
    """Why the columns should be looked at."""
    return tuple(f"{words.capital(one)}." for one in guess.doubts) if guess else ()


def _column(one: ColumnGuess) -> Fact:
    read = "left out, never kept" if one.meaning == LEFT_OUT else one.meaning or "not used"
    return Fact(one.header or f"Column {one.column}, without a heading", read)


def _classes(plan: RosterPlan) -> str:
    new = sum(1 for one in plan.classes if one.class_id is None)
    return f"{len(plan.classes)}, {new} of them new" if new else str(len(plan.classes))


def _decision(at: int, one: RosterQuestion) -> RosterDecision:
    where = f" (line {one.line})" if one.line else ""
    return RosterDecision(
        field=f"decide-{at}",
        name=f"{_DECIDE}{one.key}",
        sentence=f"{one.sentence}{where}",
        choices=tuple(Choice(choice.value, choice.text, choice.value == one.default) for choice in one.choices),
    )
