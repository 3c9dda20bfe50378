"""The guard: whatever a file does to its reader, one coded sentence comes back and nothing else stops."""

import pickle
import sys
from dataclasses import replace
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from portfolio.archive.library import Library
from portfolio.archive.settings import Settings, save
from portfolio.flows.executors import make_executor
from portfolio.flows.read_photos import limits_of
from portfolio.flows.worker import CropRequest, Limits, SeeRequest, crop_photo, guarded, see_here, see_photo
from portfolio.model.photo import Crop
from tests.support import crashes
from tests.support.shots import make_shot

posix = pytest.mark.skipif(
    sys.platform == "win32", reason="there is no fork on Windows: photos are read in the pool's worker"
)
REQUEST = SeeRequest(Path("IMG_7.JPG"), "IMG_7.JPG")


@posix
@pytest.mark.parametrize(
    ("act", "code"),
    [
        (crashes.crash, "photo-reader-stopped"),
        (crashes.burn, "photo-out-of-time"),
        (crashes.blunder, "photo-reader-stopped"),
        pytest.param(
            crashes.hog,
            "photo-out-of-memory",
            marks=pytest.mark.skipif(sys.platform != "linux", reason="macOS does not enforce a limit on memory"),
        ),
    ],
)
def test_what_stops_the_reader_becomes_a_sentence(act, code):
    """A crash, too much time, too much memory, our own mistake: each has its code, and this process goes on."""
    problem = guarded(act, REQUEST).reading.problem
    assert problem.code == code
    assert problem.item == "IMG_7.JPG"


@posix
def test_a_reader_that_hangs_is_stopped():
    """After the time allowed the child is killed: code photo-out-of-time."""
    assert guarded(crashes.hang, REQUEST, wall_seconds=0.5).reading.problem.code == "photo-out-of-time"


@posix
def test_the_reader_cannot_write(tmp_path):
    """Behind the guard no file can grow: an original cannot be overwritten by a hijacked decoder."""
    path = tmp_path / "IMG_7.JPG"
    path.write_bytes(b"original")
    seen = guarded(crashes.scribble, SeeRequest(path, "IMG_7.JPG"))
    assert seen.reading.facts.format == "refused"


def test_a_photo_comes_back_whole(tmp_path):
    """Through the guard come the same values as without it, and they can be sent between processes."""
    shot = make_shot(61)
    path = tmp_path / "IMG_8.JPG"
    path.write_bytes(shot.jpeg)
    request = SeeRequest(path, "IMG_8.JPG")
    seen = see_photo(request)
    assert seen == see_here(request) == pickle.loads(pickle.dumps(seen))
    assert seen.reading.number == shot.cards[0].value
    assert len(seen.straightened.derivatives) == 3
    assert path.read_bytes() == shot.jpeg


def test_cards_alone_can_be_asked_for(tmp_path):
    """Without pictures only the reading comes back."""
    path = tmp_path / "IMG_8.JPG"
    path.write_bytes(make_shot(61).jpeg)
    seen = see_here(SeeRequest(path, "IMG_8.JPG", pictures=False))
    assert seen.straightened is None
    assert seen.reading.facts is not None


def test_an_outline_by_hand_goes_the_same_way(tmp_path):
    """Hand-set outlines are cut behind the guard too."""
    shot = make_shot(62)
    path = tmp_path / "IMG_9.JPG"
    path.write_bytes(shot.jpeg)
    crop = Crop(tuple(shot.works[0].corners_px), sure=True, shape="sheet", by_hand=True)
    made = crop_photo(CropRequest(path, "IMG_9.JPG", crop, 2)).straightened
    assert made.crop == crop
    assert len(made.derivatives) == 3


@pytest.mark.parametrize("kind", ["process", "thread", "inline"])
def test_every_executor_gives_the_same(kind, tmp_path):
    """Processes, threads and this process give equal values; broken files come back as problems."""
    good, bad = tmp_path / "a.png", tmp_path / "b.jpg"
    out = BytesIO()
    Image.fromarray(np.full((40, 60, 3), 200, np.uint8)).save(out, "PNG")
    good.write_bytes(out.getvalue())
    bad.write_bytes(b"no photo")
    with make_executor(kind, 1) as executor:
        seen = list(executor.map(see_photo, [SeeRequest(good, "a.png"), SeeRequest(bad, "b.jpg")]))
    assert seen[0] == see_here(SeeRequest(good, "a.png"))
    assert seen[1].reading.problem.code == "photo-not-a-picture"


@posix
@pytest.mark.skipif(sys.platform != "linux", reason="macOS does not enforce a limit on memory")
def test_the_limits_are_those_of_the_library(tmp_path):
    """A photo that fits the usual limits is stopped by smaller ones; it is told, and nothing else stops."""
    path = tmp_path / "IMG_9.PNG"
    Image.new("RGB", (6000, 6000), (200, 40, 40)).save(path, compress_level=1)
    usual = SeeRequest(path, "IMG_9.PNG", pictures=False)
    small = replace(usual, limits=Limits(memory_mb=240))
    with make_executor("process", 1) as executor:  # what this test's process has mapped itself would count too
        seen = list(executor.map(see_photo, [usual, small]))
    assert seen[0].reading.problem is None
    assert seen[1].reading.problem.code == "photo-out-of-memory"


def test_a_library_sets_the_limits_of_its_photos(tmp_path):
    """What ``portfolio.toml`` says goes along with each photo."""
    Library.create(tmp_path).close()
    save(tmp_path, Settings(photo_seconds=7, photo_memory_mb=900))
    with Library.open(tmp_path) as library:
        assert limits_of(library) == Limits(7, 900)
