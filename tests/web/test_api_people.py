"""The JSON door: rosters, helpers, the teacher's password, signed-in browsers and stations, as the screens do them."""

from __future__ import annotations

from datetime import UTC, datetime

from fastapi.testclient import TestClient

from portfolio.archive import accounts
from portfolio.flows import sign_in
from portfolio.web.sign_in import COOKIE
from tests.web.conftest import OURS, PASSWORD, App


def other_browser(app: App) -> TestClient:
    return TestClient(app.client.app, base_url="http://127.0.0.1", headers=OURS, client=("127.0.0.1", 9))


# --- rosters ------------------------------------------------------------------------------------------------


def send_roster(app: App, text: str, name: str = "roster.csv") -> dict:
    sent = app.client.post("/api/roster", files={"file": (name, text.encode())}, data={"year": "2026-27"})
    assert sent.status_code == 201, sent.text
    return sent.json()


def test_a_roster_is_looked_at_then_applied_and_taken_back(app: App) -> None:
    """The preview writes nothing; applied it is one step, told by its id, and undone by it. No name comes back."""
    classes = {one["class"] for one in app.client.get("/api/classes").json()["classes"]}
    looked = send_roster(
        app, "Class,Number,First Name,Last Name,Grade\n4Z,1,Quillon,Ambershaw,4\n4Z,2,Oriel,Tamsin,4\n"
    )
    assert (looked["new"], looked["classes"], looked["action"], looked["problems"]) == (2, 1, None, [])
    assert {"column": 2, "heading": "Number", "read_as": "number"} in looked["columns"]
    assert not [name for name in ("Quillon", "Ambershaw", "Oriel", "Tamsin") if name in str(looked)]
    assert {one["class"] for one in app.client.get("/api/classes").json()["classes"]} == classes
    done = app.client.post(f"/api/roster/{looked['token']}/apply", json={})
    assert (done.status_code, done.json()["new"]) == (200, 2)
    assert {one["class"] for one in app.client.get("/api/classes").json()["classes"]} == classes | {"4Z"}
    assert app.client.post(f"/api/actions/{done.json()['action']}/undo").status_code == 200
    assert {one["class"] for one in app.client.get("/api/classes").json()["classes"]} == classes
    again = app.client.post(f"/api/roster/{looked['token']}/apply", json={})
    assert (again.status_code, again.json()["code"]) == (422, "bad-request"), "it is held once"


def test_what_a_roster_leaves_open_is_decided_by_its_key(app: App) -> None:
    """An answer that is none of the choices is refused and the roster still waits; one of them is taken."""
    looked = send_roster(app, "Class,Number,First Name,Last Name,Grade\n5Z,1,Bram,Otterly,5\n5Z,2,Bram,Otterly,5\n")
    path = f"/api/roster/{looked['token']}/apply"
    wrong = app.client.post(path, json={"decisions": {"line 2": "nobody"}})
    assert (wrong.status_code, wrong.json()["code"]) == (422, "bad-request")
    chosen = {one["key"]: one["choices"][0]["value"] for one in looked["to_decide"]}
    done = app.client.post(path, json={"decisions": chosen})
    assert done.status_code == 200
    assert not [one for one in done.json()["to_decide"] if one["key"] in chosen]
    app.client.post(f"/api/actions/{done.json()['action']}/undo")


def test_a_file_that_is_no_roster_is_not_held(app: App) -> None:
    """Its trouble is a problem object; a roster that was left is forgotten, and leaving twice is no trouble."""
    held = len(app.desk.rosters._held)
    refused = app.client.post("/api/roster", files={"file": ("x.csv", b"\x89PNG\r\n\x1a\n" + bytes(50))})
    assert refused.status_code >= 400
    assert refused.headers["content-type"] == "application/problem+json"
    assert len(app.desk.rosters._held) == held
    looked = send_roster(app, "Class,Number,First Name,Last Name,Grade\n4Y,1,Quillon,Ambershaw,4\n")
    for _ in range(2):
        assert app.client.delete(f"/api/roster/{looked['token']}").status_code == 204
    assert len(app.desk.rosters._held) == held


def test_a_list_of_releases_is_looked_at_then_recorded_and_taken_back(app: App) -> None:
    """The preview counts what is new and writes nothing; recorded it stands at the number; one step takes it back."""
    path = f"/api/classes/{app.room.classes['3B']}/releases"
    before = app.client.get(path).json()
    text = (
        "Class,Number,Audience,Allowed,Name form,From\n3B,5,community,yes,first,2026-09-01\n3B,39,school,yes,first,\n"
    )
    looked = app.client.post("/api/releases/list", files={"file": ("releases.csv", text.encode())}).json()
    assert (looked["taken"], looked["changed"], looked["action"]) == (1, 1, None)
    assert len(looked["problems"]) == 1, "nobody has number 39"
    assert app.client.get(path).json() == before
    done = app.client.post(f"/api/releases/list/{looked['token']}/apply").json()
    child = next(one for one in app.client.get(path).json()["children"] if one["number"] == 5)
    assert [one["readers"] for one in child["said"] if one["name_form"] == "first"].count("community") == 1
    app.client.post(f"/api/actions/{done['action']}/undo")
    assert app.client.get(path).json() == before
    gone = app.client.post(f"/api/releases/list/{looked['token']}/apply")
    assert (gone.status_code, gone.json()["code"]) == (422, "bad-request")
    assert app.client.delete(f"/api/releases/list/{looked['token']}").status_code == 204


# --- who may sign in ------------------------------------------------------------------------------------------


def test_a_helper_is_let_in_gets_another_password_and_goes(app: App) -> None:
    """The password of the answer lets in, the one before no longer does; a name that is taken is refused."""
    made = app.client.post("/api/helpers", json={"login": "  Room   parent "}).json()
    assert made["login"] == "Room parent"
    assert app.client.post("/api/helpers", json={"login": "room parent"}).json()["code"] == "helper-known"
    listed = app.client.get("/api/helpers").json()
    key = next(one["helper"] for one in listed if one["login"] == "Room parent")
    sign_in.sign_in_helper(app.room.library, "Room parent", made["password"])
    device = next(one for one in app.client.get("/api/devices").json() if one["role"] == "helper")
    assert (device["login"], device["here"]) == ("Room parent", False)
    newer = app.client.post(f"/api/helpers/{key}/password").json()
    assert newer["password"] != made["password"]
    assert not [one for one in app.client.get("/api/devices").json() if one["role"] == "helper"]
    with other_browser(app) as helper:
        helper.cookies.set(COOKIE, sign_in.sign_in_helper(app.room.library, "Room parent", newer["password"]).secret)
        for path in ("helpers", "devices", "stations/written", "backup"):
            assert helper.get(f"/api/{path}").status_code == 403
    assert app.client.delete(f"/api/helpers/{key}").status_code == 204
    gone = app.client.delete(f"/api/helpers/{key}")
    assert (gone.status_code, gone.json()["code"]) == (404, "not-found")


def test_the_password_changes_only_by_the_one_before(app: App) -> None:
    """An easy one is refused; the right one signs every other browser out and lets the teacher in from then on. A wrong
    one is refused, and after some of them slowed down with a sentence.
    """
    library = app.room.library
    with library.writing(who="teacher", what="chose a password") as writing:
        hashed = sign_in.hash_of(PASSWORD)
        accounts.put_account(
            writing.session, sign_in.TEACHER, role=sign_in.TEACHER, password_hash=hashed, now_utc=datetime.now(UTC)
        )
    easy = app.client.put("/api/password", json={"current": PASSWORD, "password": "password"})
    assert (easy.status_code, easy.json()["code"]) == (422, "password-weak")
    sign_in.sign_in(library, PASSWORD)
    changed = app.client.put("/api/password", json={"current": PASSWORD, "password": "five even green hens"})
    assert changed.json()["ended"] >= 1
    sign_in.sign_in(library, "five even green hens")
    wrong = [
        app.client.put("/api/password", json={"current": "no", "password": "five even green hens"}) for _ in range(7)
    ]
    assert (wrong[0].status_code, wrong[0].json()["code"]) == (403, "sign-in-wrong")
    assert (wrong[-1].status_code, wrong[-1].json()["code"]) == (429, "sign-in-wait")


def test_stations_are_admitted_listed_and_ended(app: App) -> None:
    """The code of the answer makes another browser the station of the class; ended, it is one no longer. The browser
    that asks cannot end itself that way.
    """
    class_id = app.room.classes["3B"]
    planned = app.client.post("/api/stations", json={"class_id": class_id, "span": "hour"}).json()
    assert planned["class"] == "3B"
    assert app.client.post("/api/stations", json={"class_id": 2**40}).status_code == 404
    with other_browser(app) as child:
        assert child.post("/join", data={"code": planned["code"]}).status_code == 200
        seen = app.client.get("/api/devices").json()
        station = next(one for one in seen if one["role"] == "station")
        assert (station["class"], station["login"], station["here"]) == ("3B", None, False)
        assert child.get("/station").status_code == 200
        assert child.get("/api/devices").status_code == 403
        assert app.client.delete(f"/api/devices/{station['device']}").status_code == 204
        assert "/join" in str(child.get("/station").url)
    here = next(one["device"] for one in seen if one["here"])
    assert app.client.delete(f"/api/devices/{here}").json()["code"] == "bad-request"
    sign_in.open_demo(app.room.library)
    assert app.client.delete("/api/devices").json()["ended"] >= 1
    assert [one["here"] for one in app.client.get("/api/devices").json()] == [True]


def test_sentence_starters_are_changed_and_that_undone(app: App) -> None:
    """The teacher's own list in her order; more than can be read at a glance is refused."""
    before = app.client.get("/api/stations/starters").json()
    done = app.client.put("/api/stations/starters", json={"starters": ["I made", "Look at the"]}).json()
    assert app.client.get("/api/stations/starters").json() == {"starters": ["I made", "Look at the"]}
    app.client.post(f"/api/actions/{done['action']}/undo")
    assert app.client.get("/api/stations/starters").json() == before
    assert app.client.put("/api/stations/starters", json={"starters": ["a"] * 9}).status_code == 422
    assert app.client.get("/api/stations/written").json() == []
