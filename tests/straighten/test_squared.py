"""The size of a sheet from right angles, with lenses that are not quite what they say."""

import cv2
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from portfolio.cards.geometry import Side, tag_corners
from portfolio.demo.camera.conditions import View
from portfolio.demo.camera.pose import aim
from portfolio.straighten.pose import Pose, carried
from portfolio.straighten.squared import true_size_mm

CORNERS = np.array([[0.0, 0.0], [304.8, 0.0], [304.8, 228.6], [0.0, 228.6]])


def lens(tilt, azimuth, focal_error, distortion):
    """A true camera over a 9 × 12 in sheet, and the pose that believes in the lens as said."""
    view = View(tilt_deg=tilt, azimuth_deg=azimuth, focal_error=focal_error, distortion=distortion)
    around = np.array([[-200.0, -60.0, 0], [360.0, -60.0, 0], [360.0, 270.0, 0], [-200.0, 270.0, 0]])
    camera = aim(view, around, width_px=4032, height_px=3024)
    # The card lies left of the sheet; its pose is fitted here to its own eight corners only.

    card = np.array([*tag_corners(Side.LEFT), *tag_corners(Side.RIGHT)])
    seen = camera.project(np.column_stack([card + np.array([-170.0, 60.0]), np.zeros(8)]))
    said = camera.focal_px / (1 + focal_error)
    matrix = np.array([[said, 0, camera.center_px[0]], [0, said, camera.center_px[1]], [0, 0, 1.0]])
    _, turn, shift = cv2.solvePnP(np.column_stack([card, np.zeros(8)]), seen, matrix, None)
    return camera, Pose(turn.ravel(), shift.ravel(), said, camera.center_px)


def sides_seen(camera) -> list[np.ndarray]:
    share = np.linspace(0.05, 0.95, 9)[:, None]
    flat = [one + share * (other - one) for one, other in zip(CORNERS, np.roll(CORNERS, -1, axis=0), strict=True)]
    return [camera.project(np.column_stack([points, np.zeros(len(points))])) for points in flat]


@settings(max_examples=25, deadline=None)
@given(st.floats(0, 22), st.floats(0, 360), st.floats(-0.02, 0.02), st.floats(-0.015, 0.015))
def test_right_angles_give_the_size(tilt, azimuth, focal_error, distortion):
    """Both sides to half a percent, whatever the lens gets wrong within its usual limits."""
    camera, pose = lens(tilt, azimuth, focal_error, distortion)
    corners = carried(camera.project(np.column_stack([CORNERS, np.zeros(4)])), np.linalg.inv(pose.to_px))
    size = true_size_mm(pose, sides_seen(camera), corners)
    assert size is not None
    assert size == pytest.approx((304.8, 228.6), rel=0.006)


def test_nonsense_gives_no_size():
    """Edges that are no rectangle at all are not squared up by force."""
    camera, pose = lens(5, 30, 0, 0)
    edges = sides_seen(camera)
    edges[1] = edges[1] + np.linspace(0, 900, 9)[:, None]
    corners = carried(camera.project(np.column_stack([CORNERS, np.zeros(4)])), np.linalg.inv(pose.to_px))
    size = true_size_mm(pose, edges, corners)
    assert size is None or max(abs(size[0] / 304.8 - 1), abs(size[1] / 228.6 - 1)) < 0.06
