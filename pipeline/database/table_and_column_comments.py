"""What each table and column of the database file means, written into it, so that it explains itself in any client."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from pipeline.contract.log_columns import LOGS
from pipeline.database import findings_and_origin_tables, settings_tables
from pipeline.database.connection import quoted
from pipeline.database.shipped_queries import Query


def statements(models: Sequence[Query]) -> Iterator[str]:
    """The statements that write what the logs, the settings, the run and the models are about."""
    for name, (about, columns) in (settings_tables.ABOUT | findings_and_origin_tables.ABOUT).items():
        yield from _of(name, about, columns)
    for log in LOGS.values():
        columns = {"row": "record in the file, 1 = the first"} | {c.field: c.about for c in log.columns}
        yield from _of(log.name, f"one row: {log.row_is}", columns)
    for model in models:
        yield from _of(model.name, model.about, model.columns, "VIEW" if model.is_view else "TABLE")


def _of(table: str, about: str, columns: Mapping[str, str], form: str = "TABLE") -> Iterator[str]:
    yield f'COMMENT ON {form} "{table}" IS {quoted(about)}'
    for column, meaning in columns.items():
        yield f'COMMENT ON COLUMN "{table}"."{column}" IS {quoted(meaning)}'
