"""The simulator's geometry agrees with OpenCV's, and its maps are the inverse of its projection."""

from __future__ import annotations

import cv2
import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from portfolio.demo.camera.conditions import View
from portfolio.demo.camera.pose import Camera, aim, focal_px

VIEWS = st.builds(
    View,
    tilt_deg=st.floats(0, 25),
    azimuth_deg=st.floats(0, 360),
    roll_deg=st.floats(-180, 180),
    fill=st.floats(0.5, 0.95),
    off_center=st.tuples(st.floats(-1, 1), st.floats(-1, 1)),
    focal_error=st.floats(-0.02, 0.02),
    distortion=st.floats(-0.015, 0.015),
)
SHEET = np.array([[-150.0, -110, 0], [150, -110, 0], [150, 110, 0], [-150, 110, 0], [0, 0, -6]])


def _camera(view: View) -> Camera:
    return aim(view, SHEET, width_px=2016, height_px=1512)


@given(VIEWS)
def test_projection_is_that_of_opencv(view: View) -> None:
    """Outside check: ``cv2.projectPoints`` with the same pose and one radial coefficient gives the same pixels."""
    camera = _camera(view)
    matrix = np.array(
        [[camera.focal_px, 0, camera.center_px[0]], [0, camera.focal_px, camera.center_px[1]], [0, 0, 1.0]]
    )
    turn, _ = cv2.Rodrigues(camera.rotation)
    shift = -camera.rotation @ camera.position
    theirs, _ = cv2.projectPoints(SHEET, turn, shift, matrix, np.array([camera.radial, 0, 0, 0, 0]))
    # cv2.Rodrigues takes a turn below 1e-5 rad for none (seen with 5.0.0): at most 0.02 px over this frame
    assert np.abs(camera.project(SHEET) - theirs.reshape(-1, 2)).max() < 0.02


@settings(deadline=None)
@given(VIEWS, st.floats(0, 2015), st.floats(0, 1511), st.floats(0, 40))
def test_a_ray_lands_where_it_came_from(view: View, x_px: float, y_px: float, height_mm: float) -> None:
    """A pixel's point on any plane over the table projects back to the pixel."""
    camera = _camera(view)
    x_mm, y_mm = camera.on_table(np.array([x_px]), np.array([y_px]), height_mm=height_mm)
    back = camera.project(np.array([[x_mm[0], y_mm[0], -height_mm]]))
    assert np.allclose(back, [[x_px, y_px]], atol=1e-4)


@given(VIEWS)
def test_everything_is_in_the_frame_and_fills_it(view: View) -> None:
    """The camera stands so that the things fill the share of the frame that was asked for."""
    pixels = _camera(view).project(SHEET)
    assert np.all(pixels > -1)
    assert np.all(pixels < (2016, 1512))
    taken = np.ptp(pixels, axis=0) / (2016, 1512)
    assert abs(taken.max() - view.fill) < 0.02


def test_focal_length_counts_by_the_diagonal() -> None:
    """26 mm on film with a diagonal of 43.27 mm is 0.6009 of any frame's diagonal (5040 px for 4032 × 3024)."""
    assert abs(focal_px(26, 4032, 3024) - 26 / 43.2666 * 5040) < 0.5
