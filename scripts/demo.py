"""Build ``demo_gallery/`` anew from the invented school, or check that it still is what the program makes.

    python3 scripts/demo.py            build it
    python3 scripts/demo.py --check    build it elsewhere and compare (a few minutes)

The gallery is the published show of the invented school on a fixed day. Page addresses are drawn at random, as for
any publication, so pages are compared by their text with each address replaced by its place in the show, and pictures
by their dots with a tolerance (other processors round differently).
"""

from __future__ import annotations

import subprocess
import sys

from environment import ROOT, TEST_LOCK, prepare


def main() -> int:
    """Hand over to the project's own Python."""
    python = prepare(TEST_LOCK)
    command = [str(python), "-m", "portfolio.demo.gallery", *sys.argv[1:]]
    return subprocess.run(command, cwd=ROOT, check=False).returncode


if __name__ == "__main__":
    sys.exit(main())
