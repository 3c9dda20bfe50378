"""What a file says about itself, and that a hostile description costs no more than its facts."""

# ruff: noqa: DTZ001 - a camera writes naive wall time
import struct
from datetime import datetime
from io import BytesIO

import pytest
from PIL import Image

from portfolio.model.photo import TakenSource
from portfolio.reading import open_photo


def photo(tags=None, inner=None, interop=None, size=(400, 300), kind="JPEG", **how) -> bytes:
    exif = Image.Exif()
    exif.update(tags or {})
    exif.get_ifd(0x8769).update(inner or {})
    if interop:
        exif.get_ifd(0x8769)[0xA005] = interop
    out = BytesIO()
    Image.new("RGB", size).save(out, kind, exif=exif.tobytes(), **how)
    return out.getvalue()


def facts(data: bytes):
    return open_photo(data, file="photo").facts


def test_the_shutter_time_with_its_fraction_and_offset():
    """The original time is wall time with sub-seconds; the offset is kept beside it."""
    told = facts(photo(inner={0x9003: "2026:10:14 09:41:07", 0x9291: "25", 0x9011: "-05:00"}))
    assert told.taken.local == datetime(2026, 10, 14, 9, 41, 7, 250000)
    assert (told.taken.source, told.taken.offset_minutes) == (TakenSource.ORIGINAL, -300)


def test_the_time_of_digitizing_is_second_best():
    """Without an original time the time of digitizing counts, and says so."""
    told = facts(photo(inner={0x9003: "0000:00:00 00:00:00", 0x9004: "2026:10:14 09:41:07"}))
    assert told.taken.source is TakenSource.DIGITIZED


@pytest.mark.parametrize("text", ["", "    :  :     :  :  ", "2026:13:45 99:00:00", "yesterday", "2026:10:14"])
def test_impossible_times_are_no_times(text):
    """A blank or impossible time is not taken for one."""
    assert facts(photo(inner={0x9003: text})).taken is None


def test_the_camera_is_make_and_model_only():
    """Neither serial number nor owner is ever read; a make said twice is said once."""
    told = facts(photo({0x010F: "Canon", 0x0110: "Canon X\0", 0xA431: "SERIAL-1"}, {0xA430: "Owner Name", 0xA431: "S"}))
    assert told.camera == "Canon X"
    assert "SERIAL" not in repr(told)
    assert "Owner" not in repr(told)


def test_the_focal_length_is_dropped_after_a_crop():
    """A focal length belongs to the whole frame: cropped, shrunk a lot or zoomed, it is not given."""
    whole = {0xA405: 26, 0xA002: 400, 0xA003: 300}
    assert facts(photo(inner=whole)).focal_35mm == 26
    assert facts(photo(inner=whole | {0xA003: 400})).focal_35mm is None
    assert facts(photo(inner=whole | {0xA002: 4000, 0xA003: 3000})).focal_35mm is None
    assert facts(photo(inner=whole | {0xA404: 2.0})).focal_35mm is None
    assert facts(photo(inner={0xA405: 0})).focal_35mm is None
    assert facts(photo(inner=whole, size=(300, 400))).focal_35mm == 26


@pytest.mark.parametrize("orientation", [0, 9, 65535])
def test_orientations_that_do_not_exist_count_as_one(orientation):
    """Only 1-8 turn a picture."""
    picture = open_photo(photo({0x0112: orientation}), file="photo")
    assert (picture.facts.orientation, picture.orientation) == (1, 1)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_a_turned_picture_is_told_upright(kind):
    """Sizes are those of the upright picture, in every kind of file."""
    picture = open_photo(photo({0x0112: 6}, kind=kind), file="photo")
    assert (picture.facts.width_px, picture.facts.height_px) == (300, 400)
    assert picture.rgb().shape == (400, 300, 3)


def test_a_tiff_is_turned_once():
    """Pillow turns a TIFF while loading it; it must not be turned again."""
    image = Image.new("RGB", (400, 300))
    image.paste((255, 255, 255), (0, 0, 400, 20))  # the stored top; orientation 6 brings it to the right
    out = BytesIO()
    image.save(out, "TIFF", tiffinfo={0x0112: 6})
    picture = open_photo(out.getvalue(), file="photo")
    pixels = picture.rgb()
    assert pixels.shape[:2] == (picture.facts.height_px, picture.facts.width_px) == (400, 300)
    assert pixels[200, 295].min() == 255
    assert pixels[200, 5].max() == 0


def test_adobe_rgb_is_known_without_a_profile():
    """The interoperability mark R03 says Adobe RGB."""
    told = open_photo(photo(interop={1: "R03"}), file="photo")
    assert told.adobe_rgb
    assert told.facts.profile == "Adobe RGB"


def maker_note_bomb() -> bytes:
    """A JPEG whose MakerNote says it holds a billion values (ianare/exif-py#182)."""
    make = b"Canon\0"
    entries = [(0x010F, 2, len(make), 200), (0x8769, 4, 1, 60)]
    block = bytearray(b"II*\0\x08\0\0\0" + struct.pack("<H", len(entries)))
    for entry in entries:
        block += struct.pack("<HHII", *entry)
    block = block.ljust(60, b"\0")
    block += struct.pack("<H", 2)
    block += struct.pack("<HHII", 0x9003, 2, 20, 220) + struct.pack("<HHII", 0x927C, 7, 0x3C001A48, 260)
    block = block.ljust(200, b"\0") + make
    block = block.ljust(220, b"\0") + b"2026:10:14 09:41:07\0"
    block = block.ljust(260, b"\0") + bytes(60_000)
    out = BytesIO()
    Image.new("RGB", (64, 48)).save(out, "JPEG", exif=b"Exif\0\0" + bytes(block))
    return out.getvalue()


def test_a_maker_note_of_a_billion_values_is_not_followed():
    """A hostile MakerNote is left alone, and the time beside it is still read."""
    assert facts(maker_note_bomb()).taken.local == datetime(2026, 10, 14, 9, 41, 7)


def test_a_description_of_junk_costs_nothing_but_itself():
    """With a broken description the photo opens, without facts."""
    out = BytesIO()
    Image.new("RGB", (64, 48)).save(out, "JPEG", exif=b"Exif\0\0II*\0\xff\xff\xff\xff" + b"\xee" * 500)
    told = facts(out.getvalue())
    assert told.taken is None
    assert told.camera is None
    assert (told.width_px, told.height_px) == (64, 48)
