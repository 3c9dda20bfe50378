"""Make and use ``.venv`` in the project's root. Standard library only, so that it runs on a bare machine.

Uses uv when it is there, else venv and pip. What is installed stands in the lock files, with hashes.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
VENV = ROOT / ".venv"
PYTHON = VENV / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
RUN_LOCK = ROOT / "requirements.lock"
TEST_LOCK = ROOT / "requirements-test.lock"


def prepare(lock: Path) -> Path:
    """Make sure that ``.venv`` holds what ``lock`` says and the project itself; gives its Python."""
    _check_python()
    if not PYTHON.exists():
        say("Making .venv …")
        uv = shutil.which("uv")
        command = [uv, "venv", "-q", "--python", sys.executable, VENV] if uv else [sys.executable, "-m", "venv", VENV]
        run(command)
    if not _is_up_to_date(lock):
        say("Installing what Portfolio needs (once; a few minutes on a slow line) …")
        _install("--require-hashes", "-r", lock)
        _install("--no-deps", "-e", ROOT)
        _stamp(lock).write_text(_digest(lock), encoding="ascii")
    return PYTHON


def _check_python() -> None:
    if sys.version_info < (3, 11):  # noqa: UP036  this file is what an older Python meets first
        raise SystemExit(f"Portfolio needs Python 3.11 or newer; this is {sys.version.split()[0]}.")


def _install(*what: str | Path) -> None:
    uv = shutil.which("uv")
    if uv:
        run([uv, "pip", "install", "-q", "--python", PYTHON, *what])
    else:
        run([PYTHON, "-m", "pip", "install", "-q", "--disable-pip-version-check", *what])


def _stamp(lock: Path) -> Path:
    return VENV / f"{lock.name}.installed"


def _digest(lock: Path) -> str:
    return hashlib.sha256(lock.read_bytes() + (ROOT / "pyproject.toml").read_bytes()).hexdigest()


def _is_up_to_date(lock: Path) -> bool:
    stamps = [_stamp(lock)] if lock == TEST_LOCK else [_stamp(lock), _stamp(TEST_LOCK)]
    return any(
        stamp.is_file() and stamp.read_text(encoding="ascii") == _digest(ROOT / stamp.name.removesuffix(".installed"))
        for stamp in stamps
    )


def run(command: list[str | Path | None], **more: object) -> None:
    """Run a program and stop with its status when it fails."""
    done = subprocess.run([str(part) for part in command], cwd=ROOT, check=False, **more)  # type: ignore[call-overload]
    if done.returncode:
        raise SystemExit(done.returncode)


def say(words: str) -> None:
    """Tell the person what happens."""
    print(words, file=sys.stderr, flush=True)
