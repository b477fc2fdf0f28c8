"""Losses as pictures: what each kind of pass loses and to what, and pass by pass against its usual limits."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from pipeline.report.chart_to_svg import NARROW, WIDE, amount, beside, days, draw, drawn, names, short, specified, table
from pipeline.report.page_dataclasses import Drawing
from pipeline.report.palette import paint


@dataclass(frozen=True, slots=True)
class LossBar:
    """The loss of one kind of pass as shares of what went in: residue weighed, and what nothing accounts for."""

    name: str
    residue: float
    unaccounted: float


@dataclass(frozen=True, slots=True)
class Control:
    """One kind of pass over time: (day, loss, grade) and its centre and limits (shares; None where not known)."""

    name: str
    passes: tuple[tuple[date, float, str], ...]
    centre: float | None
    lower: float | None
    upper: float | None
    state: str


def loss_bars(bars: Sequence[LossBar]) -> Drawing:
    """Loss per 100 g that went in, residue and unaccounted end to end (SVG); a gain stands left of none."""
    import altair as alt

    order = [short(b.name) for b in bars]
    rows = [
        {"name": short(b.name), "part": part, "order": n, "loss": 100 * value, "colour": paint(colour)}
        for b in bars
        for n, (part, value, colour) in enumerate(
            (("residue", b.residue, "residue"), ("unaccounted", b.unaccounted, "unknown"))
        )
    ]
    sums = [{"name": short(b.name), "loss": 100 * max(b.residue + max(b.unaccounted, 0), 0),
             "text": f"{100 * (b.residue + b.unaccounted):.1f}"} for b in bars]  # fmt: skip
    bar = alt.Chart(table(rows)).mark_bar(opacity=1).encode(
        names("name", order), amount("loss", "% of what went in"),
        alt.Color("colour:N", scale=None), alt.Order("order:Q"),
    )  # fmt: skip
    text = (
        alt.Chart(table(sums))
        .mark_text(align="left", dx=5, fontWeight="bold")
        .encode(names("name", order), alt.X("loss:Q"), alt.Text("text:N"))
    )
    return draw(alt.layer(bar, text, width=beside(order), height=alt.Step(28)), order)


def control_charts(kinds: Sequence[Control]) -> Drawing:
    """Small multiples for a wide sheet and a phone (SVG): points, centre, limits (dashed while provisional)."""
    spec = specified(_controls(kinds))
    each = [spec["spec"] | {"width": (width - 24) // columns - 48} for width, columns in ((WIDE, 2), (NARROW, 1))]
    small = spec["config"] | {"header": spec["config"]["header"] | {"labelFontSize": 10}}
    return Drawing(drawn(spec, spec=each[0], columns=2), drawn(spec, spec=each[1], columns=1, config=small))


def _controls(kinds: Sequence[Control]) -> Any:
    import altair as alt

    order = [short(k.name, 44) for k in kinds]
    whole = alt.Chart(table([*_points(kinds), *_limits(kinds)]))
    x = days(alt.Axis(format="%Y", tickCount={"interval": "year", "step": 1}, grid=False))
    y = alt.Y("loss:Q", title=None, scale=alt.Scale(zero=False), axis=alt.Axis(tickCount=4))
    dashes = alt.Scale(domain=["set", "provisional"], range=[[1, 0], [5, 4]])
    limit = whole.transform_filter("datum.what == 'limit'").mark_rule(color=paint("unknown"), strokeWidth=1.4)
    centre = whole.transform_filter("datum.what == 'centre'").mark_rule(color=paint("faint"))
    passes = whole.transform_filter("datum.what == 'pass'")
    layered = alt.layer(
        limit.encode(y, alt.StrokeDash("state:N", scale=dashes, legend=None)),
        centre.encode(y),
        passes.mark_line(color=paint("wax"), strokeWidth=1, opacity=0.6).encode(x, y),
        passes.mark_point(filled=True, opacity=1).encode(
            x, y, alt.Color("colour:N", scale=None), alt.Size("size:Q", scale=None), alt.Shape("shape:N", scale=None)
        ),
        height=92,
    )
    facet = alt.Facet("name:N", title=None, sort=order, header=alt.Header(labelFontWeight="bold", labelPadding=2))
    apart = {"scale": alt.ScaleResolveMap(y="independent"), "axis": alt.AxisResolveMap(x="independent")}
    return layered.facet(facet, spacing=14, resolve=alt.Resolve(**apart))


def _points(kinds: Sequence[Control]) -> list[dict[str, object]]:
    return [
        {"what": "pass", "name": short(k.name, 44), "date": day, "loss": 100 * loss, "state": None,
         **_dress(grade)}
        for k in kinds
        for day, loss, grade in k.passes
    ]  # fmt: skip


def _limits(kinds: Sequence[Control]) -> list[dict[str, object]]:
    return [
        {"what": what, "name": short(k.name, 44), "date": None, "loss": 100 * value, "state": k.state}
        for k in kinds
        for what, value in (("centre", k.centre), ("limit", k.lower), ("limit", k.upper))
        if value is not None
    ]


def _dress(grade: str) -> dict[str, object]:
    """Colour, size and shape of a point: beyond the limits a large red diamond, worth a look a ring's square."""
    return {
        "signal": {"colour": paint("alarm"), "size": 95, "shape": "diamond"},
        "look": {"colour": paint("unknown"), "size": 60, "shape": "square"},
    }.get(grade, {"colour": paint("wax"), "size": 34, "shape": "circle"})
