"""A file that is still being copied is never taken half."""

import os

import pytest

from portfolio.intake import StillChanging, find_photos, wait_until_quiet

JPEG = b"\xff\xd8\xff\xe0" + bytes(60)


def test_a_file_that_grows_while_it_is_read_is_refused(tmp_path):
    """The copy that was begun must be thrown away."""
    path = tmp_path / "IMG_1.JPG"
    path.write_bytes(JPEG)
    candidate = find_photos([path]).candidates[0]
    with candidate.opened() as stream:
        stream.read(10)
        with path.open("ab") as more:
            more.write(b"more")
        with pytest.raises(StillChanging):
            list(iter(lambda: stream.read(10), b""))


def test_a_file_that_was_touched_since_it_was_found_is_refused(tmp_path):
    """Same size, other bytes: the modification time tells."""
    path = tmp_path / "IMG_1.JPG"
    path.write_bytes(JPEG)
    candidate = find_photos([path]).candidates[0]
    os.utime(path, (1, 1))
    with pytest.raises(StillChanging), candidate.opened() as stream:
        stream.read()


def test_a_quiet_file_is_read_whole(tmp_path):
    """Nothing is refused without a reason."""
    path = tmp_path / "IMG_1.JPG"
    path.write_bytes(JPEG)
    with find_photos([path]).candidates[0].opened() as stream:
        assert b"".join(iter(lambda: stream.read(7), b"")) == JPEG


def test_waiting_is_for_the_youngest_file_and_once(tmp_path):
    """A file touched 0.2 s ago is waited for until it is 1 s old; an old one, or one from another clock, is not."""
    path = tmp_path / "IMG_1.JPG"
    path.write_bytes(JPEG)
    os.utime(path, (1000.0, 1000.0))
    slept: list[float] = []
    assert wait_until_quiet([path], quiet_s=1.0, now=lambda: 1000.2, sleep=slept.append) == pytest.approx(0.8)
    assert wait_until_quiet([path], quiet_s=1.0, now=lambda: 1005.0, sleep=slept.append) == 0
    assert wait_until_quiet([path], quiet_s=1.0, now=lambda: 900.0, sleep=slept.append) == 0
    assert slept == [pytest.approx(0.8)]
