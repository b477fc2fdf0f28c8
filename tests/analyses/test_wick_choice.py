"""The chances of ordered wick sizes, against a slow count over all pairs and against the worked table."""

from __future__ import annotations

import random
from itertools import product
from math import sqrt

import pytest
from scipy import stats

from pipeline.analyses import wick_choice
from pipeline.analyses.burn_verdicts import Burn, Says
from pipeline.analyses.burning_time import burn_rate, burn_time
from pipeline.analyses.wick_choice import (
    Seen,
    Wick,
    chart,
    choose,
    contradictions,
    posterior,
    to_test,
)
from tests.bench.wick_simulation import bayes, measured

SMALL, RIGHT, LARGE = Says.SMALL, Says.RIGHT, Says.LARGE
EIGHT = [Wick(f"W{i}", i, 10.0 * i, 10.0 * i + 10) for i in range(1, 9)]


def seen(*told: tuple[str, Says]) -> list[Seen]:
    return [Seen(f"T{i}", 1, wick, says) for i, (wick, says) in enumerate(told)]


def chances(*told: tuple[str, Says]) -> list[float]:
    return [round(c.chance, 3) for c in choose(EIGHT, seen(*told), (), 0.1, 0.9).chances]


def test_the_worked_table_of_eight_sizes() -> None:
    """A worked example (own arithmetic, recomputed): prior, "4 too small" and "7 too hot", then "6 right"."""
    assert posterior(8, [], 0.1)[1].tolist() == pytest.approx([0.13, 0.20, 0.24, 0.25, 0.25, 0.24, 0.20, 0.12], abs=0.0051)
    assert chances(("W4", SMALL), ("W7", LARGE)) == [0.031, 0.050, 0.058, 0.058, 0.437, 0.433, 0.046, 0.031]
    after = choose(EIGHT, seen(("W4", SMALL), ("W7", LARGE), ("W6", RIGHT)), (), 0.1, 0.9)
    assert (after.choice, after.next_test) == ("W6", None)
    assert round(after.chances[5].chance, 3) == 0.932


def counted(sizes: int, readings: list[tuple[int, Says]], error: float) -> list[float]:
    """The same by hand, pair by pair."""
    gaps = (0.10, 0.35, 0.30, 0.15, 0.10)
    pairs = {(lo, lo + g): w for lo in range(sizes + 1) for g, w in enumerate(gaps) if lo + g <= sizes}
    for pair in pairs:
        for place, says in readings:
            lo, hi = pair
            truth = SMALL if place < lo else RIGHT if place < hi else LARGE
            pairs[pair] *= 1 - error if says is truth else error / 2
    total = sum(pairs.values())
    return [sum(w for (lo, hi), w in pairs.items() if lo <= i < hi) / total for i in range(sizes)]


def test_any_readings_against_a_count_of_all_pairs() -> None:
    dice = random.Random(9)
    for sizes in (1, 2, 3, 7, 12):
        for n in (0, 1, 4, 9):
            told = [(dice.randrange(sizes), dice.choice([SMALL, RIGHT, LARGE])) for _ in range(n)]
            small, right, large = posterior(sizes, told, 0.1)
            assert right.tolist() == pytest.approx(counted(sizes, told, 0.1), abs=1e-12)
            assert (small + right + large).tolist() == pytest.approx([1.0] * sizes)


def test_the_edges_of_the_chart() -> None:
    three = [Wick("fine", 1, 20, 50), Wick("mid", 2, 50, 70), Wick("thick", 3, 65, 90)]
    assert chart(three, 50) == ("fine", "mid")
    assert chart(three, 50.1) == ("mid",)
    assert chart(three, 91) == chart(three, None) == ()
    assert to_test(three, ("mid",)) == ("fine", "mid", "thick")
    assert to_test(three, ("fine",)) == ("fine", "mid")
    assert to_test(three, ()) == ()
    assert to_test(EIGHT, ("W3", "W4")) == ("W2", "W3", "W4", "W5")
    gapped = [Wick("a", 10, 0, 30), Wick("b", 20, 30, 60), Wick("c", 90, 60, 99)]
    assert to_test(gapped, ("b",)) == ("a", "b", "c")


def test_families_are_not_compared() -> None:
    mixed = [Wick("S1", 1, 0, 50, "square"), Wick("F1", 1, 0, 50, "flat"), Wick("S2", 2, 50, 99, "square"), Wick("F2", 2, 50, 99, "flat")]
    assert chart(mixed, 40) == ("S1", "F1")
    assert to_test(mixed, ("S1", "F1")) == ("S1", "S2", "F1", "F2")
    told = choose(mixed, seen(("S1", SMALL)), ("S1",), 0.1, 0.9)
    assert [c.wick for c in told.chances] == ["S1", "S2"]
    assert not contradictions(mixed, seen(("S1", LARGE), ("F2", SMALL)))


def test_untested_the_nominal_size_comes_first_and_nothing_is_chosen() -> None:
    told = choose(EIGHT, [], ("W6", "W7"), 0.1, 0.9)
    assert (told.choice, told.next_test) == (None, "W6")
    assert choose(EIGHT, seen(("W2", Says.NONE)), ("W6",), 0.1, 0.9).next_test == "W6"
    assert choose(EIGHT, [], (), 0.1, 0.9).next_test == "W4"  # mid-range, of equals the smaller
    assert choose([], [], (), 0.1, 0.9).next_test is None


def test_a_series_of_three_sizes_chooses_the_middle() -> None:
    """Common practice, no source: the smallest tunnels, the middle melts clean, the largest gutters out deep in the jar."""
    three = [Wick("small", 1, 40, 55), Wick("middle", 2, 55, 70), Wick("large", 3, 70, 90)]
    told = choose(three, seen(("small", SMALL), ("middle", RIGHT), ("large", LARGE)), ("middle",), 0.1, 0.9)
    assert told.choice == "middle"
    assert told.next_test is None


def test_contradictions_are_told_and_not_averaged_away() -> None:
    told = seen(("W3", LARGE), ("W5", SMALL), ("W5", RIGHT))
    assert [(a.wick, b.wick) for a, b in contradictions(EIGHT, told)] == [("W3", "W5"), ("W3", "W5"), ("W5", "W5")]
    assert not contradictions(EIGHT, seen(("W3", SMALL), ("W4", RIGHT), ("W4", RIGHT), ("W5", LARGE)))


def test_too_small_to_the_end() -> None:
    assert wick_choice.off_the_end(EIGHT, seen(("W7", SMALL), ("W8", SMALL))) is SMALL
    assert wick_choice.off_the_end(EIGHT, seen(("W1", LARGE))) is LARGE
    assert wick_choice.off_the_end(EIGHT, seen(("W7", SMALL))) is None
    assert wick_choice.off_the_end(EIGHT, seen(("W8", SMALL), ("W7", RIGHT))) is None


def test_the_burn_rate_is_a_ratio_of_sums_by_test_and_its_interval_is_students() -> None:
    def burn(test: str, n: int, hours: float, grams: float, wick: str = "W") -> Burn:
        return Burn(test, n, wick, 60 * hours, mass_before_g=100.0, mass_after_g=100.0 - grams)

    burns = [burn("A", 1, 3, 15), burn("A", 2, 1, 6), burn("B", 1, 2, 12), burn("C", 1, 4, 22), burn("X", 1, 1, 50, "other"), Burn("D", 1, "W", 60)]
    rates = [21 / 4, 6.0, 5.5]
    mean, sd = sum(rates) / 3, stats.tstd(rates)
    low, high = stats.t.interval(0.8, 2, mean, sd / sqrt(3))
    rate = burn_rate(burns, "W")
    assert (rate.low, rate.mid, rate.high) == pytest.approx((low, mean, high))
    hours = burn_time(150, rate)
    assert (hours.low, hours.mid, hours.high) == pytest.approx((150 / high, 150 / mean, 150 / low))
    alone = burn_rate(burns[:2], "W")
    assert (alone.low, alone.mid, alone.high) == (None, 5.25, None)
    assert burn_time(None, rate).mid is burn_rate([], "W").mid is burn_time(100, burn_rate([], None)).high is None


def test_an_interval_that_reaches_nothing_has_no_longest_time() -> None:
    burns = [Burn(t, 1, "W", 60, mass_before_g=100.0, mass_after_g=100.0 - g) for t, g in (("A", 0.1), ("B", 9.0))]
    rate = burn_rate(burns, "W")
    assert rate.low is not None
    assert rate.low < 0
    assert burn_time(100, rate).high is None


@pytest.mark.parametrize(("sizes", "says"), list(product((1, 5), (SMALL, RIGHT, LARGE))))
def test_many_equal_readings_settle_it(sizes: int, says: Says) -> None:
    small, right, large = posterior(sizes, [(0, says)] * 200, 0.1)
    assert {SMALL: small, RIGHT: right, LARGE: large}[says][0] == pytest.approx(1)


def test_few_tests_find_the_right_size_of_twelve_though_one_reading_in_ten_is_wrong() -> None:
    """Worked out by simulation: about 3.5 tests, at least 95 % right; ``python -m tests.bench.wick_simulation`` prints the table."""
    tests, right = measured(bayes, 12, 0.1, 500)
    assert tests < 4
    assert right >= 0.95
