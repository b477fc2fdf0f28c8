"""The commands that look ahead: capacity, plan, mix, backtest, pour."""

from __future__ import annotations

from datetime import date
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from pipeline.cli import running
from pipeline.cli.running import BookFolder, Json, LeaveOut, Today

if TYPE_CHECKING:
    from pipeline.answers.candle_outlook import Outlook


class Aim(StrEnum):
    """What the best mix is best in."""

    INCOME = "income"
    MARGIN = "margin"
    COUNT = "count"


Wish = Annotated[list[str] | None, typer.Option("--min", metavar="CANDLE=N", help="Make at least so many.")]
Most = Annotated[list[str] | None, typer.Option("--max", metavar="CANDLE=N", help="Make at most so many.")]
Hours = Annotated[float | None, typer.Option("--hours", min=0, help="Hours of work there are.")]
Wax = Annotated[str | None, typer.Option("--wax", metavar="MASS", help="Other wax than that sure to be there, '5 kg'.")]


def add_to(app: typer.Typer) -> None:
    """Register this family's commands."""
    for command in (capacity, plan, mix, backtest, pour):
        app.command()(command)


def _ahead(book: Path, today: date | None, leave_out: bool) -> Outlook:
    loaded = running.opened(book, today, leave_out)
    from pipeline.answers import candle_outlook

    return candle_outlook.view(loaded)


def capacity(book: BookFolder, leave_out: LeaveOut = False, as_json: Json = False, today: Today = None) -> None:
    """Show how many of each candle the wax makes. Now, and with what the comb will still give."""
    ahead = _ahead(book, today, leave_out)
    from pipeline.cli import tables_candles

    running.emit(ahead.capacity, as_json, lambda: tables_candles.capacity(ahead))


def plan(book: BookFolder, leave_out: LeaveOut = False, as_json: Json = False, today: Today = None) -> None:
    """Show whether the wax covers planned batches. With what chance, and what would mend it."""
    ahead = _ahead(book, today, leave_out)
    from pipeline.cli import tables_candles

    running.emit(tables_candles.plan_data(ahead), as_json, lambda: tables_candles.plan(ahead))


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
    ahead = _ahead(book, today, leave_out)
    from pipeline.cli import mix_options, tables_candles

    asked = mix_options.read(ahead, least or [], most or [], hours)
    wax_g = mix_options.wax(ahead, wax)
    chosen = mix_options.fitting(ahead.mix(aim, asked, wax_g))
    running.emit(tables_candles.mix_data(chosen, wax_g), as_json, lambda: tables_candles.mix(ahead, chosen, wax_g, aim))


def backtest(book: BookFolder, leave_out: LeaveOut = False, as_json: Json = False, today: Today = None) -> None:
    """Show how past forecasts of a session's yield would have done."""
    ahead = _ahead(book, today, leave_out)
    from pipeline.cli import tables_candles

    running.emit(ahead.backtest, as_json, lambda: tables_candles.backtest(ahead))


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
    ahead = _ahead(book, today, leave_out)
    from pipeline.cli import pour_sheet

    sheet = ahead.pour(batch, light) or running.stop(pour_sheet.unknown(ahead, batch), running.WRONG_USE)
    if html:
        html.write_text(pour_sheet.page(sheet, ahead.book), encoding="utf-8")
    running.emit(pour_sheet.data(sheet), as_json, lambda: pour_sheet.told(sheet, ahead.book))
