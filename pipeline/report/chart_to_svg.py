"""From a tidy frame to one static SVG: the look that all charts share, and the road through Altair and vl_convert.

Colours stay ``var(--name)`` so that dark mode and print recolour a drawing without script. Charts get aggregates only.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from contextlib import AbstractContextManager
from datetime import date
from typing import TYPE_CHECKING, Any
from xml.etree import ElementTree

from pipeline.report.page_dataclasses import Drawing
from pipeline.report.palette import paint
from pipeline.wording.amounts import THIN
from pipeline.wording.visible_text import visible

if TYPE_CHECKING:
    import altair as alt

SVG = "http://www.w3.org/2000/svg"
WIDE, CARD, NARROW = 700, 350, 330
"""Widths in px of a whole drawing: across the sheet, beside a table, on a phone."""
_LEFT, _RIGHT, _GAP, _LETTER, _WIDER = 8, 6, 6, 6.2, 0.9
"""px: the margins, between a label and what it names, a letter of 12 px type, and what
it may be wider in the reader's own type than in the one that is measured here."""

_DROPPED = {
    "role", "pointer-events", "font-family", "class", "version", "aria-hidden", "aria-label", "aria-roledescription",
}  # fmt: skip
_LONG = re.compile(r"-?\d+\.\d{2,}")


def _look() -> dict[str, Any]:
    """The quiet dress of every chart: no frame, thin grid, ink for text; the page sets the font."""
    axis = {
        "labelColor": paint("faint"), "titleColor": paint("faint"), "labelFontSize": 12, "titleFontSize": 12,
        "titleFontWeight": "normal", "domain": False, "ticks": False, "gridColor": paint("rule"),
        "labelPadding": _GAP, "titlePadding": 8, "labelLimit": 0, "titleLimit": 0,
        "tickColor": paint("faint"), "labelFlush": False,
    }  # fmt: skip
    return {
        "background": "transparent",
        "locale": {"number": {"decimal": ".", "thousands": THIN, "grouping": [3], "currency": ["", ""]}},
        "view": {"stroke": None},
        "axis": axis,
        "text": {"color": paint("ink"), "fontSize": 12},
        "header": {"labelColor": paint("ink"), "labelFontSize": 12, "labelAnchor": "start", "labelLimit": 0},
        "bar": {"discreteBandSize": {"band": 0.66}},
    }


def unchecked() -> AbstractContextManager[None]:
    """Charts made inside are not held against Altair's schema at every step, which takes as long as making them.

    A test draws the whole page checked.
    """
    from altair.utils import schemapi

    off: AbstractContextManager[None] = schemapi.debug_mode(False)
    return off


def make_ready() -> None:
    """Load Altair and start the engine: the first drawing of a process waits for both."""
    import altair as alt

    draw(alt.Chart(table([])).mark_rule().encode(alt.X(datum=0)))


def draw(chart: Any, labels: Sequence[str] = ()) -> Drawing:
    """A chart with these labels on the left, one for every width: same chart, same bytes."""
    return Drawing(drawn(specified(chart, labels)))


def specified(chart: Any, labels: Sequence[str] = ()) -> dict[str, Any]:
    """A chart with these labels on the left as a Vega-Lite specification in the common look."""
    spec: dict[str, Any] = chart.to_dict(validate=False)
    padding = {"left": _LEFT + _WIDER * _longest(labels), "right": _RIGHT, "top": 6, "bottom": 2}
    return spec | {"config": _look(), "autosize": "pad", "padding": padding}


def beside(labels: Sequence[str], width: float = CARD) -> float:
    """What labels on the left leave of a drawing's width for its marks, px.

    Reckoned by letters: measuring them, and drawing again in the room left, would take as long as the drawing itself.
    """
    return width - _LEFT - _RIGHT - _GAP - (_LETTER + _WIDER) * _longest(labels)


def _longest(labels: Sequence[str]) -> int:
    return max(map(len, labels), default=0)


def drawn(spec: dict[str, Any], /, **changed: Any) -> str:
    """A specification as SVG text, with a few of its properties changed."""
    import vl_convert

    return tidy(vl_convert.vegalite_to_svg(spec | changed, vl_version="6.4"))


def tidy(svg: str) -> str:
    """The drawing without what the page does not need: roles, classes, fonts, empty paths, digits past the first."""
    ElementTree.register_namespace("", SVG)
    root = ElementTree.fromstring(svg)
    _prune(root)
    for node in root.iter():
        for key in [k for k in node.attrib if k in _DROPPED or (k == "opacity" and node.attrib[k] == "1")]:
            del node.attrib[key]
        for key in node.attrib.keys() & {"d", "transform", "width", "height", "viewBox"}:
            node.attrib[key] = _LONG.sub(lambda m: f"{float(m[0]):.1f}", node.attrib[key])
    return ElementTree.tostring(root, encoding="unicode")


def _prune(node: ElementTree.Element) -> None:
    for child in list(node):
        _prune(child)
        if _is_empty(child):
            node.remove(child)


def _is_empty(node: ElementTree.Element) -> bool:
    tag = node.tag.removeprefix(f"{{{SVG}}}")
    if tag == "path":
        drawn = {"fill", "stroke"} & node.attrib.keys()
        return not drawn or node.attrib.get("d", "") in {"", "M0,0h0v0h0Z"} or node.attrib.get("display") == "none"
    return tag in {"g", "defs"} and len(node) == 0


def short(name: object, most: int = 24) -> str:
    """A name as it stands on a chart: visible, cut with an ellipsis where it is long."""
    text = visible(name)
    return text if len(text) <= most else text[: most - 1] + "…"


def table(rows: Iterable[Mapping[str, object]]) -> alt.InlineData:
    """Rows as a chart's data; a day is its midnight in UTC, which :func:`days` draws the same in every time zone."""
    import altair as alt

    plain = tuple(
        {k: _plain(v) for k, v in row.items()} for row in rows
    )  # a tuple, as Altair copies lists at every step
    return alt.InlineData(values=plain)


def _plain(value: object) -> object:
    return f"{value.isoformat()}T00:00:00Z" if isinstance(value, date) else value


def names(axis: str, values: list[str], **more: Any) -> alt.Y:
    """A list of names down the left side, in the order given."""
    import altair as alt

    return alt.Y(f"{axis}:N", sort=values, title=None, axis=alt.Axis(labelColor=paint("ink"), grid=False), **more)


def amount(field: str, title: str | None, **more: Any) -> alt.X:
    """A quantity along the bottom, with few ticks."""
    import altair as alt

    scale = more.pop("scale", alt.Scale(nice=True))
    return alt.X(f"{field}:Q", title=title, scale=scale, axis=alt.Axis(tickCount=5, **more))


def days(axis: alt.Axis) -> alt.X:
    """Days along the bottom, in UTC: no machine's time zone or summer time moves them."""
    import altair as alt

    return alt.X("date:T", title=None, scale=alt.Scale(type="utc"), axis=axis)
