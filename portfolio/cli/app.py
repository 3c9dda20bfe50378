"""All commands in one list. Each lives in a file of its own; nothing is decided here."""

from __future__ import annotations

import typer

from portfolio import __version__
from portfolio.cli import backup, cards, check, demo, doctor, find, ingest, look, look_back, roster, serve, show

app = typer.Typer(
    name="portfolio",
    help="Keeps what every child in an art room made, in which medium, and what the child said about it.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
)

app.command("init")(roster.init)
app.add_typer(roster.group, name="roster")
app.command("demo")(demo.demo)
app.command("serve")(serve.serve)
app.command("look")(look.look)
app.command("ingest")(ingest.ingest)
app.add_typer(check.group, name="check")
app.command("find")(find.find)
app.command("timeline")(look_back.timeline)
app.command("class")(look_back.class_)
app.add_typer(cards.group, name="cards")
app.add_typer(show.group, name="show")
app.command("verify")(doctor.verify)
app.command("reindex")(doctor.reindex)
app.command("doctor")(doctor.doctor)
app.command("backup")(backup.backup)
app.command("restore")(backup.restore)
app.command("reset-password")(serve.reset_password)


def _version(wanted: bool) -> None:  # noqa: FBT001  typer's callback
    if wanted:
        typer.echo(__version__)
        raise typer.Exit


@app.callback()
def main(
    *, version: bool = typer.Option(False, "--version", callback=_version, is_eager=True, help="Say the version.")
) -> None:
    """Keeps what every child in an art room made, in which medium, and what the child said about it."""
