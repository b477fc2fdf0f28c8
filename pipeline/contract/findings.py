"""A finding: one thing in the records that somebody should look at, as a value."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, fields
from enum import StrEnum
from typing import Final

MOST_TOLD: Final = 1_000
"""So many faults of one kind are told one by one: nobody reads more, and millions take minutes to make."""


class Severity(StrEnum):
    """How much a finding matters: an error stops a build, a warning does not fit, a note is for information."""

    ERROR = "error"
    WARNING = "warning"
    NOTE = "note"


@dataclass(frozen=True, slots=True)
class Finding:
    """One fault or oddity in a log, with the place, what was found and what to do.

    ``line`` is the physical line in the file (1 = first), None for a whole file. ``column`` is the contract's
    column name without its unit. ``message`` is one sentence: found, expected, difference; ``fix`` the next step.
    """

    log: str
    line: int | None
    column: str | None
    value: str | None
    rule: str
    severity: Severity
    message: str
    fix: str

    @property
    def place(self) -> str:
        """Where it stands, as a person would say it: ``passes.csv line 14, wax_out``."""
        words = self.log if self.line is None else f"{self.log} line {self.line}"
        return words if self.column is None else f"{words}, {self.column}"

    def sentence(self) -> str:
        """Place, message and fix on one line."""
        return f"{self.place}: {self.message}; {self.fix}" if self.fix else f"{self.place}: {self.message}"

    def as_dict(self) -> dict[str, object]:
        """The JSON shape of the ``check`` command's ``problems``."""
        told = {field.name: getattr(self, field.name) for field in fields(self)}
        return told | {"log": log_name(self.log), "severity": str(self.severity)}


def log_name(file: str) -> str:
    """The name by which programs know a log: its file's name without the ending; what is no log keeps its own."""
    return file if file == "book.toml" or file.startswith(".") else file.partition(".")[0]


class MachineFault(Exception):  # noqa: N818 - it is the machine's fault, not an error in the records
    """The machine could not do its part (disk full, no permission); the command line turns it into exit 3."""


def in_file_order(findings: Iterable[Finding], logs: Iterable[str]) -> list[Finding]:
    """Findings sorted by log (in the order of ``logs``, others first), line, column and rule, without repeats."""
    place = {log: n for n, log in enumerate(logs)}

    def key(f: Finding) -> tuple[int, str, int, str, str, str]:
        return (place.get(f.log, -1), f.log, f.line or 0, f.column or "", f.rule, f.message)

    return sorted(dict.fromkeys(findings), key=key)


def has_errors(findings: Iterable[Finding]) -> bool:
    """Whether any of them stops a build."""
    return any(f.severity is Severity.ERROR for f in findings)
