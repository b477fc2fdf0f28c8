"""What a run was made from and what it found, as tables beside its figures: what is needed to answer from the file alone."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields

from pipeline.contract.findings import Finding, Severity
from pipeline.database.connection import Warehouse
from pipeline.database.made_from import Origin

ABOUT = {
    "made_from": (
        "one row per thing that everything here was made from",
        {"what": "a file of the book, the folder, the program, today",
         "value": "SHA-256 of the file or the program; the day"},
    ),
    "logs_read": (
        "one row per log that was read",
        {"log": "the log", "file": "its file's name", "rows": "records in it",
         "first_line": "the line of the first record, where each record is one line; else empty",
         "lines": "the physical line of each record, where some take several; empty where there are too many to keep"},
    ),
    "findings": (
        "one row per finding of the checks",
        {"number": "place in the order of files and lines", "log": "the file", "line": "physical line, 1 = first",
         "column": "column without its unit", "value": "what stands there", "rule": "the rule that found it",
         "severity": "error, warning or note", "message": "found, expected, difference", "fix": "what to do"},
    ),
    "rows_left_out": (
        "one row per log of which rows are in no figure",
        {"log": "the log", "rows": "how many", "mass_g": "what they held, g"},
    ),
    "left_out": (
        "one row per record that is in no figure",
        {"log": "the log", "row": "record in the file, 1 = the first"},
    ),
}  # fmt: skip
"""What each of these tables and its columns mean."""

_LINES_KEPT = 20_000
"""Of so many rows that stand on no lines of their own the file keeps the line; of more they are looked for when asked for."""

_SHAPES = """
CREATE OR REPLACE TABLE made_from (what VARCHAR, value VARCHAR);
CREATE OR REPLACE TABLE logs_read (log VARCHAR, file VARCHAR, rows INTEGER, first_line INTEGER, lines INTEGER[]);
CREATE OR REPLACE TABLE findings (number INTEGER, log VARCHAR, line INTEGER, "column" VARCHAR, value VARCHAR, rule VARCHAR,
    severity VARCHAR, message VARCHAR, fix VARCHAR);
CREATE OR REPLACE TABLE rows_left_out (log VARCHAR, rows INTEGER, mass_g DOUBLE);
"""


@dataclass(frozen=True, slots=True)
class LeftOut:
    """What of one log could not be used: how many rows, and the grams in its mass column."""

    log: str
    rows: int
    mass_g: float


@dataclass(frozen=True, slots=True)
class Run:
    """What came of reading and checking: rows and the file's name by log, findings in their order, what was left out."""

    rows: dict[str, int]
    files: dict[str, str]
    findings: list[Finding]
    left_out: list[LeftOut]


def put(run: Run, origin: Origin, lines: Mapping[str, Sequence[int]], warehouse: Warehouse) -> None:
    """Write a run, what it was made from and the lines of each log's rows into the warehouse."""
    warehouse.execute(_SHAPES)
    warehouse.insert("made_from", origin)
    warehouse.insert("logs_read", [(log, run.files.get(log), n, *_kept(lines[log])) for log, n in run.rows.items()])
    warehouse.insert("rows_left_out", [(o.log, o.rows, o.mass_g) for o in run.left_out])
    if run.findings:  # there may be thousands, which one by one would take seconds
        columns = zip(*[(n, *_cells(f)) for n, f in enumerate(run.findings, start=1)], strict=True)
        kinds = ["INTEGER", "VARCHAR", "INTEGER", *["VARCHAR"] * 6]
        listed = ", ".join(f"unnest(?::{kind}[])" for kind in kinds)
        warehouse.execute(f"INSERT INTO findings SELECT {listed}", [list(column) for column in columns])


def origin(warehouse: Warehouse) -> Origin:
    """What everything in a database was made from."""
    return tuple((row["what"], row["value"]) for row in warehouse.rows("FROM made_from"))


def run(warehouse: Warehouse) -> Run:
    """The run that a database holds."""
    logs = warehouse.rows("SELECT log, file, rows FROM logs_read")
    rows = warehouse.rows("SELECT * EXCLUDE (number) FROM findings ORDER BY number")
    left_out = [LeftOut(**row) for row in warehouse.rows("FROM rows_left_out")]
    findings = [Finding(**row | {"severity": Severity(row["severity"])}) for row in rows]
    files = {row["log"]: row["file"] for row in logs if row["file"] is not None}
    return Run({row["log"]: row["rows"] for row in logs}, files, findings, left_out)


def lines(warehouse: Warehouse, log: str) -> Sequence[int] | None:
    """The physical line of each row of a log; None where it was too long to keep them."""
    (row,) = warehouse.rows("SELECT rows, first_line, lines FROM logs_read WHERE log = ?", [log])
    found: list[int] | None = row["lines"]
    return found if row["first_line"] is None else range(row["first_line"], row["first_line"] + row["rows"])


def _kept(lines: Sequence[int]) -> tuple[int | None, list[int] | None]:
    """The first line of a file that is a record a line; else all lines, where they are not too many."""
    if isinstance(lines, range):
        return lines.start, None
    return None, list(lines) if len(lines) <= _LINES_KEPT else None


def _cells(finding: Finding) -> list[object]:
    return [str(v) if isinstance(v := getattr(finding, field.name), Severity) else v for field in fields(finding)]
