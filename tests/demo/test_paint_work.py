"""Whole works: every medium, every subject, the same bytes again, and words that agree with the picture."""

import os
import subprocess
import sys
import zlib
from pathlib import Path

import cv2
import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from portfolio.demo.paint import MEDIA, SUBJECTS, child_of, describe, paint
from portfolio.demo.paint.palette import color
from portfolio.demo.paint.work import _plan

ROOT = Path(__file__).parents[2]
SOLID = ("clay", "paper sculpture")


@pytest.mark.parametrize("medium", MEDIA)
@pytest.mark.parametrize("grade", [0, 5])
def test_every_medium_gives_a_picture_of_the_asked_size(medium, grade):
    """The long side is as asked, the picture has the proportions of its millimeters, and it is not an empty sheet."""
    work = paint(child_of(4), grade=grade, month=3, medium=medium, work_seed=2, long_px=300)
    height, width = work.picture.shape[:2]
    assert work.picture.dtype == np.uint8
    assert work.picture.shape[2] == 3
    assert max(height, width) == 300
    assert width / height == pytest.approx(work.width_mm / work.height_mm, rel=0.03)
    assert work.solid == (medium in SOLID)
    assert float(work.picture.std()) > 2


@pytest.mark.parametrize("medium", SOLID)
def test_a_solid_thing_is_one_piece_on_nothing(medium):
    """The largest piece of the mask is nearly all of it, and the mask does not fill the picture."""
    for seed in range(3):
        work = paint(child_of(seed), grade=2, month=1, medium=medium, work_seed=seed, long_px=260)
        assert work.alpha is not None
        assert work.alpha.shape == work.picture.shape[:2]
        solid = (work.alpha > 128).astype(np.uint8)
        pieces, _ = cv2.findContours(solid, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
        filled = cv2.drawContours(np.zeros_like(solid), [max(pieces, key=cv2.contourArea)], -1, 1, cv2.FILLED)
        assert solid.sum() > 0.2 * solid.size
        assert filled.sum() > 0.9 * solid.sum()
        assert not solid[[0, -1], :].all()


def test_a_pot_has_no_holes_in_its_wall():
    """Every pixel inside the outline of a pot belongs to the pot."""
    asked = {"grade": 1, "month": 2, "medium": "clay"}
    seeds = [s for s in range(40) if describe(child_of(s), work_seed=s, **asked).subject.endswith("pot")]
    assert len(seeds) >= 4
    for seed in seeds[:4]:
        work = paint(child_of(seed), work_seed=seed, long_px=700, **asked)
        solid = (work.alpha > 128).astype(np.uint8)
        pieces, _ = cv2.findContours(solid, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
        filled = cv2.drawContours(np.zeros_like(solid), pieces, -1, 1, cv2.FILLED)
        assert int(filled.sum()) == int(solid.sum())


def test_the_same_work_has_the_same_bytes_in_another_process():
    """A work depends on its arguments alone: not on the process, nor on the language's hash of words."""
    code = (
        "import zlib; from portfolio.demo.paint import child_of, paint\n"
        "for m in ('crayon', 'tempera', 'watercolor', 'collage', 'clay'):\n"
        "    print(zlib.crc32(paint(child_of(9), grade=2, month=4, medium=m, work_seed=1, long_px=200)"
        ".picture.tobytes()))"
    )
    environment = {**os.environ, "PYTHONHASHSEED": "77"}
    told = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, env=environment, capture_output=True, text=True, check=True
    )
    here = [
        zlib.crc32(paint(child_of(9), grade=2, month=4, medium=m, work_seed=1, long_px=200).picture.tobytes())
        for m in ("crayon", "tempera", "watercolor", "collage", "clay")
    ]
    assert [int(line) for line in told.stdout.split()] == here


def test_another_work_seed_gives_another_picture():
    """Two works of one child, month, medium and subject differ."""
    one, two = (
        paint(child_of(9), grade=2, month=4, medium="marker", subject="house", work_seed=s, long_px=200) for s in (1, 2)
    )
    assert one.picture.shape != two.picture.shape or (one.picture != two.picture).any()


@pytest.mark.parametrize("medium", MEDIA)
def test_words_agree_with_the_picture(medium):
    """What ``describe`` says of subject, sheet and solidity is what was painted."""
    for seed in range(3):
        asked = {"grade": seed * 2, "month": 1, "medium": medium, "work_seed": seed}
        facts, work = describe(child_of(seed), **asked), paint(child_of(seed), **asked, long_px=120)
        assert (facts.subject, facts.sheet, facts.solid) == (work.subject, work.sheet, work.solid)
        assert facts.colors
        assert not any(word.startswith("skin") for word in facts.colors)


def test_an_unknown_medium_or_subject_is_refused():
    """A wrong word is a ValueError, never a silent other picture."""
    with pytest.raises(ValueError, match="medium"):
        paint(child_of(1), grade=1, month=1, medium="glitter", work_seed=1)
    with pytest.raises(ValueError, match="subject"):
        describe(child_of(1), grade=1, month=1, medium="crayon", subject="tax return", work_seed=1)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    seed=st.integers(0, 10**6),
    grade=st.integers(0, 5),
    month=st.integers(0, 9),
    subject=st.sampled_from(SUBJECTS),
    medium=st.sampled_from(["crayon", "chalk", "tempera", "collage", "print"]),
)
def test_any_child_of_any_age_can_draw_any_subject(seed, grade, month, subject, medium):
    """Every scene has things, finite points and colors that every palette knows."""
    plan = _plan(child_of(seed), grade=grade, month=month, medium=medium, subject=subject, work_seed=seed)
    scene = plan.scene
    assert scene.subject == subject
    assert scene.things
    for thing in scene.things:
        for part in thing.parts:
            for path in (*part.shapes, *part.paths):
                assert path.ndim == 2
                assert path.shape[1] == 2
                assert np.isfinite(path).all()
            for name in (part.fill, part.second, part.line):
                if name is not None:
                    assert 0 <= color(name, palette="tempera").min() <= color(name, palette="tempera").max() <= 1


def test_a_child_keeps_its_sun_on_one_side():
    """The hand is recognizable: over the years the sun of one child stays on one side of the sheet."""
    for seed in (3, 8, 21):
        child = child_of(seed)
        sides = set()
        for grade in range(6):
            scene = _plan(child, grade=grade, month=4, medium="crayon", subject="house", work_seed=grade).scene
            suns = [thing for thing in scene.things if thing.name == "sun"]
            body = [path for thing in suns for part in thing.parts for path in (*part.shapes, *part.paths)]
            if body:
                sides.add(bool(np.mean([path[:, 0].mean() for path in body]) > scene.width_mm / 2))
        assert len(sides) == 1


def test_a_cut_out_has_a_mask():
    """Some drawings are cut out: the picture is then the bounding box of the piece, and the mask shows the piece."""
    asked = [
        (child_of(seed), {"grade": 3, "month": 3, "medium": "marker", "subject": "butterfly", "work_seed": seed})
        for seed in range(120)
        if _plan(child_of(seed), grade=3, month=3, medium="marker", subject="butterfly", work_seed=seed).cut
    ]
    assert asked
    child, words = asked[0]
    work = paint(child, **words, long_px=300)
    assert work.alpha is not None
    assert max(work.picture.shape) == 300
    assert 0.2 < float((work.alpha > 128).mean()) < 0.98
