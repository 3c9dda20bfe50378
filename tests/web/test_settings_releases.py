"""Settings, what families allow: seen class by class, recorded for many numbers at once, from a list; undone."""

from __future__ import annotations

import re
from datetime import date

import pytest

from portfolio.flows import releases as flow
from portfolio.model.people import Audience, NameForm
from portfolio.privacy.releases import may_show
from portfolio.web.settings_releases import read_numbers
from tests.web.conftest import App
from tests.web.room import GIVEN, TODAY
from tests.web.test_settings_time import beside, undo

FORM = {
    "numbers": "1-3, 7",
    "audience-school": "1",
    "audience-public": "1",
    "answer": "yes",
    "name_form": "first initial",
    "from_day": "2026-09-01",
    "source": "registration form",
}


def _rows(app: App) -> dict[int, flow.ChildReleases]:
    _, rows = flow.see_releases(app.room.library, app.room.classes["3B"], today=TODAY)
    return {one.child.number: one for one in rows}


def _address(app: App) -> str:
    return f"/settings/releases/{app.room.classes['3B']}"


def test_where_nothing_was_said_nothing_is_shown(app: App) -> None:
    """The page lists classes; a class lists its children, each audience withheld with "nothing said"."""
    assert "Choose a class" in app.client.get("/settings/releases").text
    page = app.client.get(f"/settings/releases?class_id={app.room.classes['3B']}").text
    assert page.count("nothing said") == 4 * len(GIVEN)
    assert GIVEN[0] in page
    assert "Nobody has a number" in app.client.get(f"/settings/releases?class_id={app.room.classes['3C']}").text


def test_many_numbers_are_recorded_at_once_and_taken_back(app: App) -> None:
    """Four children, two audiences, one step; a name never wider than its audience sees; Undo takes all back."""
    page = app.client.post(_address(app), data=FORM).text
    assert "Kept: Recorded what families said." in page
    rows = _rows(app)
    assert [number for number, one in rows.items() if one.said] == [1, 2, 3, 7]
    school, public = rows[1].standing[Audience.SCHOOL], rows[1].standing[Audience.PUBLIC]
    assert (school.name_form, public.name_form) == (NameForm.FIRST_INITIAL, NameForm.FIRST)
    assert school.from_day == date(2026, 9, 1)
    assert "first name and initial, since September 1" in page
    assert "From September 1: On the web, first name (registration form)." in page
    assert all(may_show(one.said, Audience.PUBLIC, day=TODAY) for number, one in rows.items() if number in (1, 2, 3, 7))
    undo(app, page)
    assert not any(one.said for one in _rows(app).values())


def test_a_refusal_counts_from_its_day_and_outweighs(app: App) -> None:
    """Allowed in September, refused from October: withheld, both lines told; an allowance on the refusal's own day
    would be in vain and is told beside the day; a later one counts again.
    """
    app.client.post(_address(app), data=FORM)
    refusal = FORM | {"numbers": "2", "answer": "no", "from_day": "2026-10-01"}
    page = app.client.post(_address(app), data=refusal).text
    two = _rows(app)[2]
    assert not two.standing[Audience.PUBLIC].allowed
    assert len(two.said) == 4
    assert 'class="release-word refused">Not on the web' in page
    vain = app.client.post(_address(app), data=refusal | {"answer": "yes"})
    assert "something more private is recorded" in beside(vain.text, "from_day")
    app.client.post(_address(app), data=refusal | {"answer": "yes", "from_day": "2026-10-02"})
    assert _rows(app)[2].standing[Audience.PUBLIC].allowed
    again = app.client.post(_address(app), data=refusal | {"answer": "yes", "from_day": "2026-10-02"})
    assert "recorded already" in beside(again.text, "numbers")


@pytest.mark.parametrize(
    ("typed", "field", "said"),
    [
        ({"numbers": ""}, "numbers", "Say which numbers"),
        ({"numbers": "three"}, "numbers", "Write numbers from 1 to 40"),
        ({"numbers": "5-2"}, "numbers", "Write numbers from 1 to 40"),
        ({"numbers": "33"}, "numbers", "Nobody holds number 33 now."),
        ({"from_day": ""}, "from_day", "Choose a day."),
        ({"to_day": "2026-08-01"}, "to_day", "before the first"),
        ({"to_day": "2026-12-01", "answer": "no"}, "to_day", "never worn out"),
        ({"source": "x" * 81}, "source", "At most 80 letters."),
        ({"audience-school": "", "audience-public": ""}, "audiences", "Choose at least one."),
        ({"answer": "perhaps"}, "answer", "Say which."),
    ],
)
def test_what_does_not_fit_is_told_beside_the_field(app: App, typed: dict[str, str], field: str, said: str) -> None:
    """In words; nothing is recorded."""
    before = _rows(app)
    answer = app.client.post(_address(app), data=FORM | typed)
    assert answer.status_code == 422
    if field in ("audiences", "answer"):
        assert re.search(rf'aria-describedby="{field}-problem"', answer.text)
        assert f'id="{field}-problem">{said}' in answer.text
    else:
        assert said in beside(answer.text, field)
    assert _rows(app) == before


def test_a_list_of_the_office_is_shown_before_it_is_recorded(app: App) -> None:
    """Its columns, how many lines count, what is left out; recorded as one step that Undo takes back whole."""
    before = _rows(app)
    lines = ("3B,9,public,yes,first,2026-09-01", "3B,10,school,no,,", "3B,39,public,yes,,")
    text = "\n".join(("Class,Number,Audience,Allowed,Name form,From", *lines))
    files = {"file": ("media-releases.csv", text.encode(), "text/csv")}
    page = app.client.post("/settings/releases/list", files=files).text
    assert "2 lines that count, 2 of them new." in page
    assert "Number" in page
    assert "number 39" in page
    assert _rows(app) == before
    token = re.search(r'name="token" value="([^"]+)"', page).group(1)
    done = app.client.post("/settings/releases/list/apply", data={"token": token}).text
    assert "Kept: Imported releases." in done
    assert _rows(app)[9].standing[Audience.PUBLIC].allowed
    assert not _rows(app)[10].standing[Audience.SCHOOL].allowed
    assert "is recorded already" in app.client.post("/settings/releases/list", files=files).text
    undo(app, done)
    assert _rows(app) == before
    gone = app.client.post("/settings/releases/list/apply", data={"token": token})
    assert gone.status_code == 422
    assert "choose it again" in gone.text
    for wrong in (None, {"file": ("a.csv", b"", "text/csv")}):
        assert 400 <= app.client.post("/settings/releases/list", files=wrong).status_code < 500


@pytest.mark.parametrize(
    ("text", "numbers"),
    [
        ("1-3, 7", {1, 2, 3, 7}),
        ("1 – 3;7", {1, 2, 3, 7}),
        ("4 5 6", {4, 5, 6}),
        ("All", {1, 2}),
        ("", set()),
        ("0", None),
        ("41", None),
        ("2-", None),
        ("1-2-3", None),
        ("x", None),
    ],
)
def test_numbers_as_people_write_them(text: str, numbers: set[int] | None) -> None:
    """Runs, commas, spaces, all; what cannot be read is no number."""
    assert read_numbers(text, everyone={1, 2}) == (None if numbers is None else frozenset(numbers))
