"""Room 3, upright, flat, cropped, true color. Takes a photo and its cards, gives pictures. Never changes the original."""

from portfolio.straighten.straighten import straighten

__all__ = ["straighten"]
