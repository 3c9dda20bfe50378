"""``portfolio look``: what the program sees in a photo, without a library and without storing anything."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from portfolio.cli.frame import ERR, JsonOption, answer, progress
from portfolio.errors import Exit, PortfolioError
from portfolio.flows.executors import make_executor
from portfolio.flows.look import as_json, look_at
from portfolio.flows.look_picture import draw_seen
from portfolio.model.photo import PhotoSeen


def look(
    photos: Annotated[list[Path], typer.Argument(help="One photo or more.", metavar="PHOTO…", show_default=False)],
    *,
    json: JsonOption = False,
    picture: Annotated[
        Path | None,
        typer.Option(help="Draw what was seen over the (first) photo and write it here as PNG.", show_default=False),
    ] = None,
    workers: Annotated[int | None, typer.Option(help="How many photos at once. Default: one a core.")] = None,
) -> None:
    """Say what is seen in photos: cards, number, outline, size and color. Nothing is stored.

    Example: portfolio look IMG_0412.JPG --picture seen.png
    """
    kind, workers = ("inline", 1) if len(photos) == 1 else ("process", workers)
    with make_executor(kind, workers) as executor, progress("Looking", total=len(photos)) as done:
        seen = look_at(photos, executor, told=done)
    if picture is not None:
        _write_picture(seen[0], photos[0], picture)
    answer([as_json(one) for one in seen], as_json=json, lines=[line for one in seen for line in sentences(one)])
    if any(one.reading.problem for one in seen):
        raise typer.Exit(int(Exit.ITEMS))


def sentences(seen: PhotoSeen) -> list[str]:
    """The same for a person: one line a photo, or one for each of several works; then the problem, if there is one."""
    if seen.works:
        return [_line(each, f"{seen.file}, work {place}") for place, each in enumerate(seen.each, start=1)]
    problem = seen.reading.problem
    if problem and not seen.reading.facts:
        return [problem.sentence]
    return [_line(seen, seen.file), *([problem.sentence] if problem else [])]


def _line(seen: PhotoSeen, file: str) -> str:
    reading, made = seen.reading, seen.straightened
    parts = [_number_words(seen)]
    parts += [f"{card.kind} card {card.value}" for card in reading.cards if card not in reading.number_cards]
    if made and made.size:
        about = "about " if made.size.about else ""
        sheet = f" ({made.size.sheet})" if made.size.sheet else ""
        parts.append(f"{about}{made.size.width_mm:.0f} × {made.size.height_mm:.0f} mm{sheet}")
    if made and made.crop:
        parts.append("outline sure" if made.crop.sure else f"outline to check ({made.crop.why or 'it is not clear'})")
    if made and made.color and made.color.clipped:
        parts.append("too bright, take it again")
    return f"{file}: {', '.join(parts)}"


def _number_words(seen: PhotoSeen) -> str:
    reading = seen.reading
    if reading.status == "none":
        return "no number card"
    if reading.number is None:
        return "numbers " + " and ".join(str(card.value) for card in reading.number_cards) + " (to check)"
    if reading.status == "sure":
        return f"number {reading.number}"
    why = next((card.why for card in reading.number_cards if card.why), reading.status)
    return f"number {reading.number} to check ({why})"


def _write_picture(seen: PhotoSeen, photo: Path, out: Path) -> None:
    if seen.reading.facts is None:
        ERR.print("No picture was drawn: the photo cannot be opened.")
        return
    try:
        out.write_bytes(draw_seen(seen, photo))
    except OSError as error:
        raise PortfolioError("disk-unwritable", found=error.strerror or "the disk gave an error") from error
