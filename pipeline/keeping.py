"""A loaded book written into a database file that explains itself in any client."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from pipeline import settings
from pipeline.flow import Loaded
from pipeline.logs import LOGS
from pipeline.warehouse import Query, Warehouse, queries, quoted

_SMALL, _LARGE, _MANY = 16_384, 262_144, 100_000
"""Bytes of a block of the file for ordinary books, and for those of so many rows: small tables fill no large one."""


def keep(loaded: Loaded, file: Path) -> None:
    """Write logs, settings and figures into a new file, with what each table and column means. Raises MachineFault."""
    hand = loaded.warehouse.beside()
    models = hand.in_order(queries("models"))
    gone = {m.name for m in models if m.kept == "no"}
    views = [m for m in models if m.kept == "as a view"]
    room = _LARGE if sum(loaded.rows.values()) > _MANY else _SMALL
    hand.execute(f"ATTACH {quoted(str(file))} AS kept (BLOCK_SIZE {room})")
    hand.execute("USE kept")
    hand.execute("BEGIN")
    for table in _tables(hand):
        if table not in gone:
            columns = "* EXCLUDE (bad)" if table in LOGS else "*"  # what is bad was left out
            hand.execute(f'CREATE TABLE "{table}" AS SELECT {columns} FROM memory."{table}"')
    hand.execute(settings.macros(loaded.book))
    for view in views:
        hand.execute(f'CREATE VIEW "{view.name}" AS {view.sql}')
    hand.execute(";".join(_comments([m for m in models if m.kept != "no"])))
    hand.execute("COMMIT")
    hand.execute("USE memory")
    hand.execute("DETACH kept")


def _tables(hand: Warehouse) -> list[str]:
    found = hand.rows("SELECT table_name AS name FROM duckdb_tables() WHERE database_name = 'memory' ORDER BY name")
    return [row["name"] for row in found]


def _comments(models: list[Query]) -> Iterator[str]:
    """The statements that write what each table, view and column means."""
    for name, (about, columns) in settings.ABOUT.items():
        yield from _told("TABLE", name, about, columns)
    for log in LOGS.values():
        columns = {"row": "record in the file, 1 = the first"} | {c.field: c.about for c in log.columns}
        yield from _told("TABLE", log.name, f"one row: {log.row_is}", columns)
    for model in models:
        yield from _told("VIEW" if model.kept == "as a view" else "TABLE", model.name, model.about, model.columns)


def _told(form: str, name: str, about: str, columns: dict[str, str]) -> Iterator[str]:
    yield f'COMMENT ON {form} "{name}" IS {quoted(about)}'
    for column, meaning in columns.items():
        yield f'COMMENT ON COLUMN "{name}"."{column}" IS {quoted(meaning)}'
