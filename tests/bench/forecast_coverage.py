"""Simulated books: how often the 80 % interval holds the next session, and its score against the pooled ratio.

Run ``python -m tests.bench.forecast_coverage 4000`` for the long table; the tests run a short one.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from scipy.special import expit

from pipeline.analyses.backtest import interval_score, masses, pooled_interval
from pipeline.analyses.yield_model import NOISE_SD, OFFSET_SD, Rendered, fit
from pipeline.analyses.yield_priors import Prior, Priors

KINDS = ("cappings", "wet cappings", "white comb", "brood comb")
METHODS = ("solar", "steam")
PRIORS = Priors.of([
    Prior("cappings", None, 0.75, 0.92), Prior("wet cappings", None, 0.08, 0.50),
    Prior("white comb", "solar", 0.35, 0.60), Prior("white comb", "steam", 0.50, 0.80),
    Prior("brood comb", "solar", 0.07, 0.20), Prior("brood comb", "steam", 0.20, 0.45),
])  # fmt: skip
AHEAD = 5  # sessions predicted per book


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the table: sessions per book, noise as a multiple of the prior's, and what came of it."""

    noise: float
    n: int
    held: float
    width: float
    score: float
    score_pooled: float


def book(rng: np.random.Generator, n: int, noise: float) -> list[Rendered]:
    """An invented book whose truth is drawn from the prior, its session noise ``noise`` times the prior's."""
    offset = rng.normal(0, OFFSET_SD)
    kinds = {k: rng.normal(0, PRIORS.sd(k)) for k in KINDS}
    methods = {m: rng.normal(0, OFFSET_SD) for m in METHODS}
    made = []
    for i in range(n):
        comb, method = KINDS[rng.choice(4, p=[0.4, 0.1, 0.2, 0.3])], METHODS[rng.choice(2, p=[0.3, 0.7])]
        centre = PRIORS.centre(comb, method) + offset + kinds[comb] + methods[method]
        loaded = rng.uniform(3000, 15000)
        wax = loaded * float(expit(centre + rng.normal(0, NOISE_SD * noise)))
        made.append(Rendered(f"S{i:03}", date(2024, 1, 1) + timedelta(i), comb, method, loaded, wax))
    return made


def line(noise: float, n: int, books: int) -> Row:
    """Predict the next sessions of many books from their first ``n``."""
    rng = np.random.default_rng(20_250_814)
    held, width, score, pooled = [], [], [], []
    for _ in range(books):
        sessions = book(rng, n + AHEAD, noise)
        before, after = sessions[:n], sessions[n:]
        model, plain = fit(before, PRIORS, [(s.comb, s.method) for s in after]), pooled_interval(*masses(before))
        for s in after:
            told = model.interval((s.comb, s.method))
            held.append(told.low <= s.share <= told.high)
            width.append(told.high - told.low)
            score.append(interval_score(told.low, told.high, s.share))
            pooled.append(interval_score(plain.low, plain.high, s.share))
    return Row(noise, n, *(float(np.mean(x)) for x in (held, width, score, pooled)))


def coverage(books: int) -> list[Row]:
    """The whole table: the prior right, then session noise twice the prior's."""
    return [line(noise, n, books) for noise in (1.0, 2.0) for n in (3, 5, 10, 30)]


def table(rows: list[Row]) -> str:
    """The table as text."""
    head = f"{'noise':>6} {'sessions':>8} {'held':>6} {'width':>6} {'score':>6} {'pooled':>7}"
    lines = [f"{r.noise:6.1f} {r.n:8d} {r.held:6.3f} {r.width:6.3f} {r.score:6.3f} {r.score_pooled:7.3f}" for r in rows]
    return "\n".join([head, *lines])


if __name__ == "__main__":
    sys.stdout.write(table(coverage(int(sys.argv[1]) if len(sys.argv) > 1 else 2000)) + "\n")
