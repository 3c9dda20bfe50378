"""Room 3, upright, flat, cropped, true color. Takes a photo and its cards, gives pictures.

Never changes the original.
"""

from portfolio.straighten.fingerprint import distance
from portfolio.straighten.order import RECIPE, straighten, straighten_whole, straighten_with
from portfolio.straighten.several import straighten_each
from portfolio.straighten.sharing import are_several, cards_beside, may_show_several

__all__ = [
    "RECIPE",
    "are_several",
    "cards_beside",
    "distance",
    "may_show_several",
    "straighten",
    "straighten_each",
    "straighten_whole",
    "straighten_with",
]
