"""What candles taught as pictures: wick sizes with their verdicts, burning times, flaws, what a market day asks for."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass

from pipeline.report.chart_to_svg import amount, beside, draw, names, short, table
from pipeline.report.page_dataclasses import Drawing
from pipeline.report.palette import paint
from pipeline.wording.amounts import count

LONG = 22
"""Letters of a kind's name on these pictures, which stand beside a table."""
_WITH_PLACE = 34
"""So long is a name of a candle with the place that it is sold at."""
_DRESS = {"small": ("unknown", "triangle-down", -1), "right": ("wax", "circle", 0), "large": ("alarm", "diamond", 1),
          "none": ("faint", "cross", 0)}  # fmt: skip
"""How a verdict is drawn: its colour, its shape, and to which side of its size it stands."""


@dataclass(frozen=True, slots=True)
class Rung:
    """What burn tests of a kind of candle said of one size, so often; ``chosen``: the size that they speak for."""

    candle: str
    wick: str
    says: str
    burns: int
    chosen: bool


@dataclass(frozen=True, slots=True)
class Span:
    """A figure of one name with the range around it (None where one test gave it), and the words beside it."""

    name: str
    low: float | None
    mid: float
    high: float | None
    told: str


def ladder(rungs: Sequence[Rung], wicks: Sequence[str], in_order: bool) -> Drawing:
    """Kinds of candle by sizes of wick: a mark for each verdict, a band behind the choice.

    ``in_order``: the wicks stand from thin to thick.
    """
    import altair as alt

    order = list(dict.fromkeys(short(r.candle, LONG) for r in rungs))
    sizes = [short(w, 8) for w in wicks]
    place = {w: n for n, w in enumerate(wicks)}
    rows = [
        {"name": short(r.candle, LONG), "x": place[r.wick] + 0.24 * _DRESS[r.says][2],
         "told": count(r.burns) if r.burns > 1 else "", "colour": paint(_DRESS[r.says][0]), "shape": _DRESS[r.says][1]}
        for r in rungs
    ]  # fmt: skip
    chosen = [
        {"name": short(r.candle, LONG), "from": place[r.wick] - 0.5, "to": place[r.wick] + 0.5}
        for r in rungs
        if r.chosen
    ]
    labels = alt.Axis(
        values=list(range(len(sizes))),
        labelExpr=f"{json.dumps(sizes)}[datum.value]",
        labelColor=paint("ink"),
        grid=False,
    )
    across = alt.Scale(domain=[-0.6, max(len(sizes) - 0.4, 0.6)], nice=False, zero=False)
    x = alt.X("x:Q", title="wick, from thin to thick" if in_order else "wick", axis=labels, scale=across)
    base = alt.Chart(table(rows)).encode(names("name", order))
    band = (
        alt.Chart(table(chosen))
        .mark_bar(color=paint("chance"), height=19, opacity=0.7)
        .encode(names("name", order), alt.X("from:Q"), alt.X2("to"))
    )
    marks = base.mark_point(filled=True, size=85, opacity=1).encode(
        x, alt.Color("colour:N", scale=None), alt.Shape("shape:N", scale=None)
    )
    told = base.mark_text(align="left", dx=6, dy=1).encode(x, alt.Text("told:N"))
    return draw(alt.layer(band, marks, told, width=beside(order), height=alt.Step(26)), order)


def spans(rows: Sequence[Span], title: str, colour: str) -> Drawing:
    """Figures with their ranges, one under the other: a band, its middle, the figure beside it."""
    import altair as alt

    order = _distinct([r.name for r in rows])
    drawn = [
        {"name": name, "low": r.mid if r.low is None else r.low, "mid": r.mid,
         "high": r.mid if r.high is None else r.high, "told": r.told}
        for name, r in zip(order, rows, strict=True)
    ]  # fmt: skip
    base = alt.Chart(table(drawn)).encode(names("name", order))
    band = base.mark_bar(color=paint("chance"), height=13, opacity=0.7).encode(
        amount("low", title, scale=alt.Scale(zero=True), tickMinStep=1), alt.X2("high")
    )
    middle = base.mark_point(filled=True, size=70, opacity=1, color=paint(colour)).encode(alt.X("mid:Q"))
    told = base.mark_text(align="left", dx=8).encode(alt.X("high:Q"), alt.Text("told:N"))
    return draw(alt.layer(band, middle, told, width=beside(order), height=alt.Step(23)), order)


def counts(rows: Sequence[tuple[str, int]], title: str, colour: str) -> Drawing:
    """Counts as bars, one under the other."""
    import altair as alt

    order = [short(name, LONG) for name, _ in rows]
    base = alt.Chart(table({"name": short(name, LONG), "n": n, "told": count(n)} for name, n in rows)).encode(
        names("name", order)
    )
    whole = amount("n", title, format="d", tickMinStep=1)
    bar = base.mark_bar(color=paint(colour), height=11, opacity=1).encode(whole)
    told = base.mark_text(align="left", dx=6).encode(alt.X("n:Q"), alt.Text("told:N"))
    return draw(alt.layer(bar, told, width=beside(order), height=alt.Step(21)), order)


def _distinct(whole: Sequence[str]) -> list[str]:
    """The names cut to the room there is; those that become equal get a number, so that no two rows fall together."""
    cut = [short(name, _WITH_PLACE) for name in whole]
    return [name if cut.count(name) == 1 else f"{short(name, _WITH_PLACE - 3)} {n}" for n, name in enumerate(cut, 1)]
