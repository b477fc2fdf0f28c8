"""Wall seconds that 10,000 sessions take to be balanced and judged: ``python -m tests.bench.ten_thousand``; the bar is 5 s."""

from __future__ import annotations

import statistics
import sys
import time

import numpy as np

from pipeline.analyses.balances_of_book import balances
from pipeline.analyses.suspects import suspects
from pipeline.analyses.weighing_network import weighed
from tests.bench.suspects_simulation import clean_book, pen, uncertainty

BAR_S = 5.0


def seconds() -> float:
    """One run over the same clean book, the making of the book left out."""
    book = clean_book(np.random.default_rng(9), 10_000)
    begun = time.perf_counter()
    suspects(weighed(balances(book), uncertainty), pen("kg"))
    return time.perf_counter() - begun


if __name__ == "__main__":
    taken = statistics.median(seconds() for _ in range(3))
    print(f"10,000 sessions balanced and judged in {taken:.2f} s (bar {BAR_S:g} s)")
    sys.exit(taken >= BAR_S)
