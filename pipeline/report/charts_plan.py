"""Candles as pictures: how many of each kind, and how past forecasts of yield did."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pipeline.report.chart_to_svg import amount, beside, draw, names, short, table
from pipeline.report.page_dataclasses import Drawing
from pipeline.report.palette import paint
from pipeline.wording.amounts import count


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
    """One session's yield as it would have been forecast (80 % range) and as it came (shares)."""

    session: str
    low: float
    mid: float
    high: float
    came: float


def reach(kinds: Sequence[Reach]) -> Drawing:
    """Candles now as a bar, the range that pending comb opens as a band with its middle (SVG)."""
    import altair as alt

    order = [short(k.candle) for k in kinds]
    most = max((max(k.now, k.high) for k in kinds), default=0)
    rows = [
        {"name": short(k.candle), "now": k.now, "low": k.low, "mid": k.mid, "high": k.high, **_reach_words(k, most)}
        for k in kinds
    ]
    base = alt.Chart(table(rows)).encode(names("name", order))
    band = base.mark_bar(color=paint("chance"), height=16, opacity=0.7).encode(alt.X("low:Q"), alt.X2("high"))
    bar = base.mark_bar(color=paint("candle"), height=9, opacity=1).encode(amount("now", "candles of this kind alone"))
    middle = base.mark_tick(color=paint("wax"), thickness=3, size=18, opacity=1).encode(alt.X("mid:Q"))
    text = base.mark_text(align="left", dx=6, fontWeight="bold").encode(alt.X("now:Q"), alt.Text("held:N"))
    hope = base.mark_text(align="left", dx=6).encode(alt.X("high:Q"), alt.Text("hoped:N"))
    return draw(alt.layer(band, bar, middle, text, hope, width=beside(order), height=alt.Step(30)), order)


def _reach_words(kind: Reach, most: int) -> dict[str, str]:
    """What stands beside the bar and beside the band: one figure each; where the band leaves no room, both behind it."""
    if kind.high <= kind.now:
        return {"held": count(kind.now), "hoped": ""}
    if kind.low - kind.now < 0.15 * most:
        return {"held": "", "hoped": f"{count(kind.now)}, then {count(kind.mid)}"}
    return {"held": count(kind.now), "hoped": count(kind.mid)}


def told(sessions: Sequence[Told]) -> Drawing:
    """Forecast as a band, outcome as a dot: a diamond where it fell outside (SVG)."""
    import altair as alt

    order = [short(s.session, 14) for s in sessions]
    rows = [
        {"name": short(s.session, 14), "low": 100 * s.low, "mid": 100 * s.mid, "high": 100 * s.high,
         "came": 100 * s.came, **_dress(s)}
        for s in sessions
    ]  # fmt: skip
    base = alt.Chart(table(rows)).encode(names("name", order))
    band = base.mark_bar(color=paint("chance"), height=11, opacity=0.7).encode(
        amount("low", "wax, % of the comb", scale=alt.Scale(zero=True)), alt.X2("high")
    )
    middle = base.mark_tick(color=paint("faint"), thickness=2, size=11, opacity=1).encode(alt.X("mid:Q"))
    dots = base.mark_point(filled=True, size=80, opacity=1).encode(
        alt.X("came:Q"), alt.Color("colour:N", scale=None), alt.Shape("shape:N", scale=None)
    )
    return draw(alt.layer(band, middle, dots, width=beside(order), height=alt.Step(21)), order)


def _dress(s: Told) -> dict[str, object]:
    inside = s.low <= s.came <= s.high
    return {"colour": paint("wax" if inside else "alarm"), "shape": "circle" if inside else "diamond"}
