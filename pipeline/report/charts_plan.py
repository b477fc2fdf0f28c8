"""Candles as pictures: how many of each kind, and how past forecasts of yield did."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import altair as alt

from pipeline.report.amounts import count
from pipeline.report.charts import amount, beside, draw, names, short, table
from pipeline.report.palette import paint


@dataclass(frozen=True, slots=True)
class Reach:
    """How many of a candle kind the wax makes: now, and with pending comb at 10, 50 and 90 %."""

    candle: str
    now: int
    low: int
    mid: int
    high: int


@dataclass(frozen=True, slots=True)
class Told:
    """One session's yield as it would have been forecast (80 % interval) and as it came (shares)."""

    session: str
    low: float
    mid: float
    high: float
    came: float


def reach(kinds: Sequence[Reach]) -> str:
    """Candles now as a bar, the range that pending comb opens as a band with its middle (SVG)."""
    order = [short(k.candle) for k in kinds]
    rows = [
        {"name": short(k.candle), "now": k.now, "low": k.low, "mid": k.mid, "high": k.high, "text": count(k.now),
         "end": max(k.now, k.high)}
        for k in kinds
    ]  # fmt: skip
    base = alt.Chart(table(rows)).encode(names("name", order))
    band = base.mark_bar(color=paint("chance"), height=16, opacity=0.7).encode(alt.X("low:Q"), alt.X2("high"))
    bar = base.mark_bar(color=paint("candle"), height=9, opacity=1).encode(amount("now", "candles of this kind alone"))
    middle = base.mark_tick(color=paint("wax"), thickness=3, size=18, opacity=1).encode(alt.X("mid:Q"))
    text = base.mark_text(align="left", dx=6, fontWeight="bold").encode(alt.X("end:Q"), alt.Text("text:N"))
    return draw(alt.layer(band, bar, middle, text, width=beside(order), height=alt.Step(30)))


def told(sessions: Sequence[Told]) -> str:
    """Forecast as a band, outcome as a dot: a diamond where it fell outside (SVG)."""
    order = [short(s.session, 14) for s in sessions]
    rows = [
        {"name": short(s.session, 14), "low": 100 * s.low, "mid": 100 * s.mid, "high": 100 * s.high,
         "came": 100 * s.came, **_dress(s)}
        for s in sessions
    ]  # fmt: skip
    base = alt.Chart(table(rows)).encode(names("name", order))
    band = base.mark_bar(color=paint("chance"), height=11, opacity=0.7).encode(
        amount("low", "wax from 100 g of comb, g", scale=alt.Scale(zero=True)), alt.X2("high")
    )
    middle = base.mark_tick(color=paint("faint"), thickness=2, size=11, opacity=1).encode(alt.X("mid:Q"))
    dots = base.mark_point(filled=True, size=80, opacity=1).encode(
        alt.X("came:Q"), alt.Color("colour:N", scale=None), alt.Shape("shape:N", scale=None)
    )
    return draw(alt.layer(band, middle, dots, width=beside(order), height=alt.Step(21)))


def _dress(s: Told) -> dict[str, object]:
    inside = s.low <= s.came <= s.high
    return {"colour": paint("wax" if inside else "alarm"), "shape": "circle" if inside else "diamond"}
