"""The commands that learn from candles made, burned and sold, and label them: wick, flaws, market, label."""

from __future__ import annotations

from difflib import get_close_matches
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from pipeline.book.book_settings import REPORTS
from pipeline.cli import exit_codes, running
from pipeline.cli.options import BookFolder, Json, LeaveOut, Today

if TYPE_CHECKING:
    from pipeline.answers.market import MarketAnswer
    from pipeline.answers.wick import WickAnswer
    from pipeline.flow import Loaded
    from pipeline.wording.amounts import Units

KindOfCandle = Annotated[str, typer.Argument(metavar="CANDLE", help="The kind of candle.")]
Days = Annotated[int, typer.Option("--days", min=1, max=366, help="How many market days to make candles for.")]
Sure = Annotated[
    float, typer.Option("--sure", min=0.5, max=0.999, help="The chance that they are enough: 0.9 is 90 %.")
]
Place = Annotated[str | None, typer.Option("--place", metavar="PLACE", help="Sales at this place only.")]


def add_to(app: typer.Typer) -> None:
    """Register this family's commands."""
    for command in (wick, flaws, market, label):
        app.command()(command)


def wick(
    book: BookFolder, candle: KindOfCandle, leave_out: LeaveOut = False, as_json: Json = False, today: Today = None
) -> None:
    """Show which wick a candle needs. By the maker's chart and by what its burn tests say."""
    loaded = running.opened(book, today, leave_out)
    from pipeline.answers import wick
    from pipeline.wording import wick_sentences
    from pipeline.wording.amounts import Units

    found = wick.wick(loaded, candle) or running.stop(_no_candle(loaded, candle), exit_codes.WRONG_USE)
    units = Units.of(loaded.book)
    running.emit(wick_data(found, units), as_json, lambda: wick_sentences.answer(found, units))


def _no_candle(loaded: Loaded, candle: str) -> str:
    from pipeline.answers import wick

    names = wick.names(loaded)
    near = get_close_matches(candle, names, n=3) or names[:3]
    return f"no candle is named {candle}" + (f"; did you mean {', '.join(near)}?" if near else "; candles.csv has none")


def wick_data(found: WickAnswer, units: Units) -> dict[str, Any]:
    """The answer for other programs; ``why`` is a sentence."""
    from pipeline.wording import wick_sentences

    def told(verdicts: Any) -> list[dict[str, Any]]:
        rows = [(v, v.burn, wick_sentences.why(v.reading, units)) for v in verdicts]
        return [
            {"test": b.test, "burn": b.burn, "wick": b.wick, "verdict": v.reading.says, "why": why, "candle": v.candle}
            for v, b, why in rows
        ]

    return {
        "chart": found.chart, "to_test": found.to_test, "verdicts": told(found.verdicts), "borrowed": told(found.borrowed),
        "chances": found.choice.chances, "choice": found.choice.choice, "next_test": found.choice.next_test,
        "burn_rate_g_per_h": found.rate_g_per_h, "burn_time_h": found.time_h,
        "contradictions": [wick_sentences.contradiction(a, b) for a, b in found.contradictions],
        "notes": wick_sentences.notes_for(found, units),
    }  # fmt: skip


def flaws(book: BookFolder, leave_out: LeaveOut = False, as_json: Json = False, today: Today = None) -> None:
    """Show what went wrong in pours, and why. With whether your own record agrees."""
    loaded = running.opened(book, today, leave_out)
    from pipeline.answers import flaws
    from pipeline.wording import flaw_sentences
    from pipeline.wording.amounts import Units

    found = flaws.flaws(loaded)
    running.emit(found, as_json, lambda: flaw_sentences.answer(found, Units.of(loaded.book)))


def market(
    book: BookFolder,
    days: Days = 1,
    sure: Sure = 0.9,
    place: Place = None,
    leave_out: LeaveOut = False,
    as_json: Json = False,
    today: Today = None,
) -> None:
    """Show what sells on a market day. How many to take and to make, and what each kind earned."""
    loaded = running.opened(book, today, leave_out)
    from pipeline.answers import market
    from pipeline.wording import market_sentences
    from pipeline.wording.amounts import Units

    found = market.market(loaded, days, sure, place)
    _known_place(found, place)
    running.emit(found, as_json, lambda: market_sentences.answer(found, Units.of(loaded.book)))


def _known_place(found: MarketAnswer, place: str | None) -> None:
    """Wrong use where nothing was ever sold at that place."""
    if place is not None and place not in found.places:
        known = ", ".join(p for p in found.places if p) or "none"
        running.stop(f"no sale names the place {place}; there are {known}", exit_codes.WRONG_USE)


def label(
    book: BookFolder,
    batch: Annotated[str, typer.Argument(metavar="BATCH", help="The batch to label.")],
    out: Annotated[Path | None, typer.Option("--out", help="Where the files go; default: reports in the book.")] = None,
    leave_out: LeaveOut = False,
    as_json: Json = False,
    today: Today = None,
) -> None:
    """Write labels for a batch, to print. What is in it, net mass, lot, burning time and warnings."""
    loaded = running.opened(book, today, leave_out)
    from pipeline.answers import label
    from pipeline.report import label_page
    from pipeline.wording.amounts import Units

    found = label.label(loaded, batch) or running.no_batch(loaded, batch)
    files = label_page.write(found, Units.of(loaded.book), out or book / REPORTS, book.resolve().name)
    running.emit({"files": files}, as_json, lambda: "\n".join(map(str, files)))
