"""Past forecasts judged: exact limits, scores, and what is said of too few sessions."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
import scipy.stats
import scoringrules

from pipeline.analyses.backtest import backtest, exact_limits, interval_score, masses, pooled_interval
from pipeline.analyses.yield_model import Rendered, fit
from pipeline.analyses.yield_priors import Prior, Priors

PRIORS = Priors.of([Prior("cappings", None, 0.75, 0.92)])


def sessions(*shares: float) -> list[Rendered]:
    start = date(2025, 1, 1)
    return [Rendered(f"S{i:02}", start + timedelta(i), "cappings", "steam", 8000, 8000 * s) for i, s in enumerate(shares)]


def test_exact_limits_of_published_counts() -> None:
    # Clopper-Pearson: 8/10 .44-.97, 16/20 .56-.94, 24/30 .61-.92; and scipy.stats.binomtest for every count.
    for k, n, low, high in [(8, 10, 0.44, 0.97), (16, 20, 0.56, 0.94), (24, 30, 0.61, 0.92)]:
        assert exact_limits(k, n) == pytest.approx((low, high), abs=0.006)
    for n in (1, 7, 30):
        for k in range(n + 1):
            oracle = scipy.stats.binomtest(k, n).proportion_ci()
            assert exact_limits(k, n) == pytest.approx((oracle.low, oracle.high))
    assert exact_limits(0, 0) is None


def test_interval_score_agrees_with_scoringrules() -> None:
    assert interval_score(0, 0.4, 0.1, 0.5) == 0.4
    for came in (-0.2, 0.1, 0.3, 0.9):
        assert interval_score(0.2, 0.5, came) == pytest.approx(float(scoringrules.interval_score(came, 0.2, 0.5, 0.2)))


def test_each_session_is_predicted_from_those_before_it_alone() -> None:
    seen = sessions(0.8, 0.85, 0.7, 0.9)
    told = backtest(seen, PRIORS)
    for i, h in enumerate(told.sessions):
        want = fit(seen[:i], PRIORS, [("cappings", "steam")]).interval(("cappings", "steam"))
        assert (h.low, h.mid, h.high) == (want.low, want.mid, want.high)
    assert backtest(seen[::-1], PRIORS) == told


def test_count_level_and_scores() -> None:
    seen = sessions(*[0.84, 0.86, 0.85] * 4, 0.3)
    told = backtest(seen, PRIORS)
    assert (told.n, told.inside, told.level, told.n_scored) == (13, 12, 0.8, 11)
    assert (told.low, told.high) == exact_limits(12, 13)
    scores = [interval_score(h.low, h.high, h.came) for h in told.sessions[2:]]
    assert told.score == pytest.approx(sum(scores) / 11)
    pooled = [interval_score(p.low, p.high, seen[i].share) for i in range(2, 13) if (p := pooled_interval(*masses(seen[:i])))]
    assert told.score_pooled == pytest.approx(sum(pooled) / 11)


def test_below_ten_sessions_is_too_few_to_judge() -> None:
    assert "too few to judge" in backtest(sessions(*[0.85] * 9), PRIORS).verdict
    assert "too few" not in backtest(sessions(*[0.85] * 10), PRIORS).verdict


def test_no_session_and_one() -> None:
    none = backtest([], PRIORS)
    assert (none.n, none.inside, none.low, none.score) == (0, 0, None, None)
    one = backtest(sessions(0.8), PRIORS)
    assert (one.n, one.score, one.score_pooled) == (1, None, None)


def test_a_session_that_lost_all_its_wax_counts_against_the_forecast() -> None:
    told = backtest(sessions(0.8, 0.85, 0.0, 0.82), PRIORS)
    assert [h.inside for h in told.sessions] == [True, True, False, True]
    assert told.sessions[3].low == 0  # one in three lost: the next may be too
