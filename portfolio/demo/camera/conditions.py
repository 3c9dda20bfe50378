"""How a photo is taken: view, light, blur, sensor. Every figure can be set; ``sample`` draws them as schools make them.

Blur is given in pixels of a 12-megapixel photo (4032 wide) and scales with the size asked for.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import datetime
from enum import StrEnum

import numpy as np

from portfolio.demo.camera.chance import stream


class Difficulty(StrEnum):
    """The mixes of photos."""

    MIXED = "mixed"
    """A school's whole year: good and bad tables, light and hands."""
    GENTLE = "gentle"
    """A careful teacher: dark cloth, small tilt, soft light."""
    PHONE = "phone"
    """The mixed photos as phones make them: local tone mapping, sharpening, saturation; some cards laminated or
    curled, some sheets folded. Everything else is drawn as in ``MIXED``."""


@dataclass(frozen=True, slots=True)
class View:
    """Where the camera is held. Angles in degrees."""

    tilt_deg: float = 0.0
    """Away from straight above."""
    azimuth_deg: float = 0.0
    """Towards which side of the table it is tilted."""
    roll_deg: float = 0.0
    """Turn of the camera about its own axis."""
    fill: float = 0.85
    """How much of the frame the things take, 0-1."""
    off_center: tuple[float, float] = (0.0, 0.0)
    """-1 to 1: where in the room that is left."""
    focal_35mm: float = 26.0
    """Said in EXIF: 35 mm equivalent by the diagonal (43.27 mm), as CIPA DCG-001 has it (from memory)."""
    focal_error: float = 0.0
    """True focal length over the one said, minus 1."""
    distortion: float = 0.0
    """Radial shift at the corner of the frame over its distance from the middle; positive = pincushion."""


@dataclass(frozen=True, slots=True)
class CastShadow:
    """A soft shadow over part of the picture: a half plane through a point of the frame."""

    depth: float
    """Share of the light that is taken, 0-1."""
    at: tuple[float, float]
    """A point on its edge, 0-1 of the frame's width and height."""
    angle_deg: float
    softness: float
    """Width of its edge over the frame's diagonal."""


@dataclass(frozen=True, slots=True)
class Light:
    """Light and what the camera makes of it."""

    kelvin: float = 5000.0
    balance: float = 0.8
    """How much of the color cast the camera takes out, 0-1 (in log gains)."""
    tint: tuple[float, float, float] = (0.0, 0.0, 0.0)
    """What its white balance gets wrong besides, natural log per channel."""
    exposure_ev: float = 0.0
    gradient: tuple[float, float] = (0.0, 0.0)
    """Natural log of the light from the middle to the right and to the lower edge."""
    vignetting: float = 0.1
    """Light lost in the corners."""
    from_deg: float = 45.0
    """Towards where shadows fall on the table."""
    elevation_deg: float = 55.0
    contact: float = 0.25
    """Darkness of contact shadows; near 0 in light from all sides."""
    shadow: CastShadow | None = None


@dataclass(frozen=True, slots=True)
class Blur:
    """Out of focus and moved."""

    defocus_px: float = 1.0
    """Standard deviation."""
    motion_px: float = 0.0
    motion_deg: float = 0.0


@dataclass(frozen=True, slots=True)
class Sensor:
    """Noise in linear light (full scale = 1), tone curve and file."""

    shot_noise: float = 5e-5
    """Variance at full scale."""
    read_noise: float = 8e-4
    contrast: float = 0.1
    """Strength of the S in the tone curve; 0 = plain sRGB."""
    jpeg_quality: int = 90
    orientation: int = 1
    """EXIF 1, 3, 6 or 8; 6 and 8 make an upright (portrait) photo."""
    make: str = "Simulated"
    model: str = "Camera 26"


@dataclass(frozen=True, slots=True)
class Phone:
    """What a phone makes of its picture before it writes the file."""

    local_tone: float = 0.0
    """How much of the differences between large bright and dark areas is taken out, 0-1 (in log lightness)."""
    saturation: float = 1.0
    """Factor on all color differences."""
    sharpening: float = 0.0
    """How far edges are overdone: the share of what a blur takes away that is added again."""
    radius_px: float = 1.5
    """Width of the halos (standard deviation of that blur)."""


@dataclass(frozen=True, slots=True)
class Conditions:
    """Everything about one press of the button."""

    view: View = field(default_factory=View)
    light: Light = field(default_factory=Light)
    blur: Blur = field(default_factory=Blur)
    sensor: Sensor = field(default_factory=Sensor)
    phone: Phone | None = None
    taken: datetime = datetime(2025, 10, 14, 9, 41, 7, 250000)  # noqa: DTZ001 - a camera writes naive local time
    utc_offset_minutes: int | None = -300

    @classmethod
    def sample(cls, seed: int, difficulty: Difficulty = Difficulty.MIXED) -> Conditions:
        """Draw the conditions of one photo."""
        chance = stream(seed, "conditions")
        if difficulty is Difficulty.GENTLE:
            return _gentle(chance)
        drawn = _mixed(chance)
        return replace(drawn, phone=_phone(stream(seed, "phone"))) if difficulty is Difficulty.PHONE else drawn


def _span(chance: np.random.Generator, low: float, high: float) -> float:
    return float(chance.uniform(low, high))


def _tint(chance: np.random.Generator, amount: float) -> tuple[float, float, float]:
    red, green, blue = chance.normal(0, amount, 3).tolist()
    return red, green, blue


def _mixed(chance: np.random.Generator) -> Conditions:
    any_roll = chance.random() < 0.3
    roll = _span(chance, -180, 180) if any_roll else 90.0 * int(chance.integers(4)) + float(chance.normal(0, 5))
    view = View(
        tilt_deg=25 * float(chance.beta(1.2, 1.6)),
        azimuth_deg=_span(chance, 0, 360),
        roll_deg=roll,
        fill=_span(chance, 0.6, 0.94),
        off_center=(_span(chance, -0.7, 0.7), _span(chance, -0.7, 0.7)),
        focal_error=_span(chance, -0.02, 0.02),
        distortion=_span(chance, -0.015, 0.015),
    )
    light = Light(
        kelvin=_span(chance, 2500, 7500),
        balance=_span(chance, 0.35, 0.95),
        tint=_tint(chance, 0.025),
        exposure_ev=float(np.clip(chance.normal(-0.35, 0.42), -1.3, 1.3)),
        gradient=(_span(chance, -0.27, 0.27), _span(chance, -0.27, 0.27)),
        vignetting=_span(chance, 0.0, 0.22),
        from_deg=_span(chance, 0, 360),
        elevation_deg=_span(chance, 30, 75),
        contact=_span(chance, 0.04, 0.45),
        shadow=_cast(chance) if chance.random() < 0.4 else None,
    )
    moved = chance.random() < 0.45
    blur = Blur(
        defocus_px=0.7 + 5.3 * float(chance.beta(1.0, 4.0)),
        motion_px=30 * float(chance.beta(1.0, 1.8)) if moved else 0.0,
        motion_deg=_span(chance, 0, 180),
    )
    noise = float(np.exp(_span(chance, np.log(1.5e-5), np.log(4e-4))))
    sensor = Sensor(
        shot_noise=noise,
        read_noise=5e-4 + 0.12 * noise**0.5,
        contrast=_span(chance, -0.05, 0.3),
        jpeg_quality=int(chance.integers(70, 96)),
        orientation=int(chance.choice((1, 3, 6, 8), p=(0.6, 0.05, 0.3, 0.05))),
    )
    return Conditions(view=view, light=light, blur=blur, sensor=sensor)


def _cast(chance: np.random.Generator) -> CastShadow:
    return CastShadow(
        depth=_span(chance, 0.1, 0.5),
        at=(_span(chance, 0.1, 0.9), _span(chance, 0.1, 0.9)),
        angle_deg=_span(chance, 0, 360),
        softness=_span(chance, 0.03, 0.25),
    )


def _phone(chance: np.random.Generator) -> Phone:
    """Own judgment of what phones do, no measurement: no two models agree."""
    return Phone(
        local_tone=_span(chance, 0.05, 0.35),
        saturation=_span(chance, 1.0, 1.25),
        sharpening=_span(chance, 0.2, 1.2),
        radius_px=_span(chance, 0.8, 2.5),
    )


def _gentle(chance: np.random.Generator) -> Conditions:
    view = View(
        tilt_deg=7 * float(chance.beta(1.5, 2.5)),
        azimuth_deg=_span(chance, 0, 360),
        roll_deg=float(chance.normal(0, 2)),
        fill=_span(chance, 0.84, 0.93),
        off_center=(_span(chance, -0.4, 0.4), _span(chance, -0.4, 0.4)),
        focal_error=_span(chance, -0.01, 0.01),
        distortion=_span(chance, -0.006, 0.006),
    )
    light = Light(
        kelvin=_span(chance, 3800, 6000),
        balance=_span(chance, 0.75, 0.95),
        tint=_tint(chance, 0.01),
        exposure_ev=float(np.clip(chance.normal(-0.25, 0.12), -0.6, 0.0)),
        gradient=(_span(chance, -0.07, 0.07), _span(chance, -0.07, 0.07)),
        vignetting=_span(chance, 0.02, 0.1),
        from_deg=_span(chance, 20, 70),
        elevation_deg=_span(chance, 50, 75),
        contact=_span(chance, 0.12, 0.3),
    )
    blur = Blur(
        defocus_px=_span(chance, 0.7, 1.3),
        motion_px=_span(chance, 0, 3),
        motion_deg=_span(chance, 0, 180),
    )
    sensor = Sensor(
        shot_noise=2e-5,
        read_noise=6e-4,
        contrast=_span(chance, 0.0, 0.12),
        jpeg_quality=int(chance.integers(88, 96)),
    )
    return Conditions(view=view, light=light, blur=blur, sensor=sensor)
