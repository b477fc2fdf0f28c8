"""One cause told once: a spreadsheet made dates of a log's names, so that the rows which name them lead nowhere."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Final

from pipeline.contract.findings import Finding, Severity, log_name
from pipeline.contract.log_columns import LOGS
from pipeline.database.connection import Warehouse, quoted
from pipeline.reading.reading_rule_sentences import MANGLED

_LEADS_NOWHERE: Final = frozenset({"unknown-reference", "unknown-source", "unknown-item"})
_YEAR: Final = 4  # digits of a whole year
_MONTHS: Final = {  # as English and German spreadsheets shorten them
    "jan": 1, "feb": 2, "mar": 3, "mrz": 3, "apr": 4, "may": 5, "mai": 5, "jun": 6, "jul": 7, "aug": 8, "sep": 9,
    "oct": 10, "okt": 10, "nov": 11, "dec": 12, "dez": 12,
}  # fmt: skip


def mangled_keys(findings: Iterable[Finding], warehouse: Warehouse) -> dict[str, list[str]]:
    """The names that look mangled among the keys of each log that a finding says has some."""
    logs = [LOGS[log_name(f.log)] for f in findings if f.rule == "id-spreadsheet"]
    keys = {log.name: log.key[0] for log in logs if log.key}
    asked = "SELECT DISTINCT {key} AS name FROM {log} WHERE regexp_matches({key}, {form}) ORDER BY name"
    return {
        log: [r["name"] for r in warehouse.rows(asked.format(key=key, log=log, form=quoted(MANGLED)))]
        for log, key in keys.items()
    }


def with_one_cause(findings: Iterable[Finding], mangled: Mapping[str, list[str]]) -> list[Finding]:
    """The findings, those that come of mangled names put into the one about them, which then is an error.

    ``mangled`` holds the names that look mangled among the keys of each log, by the log's name.
    """
    findings = list(findings)
    cause = {log_name(f.log): f for f in findings if f.rule == "id-spreadsheet" and mangled.get(log_name(f.log))}
    numbers = [numbers_of(name) for log in cause for name in mangled[log]]
    lost = {
        f
        for f in findings
        if cause and f.rule in _LEADS_NOWHERE and f.value and _may_have_been(f.value.split()[-1], numbers)
    }
    if not lost:
        return findings
    named = ", ".join(sorted({f.value or "" for f in lost})[:5])
    where = ", ".join(sorted({f.log for f in lost}))
    more = f"{len(lost)} rows of {where} name what is no longer there ({named})"
    told = {f: replace(f, severity=Severity.ERROR, message=f"{f.message}; {more}") for f in cause.values()}
    return [told.get(f, f) for f in findings if f not in lost]


def numbers_of(name: str) -> list[int]:
    """The numbers in a name, months by theirs, years by their last two digits: 1 and 25 in ``Jan-25``, ``1-25``, ``2025-1``."""
    parts = re.findall(r"[0-9]+|[A-Za-z]+", name)
    return sorted(int(p[-2:] if len(p) == _YEAR else p) if p.isdigit() else _MONTHS.get(p.lower(), -1) for p in parts)


def _may_have_been(name: str, mangled: Iterable[list[int]]) -> bool:
    """Whether a spreadsheet may have made one of these of a name; it adds a year where the name had two numbers alone."""
    if not re.fullmatch(r"[0-9]{1,4}[-/. ][0-9]{1,4}([-/. ][0-9]{1,4})?", name):
        return False
    own = numbers_of(name)
    return any(own == numbers or (len(numbers) > len(own) and set(own) <= set(numbers)) for numbers in mangled)
