"""What every request passes: host, origin, size, headers; and who may use which route."""

from __future__ import annotations

import hashlib
import traceback

import pytest
from fastapi.routing import APIRoute
from fastapi.testclient import TestClient
from starlette.responses import Response
from starlette.types import Receive, Scope, Send

from portfolio.model.assets import asset
from portfolio.web import roles, scale
from portfolio.web.guard import CSP, PICTURE_CSP, Guard
from tests.web.conftest import App


def _routes(app: App) -> set[tuple[str, str]]:
    """Every (method, path template) that the app answers, found by asking the app itself."""
    asgi = app.client.app
    found = set()

    def walk(routes: list[object], prefix: str) -> None:
        for route in routes:
            if isinstance(route, APIRoute):
                found.update((method, prefix + route.path) for method in route.methods or ())
            elif hasattr(route, "original_router"):  # FastAPI keeps an included router as one route
                walk(route.original_router.routes, prefix + getattr(route.include_context, "prefix", ""))

    walk(asgi.routes, "")  # type: ignore[attr-defined]
    return found


def test_table_and_routes_are_the_same(app: App) -> None:
    """Every route stands in the table of roles and every line of the table is a route."""
    assert _routes(app) == set(roles.ROUTES)


def test_helper_sees_only_what_the_table_gives(app: App) -> None:
    """A helper may sign out, and has the own pages, nothing else; no route is open to helpers by accident."""
    allowed = {key for key, who in roles.ROUTES.items() if roles.HELPER in who and roles.ANONYMOUS not in who}
    assert {one for one in allowed if not one[1].startswith("/helper")} == {("POST", "/sign-out")}
    assert not roles.may(roles.HELPER, "GET", "/nowhere")
    assert roles.may(roles.TEACHER, "HEAD", "/")


def test_changes_from_elsewhere_are_refused(app: App) -> None:
    """from-elsewhere: another site's form, another origin, or no origin at all cannot change anything."""
    for headers in (
        {"Sec-Fetch-Site": "cross-site", "Origin": "http://127.0.0.1"},
        {"Sec-Fetch-Site": "same-site"},
        {"Origin": "http://evil.test"},
        {"Origin": "null"},
        {"Origin": ""},
    ):
        said = app.client.post("/sign-out", headers=headers)
        assert said.status_code == 403, headers
    assert app.client.get("/more").status_code == 200, "still signed in"


def test_own_changes_pass_with_either_sign(app: App) -> None:
    """Our own page passes by Sec-Fetch-Site, and by Origin where a browser does not send that."""
    for headers in ({"Sec-Fetch-Site": "same-origin", "Origin": ""}, {"Origin": "http://127.0.0.1"}):
        said = app.stranger.post("/sign-in", data={"password": "x"}, headers=headers)
        assert "The password does not fit" in said.text, "heard, though the password is wrong"
        assert app.stranger.post("/sign-out", headers=headers).status_code == 303


def test_other_host_names_are_refused(app: App) -> None:
    """A name that an attacker points at this computer gets nothing."""
    for host in ("evil.test", "127.0.0.1.evil.test", "", "localhost.evil.test:80"):
        assert app.client.get("/", headers={"Host": host}).status_code == 400
    assert app.client.get("/healthz", headers={"Host": "localhost:8765"}).status_code == 200


def test_every_answer_carries_the_strict_headers(app: App) -> None:
    """Pages, refusals and files all come with the content policy; named pages are never kept by a browser."""
    for path in ("/", "/find", "/sign-in", "/nowhere", "/static/desk/tokens.css", "/healthz"):
        said = app.client.get(path)
        assert said.headers["content-security-policy"] == CSP
        assert said.headers["x-content-type-options"] == "nosniff"
        assert said.headers["referrer-policy"] == "no-referrer"
        if not path.startswith("/static/"):
            assert said.headers["cache-control"] == "no-store"


def test_pictures_are_sandboxed_and_originals_only_saved(app: App) -> None:
    """A picture comes with a fixed kind under a sandbox; an original is an attachment, whatever its bytes are."""
    photo = app.room.photos[0]
    seen = app.client.get(f"/photos/{photo}/1600")
    assert (seen.headers["content-type"], seen.headers["content-security-policy"]) == ("image/jpeg", PICTURE_CSP)
    assert b"Exif" not in seen.content
    saved = app.client.get(f"/photos/{photo}/original")
    assert saved.headers["content-type"] == "application/octet-stream"
    assert saved.headers["content-disposition"].startswith("attachment")
    assert saved.headers["content-security-policy"] == PICTURE_CSP
    for path in (
        "/pictures/..%2f..%2fportfolio/336",
        "/pictures/abcdefgh/337",
        f"/photos/{photo}/1601",
        "/photos/99999/1600",
    ):
        assert app.client.get(path).status_code == 404


def test_a_heavy_request_is_refused_before_it_is_read(app: App) -> None:
    """upload-too-heavy: more than a page's form may bring."""
    said = app.client.post(
        "/sign-in", content=b"x" * 1_500_000, headers={"Content-Type": "application/x-www-form-urlencoded"}
    )
    assert said.status_code == 413
    assert "stored before is safe" in said.text


@pytest.mark.parametrize("path", ["/settings/roster", "/add", "/api/batches/1/photos"])
def test_routes_that_take_files_refuse_more_than_theirs_in_words(app: App, path: str) -> None:
    """A file that is announced larger than its route takes: the table's sentence, not a bare status."""
    said = app.client.post(path, content=b"x", headers={"Content-Length": "5000000000"})
    assert said.status_code == 413
    assert "Send fewer or smaller photos" in said.text


@pytest.mark.parametrize(
    ("path", "said"),
    [
        ("/classes/abc", "“class” does not fit: a number is needed."),
        (f"/find?words={'a' * 300}", "“words” does not fit: it is too long."),
    ],
)
def test_what_does_not_fit_is_said_in_plain_words(app: App, path: str, said: str) -> None:
    """Not in those of the library that checks it: no field's inner name, nothing of parsing."""
    page = app.client.get(path)
    assert page.status_code == 422
    assert said in page.text
    assert "parse" not in page.text


def test_a_mistake_of_ours_is_told_plainly(app: App, monkeypatch: pytest.MonkeyPatch) -> None:
    """program-mistake: one page, no trace of the values that led there."""

    def stop(*_: object, **__: object) -> None:
        raise ZeroDivisionError("Marisol Quintanilla")

    monkeypatch.setattr("portfolio.web.reports.see_term", stop)
    with TestClient(
        app.client.app, base_url="http://127.0.0.1", cookies=app.client.cookies, raise_server_exceptions=False
    ) as c:
        said = c.get("/reports")
    assert said.status_code == 500
    assert "Something went wrong in the program" in said.text
    assert "Marisol" not in said.text


def test_the_page_of_a_mistake_has_the_headers_and_its_log_no_value(
    app: App, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    """program-mistake: nothing is raised on to the server, whose log would hold the values; the place is logged."""

    def stop(*_: object, **__: object) -> None:
        raise ZeroDivisionError("Marisol Quintanilla")

    monkeypatch.setattr("portfolio.web.reports.see_term", stop)
    monkeypatch.setattr("portfolio.web.api.see_classes", stop)
    for path, kind in (("/reports", "text/html; charset=utf-8"), ("/api/classes", "application/problem+json")):
        said = app.client.get(path)
        assert (said.status_code, said.headers["content-type"]) == (500, kind)
        assert said.headers["content-security-policy"] == CSP
        assert said.headers["x-content-type-options"] == "nosniff"
        assert said.headers["cache-control"] == "no-store"
        assert "Marisol" not in said.text
    told = "".join(record.getMessage() for record in caplog.records)
    assert "ZeroDivisionError" in told
    assert "reports.py:" in told
    assert "Marisol" not in caplog.text


def test_an_answer_that_was_cut_off_is_told_without_its_values(caplog: pytest.LogCaptureFixture) -> None:
    """When the answer has begun no page can follow; what the server logs then holds nothing of the error."""

    async def breaks(_scope: Scope, _receive: Receive, send: Send) -> None:
        await send({"type": "http.response.start", "status": 200, "headers": []})
        raise ZeroDivisionError("Marisol Quintanilla")

    client = TestClient(Guard(breaks, ["127.0.0.1"], lambda *_: Response()), base_url="http://127.0.0.1")
    with pytest.raises(RuntimeError, match="an answer was cut off") as stopped:
        client.get("/")
    assert "Marisol" not in "".join(traceback.format_exception(stopped.value))
    assert "Marisol" not in caplog.text


def test_vendored_files_are_unchanged() -> None:
    """Each foreign file has the digest that its manifest says."""
    listed = [
        line.split() for line in asset("vendor", "MANIFEST").read_text("utf-8").splitlines() if not line.startswith("#")
    ]
    files = {path.name for path in asset("vendor").iterdir()} - {"MANIFEST"}
    assert {line[4] for line in listed} == {name for name in files if not name.endswith("LICENSE")}
    for *_, digest, name in listed:
        assert hashlib.sha256(asset("vendor", name).read_bytes()).hexdigest() == digest


def test_scale_has_a_class_for_every_width() -> None:
    """Every measured width falls on a class of the style sheet, to 5 mm."""
    sheet = scale.style_sheet()
    for width in (1.0, 9.9, 229.0, 305.0, 1234.5, 9000.0, None):
        step = scale.step(width)
        assert f".mm-{step}{{--mm:{step}}}" in sheet
        if width is not None and 10 <= width <= scale.WIDEST_MM:
            assert abs(step - width) <= scale.STEP_MM / 2
