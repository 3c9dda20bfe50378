"""The command line's JSON is a contract: the whole road once, with small simulated photos, every key looked at."""

import json
from datetime import date, datetime
from pathlib import Path

import pytest
from typer.testing import CliRunner

from portfolio.cli.app import app
from portfolio.demo.shooting import Shooting, shoot
from portfolio.errors import PortfolioError

ROSTER = """Student ID,First Name,Last Name,Class,Grade,Email
s1,Vornad,Quilmax,3B,3,one@example.org
s2,Vornbe,Quilmby,3B,3,two@example.org
s3,Vorncu,Quilmcz,3B,3,three@example.org
"""


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A school of one class with three photos (numbers 1 and 2, and one of no picture) taken in."""
    folder = tmp_path_factory.mktemp("contracts")
    (folder / "roster.csv").write_text(ROSTER, encoding="utf-8")
    photos = folder / "photos"
    photos.mkdir()
    for number in (1, 2):
        taken = datetime(2026, 10, 6, 9, 50, 10 * number)  # noqa: DTZ001  a camera writes wall time
        job = Shooting(
            photos / f"IMG_000{number}.jpg",
            taken,
            number,
            number=number,
            child_seed=number,
            grade=3,
            month=2,
            medium="crayon",
            work_seed=number,
        )
        shoot(job)
    (photos / "IMG_0003.jpg").write_bytes(b"no picture at all")
    run(folder, "init", "--school", "Elm Lane", "--year", "2026-27")
    return folder


def run(folder: Path, *words: str, exit_code: int = 0):
    """One command with --json; gives what it printed."""
    given = [*words, "--library", str(folder / "library"), "--json"]
    result = CliRunner().invoke(app, given)
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        if isinstance(result.exception, PortfolioError):
            assert int(result.exception.exit) == exit_code, result.exception.sentence
            return result.exception
        raise result.exception
    assert result.exit_code == exit_code, result.output
    return json.loads(result.stdout)


def test_the_whole_road_keeps_its_contracts(place: Path) -> None:
    """init → roster import → ingest → check → find → timeline → class → show → publish, each with its own keys."""
    roster = run(place, "roster", "import", str(place / "roster.csv"), "--year", "2026-27")
    assert (
        roster.items()
        >= {"students": 3, "classes": 1, "enrolments": 3, "new": 3, "changed": 0, "left": 0, "problems": []}.items()
    )
    assert roster["questions"] in (0, [])

    taken = run(place, "ingest", str(place / "photos"), "--class", "3B", "--medium", "crayon", exit_code=3)
    assert set(taken) == {"batch", "filed", "questions", "problems", "duplicates", "photos", "checks", "hints"}
    assert (taken["filed"], taken["problems"], taken["duplicates"]) == (2, 1, 0)
    photo = next(one for one in taken["photos"] if one["file"] == "IMG_0001.jpg")
    assert set(photo) == {"file", "sha256", "state", "class", "number", "work", "reason", "code"}
    assert (photo["state"], photo["class"], photo["number"], photo["code"]) == ("filed", "3B", 1, None)
    broken = next(one for one in taken["photos"] if one["file"] == "IMG_0003.jpg")
    assert (broken["state"], broken["code"]) == ("problem", "photo-not-a-picture")
    again = run(place, "ingest", str(place / "photos"), "--class", "3B")
    assert (again["filed"], again["duplicates"]) == (0, 3)

    assert isinstance(run(place, "check", "list"), list)

    found = run(place, "find", "--medium", "crayon", "--class", "3B", "--limit", "1")
    assert found["total"] == 2
    assert len(found["works"]) == 1
    assert set(found["works"][0]) == {"work", "title", "class", "number", "grade", "year", "medium", "made_on", "tier"}
    assert found["works"][0].items() >= {"class": "3B", "grade": "3", "year": "2026-27", "medium": "crayon"}.items()
    assert found["works"][0]["made_on"] == date(2026, 10, 6).isoformat()

    sizes = ("small", "medium", "large", "unmeasured")
    assert sum(run(place, "find", "--size", size)["total"] for size in sizes) == 2
    assert run(place, "find", "--center", "no such center")["total"] == 0

    years = run(place, "timeline", "3B-1", "--year", "2026-27")
    assert set(years) == {"student", "years"}
    assert set(years["years"][0]) == {"year", "class", "number", "grade", "works"}
    assert years["years"][0]["works"][0]["work"] == photo["work"]
    assert run(place, "timeline", str(years["student"])) == years

    grid = run(place, "class", "3B", "--year", "2026-27", "--whole-year")
    assert grid["nothing_kept"] == [3]


def test_a_card_may_stand_for_a_class_and_for_another_next_year(place: Path) -> None:
    """``cards map`` in a year; the same card in a year without that class is not found."""
    run(place, "roster", "import", str(place / "roster.csv"), "--year", "2026-27")
    mapped = run(place, "cards", "map", "301", "3B", "--year", "2026-27")
    assert mapped["card"] == 301
    assert mapped["class"] == "3B"
    assert run(place, "cards", "map", "301", "9Z", "--year", "2026-27", exit_code=5).code == "not-found"


def test_a_show_is_published_only_with_a_release(place: Path) -> None:
    """Nobody said anything: nothing may be shown and the folder stays untouched. One release: one work, no name."""
    run(place, "roster", "import", str(place / "roster.csv"), "--year", "2026-27")
    run(place, "ingest", str(place / "photos"), "--class", "3B", exit_code=0 if _taken(place) else 3)
    run(place, "show", "new", "Spring show", "--year", "2026-27")
    run(place, "show", "choose", "Spring show", "--audience", "public")
    out = place / "site"
    refused = run(place, "show", "publish", "Spring show", "--audience", "public", "--out", str(out), exit_code=4)
    assert refused.code == "site-empty"
    assert not out.exists()

    releases = place / "releases.csv"
    releases.write_text("Class,Number,Audience,Allowed,Name form\n3B,1,public,yes,none\n", encoding="utf-8")
    run(place, "roster", "releases", str(releases), "--year", "2026-27")
    run(place, "show", "choose", "Spring show", "--audience", "public")
    made = run(place, "show", "publish", "Spring show", "--audience", "public", "--out", str(out))
    assert set(made) >= {"publication", "pages", "pictures", "sweep"}
    assert set(made["sweep"]) == {"files", "bytes", "hits"}
    assert (made["pictures"], made["sweep"]["hits"]) == (1, 0)
    told = "".join(path.read_text(encoding="utf-8") for path in out.rglob("*.html"))
    assert "artist" in told
    assert "Grade 3 artist" not in told, "one work is too small a group to tell the grade"
    assert "Vorn" not in told
    assert "Quilm" not in told


def _taken(place: Path) -> bool:
    return run(place, "find")["total"] > 0


def test_look_needs_no_library(place: Path) -> None:
    """One object a photo, in the order given, with exactly the contract's keys."""
    paths = [str(place / "photos" / f"IMG_000{number}.jpg") for number in (2, 3, 1)]
    result = CliRunner().invoke(app, ["look", *paths, "--json"])
    seen = json.loads(result.stdout)
    assert [one["file"] for one in seen] == ["IMG_0002.jpg", "IMG_0003.jpg", "IMG_0001.jpg"]
    assert all(
        set(one) == {"file", "cards", "number", "status", "outline_px", "crop_sure", "size_mm", "color", "problem"}
        for one in seen
    )
    assert [one["number"] for one in seen] == [2, None, 1]
    assert seen[0]["cards"] == [{"kind": "number", "value": 2, "status": "sure"}]
    assert set(seen[1]["problem"]) == {"code", "sentence"}
    assert set(seen[0]["color"]) == {"gains", "clipped"}


@pytest.mark.parametrize(
    ("words", "code", "status"),
    [
        (("find", "--color", "beige"), "not-found", 5),
        (("find", "--size", "huge"), "not-found", 5),
        (("timeline", "3B-39"), "not-found", 5),
        (("class", "9Z"), "not-found", 5),
        (("ingest", "no-such-folder"), "path-missing", 5),
        (("check", "answer", "999", "--yes"), "not-found", 5),
        (("show", "publish", "No such show"), "not-found", 5),
    ],
)
def test_trouble_has_its_code_and_exit_status(place: Path, words: tuple[str, ...], code: str, status: int) -> None:
    """By kind of trouble, never a traceback."""
    assert run(place, *words, exit_code=status).code == code
