"""Style, types and the import contract: ruff, mypy, import-linter, and that map = folders = contract.

python3 scripts/check.py [--fix]
"""

from __future__ import annotations

import re
import sys
import tomllib

from environment import ROOT, TEST_LOCK, VENV, prepare, run, say

NOT_ROOMS = {"__pycache__", "py.typed"}


def main() -> int:
    """Run every check; stop at the first that fails."""
    python = prepare(TEST_LOCK)
    fix = ["--fix"] if "--fix" in sys.argv[1:] else []
    map_equals_folders_equals_contract()
    run([python, "-m", "ruff", "check", *fix, "."])
    run([python, "-m", "ruff", "format", *([] if fix else ["--check"]), "."])
    run([python, "-m", "mypy"])
    run([python, VENV / ("Scripts/lint-imports.exe" if sys.platform == "win32" else "bin/lint-imports"), "--no-cache"])
    say("All checks passed.")
    return 0


def map_equals_folders_equals_contract() -> None:
    """The map in ``portfolio/__init__.py``, the folders and the import contract name the same rooms."""
    folders = {
        path.stem for path in (ROOT / "portfolio").iterdir() if path.name not in NOT_ROOMS and path.stem != "__init__"
    }
    text = (ROOT / "portfolio" / "__init__.py").read_text(encoding="utf-8")
    on_map = set(re.findall(r"^``(\w+)``", text, flags=re.MULTILINE))
    settings = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    layers = settings["tool"]["importlinter"]["contracts"][0]["layers"]
    in_contract = {name.strip() for layer in layers for name in layer.split("|")}
    for what, names in (("map", on_map | {"__main__"}), ("import contract", in_contract)):
        if names != folders:
            raise SystemExit(f"Rooms and {what} differ: {sorted(names ^ folders)}")


if __name__ == "__main__":
    sys.exit(main())
