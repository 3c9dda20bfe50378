"""What is found among files and folders, and what is left where it is."""

import os
from pathlib import Path

import pytest

from portfolio.errors import NotFound
from portfolio.intake import find as finding
from portfolio.intake import find_photos

JPEG = b"\xff\xd8\xff\xe0" + bytes(60)


def _put(path: Path, content: bytes = JPEG) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(content)
    return path


def _names(found) -> list[str]:
    return [one.name for one in found.candidates]


def test_folders_are_searched_to_the_bottom_in_the_order_a_person_would_read(tmp_path):
    """IMG_2 comes before IMG_10; files of a folder before those of folders inside it; nothing is lost."""
    for name in ("IMG_10.JPG", "IMG_2.JPG", "b/IMG_1.JPG", "a/deep/IMG_3.JPG"):
        _put(tmp_path / name)
    assert _names(find_photos([tmp_path])) == ["IMG_2.JPG", "IMG_10.JPG", "IMG_3.JPG", "IMG_1.JPG"]


def test_hidden_and_system_files_are_not_mentioned(tmp_path):
    """What computers leave behind is neither taken nor told."""
    for name in (".DS_Store", "Thumbs.db", "._IMG_1.JPG", "__MACOSX/IMG_1.JPG", ".trash/IMG_2.JPG", "IMG_3.JPG"):
        _put(tmp_path / name)
    found = find_photos([tmp_path])
    assert _names(found) == ["IMG_3.JPG"]
    assert found.left_out == ()


def test_films_and_papers_are_left_out_and_told(tmp_path):
    """A film beside a photo stays where it is, and the teacher hears of it by its own name."""
    for name in ("IMG_1.MOV", "list.pdf", "IMG_1.AAE"):
        _put(tmp_path / name, b"\x00\x00\x00\x18ftypqt  " + bytes(30))
    _put(tmp_path / "IMG_1.JPG")
    found = find_photos([tmp_path])
    assert _names(found) == ["IMG_1.JPG"]
    assert set(found.left_out) == {"IMG_1.MOV", "list.pdf", "IMG_1.AAE"}


def test_an_ending_alone_refuses_nothing(tmp_path):
    """A photo named .txt, .pdf or nothing at all is still a candidate: its first bytes say so."""
    for name in ("photo.txt", "photo.pdf", "photo", "photo.xyz"):
        _put(tmp_path / name)
    assert set(_names(find_photos([tmp_path]))) == {"photo.txt", "photo.pdf", "photo", "photo.xyz"}


def test_a_folder_without_photos_is_refused_by_its_code(tmp_path):
    """Nothing to take in is said at once, with nothing changed."""
    _put(tmp_path / "notes.txt", b"hello")
    with pytest.raises(NotFound) as caught:
        find_photos([tmp_path])
    assert caught.value.code == "folder-without-photos"
    assert str(tmp_path) not in caught.value.sentence


def test_a_path_that_is_not_there_is_refused_before_anything_else(tmp_path):
    """A mistyped path stops the run before the first photo, and the sentence holds no path."""
    _put(tmp_path / "IMG_1.JPG")
    with pytest.raises(NotFound) as caught:
        find_photos([tmp_path, tmp_path / "nowhere"])
    assert caught.value.code == "path-missing"
    assert str(tmp_path) not in caught.value.sentence


def test_an_unreadable_folder_is_one_problem_and_the_rest_goes_on(tmp_path, monkeypatch):
    """Faked refusal of the system, since root may read everything."""
    _put(tmp_path / "IMG_1.JPG")
    _put(tmp_path / "locked" / "IMG_2.JPG")
    scandir = os.scandir

    def refusing(path):
        if Path(path).name == "locked":
            raise PermissionError(13, "Permission denied", str(path))
        return scandir(path)

    monkeypatch.setattr(finding.os, "scandir", refusing)
    found = find_photos([tmp_path])
    assert _names(found) == ["IMG_1.JPG"]
    assert [problem.code for problem in found.problems] == ["folder-unreadable"]
    assert str(tmp_path) not in found.problems[0].sentence


def test_an_unreadable_file_is_one_problem(tmp_path, monkeypatch):
    """The other photos are found all the same."""
    _put(tmp_path / "IMG_1.JPG")
    bad = _put(tmp_path / "IMG_2.JPG")
    plain_open = Path.open

    def refusing(self, *given, **named):
        if self == bad:
            raise OSError(5, "Input/output error", str(bad))
        return plain_open(self, *given, **named)

    monkeypatch.setattr(Path, "open", refusing)
    found = find_photos([tmp_path])
    assert _names(found) == ["IMG_1.JPG"]
    assert [problem.code for problem in found.problems] == ["photo-unreadable-file"]


def test_the_same_file_handed_over_twice_counts_once(tmp_path):
    """A folder and a file in it do not make two photos."""
    one = _put(tmp_path / "IMG_1.JPG")
    assert _names(find_photos([tmp_path, one])) == ["IMG_1.JPG"]


@pytest.mark.skipif(os.name == "nt", reason="links need a privilege on Windows")
def test_a_link_to_a_folder_above_makes_no_ring(tmp_path):
    """Linked folders are not entered."""
    _put(tmp_path / "a" / "IMG_1.JPG")
    (tmp_path / "a" / "up").symlink_to(tmp_path)
    assert _names(find_photos([tmp_path])) == ["IMG_1.JPG"]


def test_a_file_too_heavy_for_a_photo_is_a_problem(tmp_path):
    """It is left where it is and the batch goes on."""
    _put(tmp_path / "IMG_1.JPG")
    _put(tmp_path / "IMG_2.JPG", JPEG + bytes(2000))
    found = find_photos([tmp_path], max_bytes=1000)
    assert _names(found) == ["IMG_1.JPG"]
    assert [problem.code for problem in found.problems] == ["photo-too-heavy"]
