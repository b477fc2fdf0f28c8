"""Slopes, seasons at one mix, parts of a change, the last season and what may be said of it: small cases by hand."""

from __future__ import annotations

from datetime import date
from math import log, sqrt

import numpy as np
import pytest
from scipy import stats

from pipeline.analyses import trend_claims
from pipeline.analyses.control_limits import Chart, Limits, Signal
from pipeline.analyses.filters_keeping_wax import Losses, leaks, rank_sum_above
from pipeline.analyses.last_season_against_earlier import Sums, shift
from pipeline.analyses.season_change_parts import KindPart, RenderedGroup, in_order, split
from pipeline.analyses.season_slope import FittedLine, kendall_p, kendall_z, least_squares, theil_sen
from pipeline.analyses.seasons_at_fixed_mix import SeasonRow, Won, seasons

# The slope through seasons: methods 4 -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("y", "z"),
    [
        ([1, 2, 3, 4], 5 / sqrt(26 / 3)),  # S 6, Var 4 x 3 x 13 / 18, a continuity of one towards nought
        ([4, 3, 2, 1], -5 / sqrt(26 / 3)),
        ([1, 2, 1], 0),  # one pair rises, one falls: nothing is taken off nought
        ([1, 1, 2], 1 / sqrt((66 - 18) / 18)),  # one tie of two takes 2 x 1 x 9 off
        ([2, 2, 2], 0),
    ],
)
def test_the_normal_score_of_kendalls_s_by_hand(y: list[float], z: float) -> None:
    assert kendall_z(y) == pytest.approx(z)


@pytest.mark.parametrize(
    ("y", "two_sided", "one_sided"),
    [
        ([1, 1, 2], 2 / 3, 1 / 3),  # of the six orders two have S 2, two 0, two -2
        ([2, 1, 1], 2 / 3, 1 / 3),
        ([1, 2, 1], 1, 1),  # S 0
        ([1, 2, 3], 1 / 3, 1 / 6),
        # ties among nine: Var (9 x 8 x 23 - 2 x 1 x 9) / 18 = 91, S 35, the normal approximation (scipy.stats.norm)
        ([1, 1, 2, 3, 4, 5, 6, 7, 8], 2 * stats.norm.sf(34 / sqrt(91)), stats.norm.sf(34 / sqrt(91))),
        ([8, 7, 6, 5, 4, 3, 2, 1, 1], 2 * stats.norm.sf(34 / sqrt(91)), stats.norm.sf(34 / sqrt(91))),
    ],
)
def test_the_chance_of_an_order_by_hand(y: list[float], two_sided: float, one_sided: float) -> None:
    assert kendall_p(y) == pytest.approx(two_sided)
    assert kendall_p(y, one_sided=True) == pytest.approx(one_sided)


@pytest.mark.parametrize(
    ("y", "exact"),
    [
        ([0, *range(7)], True),  # eight with a tie: methods 4, permutations up to n = 8
        ([0, *range(8)], False),
        (list(range(9)), True),  # all different are counted without trying their orders
        (list(range(60)), True),
        (list(range(61)), False),
    ],
)
def test_which_chances_are_counted_exactly(y: list[float], exact: bool) -> None:
    line = theil_sen(range(len(y)), y)
    assert line is not None
    assert line.exact is exact


@pytest.mark.parametrize(("n", "p"), [(3, None), (4, None), (5, 1.0), (6, 1.0)])
def test_equal_seasons_have_a_slope_of_nought(n: int, p: float | None) -> None:
    assert theil_sen(range(n), [0.4] * n) == FittedLine(0.0, 0.0, 0.0, p, 0, 0.0, True)


def test_of_three_seasons_the_slopes_outermost_are_the_interval() -> None:
    # pairs: .02 / 1, .01 / 3 and .03 / 4 a season
    line = theil_sen([2020, 2021, 2024], [0.30, 0.32, 0.33])
    assert line is not None
    assert (line.per_season, line.low, line.high) == pytest.approx((0.0075, 0.01 / 3, 0.02))
    assert (line.p, line.s, line.z) == (None, 3, pytest.approx(2 / sqrt(66 / 18)))


@pytest.mark.parametrize("y", [[1, 2, 4], [1, 2, 4, 3], [1, 2, 4, 3, 6], [6, 3, 4, 2, 1]])
def test_least_squares_and_its_interval_are_scipys(y: list[float]) -> None:
    # reference library: scipy.stats.linregress; below five seasons no p is told (methods 4)
    found, want = least_squares(range(len(y)), y), stats.linregress(range(len(y)), y)
    reach = stats.t.ppf(0.975, len(y) - 2) * want.stderr
    assert found is not None
    assert (found.per_season, found.low, found.high) == pytest.approx((want.slope, want.slope - reach, want.slope + reach))
    assert found.p == (None if len(y) < 5 else pytest.approx(want.pvalue))


def test_seasons_on_one_line_leave_nothing_to_test() -> None:
    assert least_squares(range(5), [0, 2, 4, 6, 8]) == FittedLine(2.0, 2.0, 2.0, None)
    assert least_squares([2024, 2025], [0.3, 0.4]) is None


def test_seasons_and_yields_that_do_not_belong_together_are_refused() -> None:
    with pytest.raises(ValueError, match="longer"):
        theil_sen([2022, 2023, 2024], [0.3, 0.4, 0.5, 0.6])


# Parts of a change: methods 3 -------------------------------------------------------------------------------------

SOLAR, STEAM = ("cappings", "solar"), ("brood comb", "steam")
BEFORE = {SOLAR: RenderedGroup(6, 4.8), STEAM: RenderedGroup(4, 1.2)}
AFTER = {SOLAR: RenderedGroup(3, 2.25), STEAM: RenderedGroup(3, 1.2), ("brood comb", "solar"): RenderedGroup(4, 0.8)}


def das_gupta(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> float:
    """What the first of three factors adds to their product (Das Gupta 1993, the formula of three factors)."""
    return (a[1] - a[0]) * ((b[0] * c[0] + b[1] * c[1]) / 3 + (b[0] * c[1] + b[1] * c[0]) / 6)


def test_a_change_of_two_kinds_and_two_methods_by_hand() -> None:
    """60 % before, 42.5 % after; cappings 80 and 75 % of a share of 60 and 30 %, brood comb 30 and 2/7 of 40 and 70 %."""
    found = split(BEFORE, AFTER)
    assert found is not None
    level = (0.6 + 0.425) / 2
    brood = KindPart("brood comb", 0.4, 0.7, 0.3 * ((0.3 + 2 / 7) / 2 - level), (2 / 7 - 0.3) * 0.55, False)
    cappings = KindPart("cappings", 0.6, 0.3, -0.3 * (0.775 - level), -0.05 * 0.45, False)
    for part, want in zip(found.kinds, (brood, cappings), strict=True):
        assert (part.comb, part.borrowed) == (want.comb, False)
        assert (part.share_from, part.share_to, part.mix, part.rate) == pytest.approx((want.share_from, want.share_to, want.mix, want.rate))
    assert (found.total, found.mix, found.rate) == pytest.approx((-0.175, brood.mix + cappings.mix, brood.rate + cappings.rate))
    # each pair of comb and method: share of the comb, of the method within it, rate; a gap borrows the other season's rate
    pairs = [((0.6, 0.3), (1, 1), (0.8, 0.75)), ((0.4, 0.7), (1, 3 / 7), (0.3, 0.4)), ((0.4, 0.7), (0, 4 / 7), (0.2, 0.2))]
    assert found.comb == pytest.approx(sum(das_gupta(a, b, c) for a, b, c in pairs))
    assert found.method == pytest.approx(sum(das_gupta(b, a, c) for a, b, c in pairs))
    assert found.rendering == pytest.approx(sum(das_gupta(c, a, b) for a, b, c in pairs))


def test_a_kind_noted_but_not_rendered_takes_no_part() -> None:
    empty = {("drone comb", None): RenderedGroup(0, 0)}
    found = split({SOLAR: RenderedGroup(10, 8)} | empty, {SOLAR: RenderedGroup(10, 7)} | empty)
    assert found is not None
    assert (found.borrowed, found.total, found.rate, found.rendering) == (("drone comb",), *[pytest.approx(-0.1)] * 3)
    assert (found.mix, found.comb, found.method) == pytest.approx((0, 0, 0))
    assert split({SOLAR: RenderedGroup(10, 8)}, empty) is None
    assert split({}, {SOLAR: RenderedGroup(10, 8)}) is None


def test_a_kind_of_one_season_whose_method_borrows_from_the_other() -> None:
    """Drone comb, half of it by steam, was rendered in the second season only: all of the change came with the comb."""
    drone = {("drone comb", "steam"): RenderedGroup(5, 1), ("drone comb", "solar"): RenderedGroup(5, 2)}
    found = split({SOLAR: RenderedGroup(10, 8)} | dict.fromkeys(drone, RenderedGroup(0, 0)), {SOLAR: RenderedGroup(10, 8)} | drone)
    assert found is not None
    assert (found.total, found.comb, found.mix) == (pytest.approx(-0.25),) * 3
    assert (found.method, found.rendering, found.rate) == pytest.approx((0, 0, 0))
    assert found.borrowed == ("drone comb",)


def test_what_was_not_logged_stands_last() -> None:
    assert in_order({None, "white comb", "brood comb"}) == ["brood comb", "white comb", None]


# Seasons at one mix -----------------------------------------------------------------------------------------------

THREE = [
    Won("2023", "cappings", "solar", 8, 6.4), Won("2023", "brood comb", "solar", 2, 0.6),
    Won("2024", "cappings", "solar", 4, 3.0), Won("2024", "cappings", "steam", 2, 1.8), Won("2024", None, "solar", 0, 0.1),
    Won("2026", "brood comb", "steam", 4, 2.0),
]  # fmt: skip
"""Cappings 14 kg of 20 in all, 80 and 80 %, 11.2 of 14; brood comb 6 kg, 30 and 50 %; an unlogged kind with no comb loaded."""


def test_three_seasons_at_the_mix_of_all_by_hand() -> None:
    found = seasons(THREE, {"2023": 0.7, "2024": 0.8, "2025": None, "2026": 0.5}, {"2022": 0.03, "2026": 0.02})
    # .7 of the mix are cappings, .3 brood comb; 2024 borrows 2.6 / 6 of brood comb, 2026 11.2 / 14 of cappings
    fixed = {"2023": 0.7 * 0.8 + 0.3 * 0.3, "2024": 0.7 * 0.8 + 0.3 * 2.6 / 6, "2026": 0.7 * 0.8 + 0.3 * 0.5}
    assert found.rows == (
        SeasonRow("2022", None, None, (), 0.03),
        SeasonRow("2023", 0.7, pytest.approx(fixed["2023"]), (), None),
        SeasonRow("2024", 0.8, pytest.approx(fixed["2024"]), ("brood comb",), None),
        SeasonRow("2025", None, None, (), None),
        SeasonRow("2026", 0.5, pytest.approx(fixed["2026"]), ("cappings",), 0.02),
    )
    assert found.slope is not None
    assert found.slope.per_season == pytest.approx(np.median([0.3 * (2.6 / 6 - 0.3), 0.3 * (0.5 - 2.6 / 6) / 2, 0.3 * 0.2 / 3]))
    assert found.least_squares is not None
    assert [(c.before, c.after) for c in found.changes] == [("2023", "2024"), ("2024", "2026")]
    assert found.whole is not None
    assert (found.whole.before, found.whole.after, found.whole.total) == ("2023", "2026", pytest.approx(-0.2))


def test_two_seasons_have_one_change_and_no_change_of_the_whole() -> None:
    found = seasons(THREE[:4], {}, {})
    assert [c.after for c in found.changes] == ["2024"]
    assert found.whole is None
    assert not found.changes[0].claimed


SCATTERED = [
    Won("2024", "a", "m", 6, 3.0), Won("2024", "a", "m", 2, 1.2), Won("2025", "a", "m", 3, 1.8),
    Won("2024", "b", "m", 4, 1.2), Won("2024", "b", "m", 4, 1.36), Won("2025", "b", "m", 5, 1.5), Won("2025", "b", "m", 0, 0.5),
]  # fmt: skip
"""Yields .5 and .6, and .30 and .34: squares .005 and .0008 on two degrees of freedom; a lot without comb scatters nothing."""


def test_how_far_a_change_scatters_by_hand() -> None:
    (change,) = seasons(SCATTERED, {}, {}).changes
    # kind a: (6 + 2)^2 / (36 + 4) = 1.6 sessions and 1, share (.5 + .375) / 2; kind b: 2 and 1, (.5 + .625) / 2
    total = 0.4375**2 * (1 / 1.6 + 1) + 0.5625**2 * (1 / 2 + 1)
    assert change.df == 2
    assert change.rate_u == pytest.approx(sqrt(0.0058 / 2 * total))
    assert change.inside_scatter is True


def test_sessions_told_as_sums_scatter_as_they_do_one_by_one() -> None:
    summed = [Won("2024", "a", "m", 8, 4.2, 2, 40, 1.1, 0.61), Won("2024", "b", "m", 8, 2.56, 2, 32, 0.64, 0.2056), SCATTERED[2], *SCATTERED[5:]]
    (one,), (other,) = (seasons(w, {}, {}).changes for w in (SCATTERED, summed))
    assert (one.rate_u, one.df) == (pytest.approx(other.rate_u), other.df)


def test_one_session_twice_cannot_tell_what_scatters() -> None:
    (change,) = seasons([w for w in SCATTERED if w.comb == "a"], {}, {}).changes  # one degree of freedom
    assert (change.rate_u, change.inside_scatter, change.df) == (None, None, 1)


def test_a_kind_of_one_season_adds_no_scatter_to_the_rate() -> None:
    (change,) = seasons([*SCATTERED, Won("2025", "c", "m", 8, 4)], {}, {}).changes
    total = ((0.5 + 3 / 16) / 2) ** 2 * (1 / 1.6 + 1) + ((0.5 + 5 / 16) / 2) ** 2 * (1 / 2 + 1)
    assert change.rate_u == pytest.approx(sqrt(0.0029 * total))


@pytest.mark.parametrize(("kinds", "claimed"), [({"season"}, [False, True]), ({"slope"}, [False, False]), (set(), [False, False])])
def test_a_claim_on_the_season_is_one_on_the_last_change(kinds: set[str], claimed: list[bool]) -> None:
    found = seasons(THREE, {}, {}).claiming(frozenset(kinds))
    assert ([c.claimed for c in found.changes], found.claims) == (claimed, kinds)
    assert [c.after for c in found.changes] == ["2024", "2026"]


# The last season against those before ------------------------------------------------------------------------------


def sums(kind: str, season: str, *shares: float) -> Sums:
    odds = [log(y / (1 - y)) for y in shares]
    return Sums(kind, season, len(shares), sum(odds), sum(z * z for z in odds), sum(shares))


TWO_KINDS = [sums("a", "2022", 0.5, 0.55), sums("a", "2023", 0.6), sums("a", "2024", 0.6, 0.7), sums("b", "2023", 0.2, 0.25), sums("b", "2024", 0.3)]


def test_the_last_season_by_hand() -> None:
    """Kind a: .65 over .55, weight 2 x 3 / 5; kind b: .30 over .225, weight 1 x 2 / 3; per log odds y (1 - y) at .59 and .25."""
    found = shift([*TWO_KINDS, sums("c", "2024", 0.5), Sums("a", "2025", 0, 0, 0, 0)])
    assert found is not None
    share = (1.2 * 0.1 + 2 / 3 * 0.075) / (1.2 + 2 / 3)
    per_odds = (1.2 * 0.59 * 0.41 + 2 / 3 * 0.25 * 0.75) / (1.2 + 2 / 3)
    groups = [np.log(np.array(g) / (1 - np.array(g))) for g in ((0.5, 0.55, 0.6), (0.6, 0.7), (0.2, 0.25), (0.3,))]
    u = sqrt(sum(((g - g.mean()) ** 2).sum() for g in groups) / 4 / (1.2 + 2 / 3))  # 2 + 1 + 1 + 0 degrees of freedom
    reach = stats.t.ppf(0.975, 4) * u * per_odds
    assert (found.season, found.df) == ("2024", 4)
    assert (found.share, found.low, found.high) == pytest.approx((share, share - reach, share + reach))
    odds = (1.2 * (groups[1].mean() - groups[0].mean()) + 2 / 3 * (groups[3].mean() - groups[2].mean())) / (1.2 + 2 / 3)
    assert (found.t, found.p) == pytest.approx((odds / u, 2 * stats.t.sf(odds / u, 4)))


def test_a_worse_last_season_has_the_same_chance_as_a_better_one() -> None:
    better, worse = (shift([sums("a", "2023", *one), sums("a", "2024", *other)]) for one, other in (((0.4, 0.5), (0.6, 0.7)), ((0.6, 0.7), (0.4, 0.5))))
    assert better is not None
    assert worse is not None
    assert (worse.t, worse.share, worse.p) == pytest.approx((-better.t, -better.share, better.p))


# What may be said -------------------------------------------------------------------------------------------------


def chart(state: str, *ps: float | None) -> Chart:
    day = date(2025, 1, 1)
    signals = tuple(Signal(f"S{i}", 1, day, 0.1, 1 if p is not None else 2, "signal", p) for i, p in enumerate(ps))
    return Chart("refining", "oven", None, None, 20, (), Limits(20, 0.03, 0.01, state), signals)


@pytest.mark.parametrize(
    ("drawn", "p", "told"),
    [
        (chart("set", 0.06, None, 0.001, 0.05), 0.001, ["S2", "S3"]),  # the likeliest to be real first; over 5 % none
        (chart("provisional", 0.2), 0.2, []),
        (chart("set", None), 1.0, []),  # runs alone are looked at, not claimed
        (chart("set"), 1.0, []),
    ],
)
def test_one_claim_for_each_kind_of_pass_with_limits(drawn: Chart, p: float, told: list[str]) -> None:
    (claim,) = trend_claims.outlying([chart("none", 0.001), drawn])
    assert (claim.kind, claim.p) == ("limit", p)
    assert isinstance(claim.facts, trend_claims.Outlying)
    assert claim.facts.chart is drawn
    assert [s.session for s in claim.facts.passes] == told


def test_a_family_is_held_to_its_level_and_told_in_the_order_it_came() -> None:
    """Holm with weights 1, 1, 4 of 6 at 6 %: the season may reach .04, then each of the rest half of what is left."""
    def claims(*ps: tuple[str, float]) -> list[str]:
        return [c.kind for c in trend_claims.held([trend_claims.Claim(k, p, FittedLine(0, None, None, p)) for k, p in ps], 0.06)]

    assert claims(("slope", 0.029), ("season", 0.039), ("leak", 0.9)) == ["slope", "season"]
    assert claims(("slope", 0.031), ("season", 0.039), ("leak", 0.9)) == ["season"]
    assert claims(("slope", 0.0099), ("season", 0.9), ("leak", 0.9)) == ["slope"]
    assert claims(("slope", 0.0101), ("season", 0.9), ("leak", 0.9)) == []


# Filters that keep wax --------------------------------------------------------------------------------------------


def passes(sieve: str | None, *shares: float, method: str = "oven") -> Losses:
    return Losses(sieve, method, np.array(shares))


def test_five_passes_a_side_and_a_fifth_of_a_hundredth_are_enough_to_ask() -> None:
    felt, none = passes("felt", 0.010, 0.011, 0.012, 0.013, 0.014), passes(None, 0.010, 0.010, 0.010, 0.010, 0.010)
    bare, leak = leaks([none, felt])
    assert (bare.filter, bare.p) == (None, 1.0)
    # scipy.stats.mannwhitneyu, asymptotic, one-sided, ties and continuity corrected
    want = stats.mannwhitneyu(felt.shares, none.shares, alternative="greater", method="asymptotic").pvalue
    assert (leak.filter, leak.method, leak.passes, leak.others) == ("felt", "oven", 5, 5)
    assert (leak.share, leak.share_of_others, leak.p) == pytest.approx((0.012, 0.010, want))
    assert leaks([none, passes("felt", *felt.shares[:4])]) == []
    nearly = leaks([none, passes("felt", *[0.0119] * 5)])
    assert [k.p for k in nearly] == [1.0, 1.0]


def test_a_filter_is_one_of_its_method() -> None:
    found = leaks([passes("felt", *[0.03] * 5), passes("felt", *[0.01] * 6, method="steam")])
    assert [(k.method, k.filter, k.passes, k.others) for k in found] == [("oven", "felt", 5, 6), ("steam", "felt", 6, 5)]


def test_ranks_that_are_all_equal_say_nothing() -> None:
    assert rank_sum_above(np.full(5, 0.02), np.full(6, 0.02)) == 1.0
