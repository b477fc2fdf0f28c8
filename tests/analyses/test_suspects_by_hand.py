"""Which balances fail, which weights can be tested, and what is named in books of a few weights: each by hand."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from scipy.stats import norm

from pipeline.analyses.balance_least_squares import LARGEST_BLOCK, solve
from pipeline.analyses.failing_balances import _Sets, failing
from pipeline.analyses.possible_slips import Pen
from pipeline.analyses.step_balance import Balance, Weight
from pipeline.analyses.suspects import Judgement, likeliest_first, suspects
from pipeline.analyses.typing_slips import Typed
from pipeline.analyses.weighing_network import weighed
from tests.analyses.balances import melted, step, weight

PEN = Pen(lambda w: Typed(f"{w.mass_g:g}", "g"), {}, lambda log: 0.0)


def gram(log: str, mass_g: float) -> float:
    return 1.0


def failed(*balances: Balance) -> list[list[int]]:
    found = weighed(balances, gram)
    return sorted(rows.tolist() for rows in failing(found, solve(found.network)))


def judged(*balances: Balance) -> Judgement:
    return suspects(weighed(balances, gram), PEN)


def join(into_g: float, out_g: float, row: int | None = None) -> Balance:
    """A load and what went in; with a row, the load stands in it."""
    return Balance("join", "S", (weight(into_g, "loads", row),), (weight(out_g, "passes", row and 10 * row),), True, (("join",),), "S", 1)


# --- which balances fail


@pytest.mark.parametrize(("gap_g", "fails"), [(13.3, False), (13.5, True)])
def test_a_balance_fails_where_chance_does_so_in_one_of_a_hundred(gap_g: float, fails: bool) -> None:
    """Weights known to 1 g, a kilogram that scatters by .5 %: an sd of sqrt(27) = 5.20 g, of which 2.576 are 13.4 g (normal table)."""
    assert failed(join(max(1000 + gap_g, 1000), max(1000 - gap_g, 1000)), join(1000, 1000)) == ([[0]] if fails else [])


def chain(error_sd: float) -> list[Balance]:
    """Five joins one after the other, the first weight off by so many sd of what the others know of it."""
    def links(first_g: float) -> list[Balance]:
        masses = [weight(first_g), *(weight(1000) for _ in range(5))]
        return [Balance("join", "S", (a,), (b,), True, (("join",),), "S", 1) for a, b in pairwise(masses)]

    told = solve(weighed(links(1000), gram).network).weight[0]
    return links(1000 + error_sd / told**0.5)


SIDAK_15 = float(norm.isf((1 - 0.99 ** (1 / 15)) / 2))  # 3.4: the largest of fifteen tests, one in a hundred


@pytest.mark.parametrize(("error_sd", "fails"), [(SIDAK_15 - 0.02, False), (SIDAK_15 + 0.02, True)])
def test_balances_fail_by_one_weight_where_all_together_do_not(error_sd: float, fails: bool) -> None:
    """3.4² = 11.6 of five degrees of freedom is no rarity: 15.1 would be."""
    assert failed(*chain(error_sd)) == ([[0, 1, 2, 3, 4]] if fails else [])


@pytest.mark.parametrize(
    ("first", "second", "sets"),
    [(3, 4, [[0, 1]]), (4, 3, [[0, 1]]), (3, 5, [[0], [1]]), (None, None, [[0], [1]])],
)
def test_sets_with_neighbouring_rows_are_looked_at_together(first, second, sets) -> None:
    assert failed(join(1000, 500, first), join(1000, 700, second)) == sets
    if first == 3:
        assert failed(join(1000, 500, first), join(1000, 1000, second)) == [[0]]  # a set that is well stays out of it


@pytest.mark.parametrize("over_g", [495, 505])
def test_of_several_that_lack_something_the_nearest_is_looked_at(over_g: float) -> None:
    found = failed(join(400, 1000), join(1000, 1000 - over_g), join(500, 1000), join(600, 1000), join(1000, 1000))
    assert found == [[0], [1, 2], [3]]


def test_more_than_can_be_solved_at_once_is_not_put_together() -> None:
    sets = _Sets(np.array([True, True, False, True, True]), np.array([LARGEST_BLOCK - 100, 60, 1, 40, 1]))
    for one, other in ((0, 1), (3, 1), (4, 0)):
        sets.join(one, other)
    assert sorted(map(sorted, sets.members())) == [[0, 1, 3], [4]]


# --- which weights are tested


@pytest.mark.parametrize(("mass_g", "tested"), [(8.6, True), (8.4, False), (0, False)])
def test_a_weight_is_tested_where_half_of_it_would_stand_out(mass_g: float, tested: bool) -> None:
    """Half of it against three sd of sqrt(2) g: 8.49 g."""
    b = join(mass_g, mass_g or 1.0)
    found = judged(b)
    assert (b.into[0] in found.tested) == tested
    assert found.checkable == (mass_g > 0)
    assert found.untested == (((b.out[0], False),) if not mass_g else ())  # what is weighed twice is told, be it ever so light


def test_weights_beside_which_nothing_stands_are_not_tested() -> None:
    store, held = step("harvest", [100], [20], closed=False), join(1000, 1000)
    found = judged(store, held)
    assert found.untested == ((store.into[0], False), (store.out[0], False))
    assert found.tested == {held.into[0], held.out[0]}
    assert found.masses == pytest.approx({held.into[0]: 1000, held.out[0]: 1000})


def test_the_trades_figures_test_nothing() -> None:
    mass_in, wax = weight(1000, "passes", column="mass_in"), weight(500, "passes", column="wax_out")
    melt = Balance("yield", "S", (mass_in,), (wax,), True, (("yield", "first", "steam", None, "1"),), "S", 1)
    found = judged(melt)
    assert not found.checkable
    assert found.untested == ((mass_in, True), (wax, True))
    held = join(2000, 2000)
    assert judged(melt, held).checkable


def test_a_mass_is_never_below_nothing() -> None:
    """Of 10 g went 100 g into one pass and 5 g into another: freed, the store is 105 g; with the store right the load is below nothing."""
    b = step("cast", [10], [100, 5])
    found = judged(b)
    assert min(found.masses.values()) >= 0


# --- what is named


def lines(found: Judgement) -> list[tuple]:
    return [(s.log, s.row, s.column, s.kind, None if s.likely_g is None else round(s.likely_g)) for s in found.suspects]


def weighed_thrice(load_g: float, harvest_g: float = 1470.0, mass_in_g: float = 1470.0) -> tuple[Balance, Balance]:
    """A harvest that is all loaded into one pass."""
    harvest, load, mass_in = weight(harvest_g, "harvests", 1), weight(load_g, "loads", 1), weight(mass_in_g, "passes", 1, "mass_in")
    return (
        Balance("harvest", "H", (harvest,), (load,), True, (("harvest",),), "S"),
        Balance("join", "S", (load,), (mass_in,), True, (("join",),), "S", 1),
    )  # fmt: skip


def test_a_swap_that_two_balances_tell_is_named_with_what_was_meant() -> None:
    found = judged(*weighed_thrice(1740))
    assert lines(found)[0] == ("loads", 1, "mass", "digits swapped", 1470)
    first = found.suspects[0]
    assert (first.session, first.value_g, first.paired, first.among) == ("S", 1740, False, ())
    assert 0.9 < first.chance <= 1
    assert found.masses == pytest.approx(dict.fromkeys(found.weighed.weights, 1470), abs=0.1)
    assert found.doubts[found.weighed.weights[1]] == pytest.approx(first.chance)
    assert found.odd_steps == ()


def test_where_one_balance_alone_fails_its_weights_are_named_beside_each_other() -> None:
    b = step("wax", [1740], [1470])
    found = judged(b)
    assert {s.kind for s in found.suspects} == {"digits swapped"}
    assert {(s.row, s.likely_g) for s in found.suspects} == {(b.into[0].row, 1470), (b.out[0].row, 1740)}
    assert all(set(s.among) == {b.into[0], b.out[0]} for s in found.suspects)
    assert sum(s.chance for s in found.suspects) == pytest.approx(1, abs=0.05)


def test_a_load_that_is_missing_is_named_as_a_row() -> None:
    """Into the pass went 1234.5 g more than was loaded; no slip of the pen makes that."""
    found = judged(step("join", [1000.3], [2234.8], of="S"))
    assert ("loads", None, None, "missing row", 1234) in lines(found) or ("loads", None, None, "missing row", 1235) in lines(found)
    row = next(s for s in found.suspects if s.row is None)
    assert (row.value_g, row.session, row.balance is not None) == (None, "S", True)


def test_a_load_under_another_sessions_name_is_named_once_with_the_name_that_was_meant() -> None:
    loads = [weight(m, "loads", row) for row, m in ((1, 1013.7), (5, 517.3), (9, 803.9))]
    s = Balance("join", "S", (loads[0], loads[1]), (weight(1013.7, "passes", 1, "mass_in"),), True, (("join",),), "S", 1)
    t = Balance("join", "T", (loads[2],), (weight(1321.2, "passes", 4, "mass_in"),), True, (("join",),), "T", 1)
    found = judged(s, t)
    first = found.suspects[0]
    assert (first.log, first.row, first.column, first.value_g, first.kind, first.slip.likely) == ("loads", 5, "session", None, "wrong name", "T")
    assert first.balance is s
    assert len({x.session for x in found.suspects if x.chance > 0.5}) == 1
    assert found.masses[loads[1]] == pytest.approx(0, abs=1)  # of what S loaded it is nothing


def test_a_draw_of_another_block_is_named_in_the_column_of_blocks() -> None:
    draws = [weight(m, "draws", row) for row, m in ((1, 1013.7), (5, 517.3), (9, 803.9))]
    a = Balance("block", "A", (weight(1013.7, "blocks", 1),), (draws[0], draws[1]), True, (("block",),), None)
    b = Balance("block", "B", (weight(1321.2, "blocks", 4),), (draws[2],), True, (("block",),), None)
    first = judged(a, b).suspects[0]
    assert (first.log, first.row, first.column, first.slip.likely) == ("draws", 5, "block", "B")


def test_a_step_that_lost_more_than_usual_is_odd_and_no_slip() -> None:
    """Six passes lose 3 % give or take a hundredth; one lost 27.183 %, which is no slip of what was weighed there."""
    usual = [melted("yield", "refining", "oven", None, x, session=f"U{i}") for i, x in enumerate((0.02, 0.03, 0.04, 0.02, 0.03, 0.04, 0.03))]
    (odd,) = [melted("yield", "refining", "oven", None, 0.27183, session="S")]
    before, after = join(1000, 1000), Balance("cast", "S", odd.out, (weight(728.17, "blocks"),), True, (("cast",),), "S")
    entered = Balance("join", "S", before.into, odd.into, True, (("join",),), "S", 1)
    found = judged(*usual, entered, odd, after)
    assert [(o.balance.session, round(o.lost_g)) for o in found.odd_steps] == [("S", 242)]  # beyond the usual 3 %
    assert found.odd_steps[0].chance > 0.5


def test_two_slips_of_one_session_say_so() -> None:
    """Harvest and mass_in agree with two loads of which both are swapped, each beside its own lot."""
    one, two = weight(1740, "loads", 1), weight(3950, "loads", 2)
    lots = [weight(1470, "harvests", 1), weight(9350, "harvests", 2)]
    mass_in = weight(10820, "passes", 1, "mass_in")
    book = [Balance("harvest", n, (lot,), (w,), True, (("harvest",),), "S") for n, lot, w in zip("HI", lots, (one, two), strict=True)]
    found = judged(*book, Balance("join", "S", (one, two), (mass_in,), True, (("join",),), "S", 1))
    assert {(s.log, s.row, s.likely_g) for s in found.suspects[:2]} == {("loads", 1, 1470), ("loads", 2, 9350)}
    assert found.masses[mass_in] == pytest.approx(10820, abs=1)
    assert found.masses[one] == pytest.approx(1470, abs=1)


def test_where_all_fits_nothing_is_named() -> None:
    found = judged(*weighed_thrice(1470))
    assert (found.suspects, found.odd_steps, dict(found.doubts)) == ((), (), {})
    nothing = suspects(weighed([], gram), PEN)
    assert (nothing.suspects, nothing.checkable, nothing.untested) == ((), False, ())


def test_suspects_are_listed_by_how_likely_they_are() -> None:
    found = judged(*weighed_thrice(1740), join(2000.3, 2400.9))
    assert [s.chance for s in found.suspects] == sorted((s.chance for s in found.suspects), reverse=True)
    assert all(s.chance >= 0.02 for s in found.suspects)
    assert isinstance(next(iter(found.doubts)), Weight)


def test_suspects_as_likely_as_each_other_stand_in_the_order_of_the_book() -> None:
    one = judged(*weighed_thrice(1740), join(2000.3, 2400.9)).suspects[0]
    sure, as_sure, less = replace(one, row=9, chance=1.0), replace(one, row=3, chance=1 - 1e-15), replace(one, row=1, chance=0.9)
    assert sorted([less, sure, as_sure], key=likeliest_first) == [as_sure, sure, less]


@pytest.mark.parametrize("kind", ["join", "block"])
def test_once_a_weight_is_where_it_belongs_only_the_rest_is_asked_for(kind: str) -> None:
    """517.3 g were loaded into S (drawn from A) under a wrong name; of T (of B) 427.3 g are missing: 517.3 less the 90 of a swap."""
    log, column, total = ("loads", "session", "passes") if kind == "join" else ("draws", "block", "blocks")
    rows = [weight(m, log, row) for row, m in ((1, 1013.7), (5, 517.3), (9, 803.9))]
    found = []
    for name, parts, mass_g, row in (("S", rows[:2], 1013.7, 1), ("T", rows[2:], 1231.2, 4)):
        whole = (weight(mass_g, total, row),)
        into, out = (tuple(parts), whole) if kind == "join" else (whole, tuple(parts))
        found.append(Balance(kind, name, into, out, True, ((kind,),), name, 1))
    told = judged(*found)
    assert lines(told)[:2] == [(log, 5, column, "wrong name", None), (total, 4, "mass", "digits swapped", 1321)]
    assert all(s.chance > 0.9 for s in told.suspects[:2])


def test_a_gap_that_chance_may_make_names_nobody() -> None:
    """2.6 sd: looked into, and still likelier nothing than a slip."""
    found = judged(join(1013.6, 1000))
    assert (found.suspects, found.odd_steps) == ((), ())
    assert len(found.doubts) == 2
    assert all(p < 0.01 for p in found.doubts.values())


def test_of_many_weights_alike_five_are_listed_and_all_are_said_to_be_meant() -> None:
    """Ten draws of 1470 g from a block of 14430 g: any of them may have been 1170 g."""
    b = step("block", [14430], [1470] * 10)
    found = judged(b)
    assert [(s.kind, s.likely_g) for s in found.suspects] == [("one digit", 1170)] * 5
    assert all(set(s.among) == {*b.into, *b.out} for s in found.suspects)
    assert len(found.doubts) == 11
    assert sum(found.doubts.values()) == pytest.approx(1, abs=0.01)
