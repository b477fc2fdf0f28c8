"""The best mix of candles, against published knapsacks and against trying everything."""

from __future__ import annotations

import itertools
import random

import pytest

from pipeline.analyses.candle_mix import Chosen, Mix, MixableCandle, Unfit, Wishes, best_mix

FREE = Wishes({}, {})


def counts(mix: Mix | Unfit) -> dict[str, int]:
    assert isinstance(mix, Mix)
    return {c.candle: c.count for c in mix.candles}


def once(*names: str) -> Wishes:
    return Wishes({}, dict.fromkeys(names, 1))


def test_knapsack_of_fifty_items_published_with_or_tools() -> None:
    # OR-Tools, "The Knapsack Problem": 50 items, capacity 850, optimum 7534.
    values = [360, 83, 59, 130, 431, 67, 230, 52, 93, 125, 670, 892, 600, 38, 48, 147, 78, 256, 63, 17, 120, 164, 432, 35, 92, 110, 22, 42, 50, 323, 514, 28, 87, 73, 78, 15, 26, 78, 210, 36, 85, 189, 274, 43, 33, 10, 19, 389, 276, 312]
    weights = [7, 0, 30, 22, 80, 94, 11, 81, 70, 64, 59, 18, 0, 36, 3, 8, 15, 42, 9, 0, 42, 47, 52, 32, 26, 48, 55, 6, 29, 84, 2, 4, 18, 56, 7, 29, 93, 44, 71, 3, 86, 66, 31, 65, 0, 79, 20, 65, 52, 13]
    # A candle weighs something: the four weightless items are in every optimum, so their worth is added beside.
    kinds = [MixableCandle(f"{i:02}", float(w), float(v)) for i, (v, w) in enumerate(zip(values, weights, strict=True)) if w]
    mix = best_mix(kinds, 850.0, once(*(k.candle for k in kinds)))
    free = sum(v for v, w in zip(values, weights, strict=True) if not w)
    assert isinstance(mix, Mix)
    assert mix.value + free == 7534
    assert mix.wax_g == 850
    chosen = {int(c.candle) for c in mix.candles if c.count} | {i for i, w in enumerate(weights) if not w}
    published = {0, 1, 3, 4, 6, 10, 11, 12, *range(14, 20), 21, 22, 24, *range(27, 33), 34, 38, 39, 41, 42, 44, 47, 48, 49}
    assert chosen == published


def test_knapsack_p01_of_burkardt() -> None:
    # J. Burkardt, KNAPSACK_01 data set P01: capacity 165, optimum 309.
    w = [23, 31, 29, 44, 53, 38, 63, 85, 89, 82]
    v = [92, 57, 49, 68, 60, 43, 67, 84, 87, 72]
    kinds = [MixableCandle(f"{i + 1:02}", float(a), float(b)) for i, (a, b) in enumerate(zip(w, v, strict=True))]
    mix = best_mix(kinds, 165, once(*(k.candle for k in kinds)))
    assert isinstance(mix, Mix)
    assert mix.value == 309
    assert [c.candle for c in mix.candles if c.count] == ["01", "02", "03", "04", "06"]


def test_whole_pours_of_moulds() -> None:
    # 120, 85 and 310 g, moulds of 6, 10 and 2, 4 kg: two pours, none, four by trying all of them.
    kinds = [MixableCandle("a", 120, 9, per_pour=6), MixableCandle("b", 85, 5, per_pour=10), MixableCandle("c", 310, 24, per_pour=2)]
    tried = max(
        (9 * 6 * a + 5 * 10 * b + 24 * 2 * c, -(720 * a + 850 * b + 620 * c), a, b, c)
        for a, b, c in itertools.product(range(6), range(5), range(7))
        if 720 * a + 850 * b + 620 * c <= 4000
    )
    assert counts(best_mix(kinds, 4000, FREE)) == {"a": 6 * tried[2], "b": 10 * tried[3], "c": 2 * tried[4]}


def _brute(kinds: list[MixableCandle], wax_mg: int, wishes: Wishes) -> tuple[int, ...] | None:
    """Every mix there is: most worth, then least wax, then most of the first name."""
    best: tuple[int, int, tuple[int, ...]] | None = None
    ranges = [range(0, wishes.most.get(k.candle, 99) + 1, k.per_pour) for k in kinds]
    for n in itertools.product(*ranges):
        wax = sum(c * round(k.wax_each_g * 1000) for c, k in zip(n, kinds, strict=True))
        work = sum(c * k.work_min for c, k in zip(n, kinds, strict=True))
        fits = wax <= wax_mg and (wishes.hours is None or work <= wishes.hours * 60 + 1e-9)
        if fits and all(c >= wishes.least.get(k.candle, 0) for c, k in zip(n, kinds, strict=True)):
            worth = sum(round(c * k.worth * 10_000) for c, k in zip(n, kinds, strict=True))
            best = max(best, (worth, -wax, n)) if best else (worth, -wax, n)
    return best[2] if best else None


@pytest.mark.parametrize("seed", range(200))
def test_equals_trying_everything_on_small_books(seed: int) -> None:
    rng = random.Random(seed)
    kinds = [
        MixableCandle(name, rng.choice([rng.randint(20, 200), rng.randint(200, 2000) / 10]), rng.choice([1, rng.randint(0, 90) / 10]),
             rng.randint(0, 30), rng.choice([1, 1, 2, 6]))
        for name in "abc"[: rng.randint(1, 3)]
    ]
    most = {k.candle: rng.randint(4, 14) for k in kinds}
    least = {k.candle: rng.randint(0, 3) for k in kinds if rng.random() < 0.3}
    wishes = Wishes(least, most, rng.choice([None, rng.randint(1, 40) / 4]))
    wax_g = rng.randint(0, 40_000) / 10
    tried = _brute(kinds, round(wax_g * 1000), wishes)
    mix = best_mix(kinds, wax_g, wishes)
    if tried is None:
        assert isinstance(mix, Unfit)
    else:
        assert counts(mix) == dict(zip((k.candle for k in kinds), tried, strict=True))


def test_no_wax_makes_no_candle() -> None:
    assert best_mix([MixableCandle("taper", 60, 4)], 0, FREE) == Mix((Chosen("taper", 0),), 0, 0)
    assert best_mix([MixableCandle("taper", 60, 4)], -500, FREE) == Mix((Chosen("taper", 0),), 0, 0)
    assert best_mix([MixableCandle("pillar", 600, 40)], 599.9, FREE) == Mix((Chosen("pillar", 0),), 0, 0)


def test_fractions_of_a_gram_decide_nothing_by_float() -> None:
    # 3 x 0.1 is more than 0.3 in floats; three candles of 0.1 g do come of 0.3 g.
    assert counts(best_mix([MixableCandle("tiny", 0.1, 1)], 0.3, FREE)) == {"tiny": 3}
    assert counts(best_mix([MixableCandle("a", 33.335, 1)], 100.0, FREE)) == {"a": 2}


def test_equal_worth_takes_the_least_wax_then_the_first_name() -> None:
    same = [MixableCandle("b", 50, 2), MixableCandle("a", 50, 2), MixableCandle("c", 49, 2)]
    assert counts(best_mix(same, 100, FREE)) == {"a": 0, "b": 0, "c": 2}
    assert counts(best_mix(same[:2], 100, FREE)) == {"a": 2, "b": 0}
    assert best_mix(same, 100, FREE) == best_mix(same[::-1], 100, FREE)


def test_a_wish_that_does_not_fit_names_the_first_one() -> None:
    kinds = [MixableCandle("jar", 200, 12, work_min=30), MixableCandle("taper", 60, 4, per_pour=6)]
    first = best_mix(kinds, 1000, Wishes({"jar": 4, "taper": 6}, {}))
    assert isinstance(first, Unfit)
    assert (first.candle, first.why) == ("taper", "160.0 g of wax are lacking")
    hours = best_mix(kinds, 1000, Wishes({"jar": 4}, {}, hours=1.5))
    assert isinstance(hours, Unfit)
    assert "0.50 hours" in hours.sentence()
    most = best_mix(kinds, 1000, Wishes({"taper": 4}, {"taper": 5}))
    assert isinstance(most, Unfit)
    assert "a pour makes 6" in most.why


def test_a_mix_that_the_clock_cut_short_fits_and_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    rng = random.Random(7)
    kinds = [MixableCandle(f"k{n:02}", rng.randint(20_000, 99_999) / 1000, rng.randint(100, 9999) / 100, rng.randint(1, 60)) for n in range(30)]
    monkeypatch.setattr("pipeline.analyses.candle_mix.PATIENCE_S", 0.0)
    cut = best_mix(kinds, 5000.0, Wishes({"k03": 2}, {}, hours=20))
    assert isinstance(cut, Mix)
    assert not cut.proved
    assert cut.wax_g <= 5000
    assert counts(cut)["k03"] >= 2
