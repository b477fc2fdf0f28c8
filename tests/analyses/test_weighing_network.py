"""The weighings of small books as one network, by hand: what can be checked, what a mass in doubt changes, what fits best."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from pipeline.analyses.balance_matrix import Entries
from pipeline.analyses.masses_from_other_weighings import weighed_elsewhere, went_in
from pipeline.analyses.reconciled_masses import derived, settle
from pipeline.analyses.step_balance import Balance, Slack, Weight
from pipeline.analyses.weighing_network import Weighed, weighed
from pipeline.analyses.weight_in_doubt import Problem
from tests.analyses.balances import step, weight
from tests.oracle.balance import reconcile


def of(kind: str, into: list[Weight], out: list[Weight], closed: bool = True, name: str = "S") -> Balance:
    return Balance(kind, name, tuple(into), tuple(out), closed, ((kind,),), "S")


def three_grams(log: str, mass_g: float) -> float:
    return 3.0


def network(*balances: Balance) -> Weighed:
    return weighed(balances, three_grams)


# --- what other weighings say of a mass that nobody took


@pytest.mark.parametrize(
    ("kind", "into", "out", "closed", "found"),
    [
        ("harvest", [100], [None], True, 100),
        ("harvest", [100], [None], False, None),  # some may be left
        ("harvest", [100], [30, None], True, 70),
        ("block", [100], [30, 50, None], True, 20),
        ("join", [30, None], [100], True, 70),
        ("cast", [None], [60, 40], True, 100),
        ("cast", [None], [None, 40], True, None),  # two are lacking
        ("harvest", [100], [100, None], True, None),  # nothing is left for it
        ("harvest", [100.05], [100, None], True, 0.05),
        ("join", [100, None], [90], True, None),
        ("melt", [None], [60, 40], True, None),  # what is lost there is not known
        ("slumgum", [100], [None], True, None),
        ("harvest", [100], [90], True, None),  # nothing is lacking
    ],
)
def test_a_mass_that_a_step_without_loss_lacks_alone(kind: str, into, out, closed: bool, found: float | None) -> None:
    told = weighed_elsewhere([step(kind, into, out, closed)])
    assert [k.mass_g for k in told.values()] == ([] if found is None else [pytest.approx(found)])
    for lacking, known in told.items():
        assert lacking.mass_g is None
        assert sorted(w.mass_g for w in known.of) == sorted(m for m in (*into, *out) if m is not None)


def chain(links: int) -> list[Balance]:
    """100 g that go from pass to pass and are never weighed again."""
    masses = [weight(100), *(weight(None) for _ in range(links))]
    return [of("join", [a], [b]) for a, b in pairwise(masses)]


def test_a_mass_is_followed_through_four_steps() -> None:
    assert [k.mass_g for k in weighed_elsewhere(chain(5)).values()] == [100] * 5  # in order of the work one look finds all
    assert len(weighed_elsewhere(chain(5)[::-1])) == 4
    assert len(weighed_elsewhere(chain(4)[::-1])) == 4


def test_what_went_in_is_whole_where_each_mass_is_known_somehow() -> None:
    load, nowhere = weight(None), weight(None)
    known = weighed_elsewhere([of("harvest", [weight(100)], [load])])
    cases = [([load, weight(20)], [weight(90)]), ([load, nowhere], [weight(90)]), ([load], [weight(None)]), ([weight(5)], [weight(4)])]
    told = [went_in(of("melt", into, out), known) for into, out in cases]
    assert [([k.mass_g for k in into], whole) for into, whole in told] == [([100, 20], True), ([100, 0], False), ([100], False), ([5], True)]


# --- the network


def test_a_mass_that_nobody_took_is_eliminated() -> None:
    """Harvest 100 g = load = mass_in 90 g: ten grams are missing between them."""
    harvest, load, mass_in = weight(100, "harvests"), weight(None), weight(90, "passes")
    found = network(of("harvest", [harvest], [load]), of("join", [load], [mass_in]))
    assert found.network.rows == 1
    assert abs(found.network.gap()) == pytest.approx([10])
    assert found.row_of.tolist() == [-1, -1]
    assert found.holding[load] == [0, 1]
    assert [found.number[w] for w in (harvest, load, mass_in)] == [0, 1, 2]
    assert found.network.value.tolist() == [100, 0, 90, 0, 0]
    # 9 g² of each weight; .4 % of 100 g in store, .5 % of the larger side of what went in
    assert found.network.variance == pytest.approx([9, 9, 9, 0.4**2, 0.45**2])
    assert derived(found, settle(found, []), found.balances) == {load: pytest.approx(95)}


@pytest.mark.parametrize(
    ("into", "out", "size"),
    [([1000], [600], 600), ([None, 400], [600], 600), ([None, 700], [600], 700)],
)
def test_the_size_of_a_step_is_its_smaller_side_where_all_is_known_else_the_larger(into, out, size: float) -> None:
    found = network(step("join", into, out))
    assert found.network.variance[-1] == pytest.approx((0.005 * size) ** 2)


def test_what_cannot_be_checked_is_kept_apart() -> None:
    store, block, wax = step("harvest", [100], [50], False), step("block", [100], [50], False), step("wax", [100], [50], False)
    empty, nothing, held = step("join", [], [90]), step("join", [], [0]), step("join", [80], [80])
    found = network(store, block, wax, empty, nothing, held)
    assert found.balances == (held,)
    assert found.open_stores == [store, block]
    assert found.unloaded_passes == [empty]
    assert (found.row_of.tolist(), found.network.rows) == ([0], 1)
    assert network().network.rows == 0


def test_a_row_that_rests_on_the_trades_figures_is_told_apart() -> None:
    mass_in, wax = weight(1000, "passes"), weight(500, "passes")
    alike = (("yield", "first", "steam", None, "1"), ("yield", "first", "steam"))
    judged = Balance("yield", "S", (mass_in,), (wax,), True, alike, "S", 1)
    found = network(of("join", [weight(1000)], [mass_in]), judged, of("cast", [wax], [weight(500)]))
    assert found.judged_rows.tolist() == [False, True, False]


def test_rows_that_hold_what_nobody_weighed_are_combined() -> None:
    """a + u = 0, b - u = 0, c + 2u = 0 and d + v = 0, 3v + u = 0: u and v go, what is left are a + b, c - 2a and a + 3d, up to sign."""
    entries = Entries()
    a, b, c, d, u, v = range(6)
    rows = [({a: 1, u: 1}), ({b: 1, u: -1}), ({c: 1, u: 2}), ({d: 1, v: 1}), ({v: 3, u: 1})]
    assert [entries.add(tuple(r), tuple(map(float, r.values())), weighed=False) for r in rows] == [-1] * 5
    assert entries.add((a, d), (1.0, -1.0), weighed=True) == 0
    entries.eliminate([u, v])
    found = entries.network(np.array([1.0, 10, 100, 1000, 0, 0]), np.ones(6))
    assert found.gap() == pytest.approx([1 - 1000, 1 + 10, 100 - 2, -1 - 3 * 1000])
    assert found.rows == 4
    assert not {u, v} & set(found.stream.tolist())


def test_rows_that_say_the_same_twice_leave_nothing() -> None:
    entries = Entries()
    for times in (1.0, 3.0):
        entries.add((0, 1), (0.1 * times, 0.7 * times), weighed=False)
    entries.eliminate([1])
    assert entries.network(np.ones(2), np.ones(2)).rows == 0


# --- what fits best


def test_weights_that_must_agree_meet_in_the_middle() -> None:
    load, mass_in = weight(1000), weight(990, "passes")
    found = network(of("join", [load], [mass_in]))
    assert settle(found, [])[:2] == pytest.approx([995, 995], abs=1e-3)


def test_a_freed_weight_is_what_the_others_leave_for_it() -> None:
    """Harvest 1000 g, load 100 g (a slip), mass_in 1010 g: freed, it is the mean of the other two."""
    harvest, load, mass_in = weight(1000, "harvests"), weight(100), weight(1010, "passes")
    found = network(of("harvest", [harvest], [load]), of("join", [load], [mass_in]))
    rows = np.array([0, 1])
    assert settle(found, [(rows, [1])])[:3] == pytest.approx([1005] * 3, abs=1e-2)
    assert settle(found, [(rows, [1, 2])])[:3] == pytest.approx([1000] * 3, abs=1e-2)
    assert settle(found, [(rows, [0, 1, 2])])[2] == pytest.approx(1010)  # with two freed there is nothing that checks a third


def test_what_the_trade_judges_weighs_nothing() -> None:
    mass_in, wax = weight(1000, "passes"), weight(900, "passes", column="wax_out")
    alike = (("yield", "refining", "oven", None, "1"), ("yield", "refining", "oven"))
    found = network(Balance("yield", "S", (mass_in,), (wax,), True, alike, "S", 1))
    assert settle(found, [])[:2] == pytest.approx([1000, 900])
    assert settle(found, [(np.array([0]), [1])])[:2] == pytest.approx([1000, 900])


def test_a_step_that_the_book_has_shown_keeps_its_loss() -> None:
    """Six joins that lost 10 g of a kilogram each, and one that lost nothing: drawn 6/7 of the way towards 1 %."""
    shown = [step("join", [1000], [990]) for _ in range(6)]
    load, mass_in = weight(1000), weight(1000, "passes")
    found = network(*shown, of("join", [load], [mass_in]))
    (slack,) = set(found.slacks)
    exact = network(of("join", [load], [mass_in]))
    assert settle(exact, [])[:2] == pytest.approx([1000, 1000])
    at = found.number[load]
    gap = 1000 * (1 - slack.mean) - 1000
    share = (1 - slack.mean) ** 2 * 9 + 9 + (slack.sd * 1000) ** 2
    assert settle(found, [])[at] == pytest.approx(1000 - 9 * (1 - slack.mean) * gap / share)


def test_of_two_masses_that_nobody_took_only_their_sum_is_known() -> None:
    one, two, mass_in = weight(None), weight(None), weight(1000, "passes")
    found = network(of("join", [one, two], [mass_in]))
    assert derived(found, settle(found, []), found.balances) == {one: None, two: None}
    assert derived(found, settle(found, []), []) == {}


# --- a weight in doubt


def two_steps(*gap: float) -> Problem:
    """A load is mass_in, half of which comes off as wax; each known to 1 g, and each step too."""
    load, mass_in, wax = weight(100), weight(100, "passes"), weight(50, "passes")
    join, melt = of("join", [load], [mass_in]), of("yield", [mass_in], [wax])
    cells = np.array([[1, -1, 0, -1, 0], [0, 0.5, -1, 0, -1]])
    return Problem(np.array(gap), cells, np.ones(5), (load, mass_in, wax, (join, Slack(0, 0.005, 0), 100.0), (melt, Slack(0.5, 0.1, 9), 300.0)))


@pytest.mark.parametrize("freed", [(0,), (1,), (4,)])
def test_a_stream_without_its_weighing_is_one_that_nobody_weighed(freed) -> None:
    of = two_steps(20, 7)
    measured = np.array([i not in freed for i in range(5)])
    alone = reconcile(np.zeros(5), of.variance, of.columns, -of.gap, measured)
    assert replace(of, freed=freed).g == pytest.approx(alone.g)
    assert of.log_size == pytest.approx(np.log(3 * 2.25 - 0.25))  # V = [[3, -.5], [-.5, 2.25]]


@pytest.mark.parametrize(
    ("gap", "kinds"),
    [  # the balances' sds are sqrt(3) and 1.5 g
        ((6, 9), "join join yield join yield"),  # both fail: one of weighings tells more than what is usual
        ((5.1, 9), "join yield yield join yield"),  # 2.9 sd are no failure
        ((5.3, 9), "join join yield join yield"),
        ((6, 1), "join join yield join yield"),
        ((1, 2), "join yield yield join yield"),
    ],
)
def test_a_weight_is_placed_where_it_fails_most(gap, kinds: str) -> None:
    of = two_steps(*gap)
    assert " ".join(b.kind for b in map(of.place, range(len(of.streams))) if b) == kinds


def test_a_weight_may_be_as_large_as_the_largest_step_that_it_stands_in() -> None:
    assert two_steps(0, 0).sizes.tolist() == [100, 300, 300, 100, 300]
    heavy = replace(two_steps(0, 0), streams=(weight(400), *two_steps(0, 0).streams[1:]))
    assert heavy.sizes.tolist()[:2] == [400, 300]


@pytest.mark.parametrize(
    ("mass_g", "column", "checked"),
    [(100, 0.00101, True), (100, 0.00099, False), (0, 0.101, True), (0, 0.099, False), (0.5, 0.099, False)],
)
def test_a_weight_is_checked_where_its_own_size_would_be_seen(mass_g: float, column: float, checked: bool) -> None:
    """A balance sure to 1 g: seen to ten times itself, a gram at least."""
    one = Problem(np.zeros(1), np.array([[column, 1.0]]), np.array([0.0, 1.0]), (weight(mass_g), weight(1.0)))
    assert one.checks(0) == checked


@pytest.mark.parametrize(
    ("kind", "into", "out", "scatter"),
    [
        ("yield", [1000], [400], 100), ("melt", [600, 400], [400, 5], 100), ("join", [1000], [900], 7),
        ("yield", [None], [400], 7), ("melt", [1000], [400, None], 7), ("yield", [], [400], 7),
    ],
)  # fmt: skip
def test_what_is_usually_lost_is_reckoned_from_what_went_in_where_that_was_weighed(kind: str, into, out, scatter: float) -> None:
    b = step(kind, into, out)
    streams = (*b.into, *b.out, (b, Slack(0.5, 0.1, 9), 400.0))
    one = Problem(np.zeros(1), np.ones((1, len(streams))), np.array([*([1.0] * (len(streams) - 1)), 49.0]), streams)
    assert one.as_weighed.variance[-1] == pytest.approx(scatter**2)
    assert one.as_weighed.variance[:-1] == pytest.approx(np.ones(len(streams) - 1))


@pytest.mark.parametrize(
    ("into_g", "out_g", "doubted"),
    [  # the scatter is 100 g; a tenth of what the other side says, unless it is the same within 1.3 times
        (1000, 1000, {}), (1000, 775, {}), (1000, 765, {0: 76.5}), (1000, 1295, {}), (1000, 1305, {0: 130.5}),
        (775, 1000, {}), (765, 1000, {1: 76.5}), (1295, 1000, {}), (1305, 1000, {1: 130.5}), (400, 500, {0: 50, 1: 40}),
    ],
)  # fmt: skip
def test_a_weight_in_doubt_does_not_say_how_large_its_own_step_was(into_g: float, out_g: float, doubted) -> None:
    b = step("yield", [into_g], [out_g])
    one = Problem(np.zeros(1), np.array([[1.0, -1, -1]]), np.array([1.0, 1, 1e4]), (b.into[0], b.out[0], (b, Slack(0, 0.1, 9), 1000.0)))
    assert {i: other.variance[2] ** 0.5 for i, other in one.doubted.items()} == pytest.approx(doubted)
    assert all(other.variance[:2].tolist() == [1, 1] for other in one.doubted.values())
    assert one.without(0).freed == (0,)
    assert one.without(0).variance[2] ** 0.5 == pytest.approx(doubted.get(0, 100))
