"""Settings, backup: when the last one was made, starting one into a folder, and how far it is."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Annotated, Final

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from portfolio.archive.backups import Done
from portfolio.errors import PortfolioError
from portfolio.flows import backup as flow
from portfolio.flows.backup_places import plugged_in
from portfolio.web import words
from portfolio.web.answers import Line
from portfolio.web.answers_settings import BackupPage, Field
from portfolio.web.backup_job import BackupState
from portfolio.web.desk import Desk, desk_of
from portfolio.web.render import note_of, page, plain
from portfolio.web.settings_frame import settings_frame

router = APIRouter(include_in_schema=False)

_HERE: Final = "/settings/backup"
_BESIDE_FIELD: Final = frozenset(
    {"bad-request", "backup-place", "backup-of-another", "backup-busy", "backup-disk", "backup-full"}
)


@router.get("/settings/backup")
def show_backup(request: Request) -> HTMLResponse:
    """The last backup and the form for the next."""
    return _page(request)


@router.get("/settings/backup/state")
def show_state(request: Request) -> HTMLResponse:
    """How far the backup is: a part of the page that asks again by itself until it is done."""
    return plain("backup_state.html", page=backup_page(request))


@router.post("/settings/backup")
def start_backup(request: Request, folder: Annotated[str, Form(max_length=1000)] = "") -> Response:
    """Begin a backup into a folder of this computer."""
    desk = desk_of(request)
    try:
        desk.backup.start(desk.library, folder_in(folder))
    except PortfolioError as error:
        if error.code not in _BESIDE_FIELD:
            raise
        return _page(request, folder=folder, problem=_beside(error), status=error.http)
    return RedirectResponse(_HERE, status_code=303)


def _beside(error: PortfolioError) -> str:
    """What stands beside the field: of a field that was filled in wrongly only what is wrong with it."""
    return f"{words.capital(error.found)}." if error.code == "bad-request" else error.sentence


def folder_in(text: str) -> Path:
    """The folder that was written. Refuses none, a way that does not begin at its disk, and what is no folder's."""
    if not text.strip():
        raise PortfolioError("bad-request", item="The folder", found="say which folder")
    try:
        wanted = Path(text.strip()).expanduser()
    except RuntimeError as error:  # ~somebody who has no home here
        raise PortfolioError("bad-request", item="The folder", found="there is no such home folder") from error
    if not wanted.is_absolute() or "\0" in text:
        raise PortfolioError("bad-request", item="The folder", found="write the whole way to it, from its disk on")
    return wanted


def _page(request: Request, *, folder: str | None = None, problem: str = "", status: int = 200) -> HTMLResponse:
    answer = backup_page(request, folder=folder, problem=problem)
    return page(request, "settings_backup.html", drawer="/settings", status=status, page=answer)


def backup_page(request: Request, *, folder: str | None = None, problem: str = "") -> BackupPage:
    """The answer: the last backup in words, the running one, the form as it was typed."""
    desk = desk_of(request)
    last, state = flow.last_backup(desk.library), desk.backup.state
    places = [str(place) for place in plugged_in()]
    used = state.folder or (last.folder if last else None)
    usual = str(used) if used else next(iter(places), "")
    return BackupPage(
        frame=settings_frame(request, _HERE),
        last=last_words(last),
        old=is_old(last),
        folder=Field(
            "folder",
            "folder",
            "The folder for the backup",
            usual if folder is None else folder,
            hint="On a stick or another disk: a new or empty folder, or the one with the last backup.",
            problem=problem,
            most=1000,
            required=True,
            options=tuple(places),
        ),
        running=state.running,
        progress=_progress(state),
        done=state.done,
        of=state.of,
        result=_result(state),
        trouble=note_of(state.error) if state.error else None,
    )


def _progress(state: BackupState) -> str:
    return f"Copying {state.what}: {state.done:,} of {state.of:,}." if state.running else ""


def _result(state: BackupState) -> tuple[str, ...]:
    done = state.result
    if done is None:
        return ()
    new = f"{words.count(done.new_originals, 'photo')} new, {words.bytes_in_words(done.new_bytes)}"
    whole = f"The backup is done and checked. It holds {words.count(done.works, 'work')} with "
    whole += f"{words.count(done.originals, 'photo')}; {new if done.new_originals else 'no photo was new'}."
    return (whole, *(one.sentence for one in done.problems))


def is_old(last: Done | None) -> bool:
    """Whether a backup is due: none was made yet, or the last is over a week old."""
    return last is None or age_days(last) > flow.OLD_AFTER_DAYS


def age_days(last: Done) -> int:
    """Whole days since it was made."""
    return (datetime.now(last.at_utc.tzinfo) - last.at_utc).days


def last_words(last: Done | None) -> str:
    """Like "The last backup was made today, 1:10, with 412 works.", by this computer's own clock."""
    if last is None:
        return "No backup has been made yet."
    today = datetime.now().astimezone().date()
    age = age_days(last)
    ago = f" ({words.count(age, 'day')} ago)" if age > 1 else ""
    works = words.count(last.works, "work")
    return f"The last backup was made {words.moment(last.at_utc, today=today)}{ago}, with {works}."


def due_line(desk: Desk) -> Line | None:
    """What Today says when a backup is due; nothing for the invented school, which can be made anew."""
    last = flow.last_backup(desk.library)
    if desk.demo or not is_old(last):
        return None
    text = f"The last backup is {words.count(age_days(last), 'day')} old." if last else "No backup has been made yet."
    return Line(text, _HERE, "Make a backup")
