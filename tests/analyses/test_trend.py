"""Control limits, slopes and seasons, against published examples and by hand."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest
from scipy import stats

from pipeline.analyses import (
    control_limits,
    filters_keeping_wax,
    last_season_against_earlier,
    season_slope,
    seasons_at_fixed_mix,
    trend_claims,
)
from pipeline.analyses.seasons_at_fixed_mix import Won
from pipeline.report import section_losses
from pipeline.wording import season_and_loss_sentences
from pipeline.wording.amounts import Units
from tests.books import run, run_once, write

# NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2, the ten values; it rounds d2 to 1.128, hence the tolerance.
NIST = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]
# Mann-Kendall lecture example, College of the Holy Cross: S = 54, z = 2.9058
HOLY_CROSS = [12.9, 14.8, 13.2, 15.7, 13.8, 15.6, 12.9, 11.0, 17.3, 15.9, 19.0, 18.3, 20.1, 21.7]


def test_limits_are_those_of_the_handbook() -> None:
    found = control_limits.limits(NIST)
    assert found.centre == pytest.approx(50.81)
    assert (found.lower, found.upper) == pytest.approx((45.8159, 55.8041), abs=0.002)
    assert found.state == "provisional"


def book_of_losses(tmp_path, losses: list[float]):
    """One refining pass a week on 10 kg of bought wax, losing these shares."""
    days = [date(2025, 1, 6) + timedelta(weeks=i) for i in range(len(losses))]
    return write(
        tmp_path / "b",
        blocks="block,date,mass_kg,supplier\n" + "\n".join(f"B{i},2025-01-01,10,dealer" for i in range(len(losses))),
        loads="session,source,mass_kg\n" + "\n".join(f"S{i},B{i},10" for i in range(len(losses))),
        passes="session,pass,date,method,mass_in_g,wax_out_g\n"
        + "\n".join(f"S{i},1,{d},oven,10000,{10000 * (1 - x):.3f}" for i, (d, x) in enumerate(zip(days, losses, strict=True))),
    )


def test_the_handbook_values_as_a_book(tmp_path) -> None:
    found = run_once("trend", book_of_losses(tmp_path, [x / 100 for x in NIST]), "--json").json
    (limits,) = found["limits"]
    assert (limits["stage"], limits["method"], limits["n"], limits["state"]) == ("refining", "oven", 10, "provisional")
    assert 100 * limits["centre"] == pytest.approx(50.81)
    assert (100 * limits["lower"], 100 * limits["upper"]) == pytest.approx((45.8159, 55.8041), abs=0.002)
    assert found["signals"] == []
    assert found["seasons"][0]["loss"] == pytest.approx(0.5081)


@pytest.mark.parametrize(("n", "state"), [(0, "none"), (1, "none"), (5, "none"), (6, "provisional"), (14, "provisional"), (15, "set")])
def test_limits_settle_with_the_number_of_passes(n: int, state: str) -> None:
    found = control_limits.limits([0.02 + 0.001 * (i % 3) for i in range(n)])
    assert (found.n, found.state, found.lower is None) == (n, state, state == "none")


def test_equal_losses_give_no_limits() -> None:
    found = control_limits.limits([0.03] * 9)
    assert (found.state, found.flat, found.lower) == ("none", True, None)


def test_a_missing_pass_breaks_the_moving_range() -> None:
    whole = control_limits.limits([0.01, 0.02, 0.01, 0.09, 0.10, 0.09])
    broken = control_limits.limits([0.01, 0.02, 0.01, None, 0.09, 0.10, 0.09])
    assert broken.sigma == pytest.approx(0.01 / control_limits.D2)
    assert whole.sigma > broken.sigma


@pytest.mark.parametrize(
    ("sigmas", "rules"),
    [
        ([0, 3.1], {(1, 1)}),
        ([2.1, 0, 2.1], {(2, 2)}),
        ([1.1, 1.1, 0, 1.1, 1.1], {(4, 3)}),
        ([0.1] * 8, {(7, 4)}),
        ([0.1] * 7, set()),
        ([2.1, -2.1], set()),
        ([2.1, None, 2.1], set()),
    ],
)  # fmt: skip
def test_the_four_rules(sigmas, rules) -> None:
    chart = control_limits.Limits(20, 0.5, 0.01, "set")
    losses = [None if s is None else 0.5 + 0.01 * s for s in sigmas]
    assert set(control_limits.signals(losses, chart)) == rules


def chart(losses: list[float | None], latest: int | None = None) -> control_limits.Chart:
    """The chart of passes S0, S1 … alike, a day apart."""
    def steps(places):
        return [control_limits.ChartedPass(f"S{i}", 1, date(2025, 1, 1) + timedelta(days=i), losses[i]) for i in places]

    (found,) = control_limits.charts([control_limits.KindOfPass("refining", "oven", None, None, 0, np.array(losses, float), np.full(len(losses), 0.0005))], steps, latest)
    return found


def test_limits_start_anew_at_a_marked_change(tmp_path) -> None:
    book = book_of_losses(tmp_path, [0.02, 0.03, 0.02, 0.03, 0.02, 0.03, 0.06, 0.07, 0.06, 0.07, 0.06, 0.07])
    (book / "book.toml").write_text('name = "t"\n[changes]\n"2025-02-17" = "new press"\n', "utf-8")
    found = run_once("trend", book, "--json").json
    before, after = found["limits"]
    assert (before["centre"], after["centre"]) == pytest.approx((0.025, 0.065))
    assert (before["since"], after["since"]) == (None, "2025-02-17")
    assert found["signals"] == []


def test_all_wax_lost_is_a_signal() -> None:
    found = chart([0.02, 0.03] * 10 + [1.0])
    assert ("S20", 1, "signal") in {(s.session, s.rule, s.grade) for s in found.signals}


def test_the_latest_passes_have_the_signals_that_they_have_among_all() -> None:
    draw = np.random.default_rng(3)
    losses = [None if draw.random() < 0.05 else float(x) for x in draw.normal(0.03 + 0.01 * np.sin(np.arange(300) / 6), 0.01)]
    whole, latest = chart(losses), chart(losses, 150)
    assert latest.limits == whole.limits
    assert 5 < len(latest.signals) < len(whole.signals)
    assert latest.signals == tuple(s for s in whole.signals if s.date >= date(2025, 1, 1) + timedelta(days=150))
    assert [s.session for s in latest.points] == [f"S{i}" for i in range(200, 300)]


def test_the_page_says_which_passes_it_asked_the_rules_of(monkeypatch) -> None:
    found = chart([0.02, 0.03] * 10)

    def said() -> tuple[str, ...]:
        return section_losses._control_panel([found]).points

    assert said() == ()
    monkeypatch.setattr(section_losses, "LATEST", 19)
    assert said() == (
        "Limits come from all passes; the rules are asked of the latest 19 of each kind, by combtally trend of all.",
    )


def test_sessions_on_one_day_keep_the_order_of_the_file(tmp_path) -> None:
    # 2 4 2 4 2 4 % in the file: ranges of 2 points, so sigma = 2 / 1.128 points; by name they would stand 2 2 2 4 4 4
    names, lost = "ZAYBXC", (2, 4, 2, 4, 2, 4)
    book = write(
        tmp_path / "b",
        blocks="block,date,mass_kg,supplier\n" + "\n".join(f"B{n},2025-01-01,10,dealer" for n in names),
        loads="session,source,mass_kg\n" + "\n".join(f"{n},B{n},10" for n in names),
        passes="session,pass,date,method,wax_out_kg\n"
        + "\n".join(f"{n},1,2025-01-05,oven,{10 - x / 10}" for n, x in zip(names, lost, strict=True)),
    )
    (found,) = run_once("trend", book, "--json").json["limits"]
    assert (found["n"], found["centre"]) == (6, pytest.approx(0.03))
    assert (found["upper"] - found["centre"]) / 3 == pytest.approx(0.02 / control_limits.D2)


def of_seasons(tmp_path, yields: dict[int, float | None]):
    """A session of 100 kg of cappings in each year with this yield, nothing lost but in the melt; None: no rendering."""
    there = {y: share for y, share in yields.items() if share is not None}
    return write(
        tmp_path / "b",
        harvests="harvest,date,comb,mass_kg\n" + "\n".join(f"H{y},{y}-05-01,cappings,100" for y in yields),
        loads="session,source,mass_kg\n" + "\n".join(f"S{y},H{y},100" for y in there),
        passes="session,pass,date,method,wax_out_g\n" + "\n".join(f"S{y},1,{y}-05-02,steam,{1e5 * s:.3f}" for y, s in there.items()),
    )


def test_the_lecture_example_as_a_book(tmp_path) -> None:
    found = run_once("trend", of_seasons(tmp_path, {2010 + i: x / 100 for i, x in enumerate(HOLY_CROSS)}), "--json").json["slope"]
    assert found["s"] == 54
    assert found["z"] == pytest.approx(2.9058, abs=5e-5)
    assert found["p"] == pytest.approx(2 * 0.00183, abs=2e-5)  # two ways; published one way as .0018
    assert 100 * found["per_season"] == pytest.approx(0.5667, abs=5e-5)


@pytest.mark.parametrize(
    ("shares", "p"),
    [((0.5, 0.6, 0.7), None), ((0.5, 0.6, 0.7, 0.8), None), ((0.5, 0.6, 0.7, 0.8, 0.9), 2 * 0.0083),
     ((0.5, 0.6, 0.7, 0.9, 0.8), 2 * 0.0417), ((0.4, 0.5, 0.6, 0.7, 0.8, 0.9), 2 * 0.0014)],
)  # fmt: skip
def test_exact_p_of_a_few_seasons_as_a_book(tmp_path, shares, p) -> None:
    # twice the one-sided tails of Hollander & Wolfe table A.30 (from memory; recomputed by enumeration)
    book = of_seasons(tmp_path, {2020 + i: x for i, x in enumerate(shares)})
    assert run("trend", book, "--json").json["slope"]["p"] == (p and pytest.approx(p, abs=1e-4))
    assert ("too few seasons to test it" in " ".join(run("trend", book).out.split())) == (p is None)


def test_a_season_without_rendering_has_no_yield_and_no_change_of_its_own(tmp_path) -> None:
    book = of_seasons(tmp_path, {2021: 0.60, 2022: 0.62, 2023: None, 2024: None, 2025: 0.68})
    found = run("trend", book, "--json").json
    assert [(s["season"], s["yield"]) for s in found["seasons"]] == [
        ("2021", pytest.approx(0.60)), ("2022", pytest.approx(0.62)), ("2025", pytest.approx(0.68)),
    ]  # fmt: skip
    assert found["slope"]["per_season"] == pytest.approx(0.02)
    assert [(c["from"], c["to"], c["rate"]) for c in found["change"]] == [
        ("2021", "2022", pytest.approx(0.02)), ("2022", "2025", pytest.approx(0.06)),
    ]  # fmt: skip
    told = " ".join(run("trend", book).out.split())
    assert "6.0 points gained from 2022 to 2025: the comb was much the same, the rendering itself makes +6.0, " in told


def test_one_session_has_a_yield_a_loss_and_no_trend(tmp_path) -> None:
    book = of_seasons(tmp_path, {2025: 0.75})
    found = run("trend", book, "--json").json
    assert [(s["yield"], s["yield_fixed_mix"], s["loss"]) for s in found["seasons"]] == [(pytest.approx(0.75), pytest.approx(0.75), None)]
    (limits,) = found["limits"]
    assert (limits["n"], limits["centre"], limits["lower"], limits["state"]) == (1, pytest.approx(0.25), None, "none")
    told = run("trend", book).out
    assert "One season is no trend yet" in told
    assert "fewer than three seasons: no slope yet" in told
    assert "\n1 kind of pass, too few (or all alike) for limits" in told


def test_equal_seasons_as_a_book_have_no_trend(tmp_path) -> None:
    book = of_seasons(tmp_path, dict.fromkeys(range(2019, 2026), 0.7))
    found = run("trend", book, "--json").json
    assert (found["slope"]["per_season"], found["slope"]["s"], found["slope"]["p"]) == (0, 0, 1)
    assert {(c["total"], c["mix"], c["rate"]) for c in found["change"]} == {(0, 0, 0)}
    assert (found["limits"][0]["n"], found["limits"][0]["state"], found["signals"]) == (7, "none", [])
    assert "the yield of 2025 is about that of 2024" in " ".join(run("trend", book).out.lower().split())


def test_all_wax_lost_stays_in_as_a_season_of_nothing(tmp_path) -> None:
    book = of_seasons(tmp_path, {2023: 0.7, 2024: 0.0, 2025: 0.7})
    found = run("trend", book, "--json").json
    assert [s["yield"] for s in found["seasons"]] == pytest.approx([0.7, 0, 0.7])
    assert found["limits"][0]["centre"] == pytest.approx((0.3 + 1 + 0.3) / 3)
    assert found["slope"]["per_season"] == pytest.approx(0)  # half of the pairs rise, half fall
    assert [c["rate"] for c in found["change"]] == pytest.approx([-0.7, 0.7])


def test_nothing_in_is_refused_and_a_missing_number_is_one_step(tmp_path) -> None:
    book = write(
        tmp_path / "b",
        passes="session,pass,date,method,mass_in_kg,wax_out_kg\nA,1,2025-01-05,oven,0,0\nB,1,2025-01-06,oven,10,9\n"
        "B,3,2025-01-07,oven,9,8.1\nC,1,2025-01-08,oven,10,\nC,2,2025-01-08,oven,,8",
    )
    assert "passes.csv line 2, mass_in: 0 is not more than 0 g" in run("trend", book).err
    limits = {c["stage"]: (c["n"], c["centre"]) for c in run("trend", book, "--leave-out", "--json").json["limits"]}
    assert limits == {"first": (2, pytest.approx((0.1 + 0.2) / 2)), "refining": (1, pytest.approx(0.1))}
    steps = {(r["session"], r["pass"]): r["loss"] for r in run("losses", book, "--by", "session", "--leave-out", "--json").json}
    assert steps == {("B", 1): pytest.approx(0.1), ("B", 3): pytest.approx(0.1), ("C", 1): pytest.approx(0.2)}


def test_the_lecture_example_of_mann_and_kendall() -> None:
    assert season_slope.kendall_s(HOLY_CROSS) == 54
    assert season_slope.kendall_z(HOLY_CROSS) == pytest.approx(2.9058, abs=5e-5)
    assert season_slope.kendall_p(HOLY_CROSS, one_sided=True) == pytest.approx(0.0018, abs=5e-5)
    line = season_slope.theil_sen(range(14), HOLY_CROSS)
    assert line is not None
    assert line.per_season == pytest.approx(0.5667, abs=5e-5)


# Exact one-sided tails of Mann-Kendall's S, Hollander & Wolfe table A.30 (from memory; recomputed by enumeration)
@pytest.mark.parametrize(
    ("order", "p"),
    [("123", 0.1667), ("1234", 0.0417), ("12345", 0.0083), ("12354", 0.0417), ("123456", 0.0014), ("1234567", 0.0002)],
)
def test_exact_tails_of_a_few_seasons(order: str, p: float) -> None:
    assert season_slope.kendall_p([int(x) for x in order], one_sided=True) == pytest.approx(p, abs=5e-5)


def test_exact_p_agrees_with_scipy() -> None:
    from scipy.stats import kendalltau

    y = [3.0, 1.0, 4.0, 1.5, 5.0, 9.0, 2.0, 6.0]
    assert season_slope.kendall_p(y) == pytest.approx(kendalltau(range(8), y, method="exact").pvalue)


def test_below_five_seasons_there_is_no_p_and_below_three_no_slope() -> None:
    assert season_slope.theil_sen([2021, 2022], [0.3, 0.4]) is None
    four = season_slope.theil_sen([2021, 2022, 2023, 2024], [0.3, 0.32, 0.35, 0.36])
    assert four is not None
    assert four.p is None
    five = season_slope.theil_sen([2021, 2022, 2023, 2024, 2025], [0.3, 0.32, 0.35, 0.36, 0.39])
    assert five is not None
    assert five.p == pytest.approx(2 * 0.0083, abs=1e-4)


def test_equal_seasons_have_no_trend() -> None:
    line = season_slope.theil_sen(range(6), [0.4] * 6)
    assert line is not None
    assert (line.per_season, line.p) == (0.0, 1.0)


def test_a_season_without_rendering_keeps_its_year() -> None:
    line = season_slope.theil_sen([2020, 2021, 2024], [0.30, 0.31, 0.34])
    assert line is not None
    assert line.per_season == pytest.approx(0.01)


def test_the_fixed_mix_takes_other_comb_out_of_the_yield() -> None:
    won = [Won(str(y), comb, "steam", mass, mass * rate) for y, shares in ((2023, (8, 2)), (2024, (2, 8)))
           for comb, mass, rate in zip(("cappings", "brood comb"), shares, (0.8, 0.3), strict=True)]  # fmt: skip
    found = seasons_at_fixed_mix.seasons(won, {"2023": 0.7, "2024": 0.4}, {})
    assert [r.yield_fixed_mix for r in found.rows] == pytest.approx([0.55, 0.55])
    (change,) = found.changes
    assert (change.mix, change.rate) == pytest.approx((-0.3, 0.0))


def test_the_sentence_says_what_came_from_the_comb_and_what_from_the_rendering() -> None:
    won = []
    for year, masses, rates in ((2024, (6, 4), (0.80, 0.30)), (2025, (4, 6), (0.79, 0.28))):
        for comb, mass, rate in zip(("cappings", "brood comb"), masses, rates, strict=True):
            won += [Won(str(year), comb, "steam", mass / 2, mass / 2 * (rate + d)) for d in (-0.03, 0.03)]
    (change,) = seasons_at_fixed_mix.seasons(won, {}, {}).changes
    told = season_and_loss_sentences.change(change, Units())
    assert told == (
        "11.6 points lost from 2024 to 2025: other comb (less cappings) makes -10.1, "
        "the rendering itself makes -1.5, within normal variation"
    )
    assert "cause" not in told


@pytest.mark.parametrize("seed", range(6))
def test_the_scatter_of_a_change_is_students_t(seed: int) -> None:
    # reference library: scipy.stats.ttest_ind with equal variances; sessions of one mass and one kind of comb
    rng = np.random.default_rng(seed)
    before, after = rng.normal(0.6, 0.03, 7), rng.normal(0.64, 0.03, 5)
    won = [Won(year, "cappings", "steam", 5.0, 5 * float(y)) for year, ys in (("2024", before), ("2025", after)) for y in ys]
    (change,) = seasons_at_fixed_mix.seasons(won, {}, {}).changes
    want = stats.ttest_ind(after, before)
    assert change.rate_u is not None
    assert change.rate / change.rate_u == pytest.approx(want.statistic)
    assert (change.df, change.inside_scatter) == (10, bool(want.pvalue >= 0.05))


def test_one_season_is_no_trend() -> None:
    found = seasons_at_fixed_mix.seasons([Won("2024", "cappings", "solar", 10, 8)], {"2024": 0.8}, {})
    assert (found.changes, found.slope) == ((), None)


def test_an_empty_book_has_no_trend(tmp_path) -> None:
    found = run_once("trend", write(tmp_path / "b"), "--json")
    assert (found.code, found.json["seasons"], found.json["slope"]["p"]) == (0, [], None)


def shares(sieve: str, middle: float, n: int = 12, method: str = "oven") -> filters_keeping_wax.Losses:
    return filters_keeping_wax.Losses(sieve, method, middle + 0.0004 * np.arange(n))


def test_a_strainer_that_keeps_more_than_the_others_is_a_leak() -> None:
    felt, sieve = filters_keeping_wax.leaks([shares("felt", 0.02), shares("sieve", 0.01)])
    assert (felt.filter, felt.passes, felt.others) == ("felt", 12, 12)
    assert (felt.share, felt.share_of_others) == (pytest.approx(0.0222), pytest.approx(0.0122))
    assert felt.p < 1e-4
    assert sieve.p == 1.0  # it loses less


def test_a_strainer_that_loses_as_the_others_do_is_none() -> None:
    # Both lose 2 % every time, which a test against nothing would call a leak of each.
    assert all(leak.p == 1.0 for leak in filters_keeping_wax.leaks([shares("felt", 0.02), shares("sieve", 0.02)]))
    assert filters_keeping_wax.leaks([shares("felt", 0.05, 4), shares("sieve", 0.01)]) == []  # four passes are too few
    assert filters_keeping_wax.leaks([shares("felt", 0.05)]) == []  # nothing to compare it with


@pytest.mark.parametrize("seed", range(20))
def test_ranks_are_judged_as_by_scipy(seed: int) -> None:
    # reference library: scipy.stats.mannwhitneyu, asymptotic, one-sided, ties and continuity corrected
    rng = np.random.default_rng(seed)
    own, rest = (np.round(rng.normal(m, 0.02, n), 2) for m, n in ((0.03, 9), (0.02, 14)))
    assert filters_keeping_wax.rank_sum_above(own, rest) == pytest.approx(stats.mannwhitneyu(own, rest, alternative="greater", method="asymptotic").pvalue)


def grouped(rows: list[tuple[str, str, float]]) -> list[last_season_against_earlier.Sums]:
    """Sessions (kind, season, share) as the sums that the shift is worked out from, one row each."""
    odds = [float(np.log(y / (1 - y))) for _, _, y in rows]
    return [last_season_against_earlier.Sums(kind, season, 1, z, z * z, y) for (kind, season, y), z in zip(rows, odds, strict=True)]


def invented(seed: int, change: float = 0.0, n: int = 50) -> list[tuple[str, str, float]]:
    rng = np.random.default_rng(seed)
    kinds = {"cappings": 1.5, "brood comb": -0.8}
    return [
        (kind := str(rng.choice(list(kinds))), season := str(2020 + 5 * i // n),
         float(1 / (1 + np.exp(-(kinds[kind] + rng.normal(0, 0.2))))) + change * (season == "2024"))
        for i in range(n)
    ]  # fmt: skip


@pytest.mark.parametrize("seed", range(10))
def test_a_shift_of_one_kind_is_students_t(seed: int) -> None:
    # reference library: scipy.stats.ttest_ind with equal variances, on the log odds
    rows = [r for r in invented(seed) if r[0] == "cappings"]
    odds = {now: [np.log(y / (1 - y)) for _, s, y in rows if (s == "2024") is now] for now in (True, False)}
    want = stats.ttest_ind(odds[True], odds[False])
    found = last_season_against_earlier.shift(grouped(rows))
    assert found is not None
    assert (found.t, found.df, found.p) == pytest.approx((want.statistic, want.df, want.pvalue))


def test_a_shift_over_two_kinds_is_the_pooled_difference_by_its_own_weights() -> None:
    # By statsmodels: weighted least squares of the two kinds' differences on one constant, weights n m / (n + m); the variance
    # is pooled within the four groups, sum (n - 1) degrees of freedom (own derivation).
    import statsmodels.api as sm

    rows = invented(3)
    groups = {(k, now): np.array([np.log(y / (1 - y)) for kind, s, y in rows if kind == k and (s == "2024") is now])
              for k in ("cappings", "brood comb") for now in (True, False)}  # fmt: skip
    pairs = [(groups[k, True], groups[k, False]) for k in ("cappings", "brood comb")]
    weights = [len(a) * len(b) / (len(a) + len(b)) for a, b in pairs]
    fitted = sm.WLS([a.mean() - b.mean() for a, b in pairs], [1, 1], weights=weights).fit()
    df = sum(len(g) - 1 for g in groups.values())
    sd = np.sqrt(sum(((g - g.mean()) ** 2).sum() for g in groups.values()) / df)
    found = last_season_against_earlier.shift(grouped(rows))
    assert found is not None
    assert found.t == pytest.approx(fitted.params[0] / (sd / np.sqrt(sum(weights))))
    assert (found.df, found.season) == (df, "2024")
    assert found.low < found.share < found.high


def test_a_shift_needs_things_alike_on_both_sides_and_some_scatter() -> None:
    assert last_season_against_earlier.shift([]) is None
    assert last_season_against_earlier.shift(grouped([("a", "2024", 0.5), ("a", "2024", 0.6)])) is None
    assert last_season_against_earlier.shift(grouped([("a", "2023", 0.5), ("a", "2023", 0.6), ("b", "2024", 0.7)])) is None
    assert last_season_against_earlier.shift(grouped([("a", "2023", 0.5), ("a", "2024", 0.6)])) is None
    assert last_season_against_earlier.shift(grouped([("a", "2023", 0.5), ("a", "2023", 0.5), ("a", "2024", 0.6)])) is None


def test_a_last_season_five_points_better_is_told_and_chance_is_not() -> None:
    shifts = [last_season_against_earlier.shift(grouped(invented(seed, change))) for seed in range(200) for change in (0.0, 0.05)]
    told = np.array([s is not None and s.p < 0.025 for s in shifts])
    assert told[::2].mean() < 0.06
    assert told[1::2].mean() > 0.8


@pytest.mark.parametrize("seed", range(5))
def test_a_point_is_held_against_the_others_as_by_statsmodels(seed: int) -> None:
    # reference library: statsmodels, externally studentized residuals of a weighted mean; t with n - 2 degrees, all n asked
    import statsmodels.api as sm

    rng = np.random.default_rng(seed)
    losses, u = np.exp(rng.normal(-3.7, 0.4, 20)), rng.uniform(0.0005, 0.004, 20)
    z, doubt = np.log(losses / (1 - losses)), (u / (losses * (1 - losses))) ** 2
    own = max(stats.median_abs_deviation(z, scale="normal") ** 2 - np.median(doubt), 0.05**2)
    root = np.sqrt(own / (own + doubt))  # weighted least squares as ordinary ones
    t = sm.OLS(root * z, root).fit().get_influence().resid_studentized_external
    want = np.minimum(20 * 2 * stats.t.sf(abs(t), 18), 1)
    assert control_limits.chances(np.append(losses, np.nan), np.append(u, np.nan), range(len(losses))) == pytest.approx(want, rel=1e-3)


def test_a_small_lot_weighed_to_five_grams_is_no_claim_and_a_big_one_is() -> None:
    losses = np.array([0.02, 0.025, 0.03, 0.022, 0.027, 0.024, 0.028, 0.021, 0.026, 0.10])
    sure, open_ = (control_limits.chances(losses, np.append(np.full(9, 0.0005), u), [9])[0] for u in (0.0005, 0.05))
    assert sure < 0.001
    assert open_ > 0.05


def candidate(kind: str, p: float) -> trend_claims.Claim:
    return trend_claims.Claim(kind, p, season_slope.FittedLine(0.0, None, None, p))


def test_without_weights_the_family_is_holms(monkeypatch: pytest.MonkeyPatch) -> None:
    # reference library: statsmodels.stats.multitest.multipletests(method="holm")
    from statsmodels.stats.multitest import multipletests

    kinds = ["season", "slope", "refining", "limit", "leak"]
    monkeypatch.setattr(trend_claims, "WEIGHTS", dict.fromkeys(kinds, 1.0))
    rng = np.random.default_rng(1)
    for _ in range(12):
        ps = rng.uniform(0, 0.06, 5)
        kept = trend_claims.held([candidate(k, float(p)) for k, p in zip(kinds, ps, strict=True)])
        assert [c.kind for c in kept] == [k for k, yes in zip(kinds, multipletests(ps, 0.05, "holm")[0], strict=True) if yes]


def test_the_season_has_half_of_the_level_and_kinds_share_theirs() -> None:
    def told(*ps: tuple[str, float]) -> list[str]:
        return [c.kind for c in trend_claims.held([candidate(*p) for p in ps])]

    rest = [("slope", 0.9), ("refining", 0.9), ("leak", 0.9)]
    assert told(("season", 0.0249), ("limit", 0.9), *rest) == ["season"]
    assert told(("season", 0.0251), ("limit", 0.9), *rest) == []
    # Two kinds of pass share an eighth of 5 %; once the season is told, a quarter is the limits'.
    assert told(("season", 0.9), ("limit", 0.0031), ("limit", 0.9), *rest) == ["limit"]
    assert told(("season", 0.9), ("limit", 0.0032), ("limit", 0.9), *rest) == []
    assert told(("season", 0.001), ("limit", 0.0062), ("limit", 0.9), *rest) == ["season", "limit"]


def test_nothing_to_say_says_nothing() -> None:
    assert trend_claims.held([]) == ()


def test_a_lost_pass_is_claimed_in_every_voice(tmp_path) -> None:
    book = book_of_losses(tmp_path, [0.02, 0.03, 0.025, 0.02, 0.03, 0.025] * 4 + [0.4])
    (claim,) = run("trend", book, "--json").json["claims"]
    assert claim["kind"] == "limit"
    assert "session S24, pass 1 (40.0 %)" in claim["text"]
    assert " ".join(claim["text"].split()) in " ".join(run("trend", book).out.split())


def test_five_seasons_in_order_are_no_claim_and_seven_are(tmp_path) -> None:
    five, seven = (of_seasons(tmp_path / str(n), {2015 + i: 0.5 + 0.05 * i for i in range(n)}) for n in (5, 7))
    assert run("trend", five, "--json").json["claims"] == []
    assert "five seasons cannot tell a direction" in " ".join(run("trend", five).out.split())
    (claim,) = run("trend", seven, "--json").json["claims"]
    assert claim["kind"] == "slope"
    assert claim["text"].startswith("At the same mix of comb yields rose by 5.0 points a season")


def test_the_demo_has_five_seasons_and_a_verdict() -> None:
    found = run("trend", "data/demo", "--json").json
    assert [s["season"] for s in found["seasons"]] == ["2022", "2023", "2024", "2025", "2026"]
    for c in (*found["change"], found["whole"]):
        assert abs(c["mix"] + c["rate"] - c["total"]) < 1e-12
        assert abs(sum(c["parts"].values()) - c["total"]) < 1e-12
    # the steam press came in April 2025 (book.toml): nearly all that the rendering gained is the method's
    press = next(c for c in found["change"] if c["to"] == "2025")
    assert press["parts"]["method"] > 0.9 * press["rate"] > 0.05
    assert found["verdict"]


def test_ties_of_many_seasons_are_not_called_exact(tmp_path) -> None:
    tied = of_seasons(tmp_path / "tied", {2010 + i: x for i, x in enumerate((0.5, 0.5, 0.6, 0.6, 0.5, 0.7, 0.7, 0.8, 0.9))})
    plain = of_seasons(tmp_path / "plain", {2010 + i: 0.5 + 0.01 * (i % 4) + 0.02 * i for i in range(9)})
    assert [run("trend", b, "--json").json["slope"]["exact"] for b in (tied, plain)] == [False, True]
    assert ["(Mann-Kendall, exact)" in " ".join(run("trend", b).out.split()) for b in (tied, plain)] == [False, True]


def test_a_kind_of_one_season_only_is_marked_on_the_screen() -> None:
    found = run("trend", "data/demo", "--json").json["change"][-1]
    borrowed = [k["comb"] for k in found["kinds"] if k["borrowed"]]
    told = " ".join(run("trend", "data/demo").out.split())
    assert borrowed
    assert "their yield taken for both: 20" in told
    assert f"2025-2026 {', '.join(borrowed)}" in told


def test_the_terminal_shows_methods_apart_and_keeps_to_its_width() -> None:
    told = run("trend", "data/demo").out
    assert "the same with the methods apart" in told
    assert "more kinds of pass, too few" in told
    assert max(map(len, told.splitlines())) <= 80


@pytest.mark.parametrize("seed", range(40))
def test_the_lines_agree_with_scipy_stats(seed: int) -> None:
    # reference library: scipy.stats.theilslopes (Sen 1968) and linregress
    rng = np.random.default_rng(seed)
    n = int(rng.integers(5, 20))
    season = np.sort(rng.choice(np.arange(1990, 2030), n, replace=False)).astype(float)
    y = np.round(0.4 + 0.02 * rng.standard_normal(n) + 0.002 * (season - 2000), 3)
    robust, straight = season_slope.theil_sen(season.tolist(), y.tolist()), season_slope.least_squares(season.tolist(), y.tolist())
    expected, fitted = stats.theilslopes(y, season, 0.95, method="separate"), stats.linregress(season, y)
    assert robust is not None
    assert straight is not None
    assert robust.per_season == pytest.approx(expected.slope, abs=1e-12)
    assert (robust.low, robust.high) == pytest.approx((expected.low_slope, expected.high_slope), abs=1e-12)
    assert straight.per_season == pytest.approx(fitted.slope, abs=1e-12)
    assert straight.p == pytest.approx(fitted.pvalue, abs=1e-9)
