"""Past forecasts judged: exact limits, scores, and what is said of too few sessions."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest
import scipy.stats
import scoringrules

from pipeline.analyses.backtest import backtest, exact_limits, interval_score, masses, pooled_interval
from pipeline.analyses.yield_model import RenderedLot, fit
from pipeline.analyses.yield_priors import Prior, Priors
from pipeline.wording import plan_sentences
from pipeline.wording.amounts import Units

PRIORS = Priors.of([Prior("cappings", None, 0.75, 0.92)])


def sessions(*shares: float) -> list[RenderedLot]:
    start = date(2025, 1, 1)
    return [RenderedLot(f"S{i:02}", start + timedelta(i), "cappings", "steam", 8000, 8000 * s) for i, s in enumerate(shares)]


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
        want = fit(seen[:i], PRIORS, [("cappings", "steam", None)]).interval(("cappings", "steam", None))
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


def test_the_rival_is_the_plain_ratio_of_the_same_kind_of_comb() -> None:
    # Cappings at 85 %, brood comb at 30 %: pooled over both the rival would be as wide as the gap between them.
    kinds = [replace(s, comb="brood comb", wax_g=2400 + 80 * i) if i % 2 else s for i, s in enumerate(sessions(*[0.84, 0.85] * 4))]
    told = backtest(kinds, PRIORS)
    rival = [interval_score(p.low, p.high, kinds[i].share) for i in range(4, 8) if (p := pooled_interval(*masses(kinds[i % 2 : i : 2])))]
    assert (told.n, told.n_scored) == (8, 4)
    assert told.score_pooled == pytest.approx(sum(rival) / 4)


def test_the_plain_ratio_has_a_t_interval_about_all_wax_over_all_comb() -> None:
    # By hand: 0.5 and 0.7 of 1 and 3 kg: ratio .65, s = sqrt(.15^2 + .05^2) on 1 degree of freedom, t(.9, 1) by scipy.
    seen = [replace(sessions(0.5)[0], loaded_g=1000, wax_g=500), replace(sessions(0.5)[0], loaded_g=3000, wax_g=2100)]
    told = pooled_interval(*masses(seen), level=0.4)
    half = scipy.stats.t.ppf(0.7, 1) * np.sqrt(0.15**2 + 0.05**2) * np.sqrt(1.5)
    assert (told.low, told.mid, told.high) == pytest.approx((0.65 - half, 0.65, 0.65 + half))


def test_below_ten_sessions_is_too_few_to_judge() -> None:
    assert "too few to judge" in plan_sentences.backtest(backtest(sessions(*[0.85] * 9), PRIORS), Units())
    assert "too few" not in plan_sentences.backtest(backtest(sessions(*[0.85] * 10), PRIORS), Units())


def test_no_session_and_one() -> None:
    none = backtest([], PRIORS)
    assert (none.n, none.inside, none.low, none.score) == (0, 0, None, None)
    one = backtest(sessions(0.8), PRIORS)
    assert (one.n, one.score, one.score_pooled) == (1, None, None)


def test_a_session_that_lost_all_its_wax_counts_against_the_forecast() -> None:
    told = backtest(sessions(0.8, 0.85, 0.0, 0.82), PRIORS)
    assert [h.inside for h in told.sessions] == [True, True, False, True]
    assert told.sessions[3].low == 0  # one in three lost: the next may be too
