"""Wax to come, every step of it by hand: the draws are dealt here, so that what is made of them can be reckoned on paper."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta
from math import exp, log, sqrt
from typing import Any

import numpy as np
import pytest
from scipy import stats
from scipy.special import expit, logit

from pipeline.analyses import pending_wax, waiting_lot_methods, yield_model
from pipeline.analyses.forecast_doubts import Doubt
from pipeline.analyses.frame_weights import Counted, Each, FrameWeights
from pipeline.analyses.pending_wax import DRAWS, Past, Pending, WaitingLot, expected
from pipeline.analyses.refining_loss_model import Refining
from pipeline.analyses.yield_model import Lessons, Posterior, RenderedLot, YieldModel, fit, posterior, usable
from pipeline.analyses.yield_priors import Prior, Priors

DAY = date(2025, 6, 1)


class Dealt:
    """A generator whose normal and uniform values are dealt in turn; chi squared is a quarter of its df, the rest its mean."""

    def __init__(self, normal: Sequence[float] = (), uniform: Sequence[Any] = ()) -> None:
        self.normal, self.uniform = iter(normal), iter(uniform)

    def chisquare(self, df: float, count: int) -> Any:
        return np.full(count, df / 4)  # a noise of twice its usual size

    def standard_normal(self, shape: Any) -> Any:
        return np.full(shape, next(self.normal))

    def random(self, shape: Any) -> Any:
        return np.broadcast_to(next(self.uniform), shape)

    def beta(self, a: float, b: float, count: int) -> Any:
        return np.full(count, a / (a + b))

    def dirichlet(self, counts: Sequence[float], count: int) -> Any:
        return np.tile(np.array(counts) / sum(counts), (count, 1))


# Frames -----------------------------------------------------------------------------------------------------------

FRAMES = FrameWeights.of([("brood comb", 10, 1000.0), ("brood comb", 30, 3600.0)], [("cappings", 25, 100), ("brood comb", 90, 160), ("drone comb", 90, 160)])


def test_grams_a_frame_and_their_scatter() -> None:
    """4,600 g of 40 frames; 100 and 120 g a frame beside a scatter of 20 % worth two harvests."""
    assert FRAMES.each == {
        "cappings": Each(pytest.approx(50.0), 0, pytest.approx(log(4) / 2.563)),
        "brood comb": Each(115.0, 2, 0.0),
        "drone comb": Each(pytest.approx(120.0), 0, pytest.approx(log(16 / 9) / 2.563)),
    }
    assert (FRAMES.df, FRAMES.scatter_sd) == (3, pytest.approx(sqrt((2 * 0.2**2 + log(1.2) ** 2 / 2) / 3)))


def test_a_kind_nobody_knows_takes_the_widest_judged_range_and_never_a_kind_that_was_weighed() -> None:
    assert FRAMES.grams("wasp comb") is FRAMES.each["cappings"]
    narrow = FrameWeights.of([("brood comb", 10, 1000.0)], [("cappings", 100, 101)])
    assert narrow.grams("wasp comb") is narrow.each["cappings"]


def test_the_range_of_a_frame() -> None:
    assert FRAMES.upto("cappings") == pytest.approx((25, 100))
    assert FRAMES.upto("brood comb") == (115, 115)  # its own weights: the scatter of harvests is left out


def test_a_kinds_level_is_shared_by_its_lots_and_every_lot_has_its_scatter() -> None:
    s = 2 * FRAMES.scatter_sd
    drawn = FRAMES.draws(["brood comb", "cappings", "brood comb"], Dealt([0.8, -0.5, 0.3, -0.2, 0.1]), 2)  # type: ignore[arg-type]
    level, judged = log(115) + 0.8 * s / sqrt(2), log(50) - 0.5 * log(4) / 2.563
    assert drawn == pytest.approx(np.array([[exp(level + 0.3 * s), exp(judged - 0.2 * s), exp(level + 0.1 * s)]] * 2))
    assert FRAMES.draws([], Dealt(), 2).shape == (2, 0)  # type: ignore[arg-type]


# Refining ---------------------------------------------------------------------------------------------------------


def test_a_loss_that_no_scale_sees_and_one_that_is_no_refining_are_brought_to_the_ends() -> None:
    found, want = Refining.of([(1000, 1000), (1000, 100), (0, 0)]), Refining.of([(1000, 998), (1000, 500)])
    assert (found.own, found.fitted.mean[0], found.fitted.scale) == (2, pytest.approx(want.fitted.mean[0]), pytest.approx(want.fitted.scale))
    assert found.fitted.df == 4  # two sessions beside a judgement worth two


def test_what_is_refined_on_one_day_shares_its_loss() -> None:
    refining = Refining.of([(1000, 970), (2000, 1920)])
    days = [DAY + timedelta(1), DAY, DAY + timedelta(1)]
    drawn = refining.yields(days, Dealt([0.8, 0.5, -0.3]), 2)  # type: ignore[arg-type]
    s = 2 * refining.fitted.scale
    level = refining.centre + refining.fitted.mean[0] + 0.8 * s * sqrt(refining.fitted.cov[0, 0])
    late, early = 1 - exp(level - 0.3 * s), 1 - exp(level + 0.5 * s)
    assert drawn == pytest.approx(np.array([[late, early, late]] * 2))
    assert (refining.yields(days, Dealt([900.0, 900.0, 900.0]), 2) == 0.5).all()  # type: ignore[arg-type]  # never more than half is lost
    assert refining.yields([], Dealt([1.0]), 2).shape == (2, 0)  # type: ignore[arg-type]


# Judged ranges and methods ----------------------------------------------------------------------------------------

PRIORS = Priors.of(
    [Prior("cappings", "steam", 0.65, 0.90), Prior("cappings", None, 0.75, 0.92), Prior("brood comb", "steam", 0.2, 0.45), Prior("brood comb", "solar", 0.07, 0.2)]
)


@pytest.mark.parametrize(
    ("comb", "method", "ends"),
    [
        ("cappings", "steam", (0.65, 0.90)),
        ("cappings", "oven", (0.75, 0.92)),  # no range of its own: that of any method
        ("cappings", None, (0.75, 0.92)),
        ("brood comb", "solar", (0.07, 0.2)),
        ("brood comb", "oven", (0.07, 0.2, 0.2, 0.45)),  # none for any method: the mean of all
        ("wasp comb", "oven", (0.65, 0.90)),  # nothing known: the widest range there is, 1.58 wide in log odds; the others 1.34, 1.20, 1.19
    ],
)
def test_where_a_range_is_missing_the_next_wider_one_answers(comb: str, method: str | None, ends: tuple[float, ...]) -> None:
    assert PRIORS.centre(comb, method) == pytest.approx(np.mean(logit(ends)))


def test_what_the_ranges_know_of_a_kind() -> None:
    assert PRIORS.sd("brood comb") == pytest.approx((logit(0.2) - logit(0.07)) / 2.563)  # the wider of its two
    assert PRIORS.sd("cappings") == PRIORS.sd("wasp comb") == pytest.approx((logit(0.90) - logit(0.65)) / 2.563)
    assert (PRIORS.methods("brood comb"), PRIORS.methods("cappings")) == (("solar", "steam"), (None, "steam"))
    assert (PRIORS.known("cappings"), PRIORS.known("wasp comb")) == (True, False)


def lot(n: int, share: float = 0.8, comb: str = "cappings", method: str | None = "steam", loaded_g: float = 8000, season: str | None = None, later: bool = False) -> RenderedLot:
    return RenderedLot(f"S{n:03}", DAY - timedelta(500 - n), comb, method, loaded_g, loaded_g * share, season, later)


def test_lots_are_melted_and_refined_as_lately() -> None:
    # counts 3 and 1 with a half added: shares .7 and .3
    uniform = np.array([0.69, 0.71])[None, :, None]
    assert waiting_lot_methods.drawn((("steam", 3), ("solar", 1)), 2, Dealt(uniform=[uniform]), 2).tolist() == [[0, 1]] * 2  # type: ignore[arg-type]
    # three of four went to a session of their own: (3 + 1/2) / (4 + 1)
    done = [lot(i, later=i > 0) for i in range(4)] + [lot(9, comb="brood comb")]
    found = waiting_lot_methods.refined_later(done, "cappings", 2, Dealt(uniform=[np.array([[0.69, 0.71]])]), 2)  # type: ignore[arg-type]
    assert found.tolist() == [[True, False]] * 2
    assert waiting_lot_methods.refined_later(done, "brood comb", 2, Dealt(), 2).tolist() == [[False, False]] * 2  # type: ignore[arg-type]
    ten_ago = [lot(0, later=True)] + [lot(i) for i in range(1, 11)]
    assert not waiting_lot_methods.refined_later(ten_ago, "cappings", 1, Dealt(), 2).any()  # type: ignore[arg-type]


# The yield model --------------------------------------------------------------------------------------------------

BY_HAND = YieldModel(PRIORS, (("offset", None), ("comb", "cappings")), Posterior(np.array([0.1, 0.2]), np.diag([0.04, 0.09]), 4, 0.5), np.zeros(0), 0, 9)
SORT = ("cappings", None, None)
CENTRE = (logit(0.75) + logit(0.92)) / 2 + 0.3
SPREAD = 0.5 * sqrt(1 + 0.04 + 0.09)


@pytest.mark.parametrize(
    ("lost", "sessions", "chance"),
    [(0, 9, 0), (1, 100, 1.5 / 101), (1, 11, 1.5 / 12), (6, 10, 6.5 / 11)],  # methods 5: (k + 1/2) / (n + 1)
)
def test_the_interval_is_students_with_whole_losses_mixed_in(lost: int, sessions: int, chance: float) -> None:
    told = replace(BY_HAND, lost=lost, sessions=sessions).interval(SORT)
    want = [expit(CENTRE + SPREAD * stats.t.ppf((q - chance) / (1 - chance), 4)) if q > chance else 0 for q in (0.1, 0.5, 0.9)]
    assert (told.low, told.mid, told.high) == pytest.approx(want)


def test_a_draw_has_a_level_of_its_own_shared_by_all_lots_and_noise_for_each() -> None:
    which = np.zeros((2, 3), np.int64)
    drawn = BY_HAND.draws([SORT], which, Dealt([0.8, 0.4]))  # type: ignore[arg-type]
    assert drawn == pytest.approx(np.full((2, 3), expit(CENTRE + 2 * 0.5 * (0.8 * (0.2 + 0.3) + 0.4))))
    lossy = replace(BY_HAND, lost=1, sessions=4)  # (1 + 1/2) / (4 + 1) of lots are lost whole
    kept = lossy.draws([SORT], which, Dealt([0.8, 0.4], [np.array([[0.29, 0.30, 0.31]])]))  # type: ignore[arg-type]
    assert (kept > 0).tolist() == [[False, True, True]] * 2


HALF = stats.t.ppf(0.9, 4) * 0.5
"""What the model by hand expects eight misses of ten to stay below."""


@pytest.mark.parametrize(
    ("misses", "stretch"),
    [
        ([9 * HALF] * 4, 1),  # four misses say nothing
        ([0, 0, 0, 0, 1.5 * HALF], 1.5),  # the fifth of five: ceil(.8 x 6)
        ([0, 0, 0, 0, 0, 0, 0, 9, 0], 1),  # the eighth of nine: ceil(.8 x 10)
        ([0, 1.5 * HALF, 9, 0, 0, 0, 0, 1.4 * HALF, 0], 1.5),
        ([1.31 * HALF] * 9, 1.31),
        ([1.29 * HALF] * 9, 1),
    ],
)
def test_the_guard_goes_by_the_miss_that_eight_of_ten_stay_below(misses: list[float], stretch: float) -> None:
    model = replace(BY_HAND, misses=np.array(misses))
    assert model.stretch == pytest.approx(stretch)
    told = model.interval(SORT)
    assert logit(told.high) == pytest.approx(CENTRE + stretch * SPREAD * stats.t.ppf(0.9, 4))
    drawn = model.draws([SORT], np.zeros((1, 1), np.int64), Dealt([0.8, 0.4]))  # type: ignore[arg-type]
    assert logit(drawn[0, 0]) == pytest.approx(CENTRE + stretch * 0.8)


def test_a_miss_of_nothing_narrows_the_noise_to_the_judgement_alone() -> None:
    after = posterior(np.ones((1, 1)), np.zeros(1), np.ones(1), 1, 0.1)  # 1 x .01 over two degrees of freedom
    assert (after.scale, after.df, after.cov[0, 0]) == (pytest.approx(sqrt(0.005)), 2, 0.5)


def test_which_sessions_teach_and_in_what_order() -> None:
    big, small, late = lot(3, loaded_g=500), lot(2, loaded_g=499.9), replace(lot(1), date=DAY)
    first, second = replace(lot(8), date=DAY - timedelta(1)), replace(lot(7), date=DAY - timedelta(1))
    assert usable([late, first, second, small, big]) == [big, second, first, late]


def test_a_forecast_looks_back_on_four_hundred_sessions() -> None:
    seen = [lot(i, 0.1 if i == 0 else 0.8) for i in range(401)]
    found, want = fit(seen, PRIORS), fit(seen[1:], PRIORS)
    assert found.sessions == 400
    assert found.fitted.mean.tolist() == want.fitted.mean.tolist()


def test_a_yield_of_nought_or_one_is_taken_for_half_a_hundredth_from_it_and_a_loss_teaches_no_odds() -> None:
    lessons = Lessons.of([lot(0, 1.0, method="oven"), lot(1, 0.001, method="oven"), lot(2, 0.0, method="oven")], PRIORS)
    centre = (logit(0.75) + logit(0.92)) / 2
    assert lessons.z == pytest.approx([logit(0.995) - centre, logit(0.005) - centre, np.nan], nan_ok=True)
    model = lessons.model(slice(None))
    assert (model.lost, model.sessions, model.fitted.df) == (1, 3, 4)


SEASONS = {str(year) for year in range(2019, 2025)}


def test_what_may_differ_between_sessions() -> None:
    pairs = [("cappings", "steam", "2024"), ("brood comb", None, None), ("cappings", "oven", "2023")]
    named = [("offset", None), ("comb", "brood comb"), ("comb", "cappings"), ("method", None), ("method", "oven"), ("method", "steam")]
    ends = [("season", "2023"), ("season", "2024")]
    assert yield_model._features(pairs, SEASONS - {"2019", "2020"}) == (*named, *ends)
    assert yield_model._features(pairs, SEASONS - {"2019"}) == (*named, ("drift", "2022"), *ends)  # five tell a drift, from the middle one
    assert yield_model._features(pairs, SEASONS) == (*named, ("drift", "2022"), *ends)
    features = yield_model._features(pairs, SEASONS)
    assert yield_model._row(("cappings", "oven", "2024"), features).tolist() == [1, 0, 1, 0, 1, 0, 2, 0, 1]
    assert yield_model._row(("brood comb", None, "2019"), features).tolist() == [1, 1, 0, 1, 0, 0, -3, 0, 0]
    assert yield_model._row(("brood comb", None, None), features).tolist() == [1, 1, 0, 1, 0, 0, 0, 0, 0]
    sds = [0.30, PRIORS.sd("brood comb"), PRIORS.sd("cappings"), 0.30, 0.30, 0.30, 0.15, 0.20, 0.20]
    assert yield_model._prior_sd(features, PRIORS) == pytest.approx(sds)


@pytest.mark.parametrize(("seasons", "own"), [(4, False), (5, True)])
def test_the_scatter_of_seasons_is_the_books_own_from_five_that_it_has_seen(seasons: int, own: bool) -> None:
    seen = [lot(10 * i + j, 0.5 + 0.05 * i, season=str(2018 + i)) for i in range(seasons) for j in range(2)]
    lessons = Lessons.of(seen, PRIORS)
    features, rows, precision = lessons._design(lessons.sorts, (("cappings", "steam", "2030"),))  # asked for, not seen
    found = yield_model._seasons_weighed(rows[lessons.sort], lessons.z, precision, features)
    assert (found.tolist() != precision.tolist()) is own


# Lots that wait ---------------------------------------------------------------------------------------------------


def waiting(lots: list[WaitingLot], sessions: Sequence[RenderedLot] = (), refined: Sequence[tuple[float, float]] = ()) -> Pending:
    return expected(lots, Past(sessions, PRIORS, FRAMES, Refining.of(refined)), DAY)


def test_lots_stand_by_name_and_none_that_is_empty() -> None:
    told = waiting([WaitingLot("H2", "cappings", 1000, DAY - timedelta(9)), WaitingLot("H1", None, 500), WaitingLot("H0", "cappings", 0.0), WaitingLot("H3", "cappings", 0.5, DAY + timedelta(9))])
    assert [f.lot.source for f in told.lots] == ["H1", "H2", "H3"]
    assert [f.ready for f in told.lots] == [DAY, DAY, DAY + timedelta(9)]  # a day that has passed is today
    assert told.draws_g.shape == (DRAWS, 3)
    assert told.total_g() == pytest.approx(told.draws_g[:, 0] + told.draws_g[:, 1] + told.draws_g[:, 2])
    for i, f in enumerate(told.lots):
        assert [f.low_g, f.mid_g, f.high_g] == np.sort(told.draws_g[:, i])[[999, 4999, 8999]].tolist()  # a value that was drawn
    assert told.total().mid == np.sort(told.total_g())[4999]


def test_a_session_of_today_is_known_and_one_of_tomorrow_is_not() -> None:
    lots = [WaitingLot("H1", "cappings", 1000, DAY)]
    today, tomorrow = (replace(lot(0, 0.3), date=DAY + timedelta(days)) for days in (0, 1))
    assert waiting(lots, [today]).lots[0].mid_g < 0.95 * waiting(lots).lots[0].mid_g
    assert waiting(lots, [tomorrow]).lots[0] == waiting(lots).lots[0]


def test_wax_refined_later_loses_twice() -> None:
    lots, losing = [WaitingLot("H1", "cappings", 1000, DAY)], [(1000.0, 800.0)] * 40
    plain, later = (waiting(lots, [lot(i, later=refined) for i in range(40)], losing).lots[0].mid_g for refined in (False, True))
    assert later / plain == pytest.approx(0.8, abs=0.01)


def test_a_session_is_refined_in_itself_where_nothing_else_is_said() -> None:
    lots = [WaitingLot("H1", "cappings", 1000, DAY)]
    plain, said = ([RenderedLot(f"S{i}", DAY, "cappings", "steam", 8000, 6400, None, *later) for i in range(3)] for later in ((), (False,)))
    assert waiting(lots, plain).draws_g.tolist() == waiting(lots, said).draws_g.tolist()


def test_what_seasons_may_scatter_is_tried_in_order_from_a_quarter_to_four_times_the_judgement() -> None:
    tried = yield_model.SEASON_SDS
    assert (np.diff(tried) > 0).all()
    assert (tried[0], tried[-1]) == pytest.approx((yield_model.SEASON_SD / 4, yield_model.SEASON_SD * 4))


OWN_REFINING = [(1000.0, 970.0)]
STEAMED = [lot(1), lot(2)]
BOTH_WAYS = [*STEAMED, lot(3, method="solar")]
A_LOT = WaitingLot("H1", "cappings", 1000, DAY)


@pytest.mark.parametrize(
    ("lots", "sessions", "refined", "doubts"),
    [
        ([], [], [], [Doubt("nothing waits")]),
        ([A_LOT], STEAMED, [], []),
        ([replace(A_LOT, method="oven")], [], [], [Doubt("judged ranges")]),
        ([replace(A_LOT, comb="wasp comb", method="oven")], STEAMED, [], [Doubt("unknown comb", {"comb": "wasp comb"})]),
        ([A_LOT], BOTH_WAYS, [], [Doubt("open ways", {"comb": "cappings", "ways": (("steam", 2), ("solar", 1))})]),
        ([replace(A_LOT, method="oven"), replace(A_LOT, source="H2", comb="brood comb", method="oven")], BOTH_WAYS, [], []),
        ([replace(A_LOT, ready=None), replace(A_LOT, source="H0", ready=None)], STEAMED, [], [Doubt("no ready date", {"sources": ("H0", "H1"), "on": DAY})]),
        ([replace(A_LOT, comb=None, ready=None)], [], [], [Doubt("judged refining")]),
        ([replace(A_LOT, comb=None)], [], OWN_REFINING, []),
        ([A_LOT], [*STEAMED, lot(3, 0.0)], [], [Doubt("lost all", {"lost": 1, "sessions": 3})]),
        ([replace(A_LOT, comb="brood comb", counted=Counted(5), method="solar", mass_g=0)], STEAMED, [], [Doubt("own frames", {"comb": "brood comb", "each_g": 115.0, "harvests": 2})]),
        ([replace(A_LOT, counted=Counted(5))], STEAMED, [], [Doubt("judged frames", {"comb": "cappings", "low_g": pytest.approx(25), "high_g": pytest.approx(100)})]),
    ],
)  # fmt: skip
def test_what_must_be_said_of_what_waits(lots: list[WaitingLot], sessions: list[RenderedLot], refined: list[tuple[float, float]], doubts: list[Doubt]) -> None:
    assert list(waiting(lots, sessions, refined).notes) == doubts


def test_very_many_lots_of_one_kind_day_and_method_are_drawn_as_one(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(pending_wax, "MANY", 3)  # 300 in earnest
    lots = [replace(A_LOT, source=f"H{i}", mass_g=10.0 + i, method="steam") for i in range(3)]
    assert len(waiting(lots, STEAMED).lots) == 3
    counted = [replace(lots[0], source=s, mass_g=0.0, counted=c) for s, c in (("X", Counted(4, 30.0)), ("Y", Counted(6, 70.0)))]
    apart = [replace(lots[0], source="Z1", method=None), replace(lots[0], source="Z2", ready=DAY + timedelta(1)), replace(lots[0], source="Z3", comb=None)]
    told = [(f.lot.source, f.lot.mass_g, f.lot.counted) for f in waiting([*lots, *counted, *apart], STEAMED).lots]
    assert told[:2] == [("3 lots from H0", 33.0, None), ("2 lots from X", 0.0, Counted(10, 100.0))]
    assert [source for source, _, _ in told[2:]] == ["Z1", "Z2", "Z3"]  # what stands alone keeps its name


def test_a_lot_counted_in_frames_weighs_them_less_what_was_loaded() -> None:
    sure = FrameWeights.of([("cappings", 10, 1000.0)] * 2000, [])  # 100 g a frame, and hardly any doubt of it
    lots = [WaitingLot("A", "cappings", 0.0, DAY, None, "steam", Counted(10, loaded)) for loaded in (0.0, 600.0, 2000.0)]
    whole, rest, none = (expected([one], Past([lot(i) for i in range(40)], PRIORS, sure, Refining.of([])), DAY).lots[0].mid_g for one in lots)
    assert (whole, rest, none) == (pytest.approx(800, rel=0.03), pytest.approx(320, rel=0.03), 0)
