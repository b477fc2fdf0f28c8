"""Names that look like one that leads nowhere, to offer in its place."""

from __future__ import annotations

import difflib
from dataclasses import replace

from pipeline.contract.findings import Finding, log_name
from pipeline.contract.log_columns import LOGS
from pipeline.database.connection import Warehouse

_MEANT = {"unknown-source": ("harvests", "blocks", "passes"), "unknown-item": ("blocks", "harvests", "candles")}
_FEW = 4  # names like one that was mistyped: as many as are taken in at a glance
_ALIKE = 0.6  # the library's own measure of likeness, at its usual value


def with_near_names(finding: Finding, warehouse: Warehouse) -> Finding:
    """The finding, with the names of the book that may be meant in its fix; unchanged where none looks like it."""
    logs = _meant(finding)
    if not logs or not finding.value:
        return finding
    known = sorted({name for log in logs for name in _names(warehouse, log)})
    near = difflib.get_close_matches(finding.value, known, _FEW, _ALIKE)
    return replace(finding, fix=f"did you mean {' or '.join(near)}? Else {finding.fix}") if near else finding


def _meant(finding: Finding) -> tuple[str, ...]:
    """The logs that the name may stand in."""
    if finding.rule == "unknown-reference" and finding.column:
        return (LOGS[log_name(finding.log)].column(finding.column).refers,)
    return _MEANT.get(finding.rule, ())


def _names(warehouse: Warehouse, log: str) -> list[str]:
    key = LOGS[log].key[0]
    return [
        row["name"] for row in warehouse.rows(f'SELECT DISTINCT "{key}" AS name FROM "{log}" WHERE "{key}" IS NOT NULL')
    ]
