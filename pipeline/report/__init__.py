"""The report: one page that answers what the season gave, how far the wax goes, what is lost, what to look at."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

    from pipeline.flow import Loaded
    from pipeline.report.chart_drawing_process import ChartProcess

# charts take a second to import; commands without a page need none, so each function imports when it is called


def path(loaded: Loaded, out: Path) -> Path:
    """Where the page of a book stands in a folder."""
    return out / f"{loaded.book.folder.resolve().name}.html"


def write(
    loaded: Loaded,
    page: Path,
    charts: ChartProcess,
    pictures: Path | None = None,
    ready: Callable[[], None] = lambda: None,
) -> str:
    """Write the page, and its pictures as SVG and PNG into ``pictures`` where that is given, when ``ready`` comes back.

    Gives the season in one sentence. Raises MachineFault.
    """
    from pipeline.report import page_of_book

    return page_of_book.write(loaded, page, charts, pictures, ready)


def pdf(page: Path, paper: str = "A4") -> Path:
    """Print a written page to a PDF beside it. Raises MachineFault, in a plain sentence where there is no Chromium."""
    from pipeline.report import pdf_and_picture_files

    return pdf_and_picture_files.save_pdf(page, paper)
