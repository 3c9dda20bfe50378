"""The hand: older hands miss less; coloring in covers its shape; a child is the same each time."""

import dataclasses

import cv2
import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from portfolio.demo.paint.canvas import Canvas
from portfolio.demo.paint.chance import chance
from portfolio.demo.paint.child import child_of
from portfolio.demo.paint.hand import Hand
from portfolio.demo.paint.shape import box, ellipse


def make_hand(age, seed=0):
    return Hand(child_of(seed), age, chance("test", seed, age))


def test_a_seed_is_one_child():
    """The same seed gives the same child, another seed another."""
    assert child_of(12) == child_of(12)
    assert len({child_of(seed) for seed in range(60)}) == 60


def test_children_differ_in_what_makes_a_hand():
    """Every schema occurs among sixty children: suns, hair, trees, clouds, hands."""
    children = [child_of(seed) for seed in range(60)]
    for trait, least in (("sun", 4), ("hair", 7), ("tree", 4), ("cloud", 3), ("hands", 4), ("skin", 5), ("outline", 3)):
        assert len({getattr(child, trait) for child in children}) >= least
    assert 0 < sum(child.left_handed for child in children) < 20


def test_months_and_grades_age_a_child():
    """Drawing age grows with the month and the grade."""
    child = child_of(5)
    ages = [child.age(grade, month) for grade in range(6) for month in range(10)]
    assert ages == sorted(ages)
    assert ages[-1] - ages[0] > 3.5


def test_older_hands_come_closer_to_the_shape():
    """The mean distance of a drawn circle from the meant circle shrinks from K to grade 5."""
    circle = ellipse(100, 100, 40)

    def error(age):
        return np.mean([
            abs(np.hypot(*(make_hand(age, seed).contour(circle) - 100).T) - 40).mean() for seed in range(25)
        ])  # fmt: skip

    errors = [error(age) for age in (5, 7, 9, 11)]
    assert errors == sorted(errors, reverse=True)
    assert errors[0] > 2 * errors[-1]


def test_coloring_in_covers_the_shape_and_stays_near_it():
    """At eleven, nearly all of a shape is covered and little lies far outside; at six the edge is missed by more."""
    shape = box(30, 30, 130, 100)
    outside = {}
    for age in (5.9, 11.0):
        spilled, covered = [], []
        for seed in range(8):
            hand = make_hand(age, seed)
            canvas = Canvas("white", (160, 130), long_px=320, tooth="tooth", rng=chance(seed))
            cover = canvas.rows(hand.coloring(shape, width_mm=4, twice=age > 9), 4)
            amount = np.zeros((canvas.height, canvas.width), np.float32)
            amount[cover.area] = cover.amount
            inside = canvas.mask([shape]) > 128
            far = canvas.mask([box(27.5, 27.5, 132.5, 102.5)]) < 128  # 2.5 mm outside and more
            covered.append(float((amount[inside] > 0.2).mean()))
            spilled.append(float((amount[far] > 0.2).sum() / inside.sum()))
        outside[age] = float(np.mean(spilled))
        if age == 11.0:
            assert np.mean(covered) > 0.93
            assert outside[age] < 0.02
    assert outside[5.9] > 1.5 * outside[11.0]


def test_an_arm_has_a_reach():
    """Rows of a large area are no longer than an arm's reach allows, so that it does not look like a plotter's work."""
    rows = make_hand(8.0).coloring(box(0, 0, 300, 220), width_mm=3.6)
    longest = max(float(np.linalg.norm(row.paths[:, -1] - row.paths[:, 0], axis=1).max()) for row in rows)
    assert len(rows) > 8
    assert longest < 130


def test_left_handed_children_hatch_the_other_way():
    """The slope of coloring in differs in sign between hands."""
    right = dataclasses.replace(child_of(1), left_handed=False)
    left = dataclasses.replace(right, left_handed=True)
    slopes = [[Hand(child, 8.0, chance("slope", i)).slope() for i in range(40)] for child in (right, left)]
    assert np.mean(slopes[0]) < -35
    assert np.mean(slopes[1]) > 20


@settings(max_examples=40, deadline=None)
@given(x=st.floats(0, 200), y=st.floats(0, 200), r=st.floats(0.5, 90), age=st.floats(4.2, 12), seed=st.integers(0, 999))
def test_no_shape_is_too_small_or_too_large_to_color_in(x, y, r, age, seed):
    """Any circle on the sheet can be outlined and colored in with finite strokes of pressure 0-1."""
    hand = make_hand(age, seed)
    contour = hand.contour(ellipse(x, y, r))
    for stroke in hand.outline(contour):
        assert np.isfinite(stroke.path).all()
        assert 0 <= stroke.pressure.min() <= stroke.pressure.max() <= 1
    for rows in hand.coloring(contour, width_mm=3):
        assert np.isfinite(rows.paths).all()
        assert rows.paths.shape[1:] == (4, 2)
        assert len(rows.paths) == len(rows.pressure)


def test_masks_and_pixels_agree():
    """A shape in millimeters fills the same share of the sheet in pixels."""
    canvas = Canvas("white", (100, 80), long_px=500, tooth="tooth", rng=chance(1))
    mask = canvas.mask([box(10, 10, 60, 50)])
    assert abs(float((mask > 128).mean()) - 50 * 40 / 8000) < 0.01
    assert cv2.boundingRect(mask)[0] in range(48, 52)
