"""Names of standard sheets, given only when the measured size fits one and no other.

School drawing paper: 6 × 9 to 24 × 36 in (the half-sheet family). ISO 216: the A series. US Letter, Legal and Tabloid.
"""

from __future__ import annotations

from typing import Final

SHEETS_MM: Final = {
    "6 × 9 in": (152.4, 228.6),
    "9 × 12 in": (228.6, 304.8),
    "12 × 18 in": (304.8, 457.2),
    "18 × 24 in": (457.2, 609.6),
    "24 × 36 in": (609.6, 914.4),
    "Letter": (215.9, 279.4),
    "Legal": (215.9, 355.6),
    "Tabloid": (279.4, 431.8),
    "A2": (420.0, 594.0),
    "A3": (297.0, 420.0),
    "A4": (210.0, 297.0),
    "A5": (148.0, 210.0),
}
"""Short side, long side."""

TOLERANCE: Final = 0.015
"""Each side may be off by this share: measured errors stay below it, and it keeps all these sheets apart."""


def sheet_name(width_mm: float, height_mm: float, *, tolerance: float = TOLERANCE) -> str | None:
    """The name of the standard sheet of this size, either way round, or ``None``."""
    short, long = sorted((width_mm, height_mm))
    fits = [
        name
        for name, (width, height) in SHEETS_MM.items()
        if abs(short / width - 1) <= tolerance and abs(long / height - 1) <= tolerance
    ]
    return fits[0] if len(fits) == 1 else None
