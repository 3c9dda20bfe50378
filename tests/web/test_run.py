"""Starting the app: this computer only, its port, its first words; and a new password on the machine."""

from __future__ import annotations

import gc
import io
import socket
import threading
import time
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest
import uvicorn

from portfolio.archive.library import Library
from portfolio.cli import serve as commands
from portfolio.errors import PortfolioError
from portfolio.flows import sign_in
from portfolio.web import run

GOOD = "four odd violet goats"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """An empty library, closed."""
    Library.create(tmp_path / "library").close()
    return tmp_path / "library"


def test_answers_do_not_wait_for_the_garbage_collector(folder: Path) -> None:
    """Once the app is warm what is loaded stays for good, and new objects are looked at in larger rounds."""
    usual, frozen = gc.get_threshold(), gc.get_freeze_count()
    try:
        with Library.open(folder) as library:
            desk = run.open_desk(library)
            run.warm_up(desk)
            desk.words.close()
        assert gc.get_freeze_count() > frozen
        assert gc.get_threshold() == run.COLLECT_AFTER
    finally:
        gc.set_threshold(*usual)
        gc.unfreeze()


@pytest.mark.parametrize("host", ["0.0.0.0", "192.168.1.20", "::", "example.org", ""])
def test_only_this_computer_may_be_served(folder: Path, host: str) -> None:
    """only-this-computer: an address that other devices reach is refused with a sentence, before anything starts."""
    with pytest.raises(PortfolioError, match="without encryption") as caught:
        run.serve(folder, host=host, open_browser=False)
    assert caught.value.code == "only-this-computer"


def test_a_port_that_is_taken_is_said(folder: Path) -> None:
    """port-in-use: the port asked for is said; the library is free again afterwards."""
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        with pytest.raises(PortfolioError) as caught:
            run.serve(folder, port=other.getsockname()[1], open_browser=False)
    assert caught.value.code == "port-in-use"
    Library.open(folder).close()


@pytest.fixture
def running(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[uvicorn.Server]]:
    """Servers that were started, so that the test can stop them."""
    started: list[uvicorn.Server] = []
    real = uvicorn.Server.__init__

    def keep(self: uvicorn.Server, config: uvicorn.Config) -> None:
        real(self, config)
        started.append(self)

    monkeypatch.setattr(uvicorn.Server, "__init__", keep)
    yield started
    for server in started:
        server.should_exit = True


def _started(folder: Path, said: list[str], running: list[uvicorn.Server], **given: object) -> threading.Thread:
    thread = threading.Thread(
        target=run.serve, args=(folder,), kwargs={"port": 0, "open_browser": False, "say": said.append, **given}
    )
    thread.start()
    until = time.monotonic() + 30
    while not (running and running[-1].started):
        assert time.monotonic() < until
        time.sleep(0.02)
    return thread


def test_first_start_prints_the_code_once_and_answers(folder: Path, running: list[uvicorn.Server]) -> None:
    """The address and the set-up code stand in the console; with a password chosen, the next start prints no code."""
    said: list[str] = []
    thread = _started(folder, said, running)
    address = said[0].split()[4]
    code = said[1].split()[2]
    with urllib.request.urlopen(f"{address}healthz") as answer:
        assert answer.status == 200
        assert "server" not in {name.lower() for name in answer.headers}
    running[-1].should_exit = True
    thread.join(20)
    assert not thread.is_alive()
    with Library.open(folder) as library:
        sign_in.set_up(library, code, password=GOOD)
    again: list[str] = []
    thread = _started(folder, again, running)
    running[-1].should_exit = True
    thread.join(20)
    assert len(again) == 1


def test_invented_school_is_entered_by_its_link(folder: Path, running: list[uvicorn.Server]) -> None:
    """Demo: the link in the console opens the app signed in, with a session of its own, and only once."""
    said: list[str] = []
    thread = _started(folder, said, running, demo=True)
    link = said[-1].split()[-1]
    opener = urllib.request.build_opener(urllib.request.HTTPCookieProcessor())
    assert "<h1>Today</h1>" in opener.open(link).read().decode()
    stranger = urllib.request.build_opener(urllib.request.HTTPCookieProcessor())
    assert "<h1>Sign in</h1>" in stranger.open(link).read().decode()
    running[-1].should_exit = True
    thread.join(20)


def test_new_password_is_chosen_on_the_machine(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """reset-password reads it from the keyboard (or a pipe), never from the command line, and signs browsers out."""
    with Library.open(folder) as library:
        sign_in.set_up(library, sign_in.new_setup_code(library), password=GOOD)
    monkeypatch.setattr("sys.stdin", io.StringIO("five odd violet goats\n"))
    commands.reset_password(library=folder)
    assert "Browsers signed out: 1" in capsys.readouterr().out
    with Library.open(folder) as library:
        assert sign_in.sign_in(library, "five odd violet goats").secret
