"""How fast is a show chosen, its site built, swept and built again after one change? CPU seconds of this process.

Bars: a site of 600 students' works rebuilt after one changed title in at most 0.1 s, pictures left out; no name in any
byte. The ratio to the whole build is printed along.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import random
import shutil
import tempfile
import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

from portfolio.model.people import Audience, ChildName
from portfolio.model.showing import Candidate, KnownChild, Label, ShowLimits, SiteText
from portfolio.privacy.forms import artist_words, grade_sign
from portfolio.privacy.matching import forbidden_for
from portfolio.privacy.seal import seal
from portfolio.privacy.sweep import Granted, sweep
from portfolio.publish.build import Built, build, own_files
from portfolio.publish.parts import fixed_pieces
from portfolio.shows.choose import choose

BAR_AGAIN_S = 0.1
DAY = date(2027, 3, 1)
WORDS = ("sun", "house", "cat", "tree", "rainbow", "monster", "sea", "boat", "night", "snow", "flower", "dog", "bird")
SYLLABLES = ["zor", "vex", "quil", "tam", "bru", "nyx", "fel", "dro", "ghi", "lup"]


def made_up_children(count: int, chance: random.Random) -> list[KnownChild]:
    """Children with names that no real child has."""

    def name() -> str:
        return "".join(chance.choice(SYLLABLES) for _ in range(3)).title()

    return [
        KnownChild(key, ChildName(seal(name()), seal(name())), (), frozenset({f"{key % 6}{'ABCD'[key % 4]}"}))
        for key in range(count)
    ]


def made_up_labels(count: int, chance: random.Random) -> tuple[Label, ...]:
    """Finished labels without pictures."""
    labels = []
    for index in range(count):
        grade = str(chance.randint(1, 5))
        words = " ".join(chance.choice(WORDS) for _ in range(12)) + "." if chance.random() < 0.6 else ""
        title = " ".join(chance.choice(WORDS) for _ in range(3))
        artist = artist_words(grade)
        key = f"k{index // 1000}t{index // 100 % 10}z{index // 10 % 10}w{index % 10}"
        label = Label(key, artist, artist, grade_sign(grade), title, "Tempera", words, "en", 305, 229)
        labels.append(label)
    return tuple(labels)


def cpu(work: Callable[[], Any]) -> tuple[float, Any]:
    """CPU seconds of a call, and what it gave."""
    start = time.process_time()
    value = work()
    return time.process_time() - start, value


def _choice_figures(chance: random.Random, students: int) -> list[dict[str, Any]]:
    works = []
    for child in range(students):
        for _ in range(chance.randint(1, 12)):
            area = chance.choice([90_000, 150_000, 240_000, 330_000])
            media = chance.choice(["crayon", "crayon", "tempera", "clay", "collage", "print"])
            works.append(Candidate(len(works), (child,), str(child % 6), media, area, chance.randint(0, 3)))
    enough, choice = cpu(lambda: choose(works, ShowLimits(per_child=2)))
    scarce, short = cpu(lambda: choose(works, ShowLimits(per_child=2, surface_mm2=45_000_000)))
    text = f"{len(choice.chosen)} of {len(works)} works, nobody missing"
    return [
        {"what": f"choose, room enough ({text})", "measured": enough, "unit": "s", "ok": not choice.missing},
        {
            "what": f"choose, wall too small ({len(short.missing)} children missing, fewest proved: {short.proved})",
            "measured": scarce,
            "unit": "s",
            "ok": short.proved,
        },
    ]


def _site_figures(chance: random.Random, students: int, repeats: int) -> list[dict[str, Any]]:
    children, labels = made_up_children(students * 2, chance), made_up_labels(students, chance)
    text = SiteText("The Long Wall", Audience.PUBLIC, "A spring show.", "Harbor Road School", "2026–27")
    forms_s, forbidden = cpu(lambda: forbidden_for(children, Audience.PUBLIC, day=DAY))
    own = frozenset(hashlib.sha256(path.read_bytes()).hexdigest() for _, path in own_files())
    granted = Granted(everywhere=fixed_pieces(), own_files=own)
    with tempfile.TemporaryDirectory() as folder:
        site, again = Path(folder) / "site", Path(folder) / "again"

        def whole() -> tuple[Built, Any]:
            shutil.rmtree(site, ignore_errors=True)
            site.mkdir()
            built = build(text, labels, site)
            return built, sweep(site, forbidden, granted=granted)

        def once_more() -> tuple[Built, Any]:
            again.mkdir()
            rebuilt = build(text, changed, again, standing=site, before=built)
            known = [
                file.sha256 for name, file in rebuilt.files.items() if rebuilt.files[name] == built.files.get(name)
            ]
            return rebuilt, sweep(again, forbidden, granted=granted, clean=known)

        wholes = [cpu(whole) for _ in range(repeats)]
        full_s, (built, first) = min(one[0] for one in wholes), wholes[-1][1]
        changed = (replace(labels[0], title="Another title"), *labels[1:])
        times = []
        for _ in range(repeats):
            times.append(cpu(once_more))
            shutil.rmtree(again)
        again_s, (rebuilt, second) = min(times, key=lambda one: one[0])
    names = f"{forbidden.count} name forms of {len(children)} children"
    hits = len(first.hits) + len(second.hits)
    return [
        {"what": f"name forms prepared ({names})", "measured": forms_s, "unit": "s", "ok": True},
        {"what": f"whole site, {built.pages} pages, swept", "measured": full_s, "unit": "s", "ok": True},
        {
            "what": f"again after one title ({rebuilt.written} files written)",
            "measured": again_s,
            "unit": "s",
            "bar": BAR_AGAIN_S,
            "ok": again_s <= BAR_AGAIN_S,
        },
        {
            "what": "again against whole",
            "measured": again_s / full_s,
            "unit": "×",
            "ok": True,
        },
        {"what": "names found", "measured": hits, "unit": "", "bar": 0, "ok": not hits},
    ]


def run(argv: Sequence[str]) -> int:
    """Run the bench; 0 = all bars kept."""
    parser = argparse.ArgumentParser(prog="bench.py publish", description=__doc__)
    parser.add_argument("--students", type=int, default=600)
    parser.add_argument("--repeats", type=int, default=3)
    parser.add_argument("--seed", type=int, default=7)
    parser.add_argument("--json", action="store_true")
    asked = parser.parse_args(argv)
    chance = random.Random(asked.seed)  # noqa: S311  invented works, no secrets
    figures = _choice_figures(chance, asked.students) + _site_figures(chance, asked.students, asked.repeats)
    if asked.json:
        print(json.dumps(figures))
    else:
        for one in figures:
            bar = f"  bar {one['bar']}{one['unit']}" if "bar" in one else ""
            print(f"{one['what']:<70} {one['measured']:.3f} {one['unit']}{bar}  {'ok' if one['ok'] else 'short'}")
    return 0 if all(one["ok"] for one in figures) else 1
