"""Each sign of a burn on a book of its own, and a series of sizes, as ``wick --json`` tells them. Common practice, no source.

Only the models that the answer asks are run, so that a book costs little.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import pytest

from pipeline.answers import wick
from pipeline.answers.as_json import as_json
from pipeline.book.book_settings import Book
from pipeline.cli.commands_wicks_flaws_market import wick_data
from pipeline.database.findings_and_origin_tables import Run
from pipeline.flow import Loaded
from pipeline.wording.amounts import Units
from tests.small_books import figures

DAY = date(2026, 11, 1)
HEAD = "test,burn,date,candle,wick,time_min,pool_diameter_mm,pool_depth_mm,flame_height_mm,soot,went_out,signs"
JAR = "it,container,jar mix,150,65,65"
NARROW = "it,container,jar mix,150,65,35"
PILLAR = "it,mould,pure,150,65,"
TAPER = "it,dipped,pure,60,,"
ROLLED = "it,rolled,pure,60,,"


def told(candle: str, *burns: str) -> Any:
    """The answer for the one candle of a book with these burns."""
    warehouse = figures(
        blends="blend,wax_pct,oil,oil_pct\npure,100,,\njar mix,70,coconut oil,30",
        candles=f"candle,form,blend,fill_mass_g,diameter_mm,mouth_diameter_mm\n{candle}",
        wicks="wick,rank,from_diameter_mm,to_diameter_mm\nW1,1,40,55\nW2,2,55,70\nW3,3,70,85",
        burns="\n".join([HEAD, *burns]),
    )  # fmt: skip
    loaded = Loaded(Book(Path(), "test"), DAY, DAY, warehouse, Run({}, {}, [], []), None, None)
    found = wick.wick(loaded, "it")
    assert found is not None
    return as_json(wick_data(found, Units()))


@pytest.mark.parametrize(
    ("candle", "seen", "verdict", "word"),
    [
        # whatever the form
        pytest.param(JAR, "180,65,10,30,none,no,tunnel", "small", "wall", id="tunnel"),
        pytest.param(JAR, "180,65,10,30,none,yes,drowned", "small", "drowned", id="small in a deep pool"),
        pytest.param(JAR, "180,65,10,30,heavy,no,", "large", "soot", id="heavy soot"),
        pytest.param(JAR, "180,65,10,30,light,no,", "right", "wall", id="light soot decides nothing"),
        pytest.param(JAR, "180,65,10,80,none,no,", "large", "80 mm", id="tall flame"),
        pytest.param(JAR, "180,65,10,30,none,yes,gutters", "large", "guttered", id="gutters out deep in the jar"),
        pytest.param(JAR, "180,40,10,30,heavy,no,sputtering", "none", "filter", id="dirty wax spoils the burn"),
        # a container: the pool reaches the wall, and not deep
        pytest.param(JAR, "180,65,10,30,none,no,", "right", "at the wall", id="pool at the wall"),
        pytest.param(JAR, "180,55,5,30,none,no,", "small", "55 mm", id="pool short of the wall"),
        pytest.param(JAR, "180,65,18,30,none,no,", "large", "18 mm", id="pool deep"),
        pytest.param(JAR, "60,30,5,30,none,yes,", "small", "went out", id="went out before the wall"),
        pytest.param(JAR, "180,65,10,30,none,yes,", "large", "went out", id="went out with the pool at the wall"),
        pytest.param(JAR, "120,55,5,30,none,no,", "none", "2 h", id="under an hour for each inch"),
        pytest.param(NARROW, "180,65,10,30,heavy,no,", "large", "soot", id="soot under a narrow mouth"),
        # a moulded pillar: it stops 6-12 mm short, and reaching the edge is too hot
        pytest.param(PILLAR, "180,47,5,30,none,no,", "right", "9 mm", id="rim of 9 mm"),
        pytest.param(PILLAR, "180,35,5,30,none,no,", "small", "15 mm", id="rim of 15 mm"),
        pytest.param(PILLAR, "180,61,5,30,none,no,", "large", "2 mm", id="pool at the edge"),
        # dipped and rolled: no pool; drips, flame and soot decide
        pytest.param(TAPER, "60,,,40,none,no,drips", "large", "dripped", id="drips"),
        pytest.param(TAPER, "60,,,40,none,yes,", "small", "went out", id="a taper that went out"),
        pytest.param(ROLLED, "60,,,90,none,no,", "large", "90 mm", id="tall flame of a rolled candle"),
        pytest.param(ROLLED, "60,,,40,none,no,", "right", "no drips", id="a clean rolled candle"),
    ],
)
def test_each_sign_on_a_book_of_its_own(candle: str, seen: str, verdict: str, word: str) -> None:
    found = told(candle, f"T1,1,2026-10-01,it,W2,{seen}")
    (burn,) = found["verdicts"]
    assert (burn["wick"], burn["verdict"]) == ("W2", verdict)
    assert word in burn["why"]
    assert any("soot is likelier" in note for note in found["notes"]) == (candle == NARROW)


def test_of_three_sizes_the_middle_is_chosen_where_the_smallest_tunnels_and_the_largest_gutters() -> None:
    series = (
        "A,1,2026-10-01,it,W1,180,45,5,20,none,no,tunnel",
        "B,1,2026-10-02,it,W2,180,65,10,30,none,no,",
        "C,1,2026-10-03,it,W3,180,65,14,40,none,yes,gutters",
    )
    found = told(JAR, *series)
    assert [v["verdict"] for v in found["verdicts"]] == ["small", "right", "large"]
    assert (found["choice"], found["next_test"]) == ("W2", None)
    assert max(found["chances"], key=lambda c: c["chance"])["wick"] == "W2"
    assert found["contradictions"] == []
    assert told(JAR, *reversed(series))["choice"] == "W2"  # whichever was burned first
