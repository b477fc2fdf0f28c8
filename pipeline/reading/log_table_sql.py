"""The statement that takes a log's file into its table at one go: its values, and the texts of rows that are odd."""

from __future__ import annotations

from pipeline.contract.columns import ODD, Log
from pipeline.contract.log_columns import words
from pipeline.reading.headers import Heading
from pipeline.reading.opened_log import LogSource
from pipeline.reading.whole_columns_sql import lax, odd, plain, read, value_of

_IS_ODD = '" is odd"'


def empty(log: Log) -> str:
    """The statement that makes a log's table without a row."""
    cells = ", ".join(f'"{c.field}" {c.stored}' for c in log.columns)
    return f'CREATE OR REPLACE TABLE "{log.name}" (row INTEGER, {cells}, bad BOOLEAN, {ODD} VARCHAR[])'


def filled(log: Log, source: LogSource, more: dict[str, tuple[str, ...]]) -> str:
    """The statement that, given its source's path, makes a log's table; ``more`` holds the words that book.toml adds.

    The file is read once and the table written once. From the inside out: each text with the value that it has if it is
    plain, whether it is, whether its row is odd, and what is kept of it.
    """
    lax_values, forms, looks, values = [], [], [], {c.field: f"NULL::{c.stored}" for c in log.columns}
    for heading in source.headings:
        if (column := heading.column) is None:
            values[heading.field] = heading.raw
            continue
        value, allowed = value_of(column), words(column, more)
        lax_values.append(f"{lax(column, heading.unit, heading.raw, source.how)} AS {value}")
        forms.append(f"coalesce({plain(column, heading.raw, value, source.how)}, false) AS {heading.fits}")
        looks.append(f"({odd(column, heading.raw, heading.fits, allowed)})")
        values[column.field] = read(column, heading.raw, heading.fits, allowed)
    named = ", ".join(f"{value} AS {_quoted(field)}" for field, value in values.items())
    texts = ", ".join(heading.raw for heading in source.headings)
    return (
        f'CREATE OR REPLACE TABLE "{log.name}" AS '
        f"SELECT row, {named}, false AS bad, CASE WHEN {_IS_ODD} THEN [{texts}] END AS {ODD} "
        f"FROM (SELECT *, {' OR '.join(looks)} AS {_IS_ODD} "
        f"FROM (SELECT *, {', '.join(forms)} FROM (SELECT *, {', '.join(lax_values)} FROM ({source.records()}))))"
    )


def text_of(heading: Heading) -> str:
    """The SQL of a cell's text in an odd row; NULL in others, and where nothing stands in the cell."""
    return f"nullif(trim({ODD}[{heading.cell + 1}]), '')"


def _quoted(field: str) -> str:
    return '"' + field.replace('"', '""') + '"'
