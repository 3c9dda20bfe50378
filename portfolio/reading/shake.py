"""Undo the shake of a hand: while the shutter was open the camera moved along a short straight line.

Such a smear multiplies the picture's spectrum by a sinc across the line. The zeros of the sinc lie evenly, so the
logarithm of the spectrum has a period, and its inverse transform (the cepstrum) a deep point where the line ends
(Cannon 1976, "Blind deconvolution of spatially invariant image blurs with phase", IEEE ASSP 24(1)). Knowing the line,
a Wiener filter divides by the sinc where there is signal and leaves the rest (Gonzalez and Woods, *Digital Image
Processing*, chapter 5.8).

Both work on the code values of the file, not in linear light: there the noise is about as strong in the white of a card
as in its black (measured 2026 on two simulated photos, smeared in linear light: 1.5 times as many tags).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray

from portfolio.reading.tags import Gray

Floats = NDArray[np.float32]

SHORTEST_PX: Final = 4.0
"""Shorter smears leave the tags readable, and the blocks of a JPEG look like them."""
LONGEST_PX: Final = 30.0
"""Of a picture about 2,000 pixels long: a tag that is still readable as such is about this wide."""
CLEAR: Final = 2.0
"""Depth times likeness from which a photo counts as shaken (see :func:`shakes_of`). It only saves time: what is read
from a photo that was not shaken is held to the same rules. Measured 2026 with ``LEAST_LIKENESS`` on simulated photos:
13 of 186 still ones reach both. Lower limits were only tried for their cost, not for the cards they would bring."""
LEAST_LIKENESS: Final = 0.3
MOST_GUESSES: Final = 2
"""Lines worth trying: the true one is the first in 64 of those 85 photos and one of the first two in 68."""

_BLOCK_PX: Final = 256
_STEP_PX: Final = 128
_POINTS: Final = 4
_APART_PX: Final = 2
_LEAST_POWER: Final = 1.0
"""Added to a block's power (gray levels squared) before the logarithm: an empty block says nothing."""
_LEAST_SHARE: Final = 0.02
"""What noise leaves in the zeros of the sinc squared."""
_BAND: Final = (0.02, 0.35)
"""Cycles a pixel: below, the picture itself decides; above, noise and the JPEG's rounding."""
_OF_NORMAL: Final = 1.4826
"""Standard deviation over median absolute deviation, of a normal distribution."""
_NOISE_SHARE: Final = 0.01
"""Power of noise over power of signal, the Wiener filter's constant (0.003 to 0.03 reads nearly as many tags)."""
_MARGIN_PX: Final = 8
_TINY: Final = 1e-9


@dataclass(frozen=True, slots=True)
class Shake:
    """The straight line along which everything was smeared, in pixels of the picture it was seen in. The line's middle
    is where things are; it has no direction, and ``dy_px`` is never negative.
    """

    dx_px: float
    dy_px: float

    @property
    def length_px(self) -> float:
        """How far everything was smeared."""
        return float(np.hypot(self.dx_px, self.dy_px))

    def times(self, factor: float) -> Shake:
        """The same shake in a picture so many times as large."""
        return Shake(self.dx_px * factor, self.dy_px * factor)


def shakes_of(gray: Gray) -> tuple[Shake, ...]:
    """The lines along which a picture may have been smeared, likeliest first; none when it is not clearly shaken.

    A line counts by how deep its point in the cepstrum is (in standard deviations of the others) times how well its
    sinc correlates with the whole spectrum: a repeated pattern has the first, wood grain the second, only a smear both.
    """
    if min(gray.shape) < _BLOCK_PX:
        return ()
    spectrum = _log_spectrum(gray)
    weighed = [(depth, _likeness(spectrum, shake), shake) for shake, depth in _deepest(spectrum)]
    clear = [
        (depth * likeness, shake)
        for depth, likeness, shake in weighed
        if depth * likeness >= CLEAR and likeness >= LEAST_LIKENESS
    ]
    return tuple(shake for _, shake in sorted(clear, key=lambda one: -one[0])[:MOST_GUESSES])


def steadied(gray: Gray, shake: Shake) -> Gray:
    """The picture as it would be without this shake, in the same size and place; a new one."""
    height, width = gray.shape
    margin = int(np.ceil(shake.length_px)) + _MARGIN_PX
    rows, columns = (cv2.getOptimalDFTSize(side + 2 * margin) for side in gray.shape)
    below, right = rows - height - margin, columns - width - margin
    wide = cv2.copyMakeBorder(gray, margin, below, margin, right, cv2.BORDER_REFLECT)
    spectrum = np.fft.rfft2(wide.astype(np.float32))
    spectrum *= _undoing(shake, wide.shape)
    undone = np.fft.irfft2(spectrum, s=wide.shape)[margin : margin + height, margin : margin + width]
    return np.asarray(cv2.convertScaleAbs(np.maximum(undone, 0, out=undone)), np.uint8)


def _undoing(shake: Shake, shape: tuple[int, ...]) -> Floats:
    """The Wiener filter; even brightness passes as it is."""
    passed = passed_by(shake, shape)
    return passed * np.float32(1 + _NOISE_SHARE) / (passed * passed + np.float32(_NOISE_SHARE))


def passed_by(shake: Shake, shape: tuple[int, ...]) -> Floats:
    """How much of each frequency a shake lets pass (negative: turned over), laid out as ``rfft2`` of this shape is."""
    down, across = _frequencies(shape)
    return np.asarray(np.sinc(across * np.float32(shake.dx_px) + down * np.float32(shake.dy_px)), np.float32)


def _frequencies(shape: tuple[int, ...]) -> tuple[Floats, Floats]:
    """Cycles a pixel, as a column for down and a row for across."""
    down, across = np.fft.fftfreq(shape[0])[:, None], np.fft.rfftfreq(shape[1])[None]
    return down.astype(np.float32), across.astype(np.float32)


def _log_spectrum(gray: Gray) -> Floats:
    """Mean logarithm of the power of overlapping windowed blocks: what all share stays, their content fades."""
    window = cv2.createHanningWindow((_BLOCK_PX, _BLOCK_PX), cv2.CV_32F)
    total = np.zeros((_BLOCK_PX, _BLOCK_PX // 2 + 1), np.float32)
    count = 0
    for block in _blocks(gray):
        level = block.astype(np.float32)
        parts = np.fft.rfft2((level - level.mean()) * window)
        total += np.log(parts.real**2 + parts.imag**2 + _LEAST_POWER)
        count += 1
    return np.asarray(total / count, np.float32)


def _blocks(gray: Gray) -> Iterator[Gray]:
    rows, columns = (np.linspace(0, side - _BLOCK_PX, _steps(side)).astype(int).tolist() for side in gray.shape)
    for row in rows:
        for column in columns:
            yield gray[row : row + _BLOCK_PX, column : column + _BLOCK_PX]


def _steps(side_px: int) -> int:
    return -(-(side_px - _BLOCK_PX) // _STEP_PX) + 1


def _deepest(spectrum: Floats) -> list[tuple[Shake, float]]:
    """The deepest points of the cepstrum, and how deep: standard deviations below the middle of all.

    Lines exactly along rows or columns are left out: edges of tables and the blocks of a JPEG lie there. A smear along
    a row is still seen one pixel beside it.
    """
    cepstrum = np.fft.fftshift(np.fft.irfft2(spectrum, s=(_BLOCK_PX, _BLOCK_PX)))
    down, across = np.mgrid[:_BLOCK_PX, :_BLOCK_PX] - _BLOCK_PX // 2
    far = np.hypot(down, across)
    looked_at = (far >= SHORTEST_PX) & (far <= LONGEST_PX) & (down > 0) & (across != 0)
    middle = np.median(cepstrum[looked_at])
    spread = _OF_NORMAL * np.median(np.abs(cepstrum[looked_at] - middle))
    if not spread:
        return []
    depth = np.where(looked_at, (middle - cepstrum) / spread, 0.0)
    found = []
    for _ in range(_POINTS):
        row, column = np.unravel_index(np.argmax(depth), depth.shape)
        dy, dx = int(down[row, column]), int(across[row, column])
        found.append((Shake(float(dx), float(dy)), float(depth[row, column])))
        depth[(abs(down - dy) <= _APART_PX) & (abs(across - dx) <= _APART_PX)] = 0
    return found


def _likeness(spectrum: Floats, shake: Shake) -> float:
    """Correlation (-1 to 1) of the spectrum with what the shake would make of an even one; both freed of what only
    depends on how fine a detail is, as any picture and any lens has it.
    """
    expected = np.log(passed_by(shake, (_BLOCK_PX, _BLOCK_PX)) ** 2 + _LEAST_SHARE)
    one, other = _without_rings(expected), _without_rings(spectrum)
    return float(one @ other) / max(float(np.linalg.norm(one) * np.linalg.norm(other)), _TINY)


def _without_rings(spectrum: Floats) -> Floats:
    down, across = _frequencies((_BLOCK_PX, _BLOCK_PX))
    fine = np.hypot(down, across)
    used = (fine > _BAND[0]) & (fine < _BAND[1]) & (abs(down) > 1.5 / _BLOCK_PX) & (abs(across) > 1.5 / _BLOCK_PX)
    ring = (fine[used] * _BLOCK_PX).astype(int)
    mean = np.bincount(ring, spectrum[used]) / np.maximum(np.bincount(ring), 1)
    return np.asarray(spectrum[used] - mean[ring], np.float32)
