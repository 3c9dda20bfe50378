"""Find printed tags in a gray picture: OpenCV's reader first, the AprilTag authors' own as a second opinion.

Both give corners in the order of the printed tag (top left, top right, bottom right, bottom left) with pixel
centers at whole numbers. The two libraries differ there: pupil-apriltags counts from pixel edges (half a pixel
more) and turns the other way round.
"""

from __future__ import annotations

import threading
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from typing import Any, Final

import cv2
import numpy as np
from numpy.typing import NDArray

from portfolio.cards.geometry import FAMILY, card_of_tag
from portfolio.model.cards import Polygon

Gray = NDArray[np.uint8]
Quad = NDArray[np.float64]

MAX_CORRECTED_BITS: Final = 2
"""The family's codes are 11 bits apart. With 2 bits corrected a random square passes 5e-6 of the time, and its partner
with the matching id another 1e-8 (computed)."""

_SAME_TAG_SHARE: Final = 0.5
_MIN_MARGIN: Final = 10.0
_second_reader_lock = threading.Lock()


@dataclass(frozen=True, slots=True)
class Tag:
    """One tag of a legal id, at ``corners_px`` of the full upright photo."""

    id: int
    corners_px: Polygon

    @property
    def side_px(self) -> float:
        """Mean length of its four sides."""
        corners = np.asarray(self.corners_px)
        return float(np.linalg.norm(corners - np.roll(corners, 1, axis=0), axis=1).mean())

    @property
    def center_px(self) -> NDArray[np.float64]:
        """Mean of its corners."""
        return np.asarray(np.mean(self.corners_px, axis=0), np.float64)


def find_tags(gray: Gray, *, factor: int) -> tuple[Tag, ...]:
    """Tags seen by OpenCV in a picture that was shrunk by ``factor``; ids that mean nothing are left out."""
    return find_tags_and_squares(gray, factor=factor)[0]


def find_tags_and_squares(gray: Gray, *, factor: int) -> tuple[tuple[Tag, ...], tuple[Quad, ...]]:
    """The same, and the squares (4 × 2 pixels of ``gray``) in which no tag could be read."""
    corners, ids, rejected = _first_reader().detectMarkers(gray)
    squares = tuple(np.asarray(quad, np.float64).reshape(4, 2) for quad in rejected)
    if ids is None:
        return (), squares
    found = zip(np.asarray(ids).reshape(-1), corners, strict=True)
    tags = _legal((int(tag_id), full_px(np.asarray(quad, np.float64).reshape(4, 2), factor)) for tag_id, quad in found)
    return tags, squares


def find_tags_again(gray: Gray, *, factor: int) -> tuple[Tag, ...]:
    """The same by the second, independent reader: slower, finds a few tags that are blurred or badly lit."""
    reader = _second_reader()
    if reader is None:
        return ()
    with _second_reader_lock:
        found: list[Any] = reader.detect(np.ascontiguousarray(gray))
    kept = (tag for tag in found if tag.hamming <= MAX_CORRECTED_BITS and tag.decision_margin >= _MIN_MARGIN)
    return _legal((int(tag.tag_id), full_px(np.roll(tag.corners[::-1], 2, axis=0) - 0.5, factor)) for tag in kept)


def joined(first: Iterable[Tag], second: Iterable[Tag]) -> tuple[Tag, ...]:
    """Both finds without doubles. The earlier corners stay."""
    tags = list(first)
    for tag in second:
        if not any(_is_same(tag, known) for known in tags):
            tags.append(tag)
    return tuple(tags)


def _is_same(one: Tag, other: Tag) -> bool:
    apart = float(np.linalg.norm(one.center_px - other.center_px))
    return one.id == other.id and apart < _SAME_TAG_SHARE * max(one.side_px, other.side_px)


def full_px(corners: NDArray[np.float64], factor: int) -> NDArray[np.float64]:
    """Pixel centers of the shrunk picture → of the full one."""
    return (corners + 0.5) * factor - 0.5


def _legal(found: Iterable[tuple[int, NDArray[np.float64]]]) -> tuple[Tag, ...]:
    return tuple(
        Tag(tag_id, tuple((float(x), float(y)) for x, y in corners))
        for tag_id, corners in found
        if card_of_tag(tag_id) is not None
    )


def _first_reader() -> cv2.aruco.ArucoDetector:
    """A fresh reader each time: it is cheap to make (microseconds) and not said to be safe to share between threads."""
    family = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_APRILTAG_36h11)
    how = cv2.aruco.DetectorParameters()
    how.errorCorrectionRate = (MAX_CORRECTED_BITS + 0.5) / family.maxCorrectionBits
    return cv2.aruco.ArucoDetector(family, how)


@cache
def _second_reader() -> Any:
    """The second reader, or ``None`` where there is no wheel of it (Intel Macs, ARM Linux): cards that only it would
    read are asked about there.

    It is made once and never taken down: pupil_apriltags 1.0.4 frees the tag family before the reader that still uses
    it, which crashes now and then at the program's end (pupil-labs/apriltags#65).
    """
    try:
        from pupil_apriltags import Detector  # noqa: PLC0415  not on every machine
    except ImportError:
        return None

    class Lasting(Detector):  # type: ignore[misc] # pupil_apriltags carries no types
        def __del__(self) -> None:
            """Leave everything as it is; the process gives its memory back when it ends."""

    return Lasting(families=FAMILY, nthreads=1, quad_decimate=1.0)
