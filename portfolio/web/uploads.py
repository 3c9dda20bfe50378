"""Photos that are sent piece by piece (tus 1.0): create, ask how far it came, go on there, until it is whole."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncGenerator, AsyncIterator, Callable
from contextlib import aclosing, asynccontextmanager
from dataclasses import dataclass, field
from typing import Annotated, Final

from fastapi import APIRouter, File, Request, UploadFile
from fastapi.responses import JSONResponse, Response
from starlette.concurrency import run_in_threadpool
from starlette.requests import ClientDisconnect

from portfolio.errors import PortfolioError
from portfolio.flows import arriving as flow
from portfolio.flows.first_look import take_first_look
from portfolio.web import tus
from portfolio.web.desk import Desk, desk_of
from portfolio.web.guard import LOOK_MAX, ONE_FILE_MAX

router = APIRouter(include_in_schema=False)

BLOCK: Final = 1 << 20
"""Bytes that are put on the disk at once."""
IDLE_SECONDS: Final = 60
"""A sender from whom nothing comes for so long is taken to be gone."""


@dataclass
class _Line:
    """Who sends one file: one at a time, and the newest ends those before it."""

    lock: asyncio.Lock = field(default_factory=asyncio.Lock)
    newest: asyncio.Event = field(default_factory=asyncio.Event)


_lines: dict[str, _Line] = {}


@asynccontextmanager
async def _turn(key: str) -> AsyncIterator[asyncio.Event]:
    """Be the one sender of a file; gives the event that a newer sender sets. A connection that is half open, and its
    sender gone, must not keep the next one waiting.
    """
    line = _lines.setdefault(key, _Line())
    line.newest.set()
    mine = line.newest = asyncio.Event()
    try:
        async with line.lock:
            yield mine
    finally:
        if line.newest is mine:
            _lines.pop(key, None)


@router.options("/add/uploads")
async def tell_capabilities() -> Response:
    """What this server can do."""
    return tus.capabilities()


@router.post("/add/uploads")
def create(request: Request) -> Response:
    """Announce one file of a batch. Refused before its first byte when it cannot be taken."""
    return begun(request, lambda announced: announced, at="/add/uploads")


def begun(request: Request, as_taken: Callable[[flow.Announced], flow.Announced], *, at: str) -> Response:
    """Announce what a request says, as it may be taken (``as_taken`` refuses or changes it); sent on below ``at``."""
    if not tus.speaks_it(request):
        return tus.answer(412, {"Tus-Version": tus.VERSION})
    library = desk_of(request).library
    try:
        key = flow.begin(library, as_taken(tus.announced_in(request)))
        progress = flow.see(library, key)
    except PortfolioError as error:
        return tus.refusal(error)
    return tus.answer(201, {"Location": f"{at}/{key}", **tus.expiry_headers(progress.expires_utc)})


@router.head("/add/uploads/{key}")
def tell_offset(request: Request, key: str) -> Response:
    """How many bytes came. Says too when the disk has no space for the rest."""
    library = desk_of(request).library
    try:
        progress = flow.see(library, key)
        flow.check_room(library, progress)
    except PortfolioError as error:
        return tus.answer(error.http, {"Cache-Control": "no-store"})
    return tus.answer(200, tus.progress_headers(progress))


@router.get("/add/uploads/{key}")
def tell_end(request: Request, key: str) -> JSONResponse:
    """What became of a file that came whole; while it is on its way, how far it is."""
    try:
        progress = flow.see(desk_of(request).library, key)
    except PortfolioError as error:
        return JSONResponse({"problems": [error.sentence]}, status_code=error.http)
    kept = progress.kept or flow.Kept()
    return JSONResponse(
        {
            "came": progress.came,
            "whole": progress.kept is not None,
            "photos": kept.photos,
            "before": kept.before,
            "problems": kept.problems,
        }
    )


@router.post("/add/uploads/{key}/look", max_body_size=LOOK_MAX)
def look_first(
    request: Request, key: str, beginning: Annotated[UploadFile, File()], look: Annotated[UploadFile, File()]
) -> Response:
    """A small picture of an announced photo and how its file begins, so that cards are read before the rest is here.
    Says which photo it is; none when nothing can be read before the original is whole.
    """
    desk = desk_of(request)
    try:
        announced = flow.see(desk.library, key).announced
        photo_id = take_first_look(desk.library, announced, beginning=beginning.file.read(), look=look.file.read())
    except PortfolioError as error:
        return tus.refusal(error)
    desk.reader.start_ahead(announced.batch_id)
    return JSONResponse({"photo": photo_id}, status_code=201 if photo_id else 200)


@router.delete("/add/uploads/{key}")
async def give_up(request: Request, key: str) -> Response:
    """The sender gives a file up, and whoever still sends it is ended."""
    if not tus.speaks_it(request):
        return tus.answer(412, {"Tus-Version": tus.VERSION})
    async with _turn(key):
        try:
            await run_in_threadpool(flow.give_up, desk_of(request).library, key)
        except PortfolioError as error:
            return tus.refusal(error)
    return tus.answer(204)


@router.patch("/add/uploads/{key}", max_body_size=ONE_FILE_MAX)
async def go_on(request: Request, key: str) -> Response:
    """Take bytes from where the file stopped; the last one makes it a photo. Ends an older request for this file."""
    if not tus.speaks_it(request):
        return tus.answer(412, {"Tus-Version": tus.VERSION})
    if request.headers.get("content-type") != tus.OFFSET_TYPE:
        return tus.answer(415)
    desk = desk_of(request)
    async with _turn(key) as ended:
        try:
            return await _take(request, desk, key, ended)
        except PortfolioError as error:
            return tus.refusal(error)


async def _take(request: Request, desk: Desk, key: str, ended: asyncio.Event) -> Response:
    library = desk.library
    before = await run_in_threadpool(flow.see, library, key)
    size = before.announced.size_bytes
    if tus.number_in(request, "Upload-Offset") != before.came:
        raise PortfolioError("upload-offset", item=before.announced.name, found=f"{before.came} bytes came so far")
    rest = size - before.came
    if int(request.headers.get("content-length") or 0) > rest:
        raise PortfolioError("upload-too-heavy", item=before.announced.name)
    if rest:
        await run_in_threadpool(flow.check_room, library, before)
        async with aclosing(_blocks(request, ended)) as blocks:
            async for block in blocks:
                rest -= len(block)
                if rest < 0:
                    raise PortfolioError("upload-too-heavy", item=before.announced.name)
                await run_in_threadpool(flow.append, library, key, block)
    if rest == 0 and before.kept is None:
        await run_in_threadpool(flow.finish, library, key)
        desk.reader.start_ahead(before.announced.batch_id)
    return tus.answer(204, tus.progress_headers(await run_in_threadpool(flow.see, library, key)))


async def _blocks(request: Request, ended: asyncio.Event) -> AsyncGenerator[bytes, None]:
    """The body in large blocks, up to its end, a cut connection or a long silence: whatever came until then is given.
    A newer sender ends it at once, so that the place it was told still holds. Waiting is broken off, never writing.
    """
    stream = request.stream()
    newer = asyncio.ensure_future(ended.wait())
    gathered = bytearray()
    try:
        while True:
            coming = asyncio.ensure_future(anext(stream, None))
            await asyncio.wait({coming, newer}, timeout=IDLE_SECONDS, return_when=asyncio.FIRST_COMPLETED)
            if newer.done():
                coming.cancel()
                return
            part = _part_in(coming)
            gathered += part or b""
            if gathered and (part is None or len(gathered) >= BLOCK):
                yield bytes(gathered)
                gathered.clear()
            if part is None:
                return
    finally:
        newer.cancel()


def _part_in(coming: asyncio.Future[bytes | None]) -> bytes | None:
    """What a wait for more gave; ``None`` when there is no more to come."""
    if not coming.done():
        coming.cancel()
        return None
    return None if isinstance(coming.exception(), ClientDisconnect) else coming.result()
