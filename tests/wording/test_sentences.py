"""The sentences, each in every form, from figures made to produce it."""

from __future__ import annotations

import inspect
from datetime import date
from pathlib import Path

import pytest

from pipeline.wording import amounts, plan_sentences, season_sentences, stock_sentences
from pipeline.wording.amounts import Units
from pipeline.wording.season_sentences import Change, SeasonFigures
from pipeline.wording.stock_sentences import Shelf

KG = Units()


def plain(text: str) -> str:
    return text.replace("\u202f", " ")


def season(now: float | None, before: float | None = None, change: Change | None = None) -> str:
    this = SeasonFigures("2026", 63_100, 24_861, now)
    last = None if before is None else SeasonFigures("2025", 50_000, 50_000 * before, before)
    return plain(season_sentences.season(this, last, change, KG))


def test_a_season_under_the_last_with_the_rendering_as_usual() -> None:
    told = season(0.394, 0.415, Change("2025", "2026", -0.021, -0.025, 0.004, usual=True))
    assert told == (
        "The 63.10 kg of comb rendered in season 2026 gave 24.86 kg of wax, 39.4 %, 2.1 points under 2025; "
        "poorer comb makes −2.5, the rendering itself was as usual."
    )


@pytest.mark.parametrize(
    ("now", "before", "change", "ends"),
    [
        (0.394, None, None, "39.4 %; there is no earlier season to compare it with."),
        (0.394, 0.374, None, "2.0 points over 2025."),
        (0.394, 0.392, None, "about the same as in 2025."),
        (0.394, 0.374, Change("", "", 0.02, 0.001, 0.019, usual=False),
         "the comb was much the same, the rendering itself 1.9 points better, more than the usual scatter."),
        (0.394, 0.414, Change("", "", -0.02, 0.01, -0.03, usual=None),
         "richer comb makes +1.0, the rendering itself 3.0 points worse."),
        (0.394, 0.394, Change("", "", 0.0, 0.0, 0.0, usual=None), "about the same as in 2025; the rendering itself was as usual."),
    ],
)  # fmt: skip
def test_a_season_better_worse_unchanged_first(now: float, before: float | None, change: Change | None, ends: str) -> None:
    assert season(now, before, change).endswith(ends)


def test_a_season_of_nothing_and_of_too_little() -> None:
    assert season_sentences.season(None, None, None, KG).startswith("Nothing has been rendered yet: record a session")
    assert "weigh the comb" in season(None)


def seasons(*values: float, slope: tuple[float, float | None, float | None] | None = None, p: float | None = None) -> str:
    rows = [SeasonFigures(str(2020 + n), 1000, 1000 * v, v) for n, v in enumerate(values)]
    return plain(season_sentences.seasons(rows, slope, p))


def test_seasons_in_every_form() -> None:
    assert seasons() == "No season has a yield yet: weigh what goes in and what comes out."
    assert seasons(0.4) == "One season is recorded: a second one makes the first comparison."
    assert seasons(0.4, 0.5).endswith("2021 gave most for its comb (50.0 %); three seasons are the fewest that can show a direction.")
    assert seasons(0.4, 0.5, 0.6, slope=(0.1, None, None)).endswith("moved by +10.0 points a season, which so few seasons cannot prove.")
    assert seasons(*[0.4] * 5, slope=(0.02, 0.01, 0.03), p=0.017).endswith("(from +1.0 to +3.0), more than chance would make (p = 0.017).")
    assert seasons(*[0.4] * 5, slope=(-0.02, -0.05, 0.03), p=0.48).endswith("no more than chance makes (p = 0.48).")


def test_methods_that_changed() -> None:
    assert not season_sentences.by_methods(0.009)
    assert season_sentences.by_methods(-0.01)
    assert season_sentences.methods("2025", 0.067, 0.066) == "Into 2025, other methods gave 6.6 of the 6.7 points that the rendering gained."
    assert season_sentences.methods("2025", -0.03, -0.02) == "Into 2025, other methods took 2.0 of the 3.0 points that the rendering lost."
    assert season_sentences.methods("2025", 0.01, -0.02) == "Into 2025, other methods took 2.0 points."


def test_losses_more_less_the_same_first_none() -> None:
    assert season_sentences.losses([], None).startswith("No refining pass is recorded")
    assert plain(season_sentences.losses([("2026", 0.03)], None)) == "Refining lost 3.0 % of the wax it was given in season 2026."
    told = [plain(season_sentences.losses([("2025", 0.03), ("2026", now)], None)) for now in (0.05, 0.01, 0.031)]
    assert told[0].endswith("2.0 points more than in earlier seasons.")
    assert told[1].endswith("2.0 points less than in earlier seasons.")
    assert told[2].endswith("as in earlier seasons.")
    assert plain(season_sentences.losses([("2026", -0.003)], None)).startswith("Refining of season 2026 gave 0.3 % more wax than went in")
    assert plain(season_sentences.losses([("2026", 0.03)], ("press", 0.06))).endswith("press loses most (6.0 %).")


def test_control_in_every_form() -> None:
    assert season_sentences.control(0, 0, 0).startswith("No kind of pass has six weighed passes yet")
    assert season_sentences.control(1, 3, 2).startswith("1 pass lost more or less than the usual scatter allows")
    assert season_sentences.control(0, 1, 2) == "No pass went beyond its limits; 1 run of passes is worth a look."
    assert season_sentences.control(0, 4, 2) == "No pass went beyond its limits; 4 passes stand in a run that is worth a look."
    assert season_sentences.control(0, 0, 2) == "All passes stayed inside their usual scatter (2 kinds of pass watched)."


def test_attention_in_every_form() -> None:
    assert season_sentences.attention(0, 0, 0) == "The checks of every row found nothing to mend."
    assert season_sentences.attention(1, 2, 0).startswith("1 error and 2 warnings: rows with errors are in no figure")
    assert season_sentences.attention(0, 2, 1).startswith("2 warnings and 1 note: the weights named below do not fit")
    assert season_sentences.attention(0, 0, 3) == "3 notes, nothing that changes a figure."


def test_suspects_stock_capacity_plan_backtest() -> None:
    assert season_sentences.suspects(None, 0).startswith("Every balance that the weighings allow closes")
    told = plain(season_sentences.suspects(("blocks.csv line 3, mass", "4.31 kg", "3.41 kg", 0.98), 2))
    assert told == (
        "Look at blocks.csv line 3, mass: it says 4.31 kg, everything around it says 3.41 kg (98 % sure), the likeliest of 2 suspects."
    )
    told = plain(season_sentences.suspects(("blocks.csv, a row that is missing", "", "0.90 kg", 0.9), 1))
    assert told == "Look at blocks.csv, a row that is missing: everything around it says 0.90 kg (90 % sure)."
    told = plain(season_sentences.suspects(("blocks.csv line 3, mass", "4.31 kg", "", 0.6), 1))
    assert told == "Look at blocks.csv line 3, mass: it says 4.31 kg, nothing around it fits that (60 % sure)."
    assert "over 99 % sure" in plain(season_sentences.suspects(("a", "b", "c", 0.9999), 1))
    assert plain(stock_sentences.stock(Shelf(0, 0), 0, 0, KG)) == "No wax is on the shelf; no comb waits."
    assert plain(stock_sentences.stock(Shelf(4920, 8), 12_200, 4090, KG)) == (
        "4.92 kg of wax lies on the shelf in 8 blocks; 12.20 kg of comb waits to be rendered, and 4.09 kg is on hold."
    )
    assert stock_sentences.store(0, 0, KG) == "No comb waits to be rendered."
    assert plain(stock_sentences.store(1, 250, KG)) == "1 lot of comb waits to be rendered; 250 g was lost in store over the years."
    assert stock_sentences.store(4, -20, KG) == "4 lots of comb wait to be rendered."
    assert plan_sentences.capacity(None).startswith("No kind of candle has a size and a recipe yet")
    assert plan_sentences.capacity(("votive", 99, 99, 99)).endswith("gives 99; no comb waits that would add to it.")
    assert plan_sentences.capacity(("votive", 99, 237, 253)).endswith("between 237 and 253 (four times in five).")
    assert plain(plan_sentences.at_once(2790, "2026-11-01", KG)).startswith("The step up on 2026-11-01 is about 2.8 kg of wax that nobody")
    assert plan_sentences.backtest(0, 0, 0.8, None, None).startswith("No session could be forecast")
    assert plain(plan_sentences.backtest(1, 1, 0.8, 0.03, 1.0)).startswith("The one session that could be forecast came out inside the 80 % range;")
    assert "came out outside" in plan_sentences.backtest(1, 0, 0.8, 0.0, 0.97)
    assert plan_sentences.backtest(6, 5, 0.8, 0.4, 0.99).endswith("fewer than ten are too few to judge.")
    assert plain(plan_sentences.backtest(20, 16, 0.8, 0.56, 0.94)).endswith("as it should be.")
    assert plan_sentences.backtest(40, 20, 0.8, 0.34, 0.66).endswith("fewer than it promises.")
    assert plan_sentences.backtest(80, 80, 0.8, 0.95, 1.0).endswith("more than it promises.")


def plan(known: int, covered: int, unknown: int = 0, chance: float | None = 0.38) -> str:
    short = ("2026-11-21", "1.27 kg") if covered < known else None
    return plain(plan_sentences.plan(known, covered, unknown, short, chance))


def test_the_plan_covered_in_part_not_at_all_not_known() -> None:
    assert plan(0, 0).startswith("No batch is planned")
    assert plan(2, 2) == "The wax on hand covers all 2 planned batches."
    assert plan(1, 1) == "The wax on hand covers the one planned batch."
    assert plan(5, 1) == (
        "The wax on hand covers 1 of 5 planned batches; it first runs short on 2026-11-21, by 1.27 kg. "
        "With the comb that waits the chance for all of them is 38 %."
    )
    assert plan(5, 0, chance=None) == "The wax on hand covers none of 5 planned batches; it first runs short on 2026-11-21, by 1.27 kg."
    assert plan(1, 0) == (
        "The wax on hand does not cover the one planned batch; it runs short on 2026-11-21, by 1.27 kg. "
        "With the comb that waits the chance for it is 38 %."
    )
    assert plan(5, 1, chance=0.0).endswith("the chance for all of them is under 1 %.")
    assert plan(5, 1, chance=0.9999).endswith("the chance for all of them is over 99 %.")
    assert plan(0, 0, unknown=1) == "1 planned batch of a candle without size or recipe cannot be told."
    assert plan(2, 2, unknown=2).endswith("all 2 planned batches; 2 planned batches of a candle without size or recipe cannot be told.")


def test_candles_there_none_and_more_sold_than_poured() -> None:
    eur = Units(currency="EUR")
    assert plain(stock_sentences.candles(104, 236, eur)) == "104 candles are on the shelf; sales of the latest season brought 236.00 EUR."
    assert stock_sentences.candles(1, 0, eur) == "1 candle is on the shelf; no sale is recorded."
    assert stock_sentences.candles(0, 0, eur).startswith("No candle is on the shelf;")
    assert stock_sentences.candles(-1, 0, eur).startswith("1 more candle was sold than poured: some batch is not logged;")
    assert stock_sentences.candles(-3, 0, eur).startswith("3 more candles were sold than poured")


def test_the_shelf_below_none_and_in_no_block() -> None:
    assert plain(stock_sentences.stock(Shelf(-200, 0), 0, 0, KG)).startswith("200 g more wax went off the shelf than came onto it: count the shelf")
    assert plain(stock_sentences.stock(Shelf(500, 0), 0, 0, KG)).startswith("500 g of wax is on the shelf, in no block that is named;")
    assert plain(stock_sentences.stock(Shelf(500, 1), 0, 0, KG)).startswith("500 g of wax lies on the shelf in 1 block;")
    assert "in 1 block;" in plain(stock_sentences.stock(Shelf(500, 1, -10), 0, 0, KG)), "inside the scatter of weighings"
    assert "in 1 block, 100 g less than it holds by the logs;" in plain(stock_sentences.stock(Shelf(500, 1, -100), 0, 0, KG))
    assert "in 3 blocks, 100 g of it in none of them;" in plain(stock_sentences.stock(Shelf(500, 3, 100), 0, 0, KG))
    told = stock_sentences.shelf(("2025-10-26", "19.2 kg"), ("2022-01-02", "1.46 kg"))
    assert told == "The shelf held most on 2025-10-26 (19.2 kg) and least on 2022-01-02 (1.46 kg)."


def test_the_latest_session_with_and_without_a_yield() -> None:
    assert plain(season_sentences.latest("R1", "2026-05-03", "4.00 kg", 0.325)).endswith("was loaded with 4.00 kg and yielded 32.5 %.")
    assert season_sentences.latest("R1", "2026-05-03", "4.00 kg", None).endswith("was loaded with 4.00 kg; it has no yield of its own.")


def test_what_of_a_big_book_the_page_looks_through() -> None:
    assert plain(season_sentences.latest_sessions(2000, 90_000)).startswith("Balanced here: the latest 2 000 of 90 000 sessions;")
    assert "the latest 2 000 of each kind" in plain(season_sentences.latest_passes(2000))


def test_a_remark_becomes_a_sentence() -> None:
    assert [season_sentences.sentence(t) for t in ("no comb waits", "Is it so?")] == ["No comb waits.", "Is it so?"]


def test_combs_in_every_form() -> None:
    assert season_sentences.combs([]).startswith("No yield by kind of comb yet")
    assert plain(season_sentences.combs([("cappings", 0.8, 0.75, 0.92), ("brood comb", 0.05, 0.07, 0.45)])) == (
        "Cappings gave most: 80.0 % of its mass became wax; brood comb gave less than is usual for the kind."
    )
    both = [("cappings", 0.8, 0.75, 0.92), ("brood comb", 0.5, 0.07, 0.45)]
    assert season_sentences.combs(both).endswith("brood comb gave more than is usual for the kind.")
    assert season_sentences.combs([both[0], ("mixed", 0.4, 0.1, 0.9)]).endswith("every kind with a usual range lies inside it.")
    assert plain(season_sentences.combs(both[:1])) == "Cappings gave 80.0 % of its mass as wax; that is usual for the kind."
    assert plain(season_sentences.combs([("heather", 0.8, None, None)])) == "Heather gave 80.0 % of its mass as wax."


def test_what_is_not_known_is_a_dash_and_never_none() -> None:
    assert Units().mass_cell(None) == Units().mass_cell(float("nan")) == amounts.share_cell(None) == Units().day(None) == "–"
    assert amounts.number(-0.04, 1) == "0.0"
    assert amounts.number(-1234.5, 1) == "−1\u202f234.5"


def test_dates_follow_the_book() -> None:
    day = date(2025, 8, 4)
    assert Units().day(day) == "2025-08-04"
    assert plain(Units(dates="day-first").day(day)) == "4 Aug 2025"
    assert plain(Units(dates="month-first").day(day)) == "Aug 4, 2025"


def test_control_characters_become_visible() -> None:
    assert amounts.visible("a\x00b\x1b[31m\u202ec\ud800") == "a\u2400b\u241b[31m\N{REPLACEMENT CHARACTER}c\N{REPLACEMENT CHARACTER}"


def test_every_sentence_is_tested_here() -> None:
    told = Path(__file__).read_text("utf-8")
    for module in (season_sentences, plan_sentences, stock_sentences):
        for name, made in vars(module).items():
            if inspect.isfunction(made) and made.__module__ == module.__name__ and not name.startswith("_") and name != "capital":
                assert f".{name}(" in told, f"{module.__name__}.{name}"
