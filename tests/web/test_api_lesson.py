"""The JSON door of a lesson: the day, cards, a phone's ticket, the camera station, share time, without names."""

from __future__ import annotations

import time
from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np
import pytest

from portfolio.flows import describe
from portfolio.web import api_lesson, phone
from tests.web.at_camera import HIGH, WIDE, gray_of, jpeg_of, picture_of
from tests.web.conftest import App
from tests.web.phones import phone as phone_of
from tests.web.room import GIVEN, TODAY, painted

HERE = "192.168.7.20"


@pytest.fixture(autouse=True)
def one_network(monkeypatch: pytest.MonkeyPatch) -> None:
    """This computer has one address in a network, and no socket is opened there."""
    for module in (phone, api_lesson):
        monkeypatch.setattr(module, "lan_addresses", lambda: (HERE,))
    monkeypatch.setattr(phone, "_open", _no_door)


async def _no_door(*_: object) -> None:
    """No socket."""


def _until_read(app: App, batch: int) -> Any:
    until = time.monotonic() + 60
    while app.desk.reader.is_busy(batch):
        assert time.monotonic() < until
        time.sleep(0.05)
    return app.client.get(f"/api/batches/{batch}").json()


def _trouble(answer: Any) -> tuple[int, str]:
    assert answer.headers["content-type"] == "application/problem+json"
    return answer.status_code, answer.json()["code"]


# --- the day ------------------------------------------------------------------------------------------------


def test_today_says_what_the_first_page_says(app: App) -> None:
    """Its lessons with their children, what waits, and the works of the last day."""
    told = app.client.get("/api/today").json()
    assert told["day"] == TODAY.isoformat()
    assert {one["class"] for one in told["lessons"]} <= set(app.room.classes)
    assert any(one["children"] for one in told["lessons"])
    assert told["waits"] == len(app.client.get("/api/questions").json())
    shown = app.client.get("/api/works", params={"limit": 1}).json()["works"][0]
    assert told["latest_day"] == shown["made_on"]
    assert shown["work"] in told["latest"]


def test_the_newest_batches_are_listed(app: App) -> None:
    """The one just begun stands first, with its class and no photo yet; then it tells how they stand."""
    batch = app.client.post("/api/batches", json={"class": "3B"}).json()["batch"]
    first, second, *_ = app.client.get("/api/batches").json()
    assert (first["batch"], first["class"], first["state"], first["photos"]) == (batch, "3B", "open", 0)
    assert second["batch"] < batch
    assert sum(second["states"].values()) >= second["photos"] > 0
    photo = {"photo": ("1.jpg", painted(5, 320, 240), "image/jpeg")}
    app.client.post(f"/api/batches/{batch}/photos", files=photo)
    assert app.client.get("/api/batches").json()[0]["states"] == {"stored": 1}


def test_reports_and_observations_are_listed(app: App) -> None:
    """What a term holds, class by class; what was seen today, and the step that takes it back."""
    told = app.client.get("/api/reports").json()
    assert next(one["works"] for one in told["classes"] if one["class"] == "3B") > 0
    path = f"/api/classes/{app.room.classes['3B']}/observations"
    before = app.client.get(path).json()
    done = app.client.post(path, json={"number": 3, "what": "cleaning up", "level": "secure"}).json()["action"]
    after = app.client.get(path).json()
    assert after["today"][0] == {"number": 3, "what": "cleaning up", "level": "secure", "note": "", "action": done}
    assert after["levels"] == ["needs support", "getting there", "secure"]
    app.client.post(f"/api/actions/{done}/undo")
    assert app.client.get(path).json()["today"] == before["today"]


def test_cards_are_printed(app: App) -> None:
    """The sheets as PDF, in the paper asked for; no card asked for, and no such card, are refused."""
    sheets = app.client.post("/api/cards", json={"numbers": [1, 2, 3, 4, 5], "paper": "a4"})
    assert (sheets.headers["content-type"], sheets.content[:5]) == ("application/pdf", b"%PDF-")
    assert app.client.get("/api/cards/how-to").content[:5] == b"%PDF-"
    assert _trouble(app.client.post("/api/cards", json={})) == (422, "bad-request")
    assert _trouble(app.client.post("/api/cards", json={"numbers": [41]})) == (422, "bad-request")


# --- a phone ------------------------------------------------------------------------------------------------


def test_a_ticket_is_opened_told_used_and_ended(app: App) -> None:
    """Its address lets a phone send; the list tells what came and never the code; after its end nothing comes in."""
    made = app.client.post("/api/tickets", json={"class": "3B"})
    assert made.status_code == 201
    ticket = made.json()
    code = ticket.pop("upload_address").rpartition("/send/")[2]
    assert ticket["class"] == "3B"
    left = datetime.fromisoformat(ticket["ends_utc"]) - datetime.now(UTC)
    assert timedelta(minutes=58) < left <= timedelta(minutes=60)
    device = phone_of(app.client.app, address="192.168.7.90")
    sent = device.post(f"/send/{code}", files={"photos": ("IMG_1.JPG", painted(77, 320, 240), "image/jpeg")})
    assert sent.status_code == 200
    told = app.client.get("/api/tickets")
    assert told.json() == {"tickets": [{**ticket, "photos": 1}], "addresses": [HERE]}
    assert code not in told.text
    again = app.client.post(f"/api/tickets/{ticket['batch']}/code").json()
    assert again["ends_utc"] == ticket["ends_utc"]
    assert again["upload_address"].rpartition("/send/")[2] not in {"", code}
    assert app.client.delete(f"/api/tickets/{ticket['batch']}").json() == {"batch": ticket["batch"]}
    assert app.client.get("/api/tickets").json()["tickets"] == []
    assert device.get(f"/send/{code}").status_code == 410
    assert len(_until_read(app, ticket["batch"])["photos"]) == 1
    assert _trouble(app.client.delete(f"/api/tickets/{ticket['batch']}")) == (410, "ticket-over")
    assert _trouble(app.client.post(f"/api/tickets/{ticket['batch']}/code")) == (410, "ticket-over")


def test_a_new_ticket_ends_the_one_before_and_a_strange_address_opens_none(app: App) -> None:
    """One at a time, as on the screen; a refusal leaves the open one open."""
    first = app.client.post("/api/tickets", json={}).json()["batch"]
    second = app.client.post("/api/tickets", json={"address": HERE}).json()["batch"]
    assert [one["batch"] for one in app.client.get("/api/tickets").json()["tickets"]] == [second]
    assert _until_read(app, first)["photos"] == []
    assert _trouble(app.client.post("/api/tickets", json={"address": "10.9.9.9"})) == (409, "no-network")
    assert _trouble(app.client.post("/api/tickets", json={"class": "9Z"})) == (404, "not-found")
    assert [one["batch"] for one in app.client.get("/api/tickets").json()["tickets"]] == [second]
    app.client.delete(f"/api/tickets/{second}")


# --- the camera station -------------------------------------------------------------------------------------


def _take(app: App, stack: str, pixels: np.ndarray, cards: str) -> Any:
    files = {"picture": ("camera.jpg", jpeg_of(pixels), "image/jpeg")}
    return app.client.post(f"{stack}/pictures", files=files, data={"cards": cards})


def test_a_stack_is_taken_at_the_camera_taken_back_and_filed(app: App) -> None:
    """Frame, picture, back and again, done: the batch tells the work of the number and the count of its class."""
    work = picture_of(4)
    batch = app.client.post("/api/camera", json={"class": "3B"}).json()["batch"]
    stack = f"/api/camera/{batch}"
    assert _trouble(app.client.post(f"{stack}/close")) == (422, "bad-request")
    seen = app.client.post(f"/api/camera/frames?width={WIDE}", content=gray_of(work)).json()
    assert (seen["lying"], seen["cards"], seen["numbers"]) == ("clear", ["number-4"], [4])
    assert [len(one) for one in seen["corners_px"]] == [4, 4]
    empty = app.client.post(f"/api/camera/frames?width={WIDE}", content=bytes([60]) * WIDE * HIGH).json()
    assert empty == {"lying": "nothing", "cards": [], "numbers": [], "corners_px": []}
    assert _trouble(app.client.post("/api/camera/frames?width=960", content=b"short")) == (422, "bad-request")
    moved = _take(app, stack, work, "number-7").json()
    assert (moved["kept"], moved["numbers"], moved["taken"]) == (False, [4], 0)
    brighter = np.clip(work.astype(int) + 3, 0, 255).astype(np.uint8)
    taken = _take(app, stack, brighter, "number-4")
    assert taken.status_code == 201
    assert (taken.json()["kept"], taken.json()["taken"]) == (True, 1)
    back = app.client.delete(f"{stack}/pictures/{taken.json()['photo']}").json()["action"]
    assert app.client.get(stack).json()["taken"] == 0
    app.client.post(f"/api/actions/{back}/undo")
    told = app.client.get(stack).json()
    assert told == {"batch": batch, "class": "3B", "medium": None, "taken": 1, "is_open": True}
    assert app.client.get("/api/camera").json() == [told]
    assert app.client.post(f"{stack}/close").json() == {"batch": batch}
    report = _until_read(app, batch)
    asked = app.client.get("/api/questions", params={"batch": batch}).json()  # its edge may be doubted
    filed = [one["number"] for one in report["photos"] if one["state"] == "filed"]
    assert filed + [one["guess"]["numbers"][0] for one in asked] == [4]
    for one in asked:
        app.client.post(f"/api/questions/{one['question']}/answer", json={"yes": True})
    checks = app.client.get(f"/api/batches/{batch}").json()["checks"]
    assert [one["class"] for one in checks] == ["3B"]
    assert 4 not in checks[0]["missing"]
    assert app.client.get(stack).json()["is_open"] is False
    assert app.client.get("/api/camera").json() == []
    assert _trouble(_take(app, stack, work, "number-4")) == (422, "bad-request")
    assert _trouble(app.client.delete(f"{stack}/pictures/{taken.json()['photo']}"))[0] in (409, 422)


def test_frames_are_looked_at_only_from_this_computer(app: App) -> None:
    """The camera hangs on this computer: a frame from elsewhere is refused before it is looked at."""
    assert _trouble(app.stranger.post("/api/camera/frames?width=1", content=b"x")) == (401, "sign-in-needed")
    assert _trouble(app.client.get(f"/api/camera/{2**63 - 1}")) == (404, "not-found")


# --- share time ---------------------------------------------------------------------------------------------


def test_share_time_is_by_number_and_without_a_title_that_names(app: App) -> None:
    """The works of the last day in the order of their numbers; a name in a title leaves the title out."""
    told = app.client.get("/api/projector").json()
    order = [(one["class"], one["number"]) for one in told["works"]]
    assert order == sorted(order)
    first = told["works"][0]
    assert app.client.get(f"{first['picture']}/336").headers["content-type"] == "image/jpeg"
    describe.describe(app.room.library, first["work"], title=f"{GIVEN[0]} and the sea")
    named = app.client.get("/api/projector", params={"class": first["class"]}).json()
    assert (named["works"][0]["work"], named["works"][0]["title"]) == (first["work"], "")
    assert {one["class"] for one in named["works"]} == {first["class"]}
    assert app.client.get("/api/projector", params={"day": "2026-09-16"}).json()["works"] == []
    assert _trouble(app.client.get("/api/projector", params={"day": "tomorrow"})) == (422, "bad-request")
