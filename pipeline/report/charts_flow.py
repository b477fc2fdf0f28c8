"""The season's wax as a stream: comb kinds, first melt, refining, blocks, what became of them; losses leave below.

Altair has no such mark, so the stream is computed here: nodes stacked in columns, ribbons as sampled areas.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from pipeline.report.chart_to_svg import NARROW, WIDE, beside, drawn, short, specified, table
from pipeline.report.page_dataclasses import Drawing
from pipeline.report.palette import paint
from pipeline.wording.amounts import Units

if TYPE_CHECKING:
    import altair as alt

_BEND = ((0.0, 0), (0.12, 0), (0.88, 1), (1.0, 1))
"""How a ribbon runs: (how far across, 0 at its start's level or 1 at its end's); a spline rounds it."""
_LEAST = 0.002
"""Streams under this share of the whole are summed into the table only: they would be thinner than a line."""


@dataclass(frozen=True, slots=True)
class Stop:
    """One node: its name, the column it stands in, its colour's name and its mass in g; ``low`` ones sink."""

    name: str
    column: int
    colour: str
    mass_g: float
    low: bool = False


@dataclass(frozen=True, slots=True)
class Stream:
    """One ribbon between two stops, by name, with its mass in g; it wears the colour of where it goes to."""

    start: str
    end: str
    mass_g: float


@dataclass(frozen=True, slots=True)
class Flow:
    """A whole picture: stops from left to right and top to bottom, streams in the same order."""

    stops: tuple[Stop, ...]
    streams: tuple[Stream, ...]


@dataclass(frozen=True, slots=True)
class _Box:
    stop: Stop
    x: float
    top: float
    bottom: float


@dataclass(frozen=True, slots=True)
class _Sheet:
    """Sizes in px: of the drawing, a node's width, the room that a label needs, where each column stands.

    ``under``: the column whose one node is named under it, as no label fits beside it.
    """

    width: float
    stream_height: float
    label_height: float
    node: float
    columns: tuple[float, ...]
    under: int | None = None

    def letters(self, column: int) -> int:
        """How many letters a label may have before it meets the next column."""
        after = (*self.columns, self.width)[column + 1 if column != self.under else column + 2]
        return max(8, int((after - self.columns[column] - self.node - 4) / _LETTER))


_LETTER, _LINES = 5.7, 29
"""px: a letter of a label, its two lines."""
_SHEET = _Sheet(WIDE, 250, 31, 9, (0, 143, 286, 429, 572))
_PHONE = _Sheet(NARROW, 300, 30, 6, (0, 88, 112, 183, 251), under=1)


def season_flow(flow: Flow, units: Units) -> Drawing:
    """The drawing for a wide sheet and for a phone (SVG)."""
    return Drawing(_drawn(flow, units, _SHEET), _drawn(flow, units, _PHONE))


def _drawn(flow: Flow, units: Units, sheet: _Sheet) -> str:
    import altair as alt

    boxes = _placed(flow, sheet)
    height = max((b.bottom for b in boxes.values()), default=1) + sheet.label_height / 2
    x = alt.X("x:Q", scale=alt.Scale(domain=[0, sheet.width], nice=False), axis=None)
    y = alt.Y("y:Q", scale=alt.Scale(domain=[height, 0], nice=False), axis=None)
    fill = alt.Color("colour:N", scale=None)
    ribbons = (
        alt.Chart(_ribbons(flow, boxes, sheet))
        .mark_area(opacity=0.36, interpolate="monotone")
        .encode(x, y, alt.Y2("y2"), fill, alt.Detail("stream:N"))
    )
    nodes = alt.Chart(_nodes(boxes, sheet)).mark_rect(opacity=1).encode(x, y, alt.X2("x2"), alt.Y2("y2"), fill)
    label = alt.Chart(_labels(boxes, units, sheet)).mark_text(align="left", baseline="middle", lineBreak="\n", dy=-7)
    text = label.encode(x, y, alt.Text("label:N"))
    return drawn(specified(alt.layer(ribbons, nodes, text, width=beside((), sheet.width), height=height)))


def _placed(flow: Flow, sheet: _Sheet) -> dict[str, _Box]:
    columns = 1 + max((s.column for s in flow.stops), default=0)
    whole = max((sum(s.mass_g for s in flow.stops if s.column == c) for c in range(columns)), default=0)
    scale = sheet.stream_height / whole if whole else 0
    boxes: dict[str, _Box] = {}
    for column in range(columns):
        top = 0.0
        for stop in (s for s in flow.stops if s.column == column):
            tall = max(1.0, stop.mass_g * scale)
            room = max(tall + 6, sheet.label_height)
            top = max(top, _level(stop, flow, boxes, scale) - (room - tall) / 2)
            start = top + (room - tall) / 2
            boxes[stop.name] = _Box(stop, sheet.columns[column], start, start + tall)
            top += room
    return boxes


def _level(stop: Stop, flow: Flow, boxes: dict[str, _Box], scale: float) -> float:
    """Where a node would stand if its first stream ran level: px from the top."""
    feeding = [s for s in flow.streams if s.end == stop.name and s.start in boxes]
    if not feeding or stop.low:
        return 0.0
    first = feeding[0]
    before = sum(s.mass_g for s in flow.streams[: flow.streams.index(first)] if s.start == first.start)
    return boxes[first.start].top + before * scale


def _ribbons(flow: Flow, boxes: dict[str, _Box], sheet: _Sheet) -> alt.InlineData:
    left, entered = dict.fromkeys(boxes, 0.0), dict.fromkeys(boxes, 0.0)
    rows: list[dict[str, object]] = []
    for n, stream in enumerate(flow.streams):
        start, end = boxes[stream.start], boxes[stream.end]
        out, into = _thick(stream, start), _thick(stream, end)
        y0, y1 = start.top + left[stream.start], end.top + entered[stream.end]
        left[stream.start] += out
        entered[stream.end] += into
        x0 = start.x + sheet.node
        colour = paint("comb" if (start.stop.colour, end.stop.colour) == ("comb", "wax") else end.stop.colour)
        for across, at_end in _BEND:
            top, thick = (y1, into) if at_end else (y0, out)
            rows.append({"x": x0 + (end.x - x0) * across, "y": top, "y2": top + thick, "stream": n, "colour": colour})
    return table(rows)


def _thick(stream: Stream, box: _Box) -> float:
    return (box.bottom - box.top) * stream.mass_g / box.stop.mass_g if box.stop.mass_g else 0.0


def _nodes(boxes: dict[str, _Box], sheet: _Sheet) -> alt.InlineData:
    rows = [(b.x, b.x + sheet.node, b.top, b.bottom, paint(b.stop.colour)) for b in boxes.values()]
    return table(dict(zip(("x", "x2", "y", "y2", "colour"), row, strict=True)) for row in rows)


def _labels(boxes: dict[str, _Box], units: Units, sheet: _Sheet) -> alt.InlineData:
    foot = max((max(b.bottom, (b.top + b.bottom + _LINES) / 2) for b in boxes.values()), default=0) + 9
    free = {b.stop.name for b in boxes.values() if b.stop.low and not any(_meets(b, o) for o in boxes.values())}
    rows = [_label(b, units, sheet, foot, 4 * (b.stop.name in free)) for b in boxes.values()]
    return table(dict(zip(("x", "y", "label"), row, strict=True)) for row in rows)


def _meets(box: _Box, other: _Box) -> bool:
    """Whether a label beside a box runs level with a node or label of the next column."""
    apart = abs(box.top + box.bottom - other.top - other.bottom) / 2
    return other.stop.column == box.stop.column + 1 and apart < max(_LINES, (other.bottom - other.top + _LINES) / 2)


def _label(box: _Box, units: Units, sheet: _Sheet, foot: float, more: int) -> tuple[float, float, str]:
    """Beside its node, in the middle, with ``more`` letters where the next column leaves the room."""
    name, mass = box.stop.name, units.mass(box.stop.mass_g)
    if box.stop.column == sheet.under:
        return box.x - 30, foot + 7, f"{name} {mass}"
    letters = sheet.letters(box.stop.column) + more
    return box.x + sheet.node + 4, (box.top + box.bottom) / 2, f"{short(name, letters)}\n{mass}"


def thinned(stops: Iterable[Stop], streams: Iterable[Stream]) -> Flow:
    """A flow without the streams and stops that are too thin to see (the table still has them)."""
    kept_stops, kept = list(stops), list(streams)
    whole = max((s.mass_g for s in kept_stops), default=0.0)
    thick = tuple(s for s in kept if s.mass_g > _LEAST * whole)
    used = {s.start for s in thick} | {s.end for s in thick}
    return Flow(tuple(s for s in kept_stops if s.name in used), thick)
