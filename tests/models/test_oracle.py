"""The oracle itself, held to small books worked out by hand beside each figure."""

import csv
import math
from datetime import date
from fractions import Fraction

import pytest

from tests.oracle.book import Book, Row, Settings
from tests.oracle.figures import Oracle
from tests.oracle.shelf import Shelf

INTEGERS = {"pass", "frames", "count", "good"}


def book(settings: Settings | None = None, **logs: str) -> Book:
    """A book from CSV literals, one argument a log; spaces around cells do not matter."""
    read = {}
    for log, text in logs.items():
        rows = csv.DictReader(line.strip() for line in text.strip().splitlines())
        read[log] = [{k.strip(): _typed(k.strip(), v.strip()) for k, v in row.items() if v.strip()} for row in rows]
    return Book(read, settings or Settings())


def _typed(column: str, text: str) -> object:
    if column.endswith("_g"):
        return Fraction(text)
    if column == "date":
        return date.fromisoformat(text)
    if column == "emptied":
        return text == "yes"
    return int(text) if column in INTEGERS else text


def row(rows: list[Row], **key: object) -> Row:
    (found,) = (r for r in rows if all(r[k] == v for k, v in key.items()))
    return found


TWO_PASSES = {
    "harvests": """harvest,date,comb,mass_g,apiary,hive
                   H1,2025-08-01,cappings,10000,Heath,1 + 2""",
    "loads": """session,source,mass_g
                S1,H1,""",
    "passes": """session,pass,date,method,mass_in_g,wax_out_g,residue_g
                 S1,1,2025-08-02,steam,,6400,3300
                 S1,2,2025-08-03,oven,6380,6300,60""",
    "blocks": """block,date,mass_g,session
                 B1,2025-08-04,3000,S1
                 B2,2025-08-04,3290,S1""",
}


def test_two_passes_of_cappings() -> None:
    """in 10000; unaccounted (10000-6400-3300) + (6380-6300-60) = 320; handling 6400-6380 = 20; casting 6300-6290 = 10."""
    oracle = Oracle(book(**TWO_PASSES))
    assert oracle.flow() == [{
        "loaded_g": 10000, "blocks_g": 6290, "passed_on_g": 0, "set_aside_g": 0, "residue_g": 3360,
        "unaccounted_g": 320, "handling_g": 20, "casting_g": 10,
    }]  # fmt: skip
    (whole,) = oracle.yields()
    assert (whole["loaded_g"], whole["wax_g"], whole["yield"]) == (10000, 6290, 0.629)
    # two blocks and one load, 5 g steps: u^2 = (2 + 0.629^2) 25/12 / 10000^2
    assert whole["u"] == pytest.approx(math.sqrt((2 + 0.629**2) * 25 / 12) / 10000)
    assert [(r["hive"], r["loaded_g"], r["wax_g"]) for r in oracle.yields("hive")] == [("1", 5000, 3145), ("2", 5000, 3145)]
    second = row(oracle.losses("method"), method="oven")
    assert (second["stage"], second["pass"], second["in_g"], second["unaccounted_g"]) == ("refining", 2, 6380, 20)
    assert second["loss"] == pytest.approx(80 / 6380)


def test_four_crude_cakes_melted_together() -> None:
    """1000, 1500, 500 and 1000 g of crude wax gave 3900 g, so each counts at 0.975 of its mass."""
    oracle = Oracle(book(
        harvests="""harvest,date,comb,mass_g
                    H1,2025-07-01,brood comb,4000
                    H2,2025-07-01,cappings,2000
                    H3,2025-07-01,brood comb,2500
                    H4,2025-07-01,cappings,1250""",
        loads="""session,source,part,mass_g
                 1,H1,,
                 2,H2,,
                 3,H3,,
                 4,H4,,
                 F,1,wax,
                 F,2,wax,
                 F,3,wax,
                 F,4,wax,""",
        passes="""session,pass,date,method,wax_out_g,residue_g
                  1,1,2025-07-02,steam,1000,2000
                  2,1,2025-07-03,solar,1500,400
                  3,1,2025-07-04,steam,500,1500
                  4,1,2025-07-05,solar,1000,200
                  F,1,2025-09-01,double boiler,3950,30""",
        blocks="""block,date,mass_g,session
                  B,2025-09-02,3900,F""",
    ))  # fmt: skip
    assert {r["comb"]: (r["loaded_g"], r["wax_g"]) for r in oracle.yields("comb")} == {
        "brood comb": (6500, 1462.5), "cappings": (3250, 2437.5),
    }  # fmt: skip
    fine = row(oracle.yields("session"), session="F")
    assert (fine["loaded_g"], fine["wax_g"], fine["yield"], fine["u"]) == (0, -100, None, None)
    # 4000 g in, 3950 out; brood comb gave 1500 of the 4000 g
    brood = row(oracle.losses("comb"), stage="refining", comb="brood comb")
    assert (brood["pass"], brood["in_g"], brood["residue_g"]) == (1, 1500, 11.25)
    assert brood["loss"] == pytest.approx(50 / 4000)
    (whole,) = oracle.flow()
    assert (whole["loaded_g"], whole["passed_on_g"], whole["casting_g"]) == (13750, 4000, 50)


def test_slumgum_pressed_a_year_later_belongs_to_its_comb() -> None:
    oracle = Oracle(book(
        harvests="""harvest,date,comb,mass_g
                    H1,2024-07-01,brood comb,5000""",
        loads="""session,source,part,mass_g
                 S,H1,,5000
                 P,S,slumgum,""",
        passes="""session,pass,date,method,wax_out_g,residue_g
                  S,1,2024-07-02,steam,1000,3000
                  P,1,2025-05-02,press,400,2500""",
        blocks="""block,date,mass_g,session
                  B1,2024-07-03,1000,S
                  B2,2025-05-03,390,P""",
    ))  # fmt: skip
    assert [(r["season"], r["loaded_g"], r["wax_g"]) for r in oracle.yields("season")] == [("2024", 5000, 1390)]
    assert {r["method"]: (r["loaded_g"], r["wax_g"]) for r in oracle.yields("method")} == {
        "steam": (5000, 1000), "press (slumgum)": (3000, 390),
    }  # fmt: skip
    assert {r["season"]: r["loaded_g"] for r in oracle.flow("season")} == {"2024": 5000, "2025": 3000}


def test_wax_beside_comb_keeps_its_mass() -> None:
    """T got 2000 g of comb and 500 g of crude wax and gave 1500 g: the comb gets 1000 g of it."""
    oracle = Oracle(book(
        harvests="""harvest,date,comb,mass_g
                    H1,2025-07-01,brood comb,4000
                    H2,2025-07-01,cappings,2000""",
        loads="""session,source,part,mass_g,pass
                 S,H1,,4000,1
                 T,H2,,2000,1
                 T,S,wax,500,2""",
        passes="""session,pass,date,method,wax_out_g
                  S,1,2025-07-02,steam,900
                  T,1,2025-07-03,solar,1100
                  T,2,2025-07-04,solar,1520""",
        blocks="""block,date,mass_g,session
                  B,2025-07-05,1500,T""",
    ))  # fmt: skip
    sides = {r["comb"]: (r["loaded_g"], r["wax_g"], r["flags"]) for r in oracle.yields("comb")}
    assert sides == {
        "brood comb": (4000, 900, ["set_aside", "unweighed"]),  # 500 passed on + 400 still set aside
        "cappings": (2000, 1000, ["unweighed", "wax_loaded"]),
    }


def test_comb_counted_in_frames() -> None:
    """A: 20 frames weigh 3000 g, so 150 g a frame. B's pass weighed 1400 g in; C's did not, so C has no yield."""
    oracle = Oracle(book(
        harvests="""harvest,date,comb,mass_g,frames
                    A,2025-07-01,brood comb,3000,20
                    B,2025-07-01,brood comb,,10
                    C,2025-07-01,brood comb,,8""",
        loads="""session,source,mass_g
                 1,A,3000
                 2,B,
                 3,C,""",
        passes="""session,pass,date,method,mass_in_g,wax_out_g,residue_g
                  1,1,2025-07-02,steam,,900,2000
                  2,1,2025-07-03,steam,1400,400,900
                  3,1,2025-07-04,steam,,300,800""",
        blocks="""block,date,mass_g,session
                  B1,2025-07-05,900,1
                  B2,2025-07-05,400,2
                  B3,2025-07-05,300,3""",
    ))  # fmt: skip
    (whole,) = oracle.yields()
    assert (whole["loaded_g"], whole["wax_g"]) == (4400, 1300)
    third = row(oracle.yields("session"), session="3")
    assert (third["loaded_g"], third["yield"]) == (None, None)
    flow = row(oracle.flow("session"), session="3")
    assert (flow["loaded_g"], flow["unaccounted_g"]) == (1200, 100)
    (first,) = oracle.losses()
    assert first["in_g"] == 4400


SHELF = {
    "blocks": """block,date,mass_g,supplier
                 1,2025-01-01,1000,before this book
                 2,2025-01-01,600,Aune""",
    "draws": """date,block,mass_g,use
                2025-02-01,1,200,sold
                2025-02-03,2,,given""",
    "stocktakes": """date,item,mass_g
                     2025-02-01,,1350
                     2025-02-02,1,790""",
    "blends": """blend,wax_pct
                 pure,100""",
    "candles": """candle,form,blend,fill_mass_g
                  taper,mould,pure,97""",
    "batches": """batch,date,candle,count,status,good
                  P,2025-02-02,taper,3,poured,2""",
}


def test_the_shelf_day_by_day() -> None:
    """1600 - 200 = 1400, counted 1350 (-50 unplaced); three tapers of 97/0.97 = 100 g; block 1 found 10 g light."""
    shelf = book(**SHELF)
    stock = {day: Shelf(shelf, date(2025, 2, day)).stock() for day in (1, 2, 3)}
    assert (stock[1]["total_g"], stock[1]["unplaced_g"]) == (1350, -50)
    assert stock[2]["total_g"] == pytest.approx(1350 - 300 - 10)
    assert stock[2]["unplaced_g"] == pytest.approx(-350)
    assert stock[3]["blocks"] == [{"block": "1", "mass_g": 790}]
    assert stock[3]["total_g"] == pytest.approx(440)
    assert stock[3]["candles"] == [{"candle": "taper", "count": 2}]
    assert Shelf(shelf, date(2025, 2, 3)).capacity_now()[0]["now"] == 4


def test_comb_in_store() -> None:
    """H1 1000 less 300; H2 counted at 450 then loaded 50; H3 emptied after 700 of 800; H4 on hold."""
    stock = Shelf(book(
        harvests="""harvest,date,comb,mass_g,hold
                    H1,2025-05-01,cappings,1000,
                    H2,2025-05-01,cappings,500,
                    H3,2025-05-01,brood comb,800,
                    H4,2025-05-01,brood comb,900,foulbrood""",
        loads="""session,source,mass_g,emptied
                 S,H1,300,
                 S,H2,50,
                 S,H3,700,yes""",
        passes="""session,pass,date,method,wax_out_g
                  S,1,2025-06-02,steam,500""",
        stocktakes="""date,item,mass_g
                      2025-06-01,H2,450""",
    ), date(2025, 7, 1)).stock()  # fmt: skip
    assert [(r["harvest"], r["mass_g"]) for r in stock["pending"]] == [("H1", 700), ("H2", 400)]
    assert stock["store_loss"] == [{"harvest": "H3", "mass_g": 100}]
    assert stock["set_aside"] == [{"session": "S", "mass_g": 500}]
