"""Small books for tests: CSV literals in, tables of the figures out."""

from __future__ import annotations

import csv
import io
from datetime import date
from pathlib import Path
from typing import Any

import duckdb

from pipeline.book.book_settings import Book
from pipeline.contract.log_columns import LOGS
from pipeline.database import settings_tables
from pipeline.database.connection import Warehouse, quoted
from pipeline.database.model_order import needed_for
from pipeline.database.shipped_queries import Query, queries
from pipeline.database.tables_a_query_reads import tables_of


def figures(on: str = "2030-01-01", book: dict[str, Any] | None = None, whole: bool = False, **logs: str) -> Warehouse:
    """A warehouse with the logs given as CSV text, headers in grams, dates as ISO; a model is run when it is first asked for.

    ``whole``: all are run at once, for who asks what there is.
    """
    warehouse = _Lazy()
    for name in LOGS:
        _table(warehouse, name, list(csv.DictReader(io.StringIO(logs.get(name, "").strip()), skipinitialspace=True)))
    day = date.fromisoformat(on)
    settings_tables.put(Book(Path(), "test", **(book or {})), warehouse, day, day)
    warehouse.waiting.update((model.name, model) for model in queries("models"))
    if whole:
        warehouse.make_what_is_read_by(*(f"FROM {name}" for name in warehouse.waiting))
    return warehouse


class _Lazy(Warehouse):
    """A warehouse whose models are made when a statement first names one. ``waiting``: those not made yet."""

    def __init__(self) -> None:
        self.waiting: dict[str, Query] = {}
        super().__init__(few_rows=True, hands=1)

    def make_what_is_read_by(self, *statements: str) -> None:
        named = set().union(*map(tables_of, statements)) & self.waiting.keys()
        wanted = needed_for(named, list(self.waiting.values())) if named else []
        for model in wanted:
            del self.waiting[model.name]
        if wanted:
            self.run(wanted)

    def _asked(self, sql: str, parameters: Any = None) -> duckdb.DuckDBPyConnection:
        self.make_what_is_read_by(sql)
        return super()._asked(sql, parameters)


def row(warehouse: Warehouse, table: str, **key: object) -> dict[str, Any]:
    """The one row of a table with these values, exact masses as float."""
    (found,) = warehouse.rows(f'SELECT * FROM "{table}" WHERE {_where(key)}')
    return {name: float(v) if type(v).__name__ == "Decimal" else v for name, v in found.items()}


def column(warehouse: Warehouse, table: str, key: str, value: str, **chosen: object) -> dict[Any, Any]:
    """One column of a table by another, in the rows chosen by these values, exact masses as float."""
    rows = warehouse.rows(f'SELECT {key} AS key, "{value}"::DOUBLE AS value FROM "{table}" WHERE {_where(chosen)}')
    return {found["key"]: found["value"] for found in rows}


def _where(chosen: dict[str, object]) -> str:
    return " AND ".join(f"{name} IS NOT DISTINCT FROM {_literal(value)}" for name, value in chosen.items()) or "true"


def _table(warehouse: Warehouse, name: str, rows: list[dict[str, str]]) -> None:
    columns = LOGS[name].columns
    unknown = {key for line in rows for key in line} - {c.field for c in columns}
    assert not unknown, f"{name} has no {unknown}"
    typed = ", ".join(f'"{c.field}" {c.stored}' for c in columns)
    warehouse.execute(f'CREATE TABLE "{name}" ("row" INTEGER, {typed}, bad BOOLEAN)')
    values = [
        ", ".join([str(i), *(_cell(line.get(c.field)) for c in columns), "false"])
        for i, line in enumerate(rows, start=1)
    ]
    if values:
        warehouse.execute(f'INSERT INTO "{name}" VALUES ({"), (".join(values)})')


def _cell(text: str | None) -> str:
    return quoted(text.strip()) if text and text.strip() else "NULL"


def _literal(value: object) -> str:
    return "NULL" if value is None else quoted(value) if isinstance(value, str) else str(value)
