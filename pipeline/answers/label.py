"""What a label says of a batch: what is in it, how much, its lot, how long it burns, and what the law may ask beside."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from pipeline.analyses.burning_time import Spread
from pipeline.answers import wick
from pipeline.answers.candle_kinds import candle_kinds
from pipeline.flow import Loaded


@dataclass(frozen=True, slots=True)
class LabelAnswer:
    """One candle of a batch as its label tells it; masses in g, lengths in mm.

    ``contents``: name and share (0-1) of each material by mass, most first. ``lot``: what ``trace`` takes as its ID.
    """

    batch: str
    lot: str
    date: date
    poured: bool
    candle: str
    form: str
    candles: int
    contents: tuple[tuple[str, float], ...]
    scent: str | None
    net_g: float | None
    diameter_mm: float | None
    height_mm: float | None
    time_h: Spread


def label(loaded: Loaded, batch: str) -> LabelAnswer | None:
    """The label of a batch, planned or poured; None where there is no such batch, or none of a known kind."""
    rows = loaded.warehouse.rows("SELECT * FROM batches WHERE batch = ?", [batch])
    kinds = {c.candle: c for c in candle_kinds(loaded)}
    if not rows or rows[0]["candle"] not in kinds:
        return None
    row, candle = rows[0], kinds[rows[0]["candle"]]
    tested = wick.wick(loaded, candle.candle)
    assert tested is not None, "the kind is one of the book's"
    total = 1 + candle.scent_share
    shares = {
        "beeswax": candle.wax_share / total,
        candle.oil or "oil": candle.oil_share / total,
        candle.scent or "scent": candle.scent_share / total,
    }
    return LabelAnswer(
        batch=batch,
        lot=f"batch {batch}",
        date=row["date"],
        poured=row["status"] == "poured",
        candle=candle.candle,
        form=candle.form,
        candles=row["count"] if row["good"] is None else row["good"],
        contents=tuple(sorted(((n, s) for n, s in shares.items() if s > 0), key=lambda part: -part[1])),
        scent=(candle.scent or "scent") if candle.scent_share else None,
        net_g=candle.fill_g,
        diameter_mm=tested.kind.diameter_mm,
        height_mm=tested.kind.height_mm,
        time_h=tested.time_h,
    )
