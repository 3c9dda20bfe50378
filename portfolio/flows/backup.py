"""Backup and restore: the whole library into a folder of plain files, and from there into an empty one.

Order of a backup: the records first, by one consistent copy, then the originals that are new there, then sidecars and
settings. So every photo that the records speak of is stored before it is copied. The copy of the records is opened
anew and checked before anything takes the place of the backup that stood there; only then does it count as done.

A backup holds what the library holds, the children's names too. It is not locked by a password: it belongs where class
lists are kept. Pictures for the screen, the search index and published pages are not in it; the first two are made
anew, pages are published anew.
"""

from __future__ import annotations

import shutil
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

from portfolio import __version__
from portfolio.archive import backups, doctor, settings, snapshot
from portfolio.archive.backups import Done
from portfolio.archive.bag import Bad, Bag, NewBackup, copy, disk_of_backup, original_of, refuse_place
from portfolio.archive.library import DATABASE, Library
from portfolio.archive.originals import SourceError, sync_folder
from portfolio.archive.snapshot import Snapshot
from portfolio.errors import DiskError, LibraryError, Problem, Refused
from portfolio.flows.indexing import Words

OLD_AFTER_DAYS: Final = 7
"""So many days may pass between two backups before it is said on Today."""
SPARE_BYTES: Final = 50_000_000
"""Left free on the disk of a backup or of a restored library."""
_DATABASE: Final = f"data/{DATABASE}"
_SIDECARS: Final = "data/sidecars/"

Told = Callable[[str, int, int], object]
"""Called with what is being done, how many files are done, and of how many."""


def quiet(what: str, done: int, of: int) -> None:
    """Tell nobody."""


@dataclass(frozen=True, slots=True)
class BackedUp:
    """A backup that is done: what it holds, what was new, and originals that the library itself no longer has whole."""

    at_utc: datetime
    works: int
    children: int
    originals: int
    new_originals: int
    new_bytes: int
    problems: tuple[Problem, ...] = ()


@dataclass(frozen=True, slots=True)
class Restored:
    """A library made from a backup, and what could not be brought back. ``rebuilt``: its records are from sidecars."""

    at: str
    """When the backup was made, as it says itself."""
    works: int
    children: int
    originals: int
    left_out: tuple[Problem, ...] = ()
    rebuilt: bool = False


def last_backup(library: Library) -> Done | None:
    """The last backup that was finished and checked, if any."""
    return backups.last_done(library.folder)


def check_place(library: Library, folder: Path) -> None:
    """Refuses a folder that a backup of this library cannot go to, before anything is begun."""
    inside = library.folder.resolve()
    wanted = folder.expanduser().resolve()
    if wanted.is_relative_to(inside) or inside.is_relative_to(wanted):
        raise Refused("backup-place", found="it lies in the library itself, or around it")
    with disk_of_backup():
        refuse_place(folder, identity=backups.identity(library.folder))


# --- backup -----------------------------------------------------------------------------------------------


def back_up(library: Library, folder: Path, *, now: datetime | None = None, told: Told = quiet) -> BackedUp:
    """Bring the backup in ``folder`` up to the library as it is now. Others may write to the library meanwhile.

    Cut off at any moment, the folder still holds the backup that stood there, or the new one.
    """
    check_place(library, folder)
    with disk_of_backup(), NewBackup(folder, identity=backups.identity(library.folder)) as into:
        told("the records", 0, 1)
        copied = into.room_for(_DATABASE)
        snapshot.copy_database(library.folder / DATABASE, copied)
        into.take_written(_DATABASE)
        holds = snapshot.look_at(copied)
        problems = _take_files(into, _stand_ins(library), told=told)  # one of them may go while originals are copied
        new_originals, new_bytes, lost = _take_originals(library, into, holds=holds, told=told)
        problems += lost + _take_files(into, _small_files(library), told=told)
        at_utc = now or datetime.now(UTC)
        into.finish(_info(holds, at_utc))
    originals = sum(original_of(name) is not None for name in into.listed)
    backups.note_done(library.folder, Done(at_utc, folder, holds.works, originals))
    return BackedUp(at_utc, holds.works, holds.children, originals, new_originals, new_bytes, problems)


def _take_originals(
    library: Library, into: NewBackup, *, holds: Snapshot, told: Told
) -> tuple[int, int, tuple[Problem, ...]]:
    """Copy what is new. An original that the library has lost, or no longer whole, is kept from an earlier backup."""
    stored = set(library.originals.all()) | set(holds.originals)
    new = [sha for sha in sorted(stored) if not into.has_original(sha, size_bytes=holds.originals.get(sha) or None)]
    _refuse_full(into.folder, _bytes_of(library, new))
    for sha in stored.difference(new):
        into.keep_original(sha)
    problems, copied = [], 0
    for done, sha in enumerate(new):
        told("the photos", done, len(new))
        source = library.originals.path(sha)
        problem = _take_original(into, sha, source)
        if problem is None:
            copied += source.stat().st_size
            continue
        problems.append(problem)
        if into.has_original(sha):
            into.keep_original(sha)
    return len(new) - len(problems), copied, tuple(problems)


def _take_original(into: NewBackup, sha256: str, source: Path) -> Problem | None:
    item = f"a photo ({sha256[:8]})"
    if not source.is_file():
        return Problem("original-missing", item)
    try:
        return None if into.take_original(sha256, source) else Problem("original-altered", item)
    except SourceError as error:
        return Problem("original-unreadable", item, error.strerror or "unknown reason")


def _bytes_of(library: Library, digests: list[str]) -> int:
    paths = (library.originals.path(sha) for sha in digests)
    return sum(path.stat().st_size for path in paths if path.is_file())


def _refuse_full(folder: Path, needed: int) -> None:
    if shutil.disk_usage(folder).free < needed + SPARE_BYTES:
        raise DiskError("backup-full")


def _stand_ins(library: Library) -> list[tuple[str, Path]]:
    """Small pictures of photos whose originals are still on their way."""
    return [(f"data/stand-ins/{sha[:2]}/{sha}", library.stand_ins.path(sha)) for sha in sorted(library.stand_ins.all())]


def _small_files(library: Library) -> list[tuple[str, Path]]:
    """Settings and sidecars; the records hold what the sidecars say."""
    small = [(f"data/{name}", library.folder / name) for name in (settings.FILE_NAME, backups.IDENTITY_FILE)]
    found = sorted(library.sidecars.rglob("*.json"))
    return [*small, *((f"{_SIDECARS}{path.relative_to(library.sidecars).as_posix()}", path) for path in found)]


def _take_files(into: NewBackup, files: list[tuple[str, Path]], *, told: Told) -> tuple[Problem, ...]:
    """Copy what differs from the last backup; one that cannot be read is told."""
    problems = []
    for done, (name, path) in enumerate(files):
        if done % 50 == 0:
            told("the records beside the photos", done, len(files))
        try:
            into.take(name, path)
        except SourceError as error:
            problems.append(Problem("sidecar-unreadable", name, error.strerror or "unknown reason"))
    return tuple(problems)


def _info(holds: Snapshot, at_utc: datetime) -> dict[str, str]:
    return {
        "Bag-Software-Agent": f"Portfolio {__version__}",
        "Bagging-Date": at_utc.date().isoformat(),
        "Bagging-Time": at_utc.isoformat(timespec="seconds"),
        "Records-Schema": holds.schema,
        "Works": str(holds.works),
        "Internal-Sender-Description": "Holds children's names. Keep it where class lists are kept.",
    }


# --- restore ----------------------------------------------------------------------------------------------


def check_backup(folder: Path, *, told: Told = quiet) -> tuple[Problem, ...]:
    """Read every file of a backup again; what is missing or was changed is named. Empty = all is well."""
    with disk_of_backup():
        return tuple(one.problem for one in _bad_files(Bag(folder), told))


def restore(source: Path, target: Path, *, leave_out_damaged: bool = False, told: Told = quiet) -> Restored:
    """Make the library of a backup in an empty folder. Every file is read and compared first.

    When any is damaged, nothing is written and each is named; ``leave_out_damaged`` then restores everything else
    (damaged records are made anew from the sidecars). The backup itself is never changed.
    """
    bag = Bag(source)
    _refuse_target(target, source)
    with disk_of_backup():
        listed = bag.manifest()
        bad = _bad_files(bag, told)
        if bad and not leave_out_damaged:
            raise _damaged(bad, of=len(listed))
        left = {one.name for one in bad}
        names = [name for name in listed if name not in left]
        try:
            _copy_all(bag, names, listed=listed, target=target, told=told)
            rebuilt = _make_records_whole(target)
        except BaseException:
            _clear(target)
            raise
    works, children, originals = _open_once(target)
    at = bag.info().get("Bagging-Time", "")
    _note_restored(target, source, at, works=works, originals=originals)
    return Restored(at, works, children, originals, tuple(one.problem for one in bad), rebuilt)


def _bad_files(bag: Bag, told: Told) -> tuple[Bad, ...]:
    return bag.bad(told=lambda done, of: told("the backup's files", done, of))


def _refuse_target(target: Path, source: Path) -> None:
    if target.is_file() or (target.is_dir() and any(target.iterdir())):
        raise Refused("restore-place")
    if target.resolve().is_relative_to(source.resolve()):
        raise Refused("restore-place")


def _damaged(bad: tuple[Bad, ...], *, of: int) -> LibraryError:
    first = ", ".join(one.name for one in bad[:3])
    more = f" and {len(bad) - 3} more" if len(bad) > 3 else ""
    found = f"{len(bad)} of its {of} files: {first}{more}"
    return LibraryError("backup-damaged", found=found, details={one.name: one.problem.sentence for one in bad})


def told_of_damage(error: LibraryError) -> tuple[str, ...]:
    """A sentence for each damaged file of a backup that was refused."""
    return tuple(str(sentence) for sentence in error.details.values()) if error.code == "backup-damaged" else ()


def _copy_all(bag: Bag, names: list[str], *, listed: dict[str, str], target: Path, told: Told) -> None:
    target.mkdir(parents=True, exist_ok=True)
    _refuse_full(target, sum(bag.path(name).stat().st_size for name in names))
    for done, name in enumerate(names, start=1):
        place = target / Path(name).relative_to("data")
        place.parent.mkdir(parents=True, exist_ok=True)
        if _copied(bag.path(name), place) != listed[name]:
            raise _damaged((Bad(name, "backup-file-altered"),), of=len(listed))
        told("the library's files", done, len(names))
    for folder in (target, *(path for path in target.rglob("*") if path.is_dir())):
        sync_folder(folder)


def _copied(source: Path, place: Path) -> str | None:
    """The digest of what was copied; ``None`` when the backup's disk could not read it after all."""
    try:
        return copy(source, place)
    except SourceError:
        return None


def _make_records_whole(target: Path) -> bool:
    """Check the restored records; when they were damaged, make them from the sidecars. Tells whether it did."""
    if (target / DATABASE).is_file():
        (target / DATABASE).chmod(0o600)
        snapshot.look_at(target / DATABASE)
        return False
    doctor.rebuild(target)
    return True


def _clear(target: Path) -> None:
    """Take away what was begun; the folder was empty before."""
    for entry in target.iterdir() if target.is_dir() else ():
        shutil.rmtree(entry) if entry.is_dir() else entry.unlink()


def _open_once(target: Path) -> tuple[int, int, int]:
    """Open the restored library, which brings older records up to date, and build its index of words."""
    with Library.open(target) as library:
        words = Words(library)
        words.rebuild()
        words.close()
        health = doctor.check(library)
        holds = snapshot.look_at(target / DATABASE)
    return health.works, holds.children, health.originals


def _note_restored(target: Path, source: Path, at: str, *, works: int, originals: int) -> None:
    """The new library's last backup is the one that it came from."""
    if at:
        backups.note_done(target, Done(datetime.fromisoformat(at), source, works, originals))
