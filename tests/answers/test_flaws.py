"""What went wrong in pours, through the command."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from scipy import stats

from tests.books import run, write


def asked(folder: Path, rows: list[str]) -> Any:
    batches = "batch,date,candle,count,status,good,pour_temp_c,flaws\n" + "\n".join(f"P{i},2026-01-{1 + i % 28:02},jar,10,{row}" for i, row in enumerate(rows))
    book = write(folder, blends="blend,wax_pct\npure,100", candles="candle,form,blend,fill_mass_g\njar,container,pure,100", batches=batches)
    ran = run("flaws", book, "--json")
    assert ran.code == 0, ran.err
    return {f["flaw"]: f for f in ran.json}


def test_flaws_are_counted_in_poured_batches_with_their_cause(tmp_path: Path) -> None:
    told = asked(tmp_path, ["poured,9,68,sinkhole + wet spots", "poured,9,68,Sinkhole", "planned,,,sinkhole", "dropped,,,crack", "poured,9,68,leaked at the wick"])
    assert {f: told[f]["batches"] for f in told} == {"sinkhole": 2, "wet spots": 1, "other": 1}
    assert all(f["cause"] and f["change"] and f["evidence"] is None for f in told.values())
    said = run("flaws", tmp_path).out
    assert "P4 “leaked at the wick”" in said.replace("\n  ", " ")


def test_the_books_own_record_is_asked_by_fishers_test(tmp_path: Path) -> None:
    told = asked(tmp_path, ["poured,9,74,sinkhole"] * 6 + ["poured,9,74,"] * 2 + ["poured,9,68,"] * 9 + ["poured,9,68,sinkhole"])["sinkhole"]["evidence"]
    assert (told["factor"], told["with"], told["without"]) == ("poured hot", [6, 8], [1, 10])
    assert told["p"] == told["p_alone"] == pytest.approx(stats.fisher_exact([[6, 2], [1, 9]]).pvalue)
    assert "more than chance" in " ".join(run("flaws", tmp_path).out.split())


def test_under_five_batches_a_side_nothing_is_said(tmp_path: Path) -> None:
    told = asked(tmp_path, ["poured,9,74,crack"] * 4 + ["poured,9,68,"] * 12)
    assert told["crack"]["evidence"] is None


def test_bloom_is_no_fault(tmp_path: Path) -> None:
    told = asked(tmp_path, ["poured,9,74,bloom"] * 8 + ["poured,9,68,"] * 8)
    assert told["bloom"]["evidence"] is None
    assert "no fault" in told["bloom"]["cause"]


def test_a_book_without_pours(tmp_path: Path) -> None:
    assert asked(tmp_path, []) == {}
    assert "No flaw is logged" in run("flaws", tmp_path).out
