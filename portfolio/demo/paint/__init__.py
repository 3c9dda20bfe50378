"""Invented children's works, painted by code: a child has a hand that grows from kindergarten to grade 5.

``child_of`` gives a child of a seed, ``paint`` one of its works as a picture, ``describe`` what that work shows.
Nothing here
imitates a real child's work; no letters, digits or names are ever drawn.
"""

from portfolio.demo.paint.child import Child, child_of
from portfolio.demo.paint.work import MEDIA, SUBJECTS, Facts, Painted, describe, paint

__all__ = ["MEDIA", "SUBJECTS", "Child", "Facts", "Painted", "child_of", "describe", "paint"]
