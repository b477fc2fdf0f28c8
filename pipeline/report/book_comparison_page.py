"""The page of several books: how do we compare?"""

from __future__ import annotations

from datetime import date
from functools import partial
from pathlib import Path

from pipeline.analyses.book_comparison import ComparedKind, Standing
from pipeline.answers.book_comparison import Comparison
from pipeline.contract.findings import MachineFault
from pipeline.report.charts_yields import YieldDot, yield_dots
from pipeline.report.html_page import render
from pipeline.report.page_dataclasses import Page, Panel, Picture, Section, Table, TableColumn
from pipeline.wording import book_comparison_sentences as say
from pipeline.wording.amounts import Units, count, share, share_cell
from pipeline.wording.visible_text import DASH, visible

NAME = "comparison.html"


def write(found: Comparison, out: Path, today: date, version: str, units: Units) -> Path:
    """Write the page into a folder; its path. Raises MachineFault."""
    from pipeline.report import chart_to_svg

    page = _page(found, today, version, units)
    with chart_to_svg.unchecked():
        drawings = {picture.name: picture.chart() for picture in page.pictures}
    path = out / NAME
    try:
        out.mkdir(parents=True, exist_ok=True)
        path.write_text(render(page, drawings), "utf-8", newline="\n")
    except OSError as fault:
        raise MachineFault(f"{path} cannot be written: {fault.strerror}") from fault
    return path


def _page(found: Comparison, today: date, version: str, units: Units) -> Page:
    sections = (
        _section("yields", "What share of the comb came out as wax?", found.yields, "comb and method"),
        _section("refining", "What does refining lose?", found.losses, "way of refining"),
    )
    names = f"{len(found.books)} books"
    return Page(names, "How do we compare?", units.day(today), "", (), sections, answer(found), version=version)


def answer(found: Comparison) -> str:
    """The whole page in one sentence."""
    apart = sum(any(s.verdict in ("higher", "lower") for s in books) for _, books in (*found.yields, *found.losses))
    kinds = len(found.yields) + len(found.losses)
    if not kinds:
        return "The books share no comb and method, so that there is nothing to compare."
    if not apart:
        return f"No difference between the books that their sessions show, in any of {kinds} comparisons."
    return f"In {apart} of {kinds} comparisons some book stands apart from the others."


def _section(
    name: str, heading: str, kinds: tuple[tuple[ComparedKind, tuple[Standing, ...]], ...], what: str
) -> Section:
    panels = [_panel(f"{name}-{n}", kind, books) for n, (kind, books) in enumerate(kinds)]
    return Section(name, heading, tuple(panels) or (Panel(name, f"No two books have a {what} in common."),))


def _panel(name: str, kind: ComparedKind, books: tuple[Standing, ...]) -> Panel:
    dots = [YieldDot(visible(s.book), s.middle, s.low, s.high) for s in books]
    says = "Dots: " + "; ".join(f"{visible(s.book)} {share(s.middle)}" for s in books) + "."
    title = f"{say.kind(kind)}, per cent"
    heads = (
        TableColumn("book", figures=False),
        TableColumn("sessions" if kind.comb else "passes"),
        TableColumn("middle, %"),
        TableColumn("from, %"),
        TableColumn("to, %"),
        TableColumn("beside the others", figures=False),
    )
    rows = tuple(
        (visible(s.book), count(s.n), share_cell(s.middle), _end(s.low), _end(s.high), say.verdict(s)) for s in books
    )
    picture = Picture(name, title, says, partial(yield_dots, dots, None if kind.comb else "lost, % of what went in"))
    return Panel(
        name,
        say.standing(kind, books),
        picture,
        Table(say.kind(kind), heads, rows),
        method=say.METHOD,
        about=say.kind(kind),
    )


def _end(value: float | None) -> str:
    return DASH if value is None else share_cell(value)
