"""What usually goes missing, and how large weights usually are: figures by hand from the judgements that the modules state."""

from __future__ import annotations

from math import log

import numpy as np
import pytest
from scipy import stats

from pipeline.analyses.step_balance import Slack
from pipeline.analyses.usual_losses import UsualLoss, anything
from pipeline.analyses.usual_weights import UsualSizes
from tests.analyses.balances import melted, step, weight


def three_grams(log: str, mass_g: float) -> float:
    return 3.0


def slack_of(b, beside=(), expected=anything) -> Slack | None:
    return UsualLoss([*beside, b], three_grams, expected).slack(b)


def widened(n: int) -> float:
    """The predictive t's 99 % point over a normal's (statistical tables: n = 6 gives 4.032 / 2.576 x 1.080 = 1.691)."""
    return float(stats.t.ppf(0.995, n - 1) / stats.norm.ppf(0.995) * (1 + 1 / n) ** 0.5)


@pytest.mark.parametrize(
    ("kind", "stage", "comb", "mean", "sd"),
    [
        # a yield of which nothing is known lies between 5 and 92 %: a loss of .515, 10-90 % is 2.563 sd, sessions scatter by .05
        ("yield", "first", None, 0.515, ((0.87 / 2.563) ** 2 + 0.05**2) ** 0.5),
        ("yield", "refining", None, 0.035, (0.0195**2 + 0.012**2) ** 0.5),  # 1-6 %
        ("melt", "refining", None, 0.35, (0.2**2 + 0.2**2) ** 0.5),
        ("melt", "first", "cappings", 0.25, (0.25**2 + 0.15**2) ** 0.5),
        ("melt", "first", "heather comb", 0.5, (0.45**2 + 0.2**2) ** 0.5),  # it may be all honey
        ("melt", "first", None, 0.5, (0.45**2 + 0.2**2) ** 0.5),
        *(("melt", "first", dry, 0.12, (0.12**2 + 0.12**2) ** 0.5)
          for dry in ("white comb", "brood comb", "drone comb", "burr comb", "scrapings")),
    ],
)  # fmt: skip
def test_before_a_book_shows_its_own_the_trade_judges_a_melt(kind: str, stage: str, comb: str | None, mean: float, sd: float) -> None:
    found = slack_of(melted(kind, stage, "oven", comb, 0.2))
    assert found is not None
    assert (found.n, found.judged, found.rest) == (0, True, 0.0)
    assert (found.mean, found.sd) == pytest.approx((mean, sd))


def test_the_trades_yield_is_that_of_the_comb_and_the_method() -> None:
    def steamed(comb, method):
        return {("brood comb", "steam"): (0.2, 0.5)}[comb, method]

    found = slack_of(melted("yield", "first", "steam", "brood comb", 0.6), expected=steamed)
    assert found is not None
    assert (found.mean, found.sd) == pytest.approx((0.65, ((0.3 / 2.563) ** 2 + 0.05**2) ** 0.5))


def test_a_few_steps_of_its_own_draw_the_trades_figure_towards_them() -> None:
    """Losses of 5 and 3 % beside the step itself: precision 1/.0195² = 2630 at .035 and 2/.012² = 13889 at .04 make .0392 ± .0143."""
    found = slack_of(melted("yield", "refining", "oven", None, 0.01), [melted("yield", "refining", "oven", None, x) for x in (0.05, 0.03)])
    assert found is not None
    assert (found.n, found.judged) == (2, True)
    assert (found.mean, found.sd) == pytest.approx((0.039204, 0.014302), abs=1e-6)


@pytest.mark.parametrize(("lost", "n"), [(0.0920, 1), (0.0923, 0), (-0.0220, 1), (-0.0223, 0)])
def test_a_step_beyond_two_and_a_half_sd_of_the_trade_is_not_believed(lost: float, n: int) -> None:
    """.035 ± 2.5 x sqrt(.0195² + .012²) = .035 ± .05724."""
    found = slack_of(melted("yield", "refining", "oven", None, 0.03), [melted("yield", "refining", "oven", None, lost)])
    assert found is not None
    assert (found.n, found.judged) == (n, True)


SIX = (0.02, 0.03, 0.04, 0.02, 0.03, 0.04)  # mean .03, sd² 8e-5


@pytest.mark.parametrize(("beside", "n", "mean", "sd"), [
    # two steps' worth of the trade's .012 beside six of the book's: sqrt((2 x .012² + 6 x 8e-5) / 8) = .009798, widened for six
    (SIX[:5], 6, 0.03, 0.009798 * 1.69080),
    (SIX[:4], 4, None, None),  # five in all are too few: the trade judges by the four others
])  # fmt: skip
def test_six_steps_alike_are_the_books_own_history(beside, n: int, mean: float | None, sd: float | None) -> None:
    found = slack_of(melted("yield", "refining", "oven", None, SIX[5]), [melted("yield", "refining", "oven", None, x) for x in beside])
    assert found is not None
    assert (found.n, found.judged) == (n, mean is None)
    if mean is not None:
        assert (found.mean, found.sd) == pytest.approx((mean, sd), rel=2e-4)
        assert widened(6) == pytest.approx(1.69080, abs=2e-4)


def test_no_history_is_surer_than_a_500th() -> None:
    """Eighty passes that lose just as much: the trade's part alone is .012 x sqrt(2/82) = .0019."""
    found = slack_of(melted("yield", "refining", "oven", None, 0.02), [melted("yield", "refining", "oven", None, 0.02)] * 79)
    assert found is not None
    assert (found.n, found.sd) == (80, pytest.approx(0.002 * widened(80)))


def firsts(kind: str, n: int, comb: str | None = "brood comb", number: int = 1, method: str = "steam", stage: str = "first", lost: float = 0.5) -> list:
    return [melted(kind, stage, method, comb, lost + (0.0, 0.02, 0.01, 0.03)[i % 4], number) for i in range(n)]


@pytest.mark.parametrize(
    ("one", "beside", "n"),
    [
        ("yield", firsts("yield", 1) + firsts("yield", 4, number=3), 6),  # two of the very kind, other passes of such comb
        ("yield", firsts("yield", 5, number=2), None),  # one of the very kind is too few for wider ones to stand in
        ("yield", firsts("yield", 1) + firsts("yield", 4, comb="cappings"), None),  # other comb yields something else
        ("melt", firsts("melt", 1) + firsts("melt", 4, comb="cappings"), 6),  # what is no wax of it is alike enough
        ("melt", firsts("melt", 1) + firsts("melt", 4, method="oven"), 6),
        ("melt", firsts("melt", 1) + firsts("melt", 3, method="oven"), None),  # five in all
        ("melt", firsts("melt", 1) + firsts("melt", 6, method="oven", lost=0.1), None),  # unlike its own two
        ("melt", firsts("melt", 5, method="oven"), None),
    ],
)  # fmt: skip
def test_wider_kinds_of_step_stand_in_where_the_book_has_few_of_one(one: str, beside, n: int | None) -> None:
    found = slack_of(firsts(one, 1, lost=0.51)[0], beside)
    assert found is not None
    assert (found.n if not found.judged else None) == n


def test_refining_by_one_method_may_be_told_by_all_refining() -> None:
    beside = firsts("yield", 6, None, 2, "oven", "refining", 0.03)
    found = slack_of(melted("yield", "refining", "double boiler", None, 0.3, 2), beside)
    assert found is not None
    # of seven, the loss of .3 is an outlier and put aside; of wider kinds the sd counts that all but the farthest have
    assert (found.n, found.judged, found.mean) == (6, False, pytest.approx(0.043333, abs=1e-6))


def test_of_wider_kinds_the_larger_scatter_counts() -> None:
    """Losses 1, 1, 2, 2, 3, 3, 40 and 50 %: by the robust middle of .025 two lie out; all but the farthest scatter by .14."""
    beside = [melted("yield", "refining", "oven", None, x, 2) for x in (0.01, 0.01, 0.02, 0.03, 0.03, 0.40, 0.50)]
    found = slack_of(melted("yield", "refining", "double boiler", None, 0.02, 2), beside)
    all_but_one = stats.tstd([0.01, 0.01, 0.02, 0.02, 0.03, 0.03, 0.40])
    assert found is not None
    assert (found.n, found.mean) == (6, pytest.approx(0.02))
    assert found.sd == pytest.approx(((2 * 0.012**2 + 6 * all_but_one**2) / 8) ** 0.5 * widened(6))


@pytest.mark.parametrize(
    ("shares", "n", "mean"),
    [
        ((0.01, 0.02, 0.03, 0.01, 0.02, 0.03, 0.079), 7, 0.199 / 7),  # .02 ± 4 x 1.4826 x .01 = ± .0593
        ((0.01, 0.02, 0.03, 0.01, 0.02, 0.03, 0.080), 6, 0.02),
        ((0.02, 0.02, 0.02, 0.02, 0.02099 - 0.0009), 5, 0.100090 / 5),  # where all are equal a ten-thousandth is still no outlier
        ((0.02, 0.02, 0.02, 0.02, 0.02011), 4, 0.02),
        ((0.02,), 1, 0.02),
        ((0.02, 0.04), 2, 0.03),
    ],
)  # fmt: skip
def test_losses_far_from_the_middle_are_put_aside(shares, n: int, mean: float) -> None:
    (group,) = UsualLoss([step("join", [1e6], [1e6 * (1 - x)]) for x in shares], three_grams).found.values()
    assert (group.n, group.mean) == (n, pytest.approx(mean))
    if n == 1:
        assert (group.sd, group.whole_sd) == (0, 0)
    if len(shares) == 2:
        assert (group.sd, group.whole_sd) == (pytest.approx(0.02 / 2**0.5), 0)


@pytest.mark.parametrize(("lost", "expected", "share"), [
    (0.03, None, (0.035**2 + 0.0195**2 + 0.012**2) ** 0.5),  # a refining pass: about 4 % is no wax
    (None, (0.0, 1e-6), 1.0),  # comb that gives next to nothing
])  # fmt: skip
def test_the_scatter_of_what_is_no_wax_is_a_share_of_what_is_no_wax(lost, expected, share: float) -> None:
    stage = "refining" if lost else "first"
    one, other = melted("melt", stage, "oven", "brood comb", 0.5, 1), melted("yield", stage, "oven", "brood comb", 0.03, 1)
    alone, beside = slack_of(one), slack_of(one, [other], lambda comb, method: expected)
    assert alone is not None
    assert beside is not None
    assert beside.sd == pytest.approx(alone.sd * share)
    elsewhere = slack_of(one, [melted("yield", stage, "oven", "brood comb", 0.03, 2)])
    assert elsewhere == alone  # the yield of another pass says nothing


def test_no_melt_is_cleaner_than_a_hundredth() -> None:
    """Eighteen passes without any loss: .012 x sqrt(2/20) x 1.156 = .0044 is less than a hundredth."""
    one = melted("melt", "refining", "oven", None, 0.0, 1)
    alone, beside = slack_of(one), slack_of(one, [melted("yield", "refining", "oven", None, 0.0)] * 18)
    assert alone is not None
    assert beside is not None
    assert beside.sd == pytest.approx(alone.sd * 0.01)


@pytest.mark.parametrize(
    ("kind", "prior"),
    [("harvest", 0.004), ("block", 0.002), ("slumgum", 0.03), ("join", 0.005), ("cast", 0.006), ("wax", 0.005), ("shelf", 0.002)],
)
def test_a_step_without_history_loses_nothing_within_its_prior_scatter(kind: str, prior: float) -> None:
    found = slack_of(step(kind, [1000], [1000]), [step(kind, [1000], [900])] * 4)
    assert found is not None
    assert (found.mean, found.sd, found.n) == (0, pytest.approx(prior), 0)


def test_six_joins_are_a_history_drawn_towards_nothing() -> None:
    """Mean .02 x 6/7; of sd² 8e-5 the scale explains 2 x 3² g² of a kilogram; one step's worth of .005 beside six."""
    losses = (0.01, 0.02, 0.03, 0.01, 0.02, 0.03)
    found = slack_of(step("join", [1000], [970]), [step("join", [1000], [1000 * (1 - x)]) for x in losses[:5]])
    assert found is not None
    assert (found.n, found.mean, found.sd) == (6, pytest.approx(0.12 / 7), pytest.approx(((0.005**2 + 6 * (8e-5 - 1.8e-5)) / 7) ** 0.5))


@pytest.mark.parametrize(("kind", "beside", "sd"), [
    ("cast", [], 0.006),
    ("cast", [1.0], 0.006),  # one other says nothing yet
    ("cast", [1.0, 1.0, 1.0], (0.006**2 / 4) ** 0.5),  # three others that lost nothing, beside the judgement's one
    ("cast", [0.9, 0.9, 0.9], 0.006),  # what scatters more is not believed of so few
    ("harvest", [0.995, 1.005], 0.004),  # 5 g over and under on 3 g scales: no finer than judged
    ("block", [0.995, 1.005], 0.002),
])  # fmt: skip
def test_a_few_steps_alike_draw_the_prior_scatter_towards_theirs(kind: str, beside: list[float], sd: float) -> None:
    found = slack_of(step(kind, [1000], [999]), [step(kind, [1000], [1000 * left]) for left in beside])
    assert found is not None
    assert (found.mean, found.n, found.sd) == (0, 0, pytest.approx(sd, rel=1e-4))


@pytest.mark.parametrize(("kind", "share"), [("join", 0.1), ("cast", 0.1), ("harvest", 1), ("block", 1)])
def test_where_wax_is_handled_some_is_lost_and_none_is_gained(kind: str, share: float) -> None:
    """Nothing comes of nothing: what casting is too heavy by, the scale alone has to explain, but for a tenth of the scatter."""
    less, more = (slack_of(step(kind, [1000], [out])) for out in (999, 1001))
    assert less is not None
    assert more is not None
    assert more.sd == pytest.approx(less.sd * share)


def test_joins_that_differ_less_than_the_scale_scatter_by_the_prior_alone() -> None:
    found = slack_of(step("join", [1000], [1000]), [step("join", [1000], [1000])] * 6)
    assert found is not None
    assert (found.n, found.mean, found.sd) == (7, 0, pytest.approx((0.005**2 / 8) ** 0.5))


@pytest.mark.parametrize(
    ("kind", "near", "not_near"),
    [("harvest", 977, 976), ("block", 982, 981), ("slumgum", 879, 878), ("wax", 974, 973)],
)
def test_an_open_store_is_nearly_out_within_four_sd(kind: str, near: float, not_near: float) -> None:
    """4 x sqrt(2 x 3² + (prior x 1000 g)²): 23.3, 18.8, 121.2 and 26.2 g."""
    assert slack_of(step(kind, [1000], [near], closed=False)) is not None
    assert slack_of(step(kind, [1000], [not_near], closed=False)) is None
    assert slack_of(step(kind, [1000], [2000 - not_near], closed=False)) is not None  # more came out than went in


@pytest.mark.parametrize(("others", "rest"), [(17, 1 / 9), (16, None)])
def test_an_open_store_is_expected_to_be_out_where_nine_in_ten_were(others: int, rest: float | None) -> None:
    """(17 + 1) / (18 + 2) = .9, the step itself counted as one that is not out; odds .1 to .9 that some is left."""
    found = slack_of(step("block", [1000], [500], closed=False), [step("block", [1000], [1000]) for _ in range(others)])
    assert (None if found is None else found.rest) == (None if rest is None else pytest.approx(rest))
    unweighed = step("block", [1000], [500, None], closed=False)
    assert slack_of(unweighed, [step("block", [1000], [1000]) for _ in range(40)]) is None


def test_what_other_harvests_lost_in_store_says_how_often_this_one_may_have() -> None:
    """(lost + .05) / (emptied + 2), this one not counted."""
    whole, lost = step("harvest", [1000], [1000]), step("harvest", [1000], [900])
    rest = [whole, lost, step("harvest", [1000], [1000]), step("harvest", [1000], [1000]), step("harvest", [1000], [100], closed=False)]
    usual = UsualLoss([*rest, one := step("harvest", [1000], [None])], three_grams)
    assert [(s.rest if (s := usual.slack(b)) else None) for b in (whole, lost, one)] == pytest.approx([1.05 / 5, 0.05 / 5, 1.05 / 6])
    blocks = [step("block", [1000], [900]), step("block", [1000], [1000])]
    assert [s.rest for b in blocks if (s := slack_of(b, blocks))] == [0, 0]  # only comb is eaten by moths


@pytest.mark.parametrize(
    ("b", "checked"),
    [
        (step("join", [0], [0]), False),  # nothing went in
        (step("join", [0], [5]), False),
        (step("harvest", [0], [5]), True),  # more came out of a store than it held: that is a slip
        (step("block", [0], [5]), True),
        (step("wax", [0], [5]), False),
        (step("harvest", [0], [0]), False),
        (step("join", [None], [5]), True),  # what went in may be told by others
        (step("join", [], [5]), False),
        (step("join", [5], []), False),
    ],
)  # fmt: skip
def test_a_step_where_nothing_went_in_cannot_be_checked(b, checked: bool) -> None:
    assert (slack_of(b) is not None) == checked


# --- how large weights usually are: a t of 4 degrees of freedom on the log of the mass


def sizes(*masses_g: float) -> UsualSizes:
    return UsualSizes.of([weight(m) for m in masses_g])


ALIKE, APART = (1000.0,) * 6, (500.0, 500.0, 1000.0, 1000.0, 2000.0, 2000.0)
SPREADS = [
    (ALIKE, (2 * 0.64 / 8) ** 0.5),  # two weights' worth of .8 beside six that are equal
    (APART, ((2 * 0.64 + 6 * (1.4826 * log(2)) ** 2) / 8) ** 0.5),  # their median deviation is a doubling
]  # fmt: skip


@pytest.mark.parametrize(("masses", "spread"), SPREADS)
def test_a_weight_is_likelier_by_the_t_of_its_log(masses, spread: float) -> None:
    typed, meant = (float(stats.t.logpdf(log(g / 1000) / spread, 4)) for g in (9000, 2000))
    assert sizes(*masses).likelier(weight(9000), np.array([2000.0, 9000.0])) == pytest.approx([meant - typed, 0])
    a_row = float(stats.t.logpdf(log(2) / spread, 4)) - log(spread * 2000)  # a density in grams
    assert sizes(*masses).density("loads", 2000, even_g=700) == pytest.approx(a_row - log(1 / 700))


def test_of_sizes_not_known_nothing_is_said() -> None:
    few, enough = sizes(*ALIKE[:5], 0.0), sizes(*ALIKE)
    meant = np.array([1000.0, 1.0])
    assert few.likelier(weight(9000), meant).tolist() == [0, 0]
    assert few.density("loads", 1000, 700) == 0
    for w in (weight(0), weight(9000, "draws"), weight(9000, column="residue")):
        assert enough.likelier(w, meant).tolist() == [0, 0]
    assert [enough.density(of, g, 700) for of, g in (("loads", 0), ("draws", 1000))] == [0, 0]
    assert enough.likelier(weight(9000), meant)[1] < 0
    assert enough.density("loads", 1.0, 700) != 0
