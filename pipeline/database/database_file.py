"""A loaded book written into a database file that explains itself in any client."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from pathlib import Path
from typing import Self

from pipeline.book.book_folder import Book
from pipeline.contract.log_columns import LOGS
from pipeline.database import settings_tables
from pipeline.database.connection import Query, Row, Warehouse, queries, quoted

_SMALL, _LARGE, _MANY = 16_384, 262_144, 100_000
"""Bytes of a block of the file for ordinary books, and for those of so many rows: small tables fill no large one."""


class Keeper:
    """Writes a book into a new file with what each table and column means, its logs while figures are still worked out."""

    def __init__(self, file: Path) -> None:
        """Begin nothing yet."""
        self._file = file
        self._thread = ThreadPoolExecutor(1)
        self._begun: Future[Warehouse] | None = None

    def __enter__(self) -> Self:
        """Use it in a with block."""
        return self

    def __exit__(self, *_: object) -> None:
        """Stop when what is under way is written; the file is whole only if :meth:`finish` said so."""
        self._thread.shutdown(cancel_futures=True)

    def begin(self, warehouse: Warehouse) -> None:
        """Write the logs, which must not change any more."""
        self._begun = self._thread.submit(_with_logs, warehouse.beside(), self._file)

    def finish(self, warehouse: Warehouse, book: Book, *, anew: bool) -> Future[None]:
        """Write settings and figures, and the logs ``anew`` where rows were left out since. Its result raises MachineFault."""
        return self._thread.submit(self._finished, warehouse, book, anew)

    def _finished(self, warehouse: Warehouse, book: Book, anew: bool) -> None:
        begun = self._begun.result() if self._begun else None
        if begun and anew:
            _let_go(begun)
            self._file.unlink()
            begun = None
        hand = begun or _with_logs(warehouse.beside(), self._file)
        _add_figures(hand, book)
        _let_go(hand)


def _with_logs(hand: Warehouse, file: Path) -> Warehouse:
    """A hand on a new file with the logs in it."""
    rows = sum(table["rows"] for table in _tables(hand) if table["name"] in LOGS)
    hand.execute(f"ATTACH {quoted(str(file))} AS kept (BLOCK_SIZE {_LARGE if rows > _MANY else _SMALL})")
    hand.execute("USE kept")
    hand.execute("SET disabled_compression_methods = 'dict_fsst'")  # packing names takes longer than writing them
    hand.execute("BEGIN")
    for log in LOGS:  # what is bad is left out
        hand.execute(f'CREATE TABLE "{log}" AS SELECT * EXCLUDE (bad) FROM memory."{log}"')
    hand.execute("COMMIT")
    return hand


def _add_figures(hand: Warehouse, book: Book) -> None:
    models = hand.in_order(queries("models"))
    gone = {m.name for m in models if m.kept == "no"} | LOGS.keys()
    hand.execute("BEGIN")
    for table in _tables(hand):
        if table["name"] not in gone:
            hand.execute('CREATE TABLE "{name}" AS FROM memory."{name}"'.format_map(table))
    hand.execute(settings_tables.macros(book))
    for view in models:
        if view.kept == "as a view":
            hand.execute(f'CREATE VIEW "{view.name}" AS {view.sql}')
    hand.execute(";".join(_comments([m for m in models if m.kept != "no"])))
    hand.execute("COMMIT")


def _let_go(hand: Warehouse) -> None:
    hand.execute("USE memory")
    hand.execute("DETACH kept")


def _tables(hand: Warehouse) -> list[Row]:
    """Name and number of rows of each table worked out so far."""
    return hand.rows(
        "SELECT table_name AS name, estimated_size AS rows FROM duckdb_tables() WHERE database_name = 'memory' ORDER BY name"
    )


def _comments(models: list[Query]) -> Iterator[str]:
    """The statements that write what each table, view and column means."""
    for name, (about, columns) in settings_tables.ABOUT.items():
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
