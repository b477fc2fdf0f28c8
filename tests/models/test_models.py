"""The figures of rendering, worked by hand: what a session, a group and a pass come to, to the gram."""

from __future__ import annotations

from math import sqrt

import pytest

from pipeline.database.connection import Warehouse
from pipeline.database.shipped_queries import queries
from tests.small_books import column, figures, row

STEP2 = 25 / 12  # a scale that reads to 5 g: step^2/12


def two_passes() -> Warehouse:
    return figures(
        harvests="""
            harvest, date, comb, mass_g, apiary, hive
            C1, 2025-05-20, cappings, 10000, Orchard, 3 + 7""",
        loads="session, source, mass_g\nS1, C1, 9000",
        passes="""
            session, pass, date, method, mass_in_g, wax_out_g, residue_g, filter
            S1, 1, 2025-06-01, steam, , 6500, 2000, sieve
            S1, 2, 2025-06-02, water bath, 6480, 6300, , felt""",
        blocks="block, date, mass_g, session\nB1, 2025-06-03, 3000, S1\nB2, 2025-06-03, 3270, S1",
    )


def test_two_pass_book_pass_by_pass():
    book = two_passes()
    first = row(book, "pass_steps", session="S1", **{"pass": 1})
    # mass_in empty: the 9000 loaded; 9000 - 6500 - 2000 = 500 of water and honey
    assert (first["in_g"], first["wax_g"], first["residue_g"], first["unaccounted_g"]) == (9000, 6500, 2000, 500)
    assert (first["stage"], first["loss"], first["handling_g"]) == ("first", pytest.approx(2500 / 9000), 0)
    second = row(book, "losses_by_group", grouping="filter", filter="felt")
    # residue not weighed counts as 0: 6480 - 6300 = 180 unaccounted
    assert (second["stage"], second["in_g"], second["residue_g"], second["unaccounted_g"]) == ("refining", 6480, 0, 180)
    assert second["loss"] == pytest.approx(180 / 6480)
    assert row(book, "losses_by_group", grouping="method", method="water bath")["pass"] == 2


def test_two_pass_book_waterfall():
    flow = row(two_passes(), "flow_by_group", grouping="book")
    # 9000 = blocks 6270 + residue 2000 + unaccounted (500 + 180) + handling (6500 - 6480) + casting (6300 - 6270)
    assert flow == {
        "grouping": "book", "season": None, "method": None,
        "sessions": 1, "loaded_g": 9000, "blocks_g": 6270, "passed_on_g": 0, "set_aside_g": 0, "residue_g": 2000,
        "unaccounted_g": 680, "handling_g": 20, "casting_g": 30,
    }  # fmt: skip


def test_two_pass_book_yields():
    book = two_passes()
    share = 6270 / 9000
    # GUM: two blocks and one load weighed to 5 g each
    u = sqrt((2 + share**2 * 1) * STEP2) / 9000
    for by, name in (
        ("season", "2025"),
        ("method", "steam"),
        ("comb", "cappings"),
        ("apiary", "Orchard"),
    ):
        found = row(book, "yields_by_group", grouping=by, **{by: name})
        assert (found["loaded_g"], found["wax_g"]) == (9000, 6270)
        assert (found["yield"], found["u"]) == (pytest.approx(share), pytest.approx(u))
        assert found["flags"] == ["unweighed"]
    hive = row(book, "yields_by_group", grouping="hive", hive="7")
    assert (hive["apiary"], hive["loaded_g"], hive["wax_g"]) == ("Orchard", 4500, 3135)
    assert column(book, "comb_pending", "harvest", "mass_g") == {"C1": 1000}


def four_cakes() -> Warehouse:
    return figures(
        harvests="""
            harvest, date, comb, mass_g, apiary
            C1, 2025-05-01, cappings, 2000, Orchard
            C2, 2025-05-01, brood comb, 4000, Heath
            C3, 2025-05-01, cappings, 1000, Heath
            C4, 2025-05-01, white comb, 1000, Orchard""",
        loads="""
            session, source, part, mass_g
            A, C1, , 2000
            B, C2, , 4000
            C, C3, , 1000
            D, C4, , 1000
            F, A, wax, 1600
            F, B, wax, 900
            F, C, wax,
            F, D, wax,""",
        passes="""
            session, pass, date, method, wax_out_g, residue_g
            A, 1, 2025-06-01, solar, 1600, 300
            B, 1, 2025-06-02, steam, 1000, 2500
            C, 1, 2025-06-03, solar, 800, 100
            D, 1, 2025-06-04, solar, 700, 200
            F, 1, 2026-07-01, water bath, 3900, 40
            F, 2, 2026-07-02, water bath, 3800, 20""",
        blocks="block, date, mass_g, session\nB1, 2026-07-03, 3760, F",
    )


def test_four_cakes_melted_together_are_followed_to_the_block():
    book = four_cakes()
    # wax loaded into F: 1600 + 900 + 800 + 700 = 4000, and it became 3760: each gram counts 0.94
    assert column(book, "yields_by_group", "comb", "wax_g", grouping="comb") == {
        "cappings": 2400 * 0.94, "brood comb": 100 + 900 * 0.94, "white comb": 700 * 0.94,
    }  # fmt: skip
    # of B's 1000 g a rest of 100 g still waits, at face value
    assert row(book, "yields_by_group", grouping="season", season="2025")["wax_g"] == 100 + 3760
    assert row(book, "yields_by_group", grouping="season", season="2025")["loaded_g"] == 8000
    assert row(book, "yields_by_group", grouping="method", method="solar")["wax_g"] == 3100 * 0.94
    assert row(book, "yields_by_group", grouping="comb", comb="brood comb")["flags"] == ["set_aside"]
    # C and D went on with an empty mass, but that is a cell of F's
    assert row(book, "yields_by_group", grouping="comb", comb="white comb")["flags"] == []
    assert column(book, "stock_set_aside", "session", "mass_g") == {"B": 100}
    assert column(book, "yields_by_group", "season", "sessions", grouping="season") == {"2025": 4}


def test_four_cakes_session_rows_are_at_face_value():
    book = four_cakes()
    assert column(book, "yields_by_session", "session", "yield") == {"A": 0.8, "B": 0.25, "C": 0.8, "D": 0.7, "F": None}
    later = row(book, "yields_by_session", session="F")
    assert (later["loaded_g"], later["wax_g"], later["u"]) == (0, 3760 - 4000, None)
    assert later["flags"] == ["wax_loaded", "unweighed"]
    # B: its last wax_out stands for the wax, one load of comb
    assert row(book, "yields_by_session", session="B")["u"] == pytest.approx(sqrt((1 + 0.25**2) * STEP2) / 4000)


def test_four_cakes_waterfall_and_losses():
    book = four_cakes()
    # each load counts where it was loaded: 8000 of comb and 4000 of wax
    flow = row(book, "flow_by_group", grouping="book")
    assert (flow["loaded_g"], flow["blocks_g"], flow["passed_on_g"], flow["set_aside_g"]) == (12000, 3760, 4000, 100)
    # residues 3100 + 60; unaccounted 100 + 500 + 100 + 100 + (4000 - 3900 - 40) + (3900 - 3800 - 20)
    assert (flow["residue_g"], flow["unaccounted_g"], flow["handling_g"], flow["casting_g"]) == (3160, 940, 0, 40)
    assert row(book, "flow_by_session", session="B")["set_aside_g"] == 100
    # F refines in both passes; by comb it stands where its wax came from: 2400 of 4000 from cappings
    stages = book.rows("SELECT DISTINCT stage FROM pass_steps WHERE counted AND session = 'F'")
    assert stages == [{"stage": "refining"}]
    assert row(book, "losses_by_group", grouping="comb", comb="cappings", stage="refining", **{"pass": 1})["in_g"] == 2400


def test_the_published_comparison_by_method():
    """Peranovich et al., UNESP Botucatu: old combs, 838.8 g a run, two runs each, two purifications."""
    published = {"steam": 0.2445, "solar": 0.145, "water bath": 0.0725}
    runs = [(f"{method} {i}", method, share * 838.8) for method, share in published.items() for i in (1, 2)]
    book = figures(
        harvests="harvest, date, comb, mass_g\nold, 2020-01-01, brood comb, 5032.8",
        loads="session, source, mass_g\n" + "\n".join(f"{name}, old, 838.8" for name, _, _ in runs),
        passes="session, pass, date, method, wax_out_g, residue_g\n"
        + "\n".join(f"{n}, 1, 2020-02-01, {m}, {w * 1.04:.4f},\n{n}, 2, 2020-02-01, {m}, {w:.4f}," for n, m, w in runs),
        blocks="block, date, mass_g, session\n" + "\n".join(f"of {n}, 2020-02-02, {w:.4f}, {n}" for n, _, w in runs),
    )
    assert column(book, "yields_by_group", "method", "yield", grouping="method") == pytest.approx(published)
    assert column(book, "yields_by_group", "method", "loaded_g", grouping="method") == pytest.approx(dict.fromkeys(published, 1677.6))


def test_wax_passed_on_twice_counts_where_it_was_rendered_first():
    book = figures(
        harvests="harvest, date, comb, mass_g\nC, 2024-05-01, cappings, 2000\nW, 2025-05-01, white comb, 1000",
        loads="""
            session, source, part, mass_g
            A, C, , 2000
            B, A, wax, 1500
            E, B, wax, 1400
            E, W, , 1000""",
        passes="""
            session, pass, date, method, wax_out_g, residue_g
            A, 1, 2024-06-01, solar, 1500, 300
            B, 1, 2024-07-01, oven, 1440, 10
            E, 1, 2025-06-01, steam, 2000, 300""",
        blocks="block, date, mass_g, session\nX, 2025-06-02, 1990, E",
    )
    # B passed 1400 on and 40 waits there; beside E's white comb the wax keeps its mass, the comb gets 1990 - 1400
    assert column(book, "yields_by_group", "season", "wax_g", grouping="season") == {"2024": 1440, "2025": 590}
    assert row(book, "yields_by_session", session="E")["yield"] == pytest.approx(0.59)
    assert row(book, "yields_by_session", session="A")["wax_g"] == 1500
    assert row(book, "yields_by_group", grouping="season", season="2024")["flags"] == ["set_aside"]
    assert row(book, "pass_steps", session="B")["stage"] == "refining"
    assert row(book, "pass_steps", session="E")["stage"] == "first"


def pressed() -> Warehouse:
    return figures(
        harvests="""
            harvest, date, comb, mass_g, apiary, hive
            C, 2024-05-01, brood comb, 4000, Heath, 1
            N, 2025-05-01, cappings, 1000, Orchard, 2""",
        loads="""
            session, source, part, mass_g
            A, C, , 4000
            P, A, slumgum,
            P, N, , 1000""",
        passes="""
            session, pass, date, method, wax_out_g, residue_g
            A, 1, 2024-06-01, steam, 1000, 2000
            A, 2, 2024-06-02, steam, 960, 30
            P, 1, 2025-06-01, press, 1218, 1500""",
        blocks="block, date, mass_g, session\nX, 2024-06-03, 950, A\nY, 2025-06-02, 1212, P",
    )


def test_slumgum_is_credited_to_the_comb_season_and_hive_it_came_from():
    book = pressed()
    # P melted 2030 of slumgum (all residues of A) and 1000 of cappings and won 1212: 0.4 of each gram
    assert column(book, "yields_by_group", "season", "wax_g", grouping="season") == {"2024": 950 + 812, "2025": 400}
    assert column(book, "yields_by_group", "season", "loaded_g", grouping="season") == {"2024": 4000, "2025": 1000}
    assert column(book, "yields_by_group", "comb", "wax_g", grouping="comb") == {"brood comb": 1762, "cappings": 400}
    assert row(book, "yields_by_group", grouping="hive", hive="1")["wax_g"] == 1762
    assert row(book, "yields_by_group", grouping="apiary", apiary="Orchard")["wax_g"] == 400


def test_slumgum_stands_as_a_row_of_its_own_by_method():
    book = pressed()
    assert column(book, "yields_by_group", "method", "loaded_g", grouping="method") == {
        "steam": 4000,
        "press": 1000,
        "press (slumgum)": 2030,
    }
    assert column(book, "yields_by_group", "method", "wax_g", grouping="method") == {"steam": 950, "press": 400, "press (slumgum)": 812}
    session = row(book, "yields_by_session", session="P")
    assert (session["loaded_g"], session["wax_g"], session["flags"]) == (3030, 1212, ["slumgum", "unweighed"])


def test_passes_not_weighed_between_count_as_one():
    book = figures(
        harvests="harvest, date, comb, mass_g\nC, 2025-05-01, cappings, 2000",
        loads="session, source, pass, mass_g\nA, C, 1, 1500\nA, C, 2, 500",
        passes="""
            session, pass, date, method, filter, mass_in_g, wax_out_g, residue_g
            A, 1, 2025-06-01, solar, cloth, 1490, , 200
            A, 2, 2025-06-02, oven, felt, , 1500, 100
            A, 3, 2025-06-03, oven, felt, , 1450, 20""",
    )
    # first two passes: 1490 + 500 in, 1500 out, 300 residue; the third takes the 1500 as they are
    step = row(book, "pass_steps", session="A", **{"pass": 1})
    assert (step["method"], step["filter"], step["in_g"], step["residue_g"]) == ("solar", "cloth", 1990, 300)
    assert (step["handling_g"], step["unaccounted_g"], step["passes"]) == (10, 190, 2)
    flow = row(book, "flow_by_session", session="A")
    assert flow["set_aside_g"] == 1450
    parts = ("blocks_g", "passed_on_g", "set_aside_g", "residue_g", "unaccounted_g", "handling_g", "casting_g")
    assert sum(flow[p] for p in parts) == flow["loaded_g"] == 2000
    assert column(book, "losses_by_group", "pass", "in_g", grouping="book") == {1: 1990, 3: 1500}


def test_a_session_without_a_load_takes_its_first_mass_in():
    book = figures(
        passes="session, pass, date, method, mass_in_g, wax_out_g, residue_g\nA, 1, 2025-06-01, solar, 500, 300, 100"
    )
    found = row(book, "yields_by_group", grouping="comb", comb=None)
    assert (found["loaded_g"], found["wax_g"], found["flags"]) == (500, 300, ["set_aside"])
    assert row(book, "yields_by_group", grouping="hive", hive=None)["yield"] == 0.6


def test_comb_counted_in_frames_takes_what_mass_in_leaves():
    book = figures(
        harvests="""
            harvest, date, comb, mass_g, frames
            F, 2025-05-01, brood comb, , 10
            K, 2025-05-01, brood comb, 1200, 8
            U, 2025-05-01, brood comb, , 4
            W, 2025-05-01, drone comb, , 4""",
        loads="session, source, mass_g\nA, F,\nA, K, 600\nB, U,\nC, W,",
        passes="""
            session, pass, date, method, mass_in_g, wax_out_g, residue_g
            A, 1, 2025-06-01, steam, 2000, 500, 900
            B, 1, 2025-06-02, steam, , 150, 300
            C, 1, 2025-06-02, steam, , 90, 100""",
    )
    # F: 2000 in, 600 of it K
    assert column(book, "loaded_masses", "source", "mass_g") == {"F": 1400, "K": 600, "U": None, "W": None}
    # U was weighed nowhere: no yield, but 4 frames at 150 g in the waterfall; of drone comb not even that is known
    assert column(book, "flow_by_session", "session", "loaded_g") == {"A": 2000, "B": 600, "C": None}
    assert column(book, "yields_by_session", "session", "yield") == {"A": 0.25, "B": None, "C": None}
    assert column(book, "yields_by_group", "method", "loaded_g", grouping="method") == {"steam": 2000}
    assert row(book, "flow_by_group", grouping="book")["loaded_g"] == 2600
    assert column(book, "losses_by_group", "pass", "in_g", grouping="book") == {1: 2000}


def test_under_nine_tenths_of_one_kind_is_mixed():
    book = figures(
        harvests="harvest, date, comb, mass_g\nC, 2025-05-01, cappings, 5000\nB, 2025-05-01, brood comb, 5000",
        loads="session, source, mass_g\nA, C, 900\nA, B, 100\nD, C, 899\nD, B, 101",
        passes="session, pass, date, method, wax_out_g\nA, 1, 2025-06-01, steam, 500\nD, 1, 2025-06-01, steam, 400",
    )
    assert column(book, "yields_by_group", "comb", "wax_g", grouping="comb") == {"cappings": 500, "mixed": 400}


def test_blocks_melted_again_enter_no_yield_and_their_slumgum_goes_home():
    book = figures(
        harvests="harvest, date, comb, mass_g\nC, 2025-05-01, cappings, 1000",
        loads="""
            session, source, part, mass_g
            A, C, , 1000
            R, A, wax, 300
            R, old, , 100
            R, bought, , 200
            P, R, slumgum, 60""",
        passes="""
            session, pass, date, method, wax_out_g, residue_g
            A, 1, 2025-06-01, steam, 800, 150
            R, 1, 2025-07-01, oven, 540, 60
            P, 1, 2026-08-01, press, 30, 20""",
        blocks="""
            block, date, mass_g, session, supplier
            old, 2025-06-02, 480, A,
            bought, 2025-06-02, 200, , Wagner
            new, 2025-07-02, 540, R,""",
    )
    # A: a block of 480, and 300 of the 600 that R took, which became 540: 270; half of the pressed 30 from A's wax,
    # a sixth from A's block; the third that came from bought wax grew nowhere in this book
    assert column(book, "yields_by_group", "season", "wax_g", grouping="season") == {"2025": 480 + 270 + 15 + 5}
    assert column(book, "yields_by_group", "season", "loaded_g", grouping="season") == {"2025": 1000}
    assert row(book, "yields_by_group", grouping="method", method="press (slumgum)")["wax_g"] == 30
    losses = {r["comb"]: float(r["in_g"]) for r in book.rows("FROM losses_by_group WHERE grouping = 'comb' AND stage = 'refining'")}
    assert losses == {"cappings": 400, None: 200}
    assert column(book, "stock_blocks", "block", "mass_g") == {"old": 380, "new": 540}


def test_a_rest_under_two_scale_steps_is_casting():
    def rest(wax: int) -> tuple[float, float]:
        book = figures(
            harvests="harvest, date, comb, mass_g\nC, 2025-05-01, cappings, 1000",
            loads=f"session, source, part, mass_g\nA, C, , 1000\nB, A, wax, {wax}",
            passes="session, pass, date, method, wax_out_g\nA, 1, 2025-06-01, steam, 600\nB, 1, 2025-07-01, oven, 500",
        )
        found = row(book, "flow_by_session", session="A")
        return found["set_aside_g"], found["casting_g"]

    assert rest(590) == (10, 0)
    assert rest(591) == (0, 9)
    assert rest(604) == (0, -4)


def test_between_two_scales_the_gains_no_longer_cancel():
    from pipeline.book.book_settings import Scale

    book = figures(
        book={"scales": {"": Scale(10, 0.002), "blocks": Scale(1, 0.001)}},
        harvests="harvest, date, comb, mass_g\nC, 2025-05-01, cappings, 1000",
        loads="session, source, mass_g\nA, C, 1000",
        passes="session, pass, date, method, wax_out_g\nA, 1, 2025-06-01, steam, 600",
        blocks="block, date, mass_g, session\nX, 2025-06-02, 590, A",
    )
    u2 = (1 / 12 + 0.59**2 * 100 / 12) / 1000**2 + 0.59**2 * (0.002**2 + 0.001**2)
    assert row(book, "yields_by_session", session="A")["u"] == pytest.approx(sqrt(u2))


def test_the_ratio_of_a_group_is_differentiated_not_each_session_s_own():
    """Whole sessions: n_wax + Y^2 n_loaded each, Y the group's yield. A 0.8 of 2000 g, C 0.8 and D 0.7 of 1000 g each."""
    group = row(four_cakes(), "yields_by_group", grouping="method", method="solar")
    assert group["yield"] == 3100 * 0.94 / 4000
    assert group["u"] == pytest.approx(sqrt(3 * (1 + group["yield"] ** 2) * STEP2) / 4000)


def test_unlike_sessions_in_one_season_by_hand():
    """1000 g gave 800 and 3000 g gave 300: Y = 0.275, two blocks and two loads."""
    book = figures(
        harvests="harvest, date, comb, mass_g\nC, 2025-05-01, cappings, 1000\nB, 2025-05-01, brood comb, 3000",
        loads="session, source, mass_g\nA, C, 1000\nD, B, 3000",
        passes="session, pass, date, method, wax_out_g\nA, 1, 2025-06-01, steam, 800\nD, 1, 2025-06-01, steam, 300",
        blocks="block, date, mass_g, session\nX, 2025-06-02, 800, A\nY, 2025-06-02, 300, D",
    )
    season = row(book, "yields_by_group", grouping="season", season="2025")
    assert season["u"] == pytest.approx(sqrt((2 + 2 * 0.275**2) * STEP2) / 4000)


def test_slumgum_pressed_later_adds_its_weighings_of_wax_and_nothing_for_its_load():
    """1000 g gave 400, its 500 g of slumgum 100 a year later: Y = 0.5; (a y - f y)^2 is 0 for the one load pressed."""
    book = figures(
        harvests="harvest, date, comb, mass_g\nB, 2024-05-01, brood comb, 1000",
        loads="session, source, part, mass_g\nA, B, , 1000\nP, A, slumgum, 500",
        passes="session, pass, date, method, wax_out_g, residue_g\nA, 1, 2024-06-01, steam, 400, 500\nP, 1, 2025-06-01, press, 100, 390",
        blocks="block, date, mass_g, session\nX, 2024-06-02, 400, A\nY, 2025-06-02, 60, P\nZ, 2025-06-02, 40, P",
    )
    season = row(book, "yields_by_group", grouping="season", season="2024")
    assert (season["yield"], season["u"]) == (0.5, pytest.approx(sqrt((1 + 2 + 0.5**2) * STEP2) / 1000))
    pressed = row(book, "yields_by_group", grouping="method", method="press (slumgum)")
    assert (pressed["yield"], pressed["u"]) == (0.2, pytest.approx(sqrt((2 + 0.2**2) * STEP2) / 500))


def test_two_hives_in_one_session_share_its_wax_and_its_doubt():
    """Hive 1 gave 1000 g of the 4000 g loaded, hive 2 3000 g; 1600 g of wax: y = Y = 0.4, f = 0.25.

    For hive 1: f^2 x 1 block + (0.4 - 0.1 - 0.4)^2 for its own load + (0 - 0.1 - 0)^2 for the other.
    """
    book = figures(
        harvests="harvest, date, comb, mass_g, apiary, hive\nA, 2025-05-01, cappings, 1000, Hill, 1\nB, 2025-05-01, cappings, 3000, Hill, 2",
        loads="session, source, mass_g\nS, A, 1000\nS, B, 3000",
        passes="session, pass, date, method, wax_out_g\nS, 1, 2025-06-01, steam, 1600",
        blocks="block, date, mass_g, session\nX, 2025-06-02, 1600, S",
    )
    first = row(book, "yields_by_group", grouping="hive", hive="1")
    assert (first["yield"], first["u"]) == (0.4, pytest.approx(sqrt((0.25**2 + 0.1**2 + 0.1**2) * STEP2) / 1000))
    hill = row(book, "yields_by_group", grouping="apiary", apiary="Hill")
    assert hill["u"] == pytest.approx(sqrt((1 + 2 * 0.4**2) * STEP2) / 4000)


def test_the_gains_of_two_scales_are_added_once_however_many_sessions_there_are():
    from pipeline.book.book_settings import Scale

    def season(sessions: int) -> float:
        n = range(sessions)
        book = figures(
            book={"scales": {"": Scale(5, 0.002), "blocks": Scale(5, 0.001)}},
            harvests="harvest, date, comb, mass_g" + "".join(f"\nH{i}, 2025-05-01, cappings, 1000" for i in n),
            loads="session, source, mass_g" + "".join(f"\nS{i}, H{i}, 1000" for i in n),
            passes="session, pass, date, method, wax_out_g" + "".join(f"\nS{i}, 1, 2025-06-01, steam, 600" for i in n),
            blocks="block, date, mass_g, session" + "".join(f"\nB{i}, 2025-06-02, 600, S{i}" for i in n),
        )
        return row(book, "yields_by_group", grouping="season")["u"]

    gains = 0.6**2 * (0.002**2 + 0.001**2)
    assert season(1) == pytest.approx(sqrt((1 + 0.6**2) * STEP2 / 1000**2 + gains))
    assert season(9) == pytest.approx(sqrt(9 * (1 + 0.6**2) * STEP2 / 9000**2 + gains))


def test_slumgum_of_comb_that_nobody_weighed_has_its_row_by_method_and_no_other():
    book = figures(
        harvests="harvest, date, comb, mass_g, frames\nU, 2025-05-01, brood comb, , 10",
        loads="session, source, part, mass_g\nA, U, ,\nP, A, slumgum, 500",
        passes="session, pass, date, method, wax_out_g, residue_g\nA, 1, 2025-06-01, steam, 400, 500\nP, 1, 2025-06-02, press, 100, 390",
    )
    assert column(book, "yields_by_group", "method", "yield", grouping="method") == {"press (slumgum)": 0.2}
    assert row(book, "yields_by_session", session="P")["yield"] == 0.2
    assert column(book, "yields_by_group", "season", "wax_g", grouping="season") == {}
    assert row(book, "yields_by_group", grouping="book")["wax_g"] == 0


def test_seasons_may_start_in_july():
    book = figures(
        book={"season_starts": (7, 1)},
        passes="session, pass, date, method, mass_in_g, wax_out_g\nA, 1, 2025-06-30, solar, 500, 300\nB, 1, 2025-07-01, solar, 500, 200",
    )
    assert column(book, "yields_by_group", "season", "wax_g", grouping="season") == {"2024": 300, "2025": 200}


def test_a_source_is_told_by_its_id_or_by_the_name_of_its_log():
    book = figures(
        harvests="harvest, date, comb, mass_g\n3, 2025-05-01, cappings, 1000\nblock 9, 2025-05-01, cappings, 100",
        blocks="block, date, mass_g, supplier\n3, 2025-05-01, 400, Wagner\n9, 2025-05-01, 50, Wagner",
        loads="session, source, mass_g\nA, harvest 3, 500\nA, block 3, 100\nA, block 9, 10\nA, 3, 7",
        passes="session, pass, date, method, wax_out_g\nA, 1, 2025-06-01, steam, 600",
    )
    kinds = [(r["source_kind"], r["source"]) for r in book.rows("FROM loaded_masses ORDER BY row")]
    assert kinds == [("harvest", "3"), ("block", "3"), ("harvest", "block 9"), (None, None)]


def test_an_empty_book_has_every_table():
    book = figures()
    assert row(book, "yields_by_group", grouping="book")["yield"] is None
    assert row(book, "stock_total")["total_g"] == 0
    assert row(book, "flow_by_group", grouping="book")["loaded_g"] == 0


@pytest.fixture(scope="module")
def empty() -> Warehouse:
    return figures(whole=True)


@pytest.mark.parametrize("model", queries("models"), ids=lambda m: m.name)
def test_every_model_says_what_a_row_and_each_column_is(model, empty):
    columns = [c["column_name"] for c in empty.rows(f'DESCRIBE "{model.name}"')]
    assert model.about.startswith("one row")
    assert columns == list(model.columns)


OTHER_EXACT = {
    "session_won.end_g": "DECIMAL(29,12)", "wax_followed.end_g": "DECIMAL(28,12)", "wax_followed.aside_g": "DECIMAL(28,12)",
    "yield_parts.mass_g": "DECIMAL(28,12)", "yield_parts.wax_g": "DECIMAL(28,12)", "yield_sums.loaded_g": "DECIMAL(38,12)",
    "yield_sums.wax_g": "DECIMAL(38,12)", "yields_by_season_comb_and_method.loaded_g": "DECIMAL(38,12)",
    "yields_by_season_comb_and_method.wax_g": "DECIMAL(38,12)",
}  # fmt: skip
"""Steps that hold shares of a mass, to a millionth of a microgram, so that the shares sum to it."""
RECKONED = {"frame_weights.each_g", "frame_weights.each_upto_g", "wax_holders.wax_g", "wax_per_candle.fill_g", "wax_per_candle.wax_each_g"}
"""Masses that nobody weighed and nothing is balanced with."""


@pytest.mark.parametrize("model", queries("models"), ids=lambda m: m.name)
def test_every_mass_is_exact_to_a_microgram(model, empty):
    """As the logs hold them (contract 1: everything is g): a sum to the gram must not depend on the order of its parts."""
    for c in empty.rows(f'DESCRIBE "{model.name}"'):
        name = f"{model.name}.{c['column_name']}"
        if name.endswith("_g"):
            assert c["column_type"] == ("DOUBLE" if name in RECKONED else OTHER_EXACT.get(name, "DECIMAL(18,6)")), name
