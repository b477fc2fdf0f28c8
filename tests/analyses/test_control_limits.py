"""Charts of losses beyond the handbook's example: the rules at their limits, and the chance of a point against the others, by hand."""

from __future__ import annotations

from datetime import date, timedelta
from math import isnan, nan, pi, sqrt

import numpy as np
import pytest
from scipy import stats

from pipeline.analyses.control_limits import ChartedPass, KindOfPass, Limits, chances, charts, limits, signals

SIGMAS = Limits(20, 0.0, 1.0, "set")
"""A chart in which losses are told in sigmas."""


@pytest.mark.parametrize(
    ("losses", "fired"),
    [  # methods 1: 1 beyond 3 sigma; 2 of 3 beyond 2, 4 of 5 beyond 1, 8 in a row, on one side
        ([3.0], []), ([3.001], [(0, 1)]), ([-3.001], [(0, 1)]), ([3.5, 0, 3.5], [(0, 1), (2, 1), (2, 2)]),
        ([2.0, 2.1], []), ([2.1, 2.1], [(1, 2)]), ([-2.1, 0, -2.1], [(2, 2)]), ([2.1, 0, 0, 2.1], []), ([2.1, 2.1, 0], [(1, 2)]),
        ([1.1] * 3, []), ([1.1] * 4, [(3, 3)]), ([1.1, 1.1, 1.1, 0, 1.1], [(4, 3)]), ([1.1, 1.1, 1.1, 0, 0, 1.1], []),
        ([1.0, 1.1, 1.1, 1.1], []), ([-1.1] * 4, [(3, 3)]),
        ([0.1] * 8, [(7, 4)]), ([0.1] * 7 + [0], []), ([0.1] * 3 + [0] + [0.1] * 7, []), ([-0.1] * 9, [(7, 4), (8, 4)]), ([0.1] * 4 + [-0.1] * 4, []),
        ([1.1, 1.1, None, 1.1, 1.1], []), ([None, 1.1, 1.1, 1.1, 1.1], [(4, 3)]), ([2.1, None, 2.1, 2.1], [(3, 2)]),
    ],
)  # fmt: skip
def test_a_rule_fires_at_the_point_that_completes_it(losses, fired) -> None:
    assert signals(losses, SIGMAS) == fired
    assert signals(losses, Limits(20, 0.0, None, "none")) == []


def test_limits_are_three_sigma_either_side() -> None:
    """Losses of 0 and 1 by turns: a moving range of 1, sigma sqrt(pi) / 2, limits at 2.6587 of it (methods 1)."""
    found = limits([0.0, 1.0] * 4)
    assert (found.centre, found.sigma) == (0.5, pytest.approx(sqrt(pi) / 2))
    assert (found.lower, found.upper) == (pytest.approx(0.5 - 2.6587, abs=1e-4), pytest.approx(0.5 + 2.6587, abs=1e-4))


@pytest.mark.parametrize(
    ("losses", "n", "flat"),
    [
        ([0.1, None, 0.2, None, 0.3, None, 0.4, None, 0.5, None, 0.6], 6, False),  # no two in a row
        ([0.1, 0.1, None, 0.2, 0.2, None, 0.3, 0.3], 6, False),  # those in a row are all equal
        ([0.1] * 6, 6, True),
        ([0.1] * 5, 5, False),
        ([], 0, False),
    ],
)
def test_where_nothing_varies_from_pass_to_pass_there_are_no_limits(losses, n: int, flat: bool) -> None:
    found = limits(losses)
    assert (found.n, found.sigma, found.state, found.flat, found.lower, found.upper) == (n, None, "none", flat, None, None)


def deleted_t(z: np.ndarray, weight: np.ndarray, i: int) -> float:
    """A point against the others that were fitted without it: the textbook's definition of the externally studentized residual."""
    others, w = np.delete(z, i), np.delete(weight, i)
    mean = (w @ others) / w.sum()
    variance = (w @ (others - mean) ** 2) / (len(others) - 1)
    return float((z[i] - mean) / sqrt(variance * (1 / weight[i] + 1 / w.sum())))


def chance(t: float, n: int) -> float:
    return min(1.0, n * 2 * float(stats.t.sf(abs(t), n - 2)))


LOSSES = np.array([0.030, 0.034, 0.027, 0.031, 0.036, 0.029, 0.080])


@pytest.mark.parametrize("u", [1e-6, 0.002, 0.01])
def test_a_point_is_judged_by_the_others(u: float) -> None:
    """On log odds; weights own / (own + what the weighing leaves open), own the robust scatter less what weighing makes of it."""
    z, doubt = np.log(LOSSES / (1 - LOSSES)), (u / (LOSSES * (1 - LOSSES))) ** 2
    robust = 1.4826 * np.median(np.abs(z - np.median(z)))
    own = max(robust**2 - np.median(doubt), 0.05**2)
    weight = own / (own + doubt)
    want = [chance(deleted_t(z, weight, i), 7) for i in range(7)]
    assert chances(LOSSES, np.full(7, u), range(7)) == pytest.approx(want)
    assert want[6] < 0.1 < want[1]


def test_losses_of_nothing_and_of_all_have_log_odds_all_the_same() -> None:
    """Nothing under a thousandth is told from it, nor under what the weighing leaves open, and nothing over 999."""
    u = np.full(9, 1e-6)
    ends = np.append(LOSSES, [0.0, 1.0])
    assert chances(ends, u, range(9)) == pytest.approx(chances(np.append(LOSSES, [0.001, 0.999]), u, range(9)))
    coarse = np.append(np.full(7, 1e-6), 0.004)
    assert chances(np.append(LOSSES, 0.0), coarse, [7]) == pytest.approx(chances(np.append(LOSSES, 0.004), coarse, [7]))
    assert chances(np.append(LOSSES, 0.002), np.full(8, 1e-6), [7]) != pytest.approx(chances(np.append(LOSSES, 0.001), np.full(8, 1e-6), [7]))


def test_passes_that_lose_alike_scatter_by_a_twentieth_at_least() -> None:
    """Four equal losses and three apart: the robust scatter is 0, and .05 in log odds stands for it."""
    losses = np.array([0.03, 0.03, 0.03, 0.03, 0.031, 0.029, 0.033])
    u = np.full(7, 0.001)
    z, doubt = np.log(losses / (1 - losses)), (u / (losses * (1 - losses))) ** 2
    weight = 0.05**2 / (0.05**2 + doubt)
    assert chances(losses, u, range(7)) == pytest.approx([chance(deleted_t(z, weight, i), 7) for i in range(7)])


def test_a_chance_needs_six_points_that_are_known() -> None:
    five = np.append(LOSSES[:5], [nan, nan])
    assert all(isnan(p) for p in chances(five, np.full(7, 1e-6), [0, 5]))
    assert len(chances(five, np.full(7, 1e-6), [0, 5])) == 2
    six = np.append(LOSSES[1:], nan)
    told = chances(six, np.full(7, 1e-6), [5, 6, 0])
    assert [isnan(p) for p in told] == [False, True, False]
    assert told[0] == pytest.approx(chances(LOSSES[1:], np.full(6, 1e-6), [5])[0])


def test_each_kind_of_pass_has_its_chart() -> None:
    """Two kinds one after the other among all steps, the second with a pass that lost far more."""
    losses = [0.02, 0.03] * 4 + [0.05, 0.06] * 7 + [0.5]
    asked: list[int] = []

    def steps(places):
        asked.extend(places)
        return [ChartedPass(f"S{i}", i, date(2025, 1, 1) + timedelta(days=i), losses[i]) for i in places]

    kinds = [
        KindOfPass("first", "steam", "cappings", None, 0, np.array(losses[:8]), np.full(8, 1e-4)),
        KindOfPass("refining", "oven", None, (date(2025, 1, 9), "new press"), 8, np.array(losses[8:]), np.full(15, 1e-4)),
    ]
    one, two = charts(kinds, steps)
    assert asked == list(range(23))
    assert (one.stage, one.method, one.comb, one.since, one.steps, one.signals) == ("first", "steam", "cappings", None, 8, ())
    assert (two.stage, two.since, two.steps, two.n, two.state, one.state) == ("refining", (date(2025, 1, 9), "new press"), 15, 15, "set", "provisional")
    assert [p.session for p in two.points] == [f"S{i}" for i in range(8, 23)]
    assert (two.centre, two.lower, two.upper) == (two.limits.centre, two.limits.lower, two.limits.upper)
    (signal,) = (s for s in two.signals if s.rule == 1)
    assert (signal.session, signal.number, signal.date, signal.loss, signal.rule, signal.grade) == ("S22", 22, date(2025, 1, 23), 0.5, 1, "signal")
    assert signal.p == pytest.approx(chances(np.array(losses[8:]), np.full(15, 1e-4), [14])[0])
    assert [s.session for s in charts(kinds, steps, 1)[1].signals] == ["S22"]
    assert charts(kinds[:1], steps, 0)[0].signals == ()


def test_a_run_is_worth_a_look_and_has_no_chance() -> None:
    losses = [0.02, 0.03, 0.02, 0.03] * 3 + [0.028] * 8
    made = charts(
        [KindOfPass("refining", "oven", None, None, 0, np.array(losses), np.full(20, 1e-4))],
        lambda places: [ChartedPass(f"S{i}", 1, date(2025, 1, 1), losses[i]) for i in places],
    )
    assert {(s.session, s.rule, s.grade, s.p) for s in made[0].signals} >= {("S19", 4, "look", None)}
    assert {s.grade for s in made[0].signals} == {"look"}


def test_a_run_that_began_before_the_latest_passes_still_counts() -> None:
    """Eight in a row of which only the last is among the latest."""
    losses = np.array([0.02, 0.03] * 6 + [0.0255] * 8)
    kind = KindOfPass("refining", "oven", None, None, 0, losses, np.full(20, 1e-4))

    def steps(places):
        return [ChartedPass(f"S{i}", 1, date(2025, 1, 1), float(losses[i])) for i in places]

    whole = charts([kind], steps)[0].signals
    assert [s.session for s in charts([kind], steps, 1)[0].signals] == ["S19"]
    assert {(s.session, s.rule) for s in whole} >= {("S19", 4)}
    assert [s.session for s in charts([kind], steps, 99)[0].signals] == [s.session for s in whole]
