"""Ways in which reading a photo can go wrong, to be run behind the guard. Importable by name in a child process."""

import faulthandler
import os
import signal
import time

import numpy as np

from portfolio.flows.worker import Request
from portfolio.model.photo import PhotoFacts, PhotoSeen, Reading


def crash(request: Request) -> PhotoSeen:
    """A decoder writes where it must not."""
    faulthandler.disable()  # no noise from the child
    signal.raise_signal(signal.SIGSEGV)
    raise AssertionError(request)


def hang(request: Request) -> PhotoSeen:
    """A file that never ends."""
    time.sleep(60)
    raise AssertionError(request)


def burn(request: Request) -> PhotoSeen:
    """Over the limit of processor time: what the system sends then."""
    os.kill(os.getpid(), signal.SIGXCPU)
    raise AssertionError(request)


def hog(request: Request) -> PhotoSeen:
    """More memory than one photo may take."""
    filled = np.ones(3 << 30, np.uint8)
    raise AssertionError(request, filled.sum())


def blunder(request: Request) -> PhotoSeen:
    """Our own mistake."""
    raise LookupError(request.file)


def scribble(request: Request) -> PhotoSeen:
    """It tries to write a file; the note in the answer says whether it could."""
    try:
        with request.path.open("wb") as out:
            out.write(b"x" * 5000)
            out.flush()
    except OSError:
        return PhotoSeen(request.file, Reading(PhotoFacts("refused", 1, 1)))
    return PhotoSeen(request.file, Reading(PhotoFacts("written", 1, 1)))
