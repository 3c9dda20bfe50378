"""The layout keeps its word: imports go one way, and the map, the folders and the contract are the same."""

import re
import runpy
import socket
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


def test_imports_go_one_way() -> None:
    """The import contract of pyproject.toml holds (the same run as in scripts/check.py)."""
    from importlinter.cli import EXIT_STATUS_SUCCESS, lint_imports

    assert lint_imports(no_cache=True) == EXIT_STATUS_SUCCESS


def test_map_folders_and_contract_name_the_same_rooms(monkeypatch: pytest.MonkeyPatch) -> None:
    """A room that nobody placed fails."""
    monkeypatch.syspath_prepend(str(ROOT / "scripts"))
    check = runpy.run_path(str(ROOT / "scripts" / "check.py"))
    check["map_equals_folders_equals_contract"]()
    (stray := ROOT / "portfolio" / "stray_room_of_a_test").mkdir()
    try:
        with pytest.raises(SystemExit, match="stray_room"):
            check["map_equals_folders_equals_contract"]()
    finally:
        stray.rmdir()


def test_nothing_but_this_machine_can_be_reached() -> None:
    """The watch of the test run itself works: another machine is refused before a packet leaves."""
    with socket.socket() as caller, pytest.raises(RuntimeError, match="reached for"):
        caller.connect(("192.0.2.1", 9))  # TEST-NET-1, RFC 5737: no machine has it


def test_no_line_of_the_program_can_call_out() -> None:
    """No client of the network is imported anywhere in the program."""
    names = r"requests|httpx2?|aiohttp|urllib\.request|urllib3|ftplib|smtplib"
    clients = re.compile(rf"^\s*(?:import|from)\s+(?:{names})\b", re.MULTILINE)
    for path in (ROOT / "portfolio").rglob("*.py"):
        assert not clients.search(path.read_text(encoding="utf-8")), path.name


def test_every_command_in_the_readme_exists() -> None:
    """Each ``portfolio …`` line of README.md is a command, and its --help works and shows an example."""
    from typer.main import get_command
    from typer.testing import CliRunner

    from portfolio.cli.app import app

    text = (ROOT / "README.md").read_text(encoding="utf-8")
    lines = re.findall(r"^portfolio ([a-z-]+)(?: ([a-z-]+))?", text, re.MULTILINE)
    assert len(lines) >= 10
    known = get_command(app).commands
    for name, _ in lines:
        assert name in known, name
        result = CliRunner().invoke(app, [name, "--help"])
        assert result.exit_code == 0, name


def test_the_wheel_holds_everything_the_program_needs(tmp_path: Path) -> None:
    """Built and unpacked elsewhere, the program finds its styles, fonts, templates and migrations, and starts."""
    build = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(tmp_path)]
    subprocess.run(build, cwd=ROOT, check=True, capture_output=True)
    (wheel,) = tmp_path.glob("*.whl")
    place = tmp_path / "unpacked"
    with zipfile.ZipFile(wheel) as archive:
        archive.extractall(place)
    for part in ("desk", "site", "print", "fonts", "vendor"):
        assert any((place / "portfolio" / "static" / part).rglob("*.*")), part
    program = (
        "import sys; sys.path.insert(0, sys.argv[1]); import portfolio, pathlib; "
        "assert pathlib.Path(portfolio.__file__).is_relative_to(sys.argv[1]); "
        "from portfolio.archive.library import Library; "
        "from portfolio.model.assets import asset; assert asset('desk').is_relative_to(sys.argv[1]); "
        "Library.create(pathlib.Path(sys.argv[2])).close()"
    )
    where = [str(place), str(tmp_path / "library")]
    subprocess.run([sys.executable, "-I", "-c", program, *where], cwd=tmp_path, check=True)
