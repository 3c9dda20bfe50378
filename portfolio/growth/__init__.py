"""Room 6a, a child's years and a class's term. Takes works and words, gives timelines, pairs, grids and sentences.

Only describes: never a score, a grade or a rank of a child's art. Lists stand by number or by day.
"""

from portfolio.growth.explored import explored
from portfolio.growth.grid import class_grid, worth_knowing
from portfolio.growth.timeline import side_by_side, then_and_now, timeline
from portfolio.growth.vocabulary import art_words, art_words_by_year, shipped_vocabulary

__all__ = [
    "art_words",
    "art_words_by_year",
    "class_grid",
    "explored",
    "shipped_vocabulary",
    "side_by_side",
    "then_and_now",
    "timeline",
    "worth_knowing",
]
