"""Settings, backup: what is said of the last one, starting one, its progress and its result."""

from __future__ import annotations

import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from portfolio.archive import backups
from portfolio.archive.backups import Done
from portfolio.errors import Refused
from portfolio.flows import backup as flow
from portfolio.flows.backup_places import BACKUP_FOLDER, plugged_in
from portfolio.web.backup_job import BackupJob
from tests.web.conftest import App


def _until_done(app: App) -> str:
    until = time.monotonic() + 20
    while app.desk.backup.state.running:
        assert time.monotonic() < until
        time.sleep(0.02)
    return app.client.get("/settings/backup").text


def test_no_backup_yet_then_one_is_made(app: App, tmp_path: Path) -> None:
    """The page and Today say that there is none; after one was made into a folder, both know it."""
    assert "No backup has been made yet." in app.client.get("/settings/backup").text
    assert "No backup has been made yet." in app.client.get("/").text
    app.client.post("/settings/backup", data={"folder": str(tmp_path / "stick")})
    page = _until_done(app)
    assert "The backup is done and checked. It holds 20 works with 20 photos" in page
    assert "The last backup was made today" in page
    assert f'value="{tmp_path / "stick"}"' in page, "the same folder is proposed next time"
    assert flow.check_backup(tmp_path / "stick") == ()
    assert "backup" not in app.client.get("/").text.lower()


def test_today_says_the_age_of_an_old_backup(app: App, tmp_path: Path) -> None:
    """Seven days are calm; from the eighth on Today says it in one line. The invented school needs none."""
    for days, said in ((7, ""), (9, "The last backup is 9 days old.")):
        at = datetime.now(UTC) - timedelta(days=days, minutes=5)
        backups.note_done(app.room.library.folder, Done(at, tmp_path, 3, 3))
        page = app.client.get("/").text
        assert (said in page) if said else ("backup" not in page.lower())
    assert "9 days ago" in app.client.get("/settings/backup").text
    app.desk.demo = True
    assert "backup" not in app.client.get("/").text.lower()
    app.desk.demo = False


@pytest.mark.parametrize(
    ("folder", "said"),
    [
        ("", "Say which folder."),
        ("stick", "Write the whole way"),
        ("{papers}", "it holds other files"),
        ("{papers}/no/such", "is not there"),
    ],
)
def test_a_folder_that_cannot_take_it_is_told_beside_the_field(
    app: App, tmp_path: Path, folder: str, said: str
) -> None:
    """In words, joined to the field for a screen reader, with what was typed kept."""
    (tmp_path / "letter.txt").write_text("x")
    answer = app.client.post("/settings/backup", data={"folder": folder.format(papers=tmp_path)})
    assert 400 <= answer.status_code < 500
    assert said in answer.text
    assert 'aria-invalid="true"' in answer.text
    assert 'id="folder-problem"' in answer.text
    assert not app.desk.backup.state.running


def test_progress_asks_again_until_it_is_done(app: App, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """While it runs the part of the page says how far and asks again; a second backup waits; afterwards it is quiet."""
    go_on = time.monotonic() + 0.6

    def slow(*_: object, told: flow.Told, **__: object) -> flow.BackedUp:
        told("the photos", 3, 8)
        while time.monotonic() < go_on:
            time.sleep(0.01)
        return flow.BackedUp(datetime.now(UTC), 1, 1, 1, 0, 0)

    monkeypatch.setattr("portfolio.web.backup_job.back_up", slow)
    app.desk.backup.start(app.room.library, tmp_path / "a")
    while app.desk.backup.state.of != 8:
        time.sleep(0.005)
    page = app.client.get("/settings/backup/state").text
    assert "Copying the photos: 3 of 8." in page
    assert f'value="{tmp_path / "a"}"' in app.client.get("/settings/backup").text, "the folder that it goes to"
    assert 'hx-get="/settings/backup/state"' in page
    with pytest.raises(Refused, match="made already"):
        app.desk.backup.start(app.room.library, tmp_path / "b")
    _until_done(app)
    assert "hx-get" not in app.client.get("/settings/backup/state").text


def test_a_backup_that_fails_is_told_and_closing_stops_it(
    app: App, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The disk's refusal and a mistake of ours stand on the page in words; a job that is closed ends at once."""

    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr("portfolio.web.backup_job.back_up", broken)
    app.desk.backup.start(app.room.library, tmp_path / "a")
    assert "Something went wrong in the program itself" in _until_done(app)

    def forever(*_: object, told: flow.Told, **__: object) -> None:
        while True:
            told("the photos", 1, 2)

    monkeypatch.setattr("portfolio.web.backup_job.back_up", forever)
    job = BackupJob()
    job.start(app.room.library, tmp_path / "b")
    job.close()
    assert not job.state.running
    assert job.state.error is None


def test_disks_that_are_plugged_in_are_proposed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A mounted folder, also below the user's name; never a plain folder."""
    for name in ("ada/STICK", "DRIVE", "plain/inner"):
        (tmp_path / name).mkdir(parents=True)
    mounted = {tmp_path / "ada/STICK", tmp_path / "DRIVE"}
    monkeypatch.setattr(Path, "is_mount", lambda self: self in mounted)
    monkeypatch.setattr("sys.platform", "linux")
    found = plugged_in((str(tmp_path), str(tmp_path / "missing")))
    assert found == (tmp_path / "DRIVE" / BACKUP_FOLDER, tmp_path / "ada/STICK" / BACKUP_FOLDER)
