import errno
import io
import os
import subprocess
import sys
from pathlib import Path

import pytest

from portfolio.archive.originals import Originals
from portfolio.errors import DiskError


@pytest.fixture
def store(tmp_path: Path) -> Originals:
    made = Originals(tmp_path / "originals")
    made.prepare()
    return made


def test_what_was_put_is_found_bit_for_bit_under_its_own_digest(store: Originals) -> None:
    """The name is the SHA-256 of the bytes; check value of the empty message and of "abc": FIPS 180-4 examples."""
    assert store.put(io.BytesIO(b"abc")).sha256 == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    data = os.urandom(3_000_001)
    stored = store.put(io.BytesIO(data))
    assert stored.new
    assert stored.size_bytes == len(data)
    assert store.path(stored.sha256).read_bytes() == data
    assert store.verify(stored.sha256) is None


def test_the_same_bytes_twice_are_one_original(store: Originals) -> None:
    """The second put says "not new" and writes nothing."""
    first = store.put(io.BytesIO(b"same"))
    before = store.path(first.sha256).stat().st_mtime_ns
    again = store.put(io.BytesIO(b"same"))
    assert (again.sha256, again.new) == (first.sha256, False)
    assert store.path(first.sha256).stat().st_mtime_ns == before
    assert list(store.all()) == [first.sha256]


@pytest.mark.parametrize("fault", [b"", b"x", b"same bytex"])
def test_any_altered_original_is_found(store: Originals, fault: bytes) -> None:
    """Truncated, shortened or flipped: verify names it; a missing one has its own code."""
    stored = store.put(io.BytesIO(b"same bytes"))
    store.path(stored.sha256).write_bytes(fault)
    assert store.verify(stored.sha256) == "original-altered"
    store.path(stored.sha256).unlink()
    assert store.verify(stored.sha256) == "original-missing"


class _Breaks(io.RawIOBase):
    def read(self, _count: int = -1) -> bytes:
        raise OSError(errno.EIO, "Input/output error")


def test_a_source_that_breaks_is_trouble_with_that_item_only(store: Originals) -> None:
    """A reading error is passed on as it is (not as our disk's error) and leaves no temp file."""
    with pytest.raises(OSError, match="Input/output"):
        store.put(_Breaks())
    assert list((store.folder / "tmp").iterdir()) == []


def test_a_full_disk_is_said_and_nothing_is_left(store: Originals, monkeypatch: pytest.MonkeyPatch) -> None:
    """ENOSPC while syncing gives the coded sentence; neither temp file nor original stays."""

    def full(_handle: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(DiskError) as caught:
        store.put(io.BytesIO(b"abc"), name="IMG_1.jpg")
    assert caught.value.code == "disk-full"
    assert "IMG_1.jpg" in caught.value.sentence
    monkeypatch.undo()
    assert list(store.all()) == []
    assert list((store.folder / "tmp").iterdir()) == []


def test_temp_files_of_a_crash_are_cleared_at_the_next_start(store: Originals) -> None:
    """What a killed process left in tmp/ is gone after prepare(); originals stay."""
    stored = store.put(io.BytesIO(b"abc"))
    (store.folder / "tmp" / "half").write_bytes(b"ha")
    store.prepare()
    assert list((store.folder / "tmp").iterdir()) == []
    assert store.has(stored.sha256)


@pytest.mark.skipif(sys.platform != "linux" or os.geteuid() != 0, reason="needs Linux and root to mount a tiny disk")
def test_a_really_full_disk(tmp_path: Path) -> None:
    """On a 3 MB disk: earlier originals stay whole, the one that does not fit leaves nothing, the code is disk-full."""
    disk = tmp_path / "disk"
    disk.mkdir()
    subprocess.run(["mount", "-t", "tmpfs", "-o", "size=3m", "tmpfs", disk], check=True)
    try:
        store = Originals(disk / "originals")
        store.prepare()
        kept = [store.put(io.BytesIO(os.urandom(1_000_000))).sha256 for _ in range(2)]
        with pytest.raises(DiskError) as caught:
            store.put(io.BytesIO(os.urandom(2_000_000)))
        assert caught.value.code == "disk-full"
        assert sorted(store.all()) == sorted(kept)
        assert [store.verify(sha) for sha in kept] == [None, None]
        assert list((store.folder / "tmp").iterdir()) == []
    finally:
        subprocess.run(["umount", disk], check=True)


def test_a_disk_that_refuses_is_said(store: Originals, monkeypatch: pytest.MonkeyPatch) -> None:
    """A read-only disk is its own sentence, not "full"."""

    def refuse(_handle: int) -> None:
        raise OSError(errno.EROFS, "Read-only file system")

    monkeypatch.setattr(os, "fsync", refuse)
    with pytest.raises(DiskError) as caught:
        store.put(io.BytesIO(b"abc"))
    assert caught.value.code == "disk-unwritable"
