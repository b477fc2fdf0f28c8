"""The statement that takes a log's file into its table at one go: its values, and the texts of rows that are odd."""

from __future__ import annotations

from pipeline.contract.columns import CellKind, Log
from pipeline.contract.log_columns import words
from pipeline.reading.headers import Heading
from pipeline.reading.opened_log import LogSource
from pipeline.reading.whole_columns_sql import fast, lax, odd

ODD = '" odd"'
"""The passing column: the texts of a row in which a cell needs a second look, else NULL.

Its name begins with a space, as no heading does.
"""
_IS_ODD = '" is odd"'


def empty(log: Log) -> str:
    """The statement that makes a log's table without a row."""
    cells = ", ".join(f'"{c.field}" {c.stored}' for c in log.columns)
    return f'CREATE OR REPLACE TABLE "{log.name}" (row INTEGER, {cells}, bad BOOLEAN)'


def filled(log: Log, source: LogSource, more: dict[str, tuple[str, ...]]) -> str:
    """The statement that makes a log's table from its file; ``more`` holds the words that book.toml adds.

    The file is read once and the table written once: a value is looked at where it is made.
    """
    read, looks, values = [], [], {c.field: f"NULL::{c.stored}" for c in log.columns}
    for heading in source.headings:
        if (column := heading.column) is None:
            values[heading.field] = heading.raw
            continue
        field, allowed = f'"{column.field}"', words(column, more)
        read.append(f"{lax(column, heading.unit, heading.raw, source.how)} AS {field}")
        looks.append(f"({odd(column, heading.raw, source.how, allowed)})")
        again = fast(column, heading.unit, heading.raw, source.how, allowed)
        values[column.field] = (
            field if column.kind is CellKind.TEXT else f"CASE WHEN {_IS_ODD} THEN {again} ELSE {field} END"
        )
    named = ", ".join(f"{value} AS {_quoted(field)}" for field, value in values.items())
    texts = ", ".join(heading.raw for heading in source.headings)
    return (
        f'CREATE OR REPLACE TABLE "{log.name}" AS '
        f"SELECT row, {named}, false AS bad, CASE WHEN {_IS_ODD} THEN [{texts}] END AS {ODD} "
        f"FROM (SELECT *, coalesce({' OR '.join(looks)}, false) AS {_IS_ODD} "
        f"FROM (SELECT *, {', '.join(read)} FROM ({source.records()})))"
    )


def text_of(heading: Heading) -> str:
    """The SQL of a cell's text in an odd row; NULL in others, and where nothing stands in the cell."""
    return f"nullif(trim({ODD}[{heading.cell + 1}]), '')"


def _quoted(field: str) -> str:
    return '"' + field.replace('"', '""') + '"'
