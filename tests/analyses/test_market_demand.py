"""What a market day asks for: the worked examples to the digit, and SciPy's distributions beside them."""

from __future__ import annotations

from math import inf

import numpy as np
import pytest
from scipy import stats

from pipeline.analyses.market_demand import Day, apart, demand, log_chances


def days(*sold: int, out: tuple[int, ...] = ()) -> list[Day]:
    return [Day(n, n in out) for n in sold]


@pytest.mark.parametrize(
    ("sold", "mean", "tens", "eight", "three"),
    [
        (days(4, 7, 5), 5.53, (1, 5, 10), 0.832, 26),
        (days(4, 7, 5, out=(7,)), 6.53, (1, 5, 12), 0.757, 33),
        (days(0, 2, 1, 0, 9), 3.07, (0, 2, 7), None, 18),
    ],
)
def test_worked_examples(sold: list[Day], mean: float, tens: tuple[int, ...], eight: float | None, three: int) -> None:
    """Worked examples, m0 = 5 (own arithmetic with SciPy's nbinom and poisson)."""
    found = demand(sold, 5)
    one = found.ahead()
    assert round(found.mean, 2) == mean
    assert tuple(one.enough(q) for q in (0.1, 0.5, 0.9)) == tens
    assert eight is None or round(one.at_most(8), 3) == eight
    assert found.ahead(3).enough(0.9) == three


def test_how_much_days_differ() -> None:
    assert [round(w, 3) for w in demand(days(4, 7, 5), 5).size_chances] == [0.060, 0.119, 0.191, 0.258, 0.372]
    assert round(demand(days(0, 2, 1, 0, 9), 5).size_chances[0], 3) == 0.653


def test_the_conjugate_limit() -> None:
    """k = inf alone: Gamma(1 + 16, 1/5 + 3) (textbook): mean 5.3125, P(D <= 8) .8819, 90 % at 9, three days 23."""
    found = demand(days(4, 7, 5), 5, (inf,))
    assert found.mean == pytest.approx(5.3125, abs=1e-4)
    assert found.ahead().at_most(8) == pytest.approx(stats.nbinom.cdf(8, 17, 3.2 / 4.2), abs=1e-5)
    assert round(found.ahead().at_most(8), 4) == 0.8819
    assert (found.ahead().enough(0.9), found.ahead(3).enough(0.9)) == (9, 23)


def test_the_chances_of_a_count_are_those_of_scipy() -> None:
    counts, rates = np.arange(0, 60), np.array([0.01, 0.7, 3.0, 25.0])
    for size in (1.0, 2.5, 8.0):
        ours = np.exp(log_chances(counts, rates, size))
        assert ours == pytest.approx(stats.nbinom.pmf(counts[:, None], size, size / (size + rates)), rel=1e-9, abs=1e-15)
    assert np.exp(log_chances(counts, rates, inf)) == pytest.approx(stats.poisson.pmf(counts[:, None], rates), rel=1e-9, abs=1e-15)


def test_a_kind_sold_out_every_time_asks_for_more_than_was_sold() -> None:
    plain, out = demand(days(5, 5, 5), 5), demand(days(5, 5, 5, out=(5,)), 5)
    assert out.mean > plain.mean + 1
    assert out.ahead().enough(0.9) > plain.ahead().enough(0.9)


def test_thousands_are_reckoned_in_steps_and_in_time() -> None:
    near = demand(days(3000, 3100, 2900), 3000).ahead()
    assert near.stride > 1
    assert near.enough(0.5) == pytest.approx(3000, rel=0.1)


def test_places_are_told_apart_where_chance_would_not_do() -> None:
    assert apart([days(20, 25, 22), days(2, 3, 1)], 12, 3)
    assert not apart([days(4, 5, 6), days(5, 3, 6)], 5, 3)
    assert not apart([days(4, 5, 6)], 5, 3)
