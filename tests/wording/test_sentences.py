"""The sentences, each in every form, from figures made to produce it."""

from __future__ import annotations

import inspect
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path
from types import SimpleNamespace
from typing import cast

import numpy as np
import pytest

from pipeline.analyses.backtest import backtest
from pipeline.analyses.batch_plan import BatchForecast, Plan, Shortfall
from pipeline.analyses.candle_capacity import Capacity
from pipeline.analyses.candle_mix import Mix
from pipeline.analyses.forecast_doubts import Doubt
from pipeline.analyses.pending_wax import LotForecast, Pending, WaitingLot
from pipeline.analyses.season_change_parts import KindPart, Split
from pipeline.analyses.season_slope import FittedLine
from pipeline.analyses.seasons_at_fixed_mix import Change, SeasonRow, Seasons
from pipeline.analyses.shortage_remedies import mends
from pipeline.analyses.step_balance import Balance
from pipeline.analyses.suspects import OddStep
from pipeline.analyses.yield_priors import Priors
from pipeline.answers.checks_and_suspects_agree import Unexplained
from pipeline.answers.mix import MixAnswer
from pipeline.answers.plan import PlanAnswer
from pipeline.answers.stock import Stock
from pipeline.answers.suspects import Fit, Placed
from pipeline.wording import (
    forecast_doubt_sentences,
    plan_sentences,
    season_and_loss_sentences,
    stock_sentences,
    suspect_sentences,
)
from pipeline.wording.amounts import PAGE, Units
from pipeline.wording.season_and_loss_sentences import SeasonFigures
from pipeline.wording.stock_sentences import Shelf
from pipeline.wording.visible_text import visible

KG = Units()


def split(total: float, mix: float, *kinds: KindPart) -> Split:
    return Split(total, mix, total - mix, mix, 0.0, total - mix, kinds)


def change(total: float, mix: float, rate_u: float | None, *kinds: KindPart, claimed: bool = False) -> Change:
    return Change("2025", "2026", split(total, mix, *kinds), rate_u, 60, claimed)


def season(now: float | None, before: float | None = None, moved: Change | None = None, flags: tuple[str, ...] = ()) -> str:
    this = SeasonFigures("2026", 63_100, 24_861, now, flags=flags)
    last = None if before is None else SeasonFigures("2025", 50_000, 50_000 * before, before)
    return season_and_loss_sentences.season(this, last, moved, KG)


def test_a_season_under_the_last_with_the_rendering_within_normal_variation() -> None:
    assert season(0.394, 0.415, change(-0.021, -0.035, 0.01)) == (
        "The 63.10 kg of comb rendered in season 2026 gave 24.86 kg of wax, 39.4 %, 2.1 points less than 2025; "
        "poorer comb makes -3.5, the rendering itself makes +1.4, within normal variation."
    )


@pytest.mark.parametrize(
    ("now", "before", "moved", "ends"),
    [
        (0.394, None, None, "39.4 %; there is no earlier season to compare it with."),
        (0.394, 0.374, None, "2.0 points more than 2025."),
        (0.394, 0.392, None, "about the same as in 2025."),
        (0.394, 0.374, change(0.02, 0.001, 0.005, claimed=True),
         "the comb was much the same, the rendering itself makes +1.9, more than normal variation."),
        (0.394, 0.414, change(-0.02, 0.01, None),
         "richer comb makes +1.0, the rendering itself makes -3.0, too few sessions to say whether that is normal variation."),
        (0.394, 0.394, change(0.0, 0.0, None),
         "about the same as in 2025; the comb was much the same, the rendering itself made no difference."),
    ],
)  # fmt: skip
def test_a_season_better_worse_unchanged_first(now: float, before: float | None, moved: Change | None, ends: str) -> None:
    assert season(now, before, moved).endswith(ends)


def test_a_season_of_nothing_of_too_little_and_with_wax_not_cast() -> None:
    assert season_and_loss_sentences.season(None, None, None, KG).startswith("Nothing has been rendered yet: record a session")
    assert "weigh the comb" in season(None)
    assert "39.4 % with the wax set aside at full weight;" in season(0.394, flags=("set_aside",))


def test_the_headline_and_the_panel_never_judge_the_rendering_twice() -> None:
    """One page once said "the rendering itself was as usual" beside "gained 3.1, inside the usual scatter"."""
    for moved in (change(0.03, -0.001, 0.02), change(0.03, -0.001, 0.01), change(0.03, 0.03, 0.01), change(0.03, 0.0, None)):
        told = season_and_loss_sentences.rendering(moved, KG)
        assert told in season(0.43, 0.40, moved)
        assert told in season_and_loss_sentences.change(moved, KG)


def test_a_change_names_the_comb_that_moved_it() -> None:
    less = KindPart("cappings", 0.6, 0.4, -0.101, -0.01, False)
    assert season_and_loss_sentences.change(change(-0.116, -0.101, 0.02, less), KG) == (
        "11.6 points lost from 2025 to 2026: other comb (less cappings) makes -10.1, "
        "the rendering itself makes -1.5, within normal variation"
    )
    assert season_and_loss_sentences.change(change(0.001, 0.0, 0.02), KG).startswith("the yield of 2026 is about that of 2025: the comb was much")


def test_the_verdict_on_all_seasons() -> None:
    none = Seasons((), None, None, (), None)
    row = SeasonRow("2026", 0.4, 0.4, (), None)
    assert season_and_loss_sentences.verdict(none, KG) == "No comb has been rendered yet."
    assert season_and_loss_sentences.verdict(replace(none, rows=(row,)), KG) == "One season is no trend yet."
    two = replace(none, rows=(row, row), changes=(change(0.03, 0.0, 0.01),))
    assert season_and_loss_sentences.verdict(two, KG).startswith("3.0 points gained from 2025 to 2026: the comb was much the same, ")
    more = replace(two, rows=(row,) * 6, whole=change(0.0, 0.0, 0.01), slope=FittedLine(0.02, 0.01, 0.03, 0.017), claims=frozenset({"slope"}))
    assert "Over all seasons: the yield of 2026 is about that of 2025" in season_and_loss_sentences.verdict(more, KG)
    assert season_and_loss_sentences.verdict(more, KG).endswith("+2.0 points a season, a clear direction.")


def seasons(*values: float, line: FittedLine | None = None, claimed: bool = False) -> str:
    rows = [SeasonFigures(str(2020 + n), 1000, 1000 * v, v) for n, v in enumerate(values)]
    return season_and_loss_sentences.seasons(rows, line, KG, claimed)


def test_seasons_in_every_form() -> None:
    assert seasons() == "No season has a yield yet: weigh what goes in and what comes out."
    assert seasons(0.4) == "One season is recorded: a second one makes the first comparison."
    assert seasons(0.4, 0.5).endswith("2021 gave most for its comb (50.0 %); three seasons are the fewest that can show a direction.")
    assert seasons(0.4, 0.5, 0.6, line=FittedLine(0.1, None, None, None)).endswith("moved by +10.0 points a season, but three seasons cannot tell a direction.")
    assert seasons(*[0.4] * 5, line=FittedLine(0.02, 0.01, 0.03, 0.017), claimed=True).endswith("a clear direction.")
    assert seasons(*[0.4] * 5, line=FittedLine(0.02, -0.01, 0.03, 0.083)).endswith("but five seasons cannot tell a direction.")
    assert seasons(*[0.4] * 8, line=FittedLine(-0.02, -0.05, 0.03, 0.48)).endswith("no clear direction.")
    assert season_and_loss_sentences.direction(FittedLine(0.02, None, None, None), 4, KG).endswith("but four seasons cannot tell a direction")


def test_methods_that_changed() -> None:
    assert not season_and_loss_sentences.by_methods(0.009)
    assert season_and_loss_sentences.by_methods(-0.01)
    assert season_and_loss_sentences.methods("2025", 0.067, 0.066, KG) == "Into 2025, other methods gave 6.6 of the 6.7 points that the rendering gained."
    assert season_and_loss_sentences.methods("2025", -0.03, -0.02, KG) == "Into 2025, other methods took 2.0 of the 3.0 points that the rendering lost."
    assert season_and_loss_sentences.methods("2025", 0.01, -0.02, KG) == "Into 2025, other methods took 2.0 points."


def losses(*refining: tuple[str, float, float], worst: tuple[str, float] | None = None, claimed: bool = False) -> str:
    return season_and_loss_sentences.losses(refining, worst, KG, claimed)


def test_losses_more_less_the_same_first_none() -> None:
    assert losses().startswith("No refining pass is recorded")
    assert losses(("2025", 0.0, 0.0)).startswith("No refining pass is recorded")
    assert losses(("2026", 1000, 30)) == "Refining lost 3.0 % of the wax it was given in season 2026."
    pairs = ((50, True), (10, True), (50, False))
    told = [losses(("2025", 1000, 30), ("2026", 1000, now), claimed=claimed) for now, claimed in pairs]
    assert told[0].endswith("2.0 points more than in earlier seasons.")
    assert told[1].endswith("2.0 points less than in earlier seasons.")
    assert told[2].endswith("which fits earlier seasons.")
    assert losses(("2026", 1000, -3)).startswith("Refining of season 2026 gave 0.3 % more wax than went in")
    assert losses(("2026", 1000, 30), worst=("press", 0.06)).endswith("press loses most (6.0 %).")


def test_earlier_seasons_are_a_ratio_of_sums() -> None:
    """100 g of 1 kg and 90 g of 9 kg are 190 g of 10 kg, 1.9 %; the mean of 10 % and 1 % would be 5.5 %."""
    assert losses(("2024", 1000, 100), ("2025", 9000, 90), ("2026", 1000, 49), claimed=True).endswith("3.0 points more than in earlier seasons.")


def test_yields_borrowed_are_told() -> None:
    assert season_and_loss_sentences.borrowed([("2024", ()), ("2025", ())]) == ""
    assert season_and_loss_sentences.borrowed([("2024", ("white comb",)), ("2025", ("scrapings", None))]) == (
        "For the same comb every season, yields were borrowed from the other seasons: 2024 white comb; "
        "2025 scrapings and comb not logged."
    )


def test_control_in_every_form() -> None:
    assert season_and_loss_sentences.control([], 0, 0).startswith("No kind of pass has six weighed passes yet")
    assert season_and_loss_sentences.control(["Beyond.", "Also."], 2, 2) == "Beyond. Also."
    assert season_and_loss_sentences.control([], 1, 2) == "1 pass outside the limits, no more than chance makes among so many (2 kinds of pass watched)."
    assert season_and_loss_sentences.control([], 0, 2) == "All passes stayed within normal variation (2 kinds of pass watched)."


def test_attention_in_every_form() -> None:
    assert season_and_loss_sentences.attention(0, 0, 0) == "The checks of every row found no problems."
    assert season_and_loss_sentences.attention(1, 2, 0).startswith("1 error and 2 warnings: rows with errors are in no figure")
    assert season_and_loss_sentences.attention(0, 2, 1).startswith("2 warnings and 1 note: look at the rows below;")
    assert season_and_loss_sentences.attention(0, 0, 3) == "3 notes, nothing that changes a figure."


def suspect(line: int | None, value_g: float | None, likely_g: float | None, chance: float) -> Placed:
    return Placed("blocks.csv", line, "mass", value_g, likely_g, "two digits changed places", chance, "S1", ())


def fit(*found: Placed, checkable: bool = True, odd: tuple[OddStep, ...] = ()) -> Fit:
    """Suspects as an analysis would give them."""
    verdict = SimpleNamespace(checkable=checkable, odd_steps=odd)
    beside = {"unexplained": Unexplained(), "scale": None, "untested": []}
    return cast("Fit", SimpleNamespace(suspects=found, verdict=verdict, leaks=(), **beside))


def melt(number: int) -> Balance:
    return Balance("melt", "R1", (), (), True, (("melt",),), "R1", number)


def test_suspects_in_every_form() -> None:
    assert suspect_sentences.suspects(fit(), KG).startswith("Every balance that the weighings allow closes")
    assert suspect_sentences.suspects(fit(checkable=False), KG) == suspect_sentences.not_checkable("this book")
    slip, gone = suspect(3, 4310, 3410, 0.98), suspect(None, None, 900, 0.9)
    assert suspect_sentences.place(gone) == "blocks.csv, a missing row"
    assert suspect_sentences.suspects(fit(slip, gone), KG) == (
        "Look at blocks.csv line 3, mass: it says 4.310 kg, everything around it says 3.410 kg (chance 98 %), the likeliest of 2 suspects."
    )
    assert suspect_sentences.suspects(fit(gone), KG) == (
        "Look at blocks.csv, a missing row: everything around it says 900 g (chance 90 %)."
    )
    assert suspect_sentences.suspects(fit(suspect(3, 4310, None, 0.6)), KG).endswith("it says 4.310 kg, nothing around it fits that (chance 60 %).")
    assert "(chance over 99 %)" in suspect_sentences.suspects(fit(suspect(3, 4310, 1, 0.9999)), KG)
    odd = (OddStep(melt(1), 250.0, 0.8), OddStep(melt(2), -250.0, 0.1))
    assert list(suspect_sentences.each(fit(slip, odd=odd), KG)) == [
        "blocks.csv line 3, mass: 4.310 kg, likely 3.410 kg (chance 98 %): two digits changed places",
        "pass 1 of session R1: 250 g more went missing than usual, by no single slip",
    ]
    assert list(suspect_sentences.each(fit(), KG)) == [suspect_sentences.suspects(fit(), KG)]
    assert len(list(suspect_sentences.beside(fit(odd=odd * 2), KG, 1))) == 1


def test_stock_and_store() -> None:
    assert stock_sentences.stock(Shelf(0, 0), 0, 0, KG) == "No wax is on the shelf; no comb waits."
    assert stock_sentences.stock(Shelf(4920, 8), 12_200, 4090, KG) == (
        "4.92 kg of wax lies on the shelf in 8 blocks; 12.20 kg of comb waits to be rendered, and 4.09 kg is on hold."
    )
    assert stock_sentences.store(0, 0, KG) == "No comb waits to be rendered."
    assert stock_sentences.store(1, 250, KG) == "1 lot of comb waits to be rendered; 250 g was lost in store over the years."
    assert stock_sentences.store(4, -20, KG) == "4 lots of comb wait to be rendered."


@pytest.mark.parametrize(("unplaced_g", "counted", "ends"), [
    (0, None, "4.92 kg."),
    (-60, date(2026, 1, 2), "4.92 kg, 60 g less than the blocks add up to (whole shelf counted on 2026-01-02)."),
    (60, None, "4.92 kg, 60 g more than the blocks add up to (pours without draws)."),
])  # fmt: skip
def test_the_shelf_against_its_blocks(unplaced_g: float, counted: date | None, ends: str) -> None:
    found = Stock(date(2026, 11, 1), Decimal(4920), Decimal(unplaced_g), (), (), (), (), (), (), counted)
    assert stock_sentences.on_hand(found, KG) == f"Wax on hand on 2026-11-01: {ends}"
    assert stock_sentences.unplaced(unplaced_g) == ("more than the blocks" if unplaced_g > 0 else "less than the blocks")


def kind(now: int, low: int, high: int) -> Capacity:
    return Capacity("votive", 49.5, 50.0, None, now, low, (low + high) // 2, high, None, None, None)


NOTHING = Pending((), np.zeros((10, 0)), ())


def coming(*lots_g: float) -> Pending:
    lots = tuple(LotForecast(WaitingLot(f"harvest {n}", "cappings", 2 * g), ("solar",), date(2026, 11, 1), g, g, g) for n, g in enumerate(lots_g))
    return Pending(lots, np.tile(np.array(lots_g), (10, 1)), ())


def test_capacity_in_every_form() -> None:
    assert plan_sentences.capacity(None, KG).startswith("No kind of candle has a size and a recipe yet")
    assert plan_sentences.capacity(kind(99, 99, 99), KG).endswith("gives 99; no comb waits that would add to it.")
    assert plan_sentences.capacity(kind(99, 237, 253), KG).endswith("with the comb that waits, 237 to 253 (80 % range).")
    assert plan_sentences.wax_there(4920, NOTHING, KG) == "Wax on hand: 4.92 kg; still to come: none."
    assert plan_sentences.wax_there(4920, coming(700, 800), KG) == "Wax on hand: 4.92 kg; still to come: 1.5 kg to 1.5 kg (80 % range)."
    assert plan_sentences.unpriced(()) == []
    assert plan_sentences.unpriced(("oil", "wick")) == ["no cost is given under [costs] in book.toml for oil and wick: counted as 0"]
    assert plan_sentences.at_once(2790, "2026-11-01", KG).startswith("The step up on 2026-11-01 is about 2.8 kg of wax with no ready date:")


def forecast_of(n: int, inside: int, low: float | None, high: float | None) -> str:
    return plan_sentences.backtest(replace(NO_TEST, n=n, inside=inside, low=low, high=high), KG)


NO_TEST = backtest((), Priors.of([]))


def test_forecasts_in_every_form() -> None:
    assert forecast_of(0, 0, None, None).startswith("No session could be forecast")
    assert forecast_of(1, 1, 0.03, 1.0).startswith("The one session that could be forecast fell inside the 80 % range;")
    assert "fell outside" in forecast_of(1, 0, 0.0, 0.97)
    assert forecast_of(6, 5, 0.4, 0.99).endswith("fewer than ten are too few to judge.")
    assert forecast_of(20, 16, 0.56, 0.94) == "Of 20 sessions forecast from those before, 16 fell inside the 80 % range; that fits."
    assert forecast_of(40, 20, 0.34, 0.66).endswith("fewer than it promises: the ranges have been too narrow.")
    assert forecast_of(80, 80, 0.95, 1.0).endswith("more than it promises: the ranges have been wider than needed.")
    assert plan_sentences.score(NO_TEST) == ""
    assert plan_sentences.score(replace(NO_TEST, score=0.159, score_pooled=0.922)).startswith("Interval score 0.159; the plain yield of each kind of comb")


def planned(counts: list[tuple[int, int | None]], chance: float | None = 0.38, wait: bool = True) -> PlanAnswer:
    """Batches of (count, covered) votives at 100 g each, due in November; comb waits or not."""
    told = tuple(
        BatchForecast(f"P{n}", date(2026, 11, 21), date(2026, 11, 21), "votive", count, 100.0 * count, covered, chance, wait)
        for n, (count, covered) in enumerate(counts)
    )
    lack = 100.0 * sum(count - (covered or 0) for count, covered in counts if covered is not None)
    short = (Shortfall(date(2026, 11, 21), told[-1].batch, lack),) if lack else ()
    plan = Plan(told, short[0].date if short else None, lack, chance, (), short, ())
    to_come = coming(500.0) if wait else NOTHING
    return PlanAnswer(plan, mends(plan, to_come), 300.0, to_come, {})


def said(counts: list[tuple[int, int | None]], chance: float | None = 0.38, wait: bool = True) -> str:
    return plan_sentences.plan(planned(counts, chance, wait), KG)


def test_the_plan_covered_in_part_not_at_all_not_known() -> None:
    assert said([]).startswith("No batch is planned")
    assert said([(5, 5), (5, 5)]) == "The wax on hand covers all 2 planned batches."
    assert said([(5, 5)]) == "The wax on hand covers the one planned batch."
    assert said([(5, 5), (5, 3), (5, 0)]) == (
        "The wax on hand covers 1 of 3 planned batches; it first runs short on 2026-11-21, by 700 g. "
        "If what waits is melted in time, the chance for all of them is 38 %."
    )
    assert said([(5, 3), (5, 0)], wait=False) == (
        "The wax on hand covers none of 2 planned batches; it first runs short on 2026-11-21, by 700 g."
    )
    assert said([(5, 0)]) == (
        "The wax on hand does not cover the one planned batch; it runs short on 2026-11-21, by 500 g. "
        "If what waits is melted in time, the chance for it is 38 %."
    )
    assert said([(5, 0), (5, 0)], chance=0.0).endswith("the chance for all of them is under 1 %.")
    assert said([(5, 0), (5, 0)], chance=1.0).endswith("the chance for all of them is over 99 %.")
    assert said([(5, None)]) == "1 planned batch of a candle without size or recipe: its wax is not known."
    assert said([(5, 5), (5, None), (5, None)]).endswith(
        "the one planned batch; 2 planned batches of a candle without size or recipe: its wax is not known."
    )


def test_a_chance_that_hangs_on_melting_says_so() -> None:
    (told,) = planned([(5, 3)]).plan.batches
    assert plan_sentences.chance_cell(told, KG) == "38*"
    assert plan_sentences.chance_cell(replace(told, melted_in_time=False), KG) == "38"
    assert plan_sentences.MELTED.startswith("*: ")


def test_what_would_mend_a_plan() -> None:
    assert list(plan_sentences.ways(planned([(5, 5)]), KG)) == ["The wax on hand covers the plan."]
    assert list(plan_sentences.ways(planned([]), KG)) == []
    told = list(plan_sentences.ways(planned([(5, 3)]), KG))
    assert told[:3] == [
        "Short from 2026-11-21 on, by 200 g. Any one of these would mend it:",
        "1. Make 2 fewer of P0 (votive).",
        "2. Melt what waits, counted from today (enough with a chance of 90 %):",
    ]
    assert told[-1] == "   200 g by 2026-11-21"
    assert "   there is nothing that waits to be melted" in plan_sentences.ways(planned([(5, 3)], wait=False), KG)
    short = planned([(5, 3)])
    assert plan_sentences.mending(short.mends, KG)[0] == "To mend it: make 2 fewer of P0."
    assert plan_sentences.mending(short.mends, KG)[-1] == "Or: buy 200 g of wax by 2026-11-21."


def test_every_doubt_of_a_forecast_in_the_units_of_the_book() -> None:
    pounds = Units("lb oz", dates="month-first")
    told = {
        "nothing waits": {}, "judged ranges": {}, "judged refining": {}, "nothing planned": {}, "below nothing": {"stock_g": -453.59237},
        "unknown comb": {"comb": "heather"}, "own frames": {"comb": "brood comb", "each_g": 291.0, "harvests": 14},
        "judged frames": {"comb": "brood comb", "low_g": 100.0, "high_g": 400.0}, "lost all": {"lost": 1, "sessions": 4},
        "open ways": {"comb": "cappings", "ways": (("solar", 2), ("steam", 0))},
        "no ready date": {"sources": ("harvest H1", "harvest H2"), "on": date(2026, 11, 1)},
    }  # fmt: skip
    said = {what: forecast_doubt_sentences.sentence(Doubt(what, values), pounds) for what, values in told.items()}
    assert set(said) == set(forecast_doubt_sentences._SAYS)
    assert said["own frames"] == "brood comb counted in frames, not weighed: 10.3 oz a frame, by 14 harvests of this book"
    assert "3.5 oz to 14.1 oz a frame, a judged range" in said["judged frames"]
    assert said["open ways"].startswith("how cappings will be melted is not said, so it was drawn among solar (2) and steam;")
    assert said["no ready date"] == "no ready date for harvest H1 and harvest H2: counted as there on Nov 1, 2026"
    assert said["below nothing"].startswith("the shelf stands at -1 lb, below nothing")
    assert f"at a loss of {forecast_doubt_sentences.usual_refining_loss(pounds)}, as is usual" in said["judged refining"]
    assert said["lost all"] == "1 of 4 sessions lost all their wax: that chance is counted in"


def test_a_batch_whose_day_has_passed_or_whose_wax_is_not_known() -> None:
    (told,) = planned([(5, None)]).plan.batches
    late = replace(told, planned=date(2026, 10, 1), wax_g=None)
    assert forecast_doubt_sentences.batch_note(replace(told, wax_g=1.0), KG) == ""
    assert forecast_doubt_sentences.batch_note(late, KG) == "was planned for 2026-10-01, due today; the wax in this candle cannot be worked out"


def test_a_mix_and_what_could_not_count_in_it() -> None:
    found = MixAnswer(Mix((), 1000.0, 1810.0, True), "income", 1500.0, {}, ("taper",), ("rolled pair", "odd"), ("oil",), {})
    eur = Units(currency="EUR")
    assert plan_sentences.mix(found, eur) == "These candles bring in 1,810.00 EUR and take 1.00 kg of the 1.50 kg of wax."
    assert plan_sentences.mix(replace(found, aim="count"), eur).startswith("These are 1,810 candles and take 1.00 kg")
    assert "leave 1,810.00 EUR after their costs" in plan_sentences.mix(replace(found, aim="margin"), eur)
    assert plan_sentences.mix_notes(found) == [
        "no price for taper: worth nothing here", "no cost is given under [costs] in book.toml for oil: counted as 0",
        "left out: rolled pair and odd, which take no wax or whose wax is not known",
    ]  # fmt: skip
    late = replace(found, mix=replace(found.mix, proved=False), without_price=(), without_wax=(), unpriced=())
    assert plan_sentences.mix_notes(late) == ["the search ran out of time: a better mix may exist"]


def test_candles_there_none_and_more_sold_than_poured() -> None:
    eur = Units(currency="EUR")
    assert (stock_sentences.candles(104, 236, eur)) == "104 candles are on the shelf; sales of the latest season brought 236.00 EUR."
    assert stock_sentences.candles(1, 0, eur) == "1 candle is on the shelf; no sale is recorded."
    assert stock_sentences.candles(0, 0, eur).startswith("No candle is on the shelf;")
    assert stock_sentences.candles(-1, 0, eur).startswith("1 more candle was sold than poured: some batch is not logged;")
    assert stock_sentences.candles(-3, 0, eur).startswith("3 more candles were sold than poured")


def test_the_shelf_below_none_and_in_no_block() -> None:
    assert (stock_sentences.stock(Shelf(-200, 0), 0, 0, KG)).startswith("200 g more wax went off the shelf than came onto it: count the shelf")
    assert (stock_sentences.stock(Shelf(500, 0), 0, 0, KG)).startswith("500 g of wax is on the shelf, in no block that is named;")
    assert (stock_sentences.stock(Shelf(500, 1), 0, 0, KG)).startswith("500 g of wax lies on the shelf in 1 block;")
    assert "in 1 block;" in (stock_sentences.stock(Shelf(500, 1, -10), 0, 0, KG)), "inside the scatter of weighings"
    assert "in 1 block, 100 g less than it holds;" in (stock_sentences.stock(Shelf(500, 1, -100), 0, 0, KG))
    assert "in 3 blocks, and 100 g of it in none of them;" in (stock_sentences.stock(Shelf(500, 3, 100), 0, 0, KG))
    told = stock_sentences.shelf(("2025-10-26", "19.2 kg"), ("2022-01-02", "1.46 kg"))
    assert told == "The shelf held most on 2025-10-26 (19.2 kg) and least on 2022-01-02 (1.46 kg)."


def test_the_latest_session_with_and_without_a_yield() -> None:
    assert (season_and_loss_sentences.latest("R1", "2026-05-03", "4.00 kg", 0.325, KG)).endswith("was loaded with 4.00 kg and yielded 32.5 %.")
    assert season_and_loss_sentences.latest("R1", "2026-05-03", "4.00 kg", None).endswith("was loaded with 4.00 kg; it has no yield of its own.")


def test_what_of_a_big_book_the_page_looks_through() -> None:
    assert suspect_sentences.latest_sessions(2000, 90_000, KG).startswith("Balanced here: the latest 2,000 of 90,000 sessions;")
    assert "the latest 2,000 of each kind" in season_and_loss_sentences.latest_passes(2000, KG)


def test_a_remark_becomes_a_sentence() -> None:
    assert [season_and_loss_sentences.sentence(t) for t in ("no comb waits", "Is it so?")] == ["No comb waits.", "Is it so?"]


def test_combs_in_every_form() -> None:
    assert season_and_loss_sentences.combs([], KG).startswith("No yield by kind of comb yet")
    assert season_and_loss_sentences.combs([("cappings", 0.8, 0.75, 0.92), ("brood comb", 0.05, 0.07, 0.45)], KG) == (
        "Cappings gave most: 80.0 % of its weight as wax; brood comb came under the range known for the kind."
    )
    both = [("cappings", 0.8, 0.75, 0.92), ("brood comb", 0.5, 0.07, 0.45)]
    assert season_and_loss_sentences.combs(both, KG).endswith("brood comb came over the range known for the kind.")
    assert season_and_loss_sentences.combs([both[0], ("mixed", 0.4, 0.1, 0.9)], KG).endswith("every kind fits its known range, where it has one.")
    assert season_and_loss_sentences.combs(both[:1], KG) == "Cappings gave 80.0 % of its weight as wax; that fits the range known for the kind."
    assert season_and_loss_sentences.combs([("heather", 0.8, None, None)], KG) == "Heather gave 80.0 % of its weight as wax."


def test_what_is_not_known_is_a_dash_and_never_none() -> None:
    assert Units().mass_cell(None) == Units().mass_cell(float("nan")) == Units().share_cell(None) == Units().day(None) == "–"
    assert PAGE.number(-0.04, 1) == "0.0"
    assert PAGE.number(-1234.5, 1) == "−1\u202f234.5"


def test_dates_follow_the_book() -> None:
    day = date(2025, 8, 4)
    assert Units().day(day) == "2025-08-04"
    assert (Units(dates="day-first").day(day)) == "4 Aug 2025"
    assert (Units(dates="month-first").day(day)) == "Aug 4, 2025"


def test_control_characters_become_visible() -> None:
    assert visible("a\x00b\x1b[31m\u202ec\ud800") == "a\u2400b\u241b[31m\N{REPLACEMENT CHARACTER}c\N{REPLACEMENT CHARACTER}"


def test_comb_counted_in_frames_is_named_and_else_nothing_is_said() -> None:
    assert stock_sentences.by_frames(["H1", "H4"]) == "frames counted, comb not weighed: H1, H4"
    assert stock_sentences.by_frames([]) == ""


def test_every_sentence_is_tested_here() -> None:
    told = Path(__file__).read_text("utf-8")
    for module in (forecast_doubt_sentences, season_and_loss_sentences, plan_sentences, stock_sentences, suspect_sentences):
        for name, made in vars(module).items():
            if inspect.isfunction(made) and made.__module__ == module.__name__ and not name.startswith("_") and name != "capital":
                assert f".{name}(" in told, f"{module.__name__}.{name}"
