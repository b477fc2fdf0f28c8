"""The main job: a book's figures kept in its database file, and its report."""

from __future__ import annotations

import json
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from contextlib import AbstractContextManager
from dataclasses import dataclass
from datetime import date
from importlib import import_module
from pathlib import Path
from threading import Thread
from typing import Any

from pipeline import flow, report
from pipeline.book.book_settings import DATABASE
from pipeline.contract.findings import MachineFault
from pipeline.database.made_from import made_from, sha256
from pipeline.database.text_cache import KeptTexts
from pipeline.flow import Loaded
from pipeline.report.chart_drawing_process import ChartProcess


@dataclass(frozen=True, slots=True)
class Built:
    """What a build made: the database, the report, rows read, findings, and the season in one sentence."""

    database: Path
    report: Path
    pdf: Path | None
    rows: dict[str, int]
    problems: list[dict[str, object]]
    headline: str


class Build(AbstractContextManager["Build"]):
    """One build of a book's folder into a folder for its report."""

    def __init__(self, folder: Path, out: Path) -> None:
        """Raises MachineFault where the report's folder cannot be made."""
        self._folder, self._out = folder, out
        try:
            out.mkdir(parents=True, exist_ok=True)
        except OSError as fault:
            raise MachineFault(f"the report cannot be written to {out}: {fault.strerror}") from fault
        self._charts = ChartProcess(folder)

    def __exit__(self, *_: object) -> None:
        """End the process that draws."""
        self._charts.__exit__()

    def load(self, today: date) -> Loaded:
        """The book's figures, kept or new; where they are new there will be something to draw. Raises MachineFault."""
        origin = made_from(self._folder, today)
        kept = flow.recalled(self._folder, today, origin)
        if kept:
            return kept
        self._charts.start()
        Thread(target=_make_ready, daemon=True).start()
        return flow.load(self._folder, today, origin)

    def finish(self, loaded: Loaded, pictures: Path | None = None, pdf: bool = False) -> Built:
        """Keep the figures, write the report (its pictures into ``pictures``), then print it. Raises MachineFault."""
        with ThreadPoolExecutor(1) as beside:
            kept = beside.submit(flow.keep, loaded)  # the page is worked out meanwhile
            page, headline = self._page(loaded, pictures, kept.result)
        kept.result()  # where the page stood there already, nobody has asked yet
        paper = "Letter" if loaded.book.show.length == "in" else "A4"
        problems: list[dict[str, Any]] = [f.as_dict() for f in loaded.findings]
        printed = report.pdf(page, paper) if pdf else None
        return Built(self._folder / DATABASE, page, printed, loaded.rows, problems, headline)

    def _page(self, loaded: Loaded, pictures: Path | None, figures_kept: Callable[[], None]) -> tuple[Path, str]:
        """The page and its first sentence: written once the figures are kept, unless just this page stands there already."""
        kept, key = KeptTexts(self._folder, "pages"), loaded.origin.key if loaded.origin else ""
        path = report.path(loaded, self._out)
        if pictures is None and (text := kept.get(key)):
            known = json.loads(text)
            if path.is_file() and sha256(path) == known["sha256"]:
                return path, known["headline"]
        headline = report.write(loaded, path, self._charts, pictures, figures_kept)
        if loaded.origin and loaded.origin.holds():  # else the page may be of other logs than were hashed
            kept.put(key, json.dumps({"sha256": sha256(path), "headline": headline}))
            kept.keep_only([key])
        return path, headline


def _make_ready() -> None:
    """Load the page's modules and its template: that takes a quarter of a second, which the database's work leaves free."""
    import_module("pipeline.report.page_of_book")
    from pipeline.report.html_page import template

    template()
