"""From a loaded book to its page: every section in the order of the reader's questions, then one file."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from pathlib import Path

from pipeline import __version__
from pipeline.answers import trend
from pipeline.contract.findings import MachineFault
from pipeline.flow import Loaded
from pipeline.report import (
    panel_suspect_weights,
    section_losses,
    section_plan,
    section_season,
    section_shelf,
    section_trust,
    section_wicks_flaws_market,
)
from pipeline.report.chart_drawing_process import ChartProcess
from pipeline.report.headline_figures import headlines
from pipeline.report.html_page import render
from pipeline.report.page_dataclasses import Page, Picture, Section
from pipeline.report.pdf_and_picture_files import save_charts
from pipeline.wording.amounts import Units
from pipeline.wording.visible_text import visible


def write(loaded: Loaded, path: Path, charts: ChartProcess, pictures: Path | None, ready: Callable[[], None]) -> str:
    """Write the page, its own drawings into ``pictures``, when ``ready`` comes back: the season in one sentence.

    Raises MachineFault.
    """
    page = gather(loaded, charts.begin)
    drawings = charts.drawings()
    ready()
    if pictures is not None:
        save_charts(drawings, pictures)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        _replace(path, render(page, drawings))
    except OSError as fault:
        raise MachineFault(f"the report {path} cannot be written: {fault.strerror}") from fault
    return page.headline


def _replace(path: Path, text: str) -> None:
    """Write a file whole, or not at all."""
    aside = path.with_name(f".{path.name}.{os.getpid()}")
    try:
        aside.write_text(text, "utf-8", newline="\n")
        aside.replace(path)
    finally:
        aside.unlink(missing_ok=True)


def gather(loaded: Loaded, begin: Callable[[Sequence[Picture]], None]) -> Page:
    """The page's sections and headline figures of a loaded book; ``begin`` gets each section's pictures once known."""
    units = units_of(loaded)
    house = loaded.warehouse

    def begun(section: Section) -> Section:
        begin(section.pictures)
        return section

    # those that need no analysis of seasons come first: their pictures are drawn meanwhile
    candles = begun(section_wicks_flaws_market.section(loaded, units))
    stock = begun(section_shelf.section(loaded, units))
    moved = trend.trend(loaded, trend.LATEST)
    by_season, claims = moved.seasons, tuple(visible(text) for text in moved.told("season"))
    sections = (
        begun(section_season.section(house, units, by_season, claims)),
        begun(section_plan.section(loaded, units)),
        candles,
        begun(section_losses.section(house, units, moved)),
        begun(section_trust.attention(loaded, panel_suspect_weights.panel(loaded, units))),
        stock,
        begun(section_trust.provenance(loaded, units, __version__)),
    )
    seasons = section_season.figures(house)
    return Page(
        name=visible(loaded.book.name),
        title="Wax report",
        today=units.day(loaded.on),
        season=seasons[-1].season if seasons else "not begun",
        headlines=headlines(loaded, units),
        sections=sections,
        answer=section_season.headline(house, units, by_season),
        headline=section_season.headline(house, Units.of(loaded.book), by_season),
        warning=section_trust.left_out_words(loaded.left_out, units),
        version=__version__,
    )


def units_of(loaded: Loaded) -> Units:
    """How the book shows its figures, with the readability of its own scale."""
    return Units.of(loaded.book).on_page()
