"""Room 2, what does the picture say? Takes one photo, gives its facts and cards. Never guesses, never changes it.

``read_photo`` does all of it; ``open_photo`` gives the opened :class:`Picture`, whose pixels the next room uses too.
"""

from portfolio.reading.opening import PhotoRefused, Picture, open_photo
from portfolio.reading.reading import read_photo, read_picture

__all__ = ["PhotoRefused", "Picture", "open_photo", "read_photo", "read_picture"]
