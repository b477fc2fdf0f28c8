"""The pour sheet: what to weigh, which blocks to take, the order, and what the book's own pours say."""

from __future__ import annotations

from datetime import date

import pytest

from pipeline.analyses.candle_ingredients import Candle
from pipeline.analyses.pour_sheet import (
    Block,
    Done,
    Pour,
    PourSheet,
    Workshop,
    choose,
    largest_first,
    sheet,
    to_step,
    usual,
)

DAY = date(2025, 11, 1)
DENSITIES = {"wax": 0.96, "oil": 0.92, "scent": 0.95}
JAR = Candle("jar", "container", 150, 100.03, wax_share=0.7, oil="coconut", oil_share=0.3, scent_share=0.05, wick="W4")


def block(name: str, day: int, mass_g: float, colour: str | None = None) -> Block:
    return Block(name, date(2025, 1, day), mass_g, colour)


def made(candle: Candle = JAR, shelf: tuple[Block, ...] = (), step_g: float = 5, small_step_g: float | None = None) -> PourSheet:
    pour = Pour("P1", DAY, 12, "planned", candle)
    return sheet(pour, [pour], shelf, Workshop(DENSITIES, step_g, small_step_g or step_g))


def test_ingredients_to_the_step_of_the_scale() -> None:
    told = {i.name: (i.mass_g, i.weigh_g) for i in made().ingredients}
    assert told["wax"] == (pytest.approx(1200.36), 1200)
    assert told["coconut"] == (pytest.approx(1200.36 * 30 / 70), 515)
    assert told["scent"] == (pytest.approx(1200.36 / 0.7 * 0.05), 85)
    fine = {i.name: i.weigh_g for i in made(small_step_g=0.1).ingredients}
    assert (fine["wax"], fine["scent"]) == (1200, pytest.approx(85.7))  # oil and scent on the small scale
    assert [to_step(x, 0.1) for x in (85.74, 85.76)] == pytest.approx([85.7, 85.8])


def test_blocks_oldest_first_with_one_cut_at_most() -> None:
    shelf = [block("C", 3, 500), block("A", 1, 300), block("B", 2, 400), block("gone", 1, 0)]
    assert [(b.block, b.mass_g, b.left_g) for b in choose(shelf, 900)] == [("A", 300, 0), ("B", 400, 0), ("C", 200, 300)]
    assert [b.block for b in choose(shelf, 700)] == ["A", "B"]
    assert choose(shelf, 0) == ()


def test_light_wax_for_light_candles_where_colours_are_logged() -> None:
    shelf = [block("old", 1, 400, "brown"), block("none", 2, 400), block("pale", 3, 400, "light yellow"), block("white", 4, 400, "white")]
    assert [b.block for b in choose(shelf, 1500, light=True)] == ["white", "pale", "none", "old"]
    assert [b.block for b in choose(shelf, 400)] == ["old"]


def test_too_little_wax_is_said() -> None:
    assert made(shelf=(block("A", 1, 700),)).short_g == 500
    assert made(shelf=(block("A", 1, 7000),)).short_g == 0


def test_largest_first() -> None:
    pours = [Pour(n, DAY, 1, "planned", Candle(n, "mould", fill, fill)) for n, fill in (("tea", 12.0), ("pillar", 300.0), ("odd", None))]
    assert largest_first(pours) == ("pillar", "tea", "odd")


def test_wax_is_kept_back_where_it_sinks() -> None:
    bar = Candle("bar", "mould", 100, 100)
    assert made(bar).keep_back_g == pytest.approx(1200 * 0.14, abs=3)
    assert made(Candle("taper", "dipped", 60, 60)).keep_back_g == 0


def test_two_sheets_on_following_days_share_no_gram() -> None:
    shelf = [block("A", 1, 700), block("B", 2, 800), block("C", 3, 900)]
    pours = [Pour(name, date(2025, 11, day), 10, "planned", Candle("bar", "mould", 100, 100)) for name, day in (("P1", 1), ("P2", 2), ("P3", 2))]
    at = Workshop(DENSITIES, 5, 5)
    sheets = [sheet(p, pours, shelf, at) for p in pours]
    assert [[(b.block, b.mass_g) for b in s.blocks] for s in sheets] == [[("A", 700), ("B", 300)], [("B", 500), ("C", 500)], [("C", 400)]]
    assert [s.short_g for s in sheets] == [0, 0, 600]
    assert sheets[2].promised == (("P1", 1000), ("P2", 1000))
    for b in shelf:
        assert sum(d.mass_g for s in sheets for d in s.blocks if d.block == b.block) <= b.mass_g
    poured = Pour("old", DAY, 10, "poured", Candle("bar", "mould", 100, 100))
    assert sheet(poured, pours, shelf, at).promised == ()


def test_the_usual_temperature_is_the_middle_of_flawless_pours() -> None:
    def done(temp: float | None, flawless: bool = True) -> Done:
        return Done("P", DAY, temp, None, 20.0, None, flawless)

    found = usual([done(66), done(68), done(71), done(80, flawless=False), done(None)], "pour")
    assert found is not None
    assert (found.temp_c, found.pours, found.low_c, found.high_c) == (68, 3, 66, 71)
    assert usual([done(66)], "scent") is None
    assert usual([], "room") is None
