"""The helper's pages: sign in, add photos of a class, say numbers. Own batches of today only; no name anywhere."""

from __future__ import annotations

from datetime import date, datetime
from typing import Annotated, Final

from fastapi import APIRouter, File, Form, Path, Request, UploadFile
from fastapi.responses import FileResponse, HTMLResponse, RedirectResponse, Response

from portfolio.errors import PortfolioError, Problem, Refused
from portfolio.flows import desk as desk_flow
from portfolio.flows import helping as flow
from portfolio.flows import sign_in
from portfolio.flows.arriving import check_chosen
from portfolio.flows.helpers import LOGIN_MAX, see_helpers
from portfolio.flows.see_batch import BatchSeen, PhotoLine
from portfolio.flows.upload import keep_upload
from portfolio.model.filing import Chosen, PhotoState
from portfolio.web import words
from portfolio.web.answers import Choice, Line, Picture
from portfolio.web.answers_helper import HelperBatch, HelperPhoto, HelperSignIn, HelperStart
from portfolio.web.desk import desk_of
from portfolio.web.fields import FormId, Id, IdWord, OptionalId, id_in
from portfolio.web.guard import FORM_MAX, PICTURE_CSP
from portfolio.web.picks import class_choices, medium_choices
from portfolio.web.render import note_of, plain
from portfolio.web.sign_in import let_in
from portfolio.web.walls import as_taken

router = APIRouter(include_in_schema=False)

_STATES: Final = {
    PhotoState.FILED: "Filed",
    PhotoState.SLATE: "Cards only",
    PhotoState.ASIDE: "Set aside",
    PhotoState.PROBLEM: "Could not be read",
    PhotoState.QUESTION: "Left to the teacher",
}


def _today() -> date:
    """By the clock: a batch belongs to the day it was added on."""
    return datetime.now().astimezone().date()


# --- signing in -------------------------------------------------------------------------------------------


@router.get("/sign-in/helper")
def ask_password(request: Request) -> Response:
    """Where a helper signs in with the name and password that the teacher gave."""
    return _sign_in_page(request)


def _sign_in_page(request: Request, login: str = "", error: PortfolioError | None = None) -> HTMLResponse:
    desk = desk_of(request)
    school = desk_flow.standing(desk.library, desk.today()).school
    answer = HelperSignIn(school, login, note_of(error) if error else None)
    return plain("helper_sign_in.html", status=error.http if error else 200, page=answer)


@router.post("/sign-in/helper")
def take_password(
    request: Request,
    login: Annotated[str, Form(max_length=4 * LOGIN_MAX)] = "",
    password: Annotated[str, Form(max_length=200)] = "",
) -> Response:
    """Sign this browser in as a helper, or say why not."""
    try:
        opened = sign_in.sign_in_helper(desk_of(request).library, login, password)
    except Refused as error:
        return _sign_in_page(request, login, error)
    return let_in(request, opened, to="/helper")


# --- adding -----------------------------------------------------------------------------------------------


@router.get("/helper")
def show_start(request: Request) -> HTMLResponse:
    """Where photos are added."""
    return _start_page(request)


def _start_page(request: Request, *, error: PortfolioError | None = None) -> HTMLResponse:
    desk, asking = desk_of(request), request.state.visitor
    picks = desk_flow.see_picks(desk.library, desk.today())
    labels = {one.class_id: one.label for one in picks.classes}
    own = flow.own_batches(desk.library, asking, now=datetime.now().astimezone())
    login = next((one.login for one in see_helpers(desk.library) if one.account_id == asking.account_id), "")
    answer = HelperStart(
        login=login,
        classes=(Choice("", "Choose", True), *class_choices(picks)[1:]),
        media=(Choice("", "Not known", True), *medium_choices(picks)[1:]),
        batches=tuple(
            Line(
                f"{labels.get(one.class_id or 0, 'Another class')}: {words.count(one.photos, 'photo')}",
                f"/helper/{one.batch_id}",
                words.clock(one.created_utc.astimezone()),
            )
            for one in own
        ),
        note=note_of(error) if error else None,
    )
    return plain("helper.html", status=error.http if error else 200, page=answer)


@router.post("/helper", max_body_size=FORM_MAX)
def add_photos(
    request: Request,
    photos: Annotated[list[UploadFile] | None, File()] = None,
    *,
    class_id: IdWord = "",
    medium_id: IdWord = "",
) -> Response:
    """Keep the photos of one class, and begin to read them."""
    desk, asking = desk_of(request), request.state.visitor
    files = [one for one in photos or () if one.filename]
    chosen = Chosen(class_id=id_in(class_id), medium_id=id_in(medium_id))
    try:
        check_chosen(len(files))
        batch_id = flow.open_helper_batch(desk.library, asking, chosen, expected=len(files))
        problems: list[Problem] = []
        for one in files:
            problems += keep_upload(desk.library, batch_id, name=one.filename, stream=one.file).problems
    except PortfolioError as error:
        return _start_page(request, error=error)
    desk.reader.start(batch_id)
    if problems:
        return _batch_page(request, batch_id, problems=tuple(one.sentence for one in problems))
    return RedirectResponse(f"/helper/{batch_id}", status_code=303)


# --- one batch --------------------------------------------------------------------------------------------


@router.get("/helper/{batch_id}")
def show_batch(request: Request, batch_id: Id, done: OptionalId = 0) -> HTMLResponse:
    """What became of the photos; ``done``: the answer that was just given."""
    return _batch_page(request, batch_id, done=done)


def _batch_page(
    request: Request,
    batch_id: int,
    *,
    done: int = 0,
    problems: tuple[str, ...] = (),
    error: PortfolioError | None = None,
) -> HTMLResponse:
    desk = desk_of(request)
    seen = flow.see_own_batch(desk.library, request.state.visitor, batch_id, day=_today())
    hidden = flow.hidden_photos(desk.library, [line.photo.photo_id for line in seen.lines])
    busy = desk.reader.is_busy(batch_id)
    answer = HelperBatch(
        batch_id=batch_id,
        title=" · ".join(part for part in (seen.class_label, words.capital(seen.medium)) if part),
        sentence=_sentence(seen, busy=busy),
        busy=busy,
        photos=tuple(_photo(line, batch_id, busy=busy, hidden=line.photo.photo_id in hidden) for line in seen.lines),
        undo=done or None,
        undo_words="Kept." if done else "",
        problems=problems,
        note=note_of(error) if error else None,
    )
    return plain("helper_batch.html", status=error.http if error else 200, page=answer)


def _sentence(seen: BatchSeen, *, busy: bool) -> str:
    if busy:
        return f"{words.count(len(seen.lines), 'photo')} kept. They are being read."
    asked = sum(1 for line in seen.lines if _can_be_said(line))
    filed = seen.counts[PhotoState.FILED]
    parts = [f"{filed} of {len(seen.lines)} filed."]
    if asked:
        parts.append(f"{asked} {'needs its number' if asked == 1 else 'need their numbers'}.")
    return " ".join(parts)


def _can_be_said(line: PhotoLine) -> bool:
    return line.question is not None and line.work is None and line.question.kind not in flow.TEACHERS


def _photo(line: PhotoLine, batch_id: int, *, busy: bool, hidden: bool) -> HelperPhoto:
    place = f"Photo {line.photo.position + 1}"
    picture = None if hidden else _picture(line, batch_id, place)
    if line.work is not None:
        return HelperPhoto(place, str(line.work.number), "Filed", "kept", picture)
    if _can_be_said(line) and not busy:
        assert line.question is not None
        numbers: list[int] = (line.question.guess or {}).get("numbers") or []
        guess = str(numbers[0]) if len(numbers) == 1 else ""
        return HelperPhoto(place, guess or "?", "Which number?", "asks", picture, line.question.question_id, guess)
    state = _STATES.get(line.photo.state, "Coming")
    return HelperPhoto(place, "", state, "coming", picture)


def _picture(line: PhotoLine, batch_id: int, place: str) -> Picture | None:
    """The photo as it was taken, at the helper's own address."""
    shown = as_taken(line.photo)
    if shown is None:
        return None
    src = f"/helper/{batch_id}/photos/{line.photo.photo_id}/400"
    return Picture(src, shown.width_px, shown.height_px, shown.mm, f"{place} as it was taken")


@router.post("/helper/{batch_id}/{question_id}")
def say_number(
    request: Request, batch_id: Id, question_id: Id, number: Annotated[str, Form(max_length=4)] = ""
) -> Response:
    """The number of one photo."""
    try:
        step = flow.say_number(
            desk_of(request).library,
            request.state.visitor,
            batch_id,
            question_id,
            number=_number(number),
            day=_today(),
        )
    except PortfolioError as error:
        return _batch_page(request, batch_id, error=error)
    return RedirectResponse(f"/helper/{batch_id}?done={step}", status_code=303)


def _number(typed: str) -> int:
    if not typed.strip().isdecimal():
        raise PortfolioError("bad-request", item="The number", found="it is no number from 1 to 40")
    return int(typed)


@router.post("/helper/{batch_id}/answers/undo")
def take_back(request: Request, batch_id: Id, action_id: FormId) -> Response:
    """Take an own answer back."""
    try:
        flow.take_back(desk_of(request).library, request.state.visitor, batch_id, action_id, day=_today())
    except PortfolioError as error:
        return _batch_page(request, batch_id, error=error)
    return RedirectResponse(f"/helper/{batch_id}", status_code=303)


@router.get("/helper/{batch_id}/photos/{photo_id}/{long_px}")
def send_photo(
    request: Request, batch_id: Id, photo_id: Id, long_px: Annotated[int, Path(ge=1, le=10_000)]
) -> FileResponse:
    """A photo of an own batch, as it was taken."""
    path = flow.own_picture(
        desk_of(request).library, request.state.visitor, batch_id, photo_id, day=_today(), long_px=long_px
    )
    return FileResponse(path, media_type="image/jpeg", headers={"Content-Security-Policy": PICTURE_CSP})
