"""The shelf, the comb store and the candles on a date, worked by hand."""

from __future__ import annotations

from math import pi

import pytest

from tests.small_books import column, figures, row

BLOCKS = """
    block, date, mass_g, supplier, batch, blend
    A, 2025-01-01, 1000, before this book, ,
    B, 2025-01-02, 500, Wagner, ,
    C, 2025-01-03, 200, , pour 1,
    S, 2025-01-03, 300, before this book, , scented"""
CANDLES = """
    candle, form, blend, fill_mass_g, price
    tea, container, pure, 18, 1.5
    sheet, rolled, pure, 60,"""
PURE = "blend, wax_pct\npure, 100"


def ledger(book):
    return [(r["kind"], r["block"], float(r["mass_g"]), float(r["total_g"])) for r in book.rows("FROM shelf_moves")]


def test_draws_and_stocktakes_in_order():
    book = figures(
        blocks=BLOCKS,
        draws="""
            date, block, mass_g, use
            2025-02-01, A, , given
            2025-02-01, A, 400, sold
            2025-02-03, B, 100, sold
            2025-02-03, S, 50, sold""",
        stocktakes="""
            date, item, mass_g
            2025-02-03, B, 390
            2025-02-03, , 600
            2025-02-03, block C, 195""",
    )
    # the empty draw takes what the weighed one left; counts close the day in file order, each against its own ledger
    assert ledger(book) == [
        ("bought", "A", 1000, 1000), ("bought", "B", 500, 1500), ("recovered", "C", 200, 1700),
        ("draw", "A", -400, 1300), ("draw", "A", -600, 700), ("draw", "B", -100, 600),
        ("stocktake", "B", -10, 590), ("stocktake", None, 10, 600), ("stocktake", "C", -5, 595),
    ]  # fmt: skip
    assert row(book, "stock_total")["unplaced_g"] == 10
    assert column(book, "stock_blocks", "block", "mass_g") == {"B": 390, "C": 195}
    assert row(book, "stock_blended")["mass_g"] == 250


def test_a_past_date_knows_only_rows_up_to_it():
    logs = {
        "blocks": BLOCKS,
        "draws": "date, block, mass_g, use, batch\n2025-02-01, A, , sold,\n2025-03-01, B, 180, candles, P",
        "candles": CANDLES,
        "blends": PURE,
        "batches": "batch, date, candle, count, status\nP, 2025-02-10, tea, 10, poured",
    }
    assert row(figures("2025-01-02", **logs), "stock_total")["total_g"] == 1500
    # before its draw is written down, a poured batch is assumed to have taken 10 x 18 / 0.97
    before = row(figures("2025-02-28", **logs), "stock_total")
    assert before["unplaced_g"] == pytest.approx(-180 / 0.97, abs=1e-6)
    assert row(figures("2025-03-01", **logs), "stock_total")["total_g"] == 520


def test_an_overdrawn_block_gives_nothing_more_and_emptied_takes_the_rest():
    book = figures(
        blocks="block, date, mass_g, supplier\nA, 2025-01-01, 300, W\nB, 2025-01-01, 500, W",
        draws="date, block, mass_g, use\n2025-01-05, A, 320, sold\n2025-01-06, A, , sold",
        loads="session, source, mass_g, emptied\nM, B, 450, yes\nM, A, ,",
        passes="session, pass, date, method, wax_out_g\nM, 1, 2025-01-07, oven, 440",
    )
    assert column(book, "stock_blocks", "block", "mass_g") == {"A": -20}
    assert [m for m in ledger(book) if m[1] == "B"][-2:] == [("load", "B", -450, 30), ("emptied", "B", -50, -20)]
    assert row(book, "loaded_masses", source="A")["mass_g"] == 0


def test_emptied_wax_is_no_longer_set_aside():
    def session(emptied: str):
        book = figures(
            loads=f"session, source, part, mass_g, emptied\nB, A, wax, 500, {emptied}",
            passes="session, pass, date, method, mass_in_g, wax_out_g\nA, 1, 2025-06-01, steam, 1000, 600\nB, 1, 2025-07-01, oven, , 480",
        )
        return row(book, "flow_by_session", session="A"), column(book, "stock_set_aside", "session", "mass_g")

    flow, aside = session("")
    assert (flow["set_aside_g"], flow["casting_g"], aside) == (100, 0, {"A": 100, "B": 480})
    flow, aside = session("yes")
    assert (flow["set_aside_g"], flow["casting_g"], aside) == (0, 100, {"B": 480})


def test_set_aside_on_a_date_between_passes_and_loads():
    def aside(on: str):
        book = figures(
            on,
            loads="session, source, part, mass_g\nB, A, wax, 550",
            passes="""
                session, pass, date, method, mass_in_g, wax_out_g
                A, 1, 2025-06-01, steam, 1000, 620
                A, 2, 2025-06-03, oven, , 600
                B, 1, 2025-07-01, oven, , 540""",
            blocks="block, date, mass_g, session\nX, 2025-07-05, 535, B",
        )
        return column(book, "stock_set_aside", "session", "mass_g")

    assert aside("2025-05-31") == {}
    assert aside("2025-06-02") == {"A": 620}
    assert aside("2025-06-03") == {"A": 600}
    assert aside("2025-07-04") == {"A": 50, "B": 540}
    assert aside("2025-07-05") == {"A": 50}


def test_the_comb_store():
    book = figures(
        harvests="""
            harvest, date, comb, mass_g, frames, hold
            wait, 2025-05-01, brood comb, 2000, 10,
            moths, 2025-05-01, brood comb, 1000, ,
            burnt, 2025-05-01, brood comb, 700, , foulbrood
            held, 2025-05-01, brood comb, 800, , treatment
            frames, 2025-05-01, brood comb, , 6,
            counted, 2025-05-01, cappings, 900, ,
            odd, 2025-05-01, drone comb, , 3,""",
        loads="session, source, mass_g, emptied\nA, wait, 500,\nA, moths, 400, yes\nA, frames, 300,\nA, counted, 100,",
        passes="session, pass, date, method, wax_out_g\nA, 1, 2025-06-01, steam, 300",
        stocktakes="date, item, mass_g\n2025-06-05, burnt, 0\n2025-05-15, counted, 850",
    )
    # frames: 6 at 200 g less 300; counted: 850 less the 100 loaded after the count; drone comb: nobody can say
    assert column(book, "comb_pending", "harvest", "mass_g") == {
        "wait": 1500,
        "frames": 900,
        "counted": 750,
        "odd": None,
    }
    assert row(book, "comb_pending", harvest="frames")["estimated"] is True
    assert column(book, "store_losses", "harvest", "mass_g") == {"moths": 600, "burnt": 700}
    assert column(book, "comb_on_hold", "harvest", "mass_g") == {"held": 800}


def test_an_empty_load_takes_what_was_counted_last():
    book = figures(
        harvests="harvest, date, comb, mass_g\nC, 2025-05-01, cappings, 900",
        loads="session, source, mass_g, emptied\nB, C, ,\nA, C, 100,",
        passes="session, pass, date, method, wax_out_g\nA, 1, 2025-06-01, steam, 60\nB, 1, 2025-06-09, steam, 500",
        stocktakes="date, item, mass_g\n2025-06-05, C, 720",
    )
    assert column(book, "loaded_masses", "session", "mass_g") == {"A": 100, "B": 720}


def test_candles_on_the_shelf_and_what_they_brought():
    book = figures(
        "2025-12-31",
        candles=CANDLES,
        blends=PURE,
        batches="""
            batch, date, candle, count, status, good
            1, 2025-10-01, tea, 100, poured, 96
            2, 2025-10-02, tea, 50, poured,
            3, 2026-10-02, tea, 50, poured,
            4, 2025-10-02, tea, 50, planned,
            5, 2025-10-03, sheet, 5, poured,""",
        sales="""
            date, candle, count, price
            2025-11-01, tea, 40, 2
            2025-12-01, tea, 10,
            2025-12-02, sheet, 5,""",
        stocktakes="date, item, count\n2025-11-20, tea, 100",
    )
    assert column(book, "candle_stock", "candle", "count") == {"tea": 90}
    assert column(book, "income", "candle", "income") == {"tea": 95, "sheet": 0}
    assert row(book, "income", candle="sheet")["unpriced"] == 5


def test_wax_in_a_candle():
    book = figures(
        book={"densities": {"wax": 0.96, "oil": 0.92, "scent": 0.95, "coconut": 0.90}},
        blends="""
            blend, wax_pct, oil, oil_pct, scent, scent_pct
            pure, 100, , , ,
            soft, 80, coconut, 20, rose, 5""",
        candles="""
            candle, form, blend, fill_mass_g, fill_volume_ml, diameter_mm, height_mm, top_diameter_mm, headspace_mm, pour_loss_pct
            weighed, mould, soft, 210, , , , , , 0
            jar, container, soft, , 100, , , , ,
            cup, container, pure, , , 40, 90, 70, 30, 0
            pillar, mould, pure, , , 60, 100, , , 0
            sheet, rolled, pure, 60, , , , , ,""",
    )
    # soft: 80 wax + 20 oil + 5 scent = 105 parts
    assert row(book, "wax_per_candle", candle="weighed")["wax_each_g"] == pytest.approx(210 * 80 / 105)
    density = 105 / (80 / 0.96 + 20 / 0.90 + 5 / 0.95)
    jar = row(book, "wax_per_candle", candle="jar")
    assert jar["fill_g"] == pytest.approx(100 * density)
    assert jar["wax_each_g"] == pytest.approx(100 * density * 80 / 105 / 0.97)
    # filled to 60 of 90 mm, where the cup is 60 mm wide: a frustum of 40, 60 and 60 mm
    assert row(book, "wax_per_candle", candle="cup")["fill_g"] == pytest.approx(
        pi * 60 * (1600 + 2400 + 3600) / 12 / 1000 * 0.96
    )
    assert row(book, "wax_per_candle", candle="pillar")["fill_g"] == pytest.approx(pi * 900 * 100 / 1000 * 0.96)
    assert (
        row(book, "wax_per_candle", candle="sheet")["fill_g"],
        row(book, "wax_per_candle", candle="sheet")["wax_each_g"],
    ) == (60, 0)


def test_the_round_frustum_of_a_worked_example():
    """Radii 4 and 2, height 6: 56 pi (the Moscow papyrus' 14th problem, its square frustum made round)."""
    book = figures(
        book={"densities": {"wax": 1.0, "oil": 0.92, "scent": 0.95}},
        blends=PURE,
        candles="candle, form, blend, diameter_mm, height_mm, top_diameter_mm\nx, mould, pure, 80, 60, 40",
    )
    assert row(book, "wax_per_candle", candle="x")["fill_g"] == pytest.approx(56 * pi)


def test_the_density_of_a_mix_of_a_worked_example():
    """Engineering ToolBox: 30 % of 2500 kg/m3 in 1000 kg/m3 makes 1220 kg/m3."""
    book = figures(
        book={"densities": {"wax": 1.0, "oil": 2.5, "scent": 0.95}},
        blends="blend, wax_pct, oil, oil_pct\nx, 70, sand, 30",
        candles="candle, form, blend, fill_volume_ml\nx, mould, x, 1000",
    )
    assert row(book, "wax_per_candle", candle="x")["fill_g"] == pytest.approx(1220, abs=1)


def test_draws_of_blocks_that_nobody_logs_are_not_followed():
    book = figures(draws="date, block, mass_g, use\n2025-02-01, A, 400, sold\n2025-02-02, B, , given")
    assert ledger(book) == []
    assert column(book, "stock_total", "total_g", "unplaced_g") == {0: 0}
    assert book.rows("FROM stock_blocks") == []
