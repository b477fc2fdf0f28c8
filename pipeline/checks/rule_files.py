"""A rule across rows and logs: a SELECT that returns no rows when all is well, and all that is said where it does.

A rule stands in one file. Its first comment line says what it finds; the lines below it say the rest:

``severity``: error, warning or note (a column ``severity`` of the SELECT goes before it);
``message``, ``fix``: the sentence and the next step, filled in with the values that the SELECT returns;
``message_x``, ``fix_x``: the same where the SELECT's column ``variant`` is x;
``command``: the command that helps, its name and what follows the book; ``{line}`` is the line of the finding;
``value``: the value that a finding shows as what was found;
``grows``: the value that says how far off it is, so that a fault that got worse is known from one that was there;
``subject``: what a finding without a row is about;
``without_rows``: why it may find something although the log that it tells of has no rows;
``example``: the slip that makes the good book of ``tests/checks/good_book`` break the rule.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from pipeline.contract.findings import Severity
from pipeline.database.connection import Row
from pipeline.database.shipped_queries import Query, queries

_LOG = re.compile(r"^SELECT (?:DISTINCT )?'(\w+)' AS log, (?:\w+\.row|row|NULL::INTEGER AS row)\b", re.MULTILINE)
"""How the rows of a rule begin that tells of one log."""


@dataclass(frozen=True, slots=True)
class SqlRule:
    """One rule: its SELECT (named like the rule) and what its header says."""

    query: Query

    @property
    def name(self) -> str:
        """The rule's code."""
        return self.query.name

    @property
    def about(self) -> str:
        """What it finds."""
        return self.query.about

    @property
    def severity(self) -> Severity:
        """How much a finding matters where its row does not say so itself."""
        return Severity(self._said["severity"])

    @property
    def log(self) -> str:
        """The log in which it finds something, where that is one and has to have rows; else empty."""
        if "without_rows" in self._said:
            return ""
        told = set(_LOG.findall(self.query.sql))
        return told.pop() if len(told) == 1 else ""

    @property
    def example(self) -> str:
        """The slip that breaks it, in the good book of the tests."""
        return self._said.get("example", "")

    @property
    def _said(self) -> dict[str, str]:
        return self.query.columns

    @property
    def command(self) -> tuple[str, ...]:
        """The command that helps, word by word, without the book; empty where there is none."""
        return tuple(self._said.get("command", "").split())

    def message(self, row: Row) -> str:
        """The sentence for one row, not filled in yet."""
        return self._variant("message", row)

    def fix(self, row: Row) -> str:
        """The next step for one row, not filled in yet."""
        return self._variant("fix", row)

    def _variant(self, part: str, row: Row) -> str:
        return self._said.get(f"{part}_{row.get('variant')}") or self._said[part]

    def value(self, row: Row) -> tuple[str, object]:
        """Name and value of what was found; the value is None where nothing stands there."""
        name = self._said.get("value", "")
        return name, row[name] if name else None

    def grade(self, row: Row) -> Severity:
        """How much this row's finding matters."""
        return Severity(row["severity"]) if row.get("severity") else self.severity

    def amount(self, row: Row) -> float:
        """How far off it is; 0 where the rule knows no more or less."""
        name = self._said.get("grows", "")
        return float(row[name]) if name else 0.0

    def subject(self, row: Row) -> str:
        """What a finding without a row is about."""
        name = self._said.get("subject", "")
        return str(row[name]) if name else ""


def written_rules() -> list[SqlRule]:
    """The rules that stand in files."""
    return [SqlRule(query) for query in queries("checks")]


def helping_commands() -> dict[str, tuple[str, ...]]:
    """By rule the command that helps with what it finds, where there is one."""
    return {rule.name: rule.command for rule in written_rules() if rule.command}
