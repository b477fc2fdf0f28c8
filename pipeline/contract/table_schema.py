"""The logs' format for other programs: a Table Schema for each log, and all of a book's as one data package.

Made from ``log_columns.py`` for files as this program writes them: comma, UTF-8, kept units in the header. The vocabulary
is that of the Table Schema and Tabular Data Package specifications (Data Package standard, version 1).
"""

from __future__ import annotations

from typing import Any

from pipeline.contract.columns import ID_LETTERS, ID_LONGEST, CellKind, Column, Log, rules
from pipeline.contract.log_columns import LOGS, words

_TYPES = {
    CellKind.ID: "string",
    CellKind.TEXT: "string",
    CellKind.CHOICE: "string",
    CellKind.WORDS: "string",
    CellKind.DATE: "date",
    CellKind.COUNT: "integer",
    CellKind.YES_NO: "boolean",
}


def table_schema(log: Log, more: dict[str, tuple[str, ...]], header: list[str] | None = None) -> dict[str, Any]:
    """The Table Schema of one log; ``more`` holds what book.toml adds to the words of choice columns.

    ``header`` gives the fields in a file's own order; headings in kept units are described, others are plain text.
    """
    known = {c.field: c for c in log.columns}
    fields = [_field(known[n], more) if n in known else _other(n) for n in header or list(known)]
    schema: dict[str, Any] = {"fields": fields, "missingValues": [""]}
    return schema | ({"primaryKey": [log.column(name).field for name in log.key]} if log.key else {})


def data_package(
    name: str, more: dict[str, tuple[str, ...]], headers: dict[str, list[str]] | None = None
) -> dict[str, Any]:
    """The data package of a book called ``name``: one resource for each log in ``headers`` (default: every log)."""
    chosen = headers if headers is not None else {log: [] for log in LOGS}
    resources = [
        {
            "name": log,
            "path": LOGS[log].file,
            "title": f"one row: {LOGS[log].row_is}",
            "profile": "tabular-data-resource",
            "format": "csv",
            "encoding": "utf-8",
            "schema": table_schema(LOGS[log], more, header or None),
        }
        for log, header in chosen.items()
    ]
    slug = "".join(c if c.isascii() and c.isalnum() else "-" for c in name.lower()).strip("-") or "book"
    return {"name": slug, "title": name, "profile": "tabular-data-package", "resources": resources}


def _field(column: Column, more: dict[str, tuple[str, ...]]) -> dict[str, Any]:
    field: dict[str, Any] = {
        "name": column.field,
        "type": _TYPES.get(column.kind, "number"),
        "description": column.about,
    }
    if column.kind is CellKind.YES_NO:
        field |= {"trueValues": ["yes", "true", "1"], "falseValues": ["no", "false", "0"]}
    limits = _limits(column, more)
    return field | ({"constraints": limits} if limits else {})


def _limits(column: Column, more: dict[str, tuple[str, ...]]) -> dict[str, Any]:
    """The limits as constraints; Table Schema has no strict lower bound, so the store's smallest step stands in."""
    limits: dict[str, Any] = {"required": True} if column.required else {}
    if column.low is not None:
        limits["minimum"] = column.low
    if column.above is not None:
        limits["minimum"] = column.above + 0.000001
    if column.high is not None:
        limits["maximum"] = int(column.high) if column.kind is CellKind.COUNT else column.high
    if column.kind is CellKind.CHOICE:
        limits["enum"] = list(words(column, more))
    if column.kind is CellKind.WORDS:
        limits["pattern"] = next(str(r.limit) for r in rules(column, words(column, more))).removesuffix(r"\Z")
    if column.kind is CellKind.ID:
        limits |= {"maxLength": ID_LONGEST, "pattern": ID_LETTERS.removesuffix(r"\Z")}
    return limits


def _other(name: str) -> dict[str, Any]:
    return {"name": name, "type": "string"}
