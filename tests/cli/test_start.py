"""The command line starts with what its own commands need."""

import subprocess
import sys


def test_no_command_waits_for_the_app_or_the_invented_school() -> None:
    """The web framework and the school's painters are only loaded by the commands that use them."""
    asked = "import sys, portfolio.cli.app; print(*sys.modules, sep='\\n')"
    loaded = subprocess.run(
        [sys.executable, "-c", asked], check=True, capture_output=True, text=True
    ).stdout.splitlines()
    assert "portfolio.cli.demo" in loaded
    assert not {"fastapi", "portfolio.web.app", "portfolio.demo.plan"} & set(loaded)
