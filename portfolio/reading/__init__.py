"""Room 2, what does the picture say? Takes one photo, gives its facts and cards. Never guesses, never changes it.

``read_photo`` does all of it; ``open_photo`` gives the opened :class:`Picture`, whose pixels the next room uses too.
``read_frame`` finds the cards in a frame of live video.
"""

from portfolio.reading.frame import Frame, frame_of, read_frame
from portfolio.reading.opening import PhotoRefused, Picture, open_photo
from portfolio.reading.reading import read_photo, read_picture
from portfolio.reading.stand_in import BEGINNING_BYTES, stand_in_of

__all__ = [
    "BEGINNING_BYTES",
    "Frame",
    "PhotoRefused",
    "Picture",
    "frame_of",
    "open_photo",
    "read_frame",
    "read_photo",
    "read_picture",
    "stand_in_of",
]
