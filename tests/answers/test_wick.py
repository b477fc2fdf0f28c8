"""Wick by chart and by burn tests, on books of their own, through the command."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from tests.books import run, run_once, write

BLENDS = "blend,wax_pct,oil,oil_pct\npure,100,,\njar mix,70,coconut oil,30\n"
EIGHT = "wick,rank,from_diameter_mm,to_diameter_mm\n" + "".join(f"W{i},{i},{10 * i},{10 * i + 10}\n" for i in range(1, 9))
HEAD = "test,burn,date,candle,wick,time_h,pool_diameter_mm,pool_depth_mm,soot,went_out,signs"
GOOD = "3,65,10,none,no,"


def asked(folder: Path, burns: str = "", candle: str = "jar", kinds: str = "jar,container,jar mix,150,65,,65,W6", wicks: str = EIGHT, head: str = HEAD) -> Any:
    candles = "candle,form,blend,fill_mass_g,diameter_mm,top_diameter_mm,mouth_diameter_mm,wick\n" + kinds
    book = write(folder, blends=BLENDS, candles=candles, wicks=wicks, burns=f"{head}\n{burns}")
    ran = run_once("wick", book, candle, "--json")
    assert ran.code == 0, ran.err
    return ran.json


def test_the_worked_table_through_the_command(tmp_path: Path) -> None:
    burns = "A,1,2026-01-01,jar,W4,3,40,5,none,no,\nB,1,2026-01-02,jar,W7,3,65,10,heavy,no,\n"
    told = asked(tmp_path, burns)
    assert [c["wick"] for c in told["chances"]] == [f"W{i}" for i in range(1, 9)]
    assert [round(c["chance"], 3) for c in told["chances"]] == [0.031, 0.050, 0.058, 0.058, 0.437, 0.433, 0.046, 0.031]
    assert (told["choice"], told["next_test"]) == ("W5", "W5")
    told = asked(tmp_path, burns + f"C,1,2026-01-03,jar,W6,{GOOD}\n")
    assert round(told["chances"][5]["chance"], 3) == 0.932
    assert (told["choice"], told["next_test"]) == ("W6", None)
    assert [(v["test"], v["burn"], v["wick"], v["verdict"]) for v in told["verdicts"]] == [("A", 1, "W4", "small"), ("B", 1, "W7", "large"), ("C", 1, "W6", "right")]
    assert all(v["why"] for v in told["verdicts"])


def test_the_chart_goes_by_the_widest_inside_and_never_by_the_mouth(tmp_path: Path) -> None:
    told = asked(tmp_path, kinds="jar,container,jar mix,150,60,70,35,W6")
    assert told["chart"] == ["W6", "W7"]  # on the edge of two ranges both
    assert told["to_test"] == ["W5", "W6", "W7", "W8"]
    assert (told["choice"], told["next_test"], told["verdicts"]) == (None, "W6", [])
    assert any("narrower" in n for n in told["notes"])
    none = asked(tmp_path, f"A,1,2026-01-01,jar,W4,{GOOD}", kinds="jar,container,jar mix,150,,,65,W6")
    assert (none["chart"], none["to_test"], none["verdicts"][0]["verdict"]) == ([], [], "none")
    assert "diameter" in none["verdicts"][0]["why"]


SIGNS = [
    ("3,60,5,none,no,", "small", "60 mm"),
    ("3,65,10,heavy,no,", "large", "soot"),
    ("3,65,10,none,yes,", "large", "went out"),
    ("1,40,5,none,yes,", "small", "went out"),
    ("3,65,10,none,no,tunnel", "small", "wall"),
    ("3,65,10,none,no,sputtering", "none", "filter"),
    ("3,65,10,none,no,gutters", "large", "guttered"),
    ("3,65,16,none,no,", "large", "deep"),
    ("3,65,10,light,no,", "right", "wall"),
    ("2,65,10,none,no,", "none", "2 h"),
    ("3,,10,none,no,", "none", "pool_diameter"),
    ("3,65,,none,no,", "none", "pool_depth"),
]


def test_each_sign_on_a_test_of_its_own(tmp_path: Path) -> None:
    burns = "\n".join(f"T{i},1,2026-01-01,jar,W6,{seen}" for i, (seen, _, _) in enumerate(SIGNS))
    told = asked(tmp_path, burns)["verdicts"]
    for (seen, verdict, word), found in zip(SIGNS, told, strict=True):
        assert found["verdict"] == verdict, seen
        assert word in found["why"], seen


def test_verdicts_are_borrowed_in_the_one_direction_that_physics_allows(tmp_path: Path) -> None:
    kinds = "jar,container,jar mix,150,65,,65,W6\nwide,container,jar mix,200,80,,80,\nslim,container,jar mix,90,50,,50,\nother,container,pure,90,80,,80,"
    burns = f"A,1,2026-01-01,jar,W4,3,40,5,none,no,\nB,1,2026-01-02,jar,W7,3,65,10,heavy,no,\nC,1,2026-01-03,jar,W6,{GOOD}"
    told = {c: asked(tmp_path, burns, c, kinds) for c in ("wide", "slim", "other")}
    lent = {c: [(v["wick"], v["verdict"]) for v in answer["borrowed"]] for c, answer in told.items()}
    assert lent == {"wide": [("W4", "small")], "slim": [("W7", "large")], "other": []}
    assert told["wide"]["choice"] is not None  # borrowed readings count like own ones


def test_contradictions_are_shown(tmp_path: Path) -> None:
    told = asked(tmp_path, "A,1,2026-01-01,jar,W3,3,65,10,heavy,no,\nB,1,2026-01-02,jar,W5,3,40,5,none,no,")
    assert len(told["contradictions"]) == 1
    assert "repeat" in told["contradictions"][0]


def test_burning_time_from_mass_before_and_after(tmp_path: Path) -> None:
    head = "test,burn,date,candle,wick,time_h,mass_before_g,mass_after_g,pool_diameter_mm,pool_depth_mm"
    one = "A,1,2026-01-01,jar,W6,3,300,285,65,10\nA,2,2026-01-02,jar,W6,3,285,270,65,10\n"
    told = asked(tmp_path, one, head=head)
    assert told["burn_rate_g_per_h"] == {"low": None, "mid": 5.0, "high": None}
    assert told["burn_time_h"]["mid"] == 30
    told = asked(tmp_path, one + "B,1,2026-02-01,jar,W6,3,300,282,65,10\n", head=head)
    assert told["burn_rate_g_per_h"]["mid"] == 5.5
    assert told["burn_rate_g_per_h"]["low"] == pytest.approx(5.5 - 3.0776835 * 0.5)  # t of .9 with 1 degree of freedom: any table


def test_a_burn_that_has_not_happened_yet_says_nothing(tmp_path: Path) -> None:
    assert asked(tmp_path, f"A,1,2026-12-24,jar,W6,{GOOD}")["verdicts"] == []


def test_an_unknown_candle_and_an_empty_book_are_told(tmp_path: Path) -> None:
    assert asked(tmp_path, wicks="wick,rank,from_diameter_mm,to_diameter_mm")["chances"] == []
    ran = run("wick", tmp_path, "jra")
    assert (ran.code, "did you mean jar" in ran.err) == (2, True)


def test_the_cautions_stand_with_it(tmp_path: Path) -> None:
    asked(tmp_path)
    said = run("wick", tmp_path, "jar").out
    for word in ("in sight", "children", "hot", "Local rules"):
        assert word in said
    assert max(map(len, said.splitlines())) <= 80


def test_one_burn_too_small_speaks_for_no_smaller_size(tmp_path: Path) -> None:
    """A jar whose one test, of the largest size, was too small: a larger size is needed, and nothing else is said."""
    book = write(
        tmp_path,
        blends="blend,wax_pct\npure,100",
        wicks="wick,rank,from_diameter_mm,to_diameter_mm\nno 3,3,50,60\nno 4,4,60,75",
        candles="candle,form,blend,fill_mass_g,diameter_mm,wick\njar,container,pure,200,70,no 4",
        burns="test,burn,date,candle,wick,time_min,signs\nT1,1,2026-05-01,jar,no 4,200,tunnel",
        batches="batch,date,candle,count,status\nP1,2026-11-10,jar,2,planned",
        blocks="block,date,mass_g,supplier\nB1,2026-01-01,2000,neighbour",
    )
    told = run("wick", book, "jar").out
    assert "a larger size is needed" in told
    assert "speak for" not in told
    assert "no 3" not in run("pour", book, "P1").out
