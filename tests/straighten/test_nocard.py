"""A work without a card: an edge is proposed where a sheet lies free on the table, and it is always a question."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from portfolio.demo.camera.drawings import sample_work
from portfolio.demo.camera.scene import Shape
from portfolio.demo.camera.shot import photograph
from portfolio.straighten.nocard import propose_edge

SEEDS = range(9100, 9112)


def _overlap(one, other, shape) -> float:
    masks = [np.zeros(shape, np.uint8) for _ in range(2)]
    for mask, outline in zip(masks, (one, other), strict=True):
        cv2.fillPoly(mask, [np.rint(np.array(outline)).astype(np.int32)], 1)
    return float((masks[0] & masks[1]).sum() / (masks[0] | masks[1]).sum())


def test_a_free_sheet_is_proposed_where_it_lies():
    """Of twelve sheets on all kinds of tables most are found, and what is proposed is the sheet; never as sure."""
    overlaps = []
    for seed in SEEDS:
        work = sample_work(seed, shape=Shape.SHEET)
        shot = photograph([work], [], seed=seed, width_px=1512, height_px=1134)
        pixels = shot.upright()
        crop = propose_edge(pixels, shrink=1)
        if crop is not None:
            assert not crop.sure
            assert "no card" in crop.why
            overlaps.append(_overlap(crop.outline_px, shot.works[0].outline_px, pixels.shape[:2]))
    assert len(overlaps) >= 7
    assert min(overlaps) > 0.9


def test_pixels_are_those_of_the_whole_photo():
    """Found on a photo shrunk by 4, given in the pixels of the file."""
    table = np.full((300, 400, 3), (150, 110, 80), np.uint8)
    table[60:240, 80:330] = 245
    crop = propose_edge(table, shrink=4)
    assert crop is not None
    found = np.array(crop.outline_px)
    assert found.min(axis=0) == pytest.approx([80 * 4, 60 * 4], abs=8)
    assert found.max(axis=0) == pytest.approx([330 * 4, 240 * 4], abs=8)


@pytest.mark.parametrize("what", ["nothing", "round", "cut by the frame"])
def test_nothing_is_proposed_where_no_sheet_lies_free(what):
    """An empty table, a round plate, a sheet that runs out of the photo."""
    table = np.full((300, 400, 3), (150, 110, 80), np.uint8)
    if what == "round":
        cv2.circle(table, (200, 150), 100, (245, 245, 245), -1)
    elif what == "cut by the frame":
        table[60:300, 80:330] = 245
    assert propose_edge(table, shrink=1) is None
