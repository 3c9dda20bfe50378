"""sRGB's curve and the way from embedded profiles, against the standard's values and lcms."""

import json
from io import BytesIO

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image, ImageCms

from portfolio.reading import open_photo
from portfolio.straighten.srgb import ADOBE_RGB, LIGHT_OF, from_light, light_of, pixels_of, to_light, to_srgb
from tests.support.outside import outside

NOISE = np.random.default_rng(5).integers(0, 256, (96, 128, 3), np.uint8)
SRGB = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()


def by_lcms(pixels, icc):
    source = ImageCms.ImageCmsProfile(BytesIO(icc))
    return np.asarray(ImageCms.profileToProfile(Image.fromarray(pixels), source, ImageCms.createProfile("sRGB")))


def test_the_curve_has_the_standards_values():
    """Linear light of 8-bit values (IEC 61966-2-1:1999, computed from its formula)."""
    known = json.loads(outside("facts", "computed.json").read_text(encoding="utf-8"))["srgb_linear"]
    for value, light in known.items():
        assert LIGHT_OF[int(value)] == pytest.approx(light, abs=6e-7)


@given(st.floats(0, 1))
def test_the_curve_and_its_inverse(value):
    """There and back is the same value."""
    assert float(from_light(to_light(np.array(value)))) == pytest.approx(value, abs=3e-5)


def test_every_8_bit_value_survives_light():
    """All 256 values go into light and come back unchanged."""
    ramp = np.arange(256, dtype=np.uint8).reshape(1, -1, 1).repeat(3, axis=2)
    assert np.array_equal(pixels_of(light_of(ramp)), ramp)


def test_without_a_profile_nothing_is_touched():
    """No profile, and sRGB's own profile, give the very same pixels."""
    assert to_srgb(NOISE, icc=None) is NOISE
    assert to_srgb(NOISE, icc=SRGB) is NOISE


@pytest.mark.parametrize("name", ["exif-samples/heic/IMG_5195.HEIC", "pillow-heif-tests/heif_special/aux_YCbCr.heic"])
def test_phone_profiles_agree_with_lcms(name):
    """Display P3 and a phone's DCI-P3 differ from lcms by one level at most (sources: exif-samples, pillow_heif)."""
    icc = open_photo(outside("images", *name.split("/")), file="photo").icc
    ours, theirs = to_srgb(NOISE, icc=icc).astype(int), by_lcms(NOISE, icc).astype(int)
    assert np.abs(ours - NOISE).max() > 3
    assert np.abs(ours - theirs).max() <= 1


def test_a_profile_that_is_no_plain_matrix_goes_through_lcms():
    """Where a profile is more than curves and a matrix the result is lcms's own (source: Pillow's tests)."""
    icc = open_photo(outside("images", "pillow-tests", "icc_profile_big.jpg"), file="photo").icc
    assert np.array_equal(to_srgb(NOISE, icc=icc), by_lcms(NOISE, icc))


@given(st.binary(max_size=400))
def test_junk_profiles_count_as_srgb(junk):
    """A profile that cannot be used changes nothing."""
    icc = junk[:16].ljust(16, b"\0") + b"RGB XYZ " + junk[16:].ljust(120, b"\0")
    assert to_srgb(NOISE[:4, :4], icc=icc).shape == (4, 4, 3)


def test_adobe_rgb_by_its_mark():
    """Adobe RGB (1998) green lies outside sRGB; its white and grays stay neutral."""
    turned = to_srgb(np.array([[[255, 255, 255], [128, 128, 128], [0, 200, 0]]], np.uint8), icc=None, adobe_rgb=True)
    assert np.ptp(turned[0, 0].astype(int)) <= 1
    assert turned[0, 0].min() >= 254
    assert np.ptp(turned[0, 1].astype(int)) <= 1
    assert turned[0, 2].tolist()[0] == 0
    assert not ADOBE_RGB.is_srgb
