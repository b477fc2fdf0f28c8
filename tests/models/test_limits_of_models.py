"""Limits hit exactly, cells left empty and names that stand twice: a few small books, each with many cases, every figure by hand."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from pipeline.book.book_settings import Scale
from pipeline.database import shelf_on_another_day
from pipeline.database.connection import Warehouse
from tests.small_books import column, figures, row

EVE, DAY = "2025-06-09", "2025-06-10"


@pytest.fixture(scope="module")
def one_day() -> dict[str, Warehouse]:
    """A book in which nearly everything is done on one day, looked at on that day and on its eve."""
    book = figures(
        DAY,
        whole=True,
        harvests="""
            harvest, date, comb, mass_g, frames, hold
            F0, 2025-06-01, brood comb, , 4,
            W1, 2025-06-10, brood comb, 1200, 8,
            C1, 2025-06-01, cappings, 1000, ,
            C2, 2025-06-01, cappings, 500, ,
            C3, 2025-06-01, cappings, 90, ,
            C4, 2025-06-01, cappings, 1, ,
            Z, 2025-06-01, cappings, 80, ,
            H1, 2025-06-01, brood comb, , 2, disease
            H2, 2025-06-01, cappings, 1, , treatment
            H3, 2025-06-01, cappings, 40, , treatment
            H4, 2025-06-01, brood comb, , 3, disease""",
        loads="""
            session, source, part, mass_g, emptied
            R, Old, , 100,
            R, C1, , 300,
            R, Q, wax, 150,
            Q, C2, , 500,
            Q, H3, , 40,
            R, C3, , 70, yes""",
        passes="session, pass, date, method, wax_out_g\nQ, 1, 2025-06-01, steam, 400\nR, 1, 2025-06-10, steam, 480",
        blocks="block, date, mass_g, supplier, batch\nOld, 2025-06-01, 600, Wagner,\nNew, 2025-06-10, 250, Wagner,\nBack, 2025-06-10, 5, , P0",
        draws="date, block, mass_g, use, batch\n2025-06-10, Old, 50, sold,\n2025-06-10, Old, 20, candles, P2",
        stocktakes="""
            date, item, mass_g, count
            2025-06-01, stub, , 5
            2025-06-01, Z, 0,
            2025-06-10, Z, 30,
            2025-06-10, F0, 640,
            2025-06-10, F0, 650,
            2025-06-10, H1, 290,
            2025-06-10, tea, , 7
            2025-06-10, tea, 120,
            2025-06-10, C1, , 3
            2025-06-10, New, , 1
            2025-06-10, , 233,
            2025-06-10, , , 4""",
        blends="blend, wax_pct\npure, 100",
        candles="""
            candle, form, blend, fill_mass_g, pour_loss_pct
            tea, container, pure, 18, 10
            stub, mould, pure, 30,
            dip, dipped, pure, 30,""",
        batches="""
            batch, date, candle, count, status, good
            P0, 2025-06-01, tea, 12, poured, 9
            P1, 2025-06-10, tea, 10, poured,
            P2, 2025-06-10, tea, 3, poured,
            P3, 2025-06-10, dip, 1, poured,
            P4, 2025-06-10, dip, 8, planned,""",
        sales="date, candle, count\n2025-06-10, tea, 4\n2025-06-10, tea, 2\n2025-06-10, stub, 5",
    )  # fmt: skip
    eve = book.beside()
    shelf_on_another_day.show(eve, date.fromisoformat(EVE))
    return {EVE: eve, DAY: book}


BY_DAY: tuple[tuple[str, str, str, dict[str, object], dict[str, object]], ...] = (
    ("stock_blocks", "block", "mass_g", {"Old": 600}, {"Old": 600 - 50 - 20 - 100, "New": 250, "Back": 5}),
    ("stock_set_aside", "session", "mass_g", {"Q": 400}, {"Q": 250, "R": 480}),
    # frames weigh what the harvests up to the day say: 1200 / 8; a stocktake weighs them; one in pieces says nothing
    # of the last count of a day; what was counted as nothing is closed, until some is found again; of C2 and H3 all was loaded
    ("comb_pending", "harvest", "mass_g", {"C1": 1000, "C3": 90, "C4": 1, "F0": None}, {"C1": 700, "C4": 1, "F0": 650, "W1": 1200, "Z": 30}),
    ("comb_pending", "harvest", "estimated", {"C1": 0, "C3": 0, "C4": 0, "F0": 1}, {"C1": 0, "C4": 0, "F0": 0, "W1": 0, "Z": 0}),
    ("comb_on_hold", "harvest", "mass_g", {"H1": None, "H2": 1, "H4": None}, {"H1": 290, "H2": 1, "H4": 450}),
    ("comb_on_hold", "harvest", "estimated", {"H1": 1, "H2": 0, "H4": 1}, {"H1": 0, "H2": 0, "H4": 1}),
    ("store_losses", "harvest", "mass_g", {"Z": 80}, {"C3": 20}),
    # 9 good of the first pour; by the count of that evening 7; stub: 5 counted, 5 sold; a single one is a row
    ("candle_stock", "candle", "count", {"tea": 9, "stub": 5}, {"tea": 7, "dip": 1}),
)  # fmt: skip


@pytest.mark.parametrize(("table", "key", "value", "eve", "day"), BY_DAY, ids=[f"{case[0]} {case[2]}" for case in BY_DAY])
def test_what_a_day_does_is_there_that_day_and_not_on_its_eve(
    one_day: dict[str, Warehouse], table: str, key: str, value: str, eve: dict[str, object], day: dict[str, object]
) -> None:
    assert column(one_day[EVE], table, key, value) == eve
    assert column(one_day[DAY], table, key, value) == day


def test_the_ledger_of_that_day_in_order(one_day: dict[str, Warehouse]) -> None:
    """Wax in, draws, loads, what pours must have taken (18 g / 0.9 = 20 g each, 30 g / 0.97), the count of all last (contract 2)."""
    told = [(r["kind"], r["block"] or r["batch"], float(r["mass_g"])) for r in one_day[DAY].rows("FROM shelf_moves")]
    dip = round(30 / 0.97, 6)
    before = 600 - 240 + 250 + 5 - 50 - 20 - 100 - 200 - dip
    assert told == [
        ("bought", "Old", 600), ("assumed", "P0", -240), ("bought", "New", 250), ("recovered", "Back", 5), ("draw", "Old", -50),
        ("draw", "Old", -20), ("load", "Old", -100), ("assumed", "P1", -200), ("assumed", "P3", -dip), ("stocktake", None, pytest.approx(233 - before)),
    ]  # fmt: skip
    assert [r["place"] for r in one_day[DAY].rows("FROM shelf_moves")] == list(range(1, 11))
    last = row(one_day[DAY], "shelf_days", date=DAY)
    assert [last[c] for c in ("in_g", "out_g", "low_g", "total_g")] == pytest.approx([255, 370 + dip, before, 233])
    assert row(one_day[DAY], "stock_total")["unplaced_g"] == 233 - 430 - 255
    assert (row(one_day[EVE], "stock_total")["total_g"], row(one_day[EVE], "stock_total")["unplaced_g"]) == (360, -240)


def test_candles_through_that_day(one_day: dict[str, Warehouse]) -> None:
    """Two pours and two sales of a day are added up; the count is the evening, one by weight is none."""
    tea = [(str(r["date"]), r["morning"], r["sold"], r["evening"]) for r in one_day[DAY].rows("FROM candle_days WHERE candle = 'tea'")]
    assert tea == [("2025-06-01", 9, 0, 9), (DAY, 9 + 10 + 3, 6, 7)]
    offered = {r["candle"]: (r["sold"], r["sold_out"]) for r in one_day[DAY].rows("FROM market_sales")}
    assert offered == {"tea": (6, False), "stub": (5, False), "dip": (0, False)}  # no stub was ever poured: never sold out (methods 11)


NAMES = {
    "harvests": "harvest, date, comb, mass_g\n1, 2025-05-01, cappings, 1000\n2, 2025-05-01, cappings, 1000\nblock 9, 2025-05-01, cappings, 80",
    "blocks": "block, date, mass_g, supplier\n1, 2025-05-01, 400, Aune\n3, 2025-05-01, 400, Aune\n9, 2025-05-01, 50, Aune\ntea, 2025-05-01, 60, Aune",
    "loads": """
        session, source, part, mass_g
        S, 1, , 10
        S, 2, , 10
        S, 3, , 10
        S, harvest 1, , 10
        S, block 1, , 10
        S, session 2, wax, 10
        S, block 9, , 10
        S, session 4, wax, 10
        S, batch 1, , 10
        S, nobody, , 10""",
    "passes": """
        session, pass, date, method, wax_out_g
        2, 1, 2025-05-02, steam, 100
        3, 1, 2025-05-02, steam, 100
        4, 1, 2025-05-02, steam, 100
        S, 1, 2025-06-01, steam, 60""",
    "candles": "candle, form, blend, fill_mass_g\ntea, container, pure, 18\nskep, mould, pure, 90",
    "stocktakes": """
        date, item, mass_g, count
        2025-07-01, 1, 5,
        2025-07-01, harvest 1, 6,
        2025-07-01, block 9, 7,
        2025-07-01, tea, , 8
        2025-07-01, candle tea, , 9
        2025-07-01, skep, , 10
        2025-07-01, session S, 11,""",
}
"""1 is a harvest and a block, 2 a harvest and a session, 3 a block and a session; `block 9` is a harvest's own name."""


@pytest.fixture(scope="module")
def names() -> Warehouse:
    return figures(**NAMES)


def test_an_id_in_two_logs_needs_the_log_s_name_and_an_exact_id_wins_over_a_prefix(names: Warehouse) -> None:
    """Contract 1 (where one id stands in several logs) and 2 (Sources)."""
    kinds = [(r["source_kind"], r["source"], r["matches"]) for r in names.rows("FROM load_source_kinds ORDER BY row")]
    assert kinds == [
        (None, None, 2), (None, None, 2), (None, None, 2), ("harvest", "1", 0), ("block", "1", 0), ("session", "2", 0),
        ("harvest", "block 9", 1), ("session", "4", 0), (None, None, 0), (None, None, 0),
    ]  # fmt: skip
    items = [(r["item_kind"], r["item"]) for r in names.rows("FROM stocktake_items ORDER BY row")]
    assert items == [
        (None, None), ("harvest", "1"), ("harvest", "block 9"), (None, None), ("candle", "tea"), ("candle", "skep"), (None, None),
    ]  # fmt: skip


def test_without_harvests_what_is_no_block_or_session_is_comb_of_a_kind_unknown() -> None:
    """Any log may be missing (contract 1)."""
    book = figures(
        loads="session, source, mass_g, emptied\nS, old frames, 900, yes\nS, B, 50,",
        passes="session, pass, date, method, wax_out_g\nS, 1, 2025-06-01, steam, 400",
        blocks="block, date, mass_g, supplier\nB, 2025-05-01, 50, Aune",
    )
    assert column(book, "loaded_masses", "source", "mass_g", part="comb") == {"old frames": 900}
    assert row(book, "yields_by_group", grouping="comb", comb=None)["loaded_g"] == 900
    assert row(book, "session_wax", session="S")["comb"] is None


MANY: dict[str, Any] = {
    "blends": "blend, wax_pct, oil, oil_pct\npure, 100, ,\nnothing, 0, ,\nthirds, 33.33, coconut, 66.66",
    "candles": """
        candle, form, blend, fill_mass_g, fill_volume_ml, diameter_mm, height_mm, top_diameter_mm, pour_loss_pct
        lost, mould, unknown, 50, , , , , 0
        empty, mould, nothing, 50, , , , , 0
        split, mould, thirds, 30, , , , , 0
        flat, mould, pure, , , 40, 1, , 0
        gone, mould, pure, 50, , , , , 100
        half, mould, pure, 50, , , , , 50
        cone, container, pure, , 90, 40, 50, 60, 0
        pot, container, pure, , 90, 60, 50, 40, 0
        drum, mould, pure, 1000, , , , , 0""",
    "batches": "batch, date, candle, count, status\nP, 2025-06-01, drum, 1000000000, poured\nQ, 2025-06-01, split, 3, poured",
    "sales": "date, candle, count, price\n2025-06-01, ghost, 2, 3\n2025-06-02, ghost, 1,",
}


@pytest.fixture(scope="module")
def many() -> Warehouse:
    return figures(**MANY)


@pytest.mark.parametrize(
    ("candle", "wax_each_g", "fill_g", "widest_mm"),
    [
        ("lost", None, 50, None),  # its recipe is not written down
        ("empty", None, 50, None),  # a recipe of nothing
        ("split", 10, 30, None),  # 33.33 and 66.66 are a whole
        ("flat", 1.2063716, 1.2063716, 40),  # pi x 20^2 x 1 mm x .96 g/ml
        ("gone", None, 50, None),  # all is lost in the pour
        ("half", 100, 50, None),
        ("cone", 86.4, 86.4, 60),  # 90 ml x .96; wicks are chosen by the widest diameter
        ("pot", 86.4, 86.4, 60),
    ],
)
def test_candles_at_the_limits_of_their_sizes(many: Warehouse, candle: str, wax_each_g: float, fill_g: float, widest_mm: float) -> None:
    found = row(many, "wax_per_candle", candle=candle)
    assert [found[c] for c in ("wax_each_g", "fill_g", "widest_mm")] == [None if v is None else pytest.approx(v) for v in (wax_each_g, fill_g, widest_mm)]


def test_shares_of_a_recipe(many: Warehouse) -> None:
    assert [row(many, "wax_per_candle", candle="lost")[c] for c in ("wax_share", "oil_share")] == [None, None]
    assert [row(many, "wax_per_candle", candle="half")[c] for c in ("wax_share", "oil_share", "scent_share")] == [1, 0, 0]
    assert [row(many, "wax_per_candle", candle="split")[c] for c in ("wax_share", "oil_share")] == pytest.approx([1 / 3, 2 / 3])


def test_a_pour_of_more_wax_than_a_mass_can_hold_takes_none(many: Warehouse) -> None:
    """1e9 candles of 1,000 g are 1e12 g, a gram more than the twelve digits of a mass; the other pour took 3 x 10 g."""
    assert column(many, "assumed_draws", "batch", "mass_g") == pytest.approx({"Q": 30})


def test_sales_of_a_candle_that_no_log_describes_bring_their_own_price(many: Warehouse) -> None:
    found = row(many, "income", candle="ghost")
    assert (found["count"], found["income"], found["unpriced"]) == (3, 6, 1)


@pytest.fixture(scope="module")
def grams() -> Warehouse:
    """Loads of a gram and less, and loads of nothing: Z took all that was left where nothing was left."""
    return figures(
        harvests="""
            harvest, date, comb, mass_g, frames, apiary, hive
            A, 2025-05-01, cappings, 1000.75, , Hill, 1
            B, 2025-05-01, brood comb, 1000.75, , Hill, 2
            K, 2025-05-01, burr comb, 1, 1, ,
            L, 2025-05-01, burr comb, , 3, ,""",
        loads="""
            session, source, part, mass_g
            T, A, , .75
            T, B, , .25
            P, T, slumgum, .25
            V, A, , .75
            V, T, slumgum, .25
            W, V, slumgum, .4
            N, of T, , .25
            N, B, , .75
            U, A, , 999.25
            U, B, , 999.75
            Z, A, ,
            Z, B, ,
            Q, Z, slumgum, 20""",
        passes="""
            session, pass, date, method, wax_out_g, residue_g
            T, 1, 2025-06-01, steam, .5, .5
            P, 1, 2025-06-02, press, .1, .1
            V, 1, 2025-06-03, steam, .4, .4
            W, 1, 2025-06-04, press, .2, .1
            N, 1, 2025-06-05, steam, .5, .3
            U, 1, 2025-06-06, steam, 800, 1000
            Z, 1, 2025-06-07, steam, 30, 20
            Q, 1, 2025-06-08, press, 4, 16""",
        blocks="block, date, mass_g, session"
        + "".join(f"\nof {s}, 2025-06-{d}, {m}, {s}" for s, d, m in zip("TPVWNUZQ", range(10, 18), (0.5, 0.1, 0.4, 0.2, 0.5, 800, 30, 4), strict=True)),
    )  # fmt: skip


def test_the_smallest_loads_share_by_mass_and_loads_of_nothing_evenly(grams: Warehouse) -> None:
    """T's 1 g is three quarters hive 1's, and so is its slumgum in P and in V; W's is V's, three quarters A's own and a quarter T's.

    N's wax loaded keeps its .25 g. Z's two loads of nothing share its 30 g, and the 4 g of its slumgum, in halves.
    """
    one = 0.375 + 0.075 + (0.3 + 0.075) + (0.15 + 0.0375) + 800 * 999.25 / 1999 + 15 + 2
    two = 0.125 + 0.025 + 0.025 + 0.0125 + 0.25 + 800 * 999.75 / 1999 + 15 + 2
    assert column(grams, "yields_by_group", "hive", "wax_g", grouping="hive") == pytest.approx({"1": one, "2": two}, abs=2e-6)
    assert column(grams, "yields_by_group", "hive", "loaded_g", grouping="hive") == {"1": 1000.75, "2": 1000.75}
    assert {r["session"]: r["comb"] for r in grams.rows("FROM session_wax")} == {
        "T": "mixed", "P": None, "V": "cappings", "W": None, "N": "brood comb", "U": "mixed", "Z": "mixed", "Q": None,
    }  # fmt: skip


def test_the_smallest_loads_in_a_trace(grams: Warehouse) -> None:
    """T and Z as above; of N's .5 g the block melted again is .25 g."""
    links = {(r["id"], r["from_id"]): r["share"] for r in grams.rows("FROM wax_links WHERE kind = 'session' AND id IN ('T', 'Z', 'N')")}
    assert links == pytest.approx({
        ("T", "A"): 0.75, ("T", "B"): 0.25, ("Z", "A"): 0.5, ("Z", "B"): 0.5, ("N", "of T"): 0.5, ("N", "B"): 0.5,
    })  # fmt: skip


def test_one_frame_of_one_gram_weighs_the_frames_of_its_kind(grams: Warehouse) -> None:
    assert column(grams, "comb_pending", "harvest", "mass_g") == {"K": 1, "L": 3}


def test_a_scale_of_no_step_leaves_nothing_waiting_where_all_went_on() -> None:
    """A passed all of its wax on, B a gram more than it had, and C all but a gram: only that waits."""
    book = figures(
        book={"scales": {"": Scale(0, 0)}},
        loads="session, source, part, mass_g\nE, A, wax, 100\nE, B, wax, 101\nE, C, wax, 99",
        passes="session, pass, date, method, mass_in_g, wax_out_g"
        + "".join(f"\n{s}, 1, 2025-06-01, steam, 200, 100" for s in "ABC") + "\nE, 1, 2025-07-01, oven, 300, 290",
        blocks="block, date, mass_g, session\nX, 2025-07-02, 280, E",
    )  # fmt: skip
    assert column(book, "stock_set_aside", "session", "mass_g") == {"C": 1}
    flow = {r["session"]: (float(r["set_aside_g"]), float(r["casting_g"])) for r in book.rows("FROM flow_by_session")}
    assert flow == {"A": (0, 0), "B": (0, -1), "C": (1, 0), "E": (0, 10)}


def test_counts_of_several_blocks_on_one_day() -> None:
    """600 g; A and B found 10 and 20 g short; then all counted as 500, and A and B after that 10 and 20 g short again; draws of 10 and 20 g."""
    book = figures(
        blocks="block, date, mass_g, supplier\nA, 2025-01-01, 100, Aune\nB, 2025-01-01, 200, Aune\nC, 2025-01-01, 300, Aune",
        stocktakes="""
            date, item, mass_g
            2025-02-01, A, 90
            2025-02-01, B, 180
            2025-03-01, , 490
            2025-03-01, C, 310
            2025-03-01, , 500
            2025-03-01, A, 80
            2025-03-01, B, 160""",
        draws="date, block, mass_g, use\n2025-04-01, A, 10, sold\n2025-04-01, B, 20, sold",
    )
    days = [[float(r[c]) for c in ("in_g", "out_g", "low_g", "total_g")] for r in book.rows("FROM shelf_days")]
    assert days == [[600, 0, 600, 600], [0, 0, 600, 570], [0, 0, 570, 470], [0, 30, 440, 440]]
    assert [float(r["total_g"]) for r in book.rows("FROM shelf_moves")][-4:] == [490, 470, 460, 440]


def test_comb_counted_in_frames_is_used_up_by_a_load_that_took_the_rest() -> None:
    """Four frames of unknown weight, 100 g weighed into one pass and the rest, not weighed, into the next: nothing waits."""
    book = figures(
        harvests="harvest, date, comb, frames\nboth, 2025-05-01, brood comb, 4\nsome, 2025-05-01, brood comb, 4",
        loads="session, source, mass_g\nA, both, 100\nA, some, 100\nB, both,",
        passes="session, pass, date, method, wax_out_g\nA, 1, 2025-06-01, steam, 60\nB, 1, 2025-06-02, steam, 60",
    )
    assert list(column(book, "comb_pending", "harvest", "mass_g")) == ["some"]


def test_one_flagged_session_flags_its_group_and_the_book_and_no_other_group() -> None:
    """A melts slumgum beside its comb, B wax, C is not flagged, D's wax is set aside, E's load is empty (contract 2)."""
    book = figures(
        harvests="""
            harvest, date, comb, mass_g
            H1, 2025-05-01, cappings, 1000
            H2, 2025-05-01, cappings, 1000
            H3, 2025-05-01, cappings, 1000
            H4, 2025-05-01, white comb, 1000
            H5, 2025-05-01, white comb, 1000""",
        loads="session, source, part, mass_g\nC, H3, , 1000\nA, H1, , 1000\nA, C, slumgum, 50\nB, H2, , 1000\nB, W, , 100\nD, H4, , 1000\nE, H5, ,",
        passes="""
            session, pass, date, method, wax_out_g, residue_g
            C, 1, 2025-06-01, steam, 700, 100
            A, 1, 2025-06-02, steam, 700, 250
            B, 1, 2025-06-02, steam, 800, 200
            D, 1, 2025-06-02, steam, 600, 350
            E, 1, 2025-06-02, steam, 100, 200""",
        blocks="block, date, session, mass_g, supplier\nW, 2025-01-01, , 100, Aune\nBA, 2025-06-03, A, 700,\nBB, 2025-06-03, B, 800,\nBC, 2025-06-03, C, 700,\nBE, 2025-06-03, E, 100,",
    )

    def flags(grouping: str, **of: str) -> list[str]:
        return sorted(row(book, "yields_by_group", grouping=grouping, **of)["flags"])

    assert flags("comb", comb="cappings") == ["slumgum", "wax_loaded"]
    assert flags("comb", comb="white comb") == ["set_aside", "unweighed"]
    assert flags("book") == flags("season", season="2025") == ["set_aside", "slumgum", "unweighed", "wax_loaded"]


def test_a_session_of_comb_that_nobody_can_weigh_has_no_unaccounted_wax() -> None:
    """Pass 2 was weighed, pass 1 took drone comb by the frame, of which no weight is known: a figure that cannot be known is null."""
    book = figures(
        harvests="harvest, date, comb, frames\nD, 2025-05-01, drone comb, 4",
        loads="session, source, mass_g\nS, D,",
        passes="session, pass, date, method, wax_out_g, residue_g\nS, 1, 2025-06-01, steam, 300, 100\nS, 2, 2025-06-02, oven, 280, 10",
    )
    flow = row(book, "flow_by_session", session="S")
    assert [flow[c] for c in ("loaded_g", "unaccounted_g", "handling_g", "residue_g", "set_aside_g")] == [None, None, None, 110, 280]
    assert column(book, "losses_by_group", "pass", "in_g", grouping="book") == {2: 300}
    assert row(book, "flow_by_group", grouping="book")["sessions"] == 0


@pytest.mark.parametrize("table", ["flow_by_group", "yields_by_group"])
def test_the_whole_of_an_empty_book_is_nothing(table: str) -> None:
    found = row(figures(), table, grouping="book")
    assert {name: mass for name, mass in found.items() if name.endswith("_g") and mass != 0} == {}
    assert {"loaded_g"} <= found.keys()


def test_a_run_of_passes_is_as_unknown_as_its_least_known_load() -> None:
    """500 g of cappings, and drone comb that nobody can weigh in the pass after, whose wax alone was weighed."""
    book = figures(
        harvests="harvest, date, comb, mass_g, frames\nD, 2025-05-01, drone comb, , 4\nC, 2025-05-01, cappings, 500,",
        loads="session, source, pass, mass_g\nS, C, 1, 500\nS, D, 2,",
        passes="session, pass, date, method, wax_out_g\nS, 1, 2025-06-01, steam,\nS, 2, 2025-06-02, oven, 280",
    )
    step = row(book, "pass_steps", session="S")
    assert [step[c] for c in ("pass", "passes", "loaded_g", "in_g", "wax_g", "in_known", "counted")] == [1, 2, None, None, 280, False, False]


SCALES = {"": Scale(0.1, 0.002), "passes": Scale(0.1, 0.001)}
GAINS = 0.002**2 + 0.001**2
STEP2 = 0.1**2 / 12


def test_a_gram_set_aside_was_weighed_with_the_passes() -> None:
    """10 g loaded, 1 g waits: one weighing on each scale (contract 2, its uncertainty)."""
    book = figures(
        book={"scales": SCALES},
        harvests="harvest, date, comb, mass_g\nC, 2025-05-01, cappings, 10",
        loads="session, source, mass_g\nS, C, 10",
        passes="session, pass, date, method, wax_out_g\nS, 1, 2025-06-01, steam, 1",
    )
    assert row(book, "yields_by_session", session="S")["u"] == pytest.approx(((1 + 0.1**2) * STEP2 / 10**2 + 0.1**2 * GAINS) ** 0.5)
    assert column(book, "stock_set_aside", "session", "mass_g") == {"S": 1}


def test_a_single_gram_of_wax_is_followed_to_its_end() -> None:
    """99 g cast and 1 g passed on, of which the next session casts .8 g."""
    book = figures(
        harvests="harvest, date, comb, mass_g\nH, 2025-05-01, cappings, 200",
        loads="session, source, part, mass_g\nA, H, , 200\nB, A, wax, 1",
        passes="session, pass, date, method, wax_out_g\nA, 1, 2025-06-01, steam, 100\nB, 1, 2025-06-02, water bath, 0.9",
        blocks="block, date, session, mass_g\nX, 2025-06-03, A, 99\nY, 2025-06-03, B, 0.8",
    )
    assert float(row(book, "yields_by_group", grouping="book")["wax_g"]) == pytest.approx(99.8)


def test_a_group_stands_on_every_scale_that_one_of_its_sessions_stood_on() -> None:
    """Gains of .3, .4 and 1.2 % of three scales: .5 % of loads and blocks, 1.3 % of all three (contract 2, its uncertainty)."""
    book = figures(
        book={"scales": {"loads": Scale(0, 0.003), "blocks": Scale(0, 0.004), "passes": Scale(0, 0.012)}},
        harvests="harvest, date, comb, mass_g" + "".join(f"\n{h}, 2025-05-01, cappings, 1000" for h in "ABCEGH"),
        loads="session, source, mass_g\nA, A, 1000\nB, B, 1000\nC, C, 1000\nE, E, 500\nE, E, 500\nG, G, 500\nG, G, 500\nH, H, 1000",
        passes="""
            session, pass, date, method, mass_in_g, wax_out_g
            A, 1, 2025-06-01, steam, , 800
            B, 1, 2025-06-01, press, , 600
            C, 1, 2026-06-01, steam, , 800
            D, 1, 2026-06-01, press, 1000, 600
            E, 1, 2027-06-01, steam, , 800
            F, 1, 2027-06-01, press, 1000, 600
            G, 1, 2028-06-01, press, , 600
            H, 1, 2028-06-01, steam, , 800""",
        blocks="block, date, session, mass_g" + "".join(f"\nB{s}, 2029-06-02, {s}, {800 if s in 'ACEH' else 600}" for s in "ACDEFH"),
    )
    cast, aside, by_mass_in = 0.005, (0.003**2 + 0.012**2) ** 0.5, (0.004**2 + 0.012**2) ** 0.5
    found = {r["session"]: r["u"] / r["yield"] for r in book.rows("FROM yields_by_session")}
    assert found == pytest.approx(dict.fromkeys("ACEH", cast) | dict.fromkeys("BG", aside) | dict.fromkeys("DF", by_mass_in))
    for season in ("2025", "2026", "2027", "2028"):  # in the later two one session loaded its comb in two parts
        group = row(book, "yields_by_group", grouping="season", season=season)
        assert (group["yield"], group["u"] / group["yield"]) == pytest.approx((0.7, 0.013))


def test_a_scale_for_loads_matters_not_where_nothing_was_loaded() -> None:
    """1000 g of mass_in and a block of 600 g stand on one scale, whose gain cancels."""
    book = figures(
        book={"scales": {"": Scale(0.1, 0.002), "loads": Scale(0.1, 0.001)}},
        passes="session, pass, date, method, mass_in_g, wax_out_g\nS, 1, 2025-06-01, steam, 1000, 610",
        blocks="block, date, mass_g, session\nX, 2025-06-02, 600, S",
    )
    assert row(book, "yields_by_session", session="S")["u"] == pytest.approx(((1 + 0.6**2) * STEP2 / 1000**2) ** 0.5)


@pytest.mark.parametrize(("wax", "gains"), [(600, GAINS), (500, 0)])
def test_comb_weighed_with_the_pass_and_wax_weighed_as_it_went_on(wax: int, gains: float) -> None:
    """No load: 1000 g stand in mass_in. 600 g all went on, weighed as a load; or 100 g of them wait, and then the last wax_out counts."""
    book = figures(
        book={"scales": SCALES},
        loads=f"session, source, part, mass_g\nE, S, wax, {wax}",
        passes="session, pass, date, method, mass_in_g, wax_out_g\nS, 1, 2025-06-01, steam, 1000, 600\nE, 1, 2025-07-01, oven, , 480",
    )
    assert row(book, "yields_by_session", session="S")["u"] == pytest.approx(((1 + 0.6**2) * STEP2 / 1000**2 + 0.6**2 * gains) ** 0.5)


def test_of_two_that_take_the_rest_on_one_day_the_draw_comes_before_the_load() -> None:
    """Within a day draws, then loads, those with an empty mass last (contract 2, the shelf): 10 and 30 g are weighed, the draw takes 60."""
    book = figures(
        blocks="block, date, mass_g, supplier\nA, 2025-01-01, 100, Aune",
        draws="date, block, mass_g, use\n2025-06-01, A, 10, sold\n2025-06-01, A, , sold",
        loads="session, source, mass_g\nS, A,\nS, A, 30",
        passes="session, pass, date, method, wax_out_g\nS, 1, 2025-06-01, oven, 29",
    )
    assert [float(r["mass_g"]) for r in book.rows("FROM loaded_masses ORDER BY row")] == [0, 30]
    assert [(r["kind"], float(r["mass_g"])) for r in book.rows("FROM shelf_moves")] == [
        ("bought", 100), ("draw", -10), ("load", -30), ("draw", -60), ("load", 0),
    ]  # fmt: skip
