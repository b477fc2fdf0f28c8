"""Yields as pictures: each group with its interval and what is usual, what each change of a season is made of."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pipeline.report.chart_to_svg import CARD, amount, beside, draw, names, short, table
from pipeline.report.page_dataclasses import Drawing
from pipeline.report.palette import paint
from pipeline.wording.amounts import points, share_cell


@dataclass(frozen=True, slots=True)
class YieldDot:
    """One group's yield (share) with the ends of its 95 % range, a second yield beside it, and a usual range."""

    name: str
    value: float
    low: float | None = None
    high: float | None = None
    beside: float | None = None
    usual_low: float | None = None
    usual_high: float | None = None


def yield_dots(dots: Sequence[YieldDot], axis: str | None = None) -> Drawing:
    """Dots in per cent with their figures; the usual range as a band behind, the second yield as a ring (SVG)."""
    import altair as alt

    labels = [short(d.name) for d in dots]
    shown = table(
        [
            {
                "name": label,
                "value": 100 * d.value,
                "low": _pct(d.low),
                "high": _pct(d.high),
                "beside": _pct(d.beside),
                "from": _pct(d.usual_low),
                "to": _pct(d.usual_high),
                "text": share_cell(d.value),
            }
            for label, d in zip(labels, dots, strict=True)
        ]
    )
    base = alt.Chart(shown).encode(names("name", labels))
    x = amount("value", axis or "wax, % of the comb", scale=alt.Scale(domain=[0, _room(dots)]))
    band = base.transform_filter("isValid(datum.from)").mark_bar(color=paint("chance"), opacity=0.55, height=14)
    line = base.transform_filter("isValid(datum.low)").mark_rule(color=paint("wax"), strokeWidth=3)
    ring = base.transform_filter("isValid(datum.beside)").mark_point(color=paint("comb"), size=110, strokeWidth=2)
    dot = base.mark_circle(color=paint("wax"), size=90, opacity=1)
    text = base.mark_text(align="left", dx=11, dy=-9, fontWeight="bold")
    layers = alt.layer(
        band.encode(alt.X("from:Q"), alt.X2("to")),
        line.encode(alt.X("low:Q"), alt.X2("high")),
        ring.encode(alt.X("beside:Q")),
        dot.encode(x),
        text.encode(x, alt.Text("text:N")),
        width=beside(labels),
        height=alt.Step(34),
    )
    return draw(layers, labels)


def changes(steps: Sequence[tuple[str, float, float]]) -> Drawing:
    """What each change of yield came from: (season, mix, rate) as shares; bars in points either side of none (SVG)."""
    import altair as alt

    order = ["other comb", "rendering"]
    rows = [
        {"season": season, "part": part, "points": 100 * value, "text": points(value, signed=True),
         "colour": paint(colour)}
        for season, mix, rate in steps
        for part, value, colour in (("other comb", mix, "comb"), ("rendering", rate, "wax"))
    ]  # fmt: skip
    shown = table(rows)
    scale = alt.Scale(padding=_FIGURE, domain=_ends([100 * v for _, *parts in steps for v in parts]))
    x = amount("points", "points of yield", scale=scale)
    base = alt.Chart(shown).encode(names("part", order), x)
    bar = base.mark_bar(opacity=1).encode(alt.Color("colour:N", scale=None))
    zero = alt.Chart(shown).mark_rule(color=paint("faint")).encode(alt.X(datum=0))
    more = base.mark_text(align="left", dx=4).encode(alt.Text("text:N")).transform_filter("datum.points >= 0")
    less = base.mark_text(align="right", dx=-4).encode(alt.Text("text:N")).transform_filter("datum.points < 0")
    header = alt.Header(labelAngle=0, labelAlign="left", labelAnchor="middle", labelPadding=20, labelFontWeight="bold")
    rows_by = alt.Row("season:N", title=None, sort=[s for s, _, _ in steps], header=header)
    layered = alt.layer(bar, zero, more, less, width=CARD - 160, height=alt.Step(22))
    return draw(layered.facet(row=rows_by, spacing=8), ["other comb"])


def _ends(values: Sequence[float]) -> list[float]:
    """Where the axis of changes ends; a point at least, so that a change of nothing looks like nothing."""
    low, high = min([0.0, *values]), max([0.0, *values])
    return [low, high] if high - low >= 1 else [min(low, -0.5), max(high, 0.5)]


_FIGURE = 34
"""px beside a bar for its figure."""


def _pct(share: float | None) -> float | None:
    return None if share is None else 100 * share


def _room(dots: Sequence[YieldDot]) -> float:
    """Where the axis ends: past the farthest mark, with room for the figure beside it, per cent."""
    farthest = max((max(d.value, d.high or 0, d.beside or 0, d.usual_high or 0) for d in dots), default=0.5)
    return 118 * max(farthest, 0.05)
