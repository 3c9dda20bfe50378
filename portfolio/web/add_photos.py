"""Add photos: each file is kept as it arrives, the batch is read in the background, the report grows on its page."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, date, datetime
from typing import Annotated, Final

from fastapi import APIRouter, File, Form, Request, UploadFile
from fastapi.responses import HTMLResponse, JSONResponse, RedirectResponse, Response

from portfolio.archive.desk import BatchLine
from portfolio.errors import PortfolioError, Problem
from portfolio.flows import take_in
from portfolio.flows.arriving import check_chosen, check_count
from portfolio.flows.batches import check_batch, check_order, numbers_in
from portfolio.flows.desk import Picks, see_lesson_now, see_picks
from portfolio.flows.see_batch import BatchSeen, PhotoLine, see_batch
from portfolio.flows.settle import undo as undo_action
from portfolio.flows.upload import FILES_MAX, ZIP_MAX, keep_upload
from portfolio.model.filing import BatchMode, Chosen, Decision, PhotoState
from portfolio.web import tus, walls, words
from portfolio.web.answers import Note, Tile, Wall
from portfolio.web.answers_photos import AddPage, BatchPage, Counted, RecentBatch
from portfolio.web.asking import short_of
from portfolio.web.batch_count import choice_of, counted_of
from portfolio.web.desk import Desk, desk_of
from portfolio.web.fields import DayWord, FormId, Id, IdWord, day_in, id_in
from portfolio.web.guard import FORM_MAX
from portfolio.web.listening import is_loopback
from portfolio.web.picks import class_choices, medium_choices
from portfolio.web.render import drawers, note, note_of, page, plain
from portfolio.web.sending import lasting

router = APIRouter(include_in_schema=False)

PICK_AGAIN: Final = "The page that sends them goes on by itself; if it was closed, add those photos again."


@router.get("/add")
def show_add(request: Request) -> HTMLResponse:
    """Where photos are dropped."""
    return _add_page(request)


def _add_page(request: Request, *, note: Note | None = None, status: int = 200) -> HTMLResponse:
    desk = desk_of(request)
    is_here = is_loopback(request.client.host if request.client else "")
    answer = add_page(desk, see_picks(desk.library, desk.today()), looks_first=not is_here, note=note)
    return page(request, "add.html", drawer="/add", status=status, page=answer)


def add_page(desk: Desk, picks: Picks, *, looks_first: bool = False, note: Note | None = None) -> AddPage:
    """The answer: what may be chosen for a batch, and the newest batches. ``looks_first``: sending takes its time."""
    today = desk.today()
    now = see_lesson_now(desk.library, today)
    guess = (
        f"By the timetable, the last lesson was {now}."
        if now
        else "Which class it is comes from the cards and the timetable."
    )
    labels = {one.class_id: one.label for one in picks.classes}
    return AddPage(
        guess=guess,
        classes=class_choices(picks),
        media=medium_choices(picks),
        photo_max_mb=desk.library.settings.photo_max_mb,
        zip_max_mb=ZIP_MAX >> 20,
        files_max=FILES_MAX,
        looks_first=looks_first,
        day="",
        recent=tuple(_recent(one, labels, today) for one in picks.batches if one.photos),
        note=note,
    )


def _recent(one: BatchLine, labels: Mapping[int, str], today: date) -> RecentBatch:
    """A line of the list; the class stands first where it was chosen for the whole batch."""
    label = labels.get(one.class_id or 0)
    filed = one.states.get("filed", 0) + one.states.get("slate", 0)
    what = "all filed" if filed == one.photos else f"{filed} filed"
    return RecentBatch(
        href=f"/add/{one.batch_id}",
        words=f"{f'{label}: ' if label else ''}{words.count(one.photos, 'photo')}, {what}",
        when=words.moment(one.created_utc, today=today),
        waits=one.states.get("question", 0),
    )


def chosen_of(class_id: str, medium_id: str, day: str, *, by_order: str = "", absent: str = "") -> Chosen:
    """What was chosen in the form. Empty fields leave it to cards and timetable."""
    chosen = Chosen(
        class_id=id_in(class_id),
        medium_id=id_in(medium_id),
        day=day_in(day, item="The day"),
        mode=BatchMode.ORDER if by_order else BatchMode.CARDS,
        absent=numbers_in(absent),
    )
    check_order(chosen)
    return chosen


# --- sending ----------------------------------------------------------------------------------------------


@router.post("/add", max_body_size=FORM_MAX)
def add_all(
    request: Request,
    photos: Annotated[list[UploadFile] | None, File()] = None,
    *,
    class_id: IdWord = "",
    medium_id: IdWord = "",
    day: DayWord = "",
    by_order: Annotated[str, Form(max_length=1)] = "",
    absent: Annotated[str, Form(max_length=200)] = "",
) -> Response:
    """One form with all files: the way that needs no script."""
    desk = desk_of(request)
    files = [one for one in photos or () if one.filename]
    try:
        chosen = chosen_of(class_id, medium_id, day, by_order=by_order, absent=absent)
        check_chosen(len(files))
        batch_id = take_in.open_batch(desk.library, chosen, expected=len(files))
        problems: list[Problem] = []
        for one in files:
            problems += keep_upload(desk.library, batch_id, name=one.filename, stream=one.file).problems
    except PortfolioError as error:
        return _add_page(request, note=note_of(error), status=error.http)
    desk.reader.start(batch_id)
    if problems:
        return _batch_page(request, batch_id, problems=tuple(problems))
    return RedirectResponse(f"/add/{batch_id}", status_code=303)


@router.post("/add/batches")
def open_batch(
    request: Request,
    *,
    class_id: IdWord = "",
    medium_id: IdWord = "",
    day: DayWord = "",
    by_order: Annotated[str, Form(max_length=1)] = "",
    absent: Annotated[str, Form(max_length=200)] = "",
    expected: Annotated[int, Form(ge=0, le=100_000)] = 0,
) -> Response:
    """Begin a batch; its photos follow piece by piece (see ``uploads``). A refusal is one that the page's script reads,
    like those of the pieces: the fields stand on the page that asks.
    """
    try:
        check_count(expected)
        chosen = chosen_of(class_id, medium_id, day, by_order=by_order, absent=absent)
        batch_id = take_in.open_batch(desk_of(request).library, chosen, expected=expected)
    except PortfolioError as error:
        return tus.refusal(error)
    return JSONResponse({"batch": batch_id}, status_code=201)


@router.post("/add/{batch_id}/close")
def close_batch(request: Request, batch_id: Id) -> Response:
    """All photos are there: read and file them. Safe to ask again. A script is answered without the way to the report:
    to a script, that looks the same as the way to the sign-in.
    """
    desk = desk_of(request)
    check_batch(desk.library, batch_id)
    desk.reader.start(batch_id)
    if "application/json" in request.headers.get("accept", ""):
        return JSONResponse({"batch": batch_id})
    return RedirectResponse(f"/add/{batch_id}", status_code=303)


# --- the report -------------------------------------------------------------------------------------------


@router.get("/add/{batch_id}")
def show_batch(request: Request, batch_id: Id) -> HTMLResponse:
    """The report of a batch."""
    return _batch_page(request, batch_id)


@router.get("/add/{batch_id}/state")
def show_state(request: Request, batch_id: Id) -> HTMLResponse:
    """The part of the report that changes; asked for again while the batch is being read. The last time the drawers
    come with it, so that both say how many questions wait.
    """
    answer = _answer(request, batch_id)
    said = plain("batch_state.html", page=answer)
    return HTMLResponse(bytes(said.body) + bytes(drawers(request, "/add").body)) if answer.done else said


@router.post("/add/{batch_id}/undo")
def undo_batch(request: Request, batch_id: Id) -> Response:
    """Take the whole batch back. Nothing is deleted, and this can be undone too."""
    library = desk_of(request).library
    check_batch(library, batch_id)
    try:
        take_in.undo_batch(library, batch_id)
    except PortfolioError as error:
        return _batch_page(request, batch_id, extra=(note_of(error),), status=error.http)
    return RedirectResponse(f"/add/{batch_id}", status_code=303)


@router.post("/add/{batch_id}/back")
def bring_back(request: Request, batch_id: Id, action_id: FormId) -> Response:
    """Bring a batch back that was taken back."""
    try:
        undo_action(desk_of(request).library, action_id)
    except PortfolioError as error:
        return _batch_page(request, batch_id, extra=(note_of(error),), status=error.http)
    return RedirectResponse(f"/add/{batch_id}", status_code=303)


def _answer(
    request: Request, batch_id: int, *, problems: tuple[Problem, ...] = (), extra: tuple[Note, ...] = ()
) -> BatchPage:
    desk = desk_of(request)
    seen = see_batch(desk.library, batch_id)
    busy = desk.reader.is_busy(batch_id)
    answer = batch_page(seen, busy=busy, today=desk.today(), problems=problems, extra=extra)
    is_counted = answer.done and seen.batch.state == "done" and answer.back is None
    counted = counted_of(desk.library, batch_id) if is_counted else Counted()
    is_open = not busy and seen.batch.state != "done"
    choice = choice_of(desk, seen) if answer.may_undo else None
    return _by_phone(desk, replace(answer, counted=counted, choice=choice), is_open=is_open, coming=seen.on_their_way)


def _by_phone(desk: Desk, answer: BatchPage, *, is_open: bool, coming: int) -> BatchPage:
    """A batch whose code is open: a phone may still send, and filing what came ends the code, so both are said; first
    of all, how many originals are still ``coming``.
    """
    ticket = desk.tickets.current(datetime.now(UTC))
    if ticket is None or ticket.batch_id != answer.batch_id or not is_open:
        return answer
    lasts = f"Its code is open for {lasting(ticket)}. Filing the photos now ends it."
    lead = answer.lead if coming else "A phone may still send photos."
    return replace(answer, by_phone=True, cut_off=False, lead=lead, lead_words=lasts)


def _batch_page(
    request: Request,
    batch_id: int,
    *,
    problems: tuple[Problem, ...] = (),
    extra: tuple[Note, ...] = (),
    status: int = 200,
) -> HTMLResponse:
    answer = _answer(request, batch_id, problems=problems, extra=extra)
    return page(request, "batch.html", drawer="/add", status=status, page=answer)


def batch_page(
    seen: BatchSeen,
    *,
    busy: bool,
    today: date,
    problems: tuple[Problem, ...] = (),
    extra: tuple[Note, ...] = (),
) -> BatchPage:
    """The answer: the count on its line, what waits, and the wall in the order taken."""
    done = seen.batch.state == "done" and not busy
    read = sum(1 for line in seen.lines if line.photo.numbers_read)
    filed = seen.counts[PhotoState.FILED] + seen.counts[PhotoState.SLATE]
    settled = sum(1 for line in seen.lines if line.photo.state is not PhotoState.STORED)
    expected = len(seen.lines) if done and not seen.on_their_way else seen.expected
    taken_back = (
        bool(seen.lines)
        and all(line.photo.state in (PhotoState.ASIDE, PhotoState.PROBLEM) for line in seen.lines)
        and seen.undone_by is not None
    )
    cut_off = not done and not busy and settled == 0
    counted = filed if done or settled else read
    sentence = _sentence(seen, done=done, expected=expected)
    troubled = [one for one in seen.lines if one.photo.problem is not None]
    notes = (
        *extra,
        *(_problem_note(one) for one in problems),
        *(_problem_note(one.photo.problem) for one in troubled if one.photo.problem),
    )
    return BatchPage(
        batch_id=seen.batch.batch_id,
        title="Add photos",
        about=_about(seen, today),
        settled=counted,
        expected=expected,
        sentence=sentence,
        lead=_lead(seen, safe=done or busy),
        lead_words=_lead_words(seen, done=done, busy=busy),
        waits=seen.waits,
        later=seen.later,
        wall=Wall(
            tuple(
                _tile(line, seen.foreseen.get(line.photo.photo_id)) for line in seen.lines if line.photo.problem is None
            )
        ),
        notes=notes,
        done=not busy,
        may_undo=done and bool(seen.lines) and not taken_back,
        spoken=f"{counted} {sentence}",
        cut_off=cut_off and bool(seen.lines),
        back=seen.undone_by if taken_back else None,
    )


def _about(seen: BatchSeen, today: date) -> str:
    days = sorted({line.work.made_on for line in seen.lines if line.work}) or [
        seen.batch.chosen.day or seen.batch.added_on
    ]
    day = words.capital(words.listed([words.day_plain(one, today=today) for one in days[:3]]))
    labels = sorted({line.work.class_label for line in seen.lines if line.work})
    label = seen.class_label or words.listed(labels[:4])
    return " · ".join(part for part in (label, words.capital(seen.medium), day) if part)


def _sentence(seen: BatchSeen, *, done: bool, expected: int) -> str:
    if not expected and not seen.lines:
        return "photos yet."
    coming = expected - len(seen.lines)
    settled = sum(1 for line in seen.lines if line.photo.state is not PhotoState.STORED)
    parts = [f"of {expected} filed." if done or settled else f"of {expected} read. They are filed when all are read."]
    if seen.waits:
        parts.append(f"{seen.waits} {'waits' if seen.waits == 1 else 'wait'} for you.")
    if seen.later:
        parts.append(f"{seen.later} put off.")
    if coming > 0:
        parts.append(f"{coming} {'is' if coming == 1 else 'are'} still coming.")
    pictures = sum(1 for line in seen.lines if line.photo.numbers_read and not line.photo.was_read)
    if pictures:
        parts.append(f"{words.count(pictures, 'picture')} {'is' if pictures == 1 else 'are'} still being straightened.")
    aside = seen.counts[PhotoState.ASIDE]
    if aside:
        parts.append(f"{aside} set aside.")
    return " ".join(parts)


def _lead(seen: BatchSeen, *, safe: bool) -> str:
    if seen.on_their_way:
        return f"{words.count(seen.on_their_way, 'original')} still to come."
    if not seen.lines and not seen.expected:
        return "Nothing has come."
    return "Safe to close." if safe else "Keep this page open."


def _lead_words(seen: BatchSeen, *, done: bool, busy: bool) -> str:
    if seen.on_their_way:
        return PICK_AGAIN
    if done:
        return "Every photo is kept as it was taken."
    if busy:
        return "All photos are in the library; reading goes on by itself."
    if not seen.lines and not seen.expected:
        return "Photos show here by themselves as they come."
    return f"{words.count(len(seen.lines), 'photo')} arrived so far."


def _problem_note(problem: Problem) -> Note:
    return note(problem.code, item=problem.item, found=problem.found)


def _tile(line: PhotoLine, foreseen: Decision | None) -> Tile:
    photo = line.photo
    place = f"Photo {photo.position + 1}"
    if line.work is not None:
        return _filed_tile(line, place)
    picture = walls.shown_now(photo)
    if photo.state is PhotoState.QUESTION and line.question is not None:
        numbers: list[int] = (line.question.guess or {}).get("numbers") or []
        figure = str(numbers[0]) if len(numbers) == 1 else "?"
        href = f"/check?batch={photo.batch_id}&ask={line.question.question_id}"
        return Tile(
            f"{place}, {figure}, to check", figure, "To check", short_of(line.question.kind), "asks", href, picture
        )
    if photo.state is PhotoState.SLATE:
        return Tile(f"{place}, cards only", "", "Cards only", "No work in it", "kept", None, picture)
    if photo.state is PhotoState.ASIDE:
        return Tile(f"{place}, set aside", "", "Set aside", photo.reason or "", "not-yet", None, picture)
    return _coming_tile(line, foreseen, place)


def _coming_tile(line: PhotoLine, foreseen: Decision | None, place: str) -> Tile:
    """A photo that is not settled yet, with its number as soon as that is read."""
    numbers = foreseen.meant.numbers if foreseen and foreseen.meant else ()
    figure = str(numbers[0]) if len(numbers) == 1 else ""
    second = "Waiting its turn"
    if line.photo.numbers_read:
        second = "Read, not filed yet" if line.photo.was_read else "Its picture is being straightened"
    name = f"{place}, number {figure}, coming" if figure else f"{place}, coming"
    return Tile(name, figure, "Coming", second, "coming", None, walls.shown_now(line.photo))


def _filed_tile(line: PhotoLine, place: str) -> Tile:
    assert line.work is not None
    asks_edge = line.question is not None
    tile = walls.tile_of(line.work, line="asks" if asks_edge else "kept")
    return Tile(
        name=f"{place}, number {line.work.number}, {'edge to check' if asks_edge else 'filed'}",
        number=tile.number,
        title="Edge to check" if asks_edge else "Filed",
        second=tile.second,
        line=tile.line,
        href=f"/check?ask={line.question.question_id}" if line.question else tile.href,
        picture=tile.picture or walls.shown_now(line.photo),
    )
