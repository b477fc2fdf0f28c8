"""The parts of README and DEVELOPERS that are made from the code: ``python -m tests.docs`` writes them anew."""

from __future__ import annotations

import re
from pathlib import Path

from pipeline.book.book_toml import RULES as BOOK_RULES
from pipeline.checks.rule_engine import rules as rules_across
from pipeline.contract.columns import SUFFIXES, Column
from pipeline.contract.log_columns import LOGS
from pipeline.contract.shipped_files import reference
from pipeline.reading import reading_rule_sentences as reading
from pipeline.wording import cautions as wording
from pipeline.wording.amounts import PLAIN
from tests.books import ROOT

README = ROOT / "README.md"
DEVELOPERS = ROOT / "DEVELOPERS.md"


def column_tables() -> str:
    """One table for each log, from its columns."""
    parts = []
    for log in LOGS.values():
        rows = [f"| `{c.name}`{'#' if c.key else ''}{'*' if c.required else ''} | {_holds(c)} | {c.about} |" for c in log.columns]
        parts.append("\n".join([f"**`{log.file}`**: one row is {log.row_is}", "", "| column | holds | meaning |", "| --- | --- | --- |", *rows]))
    return "\n\n".join(parts)


def _holds(column: Column) -> str:
    if column.choices:
        return ", ".join(column.choices)
    suffixes = SUFFIXES.get(column.kind)
    units = f" ({', '.join(f'`_{s}`' for s in suffixes)})" if suffixes else ""
    return f"{column.kind}{units}{_limits(column)}"


def _limits(column: Column) -> str:
    if column.above is not None:
        return f", over {column.above:g}"
    if column.low is not None and -column.low == column.high:  # as far below nothing as above: no more than the store can hold
        return ", also below 0"
    return f", from {column.low:g}" if column.low else ""


def rules() -> str:
    """Every rule: those of book.toml and of a cell, then those across rows and logs."""
    cells = [f"| `{name}` | {reading.severity(name)} | {about} |" for name, about in reading.RULES.items()]
    book = [f"| `{name}` | error | {about} |" for name, about in BOOK_RULES.items()]
    across = [f"| `{rule.name}` | {rule.severity} | {rule.about} |" for rule in rules_across()]
    return "\n".join(["| rule | severity | what it finds |", "| --- | --- | --- |", *book, *cells, *across])


def cautions() -> str:
    """What burns and what hurts, as the table of cautions has it, temperatures in both units."""
    rows = {r["caution"]: r for r in reference("cautions")}
    warm, brown, fire = (rows[name] for name in ("clarify", "darkening", "fire limit"))
    lines = wording.cautions((*wording.MELTING, "foulbrood"), PLAIN)
    lines += [f"{warm['low']}–{warm['high']} °C ({_f(warm['low'])}–{_f(warm['high'])} °F): {warm['says']}."]
    lines += [f"{_both(brown['high'])}: {brown['says']}.", f"{_both(fire['high'])}, the {fire['figure']}: {fire['says']}."]
    return "\n".join(f"- {line.replace('never water', '**never water**')}" for line in lines)


def _both(temp_c: str) -> str:
    return f"{temp_c} °C ({_f(temp_c)} °F)"


def _f(temp_c: str) -> str:
    return PLAIN.number(float(temp_c) * 9 / 5 + 32)


MADE = {README: {"columns": column_tables, "cautions": cautions}, DEVELOPERS: {"rules": rules}}


def renewed(file: Path) -> str:
    """The file's text with its made parts renewed."""
    text = file.read_text("utf-8")
    for name, make in MADE[file].items():
        mark = f"<!-- made: {name} -->", f"<!-- end: {name} -->"
        text = re.sub(f"{mark[0]}.*?{mark[1]}", lambda _, m=mark, b=make: f"{m[0]}\n{b()}\n{m[1]}", text, flags=re.DOTALL)
    return text


if __name__ == "__main__":
    for made in MADE:
        made.write_text(renewed(made), "utf-8")
