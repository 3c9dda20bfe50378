"""Every route × every role: the table says who may; the app is asked. No name reaches anybody but the teacher."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import count
from types import ModuleType
from typing import Any

import pytest
from fastapi.testclient import TestClient

from portfolio.archive import accounts, tables
from portfolio.flows import helpers, sign_in, station, take_in
from portfolio.flows.plan_show import new_show
from portfolio.model.filing import Chosen
from portfolio.web import answers_helper, answers_phone, answers_projector, answers_station, phone, roles
from portfolio.web.sign_in import COOKIE
from tests.web.asked import ask_about_two_numbers
from tests.web.conftest import OURS, App
from tests.web.phones import new_ticket
from tests.web.phones import phone as phone_of
from tests.web.room import CHILDREN, FAMILY, GIVEN, TODAY

_NOTHING_THERE = ("/add/uploads/{key}", "/send/{code}/uploads/{key}")
"""Routes of which this room has no object."""


# --- whose object -----------------------------------------------------------------------------------------


def _station(app: App, label: str) -> Callable[[str], int]:
    ends = datetime.now(UTC) + timedelta(hours=1)
    secret = sign_in.start_station(app.room.library, app.room.classes[label], ends_utc=ends).secret
    client = TestClient(app.client.app, base_url="http://127.0.0.1", cookies={COOKIE: secret}, follow_redirects=False)
    return lambda path: client.get(path).status_code


@pytest.mark.parametrize("label", ["2A", "3B", "3C"])
def test_a_station_opens_works_of_its_class_and_no_other(app: App, label: str) -> None:
    """Every work of the library at the station of every class: its picture for the own class, 404 for the others."""
    status = _station(app, label)
    with app.room.library.reading() as session:
        classes = {key: session.get_one(tables.Work, key).class_id for key in app.room.works}
    own = app.room.classes[label]
    for work_id, class_id in classes.items():
        assert status(f"/station/pictures/{work_id}/336") == (200 if class_id == own else 404), work_id


def test_a_number_opens_its_own_works_and_no_other(app: App) -> None:
    """Every number of 3B × every work of the library: only those that the child made in this class."""
    status = _station(app, "3B")
    library, class_id = app.room.library, app.room.classes["3B"]
    for number in range(1, CHILDREN + 1):
        own = {one.work.work_id for one in station.see_own_works(library, class_id, number, today=TODAY)}
        opened = {key for key in app.room.works if status(f"/station/{number}/{key}") == 200}
        assert opened == own, number


# --- the table ---------------------------------------------------------------------------------------


@dataclass
class Crawl:
    """A browser for each role, with a session of its own for each request: a request may end every session."""

    app: App
    ids: dict[str, dict[str, object]]
    """Role → placeholder → a value with which that role's own routes find something."""
    accounts: dict[str, int]
    client: TestClient
    secrets: Iterator[int]

    def ask(self, role: str, method: str, path: str) -> Any:
        """One request with an empty form."""
        known = self.ids.get(role, self.ids[roles.TEACHER])
        if method == "DELETE":  # what is taken out is no longer there for the questions after it
            known = {**known, "work_id": self.app.room.works[-1]}
        self.app.desk.tickets._wrong.clear()
        if role == roles.TICKET:
            known = {**known, "code": new_ticket(self.app.desk)[1]}
        filled = re.sub(r"{(\w+)}", lambda found: str(known.get(found[1], 1)), path)
        if role == roles.TICKET:
            return phone_of(self.client.app).request(method, filled, data={} if method == "POST" else None)
        self.client.cookies.clear()
        if role != roles.ANONYMOUS:
            self.client.cookies.set(COOKIE, self._session(role))
        return self.client.request(method, filled, data={} if method == "POST" else None)

    def _session(self, role: str) -> str:
        secret, now = f"secret {next(self.secrets)}", datetime.now(UTC)
        class_id = self.app.room.classes["3B"] if role == roles.STATION else None
        with self.app.room.library.writing(who="test", what="signed in") as writing:
            accounts.start_sign_in(
                writing.session,
                self.accounts[role],
                secret_sha256=sign_in._digest(secret),
                now_utc=now,
                ends_utc=now + timedelta(hours=1),
                role=role,
                class_id=class_id,
            )
        return secret


@pytest.fixture(scope="module", autouse=True)
def no_door() -> Iterator[None]:
    """No address of this computer is opened for the sake of asking every route."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(phone, "lan_addresses", lambda: ("127.0.0.2",))
        patch.setattr(phone, "_open_door", lambda *_: None)
        yield


@pytest.fixture(scope="module")
def crawl(app: App) -> Crawl:
    """The small art room with a show, a question, and a helper's own batch."""
    library, room = app.room.library, app.room
    helpers.add_helper(library, "Helper")
    helper_id = helpers.see_helpers(library)[0].account_id
    own = take_in.open_batch(library, Chosen(class_id=room.classes["3B"]), source=f"helper {helper_id}")
    show_id = new_show(library, "Spring", year="2026-27").show_id
    asked = ask_about_two_numbers(room)
    with library.writing(who="program", what="moved a photo") as writing:
        view = writing.session.get_one(tables.View, 1)
        photo = writing.session.get_one(tables.Photo, room.photos[8])
        photo.width_px, photo.height_px = 1200, 900
        writing.session.get_one(tables.Photo, room.photos[9]).batch_id = own
        ids = {
            "batch_id": 1,
            "question_id": asked,
            "work_id": room.works[8],
            "student_id": room.students[0],
            "class_id": room.classes["3B"],
            "centre_id": 1,
            "show_id": show_id,
            "photo_id": room.photos[0],
            "action_id": 999_999,
            "sign_in_id": 999_999,
            "account_id": 999_999,
            "number": 1,
            "key": view.derived_key,
            "rung": 336,
            "long_px": 400,
            "code": "x",
        }
    teacher = sign_in.who_is(library, app.client.cookies[COOKIE])
    assert teacher is not None
    keys = {roles.TEACHER: teacher.account_id, roles.STATION: teacher.account_id, roles.HELPER: helper_id}
    client = TestClient(app.client.app, base_url="http://127.0.0.1", headers=OURS, follow_redirects=False)
    return Crawl(
        app,
        {roles.TEACHER: ids, roles.HELPER: {**ids, "batch_id": own, "photo_id": room.photos[9]}},
        keys,
        client,
        count(),
    )


def _is_refused(said: Any) -> bool:
    """A way to the sign-in, to the closed station or to the role's own first page, or a plain refusal."""
    doors = ("/sign-in", "/join?closed", "/station", "/helper")
    return said.status_code in (401, 403) or (said.status_code == 303 and said.headers["location"].startswith(doors))


@pytest.mark.parametrize(("method", "path"), sorted(roles.ROUTES))
def test_the_app_does_what_the_table_says(crawl: Crawl, method: str, path: str) -> None:
    """Allowed: an answer of the route itself. Not allowed: refused, with no byte of the archive. No name but to her."""
    for role in roles.ROLES:
        _check(crawl, role, method, path)


def _check(crawl: Crawl, role: str, method: str, path: str) -> None:
    said = crawl.ask(role, method, path)
    assert said.status_code < 500
    if role != roles.TEACHER:
        told = said.content + repr(said.headers).encode()
        assert not [name for name in (*GIVEN, *FAMILY) if name.encode() in told]
    if not roles.may(role, method, path):
        assert _is_refused(said), (role, said.status_code)
        if path.startswith("/api/"):
            assert said.headers["content-type"] == "application/problem+json"
            told = {roles.ANONYMOUS: "sign-in-needed", roles.TICKET: "photos-only"}
            assert said.json()["code"] == told.get(role, "not-allowed")
    elif not roles.may(roles.ANONYMOUS, method, path):
        assert said.status_code != 401, role
        assert said.status_code != 403 or "is not open to you" not in said.text, role
        if method == "GET":
            assert said.status_code in (200, 286, 303) or path in _NOTHING_THERE, said.text[:500]
            assert not _is_refused(said)


@pytest.mark.parametrize("module", [answers_helper, answers_phone, answers_projector, answers_station])
def test_values_for_others_have_no_place_for_a_name(module: ModuleType) -> None:
    """No attribute of what is shown to a helper, a phone, a child or the whole room could hold a child's name, nor of
    what it is made of.
    """
    seen = [one for one in vars(module).values() if dataclasses.is_dataclass(one)]
    assert len(seen) > 1
    for kind in seen:
        words = {one.name for one in dataclasses.fields(kind)}
        assert not [one for one in words if re.search("name|student|child|given|family", one)], kind


def test_the_teacher_does_see_names(crawl: Crawl) -> None:
    """So that looking for names is no empty test."""
    text = crawl.ask(roles.TEACHER, "GET", "/students/{student_id}").text
    assert GIVEN[0] in text
    assert FAMILY[0] in text


def test_no_change_is_taken_from_another_site(app: App) -> None:
    """Every route that changes something, with the teacher's own cookie, asked by another site's page: refused."""
    changing = [(method, path) for method, path in sorted(roles.ROUTES) if method not in ("GET", "HEAD", "OPTIONS")]
    assert len(changing) > 40
    for method, path in changing:
        for sign in ({"Sec-Fetch-Site": "cross-site"}, {"Origin": "http://evil.test"}, {"Origin": ""}):
            said = app.client.request(method, re.sub(r"{\w+}", "1", path), headers=sign, follow_redirects=False)
            assert (said.status_code, "another website" in said.text) == (403, True), (method, path, sign)


def test_a_session_whose_role_nobody_knows_opens_nothing(crawl: Crawl) -> None:
    """A role that the table does not have is nobody's."""
    crawl.accounts["gardener"] = crawl.accounts[roles.TEACHER]
    crawl.ids["gardener"] = crawl.ids[roles.TEACHER]
    for method, path in sorted(roles.ROUTES):
        if not roles.may(roles.ANONYMOUS, method, path):
            assert not roles.may("gardener", method, path)
    assert crawl.ask("gardener", "GET", "/students").status_code == 403
