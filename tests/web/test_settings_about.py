"""Settings, about: version, licenses of every part, where the library lies."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

from portfolio import __version__
from portfolio.archive import settings
from portfolio.errors import PortfolioError
from portfolio.flows import about as flow
from portfolio.flows import limits
from portfolio.flows.about import Part
from tests.web.conftest import App
from tests.web.test_settings_time import beside

ROOT = Path(__file__).parents[2]


def test_the_page_says_what_it_is_and_where(app: App) -> None:
    """Version, the library's folder, limits, and that nothing is sent."""
    page = app.client.get("/settings/about").text
    assert "Nothing is sent anywhere" in page
    assert __version__ in page
    assert str(app.room.library.folder.resolve()) in page
    assert "Seconds one photo may take" in page
    assert "OFL-1.1" in page
    assert "0BSD" in page


def test_every_package_that_is_needed_is_told_with_a_license() -> None:
    """Each package of pyproject.toml that is installed here, and what those need; each with a license."""
    wanted = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]["dependencies"]
    names = {one.name.lower().replace("_", "-") for one in flow.packages()}
    for line in wanted:
        name = line.split(">")[0].split("=")[0].split("<")[0].split(";")[0].strip().lower()
        assert name in names, name
    assert {"starlette", "sqlalchemy", "pydantic", "pillow-heif"} <= names, "also what those need"
    assert "pytest" not in names
    assert all(one.license and one.version for one in flow.packages())


def test_a_license_is_named_and_never_printed_whole() -> None:
    """SPDX first, then classifiers, then a short name; a whole text is not printed."""
    found = {one.name.lower(): one.license for one in flow.packages()}
    assert found["fastapi"] == "MIT"
    assert found["whoosh"] == "BSD License"
    assert max(map(len, found.values())) < 120


def test_files_of_others_are_told() -> None:
    """The script, both typefaces, the word lists: as their manifests say."""
    files = [*flow._vendored(), *flow._fonts(), *flow.DATA]
    assert Part("htmx.org", "2.0.11", "0BSD") in files
    assert [one.name for one in files if "typeface" in one.name] == ["Andika (typeface)", "Besley (typeface)"]


def _limits(app: App) -> dict[str, int]:
    return limits.limits_now(app.room.library)


def test_what_a_photo_may_cost_is_kept_and_taken_back(app: App) -> None:
    """In force at once and after the next start; Undo puts back what stood before, one press the usual ones."""
    before = _limits(app)
    page = app.client.post("/settings/about/limits", data=before | {"photo_seconds": "90"}).text
    assert _limits(app) == before | {"photo_seconds": 90}
    assert settings.load(app.room.library.folder).photo_seconds == 90
    assert settings.load(app.room.library.folder).executor == "thread", "what is not in the form stays"
    form = page.partition("kept-line")[2].partition("</form>")[0]
    back = dict(re.findall(r'name="(\w+)" value="(\d+)"', form))
    assert "Taken back." in app.client.post("/settings/about/limits", data=back).text
    assert _limits(app) == before
    app.client.post("/settings/about/limits", data=limits.usual_limits())
    assert "Back to the usual ones" not in app.client.get("/settings/about").text
    app.client.post("/settings/about/limits", data=before)


@pytest.mark.parametrize(
    ("typed", "said"), [("4", "from 5 to 600"), ("", "A number is needed."), ("x", "from 5 to 600")]
)
def test_a_limit_out_of_bounds_is_told_beside_the_field(app: App, typed: str, said: str) -> None:
    """Nothing is changed."""
    before = _limits(app)
    answer = app.client.post("/settings/about/limits", data=before | {"photo_seconds": typed})
    assert answer.status_code == 422
    assert said in beside(answer.text, "photo_seconds")
    assert _limits(app) == before
    with pytest.raises(PortfolioError):
        limits.keep_limits(app.room.library, before | {"photo_max_mb": 0})
