"""Rows that come in as JSON, from a file or through a pipe: a document of {log: [rows]}."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

_LIMIT = 10_000_000


def document(source: str) -> dict[str, list[dict[str, str]]] | str:
    """The rows of a JSON file, or of standard input for ``-``; a sentence where it does not hold rows."""
    data = sys.stdin.buffer.read(_LIMIT + 1) if source == "-" else Path(source).read_bytes()
    if len(data) > _LIMIT:
        return "that is more than 10 MB of rows; record them in parts"
    try:
        told = json.loads(data.decode("utf-8-sig"), parse_float=str, parse_int=str)
    except (ValueError, RecursionError) as fault:
        return f"{source} is not JSON ({fault})"
    return rows_of(told)


def rows_of(told: Any) -> dict[str, list[dict[str, str]]] | str:
    """A decoded document as rows of text, or what is wrong with its shape."""
    if not isinstance(told, dict) or not all(isinstance(rows, list) for rows in told.values()):
        return 'rows come as {"log": [{"column": "value"}]}'
    rows: dict[str, list[dict[str, str]]] = {}
    for log, given in told.items():
        for row in given:
            if not isinstance(row, dict) or not all(_is_cell(v) for v in row.values()):
                return f'{log}: each row is {{"column": "value"}}, and a value is text, a number, yes or no'
        rows[log] = [{name: _text(value) for name, value in row.items()} for row in given]
    return rows


def _is_cell(value: Any) -> bool:
    return value is None or isinstance(value, str | bool)


def _text(value: str | bool | None) -> str:
    return {True: "yes", False: "no", None: ""}.get(value, "") if not isinstance(value, str) else value
