"""The planned batches, what mends them, candles and their costs, and the pour sheet: small cases by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from math import hypot, pi, sqrt

import numpy as np
import pytest

from pipeline.analyses.batch_plan import BatchForecast, OnHand, Planned, Shortfall, plan, shelf, short_days, walk, whole
from pipeline.analyses.candle_capacity import capacities, kinds_for
from pipeline.analyses.candle_cost import Costs
from pipeline.analyses.candle_ingredients import Candle, sink_of
from pipeline.analyses.candle_mass_sureness import (
    LIQUID_WAX,
    Sureness,
    Vessel,
    from_vessel,
    from_volume,
    mixture_density,
    sink_share,
    weighed,
)
from pipeline.analyses.candle_mix import Chosen, Mix, MixableCandle, Unfit, Wishes, best_mix
from pipeline.analyses.forecast_doubts import Doubt
from pipeline.analyses.pending_wax import LotForecast, Pending, WaitingLot
from pipeline.analyses.pour_sheet import (
    Block,
    Done,
    Drawn,
    Pour,
    PourSheet,
    UsualPour,
    Workshop,
    choose,
    largest_first,
    sheet,
    to_step,
    usual,
)
from pipeline.analyses.shortage_remedies import Buy, Cut, Render, mends, render_for

TODAY = date(2025, 9, 1)


def day(n: int) -> date:
    return date(2025, 9, n)


def lots(*columns: tuple[str, str | None, date, list[float]]) -> Pending:
    """Lots of 1 kg each: name, kind of comb, day, and their draws."""
    told = [LotForecast(WaitingLot(name, comb, 1000.0, ready), ("steam",), ready, 0, 0, 0) for name, comb, ready, _ in columns]
    return Pending(tuple(told), np.column_stack([np.array(wax, float) for *_, wax in columns]), (Doubt("said"),))


# The ledger walked forward: methods 6, contract 2 (Forecast) --------------------------------------------------------

TEN = [100.0 * i for i in range(1, 11)]  # ten draws of a lot: 100, 200 … 1000 g
PENDING = lots(("H1", "cappings", day(5), TEN))
BATCHES = [
    Planned("late", date(2025, 8, 20), "jar", 2, 200.0),
    Planned("sheet", day(3), "rolled", 5, 0.0),
    Planned("B", day(5), "jar", 4, 150.0),
    Planned("odd", day(5), "odd", 3, None),
    Planned("A", day(5), "taper", 3, 100.0),
]


def test_a_plan_of_five_batches_by_hand() -> None:
    """800 g: 400 go at once, then 600 and 300 on the 5th, on which a lot gives 100 to 1,000 g."""
    found = plan(800, BATCHES[::-1], PENDING, TODAY)  # one day's batches in file order: A, odd, B
    # A takes 300 of 400 + wax: always covered; B's four need 600 more: 500 g are lacking, so draws from 500 g on cover it
    assert found.batches == (
        BatchForecast("late", date(2025, 8, 20), TODAY, "jar", 2, 400.0, 2, pytest.approx(10.5 / 11), False),
        BatchForecast("sheet", day(3), day(3), "rolled", 5, 0.0, 5, pytest.approx(10.5 / 11), False),
        BatchForecast("A", day(5), day(5), "taper", 3, 300.0, 3, pytest.approx(10.5 / 11), False),
        BatchForecast("odd", day(5), day(5), "odd", 3, None, None, None, False),
        BatchForecast("B", day(5), day(5), "jar", 4, 600.0, 0, pytest.approx(6.5 / 11), True),
    )
    assert (found.short_on, found.short_g) == (day(5), 500.0)
    assert found.shortfalls == (Shortfall(day(5), "B", 500.0),)
    assert found.chance_all == pytest.approx(0.5 / 11)  # one batch has no size: never all of them
    # left on the 5th: 100 g + the lot, less whole jars of 150 g, at most four: 50, 0, 100, 50, 0, 100, 200, 300, 400, 500
    assert found.on_hand == (OnHand(TODAY, 400, 400, 400), OnHand(day(3), 400, 400, 400), OnHand(day(5), 0, 100, 400))
    assert found.notes == (Doubt("said"),)


def test_a_plan_of_nothing_from_a_shelf_below_nothing() -> None:
    found = plan(-50, [], PENDING, TODAY)
    assert (found.short_on, found.short_g, found.chance_all, found.shortfalls) == (None, 0.0, None, ())
    assert found.on_hand == (OnHand(TODAY, -50, -50, -50), OnHand(day(5), 50, 450, 850))
    assert found.notes == (Doubt("below nothing", {"stock_g": -50}), Doubt("said"), Doubt("nothing planned"))
    assert plan(0, [], PENDING, TODAY).notes == (Doubt("said"), Doubt("nothing planned"))


@pytest.mark.parametrize(
    ("ready", "covered_by_ledger", "waits"),
    [(day(5), False, True), (day(6), False, False), (day(5), True, False), (day(4), False, True)],
)
def test_a_batch_waits_for_wax_that_comes_by_its_day(ready: date, covered_by_ledger: bool, waits: bool) -> None:
    stock = 600.0 if covered_by_ledger else 599.0
    (told,) = plan(stock, [BATCHES[2]], lots(("H1", "cappings", ready, TEN)), TODAY).batches
    assert (told.covered, told.melted_in_time) == (4 if covered_by_ledger else 3, waits)


def test_all_of_a_day_is_told_at_its_last_batch_and_shortages_add_up() -> None:
    due = [Planned("A", day(5), "jar", 1, 60.0), Planned("B", day(5), "jar", 1, 50.0), Planned("C", day(6), "jar", 2, 20.0), Planned("D", day(6), "rolled", 2, 0.0)]
    assert short_days(100.0, due) == (Shortfall(day(5), "B", 10.0), Shortfall(day(6), "C", 50.0))
    assert short_days(110.0, due) == (Shortfall(day(6), "C", 40.0),)
    assert short_days(150.0, due) == ()


def test_a_batch_is_poured_as_far_as_the_wax_goes_and_never_below_nothing() -> None:
    batches = [Planned("A", day(5), "jar", 2, 100.0), Planned("R", day(5), "rolled", 7, 0.0), Planned("O", day(5), "odd", 7, None), Planned("B", day(6), "jar", 3, 50.0)]
    found = walk(np.array([330.0, 120.0, -30.0]), [(day(6), np.array([10.0, 40.0, 0.0])), (day(7), np.array([500.0, 500.0, 500.0]))], batches)
    assert found.poured.tolist() == [[2, 7, 0, 2], [1, 7, 0, 1], [0, 7, 0, 0]]
    assert found.left_g.tolist() == [[130, 130, 130, 40], [20, 20, 20, 10], [-30, -30, -30, -30]]


@pytest.mark.parametrize(("wax_g", "each_g", "count"), [(300, 100, 3), (299.9999999999, 100, 3), (299.99, 100, 2), (0, 100, 0), (-5, 100, 0)])
def test_whole_candles(wax_g: float, each_g: float, count: int) -> None:
    assert whole(wax_g, each_g) == count


def test_the_shelf_is_drawn_evenly_about_its_ledger() -> None:
    # normal points at 1/8, 3/8, 5/8, 7/8 are -1.1503, -.3186, .3186, 1.1503 (table of the normal distribution): the middle two stay
    assert sorted(shelf(100, 10, 4)) == pytest.approx([88.4965, 100, 100, 111.5035], abs=1e-4)
    # of five, at .1 .3 .5 .7 .9, the middle one
    assert sorted(shelf(100, 10, 5)) == pytest.approx([87.1845, 94.756, 100, 105.244, 112.8155], abs=1e-4)
    assert shelf(100, 0, 3).tolist() == [100, 100, 100]


# What mends a plan --------------------------------------------------------------------------------------------------


def test_the_fewest_candles_of_one_batch_that_mend_it_all() -> None:
    batches = [Planned("A", day(5), "jar", 5, 100.0), Planned("B", day(5), "pillar", 3, 250.0), Planned("C", day(9), "jar", 9, 100.0)]
    # 1,250 g are needed on the 5th and 900 on the 9th: 1,600 g fall short by 550 in all
    found = mends(plan(1600, batches, lots(("H1", "cappings", day(3), [0.0] * 10)), TODAY), PENDING)
    assert found.buy == (Buy(day(9), 550.0),)
    assert found.fewer == (Cut("B", "pillar", 3, 0),)  # three of 250 g; of A and C it takes six, and A has five
    assert found.render == (Render(day(9), 1000.0, 0.0, False),)
    short_on_the_fifth = mends(plan(1050, batches[:2], PENDING, TODAY), PENDING)
    assert short_on_the_fifth.fewer == (Cut("B", "pillar", 1, 2),)  # 200 g: one pillar, or two jars
    exactly = mends(plan(1000, [batches[0], replace(batches[1], count=2, wax_each_g=350.0)], PENDING, TODAY), PENDING)
    assert exactly.fewer == (Cut("B", "pillar", 1, 1),)  # one pillar of 350 g, or two jars of exactly 200 g
    jars = mends(plan(300, batches[:1], PENDING, TODAY), PENDING)
    assert jars.fewer == (Cut("A", "jar", 2, 3),)  # 200 g short are two jars to the gram, not three


def test_a_batch_of_a_later_day_cannot_mend_an_earlier_one() -> None:
    batches = [Planned("R", day(2), "rolled", 9, 0.0), Planned("A", day(5), "jar", 5, 100.0), Planned("C", day(9), "pillar", 3, 300.0)]
    found = mends(plan(300, batches, PENDING, TODAY), PENDING)
    # 200 g short on the 5th, 1,100 on the 9th: no batch of the 5th alone mends it, so every batch is cut to what is covered
    assert found.fewer == (Cut("A", "jar", 2, 3), Cut("C", "pillar", 3, 0))
    assert [b.wax_g for b in found.buy] == [200.0, 1100.0]


def test_a_plan_that_is_not_short_needs_nothing() -> None:
    found = mends(plan(1000, BATCHES[1:2], PENDING, TODAY), PENDING)
    assert (found.fewer, found.render, found.buy) == ((), (), ())
    assert mends(plan(0, BATCHES[2:3], Pending((), np.zeros((10, 0)), ()), TODAY), Pending((), np.zeros((10, 0)), ())).render == ()


WAITING = lots(
    ("late", "cappings", day(9), [400.0] * 10), ("soon", "cappings", day(3), [200.0] * 10),
    ("aside", None, day(20), [300.0] * 10), ("also", "cappings", day(3), [100.0] * 10),
)  # fmt: skip
"""Each lot is 1 kg. Wax set aside goes first, then comb by its day, then by name: aside 300, also 100, soon 200, late 400 g."""


@pytest.mark.parametrize(
    ("wax_g", "comb_g", "aside_g", "enough"),
    [
        (15, 0, 50, True),
        (150, 0, 500, True),  # half of the wax set aside
        (300, 0, 1000, True),
        (350, 500, 1000, True),
        (400, 1000, 1000, True),
        (500, 1500, 1000, True),
        (1000, 3000, 1000, True),
        (1001, 3000, 1000, False),
    ],
)
def test_the_least_comb_soonest_ready_that_gives_the_wax(wax_g: float, comb_g: float, aside_g: float, enough: bool) -> None:
    found = render_for(wax_g, day(5), WAITING)
    assert (found.by, found.enough) == (day(5), enough)
    assert (found.comb_g, found.set_aside_g) == (pytest.approx(comb_g, abs=0.01), pytest.approx(aside_g, abs=0.01))
    assert found.comb_g >= comb_g or not enough  # a millionth more, never less


def test_what_is_rendered_is_enough_in_nine_of_ten_draws() -> None:
    assert render_for(100, day(5), PENDING).comb_g == pytest.approx(1000, abs=0.01)  # the tenth part of the draws lies at 100 g
    assert not render_for(101, day(5), PENDING).enough


# Candles: contract 2, methods 10 ------------------------------------------------------------------------------------

JAR = Candle("jar", "container", 105.0, 70.0, wax_share=0.7, oil="coconut", oil_share=0.3, scent="lavender", scent_share=0.05, price=9.0, other_cost=1.0, work_min=6)
BAR = Candle("bar", "mould", 100.0, 100.0, price=5.0)
ROLLED = Candle("rolled", "rolled", 30.0, 0.0, price=4.0)
UNKNOWN_SIZE = Candle("odd", "mould", None, None, price=4.0)


def test_what_one_candle_takes_and_costs() -> None:
    """70 g of wax are 100 g of wax and oil: 30 g of oil, 5 g of scent. 70 x 14 + 30 x 6 + 5 x 60 per kg, a part of 1, a tenth of an hour."""
    assert JAR.parts_g == {"wax": pytest.approx(70), "coconut": pytest.approx(30), "lavender": pytest.approx(5)}
    assert BAR.parts_g == {"wax": 100}
    assert UNKNOWN_SIZE.parts_g == replace(BAR, wax_share=0.0).parts_g == {}
    costs = Costs({"wax": 14, "oil": 6, "scent": 60}, 20)
    assert costs.of(JAR) == pytest.approx(0.98 + 0.18 + 0.30 + 1 + 2)
    assert replace(costs, per_kg={"wax": 14, "oil": 6, "coconut": 8, "scent": 60}).of(JAR) == pytest.approx(4.46 + 0.06)  # a cost of its own goes first
    assert costs.of(UNKNOWN_SIZE) is None
    assert Costs({"wax": 14}, None).of(JAR) == pytest.approx(0.98 + 1)


def test_what_has_no_cost_is_named() -> None:
    assert Costs({"oil": 6}, None).missing([JAR, UNKNOWN_SIZE]) == ("hour", "lavender", "wax")
    assert Costs({"wax": 1}, None).missing([BAR]) == ()  # no work, so no hour is missing
    assert Costs({}, 20).missing([JAR]) == ("coconut", "lavender", "wax")


def test_how_many_of_each_kind_and_what_one_leaves() -> None:
    """450 g in hand and a lot of 100 to 1,000 g: 550, 950 and 1,350 g at 10, 50 and 90 %."""
    costs = Costs({"wax": 10}, None)
    bar, jar, rolled, odd, sized = capacities(
        [BAR, replace(JAR, price=None), ROLLED, UNKNOWN_SIZE, replace(BAR, sureness=Sureness(2.5, "diameter", "weigh one"))], 450, PENDING, costs
    )
    assert (bar.now, bar.low, bar.mid, bar.high) == (4, 5, 9, 13)
    assert (bar.fill_g, bar.wax_each_g, bar.fill_u_g, bar.cost_each, bar.margin_each, bar.note) == (100, 100, None, 1, 4, None)
    assert (jar.now, jar.margin_each, jar.cost_each) == (6, None, pytest.approx(1.7))
    assert (rolled.now, rolled.low, rolled.note) == (None, None, "takes no wax from the shelf")
    assert (odd.now, odd.cost_each, odd.margin_each) == (None, None, None)
    assert "cannot be worked out" in str(odd.note)
    assert (sized.fill_u_g, sized.note) == (2.5, "weigh one")
    assert capacities([replace(BAR, sureness=weighed(5))], 450, PENDING, costs)[0].note is None


@pytest.mark.parametrize(("aim", "worth"), [("income", [9.0, 5.0, 0.0]), ("margin", [9 - 1.7, 4.0, 0.0]), ("count", [1.0, 1.0, 1.0])])
def test_what_a_candle_is_worth_under_each_aim(aim: str, worth: list[float]) -> None:
    kinds = kinds_for([JAR, BAR, ROLLED, UNKNOWN_SIZE, replace(BAR, candle="gift", price=None)], aim, Costs({"wax": 10}, None))
    assert [k.candle for k in kinds] == ["jar", "bar", "gift"]
    assert [k.worth for k in kinds] == pytest.approx(worth)
    assert (kinds[0].work_min, kinds[0].per_pour, kinds[0].wax_each_g) == (6, 1, 70)


def test_a_volume_and_lengths_carry_their_readings_in_quadrature() -> None:
    """1 % of a kitchen measure and .005 g/ml of .96; a cylinder of 60 by 80 mm moved by half a millimetre each way."""
    found = from_volume(96, 0.96)
    assert (found.u_g, found.decides) == (pytest.approx(hypot(0.96, 0.5)), "volume")
    tin = from_vessel(Vessel(60, 80), 200, 0.96)
    across, high = (pi / 4 * (60.5**2 - 60**2) * 80 / 1000 * 0.96, pi / 4 * 60**2 * 0.5 / 1000 * 0.96)
    # a cylinder's top is its bottom, so a moved diameter moves both
    assert (tin.u_g, tin.decides) == (pytest.approx(hypot(across, high, 0.005 / 0.96 * 200)), "diameter")
    assert "its diameter" in tin.advice
    shallow = from_vessel(Vessel(60, 4, 60, 1), 10, 0.96)  # 1 mm below the rim of 4: half a millimetre is a sixth of it
    assert shallow.decides in ("height", "headspace")


def frustum_g(bottom: float, rim: float, height: float, gap: float) -> float:
    """Methods 10, of wax of .96 g/ml; the fill line lies ``gap`` below the rim."""
    line = bottom + (rim - bottom) * (height - gap) / height
    return pi * (height - gap) * (bottom**2 + bottom * line + line**2) / 12 / 1000 * 0.96


def test_each_length_of_a_tapered_vessel_is_moved_by_half_a_millimetre() -> None:
    lengths = (50.0, 70.0, 80.0, 10.0)
    moved = [frustum_g(*(x + 0.5 * (i == k) for k, x in enumerate(lengths))) - frustum_g(*lengths) for i in range(4)]
    found = from_vessel(Vessel(50, 80, 70, 10), 200, 0.96)
    assert found.u_g == pytest.approx(hypot(*moved, 0.005 / 0.96 * 200), rel=1e-9)
    assert found.decides == "headspace"  # 1.71 g, just before the diameter's 1.68 g


def test_densities_and_shrinking() -> None:
    assert mixture_density({"wax": 0.7, "oil": 0.3}, {"wax": 0.96, "oil": 0.92}) == pytest.approx(1 / (0.7 / 0.96 + 0.3 / 0.92))
    for shares, densities in (({"wax": 0.9}, {"wax": 1.0}), ({"wax": 1.1}, {"wax": 1.0}), ({"wax": 1.0}, {"wax": 0.0}), ({"wax": 1.0}, {"wax": -1.0})):
        with pytest.raises(ValueError, match=r"sum to|above 0"):
            mixture_density(shares, densities)
    assert (sink_share(0.96, 0.80), sink_share(0.9, 0.9)) == (pytest.approx(1 / 6), 0)
    # 70 wax, 30 oil and 5 scent of 105: only the wax is lighter while it is molten; the oil by its own name
    densities = {"wax": 0.96, "oil": 0.5, "coconut": 0.92, "scent": 0.95}
    solid, liquid = (105 / (70 / wax + 30 / 0.92 + 5 / 0.95) for wax in (0.96, LIQUID_WAX))
    assert sink_of(JAR, densities) == pytest.approx(1 - liquid / solid)
    assert [c.sinks for c in (JAR, BAR, ROLLED)] == [True, True, False]


# The best mix: methods 7 --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("wax_g", "wishes", "found"),
    [
        (1000, Wishes({"a": 5}, {}), Mix((Chosen("a", 9), Chosen("b", 1)), 1000, 49)),  # a mould of three; two pours would make the five
        (1000, Wishes({}, {"a": 5}), Mix((Chosen("a", 3), Chosen("b", 7)), 1000, 43)),  # five at most is one pour of three
        (1000, Wishes({}, {"b": 2}, 1.0), Mix((Chosen("a", 6), Chosen("b", 2)), 800, 38)),  # 6 x 8 + 2 x 6 min
        (1000, Wishes({}, {}, 0.0), Mix((Chosen("a", 0), Chosen("b", 0)), 0, 0)),
        (299.9999, Wishes({"a": 3}, {}), "at least 3 of a do not fit: 0.0 g of wax are lacking"),
        (200, Wishes({"b": 1, "a": 1}, {}), "at least 1 of a do not fit: 200.0 g of wax are lacking"),
        (1000, Wishes({"a": 4}, {"a": 5}), "at least 4 of a do not fit: at most 5 were asked for and a pour makes 3"),
        (1000, Wishes({"a": 3}, {"a": 3}, 0.4), Mix((Chosen("a", 3), Chosen("b", 0)), 300, 15)),  # 24 min exactly
        (1000, Wishes({"a": 3}, {}, 0.3), "at least 3 of a do not fit: 0.10 hours are lacking"),
    ],
)
def test_a_mould_of_three_at_5_and_a_jar_at_4(wax_g: float, wishes: Wishes, found: Mix | str) -> None:
    """Both take 100 g; work of 8 and 6 minutes each."""
    kinds = [MixableCandle("b", 100, 4, 6), MixableCandle("a", 100, 5, 8, 3)]
    mix = best_mix(kinds, wax_g, wishes)
    if isinstance(found, str):
        assert isinstance(mix, Unfit)
        assert mix.sentence() == found
    else:
        assert mix == found


def test_no_kind_is_a_mix_of_nothing() -> None:
    assert best_mix([], 1000, Wishes({}, {})) == Mix((), 0, 0, True)


# The pour sheet -----------------------------------------------------------------------------------------------------


def block(name: str, n: int, mass_g: float, colour: str | None = None) -> Block:
    return Block(name, date(2025, 1, n), mass_g, colour)


DENSITIES = {"wax": 0.96, "oil": 0.92, "scent": 0.95}


def poured(candle: Candle, blocks: list[Block], light: bool = False, status: str = "planned", count: int = 10) -> PourSheet:
    one = Pour("P2", day(5), count, status, candle)
    planned = [Pour("P1", day(4), 2, "planned", BAR), one, Pour("P3", day(5), 1, "planned", replace(BAR, fill_g=500.0)), Pour("P4", day(6), 9, "planned", BAR)]
    return sheet(one, planned, blocks, Workshop(DENSITIES, 5, 0.1, light))


def test_a_sheet_after_an_earlier_batch_by_hand() -> None:
    """P1 takes 200 g of the oldest block; ten bars need 1,000 g, of which 800 are left."""
    found = poured(BAR, [block("new", 9, 300, "brown"), block("old", 1, 700, "yellow"), block("gone", 2, 0, "white")])
    assert found.promised == (("P1", 200),)
    assert found.blocks == (Drawn("old", 500, 0, "yellow"), Drawn("new", 300, 0, "brown"))
    assert (found.short_g, found.enough_for, found.no_light) == (200, 8, False)
    assert found.order == ("P3", "P2")  # those of the day, the largest first
    assert (found.batch, found.date, found.candle, found.count, found.status) == ("P2", day(5), "bar", 10, "planned")
    assert found.keep_back_g == to_step(1000 * sink_of(BAR, DENSITIES), 5) > 100


def test_a_sheet_that_lacks_nothing_is_for_all_of_them() -> None:
    found = poured(BAR, [block("old", 1, 5000)], light=True)
    assert (found.short_g, found.enough_for, found.no_light) == (0, 10, True)
    assert not poured(BAR, [block("old", 1, 5000, "light yellow")], light=True).no_light
    assert poured(BAR, [block("old", 1, 5000, "yellow")], light=True).no_light
    again = poured(BAR, [block("old", 1, 5000)], status="poured")
    assert (again.promised, again.blocks) == ((), (Drawn("old", 1000, 4000, None),))
    rolled = poured(ROLLED, [])
    assert (rolled.enough_for, rolled.ingredients, rolled.short_g, rolled.keep_back_g) == (10, (), 0, 0)
    none = poured(BAR, [])
    assert (none.enough_for, none.short_g, none.promised) == (0, 1000, ())


def test_oil_and_scent_are_weighed_on_the_small_scale() -> None:
    found = {i.name: (i.mass_g, i.weigh_g) for i in poured(replace(JAR, wax_each_g=70.7), []).ingredients}
    assert found["wax"] == (pytest.approx(707), 705)
    assert found["coconut"] == (pytest.approx(303), pytest.approx(303))
    assert found["lavender"] == (pytest.approx(50.5), pytest.approx(50.5))


@pytest.mark.parametrize(("mass_g", "step_g", "shown"), [(102.4, 5, 100), (102.6, 5, 105), (0.26, 0.1, 0.3), (102.4, 0, 102.4)])
def test_the_mass_that_a_scale_can_show(mass_g: float, step_g: float, shown: float) -> None:
    assert to_step(mass_g, step_g) == pytest.approx(shown)


def test_blocks_of_one_day_go_by_name_and_light_ones_first_where_light_is_wanted() -> None:
    there = [block("b", 2, 100, "white"), block("a", 2, 100), block("c", 1, 100, "dark yellow"), block("d", 3, 100, "light yellow")]
    assert [d.block for d in choose(there, 400)] == ["c", "a", "b", "d"]
    assert [d.block for d in choose(there, 400, light=True)] == ["b", "d", "a", "c"]
    assert [(d.block, d.mass_g, d.left_g) for d in choose(there, 150)] == [("c", 100, 0), ("a", 50, 50)]


def test_the_order_of_equal_candles_is_by_name() -> None:
    pours = [Pour(n, day(5), 1, "planned", c) for n, c in (("P9", BAR), ("P1", BAR), ("P5", UNKNOWN_SIZE), ("P7", JAR))]
    assert largest_first(pours) == ("P7", "P1", "P9", "P5")


def test_usual_temperatures_of_each_sort() -> None:
    done = [Done("A", TODAY, 66, 60, 20, None, True), Done("B", TODAY, 70, None, 22, None, True), Done("C", TODAY, 90, 80, 30, "crack", False)]
    assert [usual(done, what) for what in ("pour", "scent", "room")] == [UsualPour(68, 2, 66, 70), UsualPour(60, 1, 60, 60), UsualPour(21, 2, 20, 22)]


def test_a_weighed_candle_is_as_sure_as_the_scale() -> None:
    assert (weighed(5).u_g, weighed(5).decides) == (pytest.approx(5 / sqrt(12)), "scale")
