"""The JSON door, lists of the office: a roster or releases. The file is held for half an hour, told as what it would
change, then applied or left.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated, Any

from fastapi import Body, File, Form, Path, Request, UploadFile

from portfolio.errors import PortfolioError
from portfolio.flows import roster as flow
from portfolio.flows import school
from portfolio.flows.upload import own_name
from portfolio.roster.values import Guess
from portfolio.web import api_shapes as shapes
from portfolio.web.api_door import door
from portfolio.web.desk import desk_of
from portfolio.web.guard import ROSTER_MAX
from portfolio.web.rosters import LOOKED, doubt_words, no_longer_held

router = door()
Token = Annotated[str, Path(max_length=60)]
"""The roster that is held."""


@router.post("/roster", status_code=201, max_body_size=ROSTER_MAX)
def look_at_roster(
    request: Request, file: Annotated[UploadFile, File()], year: Annotated[str, Form(max_length=20)] = ""
) -> shapes.RosterLooked:
    """Tell what a roster would change. Nothing is written; the file waits for half an hour under its token."""
    desk = desk_of(request)
    token, held = desk.rosters.put(own_name(file.filename), file.file, year=year.strip())
    try:
        guess = flow.look(held.path)
        plan = flow.preview(desk.library, held.path, year=held.year or None, today=desk.today(), asked=LOOKED)
    except PortfolioError:
        desk.rosters.drop(token)
        raise
    return shapes.RosterLooked.model_validate({**_told(flow.summary(plan)), **_columns(guess), "token": token})


def _told(result: flow.RosterResult) -> dict[str, Any]:
    found = result.as_json()
    return {**{key: found[key] for key in found if key not in ("applied", "questions")}, "action": result.action_id}


def _columns(guess: Guess | None) -> dict[str, Any]:
    """How a spreadsheet's columns are read; a OneRoster set needs no guess."""
    columns = [
        {"column": one.column, "heading": one.header, "read_as": one.meaning}
        for one in (guess.columns if guess else ())
    ]
    return {"columns": columns, "doubts": list(doubt_words(guess))}


@router.post("/roster/{token}/apply")
def apply_roster(request: Request, token: Token, given: Annotated[shapes.RosterIn, Body()]) -> shapes.RosterOut:
    """Take the roster in as one step, with these decisions; what is left undecided waits in ``to_decide``."""
    desk = desk_of(request)
    held = desk.rosters.take(token)
    if held is None:
        raise no_longer_held()
    asked = replace(LOOKED, decisions=given.decisions)
    result = flow.apply(desk.library, held.path, year=held.year or None, today=desk.today(), asked=asked)
    desk.rosters.drop(token)
    return shapes.RosterOut.model_validate(_told(result))


@router.delete("/roster/{token}", status_code=204)
def leave_roster(request: Request, token: Token) -> None:
    """Forget a roster that waits. One whose time is over is forgotten already."""
    desk_of(request).rosters.drop(token)


# --- a list of releases -----------------------------------------------------------------------------------------


@router.post("/releases/list", status_code=201)
def look_at_releases(request: Request, file: Annotated[UploadFile, File()]) -> shapes.ReleasesLooked:
    """Tell what a list of releases would record. Nothing is written; the file waits under its token."""
    desk = desk_of(request)
    token, held = desk.rosters.put(own_name(file.filename), file.file, year="")
    try:
        taken, guess = school.preview_releases(desk.library, held.path, today=desk.today())
    except PortfolioError:
        desk.rosters.drop(token)
        raise
    return shapes.ReleasesLooked.model_validate({**_releases(taken), **_columns(guess), "token": token})


def _releases(taken: school.FileTaken) -> dict[str, Any]:
    return {**taken.as_json(), "action": taken.action_id or None}


@router.post("/releases/list/{token}/apply")
def apply_releases(request: Request, token: Token) -> shapes.ReleasesTaken:
    """Record what the list says, as one step."""
    desk = desk_of(request)
    held = desk.rosters.take(token)
    if held is None:
        raise no_longer_held("The list")
    taken = school.import_releases(desk.library, held.path, looked_at=True, today=desk.today())
    desk.rosters.drop(token)
    return shapes.ReleasesTaken.model_validate(_releases(taken))


@router.delete("/releases/list/{token}", status_code=204)
def leave_releases(request: Request, token: Token) -> None:
    """Forget a list that waits. One whose time is over is forgotten already."""
    desk_of(request).rosters.drop(token)
