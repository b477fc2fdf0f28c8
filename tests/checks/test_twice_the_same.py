"""Rows entered twice: each row after the first is told, with the line of the first; a cell that differs makes it another row."""

from __future__ import annotations

from pathlib import Path

from pipeline.checks.rule_engine import rules
from tests.books import write
from tests.checks.cases import found_in

ROWS = """date,block,mass_g,use,notes
2025-02-01,B,50,sold,
2025-02-02,B,50,sold,
2025-02-02,B,50,sold,
2025-02-03,B,50,sold,
2025-02-03,B,50,sold,
2025-02-03,B,50,sold,
2025-02-04,B,50,sold,
2025-02-04,B,55,sold,
2025-02-04,B,50,given,
2025-02-04,B,50,sold,the other half
"""


def test_each_row_after_the_first_is_told_and_one_cell_that_differs_makes_another_row(tmp_path: Path) -> None:
    book = write(tmp_path, blocks="block,date,mass_g,supplier\nB,2025-01-01,900,Aune", draws=ROWS)
    found = found_in(book, [rule for rule in rules() if rule.name == "twice-the-same"])
    assert [(f.line, f.message.rpartition(" as ")[2]) for f in found] == [(4, "line 3"), (6, "line 5"), (7, "line 5")]
