"""The report: one page that answers what the season gave, how far the wax goes, what is lost, what to look at."""

from __future__ import annotations

from pathlib import Path

from pipeline.flow import Loaded


def write(loaded: Loaded, out: Path) -> tuple[Path, str]:
    """Write the page into the folder ``out``; gives its path and the season in one sentence. Raises MachineFault."""
    from pipeline.report import writing  # charts take a second to import; commands without a page need none

    return writing.write(loaded, out)
