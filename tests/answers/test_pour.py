"""The sheet of one batch: read through with the question "what do I do now?", on the terminal, as JSON and on paper."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.books import ROOT, run, write

DEMO = ROOT / "data" / "demo"
BLENDS = "blend,wax_pct,oil,oil_pct,scent,scent_pct\npure,100,,,,\ntin mix,70,coconut oil,30,rose,6.25\n"
CANDLES = """candle,form,blend,fill_mass_oz,diameter_in,height_in,wick,pour_loss_pct
tin,container,tin mix,2.125,2.5,4,W,0
bar,mould,pure,4,2,3,W,0
taper,dipped,pure,2,,8,W,0
roll,rolled,pure,2,,8,W,0
"""
BATCHES = """batch,date,candle,count,status,pour_temp_f,scent_temp_f,room_temp_f,flaws
A,2026-01-01,tin,6,poured,150,168,70,
B,2026-02-01,tin,6,poured,153,168,72,bloom
C,2026-03-01,tin,6,poured,170,168,60,sinkhole
P,2026-12-01,tin,12,planned,,,,
Q,2026-12-02,bar,6,planned,,,,
R,2026-12-03,taper,6,planned,,,,
S,2026-12-04,roll,6,planned,,,,
"""
SETTINGS = """name = "test"
[show]
mass = "lb"
length = "in"
temperature = "F"
[scale.blends]
step_g = 2.8349523125
[vessels]
"dipping vat" = { empty = "2 lb", full = "14 lb" }
"""


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write(
        tmp_path_factory.mktemp("tins"), SETTINGS, blends=BLENDS, candles=CANDLES, batches=BATCHES,
        wicks="wick,rank,from_diameter_in,to_diameter_in\nW,1,2,3", blocks="block,date,mass_lb,supplier\nX,2026-01-01,2,before this book",
    )  # fmt: skip


def said(book: Path, batch: str) -> str:
    ran = run("pour", book, batch)
    assert ran.code == 0, ran.err
    assert max(map(len, ran.out.splitlines())) <= 80
    return " ".join(ran.out.replace(" \\\n", " ").split())


def test_a_recipe_of_24_oz_is_weighed_in_ounces(book: Path) -> None:
    """24 oz at 70 / 30 are 16.8 oz and 7.2 oz, scented at 1.5 oz (common practice, no source)."""
    told = run("pour", book, "P", "--json").json
    oz = {i["name"]: i["mass_g"] / 28.349523125 for i in told["ingredients"]}
    assert oz == pytest.approx({"wax": 16.8, "coconut oil": 7.2, "rose": 1.5})
    text = said(book, "P")
    for words in ("(16.8 oz)", "coconut oil: 7.2 oz", "rose: 1.5 oz", "1.0 oz to 2.0 oz is usual"):
        assert words in text, words
    assert "0.45 lb" not in text


def test_what_the_book_knows_stands_on_the_sheet(book: Path) -> None:
    text = said(book, "P")
    for words in (
        "2.5 in across inside, 4 in high", "(C, 2026-03-01) went wrong: sinkhole", "pour at 152 °F", "2 pours without a flaw, from 150-153 °F",
        "scent in at 168 °F", "room of 71 °F", "tabbed to the bottom, or hung 0.25 in off it", "Trim the wick to 0.25 in", "plastic only under 200 °F", "to 5 in, 1 in longer",
    ):  # fmt: skip
        assert words in text, words
    assert "P: 12 x tin of 2.1 oz, 2026-12-01" in text
    assert "Now: pour cooler, as a film forms" in text  # what to change after the flaw of last time
    assert "12 pieces of wick W" in text
    assert "of this, keep back" in text
    assert "Planned before it" not in text
    assert "P 1.05 lb" in said(book, "Q")


def test_each_form_has_its_own_steps(book: Path) -> None:
    assert "through the mold" in said(book, "Q")  # as America spells it
    dipped = said(book, "R")
    assert "the dipping vat holds back 12" in dipped
    assert "longer than the candle shall be" in dipped
    assert "until each weighs 2.0 oz" in dipped
    assert "lacking on the shelf (not enough for one): pour fewer" in dipped
    assert "wax: 12.0 oz Blocks" in dipped  # said once where both units are one
    assert "vessel is high" not in dipped
    rolled = said(book, "S")
    assert "nothing to melt" in rolled
    assert "hold at" not in rolled
    assert "in sight" in rolled


def test_every_sheet_carries_the_cautions(book: Path) -> None:
    for batch in "PQR":
        text = said(book, batch).lower()
        for word in ("never water", "never over a flame", "burns skin", "ventilate", "bees", "local rules", "250 °f"):
            assert word in text, word
    assert "glass" in said(book, "P")


def test_every_step_has_a_reason_and_a_source(book: Path) -> None:
    for batch in "PQRS":
        steps = run("pour", book, batch, "--json").json["steps"]
        assert steps
        assert all(s.endswith(")") and "; " in s for s in steps)


def test_what_was_measured_has_a_place_and_goes_back_into_the_book(book: Path) -> None:
    text = said(book, "P")
    for words in ("poured on: ____", "wax: ____ °F", "came out right: ____ of 12", "X: ________", f"combtally record {book}", "batch batch=P", "status=poured", "block=X", "pour_temp='… °F'", "sinkhole, crack"):
        assert words in text, words


def test_the_sheet_of_the_demo_prints_on_one_page(tmp_path: Path) -> None:
    ran = run("pour", "data/demo", "P26-7", "--html", tmp_path / "sheet.html")
    assert ran.code == 0
    assert len(ran.out.splitlines()) <= 66
    assert "lavender oil" in (tmp_path / "sheet.html").read_text("utf-8")


def test_the_sheet_for_other_programs() -> None:
    told = run("pour", DEMO, "P26-4", "--json").json
    assert {"ingredients", "blocks", "steps", "cautions"} <= told.keys()
    wax = next(i for i in told["ingredients"] if i["name"] == "wax")
    assert sum(b["mass_g"] for b in told["blocks"]) + told["short_g"] == pytest.approx(wax["weigh_g"])


def test_an_unknown_batch_is_wrong_use() -> None:
    ran = run("pour", DEMO, "P26-9")
    assert (ran.code, "did you mean" in ran.err) == (2, True)
