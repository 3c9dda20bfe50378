"""Pictures for the screens, each under a sandbox of its own; originals only to be saved."""

from __future__ import annotations

from typing import Annotated, Final

from fastapi import APIRouter, Path, Request
from fastapi.responses import FileResponse

from portfolio.flows import pictures as flow
from portfolio.web.desk import desk_of
from portfolio.web.fields import Id
from portfolio.web.guard import PICTURE_CSP

router = APIRouter(include_in_schema=False)

Rung = Annotated[int, Path(ge=1, le=10_000)]
_KEPT: Final = {"Content-Security-Policy": PICTURE_CSP, "Cache-Control": "private, max-age=3600"}


@router.get("/pictures/{key}/{rung}")
def send_picture(request: Request, key: Annotated[str, Path(max_length=80)], rung: Rung) -> FileResponse:
    """A work's picture. Its key changes whenever the picture is made anew, so a browser may keep it."""
    path = flow.work_picture(desk_of(request).library, key, rung=rung)
    return FileResponse(path, media_type="image/jpeg", headers=_KEPT)


@router.get("/photos/{photo_id}/original")
def send_original(request: Request, photo_id: Id) -> FileResponse:
    """The original to save, byte for byte. The browser is told to keep it in a file, never to show it."""
    found = flow.original(desk_of(request).library, photo_id)
    headers = {"Content-Security-Policy": PICTURE_CSP}
    return FileResponse(found.path, media_type="application/octet-stream", filename=found.name, headers=headers)


@router.get("/photos/{photo_id}/{long_px}")
def send_photo(request: Request, photo_id: Id, long_px: Rung) -> FileResponse:
    """A photo as it was taken."""
    path = flow.photo_as_taken(desk_of(request).library, photo_id, long_px=long_px)
    return FileResponse(path, media_type="image/jpeg", headers=_KEPT)
