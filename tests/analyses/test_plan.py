"""The ledger walked forward: covered, chances, short days, and what would mend them."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from pipeline.analyses.batch_plan import Plan, Planned, plan, walk, whole
from pipeline.analyses.pending_wax import DRAWS, Lot, LotForecast, Pending, expected
from pipeline.analyses.remedies import mends
from pipeline.analyses.yield_model import Rendered
from pipeline.analyses.yield_priors import Prior, Priors

TODAY = date(2025, 9, 1)
PRIORS = Priors.of([Prior("cappings", None, 0.75, 0.92), Prior("brood comb", None, 0.07, 0.45)])
NONE = Pending((), np.zeros((DRAWS, 0)), 0.965, ("certain by the ledger",))


def day(n: int) -> date:
    return date(2025, 9, n)


def lots(*columns: tuple[date, np.ndarray]) -> Pending:
    told = tuple(
        LotForecast(Lot(f"H{i}", "cappings", 1000.0, ready), "steam", ready, 0, 0, 0) for i, (ready, _) in enumerate(columns)
    )
    return Pending(told, np.column_stack([wax for _, wax in columns]), 0.965, ())


def made(stock_g: float, *batches: Planned, pending: Pending = NONE) -> Plan:
    return plan(stock_g, batches, pending, TODAY)


def test_projected_available_record_of_a_planning_textbook() -> None:
    # A worked material-planning record: on hand 100, needs 50 125 100 60 40, receipts of 200 in weeks 2 and 4
    # leave 50 125 25 165 125; with 150 needed in week 3 it is 25 short there.
    receipts = [(day(2), np.array([200.0])), (day(4), np.array([200.0]))]
    needs = [50, 125, 100, 60, 40]
    weeks = [Planned(f"w{i}", day(i), "unit", n, 1.0) for i, n in enumerate(needs, 1)]
    assert walk(100, receipts, weeks).left_g[0].tolist() == [50, 125, 25, 165, 125]
    weeks[2] = Planned("w3", day(3), "unit", 150, 1.0)
    assert 150 - walk(100, receipts, weeks).poured[0, 2] == 25


def test_the_chance_of_the_whole_plan_is_joint() -> None:
    # Bivariate normal (scipy multivariate_normal.cdf): stock 4; lots N(2, .4) and N(1.5, .4) correlated .5; 5.5 due
    # then 1.5: .8944 first, .7546 both; the product of the marginals, .684, is wrong.
    rng = np.random.default_rng(1)
    drawn = rng.multivariate_normal([2, 1.5], [[0.16, 0.08], [0.08, 0.16]], DRAWS * 20)
    told = made(
        4.0, Planned("stall", day(2), "big", 1, 5.5), Planned("gift", day(4), "small", 1, 1.5),
        pending=lots((day(1), drawn[:, 0]), (day(3), drawn[:, 1])),
    )  # fmt: skip
    assert told.batches[0].chance == pytest.approx(0.8944, abs=0.003)
    assert told.chance_all == pytest.approx(0.7546, abs=0.003)


def test_no_pending_comb_is_certain_by_the_ledger() -> None:
    nothing = expected([], [], PRIORS, None, TODAY)
    told = made(1000, Planned("A", day(5), "jar", 4, 200), Planned("B", day(9), "jar", 2, 200), pending=nothing)
    assert [(b.covered, b.chance) for b in told.batches] == [(4, 1.0), (1, 0.0)]
    assert (told.short_on, told.short_g) == (day(9), 200)
    assert any("certain by the ledger" in note for note in told.notes)


def test_no_sessions_yet_rests_on_published_ranges_and_says_so() -> None:
    told = expected([Lot("H1", "cappings", 1000, None)], [], PRIORS, None, TODAY)
    assert any("published ranges alone" in n for n in told.notes)
    assert any("no wax_expected for H1" in n for n in told.notes)
    # The published centre of cappings is the middle of its range in log odds.
    assert told.lots[0].mid_g == pytest.approx(1000 * 0.854, rel=0.02)


def test_unknown_kind_of_comb_takes_the_widest_range_and_says_so() -> None:
    known, strange = (
        expected([Lot("H1", kind, 1000, day(3))], [], PRIORS, None, TODAY) for kind in ("cappings", "wasp comb")
    )
    assert strange.lots[0].high_g - strange.lots[0].low_g > known.lots[0].high_g - known.lots[0].low_g
    assert any("wasp comb" in n for n in strange.notes)


def test_the_same_book_gives_the_same_numbers_in_any_order() -> None:
    sessions = [Rendered(f"S{i}", day(i), "cappings", "steam", 5000, 4000 + 50 * i) for i in range(1, 7)]
    waiting = [Lot("H1", "cappings", 3000, day(20)), Lot("H2", "brood comb", 2000, None)]
    later = date(2025, 10, 1)
    one = expected(waiting, sessions, PRIORS, None, later)
    other = expected(waiting[::-1], sessions[::-1], PRIORS, None, later)
    assert np.array_equal(one.draws_g, other.draws_g)


def test_wax_set_aside_counts_at_the_books_refining_yield() -> None:
    told = expected([Lot("S1", None, 1000)], [], PRIORS, 0.98, TODAY)
    assert (told.lots[0].low_g, told.lots[0].high_g) == (980, 980)
    usual = expected([Lot("S1", None, 1000)], [], PRIORS, None, TODAY)
    assert usual.lots[0].mid_g == pytest.approx(965)
    assert any("96.5 %" in n for n in usual.notes)


def test_a_batch_whose_day_has_passed_is_due_today() -> None:
    told = made(500, Planned("late", date(2025, 8, 1), "jar", 2, 200))
    assert told.batches[0].date == TODAY
    assert told.batches[0].planned == date(2025, 8, 1)
    assert "due today" in (told.batches[0].note or "")


def test_two_batches_on_one_day_go_by_their_order_in_the_file() -> None:
    a, b = Planned("A", day(5), "jar", 2, 200), Planned("B", day(5), "pillar", 1, 300)
    assert [x.covered for x in made(500, a, b).batches] == [2, 0]
    assert [x.covered for x in made(500, b, a).batches] == [1, 1]


def test_receipts_come_before_issues_on_a_day() -> None:
    got = lots((day(5), np.full(DRAWS, 400.0)))
    told = made(0, Planned("A", day(5), "jar", 2, 200), pending=got)
    assert (told.batches[0].covered, told.batches[0].chance) == (0, 1.0)


def test_no_wax_a_rolled_candle_and_one_without_a_size() -> None:
    told = made(0, Planned("sheets", day(2), "rolled", 10, 0.0), Planned("odd", day(3), "odd", 5, None),
                Planned("jar", day(4), "jar", 1, 150.0))  # fmt: skip
    assert [(b.covered, b.chance) for b in told.batches] == [(10, 1.0), (None, None), (0, 0.0)]
    assert told.batches[1].wax_g is None
    assert (told.short_on, told.short_g) == (day(4), 150)


def test_a_shelf_below_nothing_points_to_the_ledger() -> None:
    told = made(-50, Planned("jar", day(4), "jar", 1, 150.0))
    assert told.batches[0].covered == 0
    assert told.short_g == 200
    assert "ledger" in told.notes[0]


def test_whole_candles_are_not_lost_to_the_last_bit() -> None:
    assert whole(1000, 97 / 0.97) == 10
    assert whole(999.999, 100) == 9
    assert whole(-5, 100) == 0


def test_on_hand_is_at_the_end_of_each_day_that_matters() -> None:
    got = lots((day(3), np.full(DRAWS, 300.0)))
    told = made(100, Planned("A", day(5), "jar", 2, 150), pending=got)
    assert [(p.date, p.mid_g) for p in told.on_hand] == [(TODAY, 100), (day(3), 400), (day(5), 100)]


def test_three_ways_to_mend_a_short_plan() -> None:
    # Each 1 kg lot gives 800 g for sure: 700 g lacking are 875 g of comb.
    got = lots((day(20), np.full(DRAWS, 800.0)), (day(21), np.full(DRAWS, 800.0)))
    batches = [Planned("A", day(5), "jar", 4, 200), Planned("B", day(9), "taper", 20, 50)]
    told = made(1100, *batches, pending=got)
    ways = mends(told, got)
    assert [(b.by, b.wax_g) for b in ways.buy] == [(day(9), 700)]
    assert [(c.batch, c.fewer, c.left) for c in ways.fewer] == [("A", 4, 0)]
    assert ways.render[0].comb_g == pytest.approx(875, abs=0.01)
    assert ways.render[0].enough
    mended = made(1100, Planned("B", day(9), "taper", 20, 50))
    assert mended.short_on is None


def test_mends_bought_or_cut_leave_no_shortage() -> None:
    batches = [Planned("A", day(5), "jar", 7, 180), Planned("B", day(9), "taper", 25, 55), Planned("C", day(9), "jar", 3, 180)]
    told = made(1200, *batches)
    ways = mends(told, NONE)
    assert ways.render == ()
    assert plan(1200 + ways.buy[-1].wax_g, batches, NONE, TODAY).short_on is None
    cuts = {c.batch: c.left for c in ways.fewer}
    fewer = [Planned(b.batch, b.date, b.candle, cuts.get(b.batch, b.count), b.wax_each_g) for b in batches]
    assert plan(1200, [b for b in fewer if b.count], NONE, TODAY).short_on is None


def test_rendering_everything_may_not_be_enough_and_says_so() -> None:
    got = lots((day(20), np.full(DRAWS, 800.0)))
    told = made(0, Planned("A", day(5), "jar", 10, 200), pending=got)
    assert not mends(told, got).render[0].enough
