"""What sells, what to take and to make, through the command."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from tests.books import run, write

BLENDS = "blend,wax_pct\npure,100"
CANDLES = "candle,form,blend,fill_mass_g,price\na,mould,pure,50,4\nb,mould,pure,50,5\n"


def book(folder: Path, sales: list[str], batches: tuple[str, ...] = (), candles: str = CANDLES, **logs: str) -> Path:
    poured = [f"P{i},2025-01-01,{what},poured" for i, what in enumerate(batches)]
    return write(
        folder, blends=BLENDS, candles=candles, sales="\n".join(["date,candle,count,place", *sales]),
        batches="\n".join(["batch,date,candle,count,status", *poured]), **logs,
    )  # fmt: skip


def asked(folder: Path, *options: object) -> dict[tuple[str, str | None], Any]:
    ran = run("market", folder, "--json", *options)
    assert ran.code == 0, ran.err
    return {(r["candle"], r["place"]): r for r in ran.json}


def three(a: tuple[int, ...], rest: tuple[int, ...], place: str = "fair") -> list[str]:
    """Sales of kind a on days of their own, and of b on the same days: together 5 of each kind and day, m0 = 5."""
    days = [f"2025-0{i + 1}-01" for i in range(max(len(a), len(rest)))]
    return [f"{day},{kind},{n},{place}" for kind, sold in (("a", a), ("b", rest)) for day, n in zip(days, sold, strict=False) if n]


def test_the_worked_examples_through_the_command(tmp_path: Path) -> None:
    """Worked examples a to c (own arithmetic with SciPy's nbinom), m0 = 5: kind b makes up the mean of the book."""
    plain = asked(book(tmp_path / "a", three((4, 7, 5), (4, 5, 5)), ("a,100", "b,100")), "--days", 3)["a", "fair"]
    assert (plain["market_days"], plain["sold"], plain["sold_out_days"]) == (3, 16, 0)
    assert round(plain["mean"], 2) == 5.53
    assert (plain["low"], plain["mid"], plain["high"], plain["take"]) == (1, 5, 10, 10)
    assert [round(w, 3) for w in plain["sizes"]] == [0.060, 0.119, 0.191, 0.258, 0.372]
    assert (plain["on_shelf"], plain["make"]) == (84, 0)
    few = asked(book(tmp_path / "b", three((4, 7, 5), (4, 5, 5)), ("a,17", "b,100")), "--days", 3)["a", "fair"]
    assert (few["on_shelf"], few["make"]) == (1, 25)
    # the middle day sold out: eleven poured before it, and more for the last day
    out = book(tmp_path / "c", three((4, 7, 5), (4, 5, 5)), ("a,11", "b,100"))
    with (out / "batches.csv").open("a") as more:
        more.write("L,2025-03-01,a,6,poured\n")
    sold_out = asked(out, "--days", 3)["a", "fair"]
    assert (sold_out["sold_out_days"], round(sold_out["mean"], 2), sold_out["on_shelf"], sold_out["make"]) == (1, 6.53, 1, 32)
    assert (sold_out["low"], sold_out["mid"], sold_out["high"]) == (1, 5, 12)
    rare = asked(book(tmp_path / "d", three((0, 2, 1, 0, 9), (8, 8, 8, 8, 6)), ("a,100", "b,100")), "--days", 3)["a", "fair"]
    assert (rare["market_days"], round(rare["mean"], 2), rare["low"], rare["mid"], rare["high"]) == (5, 3.07, 0, 2, 7)
    assert round(rare["sizes"][0], 3) == 0.653


def test_a_kind_is_on_offer_while_its_shelf_stands_above_nothing(tmp_path: Path) -> None:
    sales = ["2025-01-10,a,5,fair", "2025-02-10,b,3,fair", "2025-03-10,b,3,fair"]
    told = asked(book(tmp_path, sales, ("a,5", "b,9")))
    assert (told["a", "fair"]["market_days"], told["a", "fair"]["sold_out_days"]) == (1, 1)
    assert (told["b", "fair"]["market_days"], told["b", "fair"]["sold_out_days"]) == (3, 0)


def test_a_stocktake_moves_the_ledger_and_below_nothing_is_never_sold_out(tmp_path: Path) -> None:
    sales = ["2025-01-10,a,5,fair", "2025-02-10,a,3,fair", "2025-02-10,b,2,fair"]
    counted = book(tmp_path, sales, ("a,9",), stocktakes="date,item,count\n2025-01-20,a,3")
    told = asked(counted)
    assert told["a", "fair"]["sold_out_days"] == 1
    assert told["b", "fair"]["sold_out_days"] == 0  # never poured
    assert told["b", "fair"]["on_shelf"] == -2
    assert told["b", "fair"]["make"] == told["b", "fair"]["take"]


def test_a_fair_and_a_farm_gate_are_told_apart(tmp_path: Path) -> None:
    sales = [f"2025-0{i}-01,a,{20 + i},fair" for i in range(1, 6)] + [f"2025-0{i}-15,a,{i % 3 + 1},gate" for i in range(1, 6)]
    told = asked(book(tmp_path, sales, ("a,500",)))
    assert told["a", "fair"]["mean"] > 15
    assert told["a", "gate"]["mean"] < 4
    alone = asked(tmp_path, "--place", "gate")
    assert list(alone) == [("a", "gate"), ("b", None)]
    assert alone["a", "gate"]["market_days"] == 5
    assert alone["b", None]["mean"] is None
    wrong = run("market", tmp_path, "--place", "moon")
    assert (wrong.code, "fair, gate" in wrong.err) == (2, True)


def test_places_that_sell_alike_stand_together(tmp_path: Path) -> None:
    sales = [f"2025-0{i}-01,a,{4 + i % 3},fair" for i in range(1, 5)] + [f"2025-0{i}-15,a,{3 + i % 3}," for i in range(1, 5)]
    told = asked(book(tmp_path, sales, ("a,500",)))
    assert told["a", None]["market_days"] == 8


def test_a_kind_sold_out_every_time_is_told_as_at_least(tmp_path: Path) -> None:
    sales = [f"2025-0{i}-02,a,6,fair" for i in range(1, 4)]
    made = book(tmp_path, sales)
    made.joinpath("batches.csv").write_text("batch,date,candle,count,status\n" + "".join(f"P{i},2025-0{i}-01,a,6,poured\n" for i in range(1, 4)))
    told = asked(made)["a", "fair"]
    assert (told["sold_out_days"], told["market_days"]) == (3, 3)
    assert told["mean"] > 6
    assert "at least" in run("market", made).out


def test_what_sales_brought(tmp_path: Path) -> None:
    costs = 'name = "test"\ncurrency = "EUR"\n[costs]\nwax = 20\n'
    sales = ["2025-01-10,a,5,fair", "2025-02-10,b,2,gate"]
    made = book(tmp_path, sales, ("a,9", "b,9"))
    (made / "book.toml").write_text(costs)
    said = run("market", made).out
    # a: 5 x 4.00, each of 50 g / 0.97 at 20 a kg; b: 2 x 5.00
    cost = 50 / 0.97 / 1000 * 20
    assert f"{20:.2f} {5 * cost:11.2f} {20 - 5 * cost:11.2f}" in said
    assert f"{10:.2f} {2 * cost:11.2f} {10 - 2 * cost:11.2f}" in said
    assert "2025-01" in said


def test_sure_and_days(tmp_path: Path) -> None:
    made = book(tmp_path, three((4, 7, 5), (4, 5, 5)), ("a,16", "b,14"))
    surer, usual = asked(made, "--sure", 0.99, "--days", 6)["a", "fair"], asked(made)["a", "fair"]
    assert surer["take"] > usual["take"] == usual["high"]
    assert surer["make"] > surer["take"]
    assert run("market", made, "--sure", "1.5").code == 2


def test_sales_to_come_are_no_sales_yet(tmp_path: Path) -> None:
    made = book(tmp_path, ["2026-12-24,a,5,fair"], ("a,9",))
    assert "No sales yet" in run("market", made).out
    assert all(r["mean"] is None for r in run("market", made, "--json").json)


def test_a_wish_for_more_than_sells_is_met_in_whole_pours(tmp_path: Path) -> None:
    """A pour makes six: who wants at least four of a kind of which two sell a year gets six, where the wax is there."""
    folder = book(
        tmp_path, ["2026-06-01,a,1,fair"], ("a,6",),
        candles="candle,form,blend,fill_mass_g,price,per_pour\na,mould,pure,50,4,6",
        blocks="block,date,mass_g,supplier\nB,2026-01-01,2000,shop",
    )  # fmt: skip
    made = run("mix", folder, "--min", "a=4", "--json")
    assert made.code == 0, made.err
    assert made.json["candles"] == [{"candle": "a", "count": 6}]
    beyond = run("mix", folder, "--min", "a=100")
    assert beyond.code == 2
    assert "of wax are lacking" in beyond.err
