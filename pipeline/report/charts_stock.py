"""The shelf as pictures: wax on hand over time with what is to come, and block by block; the balance of a suspect."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

from pipeline.report.chart_to_svg import NARROW, WIDE, amount, beside, days, draw, drawn, names, short, specified, table
from pipeline.report.page_dataclasses import Drawing
from pipeline.report.palette import paint
from pipeline.wording.amounts import Units

if TYPE_CHECKING:
    import altair as alt

_FIGURES = ("0.00",)
"""What an axis of masses is reckoned to need."""


@dataclass(frozen=True, slots=True)
class WaxAhead:
    """Wax on hand on a day to come, g: 10, 50 and 90 %."""

    day: date
    low_g: float
    mid_g: float
    high_g: float


@dataclass(frozen=True, slots=True)
class Mark:
    """A planned batch on the fan: its day, its name, whether the wax in hand covers it, the wax after it (mid, g)."""

    day: date
    name: str
    covered: bool
    mass_g: float


def on_hand(past: Sequence[tuple[date, float]], units: Units) -> Drawing:
    """Wax on hand over time as steps (SVG)."""
    import altair as alt

    shown = table([{"date": d, "mass": units.axis(m)} for d, m in past])
    area = alt.Chart(shown).mark_area(
        interpolate="step-after", color=paint("wax"), opacity=0.35, line={"color": paint("wax"), "strokeWidth": 1.6}
    )
    shape = area.encode(days(_months()), alt.Y("mass:Q", title=None, axis=alt.Axis(tickCount=5)))
    return draw(shape.properties(width=beside(_FIGURES), height=170), _FIGURES)


def fan(
    past: Sequence[tuple[date, float]], ahead: Sequence[WaxAhead], marks: Sequence[Mark], step_g: float, units: Units
) -> Drawing:
    """Wax on hand behind and ahead with the planned batches, for a wide sheet and for a phone (SVG).

    ``ahead`` begins with today's wax; ``step_g`` of what follows is counted at once, and its step is named.
    """
    spec = specified(_fan(past, ahead, marks, step_g, units), _FIGURES)
    return Drawing(drawn(spec), drawn(spec, width=beside(_FIGURES, NARROW)))


def _fan(
    past: Sequence[tuple[date, float]], ahead: Sequence[WaxAhead], marks: Sequence[Mark], step_g: float, units: Units
) -> Any:
    import altair as alt

    behind = table([{"date": d, "mass": units.axis(m)} for d, m in past])
    coming = table(
        [
            {"date": a.day, "low": units.axis(a.low_g), "mid": units.axis(a.mid_g), "high": units.axis(a.high_g)}
            for a in ahead
        ]
    )
    marked = [_marked(m, units) for m in marks]
    batches = table(marked)
    low, high = (
        alt.Chart(table(marked[::2])),
        alt.Chart(table(marked[1::2])),
    )  # names in turn on two levels, so that neighbours do not meet
    x = days(_months())
    y = alt.Y("mass:Q", title=None, axis=alt.Axis(tickCount=5))
    before = alt.Chart(behind).mark_line(interpolate="step-after", color=paint("wax"), strokeWidth=2)
    band = alt.Chart(coming).mark_area(interpolate="step-after", color=paint("chance"), opacity=0.6)
    middle = alt.Chart(coming).mark_line(interpolate="step-after", color=paint("wax"), strokeWidth=2, strokeDash=[5, 3])
    nothing = alt.Chart(table([{"mass": 0}])).mark_rule(color=paint("faint"))
    step = [
        _marked(Mark(a.day, "", True, a.mid_g), units) | {"name": f"+{units.about(step_g)} with no ready date"}
        for a in ahead[1:2]
    ]
    named = alt.Chart(table(step if step_g > 0 else [])).mark_text(align="right", dx=-6, dy=6)
    points = alt.Chart(batches).mark_point(filled=True, size=90, opacity=1)
    return alt.layer(
        band.encode(x, alt.Y("low:Q", title=None), alt.Y2("high")),
        nothing.encode(alt.Y("mass:Q")),
        before.encode(x, y),
        middle.encode(x, alt.Y("mid:Q")),
        points.encode(x, y, alt.Color("colour:N", scale=None), alt.Shape("shape:N", scale=None)),
        low.mark_text(dy=-14, limit=90).encode(x, y, alt.Text("name:N")),
        high.mark_text(dy=-29, limit=90).encode(x, y, alt.Text("name:N")),
        named.encode(x, y, alt.Text("name:N")),
        width=beside(_FIGURES, WIDE),
        height=230,
    )


def _months() -> alt.Axis:
    import altair as alt

    return alt.Axis(format="%b %Y", tickCount=5, grid=False, labelOverlap="greedy", labelSeparation=8)


def _marked(mark: Mark, units: Units) -> dict[str, object]:
    colour, shape = ("candle", "circle") if mark.covered else ("alarm", "diamond")
    place: dict[str, object] = {
        "date": mark.day,
        "mass": units.axis(mark.mass_g),
        "name": short(mark.name, 12),
    }
    return place | {"colour": paint(colour), "shape": shape}


def blocks(masses: Sequence[tuple[str, float]], units: Units) -> Drawing:
    """Wax on hand block by block (SVG)."""
    import altair as alt

    order = [short(n) for n, _ in masses]
    rows = [{"name": short(n), "mass": units.axis(m), "text": units.mass_cell(m)} for n, m in masses]
    base = alt.Chart(table(rows)).encode(names("name", order), amount("mass", f"wax, {units.mass_unit}"))
    text = base.mark_text(align="left", dx=5).encode(alt.Text("text:N"))
    bar = base.mark_bar(color=paint("wax"), opacity=1)
    return draw(alt.layer(bar, text, width=beside(order), height=alt.Step(22)), order)


def balance(weighings: Sequence[tuple[str, float, float]], units: Units) -> Drawing:
    """Each weighing of a session as weighed (diamond) and as the other weighings have it (bar), in g (SVG)."""
    import altair as alt

    order = [short(n) for n, _, _ in weighings]
    rows = [
        {"name": short(n), "weighed": units.axis(w), "likely": units.axis(r),
         "colour": paint("alarm" if abs(w - r) > max(2 * units.step_g, 0.01 * abs(r)) else "candle")}
        for n, w, r in weighings
    ]  # fmt: skip
    base = alt.Chart(table(rows)).encode(names("name", order))
    bar = base.mark_bar(color=paint("wax"), opacity=1).encode(amount("likely", f"mass, {units.mass_unit}"))
    gap = base.mark_rule(strokeWidth=3).encode(alt.X("likely:Q"), alt.X2("weighed"), alt.Color("colour:N", scale=None))
    mark = base.mark_point(filled=True, shape="diamond", size=110, opacity=1).encode(
        alt.X("weighed:Q"), alt.Color("colour:N", scale=None)
    )
    return draw(alt.layer(bar, gap, mark, width=beside(order), height=alt.Step(26)), order)
