"""What was written on the pour sheet goes back into the row of the planned batch."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.books import run, write


@pytest.fixture
def book(tmp_path: Path) -> Path:
    return write(
        tmp_path, blends="blend,wax_pct\npure,100", candles="candle,form,blend,fill_mass_g\nbar,mould,pure,50",
        batches="batch,date,candle,count,status,notes\nP1,2026-10-20,bar,12,planned,for the fair\nP2,2026-10-01,bar,6,poured,",
        blocks="block,date,mass_g,supplier\nX,2026-01-01,5000,before this book",
    )  # fmt: skip


def test_a_planned_batch_recorded_as_poured_is_its_own_row(book: Path) -> None:
    told = run("record", book, "batch", "batch=P1", "status=poured", "good=11", "pour_temp=154 °F", "flaws=sinkhole + crack", "--json")
    assert told.code == 0, told.err
    assert told.json["written"] == [{"log": "batches", "line": 2}]
    rows = (book / "batches.csv").read_text("utf-8").splitlines()
    assert len(rows) == 3
    for cell in ("P1,2026-10-20,bar,12,poured,for the fair", "11", "67.7", "sinkhole + crack"):
        assert cell in rows[1]
    assert run("undo", book).code == 0
    assert "planned" in (book / "batches.csv").read_text("utf-8")


def test_a_batch_that_was_poured_before_is_a_double_key(book: Path) -> None:
    ran = run("record", book, "batch", "batch=P2", "date=2026-10-01", "candle=bar", "count=6", "status=poured")
    assert (ran.code, "P2" in ran.err) == (1, True)
    assert len((book / "batches.csv").read_text("utf-8").splitlines()) == 3


def test_a_planned_batch_planned_again_is_a_double_key(book: Path) -> None:
    assert run("record", book, "batch", "batch=P1", "date=2026-10-20", "candle=bar", "count=6", "status=planned").code == 1


def test_what_cannot_be_is_refused_as_ever(book: Path) -> None:
    ran = run("record", book, "batch", "batch=P1", "status=poured", "good=eleven")
    assert (ran.code, "eleven" in ran.err) == (1, True)
    assert "planned" in (book / "batches.csv").read_text("utf-8")
