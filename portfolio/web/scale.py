"""True scale without inline style: one class for every 10 mm of width, so that the whole wall has one scale."""

from __future__ import annotations

from functools import cache
from typing import Final

from fastapi import APIRouter
from fastapi.responses import Response

router = APIRouter(include_in_schema=False)

STEP_MM: Final = 10
WIDEST_MM: Final = 3000
UNMEASURED_MM: Final = 230
"""A work without a measured size is drawn as wide as a sheet of 9 in (229 mm, to the step)."""


def step(width_mm: float | None) -> int:
    """The width class in mm for a work of this width."""
    if width_mm is None or width_mm <= 0:
        return UNMEASURED_MM
    return min(WIDEST_MM, max(STEP_MM, STEP_MM * round(width_mm / STEP_MM)))


@cache
def style_sheet() -> str:
    """All width classes; the wall's own ``--scale`` (pixels per mm) turns them into pixels."""
    return "\n".join(f".mm-{mm}{{--mm:{mm}}}" for mm in range(STEP_MM, WIDEST_MM + 1, STEP_MM)) + "\n"


@router.get("/desk/scale.css")
def send_style_sheet() -> Response:
    """The width classes as a style sheet."""
    return Response(style_sheet(), media_type="text/css", headers={"Cache-Control": "public, max-age=86400"})
