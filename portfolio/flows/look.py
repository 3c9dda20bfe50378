"""What does the program see in these photos? Needs no library and stores nothing."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import BrokenExecutor, Executor, Future
from pathlib import Path
from typing import Any

from portfolio.errors import Problem
from portfolio.flows.executors import make_executor
from portfolio.flows.worker import SeeRequest, see_photo
from portfolio.model.photo import PhotoSeen, Reading, Straightened, WorkOfCard


def look_at(
    paths: Sequence[Path], executor: Executor, *, told: Callable[[int], None] = lambda _: None
) -> list[PhotoSeen]:
    """Look at photos, in the order given. ``told`` is called with the number of photos done so far."""
    requests = [SeeRequest(path, path.name) for path in paths]
    waiting = [executor.submit(see_photo, request) for request in requests]
    seen = []
    for request, future in zip(requests, waiting, strict=True):
        seen.append(settled(request, future))
        told(len(seen))
    return seen


def settled(request: SeeRequest, future: Future[PhotoSeen]) -> PhotoSeen:
    """The result of one photo. When the pool broke, whoever broke it, this photo is tried once more on its own."""
    try:
        return future.result()
    except BrokenExecutor:
        pass
    try:
        with make_executor("process", 1) as alone:
            return alone.submit(see_photo, request).result()
    except BrokenExecutor:
        problem = Problem("photo-reader-stopped", request.file, "it ended without an answer")
        return PhotoSeen(request.file, Reading(None, problem=problem))


def as_json(seen: PhotoSeen) -> dict[str, Any]:
    """The contract of ``portfolio look --json`` for one photo. Pixels are those of the upright photo. ``works`` is
    there only when it shows several, each with its number card.
    """
    reading, color = seen.reading, seen.straightened.color if seen.straightened else None
    told: dict[str, Any] = {
        "file": seen.file,
        "cards": [
            {"kind": card.kind.value, "value": card.value, "status": card.status.value} for card in reading.cards
        ],
        "number": reading.number,
        "status": reading.status,
        **_edge(seen.straightened),
        "color": {"gains": [round(gain, 4) for gain in color.gains], "clipped": color.clipped} if color else None,
        "problem": {"code": reading.problem.code, "sentence": reading.problem.sentence} if reading.problem else None,
    }
    return told | {"works": [_work(one) for one in seen.works]} if seen.works else told


def _work(one: WorkOfCard) -> dict[str, Any]:
    """One of several works in a photo; ``sure``: it would be filed to the number without asking."""
    return {"number": one.card.value, "sure": one.sure, "why": one.why, **_edge(one.straightened)}


def _edge(made: Straightened | None) -> dict[str, Any]:
    """Where a work lies, whether it would be cropped without asking, and its size."""
    crop, size = (made.crop, made.size) if made else (None, None)
    return {
        "outline_px": [[round(x, 1), round(y, 1)] for x, y in crop.outline_px] if crop else None,
        "crop_sure": bool(crop and crop.sure),
        "size_mm": [round(size.width_mm, 1), round(size.height_mm, 1)] if size else None,
    }
