"""What a book's rows make of the forecast: frames, named methods, refining in a session of its own, the shelf's own error."""

from __future__ import annotations

from datetime import date
from math import hypot, sqrt
from pathlib import Path

import pytest

from pipeline.answers.wax_to_come import wax_to_come, wax_u_g
from pipeline.flow import Loaded, load
from tests.books import run, write

CANDLES = {
    "blends": "blend,wax_pct\npure,100",
    "candles": "candle,form,blend,fill_mass_g\njar,container,pure,97",
    "batches": "batch,date,candle,count,status\nP1,2026-12-01,jar,10,planned",
}


def loaded(book: Path) -> Loaded:
    return load(book, date(2026, 11, 1))


def test_comb_counted_in_frames_of_a_kind_never_weighed_is_in_the_forecast(tmp_path: Path) -> None:
    book = write(tmp_path / "b", harvests="harvest,date,comb,frames,wax_expected\nH1,2026-10-01,brood comb,20,2026-11-10", **CANDLES)
    (lot,) = wax_to_come(loaded(book)).lots
    assert lot.lot.counted is not None
    assert 100 < lot.low_g < 20 * 200 * 0.2 < lot.high_g < 20 * 400 * 0.5  # the shipped range is 100 to 400 g a frame
    (waiting,) = run("stock", book, "--json").json["pending"]
    assert (waiting["mass_g"], waiting["estimated"]) == (None, True)
    assert "frames counted, comb not weighed: H1" in run("stock", book).out
    (batch,) = run("plan", book, "--json").json["batches"]
    assert (batch["covered"], batch["melted_in_time"]) == (0, True)
    assert 0 < batch["chance"] < 1


def of_two_methods(folder: Path, method: str = "") -> Path:
    """Brood comb that steam makes 32 % of and solar 12 %, five sessions each, and 10 kg that wait."""
    days = [(i, f"2026-0{1 + i % 8}-1{i % 10}", "steam" if i % 2 else "solar") for i in range(10)]
    return write(
        folder,
        harvests="harvest,date,comb,mass_kg,method,wax_expected\n" + "\n".join(f"H{i},2025-12-01,brood comb,10,," for i, _, _ in days)
        + f"\nN,2026-10-01,brood comb,10,{method},2026-11-10",
        loads="session,source,mass_kg\n" + "\n".join(f"S{i},H{i},10" for i, _, _ in days),
        passes="session,pass,date,method,wax_out_g\n"
        + "\n".join(f"S{i},1,{day},{m},{3200 if m == 'steam' else 1200}" for i, day, m in days),
        blocks="block,date,mass_g,session\n" + "\n".join(f"B{i},{day},{3200 if m == 'steam' else 1200},S{i}" for i, day, m in days),
        **CANDLES,
    )  # fmt: skip


def test_a_method_named_by_the_harvest_or_on_the_command_narrows_the_forecast(tmp_path: Path) -> None:
    open_, named = (wax_to_come(loaded(of_two_methods(tmp_path / f"b{m}", m))).lots[0] for m in ("", "steam"))
    asked = wax_to_come(loaded(of_two_methods(tmp_path / "asked")), "steam").lots[0]
    assert set(open_.methods) == {"solar", "steam"}
    assert named.methods == asked.methods == ("steam",)
    assert open_.low_g < 1500
    assert named.low_g > 2500
    assert asked.mid_g == pytest.approx(named.mid_g, rel=0.02)
    told = run("plan", tmp_path / "asked", "--method", "steem")
    assert told.code == 2
    assert "--method steem: no such method; one of solar, water bath, steam" in told.err


def test_wax_that_this_book_refines_in_a_session_of_its_own_is_followed_to_its_end(tmp_path: Path) -> None:
    book = write(
        tmp_path / "b",
        harvests="harvest,date,comb,mass_kg,wax_expected\nH1,2026-01-01,cappings,10,\nN,2026-10-01,cappings,10,2026-11-10",
        loads="session,source,part,mass_g\nS1,H1,,10000\nR,S1,wax,8000",
        passes="session,pass,date,method,wax_out_g\nS1,1,2026-02-01,steam,8000\nR,1,2026-02-10,water bath,7520",
        blocks="block,date,mass_g,session\nB,2026-02-11,7520,R",
    )
    found = loaded(book)
    assert [(r["in_g"], r["wax_g"]) for r in found.warehouse.ask("wax_only_sessions", [found.today])] == [(8000, 7520)]
    assert [r["refined_later"] for r in found.warehouse.ask("sessions_to_forecast_from", [found.today, 9])] == [True]
    assert found.warehouse.ask("sessions_to_forecast_from", [found.today, 9])[0]["season"] == "2026"


def test_the_shelf_is_off_by_its_scale_and_by_what_its_counts_found(tmp_path: Path) -> None:
    # GUM: three weighings of step^2/12 (two blocks, a draw) and a gain of .1 % of 2,500 g; the block used up is not counted.
    blocks = "block,date,mass_g,supplier\nA,2026-01-01,1000,dealer\nB,2026-01-01,2000,dealer\nC,2026-01-01,700,dealer"
    draws = "date,block,mass_g,use\n2026-02-01,B,500,sold\n2026-02-02,C,,sold"
    u = wax_u_g(loaded(write(tmp_path / "a", blocks=blocks, draws=draws)))
    assert u == pytest.approx(hypot(sqrt(3 * 25 / 12), 2.5))
    # A count last of all: its own reading and the gain; then what a count has found since the first one (30 g) as well.
    takes = "date,item,mass_g\n2026-03-01,,2500\n2026-04-01,,2470"
    counted = write(tmp_path / "c", blocks=blocks, draws=draws, stocktakes=takes)
    assert wax_u_g(loaded(counted)) == pytest.approx(hypot(sqrt(25 / 12), 2.47))
    later = write(tmp_path / "d", blocks=blocks, draws=draws + "\n2026-05-01,A,100,sold", stocktakes=takes)
    assert wax_u_g(loaded(later)) == pytest.approx(hypot(sqrt(2 * 25 / 12), 2.37, 30))
