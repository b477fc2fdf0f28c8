"""The pandera model of each log, made from its columns; nothing heavy is imported until a model is asked for."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import TYPE_CHECKING, TypeAlias

from pipeline.contract.columns import Column, Log, rules
from pipeline.contract.log_columns import words

if TYPE_CHECKING:
    import pandas as pd
    import pandera.pandas as pa

    Schema: TypeAlias = pa.DataFrameSchema


def model(log: Log, more: dict[str, tuple[str, ...]], columns: Sequence[Column] | None = None) -> Schema:
    """The pandera model of a log's typed frame, for validation without coercion.

    The frame's index is the row, its columns stand in kept units. ``more`` holds the comb kinds and methods that
    book.toml adds; ``columns``: those of the log that the frame has, where not all. Each check's name is its rule.
    """
    return _model(log, tuple(more.items()), tuple(log.columns if columns is None else columns))


@cache
def _model(log: Log, more: tuple[tuple[str, tuple[str, ...]], ...], held: tuple[Column, ...]) -> Schema:
    import pandera.pandas as pa

    columns = {c.field: _model_column(c, words(c, dict(more))) for c in held}
    schema: Schema = pa.DataFrameSchema(columns, name=log.name, description=log.row_is, strict=False, coerce=False)
    return schema


@cache
def _model_column(column: Column, known: tuple[str, ...]) -> pa.Column:
    import pandera.pandas as pa

    stated = rules(column, known)
    checks = [getattr(pa.Check, rule.check)(**{rule.argument: rule.limit}, name=rule.name) for rule in stated]
    metadata = {"kind": str(column.kind), "column": column.name, "key": column.key}
    return pa.Column(nullable=not column.required, checks=checks, description=column.about, metadata=metadata)


def broken(schema: Schema, frame: pd.DataFrame) -> list[tuple[int, str, str, object]]:
    """Which cells of a typed frame break which rule: (index, field, rule, limit or None), in no order.

    A missing cell that every row needs breaks ``required``; the other rules are the names of the model's checks.
    """
    import pandera.errors as pe

    try:
        schema.validate(frame, lazy=True)
    except pe.SchemaErrors as errors:
        cases = errors.failure_cases
        numbers = [None if n is None or n != n else int(n) for n in cases["check_number"]]  # noqa: PLR0124
        where = zip(cases["index"], cases["column"], numbers, strict=True)
        return [(int(row), field, *_rule(schema, field, number)) for row, field, number in where]
    return []


def _rule(schema: Schema, field: str, number: int | None) -> tuple[str, object]:
    if number is None:
        return "required", None
    check = schema.columns[field].checks[number]
    return check.name, next((v for v in check.statistics.values() if v is not None), None)
