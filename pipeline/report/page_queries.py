"""The questions that the report puts to the book's database: shipped SELECTs, shown on the page as they were asked."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from pipeline.database.connection import Warehouse
from pipeline.database.shipped_queries import Query, query

Row = dict[str, Any]

_FOLDER = "report/queries"


def ask(warehouse: Warehouse, name: str) -> list[Row]:
    """Its rows; masses in g as floats, shares 0-1, dates as dates."""
    return [{k: _plain(v) for k, v in row.items()} for row in warehouse.rows(query(_FOLDER, name).sql)]


def shown(*names: str) -> tuple[Query, ...]:
    """The questions behind a panel, without the comment that gives their title."""
    return tuple(Query(q.name, _body(q.sql), q.about, q.columns) for q in (query(_FOLDER, name) for name in names))


def _body(sql: str) -> str:
    return "\n".join(line for line in sql.splitlines() if not line.startswith("--")).strip()


def _plain(value: Any) -> Any:
    return float(value) if isinstance(value, Decimal) else value
