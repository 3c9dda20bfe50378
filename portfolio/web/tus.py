"""The few rules of tus 1.0 (https://tus.io/protocols/resumable-upload) that this app speaks: headers in and out.

Its core, creation, termination and expiration. Own code instead of a library: those tried lost bytes when the server
was stopped, or let two senders wait for each other (see DEVELOPERS.md).
"""

from __future__ import annotations

import base64
import binascii
from datetime import datetime
from email.utils import format_datetime
from typing import Final

from fastapi import Request
from fastapi.responses import JSONResponse, Response

from portfolio.errors import PortfolioError
from portfolio.flows.arriving import Announced, Progress
from portfolio.flows.upload import ZIP_MAX

VERSION: Final = "1.0.0"
OFFSET_TYPE: Final = "application/offset+octet-stream"
_SIZE_DIGITS: Final = 15
_METADATA_MAX: Final = 2_000
_CODES: Final = {"photo-too-heavy": 413}
"""Where tus wants another status than a page."""


def capabilities() -> Response:
    """What a client may ask for."""
    headers = {
        "Tus-Version": VERSION,
        "Tus-Extension": "creation,termination,expiration",
        "Tus-Max-Size": str(ZIP_MAX),
    }
    return answer(204, headers)


def answer(status: int, headers: dict[str, str] | None = None) -> Response:
    """An answer without a body."""
    return Response(status_code=status, headers={"Tus-Resumable": VERSION, **(headers or {})})


def refusal(error: PortfolioError) -> Response:
    """A refusal in the teacher's sentence, as the page's script reads it."""
    status = _CODES.get(error.code, error.http)
    return JSONResponse(
        {"code": error.code, "problems": [error.sentence]}, status_code=status, headers={"Tus-Resumable": VERSION}
    )


def progress_headers(progress: Progress) -> dict[str, str]:
    """How far a file is, in headers."""
    headers = {
        "Upload-Offset": str(progress.came),
        "Upload-Length": str(progress.announced.size_bytes),
        "Cache-Control": "no-store",
    }
    return headers if progress.kept is not None else {**headers, **expiry_headers(progress.expires_utc)}


def expiry_headers(expires_utc: datetime) -> dict[str, str]:
    """Until when a file can be gone on with."""
    return {"Upload-Expires": format_datetime(expires_utc, usegmt=True)}


def speaks_it(request: Request) -> bool:
    """Whether the client speaks our version."""
    return request.headers.get("tus-resumable") == VERSION


def announced_in(request: Request) -> Announced:
    """What a creation announces. Refuses what cannot be read."""
    told = _metadata(request.headers.get("upload-metadata", ""))
    batch_id = told.get("batch", "")
    modified = told.get("modified", "0")
    return Announced(
        batch_id=_number(batch_id, what="its batch"),
        name=told.get("name", ""),
        size_bytes=number_in(request, "Upload-Length"),
        modified_ms=_number(modified, what="its time"),
    )


def number_in(request: Request, header: str) -> int:
    """A size or place in bytes that must be there."""
    return _number(request.headers.get(header, ""), what=header)


def _number(text: str, *, what: str) -> int:
    if not (text.isascii() and text.isdecimal()) or len(text) > _SIZE_DIGITS:
        raise PortfolioError("bad-request", item="This upload", found=f"{what} is no number")
    return int(text)


def _metadata(header: str) -> dict[str, str]:
    """Pairs of a word and a text in base64, separated by commas."""
    if len(header) > _METADATA_MAX:
        raise PortfolioError("bad-request", item="This upload", found="its description is too long")
    try:
        pairs = [part.strip().partition(" ") for part in header.split(",") if part.strip()]
        return {word: base64.b64decode(text, validate=True).decode() for word, _, text in pairs}
    except (binascii.Error, UnicodeDecodeError) as error:
        raise PortfolioError("bad-request", item="This upload", found="its description cannot be read") from error
