"""Where a backup may go: disks and sticks that are plugged in, as the system mounts them."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterable
from pathlib import Path
from typing import Final

BACKUP_FOLDER: Final = "art-room-backup"
"""The folder proposed on a disk: a disk itself holds other things."""
_MOUNTED_UNDER: Final = ("/Volumes", "/media", "/run/media")


def plugged_in(under: Iterable[str] = _MOUNTED_UNDER) -> tuple[Path, ...]:
    """A proposed folder on each disk that is plugged in besides the computer's own, by name; often none."""
    if sys.platform == "win32":
        disks = [Path(f"{letter}:/") for letter in "DEFGHIJKLMNOPQRSTUVWXYZ"]
        return tuple(disk / BACKUP_FOLDER for disk in disks if disk.exists())
    found = [disk for top in map(Path, under) for disk in _mounted(top)]
    return tuple(disk / BACKUP_FOLDER for disk in sorted(found) if os.access(disk, os.W_OK))


def _mounted(top: Path) -> list[Path]:
    """Mounted folders one or two levels down (some systems put the user's name between)."""
    try:
        near = [entry for entry in top.iterdir() if entry.is_dir() and not entry.is_symlink()]
        far = [entry for one in near if not one.is_mount() for entry in one.iterdir() if entry.is_dir()]
    except OSError:
        return []
    return [entry for entry in (*near, *far) if entry.is_mount()]
