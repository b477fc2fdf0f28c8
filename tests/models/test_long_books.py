"""Every model over long random books of fixed seeds, each row against the oracle: what one short book seldom holds is here many times."""

from __future__ import annotations

import csv
import io
from collections import defaultdict
from collections.abc import Iterable
from datetime import date
from pathlib import Path
from random import Random
from typing import Any

import pytest

from pipeline.book.book_settings import Scale
from pipeline.database import shelf_on_another_day
from pipeline.database.connection import Warehouse
from tests.models.test_against_oracle import FLOWS, LOSSES, YIELDS, agree
from tests.oracle import candles
from tests.oracle.book import Book, Row
from tests.oracle.figures import Oracle, key_names
from tests.oracle.shelf import Shelf
from tests.oracle.trace import Walk
from tests.small_books import figures
from tests.strategies import long_book, table

PURITY = Path(__file__).parents[2] / "data/reference/purity.csv"

SEEDS = (1, 2, 3)
EVENTS = 90
DAYS = (date(2025, 6, 10),)
"""Days on which the shelf is looked at, beside one after all that is written down."""
END = date(2032, 1, 1)

Both = tuple[Book, Warehouse]


def loaded(book: Book) -> Warehouse:
    """The models run over the book's rows."""
    s = book.settings
    scales = {log: Scale(float(x.step_g), float(x.relative)) for log, x in {"": s.scale, **s.other_scales}.items()}
    settings = {"season_starts": (s.season_month, s.season_day), "scales": scales, "pour_loss_share": s.pour_loss, "densities": s.densities}
    return figures(END.isoformat(), settings, whole=True, **{log: table(rows) for log, rows in book.logs.items() if rows})


@pytest.fixture(scope="module", params=SEEDS)
def both(request: pytest.FixtureRequest) -> Both:
    """A book and what the models make of it."""
    book = long_book(Random(request.param), EVENTS)
    return book, loaded(book)


def same(both: Both, sql: str, expected: Iterable[Row], keys: tuple[str, ...]) -> None:
    """Whether a SELECT's rows are the oracle's in each column that the oracle has, neither more nor fewer of them."""
    found, theirs = by(keys, both[1].rows(sql)), by(keys, expected)
    wrong = [f"{key}: only in {'models' if key in found else 'oracle'}" for key in found.keys() ^ theirs.keys()]
    wrong += [
        f"{key} {column}: {a.get(column)} is not {value}"
        for key in found.keys() & theirs.keys()
        for a, b in [(found[key], theirs[key])]
        for column, value in b.items()
        if not agree(a.get(column), value, share=column in ("yield", "u", "loss", "share"))
    ]
    assert not wrong, "\n".join([sql, *wrong[:20]])


def by(keys: tuple[str, ...], rows: Iterable[Row]) -> dict[tuple[Any, ...], Row]:
    found: dict[tuple[Any, ...], Row] = {}
    for row in rows:
        key = tuple(row.get(k) for k in keys)
        assert key not in found, f"two rows for {key}"
        found[key] = row
    return found


@pytest.mark.parametrize("group", YIELDS)
def test_yields(both: Both, group: str) -> None:
    oracle = Oracle(both[0])
    if group == "session":
        same(both, "FROM yields_by_session", oracle.yields("session"), ("session",))
        return
    named = None if group == "book" else group
    same(both, f"FROM yields_by_group WHERE grouping = '{group}'", oracle.yields(named), key_names(named) if named else ())


@pytest.mark.parametrize("group", LOSSES)
def test_losses(both: Both, group: str) -> None:
    source = "pass_steps WHERE counted" if group == "session" else f"losses_by_group WHERE grouping = '{group}'"
    named = () if group == "book" else (group,)
    same(both, f"FROM {source}", Oracle(both[0]).losses(None if group == "book" else group), (*named, "stage", "pass"))


@pytest.mark.parametrize("group", FLOWS)
def test_flow(both: Both, group: str) -> None:
    source = "flow_by_session" if group == "session" else f"flow_by_group WHERE grouping = '{group}'"
    same(both, f"FROM {source}", Oracle(both[0]).flow(None if group == "book" else group), () if group == "book" else (group,))


def test_steps(both: Both) -> None:
    """Each weighed step: what went into it as weighed or estimated, and under which name it stands."""
    expected = [
        {
            "session": name, "pass": step.number, "date": step.end, "season": session.season, "method": step.method,
            "filter": step.filter, "stage": session.stage(step), "passes": step.passes, "before_g": step.before_g,
            "in_g": step.flow_in_g, "wax_g": step.wax_g, "residue_g": step.residue_g, "in_known": step.in_g is not None, "loaded_g": step.loaded_g,
            "in_weighed": step.in_weighed, "residue_weighed": step.residue_weighed,
        }
        for name, session in Oracle(both[0]).sessions.items() for step in session.steps
    ]  # fmt: skip
    same(both, "FROM pass_steps", expected, ("session", "pass"))


def test_sessions(both: Both) -> None:
    """What each session was loaded with, and what became of its wax, with the number of weighings behind it."""
    expected = [
        {
            "session": name, "date": s.passes[0]["date"], "last_date": s.passes[-1]["date"], "comb": s.comb_kind,
            "last_pass": s.passes[-1]["pass"], "last_wax_g": s.last_wax_g, "loaded_g": s.loaded_g, "wax_loaded_g": s.wax_loaded_g,
            "fed_g": s.yield_sides[0], "slumgum_g": sum(x.mass or 0 for x in s.slumgum), "wax_loads": len(s.wax),
            "comb_loads": len(s.comb) if s.loads else 1, "logged": bool(s.loads), "wax_only": s.wax_only,
            "has_slumgum": bool(s.slumgum), "unweighed": "unweighed" in s.flags, "blocks_g": s.blocks_g, "blocks": len(s.blocks),
            "first_cast": min((b["date"] for b in s.blocks), default=None), "passed_on_g": s.passed_on_g,
            "passes_on": len(s.passed_on_loads), "set_aside_g": s.set_aside_g,
        }
        for name, s in Oracle(both[0]).sessions.items()
    ]  # fmt: skip
    same(both, "FROM session_wax", expected, ("session",))


def test_loads(both: Both) -> None:
    """Each load with its mass: weighed, all that was left, or what mass_in leaves; and the estimate where there is no other."""
    expected = [
        {
            "row": load.order + 1, "session": load.session, "pass": load.number, "date": load.day, "source": load.source,
            "part": {"block": "wax"}.get(load.kind, load.kind), "mass_g": load.mass, "flow_g": load.flow_mass, "weighed": load.weighed,
        }
        for load in both[0].loads
    ]  # fmt: skip
    same(both, "FROM loaded_masses WHERE row IS NOT NULL", expected, ("row",))


@pytest.mark.parametrize("on", [*DAYS, END], ids=str)
def test_the_shelf_of_a_day(both: Both, on: date) -> None:
    book, warehouse = both[0], both[1].beside()
    if on != END:
        shelf_on_another_day.show(warehouse, on)
    shelf = Shelf(book, on)
    told, there = shelf.stock(), (book, warehouse)
    for name, source, key in (
        ("blocks", "stock_blocks", "block"), ("blended", "stock_blended", "block"), ("set_aside", "stock_set_aside", "session"),
        ("pending", "comb_pending", "harvest"), ("store_loss", "store_losses", "harvest"), ("candles", "candle_stock", "candle"),
    ):  # fmt: skip
        same(there, f"FROM {source}", told[name], (key,))
    same(there, "FROM stock_total", [{name: told[name] for name in ("total_g", "unplaced_g")}], ())
    same(there, "FROM comb_on_hold", shelf.pending(held=True), ("harvest",))
    same(there, "FROM shelf_days", shelf.days(), ("date",))
    same(there, "SELECT * FROM shelf_moves", ledger(shelf), ("date", "turn", "place"))


def ledger(shelf: Shelf) -> list[Row]:
    """The moves by the oracle, in the columns of the model that the contract settles."""
    return [
        {
            "date": move.day, "turn": move.phase, "mass_g": float(move.mass or 0), "total_g": total, "place": place,
            "kind": "stocktake" if move.kind == "shelf" else move.kind, "block": move.key,
        }
        for place, (move, total) in enumerate(shelf.ledger(), start=1)
    ]  # fmt: skip


def test_candles_day_by_day(both: Both) -> None:
    book = both[0]
    same(both, "FROM candle_days", candles.candle_days(book), ("candle", "date"))
    same(both, "FROM market_sales", candles.market_sales(book), ("candle", "date", "place"))
    same(both, "FROM income", candles.income(book), ("season", "candle"))


def test_where_wax_came_from_and_who_holds_it(both: Both) -> None:
    """The next step back of every session, its slumgum, every block and batch; and the wax that each holds."""
    book = both[0]
    walk = Walk(book)
    things = [("session", name) for name in book.passes] + [("slumgum", name) for name in book.passes]
    things += [("block", name) for name in book.blocks] + [("batch", row["batch"]) for row in book.logs["batches"]]
    same(both, STEPS_BACK, steps_back(walk, things), ("kind", "id", "from_kind", "from_id"))
    whole: list[Row] = [
        {"kind": "draw", "id": str(i), "from_kind": "block", "from_id": row["block"], "share": 1}
        for i, row in enumerate(book.logs["draws"], start=1)
    ]
    for i, row in enumerate(book.logs["sales"], start=1):
        batch = row.get("batch")
        whole.append({"kind": "sale", "id": str(i), "from_kind": "batch" if batch else "unknown", "from_id": batch, "share": 1})
    same(both, "FROM wax_links WHERE kind IN ('draw', 'sale')", whole, ("kind", "id"))
    same(both, "FROM wax_holders WHERE kind <> 'draw' OR wax_g <> 0", walk.holders(), ("kind", "id"))


STEPS_BACK = """
    SELECT t.kind, t.id, coalesce(d.from_kind, t.from_kind) AS from_kind, coalesce(d.from_id, t.from_id) AS from_id, sum(t.share) AS share
    FROM wax_links AS t LEFT JOIN wax_links AS d ON t.from_kind = 'draw' AND d.kind = 'draw' AND d.id = t.from_id
    WHERE t.kind NOT IN ('draw', 'sale') GROUP BY ALL HAVING sum(t.share) > 1e-12"""


def steps_back(walk: Walk, things: Iterable[tuple[str, str]]) -> list[Row]:
    """The oracle's shares of each thing; a block that was bought came from nowhere in this book."""
    found: dict[tuple[str, str, str, str | None], float] = defaultdict(float)
    for kind, name in things:
        for (from_kind, from_id), share in walk.made_of(kind, name):
            if from_kind != "bought":
                found[kind, name, from_kind, from_id] += float(share)
    return [
        dict(zip(("kind", "id", "from_kind", "from_id"), key, strict=True)) | {"share": share} for key, share in found.items() if share > 1e-12
    ]


def test_purity_of_blocks(both: Both) -> None:
    """Each figure against what is published of white wax for a white block and of yellow wax for all others, else of any."""
    published = {(row["wax"], row["property"]): row for row in csv.DictReader(io.StringIO(PURITY.read_text("utf-8")))}
    expected = []
    for name, row in both[0].blocks.items():
        acid, ester = row.get("acid_value"), row.get("ester_value")
        measured = {"melting_point": row.get("melting_point_c"), "acid_value": acid, "ester_value": ester}
        measured["saponification_value"] = None if acid is None or ester is None else acid + ester
        for what, value in measured.items():
            if value is not None:
                colour = "white" if row.get("colour") == "white" else "yellow"
                limits = published.get((colour, what)) or published[("any", what)]
                low, high = float(limits["low"]), float(limits["high"])
                outside = not low <= float(value) <= high
                expected.append({"block": name, "property": what, "value": value, "low": low, "high": high, "source": limits["source"], "outside": outside})
    assert {row["outside"] for row in expected} == {True, False}
    same(both, "FROM block_purity", expected, ("block", "property"))
