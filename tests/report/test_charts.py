"""The drawings: contrast of every text and mark in both dresses, colours for the colour-blind, names as typed."""

from __future__ import annotations

import itertools
import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import altair as alt
import numpy as np
import pytest
from altair.utils.schemapi import SchemaValidationError

from pipeline import flow
from pipeline.report import (
    chart_to_svg,
    charts_flow,
    charts_loss,
    charts_plan,
    charts_stock,
    charts_wicks_flaws_market,
    charts_yields,
    section_wicks_flaws_market,
)
from pipeline.report.chart_to_svg import SVG
from pipeline.report.palette import COLOURS
from pipeline.wording.amounts import Units
from tests import report_books as books
from tests.books import ROOT

DRESSES = ("light", "dark")
BY_NAME = {c.name: c for c in COLOURS}
MACHADO = {
    "protanopia": [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]],
    "deuteranopia": [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]],
    "tritanopia": [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]],
}
"""Full severity, linear RGB: Machado, Oliveira & Fernandes 2009, table 1 (from memory)."""
APART = 12
"""CIE 1976 colour difference that two marks keep; about 2.3 is just noticeable (Mahy et al. 1994, from memory)."""


def luminance(colour: str) -> float:
    """Relative luminance of ``#rrggbb`` (WCAG 2.2, definition of relative luminance)."""
    red, green, blue = (_linear(int(colour[i : i + 2], 16) / 255) for i in (1, 3, 5))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours, 1-21 (WCAG 2.2, definition of contrast ratio)."""
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def _linear(channel: float) -> float:
    return channel / 12.92 if channel <= 0.04045 else ((channel + 0.055) / 1.055) ** 2.4


def dressed(name: str, dress: str) -> str:
    return str(getattr(BY_NAME[name.removeprefix("var(--").removesuffix(")")], dress))


def inks(svg: str) -> Iterator[tuple[str, str, float]]:
    """Every colour that a drawing uses: (text, mark or rule), its variable, its opacity."""
    for node in ElementTree.fromstring(svg).iter():
        kind = "text" if node.tag == f"{{{SVG}}}text" else "mark"
        opacity = float(node.get("opacity", 1)) * float(node.get("fill-opacity", 1))
        for key in ("fill", "stroke"):
            if (colour := node.get(key)) and colour not in {"none", "transparent"}:
                yield kind, colour, opacity


def pale(svg: str, dress: str) -> list[str]:
    """What of a drawing does not stand out from the paper, or would not follow the dress.

    WCAG 2.2: 4.5 for text (1.4.3), 3 for marks (1.4.11); grid lines and shaded ranges carry nothing alone.
    """
    found = []
    for kind, colour, opacity in inks(svg):
        if not colour.startswith("var(--"):
            found.append(f"{colour} does not follow the dress")
            continue
        ratio = contrast(dressed(colour, dress), dressed("card", dress))
        if kind == "text" and (ratio < 4.5 or BY_NAME[colour[6:-1]].kind != "text"):
            found.append(f"text in {colour}: {ratio:.1f}")
        elif kind == "mark" and colour[6:-1] not in {"rule", "chance"} and opacity == 1 and ratio < 3:
            found.append(f"a mark in {colour}: {ratio:.1f}")
    return found


@pytest.mark.parametrize("dress", DRESSES)
@pytest.mark.parametrize("book", ["demo", "one_session", "hostile"])
def test_text_and_marks_stand_out_from_the_paper(book: str, dress: str) -> None:
    drawings = [d for p in books.drawings(book).values() for d in (p.wide, p.narrow) if d]
    assert len(drawings) >= 5
    assert [fault for d in drawings for fault in pale(d, dress)] == []


def test_pale_ink_is_found_out() -> None:
    drawn = f'<svg xmlns="{SVG}"><text fill="var(--rule)">a</text><path stroke="var(--paper)" d="M0,0h9"/><path fill="#c07d00" d="M0,0h9"/></svg>'
    assert [f.split(":")[0] for f in pale(drawn, "light")] == [
        "text in var(--rule)", "a mark in var(--paper)", "#c07d00 does not follow the dress",
    ]  # fmt: skip


@pytest.mark.parametrize("dress", DRESSES)
def test_text_stands_out_from_the_streams_it_lies_on(dress: str) -> None:
    """Labels of the season's flow lie on its ribbons (36 % of their colour over the card)."""
    for name in ("comb", "wax", "aside", "candle", "work", "residue", "unknown"):
        ribbon = blended(dressed(name, dress), dressed("card", dress), 0.36)
        assert contrast(dressed("ink", dress), ribbon) >= 4.5, name


def blended(top: str, under: str, opacity: float) -> str:
    mixed = [round(opacity * int(top[i : i + 2], 16) + (1 - opacity) * int(under[i : i + 2], 16)) for i in (1, 3, 5)]
    return "#" + "".join(f"{v:02x}" for v in mixed)


def lab(colour: str, matrix: object) -> np.ndarray:  # type: ignore[type-arg]
    """CIE L*a*b* (D65) of a colour as seen through a matrix on linear RGB."""
    raw = np.array([int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)])
    linear = np.where(raw <= 0.04045, raw / 12.92, ((raw + 0.055) / 1.055) ** 2.4)
    seen = np.clip(np.array(matrix) @ linear, 0, 1)
    to_xyz = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
    xyz = to_xyz @ seen / np.array([0.9505, 1.0, 1.089])
    f = np.where(xyz > (6 / 29) ** 3, np.cbrt(xyz), xyz / (3 * (6 / 29) ** 2) + 4 / 29)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


def apart(one: str, other: str, sight: str) -> float:
    """How far two colours are from each other for a kind of sight."""
    matrix = MACHADO.get(sight, np.eye(3))
    return float(np.linalg.norm(lab(one, matrix) - lab(other, matrix)))


@pytest.mark.parametrize("dress", DRESSES)
@pytest.mark.parametrize("sight", ["all cones", *MACHADO])
def test_marks_keep_apart_for_every_sight(sight: str, dress: str) -> None:
    marks = [c for c in COLOURS if c.kind == "mark"]
    for one, other in itertools.combinations(marks, 2):
        far = apart(getattr(one, dress), getattr(other, dress), sight)
        assert far >= APART, f"{one.name} and {other.name} are {far:.1f} apart"


def test_red_and_green_of_one_lightness_are_not_apart_without_red_or_green_cones() -> None:
    """What the simulation is for: a pair that all cones tell apart and two of the three deficiencies do not."""
    red, green = "#a06a3c", "#6f7d3c"
    assert apart(red, green, "all cones") > 2 * APART
    assert min(apart(red, green, sight) for sight in ("protanopia", "deuteranopia")) < APART


def test_contrast_is_that_of_the_standard() -> None:
    """WCAG 2.2: black on white is 21 : 1, a colour on itself 1 : 1; #777777 on white is 4.48 : 1 (well known, from memory)."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#123456", "#123456") == 1
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.005)
    assert luminance("#ffffff") == pytest.approx(1)


def texts(svg: str) -> list[str]:
    return ["".join(t.itertext()) for t in ElementTree.fromstring(svg).iter(f"{{{SVG}}}text")]


def test_a_flow_shows_every_stop_with_its_mass() -> None:
    stops = [charts_flow.Stop("cappings", 0, "comb", 4000), charts_flow.Stop("first melt", 1, "comb", 4000),
             charts_flow.Stop("raw wax", 2, "wax", 3000), charts_flow.Stop("slumgum", 2, "residue", 1000, low=True)]  # fmt: skip
    streams = [charts_flow.Stream("cappings", "first melt", 4000), charts_flow.Stream("first melt", "raw wax", 3000),
               charts_flow.Stream("first melt", "slumgum", 1000)]  # fmt: skip
    drawing = charts_flow.season_flow(charts_flow.thinned(stops, streams), Units())
    assert drawing.narrow
    for svg in (drawing.wide, drawing.narrow):
        told = " ".join(texts(svg)).replace("\u202f", " ")
        assert all(word in told for word in ("cappings", "first melt", "4.00 kg", "3.00 kg", "slumgum"))


def test_a_stream_too_thin_to_see_is_left_to_the_table() -> None:
    stops = [charts_flow.Stop("a", 0, "comb", 10_000), charts_flow.Stop("b", 1, "wax", 9_999), charts_flow.Stop("c", 1, "work", 1)]
    flow = charts_flow.thinned(stops, [charts_flow.Stream("a", "b", 9_999), charts_flow.Stream("a", "c", 1)])
    assert [s.name for s in flow.stops] == ["a", "b"]


def test_charts_of_nothing_are_still_drawings() -> None:
    units = Units()
    empty = [
        charts_yields.yield_dots([]), charts_yields.changes([]), charts_loss.loss_bars([]), charts_plan.reach([]),
        charts_plan.told([]), charts_stock.blocks([], units), charts_stock.balance([], units),
        charts_wicks_flaws_market.ladder([], [], in_order=True), charts_wicks_flaws_market.spans([], "hours", "candle"), charts_wicks_flaws_market.counts([], "batches", "work"),
    ]  # fmt: skip
    for drawing in empty:
        assert ElementTree.fromstring(drawing.wide).tag == f"{{{SVG}}}svg"


def test_passes_beyond_the_limits_differ_in_colour_and_in_shape() -> None:
    days = [date(2025, 1, n) for n in range(1, 9)]
    passes = tuple((d, 0.04, "signal" if n == 5 else "look" if n == 6 else "") for n, d in enumerate(days))
    wide = charts_loss.control_charts([charts_loss.Control("steam", passes, 0.04, 0.02, 0.06, "provisional")]).wide
    points = [n for n in ElementTree.fromstring(wide).iter(f"{{{SVG}}}path") if n.get("fill", "").startswith("var(--")]
    dress = {n.get("fill"): (n.get("d") or "")[:6] for n in points}
    assert {"var(--alarm)", "var(--unknown)", "var(--wax)"} <= dress.keys()
    assert len(set(dress.values())) == len(dress)
    assert 'stroke-dasharray="5,4"' in wide


def test_verdicts_on_a_wick_differ_in_colour_and_in_shape() -> None:
    rungs = [charts_wicks_flaws_market.Rung("jar", f"W{n}", says, n, says == "right") for n, says in enumerate(("small", "right", "large", "none"), 1)]
    wide = charts_wicks_flaws_market.ladder(rungs, [f"W{n}" for n in range(1, 5)], in_order=True).wide
    points = [n for n in ElementTree.fromstring(wide).iter(f"{{{SVG}}}path") if n.get("fill", "").startswith("var(--")]
    dress = {n.get("fill"): (n.get("d") or "")[:9] for n in points}
    assert {"var(--alarm)", "var(--unknown)", "var(--wax)", "var(--faint)"} <= dress.keys()
    assert len(set(dress.values())) == len(dress)
    assert {"W1", "W4", "2", "3"} <= set(texts(wide))


def test_burns_of_wicks_that_no_log_puts_in_order_are_drawn(tmp_path: Path) -> None:
    book = shutil.copytree(ROOT / "tests" / "checks" / "good_book", tmp_path / "book")
    (book / "wicks.csv").unlink()
    panels = {p.name: p for p in section_wicks_flaws_market.section(flow.load(book, date(2026, 11, 1)), Units()).panels}
    picture = panels["wicks"].picture
    assert picture
    assert {"w1", "wick"} <= set(texts(picture.chart().wide))


def test_long_names_that_begin_alike_stay_apart() -> None:
    rows = [charts_wicks_flaws_market.Span(f"a very long name of a candle, place {n}", 1, 2, 3, "1 to 3") for n in range(3)]
    assert texts(charts_wicks_flaws_market.spans(rows, "candles", "candle").wide).count("1 to 3") == 3


@pytest.mark.parametrize("zone", ["America/Los_Angeles", "UTC", "Pacific/Auckland"])
def test_days_stay_where_they_are_in_every_zone(zone: str) -> None:
    """A chart of one day drawn in a process of another time zone: the same bytes as in this one."""
    code = (
        "from datetime import date; from pipeline.report.charts_stock import on_hand; from pipeline.wording.amounts import Units;"
        "print(on_hand([(date(2025, 1, 1), 1000.0), (date(2026, 1, 1), 2000.0)], Units()).wide)"
    )
    env = os.environ | {"TZ": zone, "PYTHONPATH": str(ROOT)}
    done = subprocess.run([sys.executable, "-c", code], env=env, cwd=ROOT, capture_output=True, encoding="utf-8", check=True)
    past = [(date(2025, 1, 1), 1000.0), (date(2026, 1, 1), 2000.0)]
    assert done.stdout.strip() == charts_stock.on_hand(past, Units()).wide


def test_every_drawing_of_the_page_keeps_to_the_schema(monkeypatch: pytest.MonkeyPatch) -> None:
    """The pen makes charts unchecked; here every one is held against the Vega-Lite schema that Altair ships."""
    drawn: list[object] = []

    def checked(chart: Any, _: object = ()) -> dict[str, Any]:
        drawn.append(chart)
        return {**chart.to_dict(validate=True), "config": {"header": {}}}

    monkeypatch.setattr(chart_to_svg, "drawn", lambda *_, **__: "<svg/>")
    for module in (chart_to_svg, charts_loss, charts_stock):
        monkeypatch.setattr(module, "specified", checked)
    for picture in books.page("demo").pictures:
        picture.chart()
    assert len(drawn) >= 10
    with pytest.raises(SchemaValidationError):
        alt.Chart(alt.InlineData(values=[])).mark_bar().encode(alt.X("a:Q", axis=alt.Axis(tickCount="many")))  # type: ignore[arg-type]
