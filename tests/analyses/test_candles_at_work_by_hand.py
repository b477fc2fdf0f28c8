"""Wicks, burns, flaws, market days, books side by side, backtests, charts and traces: small cases by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from math import exp, inf, log, sqrt

import numpy as np
import pytest
from scipy import stats

from pipeline.analyses import control_limits, wick_choice
from pipeline.analyses.backtest import Hindcast, backtest, exact_limits, interval_score, pooled_interval
from pipeline.analyses.book_comparison import Apart, ComparedKind, compare, welch
from pipeline.analyses.burn_verdicts import Burn, BurnLimits, BurnReading, Says, read
from pipeline.analyses.burning_time import Spread, burn_rate, burn_time
from pipeline.analyses.burns_of_other_widths import BurnVerdict, WickedCandle, alike, holding_here
from pipeline.analyses.control_limits import ChartedPass, KindOfPass, Limits, chances, charts, limits, signals
from pipeline.analyses.distributions import beta_below, beta_quantile, chi2_above, coin_above, t_quantile
from pipeline.analyses.flaw_evidence import Factor, Poured, evidence
from pipeline.analyses.market_demand import Day, Demand, DemandAhead, apart, demand, log_chances
from pipeline.analyses.trace_shares import UNKNOWN, Link, LoopError, Thing, Way, reached, sources, ways
from pipeline.analyses.wick_choice import Chance, Seen, Wick, choose, contradictions, off_the_end, posterior, to_test
from pipeline.analyses.yield_model import RenderedLot
from pipeline.analyses.yield_priors import Prior, Priors

DAY = date(2025, 6, 1)
SMALL, RIGHT, LARGE, NONE = Says.SMALL, Says.RIGHT, Says.LARGE, Says.NONE

# Burns: methods 9 ---------------------------------------------------------------------------------------------------

LIMITS = BurnLimits(pool_share=0.9, pool_hours=1.0, pool_depth=15.0, flame_height=75.0, rim_low=6.0, rim_high=12.0)


@pytest.mark.parametrize(
    ("form", "burn", "reading"),
    [
        # a container of 50.8 mm, two inches: two hours; the wall counts as reached at 45.72 mm
        ("container", {"time_min": 119.9}, BurnReading(NONE, "short burn", 119.9, 120.0)),
        ("container", {"time_min": 120.0, "pool_mm": 45.7}, BurnReading(SMALL, "pool short", 45.7, pytest.approx(45.72))),
        ("container", {"pool_mm": 45.72}, BurnReading(NONE, "no depth")),
        ("container", {"pool_mm": 45.72, "depth_mm": 15.0}, BurnReading(RIGHT, "pool at the wall", 45.72)),
        ("container", {"pool_mm": 45.72, "depth_mm": 15.1}, BurnReading(LARGE, "pool deep", 15.1, 15.0)),
        ("container", {"time_min": 5.0, "pool_mm": 45.72, "went_out": True}, BurnReading(LARGE, "out at the wall", 45.72, pytest.approx(45.72))),
        ("container", {"time_min": 5.0, "pool_mm": 45.7, "went_out": True}, BurnReading(SMALL, "out before the wall", 45.7, pytest.approx(45.72))),
        ("container", {"pool_mm": 45.72, "flame_mm": 75.1}, BurnReading(LARGE, "flame", 75.1, 75.0)),
        ("mould", {"time_min": 119.9, "pool_mm": 30.0, "went_out": True}, BurnReading(NONE, "short burn", 119.9, 120.0)),
        ("mould", {"pool_mm": 26.8}, BurnReading(RIGHT, "rim right", pytest.approx(12.0))),
        ("mould", {"pool_mm": 26.6}, BurnReading(SMALL, "rim wide", pytest.approx(12.1), 12.0)),
        ("mould", {"pool_mm": 38.8}, BurnReading(RIGHT, "rim right", pytest.approx(6.0))),
        ("mould", {"pool_mm": 39.0}, BurnReading(LARGE, "rim thin", pytest.approx(5.9), 6.0)),
        ("mould", {}, BurnReading(NONE, "no pool")),
        ("dipped", {"signs": frozenset({"drips"}), "went_out": True}, BurnReading(LARGE, "drips")),
    ],
)
def test_every_limit_hit_and_passed_by_a_step(form: str, burn: dict[str, object], reading: BurnReading) -> None:
    assert read(Burn("T", 1, "W", **({"time_min": 180.0} | burn)), form, 50.8, LIMITS) == reading  # type: ignore[arg-type]


def mass(test: str, hours: float, before: float | None, after: float | None, wick: str = "W") -> Burn:
    return Burn(test, 1, wick, 60 * hours, mass_before_g=before, mass_after_g=after)


def test_burns_without_both_masses_or_a_time_tell_no_rate() -> None:
    there = [mass("A", 2, 100, 90), mass("A", 1, 90, 86), mass("B", 2, 100, 88)]  # 14 g in 3 h, 12 g in 2 h
    left_out = [mass("C", 2, None, 90), mass("D", 2, 100, None), mass("E", 0, 100, 90), mass("F", 1, 100, 1, "other")]
    half = stats.t.ppf(0.9, 1) * abs(6 - 14 / 3) / 2  # sd of two over the root of two is half their distance
    found = burn_rate(there + left_out, "W")
    assert (found.low, found.mid, found.high) == pytest.approx((16 / 3 - half, 16 / 3, 16 / 3 + half))
    assert burn_rate([], "W") == Spread(None, None, None)


@pytest.mark.parametrize(
    ("fill_g", "rate", "hours"),
    [
        (120.0, Spread(4.0, 6.0, 8.0), Spread(15.0, 20.0, 30.0)),
        (120.0, Spread(0.0, 6.0, 8.0), Spread(15.0, 20.0, None)),
        (120.0, Spread(-1.0, 6.0, 8.0), Spread(15.0, 20.0, None)),
        (None, Spread(4.0, 6.0, 8.0), Spread(None, None, None)),
        (120.0, Spread(None, 0.05, None), Spread(None, 2400.0, None)),
    ],
)
def test_the_slowest_burning_lasts_longest(fill_g: float | None, rate: Spread, hours: Spread) -> None:
    assert burn_time(fill_g, rate) == hours


JAR = WickedCandle("jar", "container", "pure", None, 60.0, 80.0, 60.0, 150.0)


@pytest.mark.parametrize(
    ("other", "says", "holds"),
    [
        ({"diameter_mm": 50.0}, SMALL, True),  # too small in a narrower one: too small here
        ({"diameter_mm": 60.0}, SMALL, True),
        ({"diameter_mm": 70.0}, SMALL, False),
        ({"diameter_mm": 70.0}, LARGE, True),
        ({"diameter_mm": 60.0}, LARGE, True),
        ({"diameter_mm": 50.0}, LARGE, False),
        ({"diameter_mm": 60.0}, RIGHT, False),  # right is not borrowed
        ({"diameter_mm": None}, SMALL, False),
        ({"diameter_mm": 50.0, "form": "mould"}, SMALL, False),
        ({"diameter_mm": 50.0, "blend": "soft"}, SMALL, False),
        ({"diameter_mm": 50.0, "candle": "jar"}, SMALL, False),  # its own burns are counted elsewhere
    ],
)
def test_what_burns_of_other_widths_say_here(other: dict[str, object], says: Says, holds: bool) -> None:
    another = replace(JAR, **({"candle": "tin"} | other))  # type: ignore[arg-type]
    verdict = BurnVerdict(another.candle, DAY, Burn("T", 2, "W", 60), BurnReading(says, "told"))
    assert holding_here(JAR, [JAR, another], [verdict]) == ((verdict,) if holds else ())
    assert holding_here(replace(JAR, diameter_mm=None), [JAR, another], [verdict]) == ()
    assert verdict.seen == Seen("T", 2, "W", says, False)
    assert alike(JAR, replace(JAR, candle="tin", diameter_mm=1.0))


# Wicks: methods 9 ---------------------------------------------------------------------------------------------------

FIVE = [Wick(f"W{i}", i, 10.0 * i, 10.0 * i + 10) for i in range(1, 6)]


def test_one_size_and_one_reading_by_hand() -> None:
    """Pairs (lo, hi) of one size: (0, 0) .10, (1, 1) .10, (0, 1) .35. Read right with an error of a tenth: .05, .05 and .9 of them."""
    small, right, large = posterior(1, [(0, RIGHT)], 0.1)
    total = 0.10 * 0.05 + 0.10 * 0.05 + 0.35 * 0.9
    assert (small[0], right[0], large[0]) == pytest.approx((0.005 / total, 0.315 / total, 0.005 / total))


def test_the_next_test_stops_where_one_size_is_sure_enough() -> None:
    told = [Seen("T", 1, "W3", RIGHT)] * 3
    best = max(choose(FIVE, told, (), 0.1, 2.0).chances, key=lambda c: c.chance)
    assert best.chance + best.small + best.large == pytest.approx(1)
    assert choose(FIVE, told, (), 0.1, best.chance) == replace(choose(FIVE, told, (), 0.1, 2.0), next_test=None)
    assert choose(FIVE, told, (), 0.1, best.chance + 1e-9).next_test == best.wick == "W3"


TWO_FAMILIES = [*FIVE, Wick("F1", 1, 0, 50, "flat"), Wick("F2", 2, 50, 99, "flat")]


def test_families_that_are_shown() -> None:
    def shown(seen: list[Seen], nominal: tuple[str, ...]) -> list[str]:
        return [c.wick for c in choose(TWO_FAMILIES, seen, nominal, 0.1, 0.9).chances]

    assert shown([], ()) == [w.wick for w in TWO_FAMILIES]
    assert shown([], ("F1",)) == ["F1", "F2"]
    assert shown([Seen("T", 1, "W1", SMALL)], ("F1",)) == [w.wick for w in TWO_FAMILIES]  # the one tested and the one to begin with
    found = choose(TWO_FAMILIES, [Seen("T", 1, "W1", SMALL)], ("F1",), 0.1, 0.9)
    assert found.choice in {w.wick for w in FIVE}  # nothing is chosen of a family without a verdict
    assert choose(TWO_FAMILIES, [], ("gone", "F2"), 0.1, 0.9).next_test == "F2"


def test_equal_chances_take_the_smallest() -> None:
    def chance(wick: str, x: float) -> Chance:
        return Chance(wick, x, 0.0, 0.0)

    assert wick_choice._likeliest({"a": chance("a", 0.3 - 1e-13), "b": chance("b", 0.3)}) == "a"  # differ by rounding alone
    assert wick_choice._likeliest({"a": chance("a", 0.29), "b": chance("b", 0.3)}) == "b"
    assert wick_choice._likeliest({}) is None


@pytest.mark.parametrize(
    ("charted", "tested"),
    [
        (("W1",), ("W1", "W2")),
        (("W5",), ("W4", "W5")),
        (("W2", "W4"), ("W1", "W2", "W4", "W5")),  # what lies between and is not charted is not beside it
        (("W2", "F2"), ("W1", "W2", "W3", "F1", "F2")),
    ],
)
def test_a_rank_either_side_is_tested(charted: tuple[str, ...], tested: tuple[str, ...]) -> None:
    assert to_test(TWO_FAMILIES, charted) == tested


def seen(*told: tuple[str, Says]) -> list[Seen]:
    return [Seen("T", i, wick, says) for i, (wick, says) in enumerate(told)]


@pytest.mark.parametrize(
    ("told", "pairs"),
    [
        (seen(("W2", RIGHT), ("W3", SMALL)), [("W2", "W3")]),  # right, though a larger one is too small
        (seen(("W2", LARGE), ("W2", RIGHT)), [("W2", "W2")]),
        (seen(("W3", LARGE), ("W2", SMALL)), []),
        (seen(("W2", LARGE), ("F2", SMALL)), []),  # families do not compare
        (seen(("W2", LARGE), ("gone", SMALL), ("W3", NONE)), []),
        (seen(("W2", RIGHT), ("W3", RIGHT)), []),
    ],
)
def test_two_verdicts_of_which_one_must_be_wrong(told: list[Seen], pairs: list[tuple[str, str]]) -> None:
    assert [(a.wick, b.wick) for a, b in contradictions(TWO_FAMILIES, told)] == pairs


@pytest.mark.parametrize(
    ("told", "end"),
    [
        (seen(("W5", SMALL), ("W5", NONE)), SMALL),
        (seen(("W5", LARGE)), None),
        (seen(("W1", SMALL)), None),
        (seen(("W1", LARGE), ("W2", LARGE)), LARGE),
        (seen(("W2", LARGE)), None),
        (seen(("W2", LARGE), ("F2", SMALL)), SMALL),
        (seen(("gone", SMALL)), None),
        ([], None),
    ],
)
def test_off_the_end_of_a_family(told: list[Seen], end: Says | None) -> None:
    assert off_the_end(TWO_FAMILIES, told) is end


# Flaws --------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("value", "above", "below"),
    [(70.0, False, False), (70.1, True, False), (69.9, False, True), (None, None, None)],
)
def test_a_cut_parts_those_beyond_it(value: float | None, above: bool | None, below: bool | None) -> None:
    assert Factor("hot", "t", 70, None).has({"t": value}) is above
    assert Factor("cold", "t", None, 70).has({"t": value}) is below
    assert Factor("hot", "t", 70, None).has({}) is None


def test_of_two_flaws_and_one_cut_by_hand() -> None:
    """Crack: 5 of 5 against 0 of 6, one table of C(11, 5) = 462; ridges: 1 of 5 against 1 of 6, every table as likely or less."""
    hot = [Poured(frozenset({"crack"} | ({"ridges"} if i == 0 else set())), {"t": 75.0}) for i in range(5)]
    cool = [Poured(frozenset({"ridges"} if i == 0 else ()), {"t": 65.0}) for i in range(6)]
    found = evidence([*hot, *cool], [Factor("hot", "t", 70, None)], 5)
    crack, ridges = found["crack"], found["ridges"]
    assert (crack.with_, crack.without, crack.p_alone, crack.p) == ((5, 5), (0, 6), pytest.approx(1 / 462), pytest.approx(2 / 462))
    assert (ridges.with_, ridges.without, ridges.p_alone, ridges.p) == ((1, 5), (1, 6), 1.0, 1.0)
    assert evidence([*hot, *cool], [Factor("hot", "t", 70, None)], 6) == {}
    alike = evidence([*hot, *cool], [Factor("hot", "t", 70, None), Factor("hotter", "t", 70, None)], 5)
    assert (alike["ridges"].p_alone, alike["ridges"].p) == (1.0, 1.0)  # two questions of a chance of one are no chance of two
    assert alike["crack"].p == pytest.approx(4 / 462)


# Market days: methods 11 --------------------------------------------------------------------------------------------


def test_days_ahead_by_hand() -> None:
    """Chances of at most 0, 10, 20 … : counts between take that of the step below, and beyond the last that of the last."""
    ahead = DemandAhead(np.array([0.2, 0.5, 0.9, 0.99]), 10)
    assert [ahead.at_most(n) for n in (0, 9, 10, 29, 30, 999)] == [0.2, 0.2, 0.5, 0.9, 0.99, 0.99]
    assert [ahead.enough(q) for q in (0.1, 0.2, 0.21, 0.5, 0.9, 0.999)] == [0, 0, 10, 10, 20, 30]


def test_a_demand_of_two_rates_by_hand() -> None:
    known = Demand(np.array([2.0, 6.0]), (inf,), np.array([[0.25, 0.75]]), 0.0)
    assert (known.mean, known.size_chances) == (5.0, (1.0,))
    ahead = known.ahead(2)
    want = 0.25 * stats.poisson.cdf(np.arange(64), 4) + 0.75 * stats.poisson.cdf(np.arange(64), 12)
    assert (ahead.stride, ahead.below[:64]) == (1, pytest.approx(want))
    assert len(ahead.below) == 64  # nearly all of the chance lies there: no further block is asked


def test_days_that_differ_are_spread_by_their_size() -> None:
    known = Demand(np.array([5.0]), (2.0,), np.array([[1.0]]), 0.0)
    assert known.ahead(3).below == pytest.approx(stats.nbinom.cdf(np.arange(len(known.ahead(3).below)), 6, 6 / 21))  # NB(3 lambda, 3 k)


def test_thousands_are_counted_in_steps() -> None:
    known = Demand(np.array([4100.0]), (inf,), np.array([[1.0]]), 0.0)
    ahead = known.ahead()
    assert ahead.stride == 3  # 1 + a whole time for each 2,000
    assert ahead.enough(0.5) == pytest.approx(4100, abs=3)
    assert Demand(np.array([50000.0]), (inf,), np.array([[1.0]]), 0.0).ahead().below.max() <= 1.0  # by steps they sum to a little more
    assert known.ahead(1).at_most(4000) == pytest.approx(stats.poisson.cdf(4000, 4100), abs=0.003)


def test_the_evidence_of_a_day_is_its_chance_over_all_rates() -> None:
    """Poisson alone, a gamma of mean m0 = 5: P(3) = (5/6)^3 / 6 (geometric); sold out at 3: P(D >= 3) = (5/6)^3."""
    assert exp(demand([Day(3)], 5, (inf,)).evidence) == pytest.approx((5 / 6) ** 3 / 6, rel=1e-3)
    assert exp(demand([Day(3, True)], 5, (inf,)).evidence) == pytest.approx((5 / 6) ** 3, rel=1e-3)
    assert exp(demand([Day(0, True)], 5, (inf,)).evidence) == pytest.approx(1)
    twice = demand([Day(3), Day(3)], 5, (inf,)).evidence  # C(6, 3) ways of a gamma-Poisson pair: 20 x 5^6 / 11^7
    assert exp(twice) == pytest.approx(20 * 5**6 / 11**7, rel=1e-3)


def test_the_chance_of_a_count_by_hand() -> None:
    """Poisson of 2: 2 e^-2 for one, 2 e^-2 for two; geometric of mean 2 (k = 1): 2/9 and 4/27."""
    assert np.exp(log_chances(np.array([1, 2]), np.array([2.0]), inf)).ravel() == pytest.approx([2 * exp(-2)] * 2)
    assert np.exp(log_chances(np.array([1, 2]), np.array([2.0]), 1.0)).ravel() == pytest.approx([2 / 9, 4 / 27])


def test_places_are_apart_where_two_rates_explain_them_so_much_better() -> None:
    places = [[Day(9), Day(8)], [Day(3), Day(4)]]
    better = demand(places[0], 6).evidence + demand(places[1], 6).evidence - demand([*places[0], *places[1]], 6).evidence
    assert apart(places, 6, exp(better - 0.01))
    assert not apart(places, 6, exp(better + 0.01))
    assert not apart(places[:1], 6, 1e-9)


# Books side by side -------------------------------------------------------------------------------------------------

YIELD, LOSS = ComparedKind("cappings", "steam"), ComparedKind(None, "oven")


def test_losses_are_compared_as_logs_and_shares_at_the_ends_are_drawn_in() -> None:
    found = compare({LOSS: {"a": [0.01, 0.04], "b": [0.0]}, YIELD: {"a": [0.0], "b": [1.0]}})
    a, b = found[LOSS]
    low, high = stats.t.interval(0.95, 1, log(0.02), log(4) / 2)  # sd log(4) / sqrt(2), over the root of two
    assert (a.n, a.middle, a.low, a.high, a.p, a.verdict) == (2, pytest.approx(0.02), pytest.approx(exp(low)), pytest.approx(exp(high)), None, Apart.FEW)
    assert (b.n, b.middle, b.low, b.high) == (1, pytest.approx(0.0005), None, None)
    assert [s.middle for s in found[YIELD]] == pytest.approx([0.005, 0.995])


def test_three_sessions_against_three_are_judged() -> None:
    high, low = [0.6, 0.61, 0.62], [0.3, 0.31, 0.32]
    found = compare({YIELD: {"a": high, "b": low}, LOSS: {"a": high, "b": high}, ComparedKind("brood comb", None): {"a": high}})
    assert [s.verdict for s in found[YIELD]] == [Apart.HIGHER, Apart.LOWER]
    assert [s.verdict for s in found[LOSS]] == [Apart.NONE, Apart.NONE]  # asked, and not apart
    odds = [[log(y / (1 - y)) for y in ys] for ys in (high, low)]
    assert found[YIELD][0].p == pytest.approx(stats.ttest_ind(*odds, equal_var=False).pvalue)
    assert [s.verdict for s in compare({YIELD: {"a": high[:2], "b": low}})[YIELD]] == [Apart.FEW, Apart.FEW]


def test_welch_where_nothing_scatters() -> None:
    assert (welch([1, 1], [1, 1]), welch([1, 1], [2, 2])) == (1.0, 0.0)
    assert welch([1, 1, 1], [1, 2, 3]) == pytest.approx(2 * stats.t.sf(sqrt(3), 2))  # all the scatter is the other's


@pytest.mark.parametrize(
    ("chances_", "stand"),
    [
        ([0.05, 0.016, 0.025], [True, True, True]),  # a third, a half and all of 5 %: on the level stands
        ([0.03, 0.03, 0.001], [False, False, True]),  # the first that fails ends it
        ([0.017, 0.02, 0.02], [False, False, False]),
        ([], []),
    ],
)
def test_a_page_is_one_family(chances_: list[float], stand: list[bool]) -> None:
    from pipeline.analyses import book_comparison

    assert book_comparison._holm(chances_) == stand


# Backtest -----------------------------------------------------------------------------------------------------------


def test_a_score_is_the_width_and_ten_times_the_miss() -> None:
    assert [interval_score(0.2, 0.5, came) for came in (0.2, 0.5, 0.1, 0.7)] == pytest.approx([0.3, 0.3, 1.3, 2.3])
    assert interval_score(0.2, 0.5, 0.1, 0.5) == pytest.approx(0.3 + 4 * 0.1)


@pytest.mark.parametrize(("came", "inside"), [(0.2, True), (0.5, True), (0.19, False), (0.51, False)])
def test_an_interval_holds_its_ends(came: float, inside: bool) -> None:
    assert Hindcast("S", DAY, "cappings", None, 0.2, 0.3, 0.5, came).inside is inside


def test_limits_of_a_proportion_by_hand() -> None:
    """None of n: (1 - x)^n = 2.5 %; at a level of 80 % of one: x = 10 and 90 %."""
    assert exact_limits(0, 5) == (0.0, pytest.approx(1 - 0.025**0.2))
    assert exact_limits(5, 5) == (pytest.approx(0.025**0.2), 1.0)
    assert exact_limits(1, 1, 0.8) == (pytest.approx(0.1), 1.0)


def test_a_plain_ratio_stays_between_nought_and_one() -> None:
    wide = pooled_interval(np.array([100.0, 900.0]), np.array([1000.0, 1000.0]))
    assert (wide.low, wide.mid, wide.high) == (0.0, 0.5, 1.0)
    half = stats.t.ppf(0.9, 2) * sqrt((0.1**2 + 0.1**2 + 0) / 2) * sqrt(4 / 3)  # 40, 50, 60 % of 1 kg each
    told = pooled_interval(np.array([400.0, 500.0, 600.0]), np.full(3, 1000.0))
    assert (told.low, told.high) == pytest.approx((0.5 - half, 0.5 + half))


def test_the_last_four_hundred_sessions_are_predicted(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("pipeline.analyses.backtest.MEMORY", 4)  # four here
    seen = [RenderedLot(f"S{i}", DAY + timedelta(i), "cappings", "steam", 8000, 8000 * (0.1 if i == 0 else 0.8 + 0.01 * i)) for i in range(7)]
    priors = Priors.of([Prior("cappings", None, 0.75, 0.92)])
    told = backtest(seen, priors)
    assert [h.session for h in told.sessions] == ["S3", "S4", "S5", "S6"]
    assert (told.n, told.n_scored) == (4, 4)
    again = backtest([*seen[2:6], seen[6]], priors)  # the last is told from the four before it
    assert told.sessions[-1] == again.sessions[-1]


# Charts: methods 1 --------------------------------------------------------------------------------------------------

D2 = 2 / sqrt(np.pi)


@pytest.mark.parametrize(
    ("losses", "found"),
    [
        ([], Limits(0, None, None, "none")),
        ([0.01, 0.02, 0.01, 0.02, 0.01], Limits(5, pytest.approx(0.014), None, "none")),
        ([0.01, 0.02, 0.01, 0.02, 0.01, 0.02], Limits(6, pytest.approx(0.015), pytest.approx(0.01 / D2), "provisional")),
        ([0.01, None, 0.02, None, 0.01, None, 0.02, None, 0.01, None, 0.02], Limits(6, pytest.approx(0.015), None, "none")),  # no range
        ([0.01, 0.01, 0.01, None, 0.02, 0.02, 0.02], Limits(6, pytest.approx(0.015), None, "none")),  # no range but nought
        ([0.02] * 6, Limits(6, 0.02, None, "none", True)),
    ],
)
def test_limits_of_a_few_losses(losses: list[float | None], found: Limits) -> None:
    told = limits(losses)
    assert told == found
    if told.sigma is not None and told.centre is not None:
        assert (told.lower, told.upper) == pytest.approx((0.015 - 0.03 / D2, 0.015 + 0.03 / D2))
    else:
        assert told.lower is told.upper is None
    assert (signals(losses, told) == []) or told.sigma


def fired(*sigmas: float | None) -> list[tuple[int, int]]:
    return signals([None if s is None else 0.5 + 0.0625 * s for s in sigmas], Limits(20, 0.5, 0.0625, "set"))


@pytest.mark.parametrize(
    ("sigmas", "rules"),
    [
        ([3.0], []),  # on the line is not beyond it
        ([-3.1], [(0, 1)]),
        ([2.1, 2.0, 2.1], [(2, 2)]),
        ([2.1, 0, 0, 2.1], []),
        ([2.1, 2.1, 0], [(1, 2)]),  # a point that is not itself beyond completes nothing
        ([1.1, 1.1, 1.1, 1.1], [(3, 3)]),
        ([1.1, 1.1, 1.1, 0, 0, 1.1], []),
        ([-0.1] * 9, [(7, 4), (8, 4)]),
        ([0.1] * 4 + [None] + [0.1] * 7, []),
        ([0.1] * 4 + [None] + [0.1] * 8, [(12, 4)]),
        ([0.1] * 7 + [0.0], []),
    ],
)  # fmt: skip
def test_the_four_rules_at_their_limits(sigmas: list[float | None], rules: list[tuple[int, int]]) -> None:
    assert fired(*sigmas) == rules


LOSSES = np.array([0.02, 0.03, 0.02, 0.03, 0.02, 0.03, 0.02, 0.03, 0.20])
U = np.full(9, 0.0005)


def kind(losses: np.ndarray, place: int) -> KindOfPass:
    return KindOfPass("first", "oven", "cappings", (DAY, "new press"), place, losses, np.full(len(losses), 0.0005))


def step(place: int) -> ChartedPass:
    return ChartedPass(f"S{place}", 1, DAY + timedelta(place), 0.1)


def test_a_chart_names_the_steps_of_its_signals_and_its_latest_hundred() -> None:
    many = np.array([*[0.02, 0.03] * 59, 0.5, 0.02])
    asked: list[list[int]] = []

    def steps(places: list[int]) -> list[ChartedPass]:
        asked.append(list(places))
        return [step(p) for p in places]

    one, two = charts([kind(LOSSES, 1000), kind(many, 10)], steps)  # type: ignore[arg-type]
    assert (one.stage, one.method, one.comb, one.since, one.steps, one.n, one.state) == ("first", "oven", "cappings", (DAY, "new press"), 9, 9, "provisional")
    assert [p.session for p in one.points] == [f"S{p}" for p in range(1000, 1009)]
    assert [p.session for p in two.points] == [f"S{p}" for p in range(30, 130)]
    assert asked == [[*range(30, 130), *range(1000, 1009)]]
    assert [(s.session, s.rule, s.grade) for s in one.signals] == [("S1007", 4, "look"), ("S1008", 1, "signal")]
    assert one.signals[1].p == pytest.approx(chances(LOSSES, U, [8])[0])
    assert [(s.session, s.rule) for s in two.signals if s.rule == 1] == [("S128", 1)]
    assert (one.centre, one.lower, one.upper) == (one.limits.centre, one.limits.lower, one.limits.upper)


def test_only_the_latest_points_are_asked_and_those_before_stand_in_their_runs() -> None:
    run = np.array([0.02, 0.04] * 8 + [0.0301] * 8)
    drawn = limits(run)
    assert control_limits._asked(run, replace(drawn, centre=0.03), 1) == [(23, 4)]  # eight in a row, seven of them before
    assert control_limits._asked(run, replace(drawn, centre=0.03), 0) == []
    whole = control_limits._asked(run, replace(drawn, centre=0.03), None)
    assert (23, 4) in whole
    assert control_limits._asked(run, replace(drawn, centre=0.03), 99) == whole


def test_looks_have_no_chance_and_a_chance_is_asked_of_every_point() -> None:
    found = charts([kind(np.array([0.02, 0.04] * 8 + [0.031] * 8), 0)], lambda places: [step(p) for p in places])[0]
    assert {(s.grade, s.p) for s in found.signals} == {("look", None)}
    assert chances(LOSSES[:5], U[:5], [0, 1]) == pytest.approx([np.nan, np.nan], nan_ok=True)  # under six points
    assert chances(np.append(LOSSES, np.nan), np.append(U, np.nan), [9]) == pytest.approx([np.nan], nan_ok=True)
    assert max(chances(LOSSES, U, range(9))) == 1.0  # nine times a chance near one is no chance over one


# Chances: reference library scipy.stats -----------------------------------------------------------------------------


def test_points_of_distributions_at_their_edges() -> None:
    assert (beta_below(2, 3, 0.0), beta_below(2, 3, 1.0), beta_below(2, 3, -0.1), beta_below(2, 3, 1.1)) == (0, 1, 0, 1)
    assert beta_below(1, 1, 0.3) == pytest.approx(0.3, rel=1e-14)
    assert beta_below(2, 1, 1e-9) == pytest.approx(1e-18, rel=1e-12)
    assert beta_quantile(1, 1, 0.3) == pytest.approx(0.3, rel=1e-14)
    assert (coin_above(-1, 3), coin_above(3, 3), coin_above(2, 3)) == (1, 0, pytest.approx(1 / 8))
    for chance in (1e-9, 0.025, 0.4, 0.6, 0.999):  # df 1 is Cauchy: tan(pi (p - 1/2))
        assert t_quantile(chance, 1) == pytest.approx(stats.cauchy.ppf(chance), rel=1e-9)
    assert chi2_above(np.array([2, 2, 1]), np.array([2.0, 0.0, 0.0])) == pytest.approx([exp(-1), 1, 1])


# Traces -------------------------------------------------------------------------------------------------------------


def thing(name: str) -> Thing:
    kinds = {"H": "harvest", "S": "session", "B": "block", "D": "draw", "P": "batch", "U": "slumgum"}
    return Thing(kinds[name[0]], name)


def link(one: str, other: str, share: float) -> Link:
    return Link(thing(one), thing(other), share)


LINKS = [
    link("S1", "H1", 0.6), link("S1", "H2", 0.4), link("B1", "S1", 1.0), link("B2", "S1", 1.0),
    link("S2", "B2", 0.5), link("S2", "H3", 0.5), link("B3", "S2", 1.0), Link(thing("B4"), UNKNOWN, 1.0),
    link("D1", "B1", 1.0), link("D2", "B3", 0.5), link("D2", "B9", 0.5), link("D3", "B9", 1.0), link("P1", "D1", 0.5), link("P1", "D2", 0.3), link("P1", "D3", 0.2),
]  # fmt: skip
"""B9 was bought, and the second draw is half of it. B2 was melted again with harvest H3."""


def test_where_a_batch_came_from_by_hand() -> None:
    """Half by B1: H1 .3, H2 .2; .15 by B3, half of it B2: H1 .045, H2 .03, H3 .075; .15 and .2 bought."""
    found = sources({thing("P1"): 1.0}, LINKS)
    assert found == {thing("H1"): pytest.approx(0.345), thing("H2"): pytest.approx(0.23), thing("H3"): pytest.approx(0.075), thing("B9"): pytest.approx(0.35)}
    assert sources({thing("B4"): 0.5, thing("S9"): 0.5}, LINKS) == {UNKNOWN: 1.0}  # nobody logged where they came from
    assert sources({thing("H1"): 0.25, thing("B1"): 0.75}, LINKS) == {thing("H1"): pytest.approx(0.25 + 0.45), thing("H2"): pytest.approx(0.3)}


def test_where_a_harvest_went_by_hand() -> None:
    found = reached({thing("H1"): 1.0}, LINKS)
    assert {t.name: s for t, s in found.items()} == pytest.approx({"S1": 0.6, "B1": 0.6, "B2": 0.6, "S2": 0.3, "B3": 0.3, "D1": 0.6, "D2": 0.15, "P1": 0.345})
    half = reached({thing("B2"): 0.5, thing("S1"): 1.0}, LINKS)
    assert {t.name: s for t, s in half.items()} == pytest.approx({"B1": 1.0, "S2": 0.25, "B3": 0.25, "D1": 1.0, "D2": 0.125, "P1": 0.5375})


def test_the_ways_of_a_batch_by_hand() -> None:
    found = ways(thing("P1"), LINKS)
    want = [
        Way(thing("H1"), thing("S1"), thing("B1"), 0.30), Way(thing("B9"), None, thing("B9"), 0.35), Way(thing("H2"), thing("S1"), thing("B1"), 0.20),
        Way(thing("H3"), thing("S2"), thing("B3"), 0.075), Way(thing("H1"), thing("S1"), thing("B3"), 0.045), Way(thing("H2"), thing("S1"), thing("B3"), 0.03),
    ]  # fmt: skip
    assert sorted(((w.begin, w.melted, w.block, round(w.share, 9)) for w in found), key=str) == sorted(((w.begin, w.melted, w.block, w.share) for w in want), key=str)
    assert [round(w.share, 9) for w in found] == [0.35, 0.3, 0.2, 0.075, 0.045, 0.03]  # the largest first
    unknown = [link("P2", "D9", 1.0), link("D9", "B4", 1.0), Link(thing("B4"), UNKNOWN, 1.0)]
    assert ways(thing("P2"), unknown) == [Way(UNKNOWN, thing("B4"), thing("B4"), 1.0)]
    assert ways(thing("P3"), []) == []


def test_a_loop_is_told_with_its_names() -> None:
    loop = [link("S1", "B1", 1.0), link("B1", "S1", 1.0)]
    for walk in (lambda: sources({thing("B1"): 1.0}, loop), lambda: reached({thing("B1"): 1.0}, loop), lambda: ways(thing("B1"), loop)):
        with pytest.raises(LoopError) as told:
            walk()
        assert {t.name for t in told.value.names} == {"S1", "B1"}
        assert " -> " in str(told.value)
