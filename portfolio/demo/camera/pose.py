"""The camera's geometry: a pinhole with radial distortion, looking down at the table.

World: x right, y down, z into the table, millimeters; the table is z = 0, so a height h lies at z = -h. Camera: x
right, y down, z forward. Straight above and unturned, both agree. Pixel centers lie at whole numbers. The model is that
of ``cv2.projectPoints`` with one radial coefficient.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import hypot

import numpy as np
from numpy.typing import NDArray

from portfolio.demo.camera.conditions import View

Array = NDArray[np.float64]
_FILM_DIAGONAL_MM = 43.2666
"""Diagonal of 36 × 24 mm film."""


def focal_px(focal_35mm: float, width_px: int, height_px: int) -> float:
    """Focal length in pixels of a 35 mm equivalent, by the diagonal of the frame."""
    return focal_35mm / _FILM_DIAGONAL_MM * hypot(width_px, height_px)


@dataclass(frozen=True, slots=True, eq=False)
class Camera:
    """One camera in one place. ``rotation`` turns world to camera; ``position`` is its pinhole in the world."""

    width_px: int
    height_px: int
    focal_px: float
    radial: float
    """First radial coefficient (k1)."""
    rotation: Array
    position: Array

    @property
    def center_px(self) -> tuple[float, float]:
        """The principal point."""
        return (self.width_px - 1) / 2, (self.height_px - 1) / 2

    def project(self, points_mm: Array) -> Array:
        """World points (N × 3) to pixels (N × 2)."""
        seen = (points_mm - self.position) @ self.rotation.T
        flat = seen[:, :2] / seen[:, 2:]
        bent = flat * (1 + self.radial * np.square(flat).sum(axis=1, keepdims=True))
        pixels: Array = bent * self.focal_px + self.center_px
        return pixels

    def on_table(self, x_px: Array, y_px: Array, *, height_mm: Array | float = 0.0) -> tuple[Array, Array]:
        """Where the rays of pixels meet the plane ``height_mm`` above the table; any array shape."""
        cx, cy = self.center_px
        bent_x, bent_y = (x_px - cx) / self.focal_px, (y_px - cy) / self.focal_px
        x, y = bent_x, bent_y
        for _ in range(8):  # converges to 1e-9 for the small distortion of a phone
            scale = 1 + self.radial * (x * x + y * y)
            x, y = bent_x / scale, bent_y / scale
        r = self.rotation
        ray_x = r[0, 0] * x + r[1, 0] * y + r[2, 0]
        ray_y = r[0, 1] * x + r[1, 1] * y + r[2, 1]
        ray_z = r[0, 2] * x + r[1, 2] * y + r[2, 2]
        reach = (-height_mm - self.position[2]) / ray_z
        return self.position[0] + reach * ray_x, self.position[1] + reach * ray_y

    def px_per_mm(self) -> float:
        """Scale on the table where the camera is nearest: in the middle of the frame's nearest edge."""
        w, h = self.width_px - 1.0, self.height_px - 1.0
        x = np.array([0.0, w, w, 0.0, w / 2])
        y = np.array([0.0, 0.0, h, h, h / 2])
        ax, ay = self.on_table(x, y)
        bx, by = self.on_table(x + 1, y)
        return float(1 / np.hypot(bx - ax, by - ay).min())

    def moved(self, x_mm: float, y_mm: float) -> Camera:
        """The same camera shifted along the table."""
        return replace(self, position=self.position + np.array([x_mm, y_mm, 0.0]))


def _turned(view: View) -> Array:
    tilt, azimuth, roll = np.deg2rad([view.tilt_deg, view.azimuth_deg, view.roll_deg])
    axis = np.array([np.cos(azimuth), np.sin(azimuth), 0.0])
    cross = np.array([[0, 0, axis[1]], [0, 0, -axis[0]], [-axis[1], axis[0], 0]])
    lean = np.eye(3) + np.sin(tilt) * cross + (1 - np.cos(tilt)) * cross @ cross
    spin = np.array([[np.cos(roll), -np.sin(roll), 0], [np.sin(roll), np.cos(roll), 0], [0, 0, 1]])
    turned: Array = spin @ lean
    return turned


def aim(view: View, points_mm: Array, *, width_px: int, height_px: int) -> Camera:
    """Stand so that all points (N × 3) fill the share of the frame that the view asks for."""
    focal = focal_px(view.focal_35mm, width_px, height_px)
    half_diagonal = hypot(width_px, height_px) / 2 / focal
    camera = Camera(
        width_px=width_px,
        height_px=height_px,
        focal_px=focal * (1 + view.focal_error),
        radial=view.distortion / half_diagonal**2,
        rotation=_turned(view),
        position=np.zeros(3),
    )
    middle = points_mm.mean(axis=0)
    span = max(float(np.ptp(points_mm, axis=0).max()), 20.0)
    near, far = span * 0.3, span * 12.0
    for _ in range(30):
        distance = (near * far) ** 0.5
        camera = _centered(camera, middle, distance, points_mm, view)
        near, far = (near, distance) if _taken(camera, points_mm) <= view.fill else (distance, far)
    return camera


def _centered(camera: Camera, middle: Array, distance: float, points_mm: Array, view: View) -> Camera:
    """At this distance, with the things in the middle of the frame but for the offset asked for."""
    camera = replace(camera, position=middle - distance * camera.rotation[2])
    room = 1 - view.fill
    want = np.array([view.off_center[0] * room * camera.width_px, view.off_center[1] * room * camera.height_px]) / 2
    for _ in range(3):
        pixels = camera.project(points_mm)
        now = (pixels.min(axis=0) + pixels.max(axis=0)) / 2
        camera = shifted(camera, now, np.array(camera.center_px) + want)
    return camera


def _taken(camera: Camera, points_mm: Array) -> float:
    extent = np.ptp(camera.project(points_mm), axis=0)
    return float(max(extent[0] / camera.width_px, extent[1] / camera.height_px))


def shifted(camera: Camera, now_px: Array, want_px: Array) -> Camera:
    """Move the camera along the table so that what is seen at one pixel is seen at the other."""
    x, y = camera.on_table(np.array([now_px[0], want_px[0]]), np.array([now_px[1], want_px[1]]))
    return camera.moved(float(x[0] - x[1]), float(y[0] - y[1]))
