"""A stand-in: what may stand for a photo, and what opening one does with bytes that lie."""

import io

import pytest
from PIL import Image

from portfolio.reading import PhotoRefused, open_photo
from portfolio.reading.stand_in import BEGINNING_BYTES, LOOK_BYTES, StandIn, stand_in_from, stand_in_of


def jpeg(width: int, height: int, *, orientation: int = 1, color: tuple[int, int, int] = (200, 40, 40)) -> bytes:
    """A plain picture as a camera would write it."""
    out = io.BytesIO()
    exif = Image.Exif()
    exif[0x0112], exif[0x0110] = orientation, "Test camera"
    Image.new("RGB", (width, height), color).save(out, "JPEG", exif=exif)
    return out.getvalue()


def test_its_pixels_are_the_looks_and_its_facts_the_originals() -> None:
    """Size, turn and camera as the original's beginning says; color from the look; each scale in its size."""
    made = stand_in_of(jpeg(1200, 800, orientation=6), jpeg(200, 300, color=(20, 20, 220)))
    assert made is not None
    picture = open_photo(made.as_bytes, file="a")
    assert (picture.facts.width_px, picture.facts.height_px) == (800, 1200)
    assert picture.facts.camera == "Test camera"
    for shrink in (1, 2, 4, 8):
        assert picture.rgb(shrink).shape == (-(-1200 // shrink), -(-800 // shrink), 3)
        assert picture.gray(shrink).shape == (-(-1200 // shrink), -(-800 // shrink))
    red, _, blue = picture.rgb(4)[10, 10]
    assert blue > 150 > red


@pytest.mark.parametrize(
    ("beginning", "look"),
    [
        (b"", b""),
        (jpeg(1200, 800), b"\x89PNG\r\n"),
        (b"GIF89a", jpeg(300, 200)),
        (jpeg(1200, 800), jpeg(300, 300)),
        (jpeg(300, 200), jpeg(1200, 800)),
        (jpeg(9000, 6000), jpeg(4500, 3000)),
        (jpeg(1200, 800), jpeg(300, 200) + bytes(LOOK_BYTES)),
        (jpeg(1200, 800) + bytes(BEGINNING_BYTES), jpeg(300, 200)),
        (b"\xff\xd8\xff\xd9", jpeg(300, 200)),
    ],
)
def test_what_cannot_stand_for_a_photo_is_none(beginning: bytes, look: bytes) -> None:
    """No JPEG, another shape, larger than its original, too heavy: nothing stands in."""
    assert stand_in_of(beginning, look) is None


def test_only_its_own_mark_makes_a_stand_in() -> None:
    """Every other file is what it was; a stand-in gives back both parts byte for byte."""
    parts = StandIn(b"beginning", b"look")
    assert stand_in_from(parts.as_bytes) == parts
    for other in (b"", b"\x89", parts.as_bytes[1:], jpeg(30, 20)):
        assert stand_in_from(other) is None


@pytest.mark.parametrize(
    "data",
    [
        StandIn(b"", b"").as_bytes,
        StandIn(jpeg(300, 200), b"").as_bytes,
        StandIn(b"x" * 50, jpeg(300, 200)).as_bytes,
        StandIn(jpeg(1200, 800), jpeg(300, 290)).as_bytes,
        StandIn(StandIn(jpeg(1200, 800), jpeg(300, 200)).as_bytes, jpeg(300, 200)).as_bytes,
        StandIn(jpeg(1200, 800), jpeg(300, 200)).as_bytes[:40],
        StandIn(jpeg(1200, 800), jpeg(300, 200)).as_bytes[:15],
    ],
)
def test_one_that_lies_is_refused_like_any_broken_photo(data: bytes) -> None:
    """Cut off, empty, of another shape, one inside another: a sentence, nothing else."""
    with pytest.raises(PhotoRefused) as refused:
        open_photo(data, file="IMG_1.JPG").rgb(2)
    assert refused.value.code.startswith("photo-")
