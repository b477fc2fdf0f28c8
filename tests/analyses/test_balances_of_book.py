"""Which cells of a book weigh the same wax: rows in, the balances that they make out, written down by hand."""

from __future__ import annotations

from datetime import date

import pytest

from pipeline.analyses.balances_of_book import Records, balances
from pipeline.analyses.shelf_balance import Move, shelf_balances
from pipeline.analyses.step_balance import Balance, Slack, Weight
from tests.analyses.balances import step, weight

MAY = [date(2025, 5, d) for d in range(1, 32)]


def run_of(session: str, number: int, mass_in, wax_out, residue=None) -> dict:
    return {"session": session, "pass": number, "mass_in_g": mass_in, "wax_out_g": wax_out, "residue_g": residue}


def load(session: str, source: str, mass, kind: str = "harvest", number: int | None = 1, part=None, emptied=False, day=MAY[5]) -> dict:
    return {"session": session, "pass": number, "source_kind": kind, "source": source, "part": part, "mass_g": mass, "emptied": emptied, "date": day}


def block(name: str, mass, session=None, day=MAY[0], blend=None) -> dict:
    return {"block": name, "session": session, "date": day, "blend": blend, "mass_g": mass}


def draw(name: str, mass, day=MAY[9]) -> dict:
    return {"block": name, "date": day, "mass_g": mass}


def count(item: str | None, mass, day, kind: str = "block") -> dict:
    return {"date": day, "item_kind": kind, "item": item, "mass_g": mass}


def made(**logs) -> list[Balance]:
    return balances(Records(**{log: [{"row": n, **r} for n, r in enumerate(rows, 1)] if log != "unweighed_pours" else rows for log, rows in logs.items()}))


def cell(w: Weight) -> str:
    return f"{w.log}{w.row}" + ("" if w.column == "mass" else f".{w.column}")


def told(found: list[Balance], *kinds: str) -> list[str]:
    return [
        f"{b.kind} {b.of}" + (f"/{b.number}" if b.number else "") + ": " + " ".join(map(cell, b.into)) + " = " + " ".join(map(cell, b.out)) + ("" if b.closed else " + rest")
        for b in found if not kinds or b.kind in kinds
    ]  # fmt: skip


def test_passes_are_joined_melted_and_cast() -> None:
    found = made(
        passes=[run_of("S", 2, 300, 290), run_of("S", 1, 1000, 300, 100)],  # in any order
        loads=[load("S", "H", 990), load("S", "I", 10, number=None), load("S", "B", 5, "block", 2)],
        blocks=[block("A", 200, "S"), block("C", 85, "S"), block("D", 9)],
        steps=[{"session": "S", "pass": 1, "stage": "first", "method": "steam", "comb": "cappings"}],
    )
    assert told(found, "join", "yield", "melt", "cast") == [
        "join S/1: loads1 loads2 = passes2.mass_in",  # a load without a pass goes into the first
        "yield S/1: passes2.mass_in = passes2.wax_out",
        "melt S/1: passes2.mass_in = passes2.wax_out passes2.residue",
        "join S/2: passes2.wax_out loads3 = passes1.mass_in",
        "yield S/2: passes1.mass_in = passes1.wax_out",  # its residue was not weighed
        "cast S: passes1.wax_out = blocks1 blocks2",
    ]
    by = {(b.kind, b.number): b for b in found}
    assert by["join", 1].alike != by["join", 2].alike  # first loads spill otherwise than wax that is taken on
    assert by["melt", 1].alike[0] == ("melt", "first", "steam", "cappings", "1")
    assert by["yield", 2].alike[0] == ("yield", None, None, None, "2")
    assert by["yield", 1].alike == (
        ("yield", "first", "steam", "cappings", "1"), ("yield", "first", "steam", None, "1"), ("yield", "first", "steam", "cappings"),
        ("yield", "first", "steam"), ("yield", "first"),
    )  # fmt: skip
    assert len(set(by["yield", 2].alike)) == len(by["yield", 2].alike)  # where no comb is known none counts twice


def test_passes_not_weighed_between_are_one_step() -> None:
    found = made(
        passes=[run_of("S", 1, 1000, None, 50), run_of("S", 2, None, 300, 20), run_of("S", 3, 300, None, 1)],
        loads=[load("S", "H", 1000), load("S", "I", 40, number=2)],
    )
    assert told(found, "join", "yield", "melt", "cast", "wax") == [
        "join S/1: loads1 = passes1.mass_in",
        "yield S/1: passes1.mass_in loads2 = passes2.wax_out",
        "melt S/1: passes1.mass_in loads2 = passes2.wax_out passes1.residue passes2.residue",
        "join S/3: passes2.wax_out = passes3.mass_in",
        "yield S/3: passes3.mass_in = passes3.wax_out",
        "melt S/3: passes3.mass_in = passes3.wax_out passes3.residue",
    ]


@pytest.mark.parametrize(
    ("mass_in", "wax_out", "residue", "kinds"),
    [
        (None, 300, None, ["yield"]),  # nothing was loaded: there is nothing to join
        (0, 300, None, ["yield"]),
        (900, 300, None, ["join", "yield"]),  # it was weighed: a load under another name may belong
        (900, 0, 100, ["join", "melt"]),  # all lost is a reading, and no yield
    ],
)  # fmt: skip
def test_a_pass_into_which_nothing_was_loaded(mass_in, wax_out, residue, kinds) -> None:
    assert [b.kind for b in made(passes=[run_of("S", 1, mass_in, wax_out, residue)])] == kinds


@pytest.mark.parametrize(
    ("blocks", "passed", "expected"),
    [
        ([], [], []),
        ([], [load("T", "S", 90, "session", part="wax")], ["wax S: passes1.wax_out = loads1 + rest"]),
        ([], [load("T", "S", 90, "session", part="wax", emptied=True)], ["wax S: passes1.wax_out = loads1"]),
        ([], [load("T", "S", None, "session", part="wax")], ["wax S: passes1.wax_out = loads1"]),  # an empty mass takes the rest
        ([block("A", 50, "S")], [load("T", "S", 90, "session", part="wax")], ["cast S: passes1.wax_out = blocks1 loads1"]),
        ([block("A", 50, "T")], [], []),
    ],
)  # fmt: skip
def test_wax_is_cast_or_goes_on(blocks, passed, expected) -> None:
    assert told(made(passes=[run_of("S", 1, None, 100)], blocks=blocks, loads=passed), "cast", "wax") == expected


@pytest.mark.parametrize(
    ("residues", "emptied", "expected"),
    [
        ((50, 7), True, ["slumgum S: passes1.residue passes2.residue = loads1"]),
        ((50, 7), False, ["slumgum S: passes1.residue passes2.residue = loads1 + rest"]),
        ((50, None), True, []),  # what was not weighed cannot be compared
    ],
)  # fmt: skip
def test_slumgum_pressed_later_is_what_the_passes_left(residues, emptied: bool, expected) -> None:
    found = made(
        passes=[run_of("S", n, None, 100, r) for n, r in enumerate(residues, 1)], loads=[load("T", "S", 57, "session", part="slumgum", emptied=emptied)],
    )  # fmt: skip
    assert told(found, "slumgum") == expected


STORES = {
    "nothing": ([], [], "block A: blocks1 =  + rest"),
    "in the order of their days": ([draw("A", 30, MAY[20]), draw("A", 20, MAY[9])], [], "block A: blocks1 = draws2 draws1 + rest"),
    "counted": ([draw("A", 30)], [count("A", 70, MAY[20])], "block A: blocks1 = draws1 stocktakes1"),
    "used on the day of the count": ([draw("A", 30, MAY[20])], [count("A", 70, MAY[20])], "block A: blocks1 = draws1 stocktakes1"),
    "used a day later": (
        [draw("A", 30, MAY[21])], [count("A", 70, MAY[20])], "block A: blocks1 = stocktakes1 | block A: stocktakes1 = draws1 + rest",
    ),
    "counted twice": (
        [draw("A", 30), draw("A", 5, MAY[22])], [count("A", 60, MAY[25]), count("A", 70, MAY[20])],
        "block A: blocks1 = draws1 stocktakes2 | block A: stocktakes2 = draws2 stocktakes1",
    ),
    "all that was left": ([draw("A", None)], [], "block A: blocks1 = draws1"),
    "counted without weighing": ([draw("A", 30)], [count("A", None, MAY[20])], "block A: blocks1 = draws1 + rest"),
    "the shelf was counted": ([], [count(None, 70, MAY[20], "shelf")], "block A: blocks1 =  + rest"),
}  # fmt: skip


@pytest.mark.parametrize("case", STORES)
def test_a_block_is_what_was_drawn_and_what_is_left(case: str) -> None:
    draws, counts, expected = STORES[case]
    assert " | ".join(told(made(blocks=[block("A", 100)], draws=draws, stocktakes=counts), "block")) == expected


@pytest.mark.parametrize(("poured", "closed"), [(MAY[20], False), (MAY[21], True)])
def test_a_count_after_a_pour_that_nobody_weighed_out_says_nothing_of_a_block(poured: date, closed: bool) -> None:
    found = made(blocks=[block("A", 100)], draws=[draw("A", 30)], stocktakes=[count("A", 70, MAY[20])], unweighed_pours=[poured])
    assert told(found, "block") == (["block A: blocks1 = draws1 stocktakes1"] if closed else ["block A: stocktakes1 =  + rest"])


def test_a_harvest_counted_before_any_load_is_no_balance_of_loads() -> None:
    harvests = [{"harvest": "H", "mass_g": 100}]
    counts = [count("H", 60, MAY[3], "harvest")]
    assert told(made(harvests=harvests, stocktakes=counts), "harvest") == ["harvest H: stocktakes1 =  + rest"]
    used = made(harvests=harvests, stocktakes=[count("H", 60, MAY[9], "harvest")], loads=[load("S", "H", 40), load("T", "H", 50, emptied=True, day=MAY[20])])
    assert told(used, "harvest") == ["harvest H: harvests1 = loads1 stocktakes1", "harvest H: stocktakes1 = loads2"]
    assert [b.session for b in used if b.kind == "harvest"] == ["S", "T"]


def test_a_row_that_says_what_an_earlier_one_says_is_marked() -> None:
    found = made(
        blocks=[block("A", 100, "S"), block("B", 100, "S"), block("C", 100, "T"), block("D", 101, "S")],
        draws=[draw("A", 30), draw("A", 30), draw("B", 30), draw("A", 31), draw("A", 30, MAY[10]), draw("A", None), draw("A", None)],
        loads=[load("S", "H", 5), load("S", "I", 5), load("S", "H", 5), load("S", "H", 5, number=2)],
        passes=[run_of("S", 1, 100, 100), run_of("S", 2, 100, 100)],
    )
    every = {w for b in found for w in (*b.into, *b.out)}
    assert {cell(w) for w in every if w.again} == {"blocks2", "draws2", "loads3"}


# --- the shelf counted whole


def moved(*moves: tuple) -> list[Move]:
    """(day, kind, block, mass, emptied?), each a row of its own."""
    return [Move(MAY[day], kind, row, of, weight(mass, kind, row), *more) for row, (day, kind, of, mass, *more) in enumerate(moves, 1)]


SHELVES = {
    "blocks less what was taken off": (((1, "cast", "A", 10), (1, "cast", "B", 5), (2, "gone", "A", 4), (3, "counted", None, 11)), "cast1 cast2 = gone3 counted4"),
    "from one count to the next": (
        ((1, "cast", "A", 10), (2, "counted", None, 9), (3, "gone", "A", 4), (4, "counted", None, 5)), "cast1 = counted2 | counted2 = gone3 counted4",
    ),
    "within a day wax in, wax out, then the count": (((2, "counted", None, 9), (2, "gone", "A", 1), (2, "cast", "A", 10)), "cast3 = gone2 counted1"),
    "what comes later is not there yet": (((1, "cast", "A", 10), (3, "cast", "B", 5), (2, "counted", None, 10)), "cast1 = counted3"),
    "a block counted is what was found": (
        ((1, "cast", "A", 10), (1, "cast", "B", 5), (2, "gone", "A", 4), (3, "counted", "A", 6), (4, "counted", None, 11)), "cast2 counted4 = counted5",
    ),
    "a block emptied is gone": (((1, "cast", "A", 10), (1, "cast", "B", 5), (2, "gone", "A", 4, True), (4, "counted", None, 5)), "cast2 = counted4"),
}  # fmt: skip


@pytest.mark.parametrize("case", SHELVES)
def test_the_shelf_counted_is_what_came_onto_it_less_what_left(case: str) -> None:
    moves, expected = SHELVES[case]
    found = list(shelf_balances(moved(*moves), []))
    assert " | ".join(f"{' '.join(map(cell, b.into))} = {' '.join(map(cell, b.out))}" for b in found) == expected
    assert all(b.closed and b.session is None for b in found)


@pytest.mark.parametrize(("poured", "counts"), [(2, 2), (3, 1), (4, 1), (5, 2)])
def test_a_pour_that_nobody_weighed_out_opens_the_shelf_until_the_next_count(poured: int, counts: int) -> None:
    moves = moved((1, "cast", "A", 10), (2, "counted", None, 9), (4, "counted", None, 5))
    found = list(shelf_balances(moves, [MAY[poured]]))
    assert len(found) == (1 if poured == 2 else counts)
    assert found[-1].of == ("2025-05-05" if poured in (2, 5) else "2025-05-03")


def test_only_pure_wax_is_on_the_shelf_and_only_where_it_is_ever_counted() -> None:
    logs = {
        "blocks": [block("A", 100), block("B", 50, blend="soft")], "draws": [draw("A", 30), draw("B", 10)],
        "loads": [load("S", "A", 20, "block")], "passes": [run_of("S", 1, 20, 19)],
    }  # fmt: skip
    whole = count(None, 50, MAY[25], "shelf")
    assert told(made(**logs, stocktakes=[whole]), "shelf") == ["shelf 2025-05-26: blocks1 = loads1 draws1 stocktakes1"]
    assert told(made(**logs, stocktakes=[whole, count("B", 4, MAY[20]), count("A", 3, MAY[21])]), "shelf") == ["shelf 2025-05-26: stocktakes3 = stocktakes1"]
    assert told(made(**logs, stocktakes=[count("A", 3, MAY[21])]), "shelf") == []
    emptied = logs | {"loads": [load("S", "A", 20, "block", emptied=True, day=MAY[12])]}
    assert told(made(**emptied, stocktakes=[whole]), "shelf") == ["shelf 2025-05-26:  = stocktakes1"]


# --- one step


@pytest.mark.parametrize(
    ("kind", "into", "out", "share"),
    [
        ("yield", [600, 400], [300], 0.7),
        ("melt", [600, 400], [300, 560], 0.2),  # 140 g of the 700 g that are no wax: water and dirt stay behind, wax does not
        ("melt", [100], [100, 0], None),  # nothing was lost of nothing
        ("melt", [100], [120, 0], None),
        ("join", [None, 50], [40], 0.2),
        ("join", [0], [40], None),
    ],
)  # fmt: skip
def test_what_went_missing_is_a_share_of_what_bears_it(kind: str, into, out, share: float | None) -> None:
    found = step(kind, into, out)
    assert found.lost_share == (None if share is None else pytest.approx(share))
    assert (found.in_g, found.out_g, found.weighed) == (sum(m or 0 for m in into), sum(out), None not in into)
    assert [w.mass_g for w in found.unweighed] == [m for m in into if m is None]


def test_a_gap_counts_what_went_in_less_what_is_usually_lost_of_it() -> None:
    half = Slack(0.5, 0.1, 9)
    assert half.coefficients(step("yield", [600, 400], [300])) == [0.5, 0.5, -1]
    assert half.coefficients(step("melt", [600], [300, 200])) == [0.5, -0.5, -1]
    assert (half.sd_g(1000), half.sd_g(0)) == (100, 0.001)  # nothing is surer than a milligram
    assert (half.before_g(300), Slack(0.99, 0.1, 9).before_g(10)) == (600, pytest.approx(200))  # a 20th is taken to come out at least
    assert (half.rest, half.judged, weight(1).again, step("join", [1], [1]).number) == (0, False, False, None)


def test_a_missing_row_is_looked_for_in_the_log_that_would_hold_it() -> None:
    kinds = ("harvest", "block", "cast", "shelf", "join", "melt", "yield", "wax", "slumgum")
    assert [step(k, [1], [1]).missing for k in kinds] == ["loads", "draws", "blocks", "draws", "loads", None, None, None, None]
