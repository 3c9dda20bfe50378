"""``portfolio serve`` and ``portfolio reset-password``."""

from __future__ import annotations

import getpass
import sys
from typing import Annotated

import typer

from portfolio.cli.frame import OUT, LibraryOption, library_folder, open_library
from portfolio.errors import Refused
from portfolio.flows import sign_in


def serve(
    port: Annotated[
        int | None, typer.Option(min=1, max=65535, help="Port on this computer. Default: 8765, or a free one.")
    ] = None,
    *,
    host: Annotated[str, typer.Option(help="Address to listen on: only this computer's own.")] = "127.0.0.1",
    no_open: Annotated[bool, typer.Option("--no-open", help="Do not open the browser.")] = False,
    library: LibraryOption = None,
) -> None:
    """Open the app in the browser on this computer.

    Example: portfolio serve --port 8765
    """
    from portfolio.web.run import serve as serve_library  # noqa: PLC0415  the other commands need no web framework

    serve_library(
        library_folder(library),
        host=host,
        port=port,
        open_browser=not no_open,
        say=lambda line: OUT.print(line, markup=False),
    )


def reset_password(library: LibraryOption = None) -> None:
    """Choose a new password for the app, on this computer; every browser is signed out.

    Example: portfolio reset-password
    """
    with open_library(library) as opened:
        ended = sign_in.reset_password(opened, _asked_twice())
    OUT.print(f"The new password is kept. Browsers signed out: {ended}.")


def _asked_twice() -> str:
    """From the keyboard without showing it; from a pipe, one line."""
    if not sys.stdin.isatty():
        return sys.stdin.readline().rstrip("\r\n")
    password = getpass.getpass("New password (8 characters or more): ")
    if getpass.getpass("The same once more: ") != password:
        raise Refused("password-differs", item="The second password")
    return password
