"""One photo, seen behind a guard: the function that is sent to a ``concurrent.futures.Executor``.

A path goes in, plain values come back; the library's records are never opened here. On POSIX every photo is read in
a child process of its own with limits on memory, time and files, so that a hostile file ends as one coded sentence
and never takes the program along (measured cost: 5-20 ms a photo). On Windows it is read in the pool's worker.

The child is forked directly where this process has a single thread (a pool's worker), and through a fork server
where it has more: forking a process with threads can leave a lock held forever in the child.
``ProcessPoolExecutor(max_tasks_per_child=…)`` would be shorter, but hangs on Python 3.11 (python/cpython#115634).
"""

from __future__ import annotations

import contextlib
import multiprocessing
import signal
import sys
import threading
from collections.abc import Callable
from dataclasses import dataclass
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Final

import cv2

from portfolio.archive.settings import Settings
from portfolio.errors import Problem, places
from portfolio.model.photo import Crop, PhotoSeen, Reading
from portfolio.reading import PhotoRefused, Picture, open_photo, read_picture
from portfolio.straighten import (
    are_several,
    cards_beside,
    may_show_several,
    straighten,
    straighten_each,
    straighten_whole,
    straighten_with,
)

LARGE_HEIC_MEGAPIXELS: Final = 60
LARGE_HEIC_MEMORY: Final = 1.5
"""A HEIC above that may use so many times the memory of other photos: its decoder only works at full size."""
WALL_TIMES_CPU: Final = 3
"""A photo may last so many times its processor time: on a busy laptop it waits for its turn."""
OPEN_FILES: Final = 64

_USUAL: Final = Settings()
_SCREEN_PX: Final = 1920
_FAREWELL_SECONDS: Final = 5
_OPENCV_NO_MEMORY: Final = -4


@dataclass(frozen=True, slots=True)
class Limits:
    """What one photo may take: seconds of processor time and megabytes of memory."""

    cpu_seconds: int = _USUAL.photo_seconds
    memory_mb: int = _USUAL.photo_memory_mb

    @property
    def memory_bytes(self) -> int:
        """The limit for all photos but very large HEIC."""
        return self.memory_mb << 20

    @property
    def large_memory_bytes(self) -> int:
        """The limit for a very large HEIC."""
        return int(self.memory_bytes * LARGE_HEIC_MEMORY)


@dataclass(frozen=True, slots=True)
class SeeRequest:
    """Which photo to look at. ``file`` is its own name for sentences; ``solid``: the work is known to be 3-D."""

    path: Path
    file: str
    solid: bool = False
    pictures: bool = True
    """Whether to straighten and make pictures; otherwise only the cards and the file's facts are read."""
    limits: Limits = Limits()


@dataclass(frozen=True, slots=True)
class CropRequest:
    """Make the pictures of a photo again, from an outline that is known, turned clockwise by ``quarter_turns``; without
    one, of the whole photo.
    """

    path: Path
    file: str
    crop: Crop | None
    quarter_turns: int = 0
    limits: Limits = Limits()
    number: int | None = None
    """Of several works in the photo: the number on the card that measures this one."""


Request = SeeRequest | CropRequest
Act = Callable[[Request], PhotoSeen]


def see_photo(request: SeeRequest) -> PhotoSeen:
    """Read and straighten one photo behind the guard. Whatever the file does, a value comes back."""
    return guarded(see_here, request)


def crop_photo(request: CropRequest) -> PhotoSeen:
    """Make the pictures of one photo from a given outline, behind the same guard."""
    return guarded(see_here, request)


def see_here(request: Request) -> PhotoSeen:
    """The same in this process, without a guard: for a child that has one, and for Windows."""
    cv2.setNumThreads(1)
    try:
        picture = open_photo(request.path, file=request.file)
        _allow_large(picture, request.limits)
        return _seen(picture, request)
    except PhotoRefused as refused:
        return PhotoSeen(request.file, Reading(None, problem=refused.problem))


def _seen(picture: Picture, request: Request) -> PhotoSeen:
    try:
        if isinstance(request, CropRequest) or request.pictures:
            picture.rgb(picture.shrink_for(_SCREEN_PX))  # decoded once: the search for cards shrinks these pixels
        reading = read_picture(picture)
        if isinstance(request, CropRequest):
            cards = cards_beside(reading.cards, request.number)
            if request.crop is None:
                return PhotoSeen(request.file, reading, straighten_whole(picture, cards=cards))
            made = straighten_with(picture, request.crop, request.quarter_turns, cards=cards)
            return PhotoSeen(request.file, reading, made)
        if not request.pictures:
            return PhotoSeen(request.file, reading)
        if may_show_several(reading.cards):
            works = straighten_each(picture, reading.cards, solid=request.solid)
            if are_several(works):
                return PhotoSeen(request.file, reading, works=works)
        return PhotoSeen(request.file, reading, straighten(picture, reading.cards, solid=request.solid))
    except PhotoRefused as refused:
        return PhotoSeen(request.file, Reading(picture.facts, problem=refused.problem))


def _with_problem(request: Request, code: str, found: str = "") -> PhotoSeen:
    return PhotoSeen(request.file, Reading(None, problem=Problem(code, request.file, found)))


# --- the guard --------------------------------------------------------------------------------------------------------


def guarded(act: Act, request: Request, *, wall_seconds: float | None = None) -> PhotoSeen:
    """Do one photo's work in a child process with limits; a child that dies or hangs becomes a coded problem.

    ``wall_seconds``: how long to wait for it (default: three times its processor time).
    """
    if sys.platform == "win32" or multiprocessing.current_process().daemon:
        return act(request)  # a cluster's worker may have no children; its own keeper replaces it when it dies
    alone = threading.active_count() == 1
    context = multiprocessing.get_context("fork") if alone else multiprocessing.get_context("forkserver")
    receiving, sending = context.Pipe(duplex=False)
    child = context.Process(target=_child, args=(sending, act, request), daemon=True)
    child.start()
    sending.close()
    try:
        if receiving.poll(wall_seconds or request.limits.cpu_seconds * WALL_TIMES_CPU):
            seen = receiving.recv()
        else:
            child.kill()
            seen = _with_problem(request, "photo-out-of-time")
    except (EOFError, OSError):
        child.join()
        return _ending(request, child.exitcode)
    finally:
        receiving.close()
        child.join(_FAREWELL_SECONDS)
        if child.is_alive():
            child.kill()
            child.join()
    return seen if isinstance(seen, PhotoSeen) else _with_problem(request, "photo-reader-stopped", str(seen))


def _child(sending: Connection, act: Act, request: Request) -> None:
    """In the child: set the limits, see the photo, send the value. Our own mistakes stop this photo, not the batch."""
    _limit(request.limits)
    try:
        seen: PhotoSeen | str = act(request)
    except MemoryError:
        seen = _with_problem(request, "photo-out-of-memory")
    except Exception as error:  # noqa: BLE001 - told to the teacher as a stopped reader
        if isinstance(error, cv2.error) and error.code == _OPENCV_NO_MEMORY:
            seen = _with_problem(request, "photo-out-of-memory")
        else:
            seen = type(error).__name__
            sys.stderr.writelines(f"{place}\n" for place in places(error))
    sending.send(seen)
    sending.close()


def _limit(limits: Limits) -> None:
    """Memory, processor time, no growing files, few open files. A limit that the system does not know is left out."""
    import resource  # noqa: PLC0415 - there is none on Windows

    for what, soft, hard in (
        (resource.RLIMIT_AS, limits.memory_bytes, limits.large_memory_bytes),
        (resource.RLIMIT_CPU, limits.cpu_seconds, limits.cpu_seconds + 5),
        (resource.RLIMIT_FSIZE, 0, 0),
        (resource.RLIMIT_NOFILE, OPEN_FILES, OPEN_FILES),
        (resource.RLIMIT_CORE, 0, 0),
    ):
        with contextlib.suppress(ValueError, OSError):
            resource.setrlimit(what, (soft, hard))


def _allow_large(picture: Picture, limits: Limits) -> None:
    """A very large HEIC may use memory up to the hard limit. Without a guard this changes nothing."""
    facts = picture.facts
    if sys.platform == "win32" or facts.format != "HEIF":
        return
    import resource  # noqa: PLC0415 - there is none on Windows

    soft, hard = resource.getrlimit(resource.RLIMIT_AS)
    if facts.width_px * facts.height_px > LARGE_HEIC_MEGAPIXELS * 1_000_000 and soft == limits.memory_bytes:
        resource.setrlimit(resource.RLIMIT_AS, (hard, hard))


def _ending(request: Request, exit_code: int | None) -> PhotoSeen:
    """What a child's exit status says: over its time, killed for memory, or crashed."""
    if exit_code is not None and exit_code < 0:
        if -exit_code == signal.SIGXCPU:
            return _with_problem(request, "photo-out-of-time")
        if -exit_code == signal.SIGKILL:
            return _with_problem(request, "photo-out-of-memory")
        return _with_problem(request, "photo-reader-stopped", f"signal {-exit_code}")
    return _with_problem(request, "photo-reader-stopped", "it ended without an answer")
