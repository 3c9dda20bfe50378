"""A class of 30 photos through the program's own workers on two cores: how long it takes and what memory it needs."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

from tests.support.held_out import SETS

_READ = """
import json, resource, sys, time
from pathlib import Path
from portfolio.flows.executors import make_executor
from portfolio.flows.look import look_at

if __name__ == "__main__":
    paths = sorted(Path(sys.argv[1]).glob("*.jpg"))
    with make_executor("process", 2) as pool:
        look_at(paths[:2], pool)
        started = time.perf_counter()
        look_at(paths, pool)
        wall = time.perf_counter() - started
    look_at(paths[:6], make_executor("inline"))  # guarded children of this process: their memory can be asked for
    most = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss
    print(json.dumps({"wall": wall, "kilobytes": most}))
"""


def time_a_class(seeds: Sequence[int]) -> list[tuple[str, str, str, bool | None]]:
    """Photograph a class, then read it in a program of its own, so that only reading is measured."""
    with tempfile.TemporaryDirectory() as folder:
        for seed in seeds:
            Path(folder, f"{seed}.jpg").write_bytes(SETS["class"][1](seed).jpeg)
        program = Path(folder, "read_class.py")
        program.write_text(_READ, encoding="utf-8")
        done = subprocess.run(
            [sys.executable, str(program), folder],
            stdout=subprocess.PIPE,
            text=True,
            check=True,
            env={**os.environ, "PYTHONPATH": str(Path.cwd())},
        )
    found = json.loads(done.stdout)
    megabytes = found["kilobytes"] / 1024
    return [
        (f"a class of {len(seeds)} photos on two cores, seconds", f"{found['wall']:.1f}", "", None),
        ("memory of the largest worker, MB", f"{megabytes:.0f}", "<= 400", megabytes <= 400),
    ]
