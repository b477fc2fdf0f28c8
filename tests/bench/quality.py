"""Processor seconds that a report spends on weights that do not fit and on the trend: ``python -m tests.bench.quality``.

The bars are 1 s for a keeper's whole life (3,000 sessions) and 0.7 s beyond the usual (100,000), of which a report balances
the latest 1,000; they are held where nothing else runs on the machine. The book is read before the clock starts.
"""

from __future__ import annotations

import gc
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import date
from pathlib import Path

from pipeline.answers import suspects, trend
from pipeline.flow import Loaded, load
from tests.bench.make_book import TODAY, make

BARS_S = {3_000: 1.0, 100_000: 0.7}


def busy(call: Callable[[], object]) -> float:
    """The median processor seconds of three calls."""

    def once() -> float:
        begun = time.process_time()
        call()
        return time.process_time() - begun

    return statistics.median(once() for _ in range(3))


def parts(loaded: Loaded) -> dict[str, float]:
    """What a report asks for, and what it takes."""
    return {
        "suspects": busy(lambda: suspects.fit(loaded, suspects.LATEST).suspects),
        "trend": busy(lambda: trend.trend(loaded, trend.LATEST)),
    }


if __name__ == "__main__":
    gc.set_threshold(1_000_000)  # as the command line has it
    slow = False
    for sessions, bar in BARS_S.items():
        with tempfile.TemporaryDirectory() as room:
            make(Path(room), sessions)
            taken = parts(load(Path(room), date.fromisoformat(TODAY)))
        print(f"{sessions:,} sessions: {', '.join(f'{k} {v:.2f} s' for k, v in taken.items())} (bar {bar:g} s)")
        slow |= sum(taken.values()) >= bar
    sys.exit(slow)
