"""The commands by family: where one is named, only its family is made ready, so that it starts fast."""

from __future__ import annotations

from collections.abc import Sequence
from importlib import import_module

import typer

from pipeline import __version__

FAMILIES = {
    "commands_main": ("new", "check", "build", "yields", "losses", "flow", "stock"),
    "commands_recording": ("record", "change", "remove", "undo", "sheet", "serve"),
    "commands_candles": ("capacity", "plan", "mix", "backtest", "pour"),
    "commands_making": ("wick", "flaws", "market", "label"),
    "commands_quality": ("suspects", "trend"),
    "commands_trace": ("trace",),
    "commands_export": ("export",),
    "commands_import": ("import",),
    "commands_compare": ("compare",),
}
"""The modules of this folder that hold commands, with theirs, in the order in which help lists them."""


def app(words: Sequence[str] = ()) -> typer.Typer:
    """The command line; where the first word is a command, with this one's family alone: making all takes longer."""
    named = words[0] if words else ""
    made = typer.Typer(
        no_args_is_help=True,
        rich_markup_mode=None,
        pretty_exceptions_enable=False,
        help="Yields, losses, stock and candle plans from the logs of a beekeeper who renders wax.",
    )
    made.callback()(_root)
    own = [family for family, commands in FAMILIES.items() if named in commands]
    for family in own or FAMILIES:
        import_module(f"pipeline.cli.{family}").add_to(made)
    for command in [c for c in made.registered_commands if own and _name(c) != named]:
        made.registered_commands.remove(command)
    return made


def _name(command: typer.models.CommandInfo) -> str:
    return command.name or (command.callback.__name__ if command.callback else "")


def _version(asked: bool) -> None:
    if asked:
        typer.echo(f"combtally {__version__}")
        raise typer.Exit


def _root(
    version: bool = typer.Option(False, "--version", callback=_version, is_eager=True, help="Show the version."),
) -> None:
    """Take the options that stand before a command."""
