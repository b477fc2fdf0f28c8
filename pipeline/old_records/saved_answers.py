"""What was answered about an old sheet, kept as TOML in the book's folder, so that the same sheet asks nothing twice."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Final

from pipeline.book.regular_files import bytes_of
from pipeline.contract.quantities import Refusal
from pipeline.old_records.column_matching import Answers, ColumnMeaning
from pipeline.old_records.heading_words import MEANINGS
from pipeline.old_records.proposal_and_questions import Proposal

FOLDER: Final = "imports"
_LEFT_OUT: Final = "left out"
_MOST_BYTES: Final = 1_000_000


def place_of(folder: Path, sheet: Path) -> Path:
    """Where the answers about a sheet stand."""
    return folder / FOLDER / f"{sheet.stem}.toml"


def load(path: Path) -> dict[str, str] | Refusal:
    """Saved answers by key (``columns.Comb lbs``, ``dates``), or why the file cannot be used."""
    try:
        data = bytes_of(path)
        told = tomllib.loads(data.decode("utf-8")) if len(data) <= _MOST_BYTES else {}
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError, RecursionError, ValueError) as fault:
        return Refusal(
            "file-form", f"{path.name} is not TOML that can be read ({fault})", "delete it, or mend it by hand"
        )
    return {key: value for key, value in _flat(told, "") if key != "file"}


def _flat(told: Mapping[str, object], before: str) -> list[tuple[str, str]]:
    found: list[tuple[str, str]] = []
    for key, value in told.items():
        if isinstance(value, dict) and not before:
            found += _flat(value, f"{key}.")
        else:
            found.append((before + key, _meaning_name(str(value)) if before == "columns." else str(value)))
    return found


def text(sheet: Path, proposal: Proposal, answers: Answers) -> str:
    """The file's text: every column with what it is taken for, and every answer."""
    single = {k: v for k, v in answers.items() if "." not in k} | {"layout": str(proposal.layout)}
    parts = [f"# How {sheet.name} was taken over; delete this file to be asked anew.", f"file = {_quoted(sheet.name)}"]
    parts += [f"{_quoted(k)} = {_quoted(v)}" for k, v in sorted(single.items())]
    tables: dict[str, dict[str, str]] = {"columns": {c.heading: _column(c) for c in proposal.columns if c.heading}}
    for key, value in sorted(answers.items()):
        table, dot, name = key.partition(".")
        if dot and table != "columns":
            tables.setdefault(table, {})[name] = value
    for table, rows in tables.items():
        parts += ["", f"[{table}]" if table not in single else f"[{table}_words]"]
        parts += [f"{_quoted(k)} = {_quoted(v)}" for k, v in rows.items()]
    return "\n".join(parts) + "\n"


def _column(column: ColumnMeaning) -> str:
    if column.meaning is None:
        return _LEFT_OUT
    log_column = f"{column.log}.{column.field}" if column.log else column.meaning
    number = f"/{column.number}" if column.number else ""
    return f"{log_column}{number} {column.unit or ''}".strip()


def _meaning_name(told: str) -> str:
    """``passes.wax_out/2 lb`` as ``out/2 lb``: the meaning's own name."""
    first, _, unit = told.partition(" ")
    name, slash, number = first.partition("/")
    name = next(
        (m.name for m in MEANINGS.values() if f"{m.log}.{m.field}" == name), "in" if name == "passes.mass_in" else name
    )
    return f"{name}{slash}{number} {unit}".strip()


def _quoted(text: str) -> str:
    """Text as TOML: a JSON string is one, but for the delete character."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
