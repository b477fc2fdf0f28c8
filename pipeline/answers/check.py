"""What in the records cannot be used, or does not fit?"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from pipeline.contract.findings import Finding, Severity
from pipeline.flow import Loaded


@dataclass(frozen=True, slots=True)
class Check:
    """Rows read by log, and every finding in the order of the files."""

    rows: Mapping[str, int]
    findings: tuple[Finding, ...]

    @property
    def counts(self) -> dict[Severity, int]:
        """How many findings of each severity, the worst first."""
        return {s: sum(f.severity is s for f in self.findings) for s in Severity}

    def in_json(self) -> dict[str, object]:
        """For other programs."""
        return {"rows": self.rows, "problems": [f.as_dict() for f in self.findings]}


def check(loaded: Loaded) -> Check:
    """All that reading, linking and the rules found."""
    return Check(loaded.rows, tuple(loaded.findings))
