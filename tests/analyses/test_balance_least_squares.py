"""Reconciliation against a published exchanger, and many balances at once against one by one."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import sparse
from scipy.optimize import minimize
from scipy.sparse.csgraph import connected_components
from scipy.stats import norm

from pipeline.analyses.balance_least_squares import LARGEST_BLOCK, Network, sidak, solve, unweighed
from tests.oracle.balance import reconcile

# Heat exchanger with bypass: Narasimhan & Jordache, Data Reconciliation and Gross Error Detection, 2000; data, constraints and
# results as in the public benchmark set EDSONCV/dr-ged-benchmarks.
FLOWS = np.array([101.91, 64.45, 34.65, 64.20, 36.44, 98.88])
EXCHANGER = np.array(
    [[1, -1, -1, 0, 0, 0], [0, 1, 0, -1, 0, 0], [0, 0, 1, 0, -1, 0], [0, 0, 0, 1, 1, -1]], dtype=float
)


def flows(unmeasured: tuple[int, ...] = ()):
    measured = np.array([i not in unmeasured for i in range(6)])
    return reconcile(FLOWS, np.ones(6), EXCHANGER, np.zeros(4), measured)


def test_the_exchanger_has_its_published_flows() -> None:
    found = flows()
    assert found.values == pytest.approx([100.22, 64.50, 35.72, 64.50, 35.72, 100.22], abs=0.005)
    assert found.df == 4
    assert found.g == pytest.approx(6.4075, abs=1e-4)
    assert found.p == pytest.approx(0.171, abs=5e-4)


def test_two_streams_that_nobody_weighed_are_worked_out() -> None:
    found = flows((2, 3))
    assert found.values == pytest.approx([100.494, 64.252, 36.242, 64.252, 36.242, 100.494], abs=5e-4)
    assert found.df == 2
    assert np.isnan(found.z[2:4]).all()


def test_with_four_unweighed_only_the_ends_are_known() -> None:
    found = flows((1, 2, 3, 4))
    assert found.values[[0, 5]] == pytest.approx([100.395, 100.395], abs=5e-4)
    assert np.isnan(found.values[1:5]).all()


def test_the_program_finds_the_published_flows() -> None:
    row, stream = np.nonzero(EXCHANGER)
    found = solve(Network(FLOWS, np.ones(6), row, stream, EXCHANGER[row, stream], 4))
    assert found.values == pytest.approx([100.22, 64.50, 35.72, 64.50, 35.72, 100.22], abs=0.005)
    assert found.g == pytest.approx([6.4075], abs=1e-4)
    assert found.p == pytest.approx([0.171], abs=5e-4)


def test_a_general_optimiser_finds_the_same() -> None:
    best = minimize(
        lambda x: ((x - FLOWS) ** 2).sum(), FLOWS, method="SLSQP", options={"ftol": 1e-14},
        constraints={"type": "eq", "fun": lambda x: EXCHANGER @ x},
    )  # fmt: skip
    assert flows().values == pytest.approx(best.x, abs=1e-5)


def test_nothing_weighed_twice_is_not_tested() -> None:
    found = reconcile(np.array([5.0, 3.0]), np.ones(2), np.array([[1.0, -1.0]]), np.zeros(1), np.array([True, False]))
    assert (found.df, found.p) == (0, None)
    assert found.values == pytest.approx([5.0, 5.0])


def test_z_squared_is_what_the_global_test_drops_by() -> None:
    whole = flows()
    for stream in range(6):
        assert whole.z[stream] ** 2 == pytest.approx(whole.g - flows((stream,)).g, abs=1e-9)


def test_all_weights_of_one_balance_look_alike_to_it() -> None:
    one = reconcile(np.array([9.0, 4.0, 4.0]), np.ones(3), np.array([[1.0, -1.0, -1.0]]), np.zeros(1), np.ones(3, bool))
    assert one.z == pytest.approx(np.full(3, one.z[0]))


def test_a_repeated_balance_changes_nothing() -> None:
    twice = reconcile(FLOWS, np.ones(6), np.vstack([EXCHANGER, EXCHANGER[:1]]), np.zeros(5), np.ones(6, bool))
    assert twice.df == 4
    assert twice.values == pytest.approx(flows().values)


def test_many_balances_of_two_shapes_together_are_the_same_as_one_by_one() -> None:
    rng = np.random.default_rng(1)
    value, variance, row, stream, coefficient, alone = [], [], [], [], [], []
    rows = streams = 0
    for n in range(60):
        a = EXCHANGER if n % 3 else np.array([[1.0, -1.0, -0.5]])
        y, v = rng.normal(60, 5, a.shape[1]), rng.uniform(0.5, 2, a.shape[1])
        r, s = np.nonzero(a)
        value += list(y)
        variance += list(v)
        row += list(r + rows)
        stream += list(s + streams)
        coefficient += list(a[r, s])
        rows, streams = rows + a.shape[0], streams + a.shape[1]
        alone.append(reconcile(y, v, a, np.zeros(len(a)), np.ones(len(y), bool)))
    network = Network(np.array(value), np.array(variance), np.array(row), np.array(stream), np.array(coefficient), rows)
    together = solve(network)
    assert together.values == pytest.approx(np.concatenate([x.values for x in alone]))
    assert together.z == pytest.approx(np.concatenate([x.z for x in alone]))
    assert together.bias == pytest.approx(np.concatenate([x.bias for x in alone]))
    assert together.weight == pytest.approx((together.z / together.bias) ** 2)
    assert sorted(together.g) == pytest.approx(sorted(x.g for x in alone))
    assert sorted(together.p) == pytest.approx(sorted(x.p for x in alone))


def test_balances_are_linked_as_a_graph_library_has_them() -> None:
    rng = np.random.default_rng(5)
    for rows, streams in [(1, 1), (60, 150), (150, 140), (LARGEST_BLOCK, 90)]:
        row = np.repeat(np.arange(rows), 2)
        stream = rng.integers(streams, size=2 * rows)
        solved = solve(Network(np.ones(streams), np.ones(streams), row, stream, rng.uniform(0.5, 1, 2 * rows), rows))
        touches = sparse.csr_array((np.ones(len(row)), (row, stream)), shape=(rows, streams))
        assert np.array_equal(solved.blocks.block, connected_components(touches @ touches.T)[1])


def test_a_chain_longer_than_can_be_solved_at_once_is_cut() -> None:
    links = np.arange(2 * LARGEST_BLOCK + 1)
    row, stream = np.repeat(links, 2), np.ravel([links, links + 1], "F")
    found = solve(Network(np.full(len(links) + 1, 5.0), np.ones(len(links) + 1), row, stream, np.tile([1.0, -1.0], len(links)), len(links)))
    assert found.blocks.size.tolist() == [LARGEST_BLOCK, LARGEST_BLOCK, 1]
    assert found.values == pytest.approx(np.full(len(links) + 1, 5.0))


def test_sidak_with_one_test_is_the_plain_two_sided_point() -> None:
    assert sidak(0.05, np.array([1])) == pytest.approx([1.959964], abs=1e-6)  # standard normal table


def test_sidaks_point_grows_with_the_number_of_tests() -> None:
    """The largest of n normal values stays below with (1 - p)^n: scipy.stats, in any order."""
    found = sidak(0.01, np.array([15, 1, 15, 200]))
    assert ((2 * norm.cdf(found) - 1) ** np.array([15, 1, 15, 200])) == pytest.approx([0.99] * 4)


@pytest.mark.parametrize(
    ("a", "b", "found"),
    [
        ([[2.0]], [10.0], [5]), ([[1.0, 0.0], [1.0, 2.0]], [3.0, 13.0], [3, 5]),
        ([[1.0, 20.0]], [100.0], [None, None]),  # of one in twenty parts of another only the sum is known
        ([[1.0, 1.0], [2.0, 2.0]], [5.0, 10.0], [None, None]),  # said twice
        ([[0.0]], [0.0], [None]), ([[1.0, 0.0]], [4.0], [4, None]), ([[1.0, 0.0, 0.0], [0.0, 1.0, 1.0]], [4.0, 3.0], [4, None, None]),
    ],
)  # fmt: skip
def test_what_nobody_weighed_is_known_where_the_balances_leave_one_answer(a, b, found) -> None:
    got = unweighed(np.array(a), np.array(b))
    assert [None if np.isnan(x) else pytest.approx(x) for x in got] == found


def test_some_balances_have_the_streams_that_stand_in_them() -> None:
    """Of the exchanger twice, the third balance of the second and the second and fourth of the first."""
    row, stream = np.nonzero(EXCHANGER)
    twice = Network(np.tile(FLOWS, 2), np.ones(12), np.concatenate([row, row + 4]), np.concatenate([stream, stream + 6]), np.tile(EXCHANGER[row, stream], 2), 8)
    streams, cells = twice.columns(np.array([6, 1, 3]))
    assert streams.tolist() == [1, 3, 4, 5, 8, 10]
    assert cells.tolist() == [[0, 0, 0, 0, 1, -1], [1, -1, 0, 0, 0, 0], [0, 1, 1, -1, 0, 0]]
