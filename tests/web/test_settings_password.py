"""Settings, your password: changed with the one she has, told beside the field when it is not, others signed out."""

from __future__ import annotations

import pytest

from portfolio.errors import Refused
from portfolio.flows import sign_in
from portfolio.web.sign_in import COOKIE
from tests.web.conftest import PASSWORD, App
from tests.web.test_settings_time import beside

NEW = "seven mild purple owls"


@pytest.fixture
def signed_in(app: App) -> App:
    """The teacher has the usual password, this browser and another are signed in."""
    sign_in.reset_password(app.room.library, PASSWORD)
    app.client.cookies.clear()
    app.client.cookies.set(COOKIE, sign_in.sign_in(app.room.library, PASSWORD).secret)
    return app


def test_a_new_password_is_kept_and_other_browsers_end(signed_in: App) -> None:
    """This browser stays, another one ends; the new password opens, the old one does not."""
    other = sign_in.sign_in(signed_in.room.library, PASSWORD).secret
    typed = {"current": PASSWORD, "password": NEW, "again": NEW}
    page = signed_in.client.post("/settings/password", data=typed)
    assert "The new password is kept. 1 other browser signed out." in page.text
    assert NEW not in page.text
    assert sign_in.who_is(signed_in.room.library, other) is None
    assert signed_in.client.get("/settings").status_code == 200
    with pytest.raises(Refused):
        sign_in.sign_in(signed_in.room.library, PASSWORD)
    assert sign_in.sign_in(signed_in.room.library, NEW)


@pytest.mark.parametrize(
    ("typed", "field", "said"),
    [
        ({"current": "not this one"}, "current", "does not fit"),
        ({"password": "short", "again": "short"}, "password", "needs at least 8"),
        ({"password": "password1!", "again": "password1!"}, "password", "first that anyone would try"),
        ({"again": "seven mild purple owl"}, "again", "not the same as the first"),
    ],
)
def test_what_does_not_fit_is_told_beside_the_field(
    signed_in: App, typed: dict[str, str], field: str, said: str
) -> None:
    """In words; what was typed is not sent back, and the old password stays."""
    usual = {"current": PASSWORD, "password": NEW, "again": NEW}
    answer = signed_in.client.post("/settings/password", data=usual | typed)
    assert 400 <= answer.status_code < 500
    assert said in beside(answer.text, field)
    assert NEW not in answer.text
    assert sign_in.sign_in(signed_in.room.library, PASSWORD)


def test_guessing_is_slowed_down_here_too(signed_in: App) -> None:
    """After five wrong ones in a row the next is not heard at once, even the right one."""
    usual = {"password": NEW, "again": NEW}
    for _ in range(sign_in.FREE_TRIES):
        signed_in.client.post("/settings/password", data=usual | {"current": "guess"})
    answer = signed_in.client.post("/settings/password", data=usual | {"current": PASSWORD})
    assert answer.status_code == 429
    assert "the next is heard in" in beside(answer.text, "current")
