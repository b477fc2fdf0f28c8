"""The ``combtally`` command: parse, call, print, exit."""

from __future__ import annotations

import gc
import os
import signal
import sys

import typer

from pipeline import __version__
from pipeline.cli import (
    commands_candles,
    commands_compare,
    commands_export,
    commands_import,
    commands_main,
    commands_making,
    commands_quality,
    commands_recording,
    commands_trace,
    running,
)

app = typer.Typer(
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    help="Yields, losses, stock and candle plans from the logs of a beekeeper who renders wax.",
)
commands_main.add_to(app)
commands_recording.add_to(app)
commands_candles.add_to(app)
commands_making.add_to(app)
commands_quality.add_to(app)
commands_trace.add_to(app)
commands_export.add_to(app)
commands_import.add_to(app)
commands_compare.add_to(app)


def _version(asked: bool) -> None:
    if asked:
        typer.echo(f"combtally {__version__}")
        raise typer.Exit


@app.callback()
def _root(
    version: bool = typer.Option(False, "--version", callback=_version, is_eager=True, help="Show the version."),
) -> None:
    """Take the options that stand before a command."""


def _stand_in() -> None:
    """Where a standard stream is closed, nothing takes its place: no other file may get its number and what is printed."""
    while (number := os.open(os.devnull, os.O_RDWR)) <= 2:
        os.set_inheritable(number, True)
    os.close(number)
    sys.stdout = sys.stdout or os.fdopen(1, "w", closefd=False)
    sys.stderr = sys.stderr or os.fdopen(2, "w", closefd=False)


def main() -> None:
    """Run the command line; a fault of the machine is one sentence and exit 3."""
    gc.set_threshold(1_000_000)  # a command is over before collecting pays
    _stand_in()
    for stream in (sys.stdout, sys.stderr):
        stream.reconfigure(encoding="utf-8", errors="replace")  # type: ignore[union-attr]
    with running.faults_told():
        try:
            app()
        finally:
            signal.signal(signal.SIGINT, signal.SIG_IGN)  # a second Ctrl-C has nothing to stop
            gc.freeze()  # nor does tidying up pay
