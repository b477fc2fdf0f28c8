"""The report: one page that answers what the season gave."""

from __future__ import annotations

from pathlib import Path

from pipeline.flow import Loaded


def write(loaded: Loaded, out: Path) -> tuple[Path, str]:
    """Write the page into the folder ``out``; gives its path and the season's headline sentence."""
    out.mkdir(parents=True, exist_ok=True)
    page = out / f"{loaded.book.folder.resolve().name}.html"
    page.write_text(f"<!doctype html><title>{len(loaded.findings)}</title>", "utf-8")
    return page, ""
