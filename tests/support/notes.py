"""Photos that are notes: small files that say in JSON what a reader would see in them, and a reader of such files.

So that whole batches can be tried without pixels. The files are stored, hashed and kept like any other photo.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from concurrent.futures import Executor, Future
from datetime import datetime
from pathlib import Path
from typing import Any

from portfolio.errors import Problem
from portfolio.flows.worker import CropRequest, SeeRequest
from portfolio.model.cards import CardKind, CardSeen, CardStatus
from portfolio.model.photo import (
    ColorSeen,
    Crop,
    Derivative,
    PhotoFacts,
    PhotoSeen,
    Reading,
    SizeMm,
    Straightened,
    Taken,
    TakenSource,
    WorkOfCard,
)
from portfolio.model.school import CLASS_CARD_MIN, MEDIUM_CARD_MIN
from portfolio.straighten.sizes import sheet_name

RUNGS = (2016, 672, 336)
SQUARE = ((10.0, 10.0), (90.0, 10.0), (90.0, 90.0), (10.0, 90.0))


def note(
    folder: Path,
    name: str,
    *cards: str,
    at: datetime | None = None,
    crop_hash: int | None = None,
    crop: str = "sure",
    problem: str = "",
    salt: str = "",
    size_mm: tuple[float, float] = (229.0, 305.0),
    clipped: bool = False,
    light_table: bool = False,
    why: str = "it is pale",
    works: tuple[str, ...] = (),
) -> Path:
    """Write one photo. ``cards`` like "7" (number), "7?" (half read), "301", "62"; ``crop``: sure · unsure · none.

    ``works``: several works, each by its number card: "7", "7~" (its edge is unclear), "7!" (unclear whose it is),
    "7-" (no work beside the card).
    """
    folder.mkdir(parents=True, exist_ok=True)
    said: dict[str, Any] = {"cards": cards, "crop": crop, "problem": problem, "name": name, "salt": salt}
    said |= {"size": size_mm, "clipped": clipped, "light_table": light_table, "why": why}
    said |= {"at": at.isoformat() if at else None, "hash": crop_hash, "works": works}
    path = folder / name
    path.write_text(json.dumps(said), encoding="utf-8")
    return path


def _card(text: str) -> CardSeen:
    value = int(text.rstrip("?"))
    kind = CardKind.CLASS
    if value < CLASS_CARD_MIN:
        kind = CardKind.CONTROL
    if value < 101:
        kind = CardKind.MEDIUM if value >= MEDIUM_CARD_MIN else CardKind.NUMBER
    return CardSeen(kind, value, CardStatus.CHECK if text.endswith("?") else CardStatus.SURE)


def see_note(request: SeeRequest | CropRequest) -> PhotoSeen:
    """What a reader would report of such a file."""
    try:
        said = json.loads(request.path.read_text(encoding="utf-8"))
    except ValueError:
        return PhotoSeen(request.file, Reading(None, problem=Problem("photo-not-a-picture", request.file, "no note")))
    if said["problem"]:
        return PhotoSeen(request.file, Reading(None, problem=Problem(said["problem"], request.file, "as written")))
    taken = Taken(datetime.fromisoformat(said["at"]), TakenSource.ORIGINAL) if said["at"] else None
    facts = PhotoFacts("JPEG", 100, 100, taken=taken, camera="Test Camera")
    cards = tuple(_card(text) for text in said["cards"])
    if isinstance(request, SeeRequest) and not request.pictures:
        return PhotoSeen(request.file, Reading(facts, cards))
    solid = isinstance(request, SeeRequest) and request.solid
    if isinstance(request, SeeRequest) and said["works"]:
        each = tuple(_one_of_several(text, place, solid=solid) for place, text in enumerate(said["works"]))
        return PhotoSeen(request.file, Reading(facts, tuple(one.card for one in each) + cards), works=each)
    is_sure = said["crop"] == "sure"
    crop = Crop(SQUARE, is_sure, "solid" if solid else "sheet", "" if is_sure else said["why"])
    if isinstance(request, CropRequest):
        crop = request.crop
    shows = [repr((request.file, said, solid, crop.outline_px)).encode()] * 3
    made = Straightened(
        derivatives=tuple(Derivative(rung, 8, 6, text) for rung, text in zip(RUNGS, shows, strict=True)),
        crop=None if said["crop"] == "none" else crop,
        size=SizeMm(*said["size"], sheet=sheet_name(*said["size"])),
        color=ColorSeen((1.0, 1.0, 1.0), clipped=said["clipped"], table_near_white=said["light_table"]),
        crop_hash=None if solid else said["hash"],
        color_shares={"blue": 60, "red": 40},
    )
    return PhotoSeen(request.file, Reading(facts, cards), made)


def _one_of_several(text: str, place: int, *, solid: bool) -> WorkOfCard:
    """A work beside its card, each with another edge; the cards contradict each other only because there are many."""
    number, mark = text.rstrip("~!-"), text[-1]
    card = CardSeen(CardKind.NUMBER, int(number), CardStatus.CONFLICT, by_itself=CardStatus.SURE)
    if mark == "-":
        return WorkOfCard(card, Straightened(()), "no work can be seen beside this card")
    outline = tuple((x + 100.0 * place, y) for x, y in SQUARE)
    crop = Crop(outline, mark != "~", "solid" if solid else "sheet", "it is pale" if mark == "~" else "")
    made = Straightened(
        tuple(Derivative(rung, 8, 6, repr((number, solid)).encode()) for rung in RUNGS),
        crop=crop,
        size=SizeMm(152.0 + place, 229.0),
        crop_hash=place << 40,
    )
    return WorkOfCard(card, made, "it is not clear which work belongs to this card" if mark == "!" else "")


class ReadsNotes(Executor):
    """Runs at once, in this process, with :func:`see_note` in the place of the photo reader. Counts what it read."""

    def __init__(self, before: Callable[[int], None] = lambda _count: None) -> None:
        self.read: list[str] = []
        self._before = before

    def submit(self, _fn: Any, /, request: Any) -> Future[Any]:
        future: Future[Any] = Future()
        self._before(len(self.read))
        self.read.append(request.file)
        future.set_result(see_note(request))
        return future
