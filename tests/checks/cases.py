"""A book written case by case, each row with what the rules shall say of it.

A line that begins with ``#`` is a case: what it shows, in words, and where the figures come from. The lines below it are its
rows: the log, the cells in the order of the log's columns, then others by name, then what is found there, if anything::

    # one gram over
    blocks: B1, 2025-06-03, 385, session=S1  !! blocks-over-pass warning: 1 g more

``!!`` begins one finding: the rule, its severity, the column where it matters, and words of its message or fix. A line without cells tells of a finding
about no row. What is not told must not be found.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

from pipeline.book.book_toml import read_book
from pipeline.checks.rule_engine import rules
from pipeline.checks.rule_files import SqlRule
from pipeline.contract.findings import Finding, log_name
from pipeline.recording.new_findings import asked_book
from tests.books import TODAY, write


@dataclass(frozen=True)
class Told:
    """What a rule shall say: the log, its line (None: of no row), the rule with its severity, the column if told, and words."""

    log: str
    line: int | None
    rule: str
    column: str
    words: str

    @classmethod
    def of(cls, log: str, line: int | None, text: str) -> Told:
        """As it stands behind ``!!``."""
        about, _, words = text.partition(":")
        rule, severity, *column = about.split()
        return cls(log, line, f"{rule} {severity}", "".join(column), words.strip())


@dataclass(frozen=True)
class Case:
    """What one case shows, its rows as (log, line), and what shall be found there."""

    shows: str
    rows: list[tuple[str, int]] = field(default_factory=list)
    told: list[Told] = field(default_factory=list)


@dataclass(frozen=True)
class CaseBook:
    """The cases and the logs that they make together."""

    cases: list[Case]
    logs: dict[str, str]

    @classmethod
    def of(cls, columns: dict[str, str], text: str) -> CaseBook:
        """Read from the text; ``columns``: the header of each log."""
        cases, rows = list[Case](), {log: [header] for log, header in columns.items()}
        for line in filter(None, map(str.strip, text.splitlines())):
            if line.startswith("#"):
                cases.append(Case(line.lstrip("# ")))
                continue
            row, *told = (part.strip() for part in line.split("!!"))
            log, _, cells = row.partition(":")
            if cells:
                rows[log].append(_row(columns[log], cells))
                cases[-1].rows.append((log, len(rows[log])))
            at = len(rows[log]) if cells else None
            cases[-1].told.extend(Told.of(log, at, one) for one in told)
        return cls(cases, {log: "\n".join(lines) for log, lines in rows.items() if len(lines) > 1})

    def findings(self, folder: Path, settings: str = 'name = "cases"\n', asked: Iterable[SqlRule] = ()) -> list[Finding]:
        """What is found in the book, by all rules or by those asked."""
        return found_in(write(folder, settings, **self.logs), list(asked) or rules())

    def none_besides(self, found: Iterable[Finding]) -> list[str]:
        """What was found about no row, beyond what is told of none."""
        left = [told for case in self.cases for told in case.told if told.line is None]
        beside = []
        for finding in (f for f in found if f.line is None):
            met = [told for told in left if _says(finding, told)]
            beside += [] if met else [_shown(finding)]
            left = [told for told in left if told not in met[:1]]
        return beside + [f"not found: {told.rule}: {told.words}" for told in left]


def _row(header: str, cells: str) -> str:
    columns, values = header.split(","), dict[str, str]()
    for at, cell in enumerate(cells.split(",")):
        name, _, value = cell.rpartition("=")
        values[name.strip() or columns[at]] = value.strip()
    assert set(values) <= set(columns), cells
    return ",".join(values.get(name, "") for name in columns)


def found_in(book: Path, asked: list[SqlRule]) -> list[Finding]:
    """What these rules, and the reading, find in a book."""
    settings, of_settings = read_book(book)
    with asked_book(settings, date.fromisoformat(TODAY), {}, asked) as (found, _):
        return of_settings + [each.finding for each in found]


def assert_told(case: Case, found: Iterable[Finding]) -> None:
    """The rows of the case have just the findings that it tells."""
    here = [f for f in found if (log_name(f.log), f.line) in case.rows]
    told = [t for t in case.told if t.line is not None]
    shown = "\n".join(map(_shown, here))
    assert Counter(map(_found, here)) == Counter((t.log, t.line, t.rule) for t in told), shown
    missed = [t for t in told if not any(_says(f, t) for f in here)]
    assert not missed, shown


def _found(finding: Finding) -> tuple[str, int | None, str]:
    return log_name(finding.log), finding.line, f"{finding.rule} {finding.severity.value}"


def _says(finding: Finding, told: Told) -> bool:
    same = _found(finding) == (told.log, told.line, told.rule) and told.column in ("", finding.column)
    return same and told.words in f"{finding.message}; {finding.fix}"


def _shown(finding: Finding) -> str:
    return f"{finding.log} {finding.line}: {finding.rule} {finding.severity.value}: {finding.message}; {finding.fix}"
