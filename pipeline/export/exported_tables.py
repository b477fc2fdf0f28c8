"""What is exported: every log as it was read, and every figure that the database file keeps, each described."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from pipeline.contract.columns import JOINED
from pipeline.contract.log_columns import LOGS
from pipeline.database.shipped_queries import queries
from pipeline.flow import Loaded


@dataclass(frozen=True, slots=True)
class Exported:
    """One table: its name, what one row is, what each column means, and the SELECT that gives its rows in order.

    Masses are in g, lengths in mm, temperatures in °C, times in minutes; shares are 0-1.
    """

    name: str
    about: str
    meanings: dict[str, str]
    sql: str
    is_log: bool


def exported_tables(loaded: Loaded) -> Iterator[Exported]:
    """The logs, then the figures by name."""
    for log in LOGS.values():
        meanings = {c.field: c.about for c in log.columns}
        about = f"one row: {log.row_is}"
        yield Exported(log.name, about, meanings, _select(loaded, log.name, tuple(meanings), "row"), True)
    for model in sorted(queries("models"), key=lambda m: m.name):
        if model.is_figure:
            yield Exported(model.name, model.about, model.columns, _select(loaded, model.name, (), "ALL"), False)


def _select(loaded: Loaded, table: str, wanted: tuple[str, ...], order: str) -> str:
    """The rows of a table; all its columns where none are named, as any program can hold them."""
    types = {r["column_name"]: r["column_type"] for r in loaded.warehouse.rows(f'DESCRIBE "{table}"')}
    listed = ", ".join(_cast(column, types[column]) for column in wanted or types)
    return f'SELECT {listed} FROM "{table}" ORDER BY {order}'


def _cast(column: str, stored: str) -> str:
    """A column for other programs: an exact mass as a number, several words as one text."""
    if stored.endswith("[]"):
        return f"""nullif(array_to_string("{column}", '{JOINED}'), '') AS "{column}\""""
    if stored.startswith("DECIMAL"):
        return f'"{column}"::DOUBLE AS "{column}"'
    return f'"{column}"::BIGINT AS "{column}"' if stored == "HUGEINT" else f'"{column}"'
