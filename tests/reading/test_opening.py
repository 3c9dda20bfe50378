"""Opening photos: what is refused, with which sentence, and what is repaired."""

import struct
import zlib
from io import BytesIO

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from portfolio.reading import PhotoRefused, open_photo, opening, read_photo


def noise(height=300, width=400, seed=1) -> np.ndarray:
    return np.random.default_rng(seed).integers(0, 255, (height, width, 3), np.uint8)


def jpeg(pixels=None, **how) -> bytes:
    out = BytesIO()
    Image.fromarray(noise() if pixels is None else pixels).save(out, "JPEG", **{"quality": 85} | how)
    return out.getvalue()


def png_of(width: int, height: int) -> bytes:
    """A PNG whose header says ``width`` × ``height`` and whose rows are all one color: 400 megapixels in 50 kB."""

    def chunk(name: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))

    header = struct.pack(">IIBBBBB", width, height, 1, 0, 0, 0, 0)
    rows = zlib.compress(bytes((width // 8 + 1) * height), 9)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", rows) + chunk(b"IEND", b"")


def code_of(source, file="IMG_1.JPG") -> str:
    reading = read_photo(source, file=file)
    assert reading.problem is not None
    assert file in reading.problem.sentence
    return reading.problem.code


def test_an_empty_file_is_said_to_be_empty():
    """No bytes, no picture: code photo-empty."""
    assert code_of(b"") == "photo-empty"


@pytest.mark.parametrize("data", [b"Dear parents", b"<html>", b"%PDF-1.4", b"PK\3\4", bytes(500)])
def test_files_that_are_no_pictures(data):
    """Code photo-not-a-picture, whatever the name says."""
    assert code_of(data, "photo.jpg") == "photo-not-a-picture"


def test_the_extension_is_never_believed():
    """A PNG named .jpg is read as what it is."""
    out = BytesIO()
    Image.fromarray(noise()).save(out, "PNG")
    assert open_photo(out.getvalue(), file="IMG_1.JPG").facts.format == "PNG"


def test_a_400_megapixel_png_is_not_decoded():
    """A bomb of 50 kB is refused by its header: code photo-too-large."""
    data = png_of(20_000, 20_000)
    assert len(data) < 200_000
    assert code_of(data) == "photo-too-large"


def test_size_limits_come_before_scaling():
    """A JPEG may be larger than a PNG, a progressive one not: it keeps all its coefficients at any scale."""
    assert code_of(png_of(11_000, 10_000)) == "photo-too-large"
    for progressive, side, refused in ((True, 12_000, True), (False, 12_000, False), (False, 16_000, True)):
        data = bytearray(jpeg(progressive=progressive))
        at = data.index(b"\xff\xc2" if progressive else b"\xff\xc0") + 5
        data[at : at + 4] = struct.pack(">HH", side, side)
        if refused:
            assert code_of(bytes(data)) == "photo-too-large"
        else:
            assert open_photo(bytes(data), file="photo").facts.width_px == side


def test_a_file_that_weighs_too_much_is_not_loaded(tmp_path, monkeypatch):
    """Code photo-too-heavy, before the bytes are read."""
    monkeypatch.setattr(opening, "MAX_BYTES", 100)
    path = tmp_path / "IMG_1.JPG"
    path.write_bytes(jpeg())
    assert code_of(path) == "photo-too-heavy"


def test_a_file_that_is_gone_is_unreadable(tmp_path):
    """Code photo-unreadable-file, and the sentence holds no path."""
    problem = read_photo(tmp_path / "gone.jpg", file="gone.jpg").problem
    assert problem.code == "photo-unreadable-file"
    assert str(tmp_path) not in problem.sentence


def test_without_the_extra_a_heic_says_how(monkeypatch):
    """Where HEIC cannot be read the sentence names the extra and the way out."""
    monkeypatch.setattr(opening, "HAS_HEIC", False)
    problem = read_photo(b"\0\0\0\x18ftypheic\0\0\0\0mif1heic" + bytes(40), file="IMG_1.HEIC").problem
    assert problem.code == "photo-unsupported"
    assert "'heic'" in problem.sentence
    assert "JPEG" in problem.sentence


def test_a_truncated_photo_says_how_much_is_there():
    """Half a JPEG is damaged; its upper part can still be shown, but no card in it counts."""
    data = jpeg()
    picture = open_photo(data[: len(data) // 2], file="IMG_1.JPG")
    pixels = picture.rgb()
    assert 0.35 < float(picture.damage.split("%")[0].split()[-1]) / 100 < 0.65
    assert np.array_equal(pixels[:90], open_photo(data, file="IMG_1.JPG").rgb()[:90])
    assert code_of(data[: len(data) // 2]) == "photo-damaged"


def test_only_the_end_marker_missing_is_no_damage():
    """Every row is there: accepted, with a note."""
    reading = read_photo(jpeg()[:-2], file="IMG_1.JPG")
    assert reading.problem is None
    picture = open_photo(jpeg()[:-2], file="IMG_1.JPG")
    picture.rgb()
    assert picture.damage == ""
    assert picture.facts.notes == ("end marker missing",)


def test_the_tolerant_way_is_closed_again():
    """Pillow's global switch is off after every photo."""
    from PIL import ImageFile

    read_photo(jpeg()[:3000], file="IMG_1.JPG")
    assert ImageFile.LOAD_TRUNCATED_IMAGES is False


def test_a_progressive_header_with_nothing_behind_it():
    """A file that stops in its description is damaged, not a crash."""
    data = jpeg(progressive=True)
    assert code_of(data[:200]) == "photo-damaged"


@pytest.mark.parametrize("size", [(1, 1), (3, 900), (900, 2)])
def test_tiny_pictures_hold_no_card(size):
    """A picture of one pixel crashed a tag reader once."""
    out = BytesIO()
    Image.new("RGB", size).save(out, "PNG")
    reading = read_photo(out.getvalue(), file="dot.png")
    assert (reading.problem, reading.cards) == (None, ())


@pytest.mark.parametrize("kind", ["JPEG", "PNG"])
@pytest.mark.parametrize("shrink", [1, 2, 4, 8])
def test_every_scale_shows_the_same_picture(kind, shrink):
    """Shrunk pixels are those of the whole, whoever shrank them; sizes are rounded up."""
    smooth = np.asarray(Image.fromarray(noise(12, 16)).resize((402, 301), Image.Resampling.BICUBIC))
    out = BytesIO()
    Image.fromarray(smooth).save(out, kind, **({"quality": 98} if kind == "JPEG" else {}))
    picture = open_photo(out.getvalue(), file="photo")
    pixels = picture.rgb(shrink)
    assert pixels.shape == (-(-301 // shrink), -(-402 // shrink), 3)
    rows, columns = 300 // shrink - 1, 400 // shrink - 1
    whole = smooth[: rows * shrink, : columns * shrink].reshape(rows, shrink, columns, shrink, 3).mean(axis=(1, 3))
    assert np.abs(pixels[:rows, :columns] - whole).mean() < 4
    gray = open_photo(out.getvalue(), file="photo").gray(shrink)
    assert np.abs(gray.astype(int) - picture.gray(shrink)).mean() < 2


def test_pixels_are_decoded_once():
    """The search for cards takes the pixels that the screen needs anyway."""
    picture = open_photo(jpeg(noise(1512, 2016)), file="photo")
    picture.rgb(1)
    picture.gray(1)
    picture.gray(2)
    decoded = {key for key in picture._kept}  # noqa: C416 - the point of this test
    assert decoded == {("RGB", 1), ("L", 1), ("L", 2)}
    picture.forget()
    assert not picture._kept


@settings(max_examples=40, deadline=None)
@given(st.data())
def test_mutated_photos_never_escape(data):
    """Any bytes changed or cut away: a reading or a coded problem, never an exception."""
    body = bytearray(jpeg(noise(40, 60), exif=b"Exif\0\0II*\0\x08\0\0\0\0\0"))
    for _ in range(data.draw(st.integers(1, 12))):
        body[data.draw(st.integers(3, len(body) - 1))] = data.draw(st.integers(0, 255))
    reading = read_photo(bytes(body[: data.draw(st.integers(4, len(body)))]), file="IMG_1.JPG")
    assert reading.facts is not None or reading.problem is not None


def test_refusals_carry_a_value():
    """The exception and the batch report say the same."""
    with pytest.raises(PhotoRefused) as refused:
        open_photo(b"", file="IMG_1.JPG")
    assert refused.value.problem.sentence == refused.value.sentence
