"""Measure speed, memory and quality; figures are ratios against a floor or a peer measured in the same run.

    python3 scripts/bench.py imaging|reading|filing|search|publish|web [words of that bench; try --help]

Each bench prints one line a figure: what · measured · bar · ok or short.
"""

from __future__ import annotations

import os
import subprocess
import sys

from environment import ROOT, TEST_LOCK, prepare

BENCHES = ("imaging", "reading", "filing", "search", "publish", "web")


def main() -> int:
    """Run one bench in the project's own Python."""
    if len(sys.argv) < 2 or sys.argv[1] not in BENCHES:
        print(__doc__)
        return 2
    python = prepare(TEST_LOCK)
    code = "import sys; sys.path.insert(0, 'scripts'); from benches.{0} import run; sys.exit(run(sys.argv[1:]))"
    environment = {**os.environ, "OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"}
    command = [str(python), "-c", code.format(sys.argv[1]), *sys.argv[2:]]
    return subprocess.run(command, cwd=ROOT, check=False, env=environment).returncode


if __name__ == "__main__":
    sys.exit(main())
