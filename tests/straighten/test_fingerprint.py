"""The same picture again is near, another picture is far."""

import cv2
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from portfolio.demo.camera.drawings import drawing
from portfolio.straighten.fingerprint import distance, fingerprint


@pytest.mark.parametrize("seed", range(4))
def test_small_changes_stay_near(seed):
    """Another size, a little noise, half a stop darker: at most 10 of 64 bits differ."""
    picture = drawing(seed, 300, 230, px_per_mm=2.0)
    changed = cv2.resize(picture, None, fx=0.61, fy=0.61, interpolation=cv2.INTER_AREA)
    noise = np.random.default_rng(seed).normal(0, 6, changed.shape)
    changed = np.clip(changed * 0.8 + noise, 0, 255).astype(np.uint8)
    assert distance(fingerprint(picture), fingerprint(changed)) <= 10


def test_other_pictures_are_far():
    """Noise against noise: about half of the bits differ."""
    rng = np.random.default_rng(2)
    hashes = [fingerprint(cv2.resize(rng.integers(0, 255, (9, 9, 3), np.uint8), (90, 90))) for _ in range(12)]
    apart = [distance(one, other) for i, one in enumerate(hashes) for other in hashes[:i]]
    assert min(apart) >= 12
    assert 26 < np.mean(apart) < 38


@given(st.integers(0, 2**64 - 1), st.integers(0, 2**64 - 1))
def test_distance_is_a_distance(one, other):
    """Symmetric, zero only for the same, never more than 64."""
    assert distance(one, other) == distance(other, one) <= 64
    assert (distance(one, other) == 0) == (one == other)
