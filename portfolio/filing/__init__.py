"""Room 4, whose is it? Takes what was seen in a batch and how the school runs, gives decisions and questions.

A photo is filed only by a sure number card in that very photo, a number that is held that day, and a class that
nothing contradicts. Everything else is asked, best guess first. Never files on a doubt, never opens the database.
"""

from portfolio.filing.decide import decide_batch
from portfolio.filing.roll import Roll

__all__ = ["Roll", "decide_batch"]
