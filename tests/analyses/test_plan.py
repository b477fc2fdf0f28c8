"""The ledger walked forward: covered, chances, short days, and what would mend them."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest
from scipy import stats

from pipeline.analyses.batch_plan import Plan, Planned, among_draws, plan, shelf, walk, whole
from pipeline.analyses.frame_weights import FrameWeights
from pipeline.analyses.pending_wax import DRAWS, LotForecast, Past, Pending, WaitingLot, expected
from pipeline.analyses.refining_loss_model import Refining
from pipeline.analyses.shortage_remedies import mends
from pipeline.analyses.yield_model import RenderedLot
from pipeline.analyses.yield_priors import Prior, Priors
from pipeline.wording.amounts import Units
from pipeline.wording.forecast_doubt_sentences import batch_note, sentence

TODAY = date(2025, 9, 1)
PRIORS = Priors.of([Prior("cappings", None, 0.75, 0.92), Prior("brood comb", None, 0.07, 0.45)])
NONE = Pending((), np.zeros((DRAWS, 0)), ())
SURE, NEVER = pytest.approx(1, abs=1e-4), pytest.approx(0, abs=1e-4)


def ahead(lots: list[WaitingLot], sessions: list[RenderedLot], refined: list[tuple[float, float]], today: date) -> Pending:
    frames = FrameWeights.of([], [("cappings", 25, 120)])
    return expected(lots, Past(sessions, PRIORS, frames, Refining.of(refined)), today)


def day(n: int) -> date:
    return date(2025, 9, n)


def lots(*columns: tuple[date, np.ndarray]) -> Pending:
    told = tuple(
        LotForecast(WaitingLot(f"H{i}", "cappings", 1000.0, ready), ("steam",), ready, 0, 0, 0) for i, (ready, _) in enumerate(columns)
    )
    return Pending(told, np.column_stack([wax for _, wax in columns]), ())


def made(stock_g: float, *batches: Planned, pending: Pending = NONE) -> Plan:
    return plan(stock_g, batches, pending, TODAY)


def test_projected_available_record_of_a_planning_textbook() -> None:
    # A worked material-planning record: on hand 100, needs 50 125 100 60 40, receipts of 200 in weeks 2 and 4
    # leave 50 125 25 165 125; with 150 needed in week 3 it is 25 short there.
    receipts = [(day(2), np.array([200.0])), (day(4), np.array([200.0]))]
    needs = [50, 125, 100, 60, 40]
    weeks = [Planned(f"w{i}", day(i), "unit", n, 1.0) for i, n in enumerate(needs, 1)]
    assert walk(np.array([100.0]), receipts, weeks).left_g[0].tolist() == [50, 125, 25, 165, 125]
    weeks[2] = Planned("w3", day(3), "unit", 150, 1.0)
    assert 150 - walk(np.array([100.0]), receipts, weeks).poured[0, 2] == 25


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


def test_without_pending_comb_the_ledger_alone_speaks() -> None:
    nothing = ahead([], [], [], TODAY)
    told = made(1000, Planned("A", day(5), "jar", 4, 200), Planned("B", day(9), "jar", 2, 200), pending=nothing)
    assert [(b.covered, b.chance) for b in told.batches] == [(4, SURE), (1, NEVER)]
    assert (told.short_on, told.short_g) == (day(9), 200)
    assert any("the ledger alone speaks" in sentence(note, Units("g")) for note in told.notes)
    assert not any(b.melted_in_time for b in told.batches)


def test_no_chance_is_ever_certain() -> None:
    assert (among_draws(np.ones(9, bool)), among_draws(np.zeros(9, bool))) == (0.95, 0.05)
    assert among_draws(np.array([True, False])) == 0.5


def test_the_shelf_has_an_error_of_its_own() -> None:
    # A shelf of 1000 g give or take 20: 20 g over the need is one sigma (scipy.stats.norm).
    told = plan(1000, [Planned("A", day(5), "jar", 1, 980)], NONE, TODAY, 20)
    assert told.batches[0].chance == pytest.approx(stats.norm.cdf(1), abs=0.001)
    assert (told.batches[0].covered, told.short_on) == (1, None)  # covered and short go by the ledger
    drawn = shelf(1000, 20, DRAWS)
    assert np.quantile(drawn, [0.1, 0.5, 0.9], method="inverted_cdf") == pytest.approx(stats.norm.ppf([0.1, 0.5, 0.9], 1000, 20), abs=0.02)
    assert [p.mid_g for p in plan(1000, [], NONE, TODAY, 20).on_hand] == [1000]


def test_no_sessions_yet_rests_on_published_ranges_and_says_so() -> None:
    told = ahead([WaitingLot("H1", "cappings", 1000, None)], [], [], TODAY)
    assert any("judged ranges alone" in sentence(n, Units("g")) for n in told.notes)
    assert any("no ready date for H1" in sentence(n, Units("g")) for n in told.notes)
    # The published centre of cappings is the middle of its range in log odds.
    assert told.lots[0].mid_g == pytest.approx(1000 * 0.854, rel=0.02)


def test_unknown_kind_of_comb_takes_the_widest_range_and_says_so() -> None:
    known, strange = (
        ahead([WaitingLot("H1", kind, 1000, day(3))], [], [], TODAY) for kind in ("cappings", "wasp comb")
    )
    assert strange.lots[0].high_g - strange.lots[0].low_g > known.lots[0].high_g - known.lots[0].low_g
    assert any("wasp comb" in sentence(n, Units("g")) for n in strange.notes)


def test_the_same_book_gives_the_same_numbers_in_any_order() -> None:
    sessions = [RenderedLot(f"S{i}", day(i), "cappings", "steam", 5000, 4000 + 50 * i) for i in range(1, 7)]
    waiting = [WaitingLot("H1", "cappings", 3000, day(20)), WaitingLot("H2", "brood comb", 2000, None)]
    later = date(2025, 10, 1)
    one = ahead(waiting, sessions, [], later)
    other = ahead(waiting[::-1], sessions[::-1], [], later)
    assert np.array_equal(one.draws_g, other.draws_g)


def test_wax_set_aside_is_refined_at_a_drawn_loss() -> None:
    known = ahead([WaitingLot("S1", None, 1000)], [], [(1000.0, 980.0)] * 20, TODAY)
    assert known.lots[0].mid_g == pytest.approx(980, abs=2)
    assert 960 < known.lots[0].low_g < 980 < known.lots[0].high_g < 995
    usual = ahead([WaitingLot("S1", None, 1000)], [], [], TODAY)
    assert usual.lots[0].low_g < known.lots[0].low_g
    assert any("1 to 6 %" in sentence(n, Units("g")) for n in usual.notes)


def test_a_batch_whose_day_has_passed_is_due_today() -> None:
    told = made(500, Planned("late", date(2025, 8, 1), "jar", 2, 200))
    assert told.batches[0].date == TODAY
    assert told.batches[0].planned == date(2025, 8, 1)
    assert "due today" in batch_note(told.batches[0], Units())


def test_two_batches_on_one_day_go_by_their_order_in_the_file() -> None:
    a, b = Planned("A", day(5), "jar", 2, 200), Planned("B", day(5), "pillar", 1, 300)
    assert [x.covered for x in made(500, a, b).batches] == [2, 0]
    assert [x.covered for x in made(500, b, a).batches] == [1, 1]


def test_receipts_come_before_issues_on_a_day() -> None:
    got = lots((day(5), np.full(DRAWS, 400.0)))
    told = made(0, Planned("A", day(5), "jar", 2, 200), pending=got)
    assert (told.batches[0].covered, told.batches[0].chance, told.batches[0].melted_in_time) == (0, SURE, True)


def test_no_wax_a_rolled_candle_and_one_without_a_size() -> None:
    told = made(0, Planned("sheets", day(2), "rolled", 10, 0.0), Planned("odd", day(3), "odd", 5, None),
                Planned("jar", day(4), "jar", 1, 150.0))  # fmt: skip
    assert [(b.covered, b.chance) for b in told.batches] == [(10, SURE), (None, None), (0, NEVER)]
    assert told.batches[1].wax_g is None
    assert (told.short_on, told.short_g) == (day(4), 150)


def test_a_batch_that_takes_no_wax_is_never_short_of_it() -> None:
    """The short day is named by the batch that takes the wax: not by bought sheet that is rolled after it."""
    planned = [Planned("P1", day(2), "jar", 10, 100.0), Planned("R", day(2), "sheet", 5, 0.0), Planned("R2", day(9), "sheet", 5, 0.0)]
    found = plan(600.0, planned, NONE, TODAY)
    assert [(s.date, s.batch, s.short_g) for s in found.shortfalls] == [(day(2), "P1", 400.0)]
    assert plan(-50.0, planned[1:], NONE, TODAY).short_on is None


def test_a_shelf_below_nothing_points_to_the_ledger() -> None:
    told = made(-50, Planned("jar", day(4), "jar", 1, 150.0))
    assert told.batches[0].covered == 0
    assert told.short_g == 200
    assert "ledger" in sentence(told.notes[0], Units())


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
