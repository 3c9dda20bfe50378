"""Pictures of every screen at phone and desktop size, in light and dark, to be looked at.

    python3 scripts/screens.py OUT                       of the invented school (its library is made first: minutes)
    python3 scripts/screens.py OUT --library DIR         of the library in DIR, opened as on the invented school's day
    python3 scripts/screens.py OUT --only check          screens whose name holds "check"
    python3 scripts/screens.py --readme                  the few that README.md shows, into demo_gallery/screens
    python3 scripts/screens.py --barriers                no pictures: every barrier on every screen (axe at three
                                                         widths, zoom, text spacing, console, weight of a first view)

Each is named SCREEN-WIDTH-SCHEME.png. Says every screen that scrolls sideways and every error in the console.
"""

from __future__ import annotations

import os
import subprocess
import sys

from environment import ROOT, TEST_LOCK, prepare


def main() -> int:
    """Hand over to the project's own Python, on whose path the tests' browser lies."""
    python = prepare(TEST_LOCK)
    path = os.pathsep.join([str(ROOT), str(ROOT / "scripts")])
    asked = sys.argv[1:]
    what = "looking.barriers" if "--barriers" in asked else "looking.screens"
    command = [str(python), "-m", what, *(one for one in asked if one != "--barriers")]
    return subprocess.run(command, cwd=ROOT, check=False, env={**os.environ, "PYTHONPATH": path}).returncode


if __name__ == "__main__":
    sys.exit(main())
