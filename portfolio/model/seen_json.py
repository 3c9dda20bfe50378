"""What was seen in a photo as plain JSON, and back: the record keeps it, filing may need it again."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from portfolio.model.cards import CardKind, CardSeen, CardStatus, Polygon
from portfolio.model.photo import Crop, PhotoSeen, SizeMm

FORM = 1
"""Version of this layout."""


def seen_as_json(seen: PhotoSeen) -> dict[str, Any]:
    """Cards, outline, size and color of one photo; pictures and bytes are left out."""
    made = seen.straightened
    return {
        "form": FORM,
        "recipe": made.recipe if made else None,
        "cards": [_card(card) for card in seen.reading.cards],
        "crop": crop_as_json(made.crop) if made and made.crop else None,
        **size_as_json(made.size if made else None),
        "gains": list(made.color.gains) if made and made.color else None,
        "clipped": bool(made and made.color and made.color.clipped),
        "table_near_white": bool(made and made.color and made.color.table_near_white),
        "colors": dict(made.color_shares) if made else {},
        "notes": list(seen.reading.facts.notes) if seen.reading.facts else [],
        "profile": seen.reading.facts.profile if seen.reading.facts else None,
    }


def size_as_json(size: SizeMm | None) -> dict[str, Any]:
    """A measured size as three entries of the record."""
    return {
        "size_mm": [size.width_mm, size.height_mm] if size else None,
        "size_about": bool(size and size.about),
        "sheet": size.sheet if size else None,
    }


def cards_of(found: dict[str, Any] | None) -> tuple[CardSeen, ...]:
    """The cards that :func:`seen_as_json` kept."""
    return tuple(
        CardSeen(
            CardKind(card["kind"]),
            card["value"],
            CardStatus(card["status"]),
            _polygon(card.get("left_px")),
            _polygon(card.get("right_px")),
            card.get("why", ""),
            CardStatus(card["by_itself"]) if card.get("by_itself") else None,
            shaken=card.get("shaken", False),
        )
        for card in (found or {}).get("cards", ())
    )


def crop_as_json(crop: Crop) -> dict[str, Any]:
    """A crop as the record keeps it."""
    return {
        "outline_px": [[round(x, 2), round(y, 2)] for x, y in crop.outline_px],
        "sure": crop.sure,
        "shape": crop.shape,
        "why": crop.why,
        "by_hand": crop.by_hand,
    }


def crop_from_json(found: dict[str, Any]) -> Crop:
    """The crop that :func:`crop_as_json` kept."""
    outline = as_polygon(found["outline_px"])
    return Crop(outline, found["sure"], found["shape"], found.get("why", ""), by_hand=found.get("by_hand", False))


def _card(card: CardSeen) -> dict[str, Any]:
    return {
        "kind": card.kind.value,
        "value": card.value,
        "status": card.status.value,
        "left_px": card.left_px,
        "right_px": card.right_px,
        "why": card.why,
        "by_itself": card.by_itself.value if card.by_itself else None,
        "shaken": card.shaken,
    }


def _polygon(found: Any) -> Polygon | None:
    return None if found is None else as_polygon(found)


def as_polygon(found: Iterable[Any]) -> Polygon:
    """Points that were kept as pairs of numbers."""
    return tuple((float(x), float(y)) for x, y in found)


def regions_as_json(regions: Iterable[Polygon]) -> list[list[list[float]]]:
    """Parts of a photo as the record keeps them."""
    return [[[round(x, 2), round(y, 2)] for x, y in region] for region in regions]
