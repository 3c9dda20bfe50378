"""Build a site into a staging folder; unchanged files are taken over from the site that stands, by link.

A file is taken over only if nothing that goes into it changed and it still is, to the byte count and the second, the
file that was built. What was built, from what, is kept outside the site (:class:`Built`).
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

from portfolio.model.assets import asset
from portfolio.model.showing import Label, Picture, SiteText
from portfolio.publish.pages import pages
from portfolio.publish.pictures import Shape, fresh_jpeg, fresh_webp, shape_of, signature

RECIPE: Final = 1
"""Raised when pictures are made in another way, so that all are made anew."""
NOTE: Final = "about-this-folder.json"
"""Says that the folder is ours and lists every file in it: only such a folder is ever replaced."""


@dataclass(frozen=True, slots=True)
class FileBuilt:
    """One file of a site: what went into it, what came out."""

    digest: str
    sha256: str
    size: int
    mtime_ns: int
    clean: str = ""
    """Under which forbidden names and grants it was found clean; empty = not searched yet."""


@dataclass
class Built:
    """A site as it was built. ``sizes``: pixel sizes of source pictures by their signature."""

    files: dict[str, FileBuilt] = field(default_factory=dict)
    sizes: dict[str, tuple[int, int]] = field(default_factory=dict)
    written: int = 0
    """How many files were made anew this time."""

    @property
    def digest(self) -> str:
        """One digest for the whole site."""
        told = "\n".join(f"{name} {self.files[name].sha256}" for name in sorted(self.files))
        return hashlib.sha256(told.encode()).hexdigest()

    @property
    def pages(self) -> int:
        """How many pages it has."""
        return sum(name.endswith(".html") for name in self.files)

    @property
    def pictures(self) -> int:
        """How many works' pictures it has, however many sizes of each."""
        return len({name.rsplit("-", 1)[0] for name in self.files if name.startswith("pictures/")})

    def as_json(self) -> dict[str, Any]:
        """Plain values, to be kept until the next build. Digests only: nothing of what the pages say."""
        rows = {n: [f.digest, f.sha256, f.size, f.mtime_ns, f.clean] for n, f in self.files.items()}
        return {"recipe": RECIPE, "files": rows, "sizes": self.sizes}

    @classmethod
    def from_json(cls, value: dict[str, Any]) -> Built:
        """Back from plain values; another recipe gives an empty one, so that everything is built."""
        if value.get("recipe") != RECIPE:
            return cls()
        files = {name: FileBuilt(*row) for name, row in value["files"].items()}
        return cls(files, {name: (size[0], size[1]) for name, size in value["sizes"].items()})


@dataclass(frozen=True, slots=True)
class _Wanted:
    file: str
    digest: str
    make: Callable[[], bytes]


def build(
    text: SiteText,
    labels: tuple[Label, ...],
    staged: Path,
    *,
    standing: Path | None = None,
    before: Built | None = None,
    done: Callable[[int], None] | None = None,
) -> Built:
    """Make the whole site in the empty folder ``staged``. ``standing`` and ``before``: the site as last built."""
    old, new = before or Built(), Built()
    shapes: dict[str, Shape | None] = {}
    for label in labels:
        shapes[label.key] = shape_of(label.picture, sizes=old.sizes)
    for folder in ("works", "pictures", "fonts"):
        (staged / folder).mkdir(parents=True)
    for count, wanted in enumerate(_wanted(text, labels, shapes)):
        new.files[wanted.file] = _taken_over(wanted, staged, standing, old) or _made(wanted, staged, new)
        if done is not None and count % 50 == 0:
            done(count)
    kept = _signatures(labels)
    new.sizes = {key: size for key, size in old.sizes.items() if key in kept}
    note = {"made_by": "Portfolio", "files": sorted(new.files)}
    content = (json.dumps(note, indent=0) + "\n").encode()
    digest = hashlib.sha256(content).hexdigest()
    unit = _Wanted(NOTE, digest, lambda: content)
    new.files[NOTE] = _taken_over(unit, staged, standing, old) or _made(unit, staged, new)
    return new


def _signatures(labels: tuple[Label, ...]) -> set[str]:
    return {signature(path) for label in labels if label.picture for path in label.picture.files}


def _wanted(text: SiteText, labels: tuple[Label, ...], shapes: dict[str, Shape | None]) -> Iterator[_Wanted]:
    for page in pages(text, labels, shapes):
        yield _Wanted(page.file, page.digest, _utf8(page.render))
    for label in labels:
        shape = shapes[label.key]
        if label.picture is not None and shape is not None:
            yield from _pictures(label.key, label.picture, shape)
    for name, path in own_files():
        yield _Wanted(name, f"{path.stat().st_size} {path.stat().st_mtime_ns}", path.read_bytes)


def _utf8(render: Callable[[], str]) -> Callable[[], bytes]:
    return lambda: render().encode()


def own_files() -> Iterator[tuple[str, Path]]:
    """The program's own files in every site: name in the site, and where they are copied from, unchanged."""
    yield "site.css", asset("site", "site.css")
    yield "find.js", asset("site", "find.js")
    for path in sorted(asset("fonts").iterdir()):
        if path.suffix in (".woff2", ".css", ".txt"):
            yield f"fonts/{path.name}", path


def _pictures(key: str, picture: Picture, shape: Shape) -> Iterator[_Wanted]:
    as_jpeg, as_webp = ({rung for rung, _ in of_form} for of_form in (shape.jpeg, shape.webp))
    for path, rung in zip(picture.files, shape.rungs, strict=True):
        digest = f"{RECIPE} {signature(path)} {picture.masks!r}"
        if rung in as_jpeg:
            yield _Wanted(f"pictures/{key}-{rung}.jpg", digest, _drawn(fresh_jpeg, path, picture))
        if rung in as_webp:
            yield _Wanted(f"pictures/{key}-{rung}.webp", digest, _drawn(fresh_webp, path, picture))


def _drawn(draw: Callable[..., bytes], path: Path, picture: Picture) -> Callable[[], bytes]:
    return lambda: draw(path.read_bytes(), picture.masks)


def _made(wanted: _Wanted, staged: Path, new: Built) -> FileBuilt:
    content, path = wanted.make(), staged / wanted.file
    path.write_bytes(content)
    stat = path.stat()
    new.written += 1
    return FileBuilt(wanted.digest, hashlib.sha256(content).hexdigest(), stat.st_size, stat.st_mtime_ns)


def _taken_over(wanted: _Wanted, staged: Path, standing: Path | None, old: Built) -> FileBuilt | None:
    was = old.files.get(wanted.file)
    if was is None or standing is None or was.digest != wanted.digest:
        return None
    source = os.path.join(standing, wanted.file)  # noqa: PTH118  thousands of files
    try:
        stat = os.stat(source)  # noqa: PTH116
        if (stat.st_size, stat.st_mtime_ns) != (was.size, was.mtime_ns):
            return None
        _link(source, os.path.join(staged, wanted.file))  # noqa: PTH118
    except OSError:
        return None
    return was


def _link(source: str, target: str) -> None:
    try:
        os.link(source, target)
    except OSError:  # a stick without hard links, or another disk
        shutil.copy2(source, target)
