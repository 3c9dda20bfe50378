"""A disk that is really full: a small file system of its own, where it can be mounted."""

import os
import subprocess
import sys
from datetime import datetime, time

import pytest

from portfolio.archive.library import Library
from portfolio.errors import DiskError
from portfolio.flows.take_in import take_in
from portfolio.model.filing import PhotoState
from tests.support.notes import ReadsNotes, note
from tests.support.school import YEAR_START, make_class, make_library

AT = datetime.combine(YEAR_START, time(9, 48))


def _mount(folder, size: str) -> bool:
    if sys.platform != "linux" or os.geteuid() != 0:
        return False
    command = ["mount", "-t", "tmpfs", "-o", f"size={size}", "tmpfs", str(folder)]
    done = subprocess.run(command, check=False, capture_output=True)
    return done.returncode == 0


@pytest.fixture
def small_disk(tmp_path):
    """A file system of 6 MB."""
    folder = tmp_path / "disk"
    folder.mkdir()
    if not _mount(folder, "6m"):
        if os.environ.get("CI"):
            pytest.fail("CI runs as root and must be able to mount a small file system")
        pytest.skip("a small file system can only be mounted by root on Linux; test_take_in fakes the full disk")
    yield folder
    subprocess.run(["umount", "-l", str(folder)], check=True)


def test_a_full_disk_keeps_what_was_acknowledged_and_the_next_run_finishes(small_disk, tmp_path):
    """Photos of 700 kB until nothing more fits: the run ends with its code, no temp file stays, every stored original
    is whole; with room made, the same call files the rest and skips what is there."""
    folder = tmp_path / "in"
    for place in range(1, 9):
        path = note(folder, f"IMG_{place:04}.JPG", str(place), at=AT.replace(second=place * 3), crop_hash=place << 40)
        path.write_text(path.read_text() + " " * 700_000)
    with make_library(small_disk) as library:
        make_class(library, children=9)
        with pytest.raises(DiskError) as caught:
            take_in(library, [folder], executor=ReadsNotes(), quiet_s=0)
        assert caught.value.code == "disk-full"
        stored = list(library.originals.all())
        assert 0 < len(stored) < 8
        assert [library.originals.verify(sha) for sha in stored] == [None] * len(stored)
        assert not list((library.folder / "originals" / "tmp").iterdir())
    subprocess.run(["mount", "-o", "remount,size=60m", str(small_disk)], check=True)
    with Library.open(small_disk / "library") as library:
        report = take_in(library, [folder], executor=ReadsNotes(), quiet_s=0)
        assert report.count(PhotoState.FILED) == 8
        assert len(list(library.originals.all())) == 8
