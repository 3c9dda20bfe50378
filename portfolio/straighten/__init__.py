"""Room 3, upright, flat, cropped, true color. Takes a photo and its cards, gives pictures.

Never changes the original.
"""

from portfolio.straighten.fingerprint import distance
from portfolio.straighten.order import RECIPE, straighten, straighten_with

__all__ = ["RECIPE", "distance", "straighten", "straighten_with"]
