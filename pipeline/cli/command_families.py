"""The commands by family: where one is named, only its family is made ready, so that it starts fast."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from importlib import import_module
from typing import Any

import typer
from typer.core import TyperGroup

from pipeline import __version__
from pipeline.wording import visible_text

FAMILIES = {
    "commands_main": ("new", "check", "build", "yields", "losses", "flow", "stock"),
    "commands_recording": ("record", "change", "remove", "undo", "sheet", "serve"),
    "commands_plan": ("capacity", "plan", "mix", "backtest", "pour"),
    "commands_wicks_flaws_market": ("wick", "flaws", "market", "label"),
    "commands_suspects_and_trend": ("suspects", "trend"),
    "commands_trace": ("trace",),
    "commands_export": ("export",),
    "commands_import": ("import",),
    "commands_compare": ("compare",),
}
"""The modules of this folder that hold commands, with theirs, in the order in which help lists them."""
_WRONG_USE: Any = typer.BadParameter.__base__
"""Every way of using a command wrongly; where the library keeps it is its own business."""


class _Commands(TyperGroup):
    """The commands; where one is used wrongly, what was typed is made visible like all that goes to a terminal."""

    def make_context(self, *args: Any, **more: Any) -> Any:
        """Read the options before the command."""
        with _visible():
            return super().make_context(*args, **more)

    def invoke(self, ctx: Any) -> Any:
        """Read the command's own words and run it."""
        with _visible():
            return super().invoke(ctx)


@contextmanager
def _visible() -> Iterator[None]:
    try:
        yield
    except _WRONG_USE as wrong:
        wrong.message = visible_text.lines(wrong.message)
        raise


def app(words: Sequence[str] = ()) -> typer.Typer:
    """The command line; where the first word is a command, with this one's family alone: making all takes longer."""
    named = words[0] if words else ""
    made = typer.Typer(
        cls=_Commands,
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
