"""What passes lost, by group: two sessions in every group, so that a sum is no other than a sum."""

from __future__ import annotations

import pytest

from pipeline.database.connection import Warehouse
from tests.small_books import column, figures, row


@pytest.fixture(scope="module")
def book() -> Warehouse:
    """A and B are like but for their masses; R refined 300 g of A's wax, 100 g of B's and 200 g that was bought."""
    return figures(
        harvests="harvest, date, comb, mass_g\nC, 2025-05-01, cappings, 3000\nD, 2025-05-01, brood comb, 5000",
        loads="""
            session, source, part, mass_g
            A, C, , 1000
            B, D, , 3000
            R, A, wax, 300
            R, B, wax, 100
            R, bought, , 200""",
        passes="""
            session, pass, date, method, filter, mass_in_g, wax_out_g, residue_g
            A, 1, 2025-06-01, steam, cloth, 1000, 800, 150
            B, 1, 2025-06-02, steam, cloth, 3000, 900, 1700
            R, 1, 2025-06-03, oven, felt, 600, 570, 12""",
        blocks="block, date, mass_g, supplier\nbought, 2025-06-02, 200, Wagner",
    )


@pytest.mark.parametrize(("grouping", "name"), [("book", {}), ("season", {"season": "2025"}), ("method", {"method": "steam"}), ("filter", {"filter": "cloth"})])
def test_first_passes_by_group(book: Warehouse, grouping: str, name: dict[str, str]) -> None:
    """In 1000 + 3000, wax 800 + 900, residue 150 + 1700, unaccounted 50 + 400; the loss a ratio of sums."""
    found = row(book, "losses_by_group", grouping=grouping, stage="first", **name)
    assert [found[c] for c in ("steps", "in_g", "wax_g", "residue_g", "unaccounted_g")] == [2, 4000, 1700, 1850, 450]
    assert found["loss"] == pytest.approx(2300 / 4000)


def test_a_session_fed_by_wax_stands_by_comb_where_its_wax_came_from(book: Warehouse) -> None:
    """570 of 600 g: half of it A's cappings, a sixth B's brood comb, a third bought, which stands under none."""
    for comb, share in (("cappings", 300 / 600), ("brood comb", 100 / 600), (None, 200 / 600)):
        found = row(book, "losses_by_group", grouping="comb", comb=comb, stage="refining")
        assert [found[c] for c in ("steps", "in_g", "wax_g", "residue_g")] == pytest.approx([1, 600 * share, 570 * share, 12 * share])
        assert found["unaccounted_g"] == pytest.approx(18 * share)
        assert found["loss"] == pytest.approx(30 / 600)
    assert column(book, "losses_by_group", "comb", "residue_g", grouping="comb", stage="first") == {"cappings": 150, "brood comb": 1700}


def test_the_waterfall_of_a_group_is_the_sum_of_its_sessions(book: Warehouse) -> None:
    """A and B: 4000 loaded; 400 passed on; set aside 500 + 800; residue 1850; unaccounted 450; no handling, no casting."""
    found = row(book, "flow_by_group", grouping="method", method="steam")
    parts = ("sessions", "loaded_g", "blocks_g", "passed_on_g", "set_aside_g", "residue_g", "unaccounted_g", "handling_g", "casting_g")
    assert [found[p] for p in parts] == [2, 4000, 0, 400, 1300, 1850, 450, 0, 0]


def test_comb_in_frames_shares_what_mass_in_leaves_by_its_estimates() -> None:
    """K: 1200 g in 8 frames, 150 g each. F and G took what 2500 g in leave beside 100 g of K: 2400 g by 10 and 6 frames."""
    book = figures(
        harvests="""
            harvest, date, comb, mass_g, frames
            K, 2025-05-01, brood comb, 1200, 8
            F, 2025-05-01, brood comb, , 10
            G, 2025-05-01, brood comb, , 6
            V, 2025-05-01, drone comb, , 9
            W, 2025-05-01, white comb, , 3""",
        loads="session, source, mass_g\nA, F,\nA, G,\nA, K, 100\nB, V,\nB, W,",
        passes="session, pass, date, method, mass_in_g, wax_out_g\nA, 1, 2025-06-01, steam, 2500, 500\nB, 1, 2025-06-01, steam, 800, 90",
    )
    # of drone and white comb nothing is known: they share evenly
    assert column(book, "loaded_masses", "source", "mass_g") == {"F": 1500, "G": 900, "K": 100, "V": 400, "W": 400}


def test_what_sales_brought() -> None:
    """Season 2025: 3 at 4.50 and 2 at the candle's own 5; 4 of a kind without a price count as nothing and are told."""
    book = figures(
        blends="blend, wax_pct\npure, 100",
        candles="candle, form, blend, fill_mass_g, price\nskep, mould, pure, 95, 5\nstub, mould, pure, 20,",
        sales="date, candle, count, price\n2025-06-01, skep, 3, 4.5\n2025-07-01, skep, 2,\n2025-07-02, stub, 4,\n2024-07-02, stub, 6, 1\n2024-07-03, stub, 5,",
    )
    told = [(r["season"], r["candle"], r["count"], float(r["income"]), r["unpriced"]) for r in book.rows("FROM income ORDER BY ALL")]
    assert told == [("2024", "stub", 11, 6.0, 5), ("2025", "skep", 5, 23.5, 0), ("2025", "stub", 4, 0.0, 4)]


def test_blended_blocks_on_the_shelf_are_what_is_left_of_them() -> None:
    book = figures(
        blends="blend, wax_pct, oil, oil_pct\nsoft, 80, coconut, 20",
        blocks="block, date, mass_g, supplier, blend\nX, 2025-01-01, 500, Aune, soft\nY, 2025-01-01, 300, Aune, soft\nZ, 2025-01-01, 900, Aune,",
        draws="date, block, mass_g, use\n2025-02-01, X, 120, candles\n2025-03-01, X, 80, candles\n2025-02-01, Y, 300, candles",
    )
    assert column(book, "stock_blended", "block", "mass_g") == {"X": 300}
    assert row(book, "stock_total")["total_g"] == 900


@pytest.mark.parametrize(("wax", "waits"), [(590, {"A": 10}), (591, {}), (600, {}), (610, {})])
def test_wax_set_aside_waits_from_two_scale_steps_on(wax: int, waits: dict[str, float]) -> None:
    """600 g came off; the scale reads to 5 g: a rest of 10 g waits, 9 g are casting."""
    book = figures(
        harvests="harvest, date, comb, mass_g\nC, 2025-05-01, cappings, 1000",
        loads=f"session, source, part, mass_g\nA, C, , 1000\nB, A, wax, {wax}",
        passes="session, pass, date, method, wax_out_g\nA, 1, 2025-06-01, steam, 600\nB, 1, 2025-07-01, oven, 500",
        blocks="block, date, mass_g, session\nX, 2025-07-02, 490, B",
    )
    assert column(book, "stock_set_aside", "session", "mass_g") == waits


@pytest.mark.parametrize(("apart", "gains"), [((), 0), (("passes",), 0.002**2 + 0.001**2), (("loads",), 0.002**2 + 0.001**2), (("blocks",), 0)])
def test_gains_count_for_the_scales_that_weighed_it(apart: tuple[str, ...], gains: float) -> None:
    """Wax set aside is weighed with the passes and comb with the loads; no block was weighed, so its scale does not matter."""
    from pipeline.book.book_settings import Scale

    book = figures(
        book={"scales": {"": Scale(5, 0.002)} | dict.fromkeys(apart, Scale(5, 0.001))},
        harvests="harvest, date, comb, mass_g\nC, 2025-05-01, cappings, 1000",
        loads="session, source, mass_g\nA, C, 1000",
        passes="session, pass, date, method, wax_out_g\nA, 1, 2025-06-01, steam, 600",
    )
    u2 = (1 + 0.6**2) * 25 / 12 / 1000**2 + 0.6**2 * gains
    assert row(book, "yields_by_session", session="A")["u"] == pytest.approx(u2**0.5)
    assert row(book, "yields_by_group", grouping="season")["u"] == pytest.approx(u2**0.5)
