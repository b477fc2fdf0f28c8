"""The commands that look ahead: capacity, plan, mix, backtest, pour."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from pipeline.cli import exit_codes, running
from pipeline.cli.options import BookFolder, Json, LeaveOut, Today
from pipeline.wording.amounts import Units

if TYPE_CHECKING:
    from pipeline.answers.pour import PourAnswer
    from pipeline.wording.amounts import Units


class Aim(StrEnum):
    """What the best mix is best in."""

    INCOME = "income"
    MARGIN = "margin"
    COUNT = "count"


Wish = Annotated[list[str] | None, typer.Option("--min", metavar="CANDLE=N", help="Make at least so many.")]
Most = Annotated[list[str] | None, typer.Option("--max", metavar="CANDLE=N", help="Make at most so many.")]
Hours = Annotated[float | None, typer.Option("--hours", min=0, help="Hours of work there are.")]
Method = Annotated[
    str | None,
    typer.Option("--method", metavar="METHOD", help="How comb will be melted whose harvest names no method."),
]
Wax = Annotated[
    str | None, typer.Option("--wax", metavar="MASS", help="Pretend you have this much wax, such as '5 kg'.")
]


def add_to(app: typer.Typer) -> None:
    """Register this family's commands."""
    for command in (capacity, plan, mix, backtest, pour):
        app.command()(command)


def capacity(book: BookFolder, leave_out: LeaveOut = False, as_json: Json = False, today: Today = None) -> None:
    """Show how many of each candle the wax makes. Now, and with what the comb will still give."""
    loaded = running.opened(book, today, leave_out)
    from pipeline.answers import capacity
    from pipeline.cli import tables_plan

    found = capacity.capacity(loaded)
    running.emit(found, as_json, lambda: tables_plan.capacity(found, Units.of(loaded.book)))


def plan(
    book: BookFolder, method: Method = None, leave_out: LeaveOut = False, as_json: Json = False, today: Today = None
) -> None:
    """Show whether the wax covers planned batches. With what chance, and what would mend it."""
    loaded = running.opened(book, today, leave_out)
    from pipeline.answers import plan
    from pipeline.cli import tables_plan

    known = plan.methods(loaded)
    if method is not None and method not in known:
        running.stop(f"--method {method}: no such method; one of {', '.join(known)}", exit_codes.WRONG_USE)
    found = plan.plan(loaded, method)
    running.emit(found, as_json, lambda: tables_plan.plan(found, Units.of(loaded.book)))


def mix(
    book: BookFolder,
    aim: Annotated[Aim, typer.Option("--aim", help="What to make the most of.")] = Aim.INCOME,
    least: Wish = None,
    most: Most = None,
    hours: Hours = None,
    wax: Wax = None,
    leave_out: LeaveOut = False,
    as_json: Json = False,
    today: Today = None,
) -> None:
    """Show the best mix of candles for the wax. Only wax that is sure to be there counts."""
    loaded = running.opened(book, today, leave_out)
    from pipeline.answers import mix
    from pipeline.cli import mix_options, tables_plan

    asked = mix_options.read(mix.can_be_wished(loaded), least or [], most or [], hours)
    found = mix_options.fitting(mix.mix(loaded, aim, asked, mix_options.wax(wax)))
    running.emit(found, as_json, lambda: tables_plan.mix(found, Units.of(loaded.book)))


def backtest(book: BookFolder, leave_out: LeaveOut = False, as_json: Json = False, today: Today = None) -> None:
    """Show how past forecasts of a session's yield would have done."""
    loaded = running.opened(book, today, leave_out)
    from pipeline.answers import backtest
    from pipeline.cli import tables_plan

    found = backtest.backtest(loaded)
    running.emit(found, as_json, lambda: tables_plan.backtest(found, Units.of(loaded.book)))


def pour(
    book: BookFolder,
    batch: Annotated[str, typer.Argument(metavar="BATCH", help="The batch to pour.")],
    light: Annotated[bool, typer.Option("--light", help="Take the lightest blocks first.")] = False,
    html: Annotated[Path | None, typer.Option("--html", help="Also write a page to print.")] = None,
    leave_out: LeaveOut = False,
    as_json: Json = False,
    today: Today = None,
) -> None:
    """Show the sheet to lay beside the scale for one batch."""
    loaded = running.opened(book, today, leave_out)
    from pipeline.answers import pour
    from pipeline.report import pour_page
    from pipeline.wording import pour_sentences

    found = pour.pour(loaded, batch, light) or running.no_batch(loaded, batch)
    units = Units.of(loaded.book, "draws")
    if html:
        html.write_text(pour_page.page(found, units, str(book)), encoding="utf-8")
    running.emit(pour_data(found, units), as_json, lambda: pour_sentences.terminal(found, units, str(book)))


def pour_data(found: PourAnswer, units: Units) -> dict[str, Any]:
    """The sheet for other programs; steps and cautions are sentences."""
    from dataclasses import fields

    from pipeline.wording import pour_steps

    own = {"wick": found.wick, "pour": found.pour, "scent": found.scent, "room": found.room, "last": found.last}
    sheet = {f.name: getattr(found.sheet, f.name) for f in fields(found.sheet)}
    steps = [s.sentence() for s in pour_steps.steps_for(found, units)]
    return sheet | own | {"steps": steps, "cautions": pour_steps.cautions_for(found, units)}
