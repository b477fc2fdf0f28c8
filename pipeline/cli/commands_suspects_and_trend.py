"""The commands that look back: suspects and trend."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

import typer

from pipeline.cli import exit_codes, running
from pipeline.cli.options import BookFolder, Json, LeaveOut, Today
from pipeline.cli.several_books import Books, asked
from pipeline.wording.amounts import Units

if TYPE_CHECKING:
    from pipeline.answers.questions_to_several_books import Question
    from pipeline.flow import Loaded

Show = Annotated[str | None, typer.Option("--show", metavar="SESSION", help="Its balance as weighed and reconciled.")]


def add_to(app: typer.Typer) -> None:
    """Register this family's commands."""
    for command in (suspects, trend):
        app.command()(command)


def suspects(book: BookFolder, show: Show = None, as_json: Json = False, today: Today = None) -> None:
    """Name the weights that look mistyped. Most likely first; nothing is ever corrected."""
    loaded = running.opened(book, today, leave_out=True)
    running.emit_kept(loaded, ("suspects", show), as_json, lambda: _suspects(loaded, show, as_json))


def _suspects(loaded: Loaded, show: str | None, as_json: bool) -> str:
    from pipeline.answers import suspects
    from pipeline.cli import tables_suspects_and_trend

    fit = suspects.fit(loaded)
    if show is None:
        return running.printed(fit, as_json, lambda: tables_suspects_and_trend.suspects(fit, Units.of(loaded.book)))
    if not fit.knows(show):
        why = " that can be used: rows with errors are left out" if loaded.left_out else ""
        running.stop(f"{show} is no session in passes.csv{why}", exit_codes.WRONG_USE)
    return running.printed(
        fit.balance(show), as_json, lambda: tables_suspects_and_trend.balance(fit, show, Units.of(loaded.book))
    )


def trend(books: Books, leave_out: LeaveOut = False, as_json: Json = False, today: Today = None) -> None:
    """Show whether rendering gets better or worse. Season by season and pass by pass."""
    if len(books) > 1:
        found = list(asked(_trends(), books, today, leave_out))
        listed = [{"book": name} | one for name, (one, _) in found]
        running.emit(listed, as_json, lambda: "\n\n\n".join(f"{name}\n\n{text}" for name, (_, text) in found))
        return
    from pipeline.answers import trend
    from pipeline.cli import tables_suspects_and_trend

    loaded = running.opened(books[0], today, leave_out)
    only = trend.trend(loaded)
    running.emit(only, as_json, lambda: tables_suspects_and_trend.trend(only, Units.of(loaded.book)))


def _trends() -> Question:
    """What is asked of each of several books."""
    from pipeline.answers import trend
    from pipeline.answers.questions_to_several_books import Question

    return Question(("trend",), trend.reads(), _trend)


def _trend(loaded: Loaded) -> tuple[dict[str, Any], str]:
    """A book's trend for other programs and in words."""
    from pipeline.answers import trend
    from pipeline.answers.as_json import as_json
    from pipeline.cli import tables_suspects_and_trend

    one = trend.trend(loaded)
    return as_json(one), tables_suspects_and_trend.trend(one, Units.of(loaded.book))
