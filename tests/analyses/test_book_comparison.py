"""Books side by side: Welch's test against SciPy, and books alike that are not ranked by chance."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from pipeline.analyses.book_comparison import Apart, ComparedKind, compare, welch

KIND = ComparedKind("brood comb", "steam")


def test_welch_agrees_with_scipy() -> None:
    """scipy.stats.ttest_ind with equal_var=False."""
    rng = np.random.default_rng(5)
    for n, m in ((2, 3), (3, 8), (12, 5), (40, 60)):
        one, other = rng.normal(0, 1, n).tolist(), rng.normal(0.7, 2, m).tolist()
        assert welch(one, other) == pytest.approx(stats.ttest_ind(one, other, equal_var=False).pvalue, abs=1e-9)


def drawn(rng: np.random.Generator, middle: float, sd: float, n: int) -> list[float]:
    return (1 / (1 + np.exp(-rng.normal(middle, sd, n)))).tolist()


def test_books_alike_are_told_apart_in_one_page_of_twenty_at_most() -> None:
    """The family is held at 5 %: of 300 pages of eight books that are all alike some 15 may tell one apart, 30 would be chance of 1 in 5,000."""
    rng = np.random.default_rng(11)
    wrong = 0
    for _ in range(300):
        found = compare({KIND: {f"B{n}": drawn(rng, -1, 0.35, 6) for n in range(8)}})
        wrong += any(s.verdict in (Apart.HIGHER, Apart.LOWER) for s in found[KIND])
    assert wrong < 30


def test_a_book_that_recovers_more_is_told() -> None:
    rng = np.random.default_rng(3)
    books = {f"B{n}": drawn(rng, -1, 0.2, 10) for n in range(5)} | {"best": drawn(rng, 0, 0.2, 10)}
    by_book = {s.book: s.verdict for s in compare({KIND: books})[KIND]}
    assert by_book["best"] is Apart.HIGHER


def test_two_sessions_say_nothing_and_a_kind_of_one_book_is_left_out() -> None:
    found = compare({KIND: {"a": [0.3, 0.4], "b": [0.3, 0.35, 0.4]}, ComparedKind("cappings", "solar"): {"a": [0.7, 0.8]}})
    assert list(found) == [KIND]
    assert [s.verdict for s in found[KIND]] == [Apart.FEW, Apart.FEW]


def test_the_interval_is_the_classical_one_on_log_odds() -> None:
    shares = [0.30, 0.36, 0.41, 0.33]
    (first, *_), odds = compare({KIND: {"a": shares, "b": shares}})[KIND], np.log(np.array(shares) / (1 - np.array(shares)))
    low, high = stats.t.interval(0.95, 3, odds.mean(), stats.sem(odds))
    assert (first.low, first.high) == pytest.approx((1 / (1 + np.exp(-low)), 1 / (1 + np.exp(-high))), abs=1e-9)
