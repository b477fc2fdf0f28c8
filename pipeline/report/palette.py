"""The colours: one name for one meaning on every picture, in a light and a dark dress.

Charts are drawn with ``var(--name)``, so the same drawing follows dark mode and print. Contrast and distance for the
colour-blind are held by tests/report/test_charts.py.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Colour:
    """A meaning with its hex colour on light and on dark paper; ``kind`` is paper, text, mark or quiet."""

    name: str
    light: str
    dark: str
    kind: str
    means: str


COLOURS: tuple[Colour, ...] = (
    Colour("paper", "#fdf8ec", "#1c1712", "paper", "the sheet"),
    Colour("card", "#fffdf7", "#262019", "paper", "where pictures and tables stand"),
    Colour("ink", "#2e2417", "#f3e9d8", "text", "text"),
    Colour("faint", "#655844", "#bfae93", "text", "labels and notes"),
    Colour("link", "#7a4a00", "#f0b95c", "text", "links and headings' mark"),
    Colour("rule", "#e4d8bd", "#443a2d", "quiet", "grid lines and borders"),
    Colour("wax", "#c07d00", "#ffd24a", "mark", "wax: won, on hand, yields"),
    Colour("comb", "#a0806e", "#957060", "mark", "comb before it is rendered"),
    Colour("residue", "#43200b", "#c65a2a", "mark", "slumgum, dregs, scrapings"),
    Colour("unknown", "#12507f", "#5badea", "mark", "unaccounted: water, honey, spills"),
    Colour("work", "#6a8ea6", "#8681a3", "mark", "left in pots and moulds: handling, casting"),
    Colour("aside", "#7c9048", "#cdee83", "mark", "wax not cast yet: set aside or passed on"),
    Colour("candle", "#7f2d58", "#f3a3c6", "mark", "candles, and wax drawn for them"),
    Colour("alarm", "#a81b10", "#ff7f6e", "mark", "beyond the limits, short, does not fit"),
    Colour("chance", "#dcb667", "#7d5f20", "band", "the range that a forecast or scale leaves open"),
)


def variables(dark: bool) -> str:
    """The CSS custom properties of one dress, in a fixed order."""
    return ";".join(f"--{c.name}:{c.dark if dark else c.light}" for c in COLOURS)


def paint(name: str) -> str:
    """How a chart names a colour: ``var(--wax)``."""
    return f"var(--{name})"


def settled(svg: str, dark: bool = False) -> str:
    """An SVG with every variable replaced by its colour, for files that stand alone."""
    for c in COLOURS:
        svg = svg.replace(paint(c.name), c.dark if dark else c.light)
    return svg
