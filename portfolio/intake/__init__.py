"""Intake: find the photos that were handed over, in the order they were taken.

Takes paths of files, folders and zip files; gives candidates (with problems and what was left where it is). Reads
bytes only to copy them; never opens a picture, never changes or removes what it was given.
"""

from portfolio.intake.find import find_photos
from portfolio.intake.found import Candidate, Found
from portfolio.intake.order import Shot, taking_order
from portfolio.intake.stamp import stamped
from portfolio.intake.steady import Steady, StillChanging, wait_until_quiet

__all__ = [
    "Candidate",
    "Found",
    "Shot",
    "Steady",
    "StillChanging",
    "find_photos",
    "stamped",
    "taking_order",
    "wait_until_quiet",
]
