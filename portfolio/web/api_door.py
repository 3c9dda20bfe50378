"""What all parts of the JSON door share: its prefix, and the refusals that each operation may answer with."""

from __future__ import annotations

from typing import Annotated, Any, Final

from fastapi import APIRouter, Query

from portfolio.web import api_shapes as shapes
from portfolio.web.fields import ID_MAX

TROUBLE: Final[dict[int | str, dict[str, Any]]] = {
    status: {
        "description": words,
        "content": {"application/problem+json": {"schema": {"$ref": "#/components/schemas/Problem"}}},
        "model": shapes.Problem,
    }
    for status, words in {
        400: "The request cannot be read.",
        401: "Nobody is signed in.",
        403: "Not from this site, or not for this role.",
        404: "Not in the library.",
        409: "Answered or undone before.",
        410: "The ticket is over.",
        413: "More than may come at once.",
        422: "It does not fit; the sentence says why.",
        429: "A password that does not fit was tried too often; the sentence says how long to wait.",
        507: "The disk is full.",
    }.items()
}
QueryId = Annotated[int | None, Query(ge=1, le=ID_MAX)]
Word = Annotated[str | None, Query(max_length=100)]


def door() -> APIRouter:
    """A part of the door. The prefix stands here and not where the router is included: a route's own path is what the
    table of roles knows.
    """
    return APIRouter(prefix="/api", tags=["archive"], responses=TROUBLE)
