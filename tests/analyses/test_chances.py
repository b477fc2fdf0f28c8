"""Chances and quantiles against scipy.special, which the program itself need not load for them."""

from __future__ import annotations

from itertools import product
from pathlib import Path

import numpy as np
import pytest
from scipy import special

from pipeline.analyses.distributions import (
    beta_below,
    beta_quantile,
    chi2_above,
    coin_above,
    normal_below,
    normal_quantile,
    t_below,
    t_quantile,
)

CHANCES = (1e-9, 1e-4, 0.005, 0.025, 0.1, 0.3, 0.4999, 0.6, 0.9, 0.975, 0.995, 0.9999)
FREEDOM = (1, 2, 3, 4, 5, 10, 29, 100, 402, 5000)


def test_normal_values() -> None:
    for chance in CHANCES:
        assert normal_quantile(chance) == pytest.approx(special.ndtri(chance), rel=1e-13)
    for z in (-30, -8, -1.96, -0.1, 0, 1, 8):
        assert normal_below(z) == pytest.approx(special.ndtr(z), rel=1e-12)


def test_student_t_values() -> None:
    for chance, df in product(CHANCES, FREEDOM):
        t = special.stdtrit(df, chance)
        assert t_quantile(chance, df) == pytest.approx(t, rel=1e-11, abs=1e-12)
        assert t_below(t, df) == pytest.approx(chance, rel=1e-10)
    assert t_quantile(0.5, 7) == 0


def test_beta_values_and_their_points() -> None:
    for a, b, x in product((0.5, 1, 3.5, 40, 320), (0.5, 2, 81), (0.0, 1e-6, 0.03, 0.5, 0.8, 0.9999, 1.0)):
        assert beta_below(a, b, x) == pytest.approx(special.betainc(a, b, x), rel=1e-10, abs=1e-300)
    for a, b, chance in product((1, 8, 320), (1, 3, 81), (0.025, 0.5, 0.975)):
        assert beta_quantile(a, b, chance) == pytest.approx(special.betaincinv(a, b, chance), rel=1e-12)


def test_heads_of_a_fair_coin() -> None:
    for n in (1, 5, 7, 300, 20_000):
        for k in (-1, 0, n // 3, n // 2, n - 1, n):
            assert coin_above(k, n) == pytest.approx(special.bdtrc(k, n, 0.5), rel=1e-10, abs=1e-300)
    assert coin_above(6, 7) == pytest.approx(1 / 128)


def test_chi_squared_values() -> None:
    value, df = map(np.ravel, np.meshgrid([0, 1e-20, 0.1, 1, 3, 10, 50, 200, 1000, 1e5], [1, 2, 3, 4, 9, 20, 101, 200]))
    assert chi2_above(df.astype(int), value) == pytest.approx(special.chdtrc(df, value), rel=1e-11, abs=1e-300)
    assert np.isnan(chi2_above(np.array([0]), np.array([1.0]))).all()


def test_a_build_loads_no_statistics_library(built_demo: Path) -> None:
    loaded = (built_demo.parent / "modules").read_text().split()
    assert ("scipy" in loaded, "numpy" in loaded) == (False, True)
