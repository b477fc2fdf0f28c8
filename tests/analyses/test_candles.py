"""How many candles: sizes and how sure they are, capacity, cost and margin, and the commands that look ahead."""

from __future__ import annotations

import json
import math
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import uncertainties
import uncertainties.umath
from typer.testing import CliRunner

from pipeline.analyses.candle_capacity import capacities, kinds_for
from pipeline.analyses.candle_cost import Costs
from pipeline.analyses.candle_ingredients import Candle, sink_of
from pipeline.analyses.candle_mass_sureness import (
    Vessel,
    from_vessel,
    from_volume,
    mixture_density,
    sink_share,
    weighed,
)
from pipeline.analyses.pending_wax import DRAWS, Pending
from pipeline.answers.candle_kinds import candle_kinds, costs
from pipeline.answers.capacity import capacity
from pipeline.book.book_settings import Book
from pipeline.cli import app
from pipeline.flow import Loaded
from pipeline.reading.all_logs import Reading
from tests.books import write_kept
from tests.small_books import figures, row

TODAY = "2025-09-01"
DENSITIES = {"wax": 0.96, "oil": 0.92, "scent": 0.95}
NOTHING = Pending((), np.zeros((DRAWS, 0)), ())

BLENDS = """
blend,wax_pct,oil,oil_pct,scent,scent_pct
pure,100,,,,
jar,70,coconut,30,,
scented,70,coconut,30,lavender,5
"""
CANDLES = """
candle,form,blend,fill_mass_g,fill_volume_ml,diameter_mm,height_mm,top_diameter_mm,headspace_mm,pour_loss_pct,price,other_cost,work_time_min
bar,mould,pure,100,,,,,,0,5,0.5,6
tin,container,scented,,100,,,,,0,9,1,0
glass,container,pure,,,50,80,60,,0,,,
rolled,rolled,pure,30,,,,,,,4,1,
"""


# Sizes ------------------------------------------------------------------------------------------------------------


def test_mixture_density_is_not_the_mean_of_densities() -> None:
    # Engineering ToolBox, mixture density: 30 % of 2500 in 70 % of 1000 kg/m3 is about 1220, not 1450.
    assert mixture_density({"sand": 0.3, "water": 0.7}, {"sand": 2500, "water": 1000}) == pytest.approx(1219.51, abs=0.01)


@pytest.mark.parametrize(("shares", "densities"), [({"wax": 0.9}, {"wax": 1}), ({"wax": 1.0}, {"wax": 0})])
def test_mixture_refuses_shares_that_do_not_sum_and_no_density(shares: dict[str, float], densities: dict[str, float]) -> None:
    with pytest.raises(ValueError, match=r"sum to|above 0"):
        mixture_density(shares, densities)


def test_frustum_against_the_integral_and_the_cone_and_cylinder() -> None:
    # Moscow papyrus problem 14 is the square frustum (6, 4, 2: 56); round with those radii it is 56 pi.
    assert Vessel(80, 60, 40).volume_ml == pytest.approx(56 * math.pi)
    assert Vessel(60, 80).volume_ml == pytest.approx(math.pi * 3**2 * 8)
    assert Vessel(60, 80, 0.0).volume_ml == pytest.approx(math.pi * 3**2 * 8 / 3)
    steps = (np.arange(100_000) + 0.5) / 100_000 * 70
    across = 50 + (60 - 50) * steps / 80
    assert Vessel(50, 80, 60, 10).volume_ml == pytest.approx(float(np.mean(np.pi * across**2 / 4) * 70 / 1000))
    assert Vessel(50, 10, 60, 10).volume_ml == 0


def test_uncertainty_of_a_tapered_candle_agrees_with_the_uncertainties_library() -> None:
    # Diameters 6.0 and 5.0 cm, height 8.0 cm, each +- 0.05; density .96 +- .005: 183.0 +- 2.8 g by the GUM.
    d, t, h = (uncertainties.ufloat(x, 0.5) for x in (50, 60, 80))
    rho = uncertainties.ufloat(0.96, 0.005)
    oracle = math.pi * h * (d * d + d * t + t * t) / 12 / 1000 * rho
    vessel = Vessel(50, 80, 60)
    told = from_vessel(vessel, vessel.volume_ml * 0.96, 0.96)
    assert vessel.volume_ml * 0.96 == pytest.approx(183.0, abs=0.05)
    assert oracle.nominal_value == pytest.approx(183.0, abs=0.05)
    assert told.u_g == pytest.approx(oracle.std_dev, rel=0.01)
    assert told.u_g == pytest.approx(2.8, abs=0.15)
    assert "diameter" in told.decides
    assert "weigh one finished candle" in told.advice


def test_a_weighed_candle_is_surest() -> None:
    assert weighed(5).u_g == pytest.approx(5 / math.sqrt(12))
    volume = from_volume(96, 0.96)
    assert weighed(1).u_g < volume.u_g < from_vessel(Vessel(50, 51), 96, 0.96).u_g


def test_how_far_a_candle_sinks() -> None:
    # 100 ml, liquid .80, solid .96: 80 g at first, 16.67 ml missing.
    assert 100 * sink_share(0.96, 0.80) == pytest.approx(16.67, abs=0.005)
    assert sink_share(0.917, 1.0) == 0  # water to ice does not sink
    # Published densities of beeswax, 75 °C liquid to 25 °C solid: 13-15 % of volume.
    assert 0.13 <= sink_of(Candle("bar", "mould", 100, 100), DENSITIES) <= 0.15


# Wax in a candle: the model's number, and what is made of it ----------------------------------------------------------


def test_the_model_and_the_analysis_know_the_same_frustum() -> None:
    shelf = figures(blends=BLENDS, candles=CANDLES)
    assert row(shelf, "wax_per_candle", candle="glass")["fill_g"] == pytest.approx(Vessel(50, 80, 60).volume_ml * 0.96)


def test_seventy_to_thirty_splits_24_ounces_into_16_8_and_7_2() -> None:
    # Common practice, no source: a container blend of 70 : 30, and 1-2 oz of scent in 24 oz of wax and oil.
    ounce = 28.349523125
    plain = Candle("jar", "container", 24 * ounce, 16.8 * ounce, wax_share=0.7, oil_share=0.3)
    assert [g / ounce for g in plain.parts_g.values()] == pytest.approx([16.8, 7.2])
    for scent, share in ((1, 0.0417), (2, 0.0833)):
        scented = Candle("jar", "container", 0, 16.8 * ounce, wax_share=0.7, oil_share=0.3, scent_share=scent / 24)
        assert scented.parts_g["scent"] / ounce == pytest.approx(scent)
        assert scented.scent_share == pytest.approx(share, abs=0.0001)


def test_parts_of_the_model_sum_to_the_fill() -> None:
    ahead = maker()
    tin = next(c for c in candle_kinds(ahead) if c.candle == "tin")
    assert sum(tin.parts_g.values()) == pytest.approx(tin.fill_g)
    assert tin.wax_each_g == pytest.approx((tin.fill_g or 0) * 0.7 / 1.05)


def maker(today: str = "2025-09-01", **logs: str) -> Loaded:
    tables = {"blends": BLENDS, "candles": CANDLES} | logs
    costs = {"wax": 14.0, "oil": 6.0, "hour": 12.0}
    day = date.fromisoformat(today)
    return Loaded(Book(Path(), "test", costs=costs), day, day, figures(today, **tables), Reading({}, {}, [], {}), [], [])


BLOCK = "block,date,mass_g,supplier\nB1,2025-01-01,1000,before this book\n"


def test_capacity_now_and_with_what_is_to_come() -> None:
    bar = capacity(maker(blocks=BLOCK)).rows[0]
    assert (bar.candle, bar.now, bar.low, bar.mid, bar.high) == ("bar", 10, 10, 10, 10)
    waiting = "harvest,date,comb,mass_g\nH1,2025-08-01,cappings,1000\n"
    more = capacity(maker(blocks=BLOCK, harvests=waiting)).rows[0]
    assert more.now == 10
    assert more.now < (more.low or 0) < (more.mid or 0) < (more.high or 0) <= 20


def test_capacity_counts_whole_candles_never_below_none_and_no_rolled_ones() -> None:
    bar, _, glass, rolled = capacity(maker(blocks=BLOCK.replace("1000", "999.99"))).rows
    assert bar.now == 9
    assert (rolled.now, rolled.low, rolled.wax_each_g) == (None, None, 0)
    assert glass.margin_each is None  # no price, no margin
    assert capacities([Candle("bar", "mould", 100, 100)], -300, NOTHING, Costs({}, None))[0].now == 0


def test_cost_and_margin_of_one() -> None:
    bar, tin, *_ = capacity(maker()).rows
    assert bar.cost_each == pytest.approx(0.1 * 14 + 0.5 + 6 / 60 * 12)
    assert bar.margin_each == pytest.approx(5 - (bar.cost_each or 0))
    wax_g, oil_g = tin.wax_each_g or 0, (tin.wax_each_g or 0) * 30 / 70
    assert tin.cost_each == pytest.approx(wax_g * 0.014 + oil_g * 0.006 + 1)  # the scent has no cost: 0, and said
    ahead = maker()
    assert capacity(ahead).unpriced == ("lavender",)


def test_a_candle_of_unknown_size_has_no_figures() -> None:
    odd = capacities([Candle("odd", "mould", None, None, price=3)], 1000, NOTHING, Costs({}, None))[0]
    assert (odd.now, odd.cost_each, odd.margin_each) == (None, None, None)
    assert "cannot be worked out" in (odd.note or "")


def test_worth_under_each_aim() -> None:
    ahead = maker()
    worth = {aim: {k.candle: k.worth for k in kinds_for(candle_kinds(ahead), aim, costs(ahead))} for aim in ("income", "margin", "count")}
    assert worth["income"] == {"bar": 5, "tin": 9, "glass": 0}
    assert worth["count"]["glass"] == 1
    assert worth["margin"]["bar"] == pytest.approx(1.9)


def test_stock_of_candles_is_good_ones_less_sold() -> None:
    shelf = figures(
        blends=BLENDS, candles=CANDLES,
        batches="batch,date,candle,count,status,good\nP1,2025-01-01,bar,12,poured,11\nP2,2025-02-01,bar,5,poured,\nP3,2025-03-01,bar,9,planned,\n",
        sales="date,candle,count,price\n2025-03-01,bar,4,5.5\n",
    )  # fmt: skip
    assert row(shelf, "candle_stock", candle="bar")["count"] == 11 + 5 - 4


# The commands -------------------------------------------------------------------------------------------------------


def run(*words: str) -> Any:
    return CliRunner().invoke(app(), [*words, "--today", TODAY])


def document(*words: str) -> Any:
    result = run(*words, "--json")
    assert result.exit_code == 0, result.output
    return json.loads(result.stdout)


@pytest.fixture
def book(tmp_path: Path) -> Path:
    return write_kept(
        tmp_path / "book", today=TODAY,
        blends="blend,wax_pct\npure,100",
        candles="candle,form,blend,fill_mass_g,pour_loss_pct,price\nbar,mould,pure,100,0,5\ntea,mould,pure,12.5,0,0.9",
        blocks="block,date,mass_g,supplier\nB1,2025-01-01,1000,before this book",
        batches="batch,date,candle,count,status\nP1,2025-08-20,bar,6,planned\nP2,2025-10-01,bar,6,planned\nP3,2025-10-01,tea,8,planned",
    )  # fmt: skip


def test_capacity_prints_the_contracts_keys(book: Path) -> None:
    (bar, tea) = document("capacity", str(book))
    assert {"candle", "wax_each_g", "fill_g", "now", "low", "mid", "high", "cost_each", "margin_each"} <= bar.keys()
    assert (bar["now"], tea["now"]) == (10, 80)


def test_plan_prints_the_contracts_keys(book: Path) -> None:
    told = document("plan", str(book))
    sure, never = pytest.approx(1, abs=1e-4), pytest.approx(0, abs=1e-4)  # no chance is ever certain
    assert [(b["batch"], b["date"], b["covered"], b["chance"]) for b in told["batches"]] == [
        ("P1", "2025-09-01", 6, sure), ("P2", "2025-10-01", 4, never), ("P3", "2025-10-01", 0, never),
    ]  # fmt: skip
    assert all(0 < b["chance"] < 1 for b in told["batches"])
    assert told["batches"][0]["note"] == "was planned for 2025-08-20, due today"
    assert (told["short_on"], told["short_g"]) == ("2025-10-01", 300)
    today = told["on_hand"][0]
    assert (today["date"], today["mid_g"]) == ("2025-09-01", 400)
    assert 390 < today["low_g"] < 400 < today["high_g"] < 410  # the scale's own doubt


def test_mix_prints_the_contracts_keys(book: Path) -> None:
    told = document("mix", str(book), "--aim", "income", "--min", "bar=3", "--max", "tea=7")
    assert told["candles"] == [{"candle": "bar", "count": 9}, {"candle": "tea", "count": 7}]
    assert (told["wax_g"], told["value"]) == (987.5, pytest.approx(51.3))


@pytest.mark.parametrize(
    ("words", "said"),
    [(["--min", "bar=11"], "at least 11 of bar do not fit"), (["--min", "pillar=1"], "bar, tea"), (["--max", "bar"], "CANDLE=N"),
     (["--max", "bar=-1"], "CANDLE=N"), (["--wax", "5"], "unit"), (["--aim", "joy"], "joy")],
)  # fmt: skip
def test_mix_says_which_wish_is_wrong(book: Path, words: list[str], said: str) -> None:
    result = run("mix", str(book), *words)
    assert result.exit_code == 2
    assert said in result.stderr


def test_backtest_of_a_book_without_sessions(book: Path) -> None:
    told = document("backtest", str(book))
    assert {"n", "inside", "level", "low", "high", "score", "score_pooled"} <= told.keys()
    assert (told["n"], told["low"], told["score"]) == (0, None, None)


@pytest.mark.parametrize(
    ("log", "text"),
    [("batches", "batch,date,candle,count,status\nP1,2025-10-01,ghost,6,planned\n"),
     ("blends", "blend,wax_pct,oil,oil_pct\npure,70,coconut,20\n"),
     ("candles", "candle,form,blend,fill_mass_g,fill_volume_ml,diameter_mm,height_mm\nbar,mould,pure,,,50,\ntea,mould,pure,12.5,,,\n")],
)  # fmt: skip
def test_unknown_candle_bad_recipe_and_no_size_stop_with_a_sentence(book: Path, log: str, text: str) -> None:
    (book / f"{log}.csv").write_text(text)
    result = run("plan", str(book))
    assert result.exit_code == 1
    assert log in result.stderr
    going_on = run("plan", str(book), "--leave-out", "--json")
    assert going_on.exit_code == 0
    assert json.loads(going_on.stdout)["batches"] is not None


def test_tables_fit_eighty_columns(book: Path) -> None:
    for command in ("capacity", "plan", "mix", "backtest"):
        result = run(command, str(book))
        assert result.exit_code == 0, result.stderr
        assert [line for line in result.stdout.splitlines() if len(line) > 80] == []
