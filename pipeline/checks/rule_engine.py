"""The rules across rows and logs: each a SELECT that returns no rows when all is well."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from pipeline.checks.rules_from_columns import spec_checks
from pipeline.contract.findings import Finding, Severity
from pipeline.contract.log_columns import LOGS
from pipeline.database.connection import Query, Row, queries

Lines = Callable[[str, set[int]], dict[int, int]]
"""From a log and rows in it to physical lines in its file."""


def checks() -> list[Query]:
    """Every rule across rows and logs, by name: those that the columns imply and those written as SQL."""
    return sorted([*spec_checks(), *queries("checks")], key=lambda q: q.name)


def severity(check: Query) -> Severity:
    """How much a rule's finding matters where its row does not say so itself."""
    return Severity(check.columns["severity"])


def findings(
    checks: Sequence[Query], answers: Mapping[str, list[Row]], files: dict[str, str], lines: Lines
) -> list[Finding]:
    """The rows that each rule gave as findings, with the file's name and the physical line.

    ``answers``: by the rule's name its rows of log, row, column, value, message, fix and, where it depends, severity;
    ``files``: the name of each log's file.
    """
    found = [(check, row) for check in checks for row in answers[check.name]]
    wanted: dict[str, set[int]] = {}
    for _, row in found:
        if row["row"] is not None:
            wanted.setdefault(row["log"], set()).add(row["row"])
    placed = {log: lines(log, rows) for log, rows in wanted.items()}
    return [_finding(check, row, files, placed) for check, row in found]


def _finding(check: Query, row: Row, files: dict[str, str], placed: dict[str, dict[int, int]]) -> Finding:
    log = row["log"]
    line = None if row["row"] is None else placed[log][row["row"]]
    grade = Severity(row["severity"]) if row.get("severity") else severity(check)
    value = None if row["value"] is None else str(row["value"])
    file = files.get(log, LOGS[log].file)
    return Finding(file, line, row["column"], value, check.name, grade, row["message"], row["fix"])
