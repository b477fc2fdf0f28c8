"""The rules of a cell, told: what was found, what was expected, what to do; and the list of all reading rules."""

from __future__ import annotations

import difflib
import re
from collections.abc import Sequence
from types import MappingProxyType
from typing import Final

from pipeline.contract.columns import KEPT_UNITS, Column, Log
from pipeline.contract.comb_and_method_synonyms import meant_by
from pipeline.contract.findings import Severity
from pipeline.contract.quantities import Refusal

RULES: Final = MappingProxyType({
    "file-form": "a folder, or a file that cannot be opened, stands where a log is expected",
    "file-encoding": "a file that is not text",
    "file-encoding-old": "a file that is not UTF-8 and was read as Windows Western European (cp1252)",
    "log-twice": "one log in two files",
    "header-not-first": "lines above the column names",
    "header-unit": "a column name that ends in a unit of something else",
    "column-missing": "a column that every row needs is not in the header",
    "column-twice": "two columns for one quantity",
    "column-unknown": "columns that are kept but not used",
    "row-too-long": "cells beyond the last column of the header",
    "cell-length": "a cell or a row too long to be meant",
    "quotes": "a quote that is not closed, or text behind a closing quote",
    "number-form": "a number that cannot be read",
    "number-whole": "a part where whole things are counted",
    "number-ambiguous": "a number that can be read as thousands or as decimals",
    "unit-missing": "a number without a unit in the cell or the header",
    "unit-unknown": "a unit that is not known",
    "unit-dimension": "a unit of something else: a volume where a mass is expected",
    "date-form": "a date that cannot be read or is not in the calendar",
    "date-order": "a date that does not say which is the day and which the month",
    "yes-no": "a word that is neither yes nor no",
    "required": "an empty cell that every row needs",
    "too-low": "a value under the least that the column can hold",
    "not-above": "a value that must be more than its limit, usually zero",
    "too-high": "a value over the most that the column can hold",
    "unknown-word": "a word that is not among those of the column",
    "id-form": "a name that is not 1-40 letters, digits, spaces, points, dashes, underscores and slashes",
    "sheet-unread": "a sheet of a workbook that is not read",
    "formula-value": "a formula in a workbook without the value that it comes to",
    "id-date": "a date in a workbook's cell where a name is expected",
    "id-spreadsheet": "a name that a spreadsheet seems to have turned into a date or a rounded number",
})  # fmt: skip
"""Every rule of the reading with what it finds, for the documentation."""

_FEW = 12  # as many names or lines as a sentence bears

NOTES: Final = frozenset({"file-encoding-old", "column-unknown"})
WARNINGS: Final = frozenset({"id-spreadsheet", "sheet-unread"})


def counted_told(rule: str, count: int, first: int, last: int) -> Refusal:
    """What is said of faults that are only counted; ``first``: the line of the last one told, ``last``: of the last of all."""
    reason = f"{count:,} more rows have this fault, on lines {first + 1} to {last}"
    return Refusal(rule, reason, "look for one cause of all of them")


def severity(rule: str) -> Severity:
    """How much a finding of the reading matters: an error, where it is not said otherwise."""
    if rule in NOTES:
        return Severity.NOTE
    return Severity.WARNING if rule in WARNINGS else Severity.ERROR


_MONTH = "(Jan|Feb|Mar|Mrz|Apr|May|Mai|Jun|Jul|Aug|Sep|Oct|Okt|Nov|Dec|Dez)"
MANGLED: Final = (
    r"^([0-9]{1,2}[./-][0-9]{1,2}[./-]([0-9]{2}|[0-9]{4})|[0-9]{1,2}[- ]" + _MONTH + r"([- ]([0-9]{2}|[0-9]{4}))?"
    r"|" + _MONTH + r"-[0-9]{2}|[0-9]+([.,][0-9]+)?[eE]\+[0-9]+)$"
)
"""Names as spreadsheets mangle them: 03/04/2025, 3-Mar, Mar-25, 1.00E+05."""


def required_told(log: Log, column: Column) -> Refusal:
    """An empty cell that every row needs, as a sentence."""
    reason = f"the cell is empty, and every row of {log.name} needs its {column.name} ({column.about})"
    return Refusal("required", reason, f"fill in the {column.name}")


def rule_told(column: Column, rule: str, limit: object, typed: str | None) -> Refusal:
    """Any other broken rule of a cell as a sentence; ``typed`` is the cell as it stands in the file."""
    if rule == "unknown-word":
        return _word(column, limit, typed or "")
    if rule == "id-form":
        return _id(typed or "")
    unit = KEPT_UNITS.get(column.kind, "")
    unit = "°C" if unit == "c" else unit
    bound = f"{limit:g} {unit}".strip() if isinstance(limit, int | float) else str(limit)
    where = {"too-low": "is less than", "not-above": "is not more than", "too-high": "is more than"}[rule]
    expected = {"too-low": "the least", "not-above": "which it must exceed", "too-high": "the most"}[rule]
    fix = f"correct the number or its unit, or leave the cell empty where the {column.name} is not known"
    return Refusal(rule, f"{typed} {where} {bound}, {expected}{'' if 'which' in expected else ' expected'}", fix)


def _word(column: Column, allowed: object, typed: str) -> Refusal:
    words = [str(w) for w in allowed] if isinstance(allowed, list | tuple) else list(column.choices)
    other = meant_by(column.name, typed)
    near = [other] if other in words else difflib.get_close_matches(typed.lower(), words, 1, 0.6)
    fix = f"is {near[0]} meant?" if near else "use one of them"
    if column.more:
        section = "[comb_kinds]" if column.more == "comb_kinds" else "[methods]"
        fix += f"{' A' if near else '; a'} new one is added under {section} in book.toml"
    return Refusal("unknown-word", f"{typed} is no {column.name} known here ({', '.join(words)})", fix)


def _id(typed: str) -> Refusal:
    wrong = sorted(set(re.findall(r"[^\w .\-/]", typed)))
    found = f"holds {' '.join(map(repr, wrong[:5]))}" if wrong else f"is {len(typed)} characters long"
    reason = f"the name {typed[:60]} {found}; letters, digits, space, . _ - / were expected, 40 of them at most"
    numbered = re.sub(r"# ?(?=\w)", "no. ", typed).strip()
    instead = f": {numbered}" if wrong == ["#"] and numbered != typed else ""
    return Refusal("id-form", reason, f"rename it here and wherever it is used{instead}")


def is_mangled(name: str) -> bool:
    """Whether a spreadsheet seems to have made this of a name."""
    return re.match(MANGLED, name) is not None


def mangled_told(names: list[str], lines: list[int]) -> Refusal:
    """Names that look like dates or rounded numbers, and the lines on which they stand."""
    many = f"{len(names)} names look" if len(names) > 1 else f"the name {names[0]} looks"
    shown = f" ({_few(names)})" if len(names) > 1 else ""
    where = f"line{'s' if len(lines) > 1 else ''} {_few([str(line) for line in lines])}"
    reason = f"{many} like what a spreadsheet makes of a name when it saves a log{shown}, on {where}"
    return Refusal(
        "id-spreadsheet", reason, "if so, format the column as text and type the names again (undo the saving)"
    )


def _few(words: list[str]) -> str:
    """The first of them, and how many more there are."""
    more = f" and {len(words) - _FEW} more" if len(words) > _FEW else ""
    return ", ".join(words[:_FEW]) + more


def dated_told(typed: str) -> Refusal:
    """A name that the cell of a workbook holds as a date."""
    reason = f"the cell holds the date {typed} where a name was expected; the workbook made it of what was typed"
    fix = "format the whole column as text, then type the name again (or begin names with a letter: R25-1)"
    return Refusal("id-date", reason, fix)


def sheets_told(names: Sequence[str]) -> Refusal:
    """Sheets of a workbook that hold something and are not read."""
    reason = f"one sheet of a workbook is read, and not its others: {_few(list(names))}"
    return Refusal("sheet-unread", reason, "save each log as a file of its own, or delete the sheets")


def unvalued_told() -> Refusal:
    """A cell whose formula was never worked out."""
    reason = "the cell holds a formula, and the file does not say what it comes to"
    return Refusal("formula-value", reason, "open and save the workbook in a spreadsheet, or type the value itself")
