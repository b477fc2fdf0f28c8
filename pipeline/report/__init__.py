"""The report: one page that answers what the season gave, how far the wax goes, what is lost, what to look at."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pipeline.flow import Loaded
    from pipeline.report.chart_process import Pen

# charts take a second to import; commands without a page need none, so each function imports when it is called


def write(loaded: Loaded, out: Path, pen: Pen, charts: Path | None = None) -> tuple[Path, str]:
    """Write the page into the folder ``out``, and its pictures as SVG and PNG into ``charts`` where that is given.

    Gives the page's path and the season in one sentence. Raises MachineFault.
    """
    from pipeline.report import writing

    return writing.write(loaded, out, pen, charts)


def pdf(page: Path, paper: str = "A4") -> Path:
    """Print a written page to a PDF beside it. Raises MachineFault, in a plain sentence where there is no Chromium."""
    from pipeline.report import saved_pictures

    return saved_pictures.save_pdf(page, paper)
