"""The database file of a book: written aside and swapped in whole, and opened again where nothing has changed since."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

from pipeline.book.book_settings import DATABASE, WORKSHOP, Book
from pipeline.book.regular_files import bytes_of
from pipeline.contract.columns import ODD
from pipeline.contract.findings import MachineFault
from pipeline.contract.log_columns import LOGS
from pipeline.database import findings_and_origin_tables, settings_tables, table_and_column_comments
from pipeline.database.connection import Row, Warehouse, quoted
from pipeline.database.made_from import MadeFrom, sha256
from pipeline.database.model_order import in_order
from pipeline.database.shipped_queries import queries
from pipeline.database.text_cache import KeptTexts

_SMALL, _LARGE, _MANY = 16_384, 262_144, 100_000
"""Bytes of a block of the file for ordinary books, and for those of so many rows: small tables fill no large one."""


def recalled(origin: MadeFrom) -> Warehouse | None:
    """A book's database file, opened to be read, where it is whole and was made from just this; else None."""
    file = origin.folder / DATABASE
    try:
        if not file.is_file() or bytes_of(_digest_file(origin.folder)).decode("ascii", "replace") != sha256(file):
            return None
    except OSError:
        return None
    found = Warehouse.of_file(file)
    if found is None or findings_and_origin_tables.origin(found) == origin.origin:
        return found
    found.close()
    return None


def keep(warehouse: Warehouse, book: Book, origin: MadeFrom, patience_s: float) -> None:
    """Write a book's database into its file. Waits so long for another that writes. Raises MachineFault."""
    with _aside(book.folder, patience_s) as file:
        hand = warehouse.beside()
        try:
            _write(hand, book, file)
        finally:
            hand.close()
            warehouse.execute(f"DETACH DATABASE IF EXISTS {_kept(warehouse)}")
        if not origin.holds():
            raise MachineFault(f"a log of {book.folder} was changed while it was read; try again")
        _swap(file, book.folder)
        KeptTexts(book.folder, "answers").keep_only(())  # they were of other figures


def _digest_file(folder: Path) -> Path:
    """Where the SHA-256 of the database file stands: it tells a whole one from one that is half written or another's."""
    return folder / WORKSHOP / "database.sha256"


@contextmanager
def _aside(folder: Path, patience_s: float) -> Iterator[Path]:
    """A path inside the book to write its database at, held against other writers; what a killed one left is removed."""
    import filelock

    path = folder / WORKSHOP / DATABASE
    with ExitStack() as held:
        try:
            path.parent.mkdir(exist_ok=True)
            held.enter_context(filelock.FileLock(folder / WORKSHOP / "build", timeout=patience_s))
            _remove(path)
        except filelock.Timeout as fault:
            raise MachineFault(f"another build has held {folder} for {patience_s:.0f} seconds; try again") from fault
        except OSError as fault:
            raise MachineFault(f"the database of {folder} cannot be written: {fault.strerror}") from fault
        held.callback(_remove, path)
        yield path


def _remove(path: Path) -> None:
    for file in (path, path.with_name(path.name + ".wal")):
        file.unlink(missing_ok=True)


def _kept(warehouse: Warehouse) -> str:
    """What the file is called while it is written: several books may be at work in one process."""
    return f"{warehouse.name}_kept"


def _write(hand: Warehouse, book: Book, file: Path) -> None:
    """The database into a new file, with what each table means: logs without their marks, models as they are kept."""
    models = in_order(queries("models"))
    views = [model for model in models if model.is_view]
    left = {model.name for model in models if model.is_view or not model.is_in_file}
    tables = [table for table in _tables(hand) if table["name"] not in left]
    rows = sum(table["rows"] for table in tables if table["name"] in LOGS)
    kept = _kept(hand)
    hand.execute(f"ATTACH {quoted(str(file))} AS {kept} (BLOCK_SIZE {_LARGE if rows > _MANY else _SMALL})")
    hand.execute(f"USE {kept}")
    # a new file needs no log of changes, which would be written only to be worked in again
    hand.execute("SET auto_checkpoint_skip_wal_threshold = 0; SET wal_autocheckpoint = '0B'")
    hand.execute("SET disabled_compression_methods = 'dict_fsst'")  # packing names takes longer than writing them
    hand.execute("BEGIN")
    for name in (table["name"] for table in tables):
        columns = f"* EXCLUDE (bad, {ODD})" if name in LOGS else "*"
        hand.execute(f'CREATE TABLE "{name}" AS SELECT {columns} FROM {hand.name}."{name}"')
    hand.execute(settings_tables.macros(book))
    for view in views:
        hand.execute(f'CREATE VIEW "{view.name}" AS {view.sql}')
    hand.execute(";".join(table_and_column_comments.statements([model for model in models if model.is_in_file])))
    hand.execute("COMMIT")
    hand.execute(f"USE {hand.name}")
    hand.execute(f"DETACH {kept}")


def _tables(hand: Warehouse) -> list[Row]:
    """Name and number of rows of each table worked out."""
    return hand.rows(
        "SELECT table_name AS name, estimated_size AS rows FROM duckdb_tables() "
        "WHERE database_name = current_database() AND NOT temporary ORDER BY name"
    )


def _swap(made: Path, folder: Path) -> None:
    final, digest = folder / DATABASE, _digest_file(folder)
    try:
        with made.open("rb+") as file:
            os.fsync(file.fileno())
        told = sha256(made)
        digest.unlink(missing_ok=True)  # between the two the old digest would stand beside the new file
        made.replace(final)
        digest.write_text(told, "ascii")
    except OSError as fault:
        raise MachineFault(f"{final} could not be replaced: {fault.strerror}") from fault
