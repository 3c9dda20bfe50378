"""The pages of Settings beside the first, each in a module of its own, as one part of the app."""

from __future__ import annotations

from typing import Final

from fastapi import APIRouter

from portfolio.web import (
    settings_about,
    settings_backup,
    settings_cards,
    settings_days,
    settings_frame,
    settings_password,
    settings_releases,
    settings_room,
    settings_timetable,
    settings_year,
)

router: Final = APIRouter(include_in_schema=False)
for _part in (
    settings_frame,
    settings_year,
    settings_timetable,
    settings_days,
    settings_room,
    settings_cards,
    settings_releases,
    settings_password,
    settings_backup,
    settings_about,
):
    router.include_router(_part.router)
