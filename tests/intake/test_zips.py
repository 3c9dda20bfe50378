"""Zip files that lie, climb or explode; and honest ones."""

import io
import random
import zipfile
from pathlib import Path

import pytest

from portfolio.intake import find_photos
from portfolio.intake.found import _Bounded
from portfolio.intake.zips import photos_in_zip

JPEG = b"\xff\xd8\xff\xe0" + bytes(60)


def _zip(path: Path, members: dict[str, bytes], *, packed: bool = False) -> Path:
    method = zipfile.ZIP_DEFLATED if packed else zipfile.ZIP_STORED
    with zipfile.ZipFile(path, "w", method) as archive:
        for name, content in members.items():
            archive.writestr(name, content)
    return path


def test_photos_in_a_zip_are_found_and_read(tmp_path):
    """Folders inside are searched, leftovers of computers ignored, and the bytes come out as they went in."""
    path = _zip(tmp_path / "class.zip", {"b/IMG_2.JPG": JPEG, "a/IMG_1.JPG": JPEG + b"1", "__MACOSX/._IMG_1.JPG": b"x"})
    found = find_photos([path])
    assert [one.name for one in found.candidates] == ["IMG_1.JPG", "IMG_2.JPG"]
    with found.candidates[0].opened() as stream:
        assert stream.read() == JPEG + b"1"


@pytest.mark.parametrize("name", ["../evil.jpg", "a/../../evil.jpg", "/etc/evil.jpg", "C:\\evil.jpg", "..\\evil.jpg"])
def test_zip_slip_is_refused_and_told(tmp_path, name):
    """A name that points outside the zip is left out; nothing is ever unpacked by it."""
    path = _zip(tmp_path / "class.zip", {name: JPEG, "IMG_1.JPG": JPEG + b"1"})
    found = find_photos([path])
    assert [one.name for one in found.candidates] == ["IMG_1.JPG"]
    assert [problem.code for problem in found.problems] == ["zip-entry-refused"]
    assert not list(tmp_path.parent.rglob("evil.jpg"))


def test_a_bomb_is_refused_before_it_is_opened(tmp_path):
    """A member that would grow a thousandfold is left out."""
    path = _zip(tmp_path / "bomb.zip", {"IMG_1.JPG": bytes(20_000_000), "IMG_2.JPG": JPEG}, packed=True)
    found = find_photos([path])
    assert [one.name for one in found.candidates] == ["IMG_2.JPG"]
    assert [problem.code for problem in found.problems] == ["zip-entry-refused"]


def test_a_member_larger_than_it_says_is_cut_off(tmp_path):
    """The zip's own list says 10 bytes and more are packed: it is left out, and told."""
    path = _zip(tmp_path / "liar.zip", {"IMG_1.JPG": JPEG})
    raw = bytearray(path.read_bytes())
    size = len(JPEG).to_bytes(4, "little")
    central = raw.rindex(b"PK\x01\x02")
    at = raw.index(size, central + 20)
    raw[at + 4 : at + 8] = (10).to_bytes(4, "little")
    path.write_bytes(raw)
    assert [problem.code for problem in find_photos([path]).problems] == ["zip-entry-refused"]


def test_a_member_never_gives_more_than_it_promised():
    """Should the unpacker be fooled, the stream itself stops one byte after the promise."""
    assert _Bounded(io.BytesIO(bytes(10)), limit_bytes=10).read() == bytes(10)
    with pytest.raises(zipfile.BadZipFile):
        _Bounded(io.BytesIO(bytes(11)), limit_bytes=10).read()


@pytest.mark.parametrize("content", [b"", b"PK\x03\x04nonsense", b"not a zip at all"])
def test_a_damaged_zip_is_one_problem(tmp_path, content):
    """It is told by its code and nothing is raised."""
    path = tmp_path / "broken.zip"
    path.write_bytes(content)
    assert [problem.code for problem in find_photos([path]).problems] == ["zip-damaged"]


def test_a_photo_whose_packed_bytes_are_torn_is_told_and_the_rest_goes_on(tmp_path):
    """Deflate's own error at the first bytes leaves out that photo; further in, reading it says so."""
    noise = [bytes(random.Random(n).randbytes(80_000)) for n in range(3)]
    path = _zip(tmp_path / "class.zip", {f"IMG_{n}.JPG": JPEG + noise[n] for n in range(3)}, packed=True)
    content = bytearray(path.read_bytes())
    with zipfile.ZipFile(path) as archive:
        starts = [info.header_offset + 30 + len(info.filename) for info in archive.infolist()]
    content[starts[0] : starts[0] + 40] = b"\xff" * 40
    content[starts[1] + 70_000 : starts[1] + 70_400] = b"\xff" * 400
    path.write_bytes(content)
    found = find_photos([path])
    assert [(problem.code, problem.item) for problem in found.problems] == [("zip-entry-refused", "IMG_0.JPG")]
    torn, whole = found.candidates
    with torn.opened() as stream, pytest.raises(zipfile.BadZipFile):
        stream.read()
    with whole.opened() as stream:
        assert stream.read() == JPEG + noise[2]


def test_a_zip_with_too_many_files_is_refused_whole(tmp_path):
    """An endless list is no batch of photos."""
    path = _zip(tmp_path / "many.zip", {f"{n}.jpg": JPEG for n in range(6)})
    found = photos_in_zip(path, max_bytes=10_000, entries_max=5)
    assert [problem.code for problem in found.problems] == ["zip-damaged"]
    assert not found.candidates


def test_a_zip_inside_a_zip_is_left_out(tmp_path):
    """Only zips that were handed over themselves are opened."""
    inner = io.BytesIO()
    with zipfile.ZipFile(inner, "w") as archive:
        archive.writestr("IMG_9.JPG", JPEG)
    path = _zip(tmp_path / "outer.zip", {"inner.zip": inner.getvalue(), "IMG_1.JPG": JPEG})
    found = find_photos([path])
    assert [one.name for one in found.candidates] == ["IMG_1.JPG"]
    assert found.left_out == ("inner.zip",)


def test_sentences_about_a_zip_hold_no_path(tmp_path):
    """Only a file's own name is ever said."""
    path = _zip(tmp_path / "class.zip", {"secret/folder/../../x.jpg": JPEG, "IMG_1.JPG": JPEG})
    for problem in find_photos([path]).problems:
        assert str(tmp_path) not in problem.sentence
        assert "secret" not in problem.sentence
