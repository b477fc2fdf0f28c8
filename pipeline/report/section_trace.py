"""Where the latest candles came from, and what was measured of the blocks: panels for the section on the shelf."""

from __future__ import annotations

from functools import partial

from pipeline.analyses.trace_shares import Way
from pipeline.answers.block_quality import Quality
from pipeline.answers.trace import Journey
from pipeline.report.charts_flow import Flow, Stop, Stream, season_flow, thinned
from pipeline.report.page_dataclasses import Panel, Picture, Table, TableColumn
from pipeline.wording import block_quality_sentences, trace_sentences
from pipeline.wording.amounts import Units, share
from pipeline.wording.visible_text import DASH, visible

_NOT_KNOWN = "not known"


def journey_panel(found: Journey | None, units: Units) -> Panel | None:
    """The latest batch back to its hives, as a stream; None where no batch can be followed."""
    if found is None:
        return None
    picture = picture_of(found, units)
    sentence, method = trace_sentences.journey(found), trace_sentences.JOURNEY_METHOD
    return Panel("journey", sentence, picture, method=method, about="where it came from")


def picture_of(found: Journey, units: Units) -> Picture:
    """A batch back to its hives, as a stream."""
    flow = _flow(found)
    chart = partial(season_flow, thinned(flow.stops, flow.streams), units)
    return Picture("journey", f"From the hives to {visible(found.batch)}", _says(found), chart)


def _flow(found: Journey) -> Flow:
    """Hives, harvests, first melts, blocks and the batch, with the wax that went from one to the next (g)."""
    stops: dict[str, Stop] = {}
    streams: dict[tuple[str, str], float] = {}

    def step(start: tuple[str, int, str], end: tuple[str, int, str], mass_g: float) -> None:
        for name, column, colour in (start, end):
            before = stops.get(name)
            entered = mass_g if (name, column, colour) == end or column == 0 else 0.0
            stops[name] = Stop(name, column, colour, (before.mass_g if before else 0.0) + entered)
        streams[start[0], end[0]] = streams.get((start[0], end[0]), 0.0) + mass_g

    for way in found.ways:
        mass = found.wax_g * way.share
        names = _stations(found, way)
        for hive, part in names[0]:
            step((hive, 0, "comb"), names[1][0], mass * part)
        for before, after in zip(names[1], names[1][1:], strict=False):
            step(before, after, mass)
    order = sorted(stops.values(), key=lambda s: (s.column, -s.mass_g, s.name))
    place = {s.name: n for n, s in enumerate(order)}
    listed = sorted(streams.items(), key=lambda s: (place[s[0][0]], place[s[0][1]]))
    return Flow(tuple(order), tuple(Stream(a, b, g) for (a, b), g in listed))


def _stations(found: Journey, way: Way) -> tuple[list[tuple[str, float]], list[tuple[str, int, str]]]:
    """The hives with their parts, then the stations that follow: harvest, first melt, block, batch."""
    begin, melted, block = way.begin, way.melted, way.block
    last = [(f"batch {visible(found.batch)}", 4, "candle")]
    if block is not None:
        last.insert(0, (f"block {visible(block.name)}", 3, "wax"))
    if melted is not None:
        last.insert(0, (f"session {visible(melted.name)}", 2, "wax"))
    if begin.kind == "harvest":
        hives = found.hives.get(str(begin.name), ((None, 1.0),))
        listed = [(visible(hive) if hive else _NOT_KNOWN, part) for hive, part in hives]
        return listed, [(f"harvest {visible(begin.name)}", 1, "comb"), *last]
    return [("bought" if begin.kind == "block" else _NOT_KNOWN, 1.0)], last


def _says(found: Journey) -> str:
    """The picture in words: the parts of the harvests."""
    parts: dict[str, float] = {}
    for way in found.ways:
        name = "not known" if way.begin.name is None else f"{way.begin.kind} {visible(way.begin.name)}"
        parts[name] = parts.get(name, 0.0) + way.share
    return "; ".join(f"{name} {share(part)}" for name, part in sorted(parts.items(), key=lambda p: -p[1])) + "."


def quality_panel(blocks: list[Quality], units: Units) -> Panel | None:
    """Every block of which something was measured, against the published ranges; None where nothing was."""
    if not blocks:
        return None
    heads = (
        TableColumn("block", figures=False),
        TableColumn(units.spelled("colour"), figures=False),
        TableColumn("measured", figures=False, sentences=True),
        TableColumn("ester : acid"),
        TableColumn("passes"),
        TableColumn("hottest"),
        TableColumn("longest"),
    )
    rows = tuple(_quality_row(q, units) for q in blocks)
    table = Table("Blocks that were measured", heads, rows)
    return Panel(
        "quality",
        block_quality_sentences.sentence(blocks),
        None,
        table,
        method=block_quality_sentences.METHOD,
        about="block quality",
    )


def _quality_row(q: Quality, units: Units) -> tuple[str, ...]:
    figures = "; ".join(block_quality_sentences.figure(m, units) for m in q.measured)
    ratio = DASH if q.ratio is None else units.number(q.ratio, 2)
    hottest = DASH if q.hottest_c is None else units.temperature(q.hottest_c)
    longest = DASH if q.longest_min is None else units.time(q.longest_min)
    return visible(q.block), visible(q.colour or ""), figures, ratio, str(q.passes or DASH), hottest, longest
