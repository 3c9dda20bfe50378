"""Install what the tests need and run them. Ends with pytest's own summary.

    python3 scripts/test.py [pytest's words]

The browser tests drive a Chromium that the system provides, and reading printed cards back needs poppler's
``pdftoppm``; on Debian and Ubuntu, as root, both are installed when they are missing.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys

from environment import ROOT, TEST_LOCK, prepare, run, say

BROWSERS = ("chromium", "chromium-browser", "google-chrome", "chrome", "msedge")


def main() -> int:
    """Prepare, then hand over to pytest."""
    python = prepare(TEST_LOCK)
    install_programs()
    cores = str(min(4, os.cpu_count() or 1))
    # A file stays on one core: its tests share a room, and the longest file starts before the end.
    shared_out = ["-n", cores, "--dist", "loadfile", "--no-loadscope-reorder"]
    words = sys.argv[1:] or [*shared_out, "--durations", "15"]
    return subprocess.run([str(python), "-m", "pytest", "-q", *words], cwd=ROOT, check=False).returncode


def install_programs() -> None:
    """Chromium and poppler, from the system's own packages, when they are missing and we may."""
    missing = [] if any(map(shutil.which, BROWSERS)) else ["chromium"]
    missing += [] if shutil.which("pdftoppm") else ["poppler-utils"]
    if not missing:
        return
    if not (shutil.which("apt-get") and hasattr(os, "geteuid") and os.geteuid() == 0):
        say(f"Not found: {', '.join(missing)}. The tests that need them are skipped and say so.")
        return
    say(f"Installing {', '.join(missing)} …")
    quiet = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    run(["apt-get", "update", "-qq"], env=quiet, stdout=subprocess.DEVNULL)
    words = ["apt-get", "install", "-y", "-qq", "--no-install-recommends", *missing, "fonts-dejavu-core"]
    run(words, env=quiet, stdout=subprocess.DEVNULL)


if __name__ == "__main__":
    sys.exit(main())
