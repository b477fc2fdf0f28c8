"""Every figure of random books: the program, from CSV files on, against the oracle.

A quick run by default; `LOOK_HARDER=200` in the environment looks at two hundred times as many books.
"""

import math
from collections.abc import Iterable
from dataclasses import fields
from datetime import date, timedelta
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from pipeline import flow
from pipeline.answers import capacity, losses, stock, yields
from pipeline.answers import flow as flows
from pipeline.contract.findings import Severity
from tests.oracle.book import Book, Row
from tests.oracle.figures import Oracle
from tests.oracle.shelf import Shelf
from tests.strategies import LAST_DAY, PLAIN, Dialect, books, dialects, looking, made_book, write_book

YIELDS = ("book", "session", "season", "method", "comb", "apiary", "hive")
LOSSES = ("book", "session", "season", "method", "filter", "comb")
FLOWS = ("book", "session", "season", "method")
KEYS = ("session", "season", "method", "comb", "apiary", "hive", "filter", "stage", "pass", "block", "blend", "harvest", "candle")


def program(book: Book, on: date, dialect: Dialect = PLAIN) -> dict[str, Any]:
    """What the program makes of the book: every table of figures, by name."""
    with TemporaryDirectory() as folder:
        loaded = flow.with_shelf_of(on, flow.load(write_book(book, Path(folder) / "book", dialect), LAST_DAY))
    errors = [f for f in loaded.findings if f.severity is Severity.ERROR]
    assert not errors, errors
    found: dict[str, Any] = {f"yields {by}": list(yields.yields(loaded, by).rows) for by in YIELDS}
    found |= {f"losses {by}": list(losses.losses(loaded, by).rows) for by in LOSSES}
    found |= {f"flow {by}": list(flows.flow(loaded, by).rows) for by in FLOWS}
    shelf = stock.stock(loaded)
    told = {field.name: getattr(shelf, field.name) for field in fields(shelf)}
    found |= {f"stock {name}": list(value) if isinstance(value, tuple) else value for name, value in told.items() if name != "counted_on"}
    found["candles"] = loaded.warehouse.rows("SELECT candle, wax_each_g, fill_g FROM wax_per_candle")
    loaded.warehouse.close()
    return found


def expected(book: Book, on: date) -> dict[str, Any]:
    """The oracle's word on the same tables."""
    oracle = Oracle(book)
    found: dict[str, Any] = {f"yields {by}": oracle.yields(None if by == "book" else by) for by in YIELDS}
    found |= {f"losses {by}": oracle.losses(None if by == "book" else by) for by in LOSSES}
    found |= {f"flow {by}": oracle.flow(None if by == "book" else by) for by in FLOWS}
    found |= {f"stock {name}": rows for name, rows in Shelf(book, on).stock().items()}
    found["candles"] = [{k: v for k, v in row.items() if k != "now"} for row in Shelf(book, on).capacity_now()]
    return found


def differences(ours: dict[str, Any], theirs: dict[str, Any]) -> list[str]:
    """One line for every figure that differs; empty where all agree."""
    assert ours.keys() == theirs.keys()
    return [line for name in ours for line in _differing(name, ours[name], theirs[name])]


def _differing(name: str, ours: Any, theirs: Any) -> Iterable[str]:
    if not isinstance(ours, list):
        return [] if agree(ours, theirs) else [f"{name}: {ours} is not {theirs}"]
    left, right = by_key(ours), by_key(theirs)
    return [
        f"{name} {key}: {column}: {a.get(column)} is not {b.get(column)}"
        for key in sorted(left.keys() | right.keys(), key=str)
        for a, b in [(left.get(key, {}), right.get(key, {}))]
        for column in sorted(a.keys() | b.keys())
        if not agree(a.get(column), b.get(column), share=column in ("yield", "u", "loss"))
    ]


def by_key(rows: list[Row]) -> dict[tuple[Any, ...], Row]:
    """Rows by their key; a row whose figures are all nothing may be there or not."""
    kept = {}
    for row in rows:
        key = tuple(row.get(column) for column in KEYS)
        assert key not in kept, f"two rows for {key}"
        if any(value for column, value in row.items() if column not in KEYS and column != "flags"):
            kept[key] = row
    return kept


def agree(a: Any, b: Any, share: bool = False) -> bool:
    """Equal; masses to a milligram, shares to the ninth digit."""
    if isinstance(a, date) or isinstance(b, date):
        return str(a) == str(b)
    if isinstance(a, list) and isinstance(b, list):
        return sorted(a) == sorted(b)
    if a is None or b is None or isinstance(a, str) or isinstance(b, str):
        return bool(a == b)
    if share:
        return math.isclose(float(a), float(b), rel_tol=1e-9, abs_tol=1e-9)
    return abs(float(a) - float(b)) < 1e-3


def days() -> st.SearchStrategy[date]:
    return st.one_of(st.just(LAST_DAY), st.integers(0, 700).map(lambda n: date(2023, 11, 1) + timedelta(days=n)))


@looking(8)
@given(books(), days())
def test_every_figure_of_any_book(book: Book, on: date) -> None:
    found = differences(program(book, on), expected(book, on))
    assert not found, "\n".join(found)

@looking(3)
@given(books(), dialects())
def test_the_same_figures_from_any_spreadsheet(book: Book, dialect: Dialect) -> None:
    found = differences(program(book, LAST_DAY, dialect), expected(book, LAST_DAY))
    assert not found, "\n".join(found)


def test_how_many_candles_the_wax_on_hand_makes(tmp_path: Path) -> None:
    """Books from fixed seeds, those with recipes: the wax on hand by the ledger, whole candles only, rolled ones unknown."""
    makers = [book for seed in range(5) if (book := made_book(Random(seed))).logs["candles"]]
    assert len(makers) > 1
    for i, book in enumerate(makers):
        seen = capacity.capacity(flow.load(write_book(book, tmp_path / str(i)), LAST_DAY))
        now = {row["candle"]: row["now"] for row in Shelf(book, LAST_DAY).capacity_now()}
        assert {kind.candle: kind.now for kind in seen.rows} == now
