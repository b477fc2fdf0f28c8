"""Processor time and size of the report: ``python -m tests.bench.report [BOOK] [--today DAY]``.

In one process of its own: importing, the analyses that the page asks, its questions and words, and what a build has the pen
do beside it: starting Altair and the engine, and drawing.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import time
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from tests.books import ROOT

if TYPE_CHECKING:
    from pipeline.flow import Loaded
    from pipeline.report.page_dataclasses import Drawing, Page

Made = TypeVar("Made")


def timed(what: str, make: Callable[[], Made]) -> Made:
    """Do something and say what processor time it took."""
    start = time.process_time()
    made = make()
    sys.stdout.write(f"{what}: {time.process_time() - start:.2f} s of processor time\n")
    return made


def once(book: Path, today: date) -> None:
    """Measure a book in this process, which must not have imported anything of the report yet."""
    from pipeline import flow

    loaded = timed("reading and models", lambda: flow.load(book, today))
    timed("importing", _imported)
    from pipeline.answers import suspects, trend
    from pipeline.report import chart_to_svg, page_of_book
    from pipeline.report.html_page import render

    moved = timed("analyses: trend and control charts", lambda: trend.trend(loaded, trend.LATEST))
    fit = timed("analyses: weights", lambda: suspects.fit(loaded, suspects.LATEST))
    timed("analyses: forecast, twice with the page's own", lambda: _ahead(loaded))
    trend.trend = lambda *_: moved  # type: ignore[assignment]
    suspects.fit = lambda *_: fit  # type: ignore[assignment]
    page = timed("questions and words", lambda: page_of_book.gather(loaded, lambda _: None))
    timed("Altair and the engine", chart_to_svg.make_ready)
    drawings = timed("drawings", lambda: _drawn(page))
    text = timed("the page", lambda: render(page, drawings))
    sys.stdout.write(f"the page: {len(text.encode()) / 1000:.0f} kB\n")


def _drawn(page: Page) -> dict[str, Drawing]:
    from pipeline.report import chart_to_svg

    with chart_to_svg.unchecked():
        return {p.name: p.chart() for p in page.pictures}


def _imported() -> None:
    from pipeline.answers import backtest, capacity, plan, suspects, trend  # noqa: F401
    from pipeline.report import page_of_book  # noqa: F401


def _ahead(loaded: Loaded) -> None:
    from pipeline.answers import backtest, capacity, plan

    for answer in (plan.plan, capacity.capacity, backtest.backtest):
        answer(loaded)


def main() -> None:
    """Read the command line and measure in a fresh process."""
    reader = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    reader.add_argument("book", type=Path, nargs="?", default=ROOT / "data" / "demo")
    reader.add_argument("--today", type=date.fromisoformat, default=date(2026, 11, 1))
    told = reader.parse_args()
    call = f"from tests.bench.report import once, Path, date; once(Path({str(told.book)!r}), date.fromisoformat('{told.today}'))"
    subprocess.run([sys.executable, "-c", call], check=True, cwd=ROOT)


if __name__ == "__main__":
    main()
