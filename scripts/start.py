"""Set everything up, build the demo school, run the whole road on it and open the app.

    python3 scripts/start.py            the demo school, in a folder of its own
    python3 scripts/start.py --library DIR    your own library instead

Everything after ``--`` goes to ``portfolio demo`` (or ``portfolio serve`` with --library).
"""

from __future__ import annotations

import argparse
import subprocess
import sys

from environment import ROOT, RUN_LOCK, prepare


def main() -> int:
    """Prepare ``.venv``, then hand over to the program."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--library", help="open this library instead of the demo school")
    parser.add_argument("--port", help="port on this machine (default: a free one)")
    parser.add_argument("--no-open", action="store_true", help="do not open the browser")
    given = parser.parse_args()
    python = prepare(RUN_LOCK)
    command = [str(python), "-m", "portfolio", *(["serve", "--library", given.library] if given.library else ["demo"])]
    command += ["--port", given.port] if given.port else []
    command += ["--no-open"] if given.no_open else []
    try:
        return subprocess.run(command, cwd=ROOT, check=False).returncode
    except KeyboardInterrupt:
        return 0


if __name__ == "__main__":
    sys.exit(main())
