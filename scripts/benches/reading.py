"""What is seen in simulated photos, against the exact truth: numbers, outlines, sizes, colors, and what it costs.

The photos of this bench are never used for tuning (``tests/support/held_out.py``); ``--tuning`` measures others. Costs
are processor time over that of one full decode of the same photo by libjpeg-turbo, within one process each.

    bench.py reading                     every figure (500 photos and four sets; long)
    bench.py reading --photos 20         the first 20 photos of each set (about a minute)
    bench.py reading --only phone        one set: mixed, phone, one-tag, white, several, class
    bench.py reading --real DIR...       pictures without a card, in folders where packages were unpacked
"""

from __future__ import annotations

import argparse
import json
import multiprocessing
import os
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict
from pathlib import Path
from typing import Any

import numpy as np
from benches.reading_class import time_a_class
from benches.reading_look import Seen, SeenRead, SeenSeveral, look, look_at_card, look_at_several
from benches.reading_real import real_pictures

from tests.support.held_out import SETS, TUNING

Line = tuple[str, Any, str, bool | None]
ORDER = ("mixed", "phone", "one-tag", "white", "several", "class")
HOW: dict[str, Callable[[str, int], Any]] = {
    "mixed": look,
    "phone": look,
    "one-tag": look_at_card,
    "white": look,
    "several": look_at_several,
}


def run(argv: Sequence[str]) -> int:
    """Measure, print one line a figure, and give 0 when every bar is met."""
    words = argparse.ArgumentParser(
        prog="bench.py reading", description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    words.add_argument("--photos", type=int, help="so many photos of each set; default: all")
    words.add_argument("--only", choices=ORDER, action="append", help="only this set; may be given again")
    words.add_argument("--seed", type=int, help="first seed instead of the held-out photos")
    words.add_argument("--tuning", action="store_true", help="photos that the program may be tuned on")
    words.add_argument("--processes", type=int, default=os.cpu_count() or 1)
    words.add_argument("--json", action="store_true", help="one line a photo, for looking into misses")
    words.add_argument("--real", type=Path, nargs="+", metavar="DIR", help="look for cards in real pictures only")
    asked = words.parse_args(argv)
    if asked.real:
        return _printed(real_pictures(asked.real, processes=asked.processes))
    first = asked.seed if asked.seed is not None else (TUNING if asked.tuning else None)
    seen: dict[str, list[Any]] = {}
    wanted = [name for name in ORDER if not asked.only or name in asked.only]
    with ProcessPoolExecutor(asked.processes, mp_context=multiprocessing.get_context("spawn")) as pool:
        for name in wanted:
            if name in HOW:
                seen[name] = []
                for one in pool.map(HOW[name], *_jobs(name, asked.photos, first)):
                    seen[name].append(one)
                    if asked.json:
                        print(json.dumps({"set": name, **asdict(one)}), flush=True)
    lines = list(_lines(seen))
    if "class" in wanted:
        lines += time_a_class(SETS["class"][0][: asked.photos])
    return _printed(lines)


def _jobs(name: str, photos: int | None, first: int | None) -> tuple[list[str], list[int]]:
    seeds = list(SETS[name][0])[:photos]
    if first is not None:
        seeds = list(range(first, first + len(seeds)))
    return [name] * len(seeds), seeds


def _printed(lines: Iterable[Line]) -> int:
    good = True
    for what, measured, bar, met in lines:
        good &= met in (None, True)
        print(f"{what:<58} {measured!s:>16}   {bar:<10} {'' if met is None else 'ok' if met else 'short'}")
    return 0 if good else 1


def _lines(seen: dict[str, list[Any]]) -> Iterable[Line]:
    both = [*seen.get("mixed", ()), *seen.get("phone", ())]
    if both:
        cards = seen.get("one-tag", [])
        wrong = sum(one.wrong for one in [*both, *cards])
        yield "wrong numbers", f"{wrong}/{len(both) + len(cards)}", "0", wrong == 0
        for name in ("mixed", "phone"):
            yield from _card_lines(name, seen.get(name, []))
        yield from _outline_lines(both)
        yield from _size_lines(both)
        for name in ("mixed", "phone"):
            yield from _color_lines(name, seen.get(name, []))
        yield from _clipped_lines(both)
        yield from _cost_lines(both)
    if "one-tag" in seen:
        yield from _one_tag_lines(seen["one-tag"])
    if "white" in seen:
        yield from _white_lines(seen["white"])
    if "several" in seen:
        yield from _several_lines(seen["several"])


def _card_lines(name: str, seen: list[Seen]) -> Iterable[Line]:
    whole = [one for one in seen if one.card_inside and not one.glared]
    if whole:
        yield _share(f"{name}: cards wholly in view read surely", [one.status == "sure" for one in whole], 0.99)
    glared = [one for one in seen if one.card_inside and one.glared]
    if glared:
        yield _share(f"{name}: a lamp mirrored in a tag, read surely", [one.status == "sure" for one in glared], None)


def _one_tag_lines(seen: list[SeenRead]) -> Iterable[Line]:
    # The frame may cut a sliver of the other tag's border and leave it readable: then both agree, and that is as good.
    one_tag = [one for one in seen if one.tags_inside == 1 and not one.glared]
    read = [one.status == "check" or (one.status == "sure" and not one.wrong) for one in one_tag]
    yield _share("one tag in view: read, as to check", read, 0.97)
    no_tag = [one for one in seen if one.tags_inside == 0]
    if no_tag:
        yield _share("no whole tag in view: not read surely", [one.status != "sure" for one in no_tag], 1.0)


def _outline_lines(seen: list[Seen]) -> Iterable[Line]:
    # A card that the frame cuts may go unread, and without a card there is no outline: counted with whole cards only.
    whole = [one for one in seen if one.card_inside and one.work_inside]
    sheets = np.array([one.iou or 0.0 for one in whole if one.shape == "sheet" and not one.crumpled])
    yield ("sheets: outline IoU, median", *_high(float(np.median(sheets)), 0.995))
    yield _share("sheets: IoU >= 0.98", list(sheets >= 0.98), 0.97)
    crumpled = [(one.iou or 0) >= 0.98 for one in whole if one.shape == "sheet" and one.crumpled]
    if crumpled:
        yield _share("crumpled sheets: IoU >= 0.98", crumpled, None)
    free = [(one.iou or 0) >= 0.95 for one in whole if one.shape != "sheet"]
    yield _share("torn, cut out, solid: IoU >= 0.95", free, 0.85)
    yield _share("cropped without asking", [one.sure for one in whole], 0.85)
    yield _bad_line("bad (IoU < 0.95) among those", [one for one in seen if one.sure])


def _bad_line(what: str, sure: list[Seen]) -> Line:
    bad = sum((one.iou or 0) < 0.95 for one in sure)
    return what, f"{bad}/{len(sure)}", "<= 0.5 %", bad <= 0.005 * len(sure)


def _white_lines(seen: list[Seen]) -> Iterable[Line]:
    whole = [one for one in seen if one.card_inside and one.work_inside]
    yield _share("white on white: IoU >= 0.97", [(one.iou or 0) >= 0.97 for one in whole], 0.85)
    yield _share("white on white: cropped without asking", [one.sure for one in whole], None)
    flagged = [not one.sure for one in whole if (one.iou or 0) < 0.97]
    yield _share("white on white: the others are asked about", flagged, 1.0)


def _size_lines(seen: list[Seen]) -> Iterable[Line]:
    sheets = [one for one in seen if one.size_error is not None and (one.iou or 0) > 0.95]
    errors = [one.size_error for one in sheets if one.size_error is not None]
    yield ("sheet size, 90th percentile of error", *_low(float(np.percentile(errors, 90)) * 100, 1.0, " %"))
    yield _share("standard sheet named", [one.sheet_said for one in sheets], 0.98)
    named_wrong = sum(one.named_wrong for one in seen)
    yield "sheets named wrongly", named_wrong, "0", named_wrong == 0


def _color_lines(name: str, seen: list[Seen]) -> Iterable[Line]:
    colors = np.array([one.color for one in seen if one.color is not None])
    if not len(colors):
        return
    plain = float(np.median([one.gray_world for one in seen if one.gray_world is not None]))
    middle = float(np.median(colors[:, 0]))
    yield (f"{name}: color, median CIEDE2000 (median photo)", *_low(middle, 2.0))
    yield (f"{name}: color, 95th percentile (median photo)", *_low(float(np.median(colors[:, 1])), 4.0))
    yield (
        f"{name}: color, median CIEDE2000 of the worst 5 % of photos",
        f"{np.percentile(colors[:, 0], 95):.2f}",
        "",
        None,
    )
    yield (f"{name}: color, times better than gray world", *_high(plain / middle, 4.0))


def _clipped_lines(seen: list[Seen]) -> Iterable[Line]:
    read = [one for one in seen if one.card_inside and one.status == "sure"]
    yield _share("clipped card said", [one.clipped_said for one in read if one.card_clipped], 0.95)
    unclipped = [not one.clipped_said for one in read if not one.card_clipped]
    yield _share("unclipped card not called clipped", unclipped, 0.97)


def _cost_lines(seen: list[Seen]) -> Iterable[Line]:
    numbers = [one.number_cost for one in seen if one.card_inside]
    yield ("cost of the number, in decodes (median)", *_low(float(np.median(numbers)), 2.5))
    yield ("cost of everything, in decodes (median)", *_low(float(np.median([one.whole_cost for one in seen])), 20))


def _several_lines(seen: list[SeenSeveral]) -> Iterable[Line]:
    works, wrong = sum(one.works for one in seen), sum(one.wrong for one in seen)
    right, asked = sum(one.right for one in seen), sum(one.asked_right for one in seen)
    yield "several works: given to a wrong number or badly cut", f"{wrong}/{works}", "0", wrong == 0
    found = (right + asked) / works
    yield "several works: found, to the right number", f"{right + asked}/{works} {found:.1%}", ">= 95 %", found >= 0.95
    read = sum(one.read for one in seen)
    of_read = f"{right + asked}/{read} {(right + asked) / read:.1%}"
    yield "several works: found, where the card could be read", of_read, "", None
    yield "several works: found without asking", f"{right}/{works} {right / works:.1%}", "", None


def _share(what: str, hits: list[bool], bar: float | None) -> Line:
    share = sum(hits) / len(hits) if hits else 1.0
    said = f"{sum(hits)}/{len(hits)} {share:.1%}"
    return what, said, "" if bar is None else f">= {bar:.0%}", None if bar is None else share >= bar


def _low(value: float, bar: float, unit: str = "") -> tuple[str, str, bool]:
    return f"{value:.2f}{unit}", f"<= {bar:g}{unit}", bool(value <= bar)


def _high(value: float, bar: float) -> tuple[str, str, bool]:
    return f"{value:.4f}", f">= {bar:g}", bool(value >= bar)
