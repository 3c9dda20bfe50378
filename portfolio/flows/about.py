"""What this program is made of, with the license of each part, and where the library lies. Nothing is asked of the
network: it is read from the packages that are installed here.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from importlib import metadata
from pathlib import Path
from typing import Final

from portfolio import __version__
from portfolio.archive.library import Library
from portfolio.model.assets import asset

DISTRIBUTION: Final = "portfolio-artroom"
_NAME: Final = re.compile(r"[A-Za-z0-9._-]+")
_OWN_TEXT: Final = "its own text, inside the package"
_SHORT: Final = 60
"""A license's name is shorter than this; what is longer is its text."""


@dataclass(frozen=True, slots=True)
class Part:
    """One part of the program that others made."""

    name: str
    version: str
    license: str


@dataclass(frozen=True, slots=True)
class About:
    """The program and its library on this computer."""

    version: str
    license: str
    folder: Path
    packages: tuple[Part, ...]
    files: tuple[Part, ...]


DATA: Final = (
    Part(
        "Words by how rare they are, from SCOWL by Kevin Atkinson", "2020.12.07", "permissive, notice beside the file"
    ),
    Part("How children misspell, from Wikipedia’s lists of common misspellings", "", "CC BY-SA 4.0"),
    Part("Ids of media, from the Art & Architecture Thesaurus of the Getty Research Institute", "", "ODC-By 1.0"),
)
"""Data of others inside the program; ``portfolio/search/data/NOTICE`` and ``model/media.py`` tell it in full."""


def about(library: Library) -> About:
    """Everything that the page says."""
    return About(
        version=__version__,
        license="Apache-2.0",
        folder=library.folder.resolve(),
        packages=packages(),
        files=(*_vendored(), *_fonts(), *DATA),
    )


@cache
def packages() -> tuple[Part, ...]:
    """Every package that the program needs, and that those need, as they are installed here; by name."""
    found: dict[str, Part] = {}
    waiting = [DISTRIBUTION]
    seen = set()
    while waiting:
        name = waiting.pop()
        if _plain(name) in seen:
            continue
        seen.add(_plain(name))
        try:
            one = metadata.distribution(name)
        except metadata.PackageNotFoundError:  # not needed on this computer
            continue
        found[_plain(name)] = Part(one.metadata["Name"], one.version, _license(one.metadata))
        waiting += list(_needed(one, heic=name == DISTRIBUTION))
    found.pop(_plain(DISTRIBUTION), None)
    return tuple(found[name] for name in sorted(found))


def _plain(name: str) -> str:
    return re.sub(r"[-_.]+", "-", name).lower()


def _needed(one: metadata.Distribution, *, heic: bool) -> Iterator[str]:
    """Names of what a package requires; what only an extra asks for is left out, but for our own."""
    for line in one.requires or ():
        name, _, marker = line.partition(";")
        match = _NAME.match(name.strip())
        if match is not None and ("extra" not in marker or heic):
            yield match[0]


def _license(told: metadata.PackageMetadata) -> str:
    """The license as the package names it: an SPDX expression, else its classifiers, else a short name."""
    fields = {key: told.get_all(key) or [] for key in ("License-Expression", "Classifier", "License")}
    if fields["License-Expression"]:
        return str(fields["License-Expression"][0])
    classes = [one.rpartition(" :: ")[2] for one in fields["Classifier"] if one.startswith("License ::")]
    if classes:
        return ", ".join(classes)
    short = [one.strip() for one in fields["License"] if one and len(one.strip()) < _SHORT and "\n" not in one.strip()]
    return short[0] if short else _OWN_TEXT


def _vendored() -> Iterator[Part]:
    for line in asset("vendor", "MANIFEST").read_text(encoding="utf-8").splitlines():
        if line and not line.startswith("#"):
            name, version, licence, *_ = line.split()
            yield Part(name, version, licence)


def _fonts() -> Iterator[Part]:
    files = json.loads(asset("fonts", "MANIFEST.json").read_text(encoding="utf-8"))["files"]
    yield from sorted(
        {Part(f"{one['name']} (typeface)", one["version"], one["licence"]) for one in files}, key=lambda one: one.name
    )
