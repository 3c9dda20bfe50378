"""Backup and restore: an outside program finds the backup whole, and what comes back is what was kept.

Outside checks: the ``bagit`` library (Library of Congress, an implementation of RFC 8493 that is not ours) and
``sha256sum -c`` of the system.
"""

from __future__ import annotations

import hashlib
import io
import json
import os
import shutil
import sqlite3
import subprocess
import threading
from datetime import UTC, date, datetime
from pathlib import Path

import bagit
import pytest
from typer.testing import CliRunner

from portfolio.archive import backups, bag, doctor, photos, tables
from portfolio.archive.library import DATABASE, Library
from portfolio.archive.originals import SourceError, Stored
from portfolio.cli.app import app
from portfolio.errors import DiskError, LibraryError, PortfolioError, Refused
from portfolio.flows import backup as flow
from portfolio.flows.indexing import Words
from tests.support.school import given_name, make_class
from tests.web.room import make_work

NOW = datetime(2026, 11, 25, 12, tzinfo=UTC)
WORDS_IN_BACKUP = "the wind"


@pytest.fixture
def filled(library: Library) -> Library:
    """A library with a class and six works, each with its photo."""
    class_id, students = make_class(library, children=6)
    with library.writing(who="teacher", what="made media") as writing:
        writing.session.add_all(tables.Medium(label=f"medium {n}") for n in range(1, 7))
        writing.session.add_all(tables.Centre(label=f"center {n}") for n in range(1, 4))
    for at, student in enumerate(students):
        add(library, at, class_id, student)
    return library


def add(library: Library, at: int, class_id: int = 1, student: int = 1) -> None:
    """One more work with a photo of its own."""
    make_work(library, at=at, class_id=class_id, number=at % 40 + 1, student_id=student, day=date(2026, 9, 14))


def digests(folder: Path) -> dict[str, str]:
    """Name → SHA-256 of the bytes, of every original."""
    found = (path for path in (folder / "originals").rglob("*") if path.is_file())
    return {path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in found}


def rows(database: Path) -> dict[str, list[tuple]]:
    """Every row of every table."""
    with sqlite3.connect(database) as connection:
        names = [row[0] for row in connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
        found = {name: sorted(connection.execute(f"SELECT * FROM {name}"), key=repr) for name in names}
    connection.close()
    return found


def sha256sum(folder: Path) -> subprocess.CompletedProcess[str]:
    """What the system's own program says."""
    return subprocess.run(
        ["sha256sum", "-c", "--quiet", "manifest-sha256.txt"], cwd=folder, capture_output=True, text=True, check=False
    )


def assert_whole(folder: Path) -> None:
    """Two programs that are not ours find every file as listed, and none that is not."""
    if shutil.which("sha256sum"):
        assert sha256sum(folder).returncode == 0
    bagit.Bag(str(folder)).validate()


def test_a_backup_is_a_bag_that_others_can_check(filled: Library, tmp_path: Path) -> None:
    """bagit and sha256sum find it whole; its last copy is noted; nothing of the library is left out but what can be
    made anew.
    """
    done = flow.back_up(filled, tmp_path / "stick", now=NOW)
    assert_whole(tmp_path / "stick")
    assert (done.works, done.children, done.originals, done.new_originals) == (6, 6, 6, 6)
    assert done.problems == ()
    names = {path.relative_to(tmp_path / "stick/data").parts[0] for path in (tmp_path / "stick/data").rglob("*")}
    assert names == {"portfolio.db", "portfolio.toml", "library.id", "originals", "sidecars"}
    kept = flow.last_backup(filled)
    assert kept is not None
    assert (kept.at_utc, kept.works, kept.originals) == (NOW, 6, 6)
    info = bagit.Bag(str(tmp_path / "stick")).info
    assert "children's names" in info["Internal-Sender-Description"]


def test_the_second_backup_copies_only_what_is_new(filled: Library, tmp_path: Path) -> None:
    """Old originals are not written again, a changed record is, and the bag is whole each time."""
    stick = tmp_path / "stick"
    flow.back_up(filled, stick)
    before = {path: path.stat().st_mtime_ns for path in (stick / "data").rglob("*") if path.is_file()}
    add(filled, 20)
    done = flow.back_up(filled, stick)
    assert (done.originals, done.new_originals) == (7, 1)
    assert_whole(stick)
    same = [path for path, at in before.items() if path.exists() and path.stat().st_mtime_ns == at]
    assert sum("originals" in path.parts for path in same) == 6
    assert sum("sidecars" in path.parts for path in same) >= 6


def test_what_is_no_longer_in_the_library_leaves_the_backup(filled: Library, tmp_path: Path) -> None:
    """Once neither a record nor the store knows an original (a child was erased), the next backup drops it."""
    stick = tmp_path / "stick"
    flow.back_up(filled, stick)
    orphan = filled.originals.put(io.BytesIO(b"not of any record"), name="x")
    flow.back_up(filled, stick)
    assert (stick / bag.original_name(orphan.sha256)).exists()
    filled.originals.path(orphan.sha256).unlink()
    flow.back_up(filled, stick)
    assert not (stick / bag.original_name(orphan.sha256)).exists()
    assert_whole(stick)


def test_drill_backup_while_a_writer_writes_then_restore(filled: Library, tmp_path: Path) -> None:
    """While works are added, a backup is made: it is one consistent state, comes back with the same rows, every
    original is byte-identical, and its words are found.
    """
    stop = threading.Event()
    made = []

    def write() -> None:
        at = 100
        while not stop.is_set():
            add(filled, at)
            made.append(at)
            at += 1

    writer = threading.Thread(target=write)
    writer.start()
    try:
        while len(made) < 3:
            stop.wait(0.01)
        begun = len(made)
        flow.back_up(filled, tmp_path / "stick", now=NOW)
        while len(made) < begun + 2:
            stop.wait(0.01)
    finally:
        stop.set()
        writer.join()
    assert_whole(tmp_path / "stick")
    copied = rows(tmp_path / "stick/data/portfolio.db")
    done = flow.restore(tmp_path / "stick", tmp_path / "back")
    assert done.left_out == ()
    assert 6 + begun <= done.works < 6 + len(made)
    back = rows(tmp_path / "back" / DATABASE)
    assert {name: lines for name, lines in back.items() if name != "sqlite_stat1"} == copied
    wanted = {row[1] for row in copied["photo"]}
    brought = digests(tmp_path / "back")
    assert wanted <= set(brought), "a record speaks only of originals that are there"
    assert all(name == digest for name, digest in brought.items())
    assert brought.items() <= digests(filled.folder).items()
    with Library.open(tmp_path / "back") as library:
        words = Words(library)
        assert words.search(WORDS_IN_BACKUP).hits
        words.close()
        found = {one.code for one in doctor.check(library, whole=True).problems}
        assert found <= {"original-unknown"}, "a photo that was stored after the records were copied, at most"
        last = flow.last_backup(library)
        assert last is not None
        assert last.at_utc == NOW


def test_a_flipped_byte_is_named_and_the_rest_comes_back(filled: Library, tmp_path: Path) -> None:
    """One bit of one original: refused with nothing written, the file named; then all but this one is brought back."""
    stick = tmp_path / "stick"
    flow.back_up(filled, stick)
    name = next(name for name in bag.Bag(stick).manifest() if "originals" in name)
    content = bytearray((stick / name).read_bytes())
    content[100] ^= 4
    (stick / name).write_bytes(content)
    (problem,) = flow.check_backup(stick)
    assert problem.code == "backup-file-altered"
    assert name in problem.sentence
    with pytest.raises(LibraryError) as refused:
        flow.restore(stick, tmp_path / "back")
    assert refused.value.code == "backup-damaged"
    assert name in refused.value.sentence
    assert flow.told_of_damage(refused.value) == (problem.sentence,)
    assert not (tmp_path / "back").exists()
    assert name in sha256sum(stick).stdout
    done = flow.restore(stick, tmp_path / "back", leave_out_damaged=True)
    assert [one.code for one in done.left_out] == ["backup-file-altered"]
    assert len(digests(tmp_path / "back")) == 5
    flow.back_up(filled, stick)
    assert [one.code for one in flow.check_backup(stick)] == ["backup-file-altered"], "its size is right: not seen"
    (stick / name).unlink()
    assert [one.code for one in flow.check_backup(stick)] == ["backup-file-missing"]
    flow.back_up(filled, stick)
    assert flow.check_backup(stick) == ()


def test_damaged_records_are_made_anew_from_the_sidecars(filled: Library, tmp_path: Path) -> None:
    """When the database of a backup is damaged, all works still come back."""
    stick = tmp_path / "stick"
    flow.back_up(filled, stick)
    with (stick / "data/portfolio.db").open("r+b") as stream:
        stream.seek(5000)
        stream.write(b"\xaa" * 64)
    done = flow.restore(stick, tmp_path / "back", leave_out_damaged=True)
    assert done.rebuilt
    assert (done.works, done.children, done.originals) == (6, 6, 6)


def test_a_damaged_list_is_not_taken_for_damaged_files(filled: Library, tmp_path: Path) -> None:
    """The list has a digest of its own; a list that points elsewhere is refused, even with a right digest."""
    stick = tmp_path / "stick"
    flow.back_up(filled, stick)
    whole = (stick / bag.MANIFEST).read_text()
    (stick / bag.MANIFEST).write_text(whole.replace("a", "b", 1))
    with pytest.raises(LibraryError, match="was changed"):
        flow.restore(stick, tmp_path / "back")
    (stick / bag.TAG_MANIFEST).unlink()
    (stick / bag.MANIFEST).write_text(whole + f"{'0' * 64}  data/../../outside\n")
    with pytest.raises(LibraryError) as refused:
        flow.restore(stick, tmp_path / "back")
    assert refused.value.code == "backup-unreadable"


def test_a_link_in_a_backup_is_never_followed(filled: Library, tmp_path: Path) -> None:
    """A file that is a link to elsewhere counts as missing."""
    stick = tmp_path / "stick"
    flow.back_up(filled, stick)
    (stick / "data/portfolio.toml").rename(tmp_path / "elsewhere.toml")
    (stick / "data/portfolio.toml").symlink_to(tmp_path / "elsewhere.toml")
    assert [one.code for one in flow.check_backup(stick)] == ["backup-file-missing"]


def test_an_original_that_the_library_lost_is_kept_from_the_backup(filled: Library, tmp_path: Path) -> None:
    """Altered or missing in the library: told, and the whole copy of the last backup stays; a new backup elsewhere
    leaves it out and tells that too.
    """
    stick = tmp_path / "stick"
    flow.back_up(filled, stick)
    first, second = sorted(digests(filled.folder))[:2]
    filled.originals.path(first).write_bytes(b"overwritten by something")
    filled.originals.path(second).unlink()
    again = flow.back_up(filled, stick)
    assert (again.originals, again.problems) == (6, ())
    assert flow.check_backup(stick) == ()
    other = flow.back_up(filled, tmp_path / "other")
    assert sorted(one.code for one in other.problems) == ["original-altered", "original-missing"]
    assert other.originals == 4
    assert_whole(tmp_path / "other")


def test_places_that_cannot_take_a_backup(filled: Library, tmp_path: Path) -> None:
    """Other files, another library's backup, the library itself, a disk that is not there: refused, nothing changed."""
    (tmp_path / "papers").mkdir()
    (tmp_path / "papers/letter.txt").write_text("keep me")
    (tmp_path / "data-only/data").mkdir(parents=True)
    inside = filled.folder / "originals" / "backup"
    for place in (tmp_path / "papers", tmp_path / "papers/letter.txt", tmp_path / "no/disk", inside, tmp_path):
        with pytest.raises(Refused) as refused:
            flow.back_up(filled, place)
        assert refused.value.code == "backup-place", place
    assert [path.name for path in (tmp_path / "papers").iterdir()] == ["letter.txt"]
    with pytest.raises(Refused, match="other files"):
        flow.back_up(filled, tmp_path / "data-only")
    with Library.create(tmp_path / "second") as second:
        flow.back_up(second, tmp_path / "stick")
    with pytest.raises(Refused) as refused:
        flow.back_up(filled, tmp_path / "stick")
    assert refused.value.code == "backup-of-another"
    with (
        bag.NewBackup(tmp_path / "mine", identity=backups.identity(filled.folder)),
        pytest.raises(Refused) as busy,
    ):
        flow.back_up(filled, tmp_path / "mine")
    assert busy.value.code == "backup-busy"


def test_a_full_or_broken_disk_is_told(filled: Library, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Too little space is seen before copying; a disk that refuses has a sentence of its own; the last one stays."""
    stick = tmp_path / "stick"
    flow.back_up(filled, stick)
    add(filled, 30)
    monkeypatch.setattr(shutil, "disk_usage", lambda _: shutil._ntuple_diskusage(1, 1, 0))
    with pytest.raises(DiskError) as full:
        flow.back_up(filled, stick)
    assert full.value.code == "backup-full"
    monkeypatch.undo()

    def refuse(_: int) -> None:
        raise OSError(5, "Input/output error")

    monkeypatch.setattr(os, "fsync", refuse)
    with pytest.raises(DiskError) as broken:
        flow.back_up(filled, stick)
    assert broken.value.code == "backup-disk"
    monkeypatch.undo()
    assert flow.check_backup(stick) == ()
    assert len(bag.Bag(stick).manifest()) == len([path for path in (stick / "data").rglob("*") if path.is_file()]), (
        "nothing new was put in yet"
    )


def test_only_an_empty_folder_is_restored_into(filled: Library, tmp_path: Path) -> None:
    """A library that is there, or any other file, is never written over; a folder without a backup is told."""
    flow.back_up(filled, tmp_path / "stick")
    (tmp_path / "full").mkdir()
    (tmp_path / "full/a").write_text("a")
    for place in (filled.folder, tmp_path / "full", tmp_path / "stick/data/new"):
        with pytest.raises(Refused) as refused:
            flow.restore(tmp_path / "stick", place)
        assert refused.value.code == "restore-place"
    with pytest.raises(LibraryError) as missing:
        flow.restore(tmp_path / "full", tmp_path / "back")
    assert missing.value.code == "backup-missing"


@pytest.mark.skipif(not hasattr(os, "fork"), reason="a child that ends in mid-step needs fork")
@pytest.mark.parametrize("step", [1, 3, 24, 34, 35, 38, 41, 46, 48])
def test_cut_off_at_any_step_the_backup_is_the_old_or_the_new_one(filled: Library, tmp_path: Path, step: int) -> None:
    """The machine stops at the n-th step that reaches the disk: what lies there can be restored whole, and the next
    backup goes through.
    """
    stick = tmp_path / "stick"
    flow.back_up(filled, stick)
    for at in (50, 51):
        add(filled, at)
    filled.close()
    pid = os.fork()
    if pid == 0:
        try:
            with Library.open(filled.folder, write=False) as library:
                _stop_at(step)
                flow.back_up(library, stick)
        finally:
            os._exit(0)
    assert os.WEXITSTATUS(os.waitpid(pid, 0)[1]) in (0, 9)
    assert flow.check_backup(stick) == ()
    assert flow.restore(stick, tmp_path / "back").works in (6, 8)
    with Library.open(filled.folder) as library:
        assert flow.back_up(library, stick).works == 8
    assert_whole(stick)


def _stop_at(step: int) -> None:
    """At the n-th call that makes something durable or moves or removes it, the process is gone."""
    count = 0
    for name in ("fsync", "rename", "replace", "unlink", "rmdir"):
        plain = getattr(os, name)

        def counted(*given, plain=plain, **named):
            nonlocal count
            count += 1
            if count == step:
                os._exit(9)
            return plain(*given, **named)

        setattr(os, name, counted)


def test_backup_and_restore_at_the_command_line(filled: Library, tmp_path: Path) -> None:
    """With the library open elsewhere a backup is made; check, damage and restore each say so, by status too."""
    run, stick, back = CliRunner(), str(tmp_path / "stick"), str(tmp_path / "back")
    made = run.invoke(app, ["backup", stick, "--library", str(filled.folder), "--json"])
    assert made.exit_code == 0, made.output
    assert json.loads(made.stdout)["works"] == 6
    said = run.invoke(app, ["backup", stick, "--library", str(filled.folder)])
    assert "keep it where you keep class lists" in said.stdout
    assert given_name("3B", 1) not in said.stdout
    assert "as it was written" in run.invoke(app, ["backup", stick, "--check"]).stdout
    restored = run.invoke(app, ["restore", stick, back, "--json"])
    assert restored.exit_code == 0, restored.output
    assert json.loads(restored.stdout)["works"] == 6
    (tmp_path / "stick/data/portfolio.toml").write_text("workers = 9\n")
    assert run.invoke(app, ["backup", stick, "--check"]).exit_code == 3
    refused = run.invoke(app, ["restore", stick, str(tmp_path / "again")])
    assert isinstance(refused.exception, PortfolioError)
    left = run.invoke(app, ["restore", stick, str(tmp_path / "again"), "--leave-out-damaged"])
    assert left.exit_code == 3
    assert "portfolio.toml" in left.stdout


def test_a_file_that_its_disk_cannot_read_is_told_and_the_rest_goes_on(
    filled: Library, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A bad spot of the library's disk costs one photo or sidecar, one of the stick is named; nothing else stops."""
    stick = tmp_path / "stick"
    photo = min(digests(filled.folder))
    plain, bad_spots = bag._chunks, {photo, "school.json"}

    def chunks(path: Path):
        if path.name in bad_spots:
            raise SourceError(5, "Input/output error")
        yield from plain(path)

    monkeypatch.setattr(bag, "_chunks", chunks)
    done = flow.back_up(filled, stick)
    assert sorted(one.code for one in done.problems) == ["original-unreadable", "sidecar-unreadable"]
    assert (done.works, done.originals) == (6, 5)
    bad_spots.clear()
    assert_whole(stick)
    flow.back_up(filled, stick)
    bad_spots.add(photo)
    assert [one.code for one in flow.check_backup(stick)] == ["backup-file-unreadable"]
    assert flow.restore(stick, tmp_path / "back", leave_out_damaged=True).originals == 5


def test_hidden_files_of_the_system_are_no_other_files(filled: Library, tmp_path: Path) -> None:
    """What a system leaves in every folder it opens does not keep a backup out."""
    (tmp_path / "stick").mkdir()
    (tmp_path / "stick/.folder-view").write_text("x")
    assert flow.back_up(filled, tmp_path / "stick").originals == 6
    assert_whole(tmp_path / "stick")


def test_a_photo_whose_original_is_still_coming_keeps_its_small_picture(filled: Library, tmp_path: Path) -> None:
    """The picture that stands in is backed up and comes back; once the original is there, the next backup drops it."""
    stored = filled.stand_ins.put(io.BytesIO(b"a small picture"), name="IMG_9.jpg")
    with filled.writing(who="program", what="took a first look") as writing:
        stands_for = Stored(stored.sha256, 5_000_000, new=True)
        photos.add_photo(writing.session, 1, stands_for, file_name="IMG_9.jpg", position=9, coming="ab" * 32)
    done = flow.back_up(filled, tmp_path / "stick")
    assert (done.originals, done.problems) == (6, ())
    assert_whole(tmp_path / "stick")
    flow.restore(tmp_path / "stick", tmp_path / "back")
    with Library.open(tmp_path / "back") as library:
        assert library.photo_path(stored.sha256).read_bytes() == b"a small picture"
        assert doctor.check(library, whole=True).problems == ()
    filled.stand_ins.path(stored.sha256).unlink()
    flow.back_up(filled, tmp_path / "stick")
    assert not (tmp_path / "stick/data/stand-ins").exists()
    assert_whole(tmp_path / "stick")
