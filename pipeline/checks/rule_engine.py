"""The one rule engine: every rule across rows and logs, and its rows as findings with their sentences."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

from pipeline.checks.keys_and_references import rules_from_columns
from pipeline.checks.rule_files import SqlRule, written_rules
from pipeline.checks.rule_sentences import Sentences
from pipeline.contract.findings import Finding
from pipeline.contract.log_columns import LOGS
from pipeline.database.connection import Row
from pipeline.reading.reading_rule_sentences import counted_told

Lines = Callable[[str, set[int]], dict[int, int]]
"""From a log and rows in it to physical lines in its file."""


@dataclass(frozen=True, slots=True)
class Broken:
    """A finding of a rule, with how far off it is (0: no more or less) and, where it has no row, what it is about."""

    finding: Finding
    amount: float = 0.0
    subject: str = ""


def rules(held: Collection[str] = tuple(LOGS)) -> list[SqlRule]:
    """Every rule across rows and logs, by name: those that the columns imply and those written as SQL.

    Of a log that has no rows (``held``: those that have) nothing can be found, and rules that would are not among them.
    """
    written = [rule for rule in written_rules() if rule.log in ("", *held)]
    return sorted([*rules_from_columns(held), *written], key=lambda rule: rule.name)


def broken(  # noqa: PLR0913, PLR0917 - the rules, what they gave, where it stands, and how it is told
    asked: Sequence[SqlRule],
    answers: Mapping[str, list[Row]],
    files: Mapping[str, str],
    lines: Lines,
    sentences: Sentences,
    most: int | None = None,
) -> list[Broken]:
    """The rows that each rule gave as findings, with the file's name and the physical line.

    ``answers``: by the rule's name its rows of log, row, column and the values that its sentence tells; a value named
    ``…_row`` is a row of the same log and is told as its line. ``files``: the name of each log's file. ``most``: so many rows
    of a rule in one log are told, those beyond are counted in one finding more.
    """
    told, counted = [], []
    for rule in asked:
        told += [(rule, row) for row in answers[rule.name] if row["row"] is None]
        for rows in _by_log(answers[rule.name]):
            told += [(rule, row) for row in rows[:most]]
            if most is not None and len(rows) > most:
                counted.append((rule, rows[most - 1 :]))
    found = told + [(rule, rows[n]) for rule, rows in counted for n in (0, -1)]
    wanted: dict[str, set[int]] = {}
    for _, row in found:
        wanted.setdefault(row["log"], set()).update(_rows_in(row))
    placed = {log: lines(log, rows) for log, rows in wanted.items() if rows}
    return [
        *(_broken(rule, _with_lines(row, placed), files, sentences) for rule, row in told),
        *(_counted(rule, rows, placed, files) for rule, rows in counted),
    ]


def _by_log(rows: list[Row]) -> list[list[Row]]:
    """The rows of each log together, in the order of the file, without those about no row."""
    found: dict[str, list[Row]] = {}
    for row in sorted((row for row in rows if row["row"] is not None), key=lambda row: row["row"]):
        found.setdefault(row["log"], []).append(row)
    return list(found.values())


def _counted(
    rule: SqlRule, rows: Sequence[Row], placed: Mapping[str, dict[int, int]], files: Mapping[str, str]
) -> Broken:
    """One finding for the rows of a rule beyond the last one told, which is the first of these."""
    first, last = _with_lines(rows[0], placed), _with_lines(rows[-1], placed)
    file = files.get(last["log"], LOGS[last["log"]].file)
    why = counted_told(rule.name, len(rows) - 1, first["row"], last["row"])
    return Broken(Finding(file, last["row"], last["column"], None, rule.name, rule.grade(last), why.message, why.fix))


def _rows_in(row: Row) -> Iterable[int]:
    return (n for name, n in row.items() if _is_row(name) and n is not None)


def _is_row(name: str) -> bool:
    return name == "row" or name.endswith("_row")


def _with_lines(row: Row, placed: Mapping[str, dict[int, int]]) -> Row:
    """With the physical line in the place of each row's number."""
    lines = {name: placed[row["log"]][n] for name, n in row.items() if _is_row(name) and n is not None}
    return row | lines


def _broken(rule: SqlRule, row: Row, files: Mapping[str, str], sentences: Sentences) -> Broken:
    log = row["log"]
    name, value = rule.value(row)
    told = None if value is None else sentences.told(name, value)
    message, fix = (sentences.fill(text, row) for text in (rule.message(row), rule.fix(row)))
    file = files.get(log, LOGS[log].file)
    finding = Finding(file, row["row"], row["column"], told, rule.name, rule.grade(row), message, fix)
    return Broken(finding, rule.amount(row), rule.subject(row))
