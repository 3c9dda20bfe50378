"""The JSON door: documented, bounded, and every refusal is a problem object with our sentence."""

from __future__ import annotations

import io
import time
from pathlib import Path

import pytest
import schemathesis
from hypothesis import HealthCheck, given, settings
from PIL import Image
from schemathesis.specs.openapi.checks import ignored_auth, positive_data_acceptance, unsupported_method

from portfolio.errors import Refused
from portfolio.web import phone
from tests.web.asked import ask_about_two_numbers
from tests.web.conftest import OURS, App
from tests.web.room import FAMILY, GIVEN


def test_schema_describes_every_route_and_its_refusals(app: App) -> None:
    """The description is served to the teacher, and each operation says that it may answer with a problem object."""
    schema = app.client.get("/api/openapi.json").json()
    assert len(schema["paths"]) >= 14
    for path, operations in schema["paths"].items():
        assert path.startswith("/api/")
        for operation in operations.values():
            assert "application/problem+json" in operation["responses"]["404"]["content"]
            assert operation["description"]


@pytest.mark.parametrize("path", ["works", "classes", "students"])
@pytest.mark.parametrize("key", [0, -1, 2**63, 10**30])
def test_ids_are_bounded(app: App, path: str, key: int) -> None:
    """An id that no record can have is refused as such, never as a fault of the program."""
    tail = {"works": "", "classes": "/grid", "students": "/timeline"}[path]
    said = app.client.get(f"/api/{path}/{key}{tail}")
    assert said.status_code == 422
    assert said.headers["content-type"] == "application/problem+json"
    assert said.json()["code"] == "bad-request"


def test_what_is_not_there_is_a_problem_with_a_sentence(app: App) -> None:
    """not-found: status, code and sentence of the table."""
    said = app.client.get(f"/api/works/{2**63 - 1}")
    assert said.status_code == 404
    assert {"type", "title", "status", "detail", "code"} == set(said.json())
    assert "is not in the library" in said.json()["detail"]


def test_works_can_be_found_and_opened(app: App) -> None:
    """Find by words and filters gives ids that open the whole work."""
    found = app.client.get("/api/works", params={"words": "wind", "class": "3B"}).json()
    assert found["total"] > 0
    assert {one["class"] for one in found["works"]} == {"3B"}
    work = app.client.get(f"/api/works/{found['works'][0]['work']}").json()
    assert work["views"][0]["picture"].startswith("/pictures/")
    assert app.client.get(f"{work['views'][0]['picture']}/336").headers["content-type"] == "image/jpeg"


def test_grid_and_timeline_agree(app: App) -> None:
    """The works of a number in the grid are those of the child's own timeline in that year."""
    row = app.client.get(f"/api/classes/{app.room.classes['3B']}/grid", params={"whole_year": True}).json()["rows"][0]
    years = app.client.get(f"/api/students/{row['student']}/timeline").json()["years"]
    newest = next(year for year in years if year["class"] == "3B")
    assert {work["work"] for work in newest["works"]} == set(row["works"])


def test_no_name_is_in_any_answer(app: App) -> None:
    """Machines get numbers and ids; a child's name is in no answer."""
    paths = [route for route in app.client.get("/api/openapi.json").json()["paths"] if "{" not in route]
    paths += [f"/api/works/{one}" for one in app.room.works]
    paths += [f"/api/students/{one}/timeline" for one in app.room.students]
    paths += [f"/api/classes/{one}/grid" for one in app.room.classes.values()]
    for path in paths:
        text = app.client.get(path).text
        assert not [name for name in (*GIVEN, *FAMILY) if name in text], path


def test_a_batch_by_order_of_numbers_and_an_answer_for_a_whole_group(app: App) -> None:
    """The order needs its class; two photos without a card are asked about, and one answer files both."""
    assert app.client.post("/api/batches", json={"by_order": True}).status_code >= 400
    chosen = {"class": "3B", "day": "2026-09-10", "by_order": True, "absent": [3]}
    batch = app.client.post("/api/batches", json=chosen).json()["batch"]
    for shade in (60, 61):
        stream = io.BytesIO()
        Image.new("RGB", (320, 240), (shade,) * 3).save(stream, "JPEG")
        sent = app.client.post(f"/api/batches/{batch}/photos", files={"photo": (f"{shade}.jpg", stream.getvalue())})
        assert sent.status_code == 201
    app.client.post(f"/api/batches/{batch}/close")
    while app.desk.reader.is_busy(batch):
        time.sleep(0.05)
    asked = app.client.get("/api/questions", params={"batch": batch}).json()
    assert len(asked) == 2
    answered = app.client.post(f"/api/questions/{asked[0]['question']}/answer", json={"yes": True, "whole_group": True})
    assert answered.status_code == 200
    told = app.client.get(f"/api/batches/{batch}").json()
    assert [one["number"] for one in told["photos"]] == [1, 2]
    assert told["checks"][0]["missing"][0] == 4, "3 was said to be absent"


def test_each_number_in_a_photo_has_its_own_work(app: App) -> None:
    """``each``: a work for number 8 and one for 9, and a question about the edge of each; a photo with one number has
    no such answer.
    """
    key = ask_about_two_numbers(app.room, sha256="d" * 64)
    done = app.client.post(f"/api/questions/{key}/answer", json={"each": True})
    assert done.status_code == 200
    waiting = app.client.get("/api/questions").json()
    edges = [one for one in waiting if one["kind"] == "crop" and one["work"]]
    works = [app.client.get(f"/api/works/{one['work']}").json() for one in edges]
    assert [one["number"] for one in works] == [8, 9]
    assert [one["views"][0]["picture"] for one in works] == [None, None]
    refused = app.client.post(f"/api/questions/{edges[0]['question']}/answer", json={"each": True})
    assert (refused.status_code, refused.json()["code"]) == (422, "bad-request")
    assert app.client.post(f"/api/actions/{done.json()['action']}/undo").status_code == 200
    app.client.post(f"/api/questions/{key}/answer", json={"aside": True})


def test_unknown_fields_are_refused(app: App) -> None:
    """A field that is not described is a mistake of the sender, not something to guess about."""
    assert app.client.post("/api/batches", json={"clas": "3B"}).status_code == 422
    assert (
        app.client.post("/api/batches", content=b"\xff\xfe", headers={"Content-Type": "application/json"}).status_code
        < 500
    )


def test_works_are_found_by_size_and_words(app: App) -> None:
    """The sizes of Find: each work is small, middle-sized, large or unmeasured; a size that is none is refused."""
    total = app.client.get("/api/works").json()["total"]
    sizes = {
        size: app.client.get("/api/works", params={"size": size}).json()["total"]
        for size in ("small", "medium", "large", "unmeasured")
    }
    assert sum(sizes.values()) == total
    assert sum(1 for count in sizes.values() if count) > 1, "the room has works of several sizes"
    assert app.client.get("/api/works", params={"size": "tiny"}).status_code == 422
    said = [app.client.get("/api/works", params={"with_words": one}).json()["total"] for one in ("true", "false")]
    assert sum(said) == total > max(said)


def test_nothing_that_fits_the_description_makes_the_program_fail(
    app: App, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Made-up requests of every described kind: no fault, and only the answers that are described. No made-up folder
    of this computer is written to, and no address of it is opened.
    """
    monkeypatch.setattr(phone, "_open_door", lambda *_: None)

    def refuse(_library: object, folder: Path) -> None:
        raise Refused("backup-place", found=f"it is not in {tmp_path.name}" if folder else "")

    monkeypatch.setattr(app.desk.backup, "start", refuse)
    schema = schemathesis.openapi.from_dict(app.client.get("/api/openapi.json").json())
    schema.app = app.client.app
    for found in schema.get_all_operations():
        _try(found.ok(), _headers(app))


def _try(operation: schemathesis.APIOperation, headers: dict[str, str]) -> None:
    quiet = settings(
        max_examples=8, deadline=None, derandomize=True, database=None, suppress_health_check=list(HealthCheck)
    )

    @quiet
    @given(case=operation.as_strategy())
    def run(case: schemathesis.Case) -> None:
        case.call_and_validate(headers=headers, excluded_checks=_NOT_ASKED)

    run()


_NOT_ASKED = [ignored_auth, unsupported_method, positive_data_acceptance]
"""The last: a request of the right form may still ask for what cannot be, like a day outside the year."""


def _headers(app: App) -> dict[str, str]:
    cookie = "; ".join(f"{one.name}={one.value}" for one in app.client.cookies.jar)
    return {**OURS, "Host": "127.0.0.1", "Cookie": cookie}
