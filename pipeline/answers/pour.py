"""What to lay beside the scale for one batch: what to weigh, which blocks, what to do and what to mind."""

from __future__ import annotations

from difflib import get_close_matches

from pipeline.analyses.pour_sheet import Block, Pour, PourSheet, Workshop, sheet
from pipeline.analyses.pour_steps import Place
from pipeline.answers.candle_kinds import candle_kinds
from pipeline.flow import Loaded


def pour(loaded: Loaded, batch: str, light: bool = False) -> PourSheet | None:
    """The sheet for a batch; None where there is no such batch. ``light``: the lightest blocks first."""
    known = {c.candle: c for c in candle_kinds(loaded)}
    rows = loaded.warehouse.rows("SELECT * FROM batches ORDER BY row")
    pours = [
        Pour(r["batch"], r["date"], r["count"], r["status"], known[r["candle"]]) for r in rows if r["candle"] in known
    ]
    this = next((p for p in pours if p.batch == batch), None)
    if this is None:
        return None
    others = [p for p in pours if p.date == this.date and p is not this and p.status == "planned"]
    blocks = loaded.warehouse.ask("blocks_to_pour")
    shelf = [Block(r["block"], r["date"], float(r["mass_g"]), r["colour"]) for r in blocks]
    return sheet(this, others, shelf, _workshop(loaded, this.candle.candle, light))


def names_like(loaded: Loaded, batch: str) -> list[str]:
    """Batches of which one may be meant: names alike, else the last three."""
    known = [r["batch"] for r in loaded.warehouse.rows("SELECT batch FROM batches ORDER BY row")]
    return get_close_matches(batch, known, n=3) or known[-3:]


def _workshop(loaded: Loaded, candle: str, light: bool) -> Workshop:
    find = "SELECT height_mm FROM candles WHERE candle = ?"
    show, height = loaded.book.show, loaded.warehouse.rows(find, [candle])[0]["height_mm"]
    place = Place(show.temperature, show.length, height)
    return Workshop(place, loaded.book.densities, loaded.book.scale("draws").step_g, light)
