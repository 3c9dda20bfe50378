"""Who may open which route: one table, read at the door and walked by a test. A route that is not here is closed."""

from __future__ import annotations

from typing import Final

ANONYMOUS: Final = "anonymous"
STATION: Final = "station"
HELPER: Final = "helper"
TEACHER: Final = "teacher"
ROLES: Final = (ANONYMOUS, STATION, HELPER, TEACHER)
HOMES: Final = {STATION: "/station", HELPER: "/helper", TEACHER: "/"}
"""Where each role begins; "/" leads there."""

_ANYONE: Final = frozenset(ROLES)
_SIGNED_IN: Final = frozenset({HELPER, TEACHER})
"""Who may sign out: a child at the station may not end it."""
_STATION: Final = frozenset({STATION})
_HELPER: Final = frozenset({HELPER})
_TEACHER: Final = frozenset({TEACHER})

ROUTES: Final[dict[tuple[str, str], frozenset[str]]] = {
    # --- before signing in ---------------------------------------------------------------------------
    ("GET", "/sign-in"): _ANYONE,
    ("POST", "/sign-in"): _ANYONE,
    ("GET", "/set-up"): _ANYONE,
    ("POST", "/set-up"): _ANYONE,
    ("GET", "/enter/{code}"): _ANYONE,
    ("GET", "/healthz"): _ANYONE,
    ("GET", "/desk/scale.css"): _ANYONE,
    ("GET", "/join"): _ANYONE,
    ("POST", "/join"): _ANYONE,
    ("GET", "/sign-in/helper"): _ANYONE,
    ("POST", "/sign-in/helper"): _ANYONE,
    ("POST", "/sign-out"): _SIGNED_IN,
    # --- the reflection station ----------------------------------------------------------------------
    ("GET", "/station"): _STATION,
    ("GET", "/station/{number}"): _STATION,
    ("GET", "/station/{number}/{work_id}"): _STATION,
    ("POST", "/station/{number}/{work_id}"): _STATION,
    ("GET", "/station/pictures/{work_id}/{rung}"): _STATION,
    ("POST", "/station/leave"): _STATION,
    # --- a helper's own photos of today ----------------------------------------------------------------
    ("GET", "/helper"): _HELPER,
    ("POST", "/helper"): _HELPER,
    ("GET", "/helper/{batch_id}"): _HELPER,
    ("POST", "/helper/{batch_id}/{question_id}"): _HELPER,
    ("POST", "/helper/{batch_id}/answers/undo"): _HELPER,
    ("GET", "/helper/{batch_id}/photos/{photo_id}/{long_px}"): _HELPER,
    # --- the drawers ---------------------------------------------------------------------------------
    ("GET", "/"): _TEACHER,
    ("GET", "/filling"): _TEACHER,
    ("GET", "/more"): _TEACHER,
    ("GET", "/add"): _TEACHER,
    ("POST", "/add"): _TEACHER,
    ("POST", "/add/batches"): _TEACHER,
    ("POST", "/add/{batch_id}/photos"): _TEACHER,
    ("OPTIONS", "/add/uploads"): _TEACHER,
    ("POST", "/add/uploads"): _TEACHER,
    ("HEAD", "/add/uploads/{key}"): _TEACHER,
    ("GET", "/add/uploads/{key}"): _TEACHER,
    ("PATCH", "/add/uploads/{key}"): _TEACHER,
    ("DELETE", "/add/uploads/{key}"): _TEACHER,
    ("POST", "/add/uploads/{key}/look"): _TEACHER,
    ("POST", "/add/{batch_id}/close"): _TEACHER,
    ("GET", "/add/{batch_id}"): _TEACHER,
    ("GET", "/add/{batch_id}/state"): _TEACHER,
    ("POST", "/add/{batch_id}/undo"): _TEACHER,
    ("POST", "/add/{batch_id}/back"): _TEACHER,
    ("POST", "/add/{batch_id}/absent"): _TEACHER,
    ("POST", "/add/{batch_id}/sizes"): _TEACHER,
    ("POST", "/add/{batch_id}/sizes/undo"): _TEACHER,
    ("GET", "/camera"): _TEACHER,
    ("POST", "/camera"): _TEACHER,
    ("GET", "/camera/{batch_id}"): _TEACHER,
    ("POST", "/camera/{batch_id}/frame"): _TEACHER,
    ("POST", "/camera/{batch_id}/pictures"): _TEACHER,
    ("POST", "/camera/{batch_id}/back"): _TEACHER,
    ("POST", "/camera/{batch_id}/again"): _TEACHER,
    ("POST", "/camera/{batch_id}/close"): _TEACHER,
    ("GET", "/check"): _TEACHER,
    ("POST", "/check/undo"): _TEACHER,
    ("POST", "/check/{question_id}"): _TEACHER,
    ("GET", "/find"): _TEACHER,
    ("GET", "/works/{work_id}"): _TEACHER,
    ("POST", "/works/{work_id}"): _TEACHER,
    ("POST", "/works/{work_id}/undo"): _TEACHER,
    ("POST", "/works/{work_id}/words"): _TEACHER,
    ("GET", "/works/{work_id}/edge"): _TEACHER,
    ("POST", "/works/{work_id}/edge"): _TEACHER,
    ("POST", "/works/{work_id}/edge/undo"): _TEACHER,
    ("GET", "/works/{work_id}/hide"): _TEACHER,
    ("POST", "/works/{work_id}/hide"): _TEACHER,
    ("POST", "/works/{work_id}/hide/show"): _TEACHER,
    ("GET", "/students"): _TEACHER,
    ("GET", "/students/{student_id}"): _TEACHER,
    ("GET", "/classes"): _TEACHER,
    ("GET", "/classes/{class_id}"): _TEACHER,
    ("GET", "/classes/{class_id}/saw"): _TEACHER,
    ("POST", "/classes/{class_id}/saw"): _TEACHER,
    ("POST", "/classes/{class_id}/saw/undo"): _TEACHER,
    ("POST", "/classes/{class_id}/centers/{centre_id}"): _TEACHER,
    ("GET", "/projector"): _TEACHER,
    ("GET", "/shows"): _TEACHER,
    ("POST", "/shows"): _TEACHER,
    ("GET", "/shows/{show_id}"): _TEACHER,
    ("POST", "/shows/{show_id}/choose"): _TEACHER,
    ("POST", "/shows/{show_id}/publish"): _TEACHER,
    ("GET", "/reports"): _TEACHER,
    ("GET", "/settings"): _TEACHER,
    ("GET", "/settings/devices"): _TEACHER,
    ("POST", "/settings/devices/stations"): _TEACHER,
    ("POST", "/settings/devices/starters"): _TEACHER,
    ("POST", "/settings/devices/undo"): _TEACHER,
    ("POST", "/settings/devices/end-others"): _TEACHER,
    ("POST", "/settings/devices/{sign_in_id}/end"): _TEACHER,
    ("GET", "/settings/people"): _TEACHER,
    ("POST", "/settings/people"): _TEACHER,
    ("POST", "/settings/people/{account_id}/password"): _TEACHER,
    ("POST", "/settings/people/{account_id}/remove"): _TEACHER,
    ("POST", "/settings/roster"): _TEACHER,
    ("POST", "/settings/roster/apply"): _TEACHER,
    ("POST", "/settings/undo"): _TEACHER,
    ("GET", "/settings/year"): _TEACHER,
    ("POST", "/settings/year"): _TEACHER,
    ("POST", "/settings/year/school"): _TEACHER,
    ("POST", "/settings/year/terms"): _TEACHER,
    ("POST", "/settings/year/new"): _TEACHER,
    ("GET", "/settings/timetable"): _TEACHER,
    ("POST", "/settings/timetable/{class_id}"): _TEACHER,
    ("GET", "/settings/days"): _TEACHER,
    ("POST", "/settings/days"): _TEACHER,
    ("POST", "/settings/days/plain"): _TEACHER,
    ("GET", "/settings/media"): _TEACHER,
    ("POST", "/settings/media"): _TEACHER,
    ("POST", "/settings/media/{medium_id}"): _TEACHER,
    ("GET", "/settings/centers"): _TEACHER,
    ("POST", "/settings/centers"): _TEACHER,
    ("POST", "/settings/centers/{centre_id}"): _TEACHER,
    ("GET", "/settings/releases"): _TEACHER,
    ("POST", "/settings/releases/list"): _TEACHER,
    ("POST", "/settings/releases/list/apply"): _TEACHER,
    ("POST", "/settings/releases/{class_id}"): _TEACHER,
    ("GET", "/settings/password"): _TEACHER,
    ("POST", "/settings/password"): _TEACHER,
    ("GET", "/settings/about"): _TEACHER,
    ("POST", "/settings/about/limits"): _TEACHER,
    ("GET", "/settings/backup"): _TEACHER,
    ("POST", "/settings/backup"): _TEACHER,
    ("GET", "/settings/backup/state"): _TEACHER,
    # --- pictures ------------------------------------------------------------------------------------
    ("GET", "/pictures/{key}/{rung}"): _TEACHER,
    ("GET", "/photos/{photo_id}/{long_px}"): _TEACHER,
    ("GET", "/photos/{photo_id}/original"): _TEACHER,
    # --- for machines --------------------------------------------------------------------------------
    ("GET", "/api/openapi.json"): _TEACHER,
    ("POST", "/api/batches"): _TEACHER,
    ("GET", "/api/batches/{batch_id}"): _TEACHER,
    ("POST", "/api/batches/{batch_id}/photos"): _TEACHER,
    ("POST", "/api/batches/{batch_id}/close"): _TEACHER,
    ("POST", "/api/batches/{batch_id}/undo"): _TEACHER,
    ("GET", "/api/questions"): _TEACHER,
    ("GET", "/api/questions/{question_id}"): _TEACHER,
    ("POST", "/api/questions/{question_id}/answer"): _TEACHER,
    ("POST", "/api/actions/{action_id}/undo"): _TEACHER,
    ("GET", "/api/works"): _TEACHER,
    ("GET", "/api/works/{work_id}"): _TEACHER,
    ("GET", "/api/students/{student_id}/timeline"): _TEACHER,
    ("GET", "/api/classes"): _TEACHER,
    ("GET", "/api/classes/{class_id}/grid"): _TEACHER,
    ("GET", "/api/shows"): _TEACHER,
    ("GET", "/api/shows/{show_id}"): _TEACHER,
}
"""(method, path template) → the roles that may use it. What lies under ``/static`` is the program itself: anyone."""


def may(role: str, method: str, path: str) -> bool:
    """Whether this role may use this route; HEAD counts as GET; an unknown route is closed to everyone."""
    wanted = "GET" if method == "HEAD" else method
    return role in ROUTES.get((wanted, path), frozenset())
