"""The tables as one data package: each file with a schema that says what its columns mean and in which unit."""

from __future__ import annotations

from typing import Any

from pipeline.contract import table_schema
from pipeline.contract.log_columns import LOGS
from pipeline.contract.shipped_files import reference, reference_names
from pipeline.export.exported_tables import Exported

_TYPES = {"DATE": "date", "BOOLEAN": "boolean", "VARCHAR": "string", "VARCHAR[]": "string"}
_WHOLE = ("INTEGER", "BIGINT", "HUGEINT", "SMALLINT", "UTINYINT")

UNIT_WORDS = {
    "g": "gram", "mm": "millimetre", "ml": "millilitre", "c": "degree Celsius", "min": "minute",
    "share": "share of one", "pct": "per cent",
}  # fmt: skip
"""The unit that the end of a column's name stands for."""


def descriptor(
    title: str, tables: list[Exported], types: dict[str, dict[str, str]], more: dict[str, tuple[str, ...]]
) -> dict[str, Any]:
    """The package's ``datapackage.json`` (Data Package standard, version 1).

    ``types``: by table and column the database's type; ``more``: the words that book.toml adds.
    """
    package = table_schema.data_package(title, more, {log: [] for log in LOGS})
    figures = [_figure(table, types[table.name]) for table in tables if not table.is_log]
    published = [_published(name) for name in reference_names()]
    sources = sorted({row["source"] for name in reference_names() for row in reference(name) if row.get("source")})
    for resource in package["resources"]:
        schema = resource["schema"]
        schema["fields"] = [field | _unit(field["name"]) for field in schema["fields"]]
    package["resources"] += figures + published
    return package | {
        "description": "Logs kept by hand, and the figures worked out of them. Masses in g, lengths in mm, temperatures in °C, "
        "times in minutes, shares between 0 and 1. The tables under reference/ are published figures, each with its source.",
        "sources": [{"title": source} for source in sources],
        "licenses": [
            {"name": "other-closed", "title": "the keeper's own records: ask the keeper before you pass them on"}
        ],
    }


def _figure(table: Exported, types: dict[str, str]) -> dict[str, Any]:
    fields = [_field(column, stored, table.meanings.get(column, "")) for column, stored in types.items()]
    return _resource(table.name, f"figures/{table.name}.csv", table.about, fields)


def _field(column: str, stored: str, meaning: str) -> dict[str, Any]:
    field: dict[str, Any] = {"name": column, "type": _type(stored), "description": meaning}
    if stored == "BOOLEAN":
        field |= {"trueValues": ["yes"], "falseValues": ["no"]}
    return field | _unit(column)


def _published(name: str) -> dict[str, Any]:
    columns = list(reference(name)[0])
    return _resource(
        f"reference-{name.replace('_', '-')}", f"reference/{name}.csv", "published figures, a source in every row",
        [{"name": c, "type": "string"} for c in columns],
    )  # fmt: skip


def _resource(name: str, path: str, title: str, fields: list[dict[str, Any]]) -> dict[str, Any]:
    schema: dict[str, Any] = {"fields": fields, "missingValues": [""]}
    return {
        "name": name, "path": path, "title": title, "profile": "tabular-data-resource", "format": "csv",
        "encoding": "utf-8", "schema": schema,
    }  # fmt: skip


def _type(stored: str) -> str:
    return "integer" if stored in _WHOLE else _TYPES.get(stored, "number")


def _unit(column: str) -> dict[str, str]:
    unit = UNIT_WORDS.get(column.rpartition("_")[2]) if "_" in column else None
    return {"unit": unit} if unit else {}
