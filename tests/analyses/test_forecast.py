"""The yield of comb not yet rendered: the model's algebra, its prior, its losses, its guard, and simulated books."""

from __future__ import annotations

import sys
from dataclasses import replace
from datetime import date, timedelta
from math import sqrt

import numpy as np
import pytest
import scipy.stats
from scipy.special import expit

from pipeline.analyses.backtest import interval_score, masses, pooled_interval
from pipeline.analyses.pending_wax import DRAWS, MANY, SEED, Lot, expected, method_lately, refining_yield
from pipeline.analyses.yield_model import (
    LEAST_LOADED_G,
    Rendered,
    fit,
    loss_chance,
    posterior,
)
from pipeline.analyses.yield_priors import Prior, Priors, logit
from tests.bench.forecast_coverage import PRIORS as SIMULATED
from tests.bench.forecast_coverage import coverage, table

PRIORS = Priors.of([Prior("cappings", None, 0.75, 0.92), Prior("brood comb", "solar", 0.07, 0.2), Prior("brood comb", "steam", 0.2, 0.45)])
START = date(2025, 1, 1)
CAPPINGS = ("cappings", "steam")


def session(n: int, wax_share: float, comb: str = "cappings", method: str = "steam", loaded_g: float = 8000) -> Rendered:
    return Rendered(f"S{n:03}", START + timedelta(n), comb, method, loaded_g, loaded_g * wax_share)


ONE = np.ones((1, 1))


def test_conjugate_update_of_one_kind_by_hand() -> None:
    # From the closed form m0 + n/(n + k0) (z - m0): m0 .2, k0 .6, nu0 3, s0 .35; nothing seen, then one z of .5.
    before = posterior(np.zeros((0, 1)), np.zeros(0), np.array([0.6]), 3, 0.35)
    assert (before.mean[0], before.spread(np.ones(1)), before.df) == (0, pytest.approx(0.5715, abs=5e-5), 3)
    after = posterior(ONE, np.array([0.3]), np.array([0.6]), 3, 0.35)
    assert 0.2 + after.mean[0] == pytest.approx(0.3875)
    assert (after.spread(np.ones(1)), after.df) == (pytest.approx(0.4037, abs=5e-5), 4)


def test_vague_prior_is_the_classical_prediction_limit() -> None:
    # US EPA 2009 unified guidance example 18-1 (arsenic), as in EnvStats: one-sided 95 % limit for 4 future values.
    x = np.array([12.6, 30.8, 52.0, 28.1, 33.3, 44.0, 3.0, 12.8, 58.1, 12.6, 17.6, 25.3])
    fitted = posterior(np.ones((12, 1)), x, np.zeros(1), -1, 0.0)
    t = scipy.stats.t.ppf(1 - 0.05 / 4, fitted.df)
    assert fitted.mean[0] + t * fitted.spread(np.ones(1)) == pytest.approx(73.67237, abs=1e-5)


def test_shrinkage_of_the_published_batting_averages() -> None:
    # Efron and Morris 1975: mean .265, c .212, Clemente .400 -> .294; squared error falls 3.5-fold (book value, memory).
    hits = np.array([0.4, 0.378, 0.356, 0.333, 0.311, 0.311, 0.289, 0.267, 0.244, 0.244, *[0.222] * 5, 0.2, 0.178, 0.156])
    k0 = 1 / 0.212 - 1
    shrunk = [0.265 + posterior(ONE, np.array([h - 0.265]), np.array([k0]), 2, 0.35).mean[0] for h in hits]
    assert shrunk[0] == pytest.approx(0.294, abs=0.0005)


def test_several_features_agree_with_ridge_regression() -> None:
    # Against augmented least squares solved by numpy: the prior as extra rows.
    rng = np.random.default_rng(3)
    x, z, l0 = rng.normal(size=(12, 4)), rng.normal(size=12), np.array([0.5, 1, 2, 4.0])
    rows = np.vstack([x, np.diag(np.sqrt(l0))])
    want = np.linalg.lstsq(rows, np.append(z, np.zeros(4)), rcond=None)[0]
    assert posterior(x, z, l0, 2, 0.3).mean == pytest.approx(want)


def test_leave_one_out_misses_equal_refits() -> None:
    shares = [0.8, 0.85, 0.7, 0.9, 0.82, 0.6]
    sessions = [session(i, s) for i, s in enumerate(shares)]
    whole = fit(sessions, PRIORS)
    for i, s in enumerate(sessions):
        without = fit([*sessions[:i], *sessions[i + 1 :]], PRIORS)
        miss = logit(s.share) - logit(without.interval(CAPPINGS).mid)
        sure = without.fitted.spread(np.ones(3)) / without.fitted.scale
        assert whole.misses[i] == pytest.approx(abs(miss) / sure)


def test_prior_alone_has_the_published_centre() -> None:
    told = fit([], PRIORS, [CAPPINGS]).interval(CAPPINGS)
    assert told.mid == pytest.approx(expit((logit(0.75) + logit(0.92)) / 2))
    assert 0 < told.low < 0.75
    assert 0.92 < told.high < 1


def test_a_method_without_a_row_takes_the_mean_of_its_kind() -> None:
    assert PRIORS.centre("brood comb", "oven") == pytest.approx((PRIORS.centre("brood comb", "solar") + PRIORS.centre("brood comb", "steam")) / 2)


def test_one_session_moves_every_kind_a_little_and_its_own_most() -> None:
    low = [session(0, 0.5)]
    before, after = fit([], PRIORS, [CAPPINGS, ("brood comb", "solar")]), fit(low, PRIORS, [("brood comb", "solar")])
    own = logit(before.interval(CAPPINGS).mid) - logit(after.interval(CAPPINGS).mid)
    other = logit(before.interval(("brood comb", "solar")).mid) - logit(after.interval(("brood comb", "solar")).mid)
    assert own > other > 0


def test_draws_agree_with_the_closed_form() -> None:
    model = fit([session(i, s) for i, s in enumerate([0.8, 0.85, 0.78, 0.9])], PRIORS)
    drawn = model.draws([CAPPINGS], np.random.default_rng(SEED), DRAWS * 10)[:, 0]
    told = model.interval(CAPPINGS)
    assert np.quantile(drawn, [0.1, 0.5, 0.9]) == pytest.approx([told.low, told.mid, told.high], abs=0.003)


def test_what_is_not_known_is_shared_between_lots() -> None:
    drawn = fit([], PRIORS, [CAPPINGS]).draws([CAPPINGS, CAPPINGS], np.random.default_rng(1), DRAWS)
    assert np.corrcoef(drawn.T)[0, 1] > 0.4


def test_whole_losses_are_counted_apart() -> None:
    assert loss_chance(1, 9) == pytest.approx(0.15)
    good = [session(i, 0.8 + 0.01 * (i % 3)) for i in range(9)]
    lossy = fit([*good, session(9, 0.0)], PRIORS)
    assert (lossy.lost, lossy.sessions) == (1, 10)
    assert lossy.interval(CAPPINGS).low == 0  # (1 + 1/2) / 11 is over the 10 % point
    assert lossy.interval(CAPPINGS).mid == pytest.approx(fit(good, PRIORS).interval(CAPPINGS).mid, abs=0.02)
    drawn = lossy.draws([CAPPINGS], np.random.default_rng(1), DRAWS)
    assert (drawn == 0).mean() == pytest.approx(loss_chance(1, 10), abs=0.01)


def test_guard_widens_for_a_noisy_book_only() -> None:
    calm = fit([session(i, s) for i, s in enumerate([0.84, 0.85, 0.86, 0.85, 0.84])], PRIORS)
    noisy = fit([session(i, s) for i, s in enumerate([0.85, 0.84, 0.86, 0.85, 0.3])], PRIORS)
    assert calm.stretch == 1
    assert noisy.stretch > 1.3
    wide, plain = noisy.interval(CAPPINGS), replace(noisy, misses=np.zeros(0)).interval(CAPPINGS)
    assert wide.high - wide.low > plain.high - plain.low


def test_yields_of_nought_and_one_stay_finite() -> None:
    told = fit([session(0, 1.0), session(1, 1.0)], PRIORS).interval(CAPPINGS)
    assert 0 < told.low < told.high < 1


def test_tiny_lots_teach_nothing() -> None:
    tiny = session(0, 0.1, loaded_g=LEAST_LOADED_G - 1)
    assert fit([tiny], PRIORS, [CAPPINGS]).interval(CAPPINGS) == fit([], PRIORS, [CAPPINGS]).interval(CAPPINGS)


def test_method_lately_is_the_most_used_of_the_last_ten() -> None:
    old = [session(i, 0.8, method="solar") for i in range(20)]
    new = [session(30 + i, 0.8, method="steam") for i in range(6)]
    assert method_lately([*old, *new], "cappings") == "steam"
    assert method_lately([*old, *new[:5]], "cappings") == "steam"  # five each: the one used last
    assert method_lately([*old, *new[:4]], "cappings") == "solar"
    assert method_lately([*old, *new], "brood comb") == "steam"
    assert method_lately([], "cappings") is None


def test_sessions_after_today_are_not_known_yet() -> None:
    later = [session(40, 0.3)]
    lot = [Lot("H1", "cappings", 1000, None)]
    told = expected(lot, later, PRIORS, None, START)
    assert told.lots == expected(lot, [], PRIORS, None, START).lots


def test_refining_yield_is_a_ratio_of_sums() -> None:
    assert refining_yield(2000, 1960) == 0.98
    assert refining_yield(0, 0) is None


def test_shares_of_lots_drawn_jointly_hold_the_total() -> None:
    # Five lots: with shared doubt the total is wider than independent draws would make it.
    told = expected([Lot(f"H{i}", "cappings", 1000, None) for i in range(5)], [session(0, 0.8)], PRIORS, None, date(2025, 2, 1))
    independent = sqrt(sum(float(np.var(told.draws_g[:, i])) for i in range(5)))
    assert float(np.std(told.total_g())) > 1.2 * independent


def test_very_many_lots_are_drawn_by_kind_and_day() -> None:
    many = [Lot(f"H{i:04}", "cappings", 10, date(2025, 3, 1 + i % 5)) for i in range(MANY + 1)]
    told = expected(many, [], PRIORS, None, START)
    assert len(told.lots) == 5
    assert sum(f.lot.mass_g for f in told.lots) == pytest.approx(10 * (MANY + 1))


def test_simulated_books(capsys: pytest.CaptureFixture[str]) -> None:
    rows = coverage(books=500)
    with capsys.disabled():
        sys.stdout.write("\n" + table(rows) + "\n")
    for row in rows:
        assert row.score < row.score_pooled
        if row.noise == 1:
            assert 0.75 <= row.held <= 0.88
        else:
            assert row.held >= 0.68


def test_simulation_uses_the_same_interval_score_as_the_backtest() -> None:
    assert interval_score(0, 0.4, 0.1, 0.5) == 0.4
    assert SIMULATED.known("cappings")
    assert pooled_interval(*masses([session(0, 0.5), session(1, 0.7)])).mid == pytest.approx(0.6)
