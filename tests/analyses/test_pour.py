"""The pour sheet: what to weigh, which blocks to take, the order, the figures of the trade, and what to mind."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path

import pytest
from typer.testing import CliRunner

from pipeline.analyses.candle_capacity import Candle
from pipeline.analyses.pour_sheet import Block, Pour, PourSheet, Workshop, choose, largest_first, sheet, to_step
from pipeline.analyses.pour_steps import Place
from pipeline.cli import app

DAY = date(2025, 11, 1)
DENSITIES = {"wax": 0.96, "oil": 0.92, "scent": 0.95}
JAR = Candle("jar", "container", 150, 100.03, wax_share=0.7, oil="coconut", oil_share=0.3, scent_share=0.05, wick="W4")


def block(name: str, day: int, mass_g: float, colour: str | None = None) -> Block:
    return Block(name, date(2025, 1, day), mass_g, colour)


def made(candle: Candle = JAR, place: Place | None = None, shelf: tuple[Block, ...] = (), step_g: float = 5) -> PourSheet:
    return sheet(Pour("P1", DAY, 12, "planned", candle), [], shelf, Workshop(place or Place(), DENSITIES, step_g))


def words(told: PourSheet) -> str:
    return " ".join(s.sentence() for s in told.steps)


def test_ingredients_to_the_step_of_the_scale() -> None:
    told = {i.name: (i.mass_g, i.weigh_g) for i in made().ingredients}
    assert told["wax"] == (pytest.approx(1200.36), 1200)
    assert told["coconut"] == (pytest.approx(1200.36 * 30 / 70), 515)
    assert told["scent"] == (pytest.approx(1200.36 / 0.7 * 0.05), 85)
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


def test_figures_of_common_practice_in_fahrenheit_and_inches() -> None:
    # Common practice, no source: scent at 165-170 °F off the heat, pour at about 155 °F, wick 1 in over the jar, 1/4 in
    # off the bottom, trimmed to 1/4 in; a plastic tub takes 200 °F, 250 °F is a fire limit. Over 85 °C wax darkens.
    told = made(place=Place("F", "in", 101.6))
    said = words(told)
    for figure in ("165-171 °F", "154 °F", "5.00 in", "1.00 in longer", "0.25 in off the bottom", "Trim the wick to 0.25 in", "185 °F"):
        assert figure in said, figure
    assert "250 °F" in " ".join(told.cautions)
    assert "199 °F" in " ".join(told.cautions)


def test_every_step_has_a_reason_and_a_source() -> None:
    for candle in (JAR, Candle("taper", "dipped", 60, 60), Candle("sheet", "rolled", 30, 0.0)):
        assert all(s.text and s.why and s.source for s in made(candle).steps)
    assert "Krell 1996" in words(made())


def test_cautions_of_fire_burns_air_and_bees() -> None:
    said = " ".join(made().cautions).lower()
    for word in ("never put water on a wax fire", "never over a flame", "burns", "ventilate", "bees", "local", "glass"):
        assert word in said


def test_wax_is_kept_back_where_it_sinks() -> None:
    bar = Candle("bar", "mould", 100, 100)
    assert made(bar).keep_back_g == pytest.approx(1200 * 0.14, abs=3)
    assert made(Candle("taper", "dipped", 60, 60)).keep_back_g == 0


def test_rolled_candles_melt_nothing() -> None:
    told = made(Candle("sheet", "rolled", 30, 0.0))
    assert [i for i in told.ingredients if i.mass_g] == []
    assert any("nothing to melt" in n for n in told.notes)
    assert "hold" not in words(told)


def _run(*options: str) -> tuple[int, str, str]:
    demo = Path(__file__).parents[2] / "data" / "demo"
    result = CliRunner().invoke(app, ["pour", str(demo), *options, "--today", "2026-11-01"])
    return result.exit_code, result.stdout, result.stderr


def test_the_sheet_of_the_demo_prints_on_one_page(tmp_path: Path) -> None:
    code, out, _ = _run("P26-7", "--html", str(tmp_path / "sheet.html"))
    assert code == 0
    lines = out.splitlines()
    assert len(lines) <= 66
    assert max(map(len, lines)) <= 80
    assert "lavender oil" in (tmp_path / "sheet.html").read_text("utf-8")


def test_the_sheet_for_other_programs() -> None:
    code, out, _ = _run("P26-7", "--json")
    told = json.loads(out)
    assert code == 0
    assert {"ingredients", "blocks", "steps", "cautions"} <= told.keys()
    assert {"name", "mass_g"} <= told["ingredients"][0].keys()
    wax = next(i for i in told["ingredients"] if i["name"] == "wax")
    assert sum(b["mass_g"] for b in told["blocks"]) + told["short_g"] == pytest.approx(wax["weigh_g"])
    assert all(isinstance(s, str) for s in told["steps"])


def test_an_unknown_batch_is_wrong_use() -> None:
    code, _, err = _run("P26-9")
    assert code == 2
    assert "did you mean" in err
