"""Splits against Das Gupta's published tables, and their law: the parts sum to the whole."""

from __future__ import annotations

from math import fsum

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.analyses.season_change_parts import RenderedGroup, by_comb, shapley, split
from tests.books import run, write

# Das Gupta 1993, Standardization and Decomposition of Rates: household headship rates by 13 age groups, 1970 and 1985,
# as given in the DasGuptR package text.
SHARES_1970 = [12.9, 10.9, 9.5, 8.0, 7.8, 8.4, 8.6, 7.8, 7.0, 5.9, 4.7, 3.6, 4.9]
SHARES_1985 = [10.1, 11.2, 11.6, 10.9, 9.4, 7.7, 6.3, 6.0, 6.3, 5.9, 5.1, 4.0, 5.5]
RATES_1970 = [1.9, 25.8, 45.7, 49.6, 51.2, 51.6, 51.8, 54.9, 58.7, 60.4, 62.8, 66.6, 66.8]
RATES_1985 = [2.2, 24.3, 45.8, 52.5, 56.1, 55.6, 56.0, 57.4, 57.2, 61.2, 63.9, 68.6, 72.2]


def season(shares: list[float], rates: list[float], methods: tuple[str, ...] = ("steam",)):
    return {
        (f"kind {i:02}", methods[i % len(methods)]): RenderedGroup(s, s * r / 100) for i, (s, r) in enumerate(zip(shares, rates, strict=True))
    }


def test_headship_rates_split_as_published() -> None:
    found = split(season(SHARES_1970, RATES_1970), season(SHARES_1985, RATES_1985))
    assert found is not None
    assert 100 * found.mix == pytest.approx(1.2269, abs=5e-5)
    assert 100 * found.rate == pytest.approx(1.7403, abs=5e-5)
    assert 100 * found.total == pytest.approx(2.9672, abs=5e-5)


def test_three_factors_multiply_as_published() -> None:
    # Das Gupta 1993, the table of three scalar factors, as given in the DasGuptR package text
    parts = shapley(lambda f: f[0] * f[1] * f[2], (51.78746, 0.45919, 0.52638), (84.90502, 0.75756, 0.51065))
    assert parts == pytest.approx((10.4340333, 10.5608476, -0.6670084), abs=2e-5)
    assert fsum(parts) == pytest.approx(20.3278726, abs=2e-5)


def test_one_kind_of_comb_leaves_nothing_for_the_mix() -> None:
    found = split({("cappings", "solar"): RenderedGroup(10, 8)}, {("cappings", "solar"): RenderedGroup(20, 12)})
    assert found is not None
    assert found.mix == pytest.approx(0, abs=1e-15)
    assert found.rate == pytest.approx(-0.2)


def test_a_kind_of_one_season_borrows_its_rate_and_says_so() -> None:
    before = {("cappings", "solar"): RenderedGroup(10, 8)}
    found = split(before, before | {("brood comb", "solar"): RenderedGroup(10, 3)})
    assert found is not None
    assert found.borrowed == ("brood comb",)
    assert found.rate == pytest.approx(0)
    assert found.mix == pytest.approx(found.total) == pytest.approx(-0.25)


def test_another_method_is_told_from_other_comb() -> None:
    before, after = {("brood comb", "solar"): RenderedGroup(10, 3)}, {("brood comb", "steam"): RenderedGroup(10, 5)}
    found = split(before, after)
    assert found is not None
    assert (found.comb, found.method, found.rendering) == pytest.approx((0, 0.2, 0))


def test_no_comb_no_split() -> None:
    assert split({}, {("cappings", "solar"): RenderedGroup(10, 8)}) is None


masses = st.floats(0.01, 1e5)
parts = st.builds(lambda loaded, share: RenderedGroup(loaded, loaded * share), masses, st.floats(0, 1))
kinds = st.tuples(st.sampled_from(["cappings", "brood comb", "scrapings", None]), st.sampled_from(["solar", "steam", "press"]))
seasons = st.dictionaries(kinds, parts, min_size=1)


@given(seasons, seasons)
def test_parts_sum_to_the_change(before, after) -> None:
    found = split(before, after)
    assert found is not None
    assert abs(found.mix + found.rate - found.total) < 1e-12
    assert abs(found.comb + found.method + found.rendering - found.total) < 1e-12
    there = {k for s in (before, after) for k in by_comb(s)}
    assert {k.comb for k in found.kinds} == there


def test_headship_rates_as_a_book(tmp_path) -> None:
    # the same table through the command line: ages are kinds of comb, heads of household are grams of wax
    kinds = "".join(f'"kind {i:02}" = {{ low = 0.01, high = 0.99 }}\n' for i in range(13))
    logs = {"harvests": ["harvest,date,comb,mass_kg"], "loads": ["session,source,mass_kg"],
            "passes": ["session,pass,date,method,wax_out_g"], "blocks": ["block,date,mass_g,session"]}  # fmt: skip
    for year, shares, rates in ((2020, SHARES_1970, RATES_1970), (2021, SHARES_1985, RATES_1985)):
        for i, (share, rate) in enumerate(zip(shares, rates, strict=True)):
            name, wax = f"{year}-{i}", share * rate * 10
            logs["harvests"].append(f"H{name},{year}-05-01,kind {i:02},{share}")
            logs["loads"].append(f"S{name},H{name},{share}")
            logs["passes"].append(f"S{name},1,{year}-05-02,steam,{wax:.3f}")
            logs["blocks"].append(f"B{name},{year}-05-02,{wax:.3f},S{name}")
    book = write(tmp_path / "b", f'name = "t"\n[comb_kinds]\n{kinds}', **{k: "\n".join(v) for k, v in logs.items()})
    (change,) = run("trend", book, "--json").json["change"]
    assert (change["from"], change["to"]) == ("2020", "2021")
    assert 100 * change["mix"] == pytest.approx(1.2269, abs=5e-5)
    assert 100 * change["rate"] == pytest.approx(1.7403, abs=5e-5)
