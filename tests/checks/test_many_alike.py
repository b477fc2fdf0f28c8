"""What thousands of rows have wrong alike is told so often as anybody reads, and counted beyond."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from pipeline import flow
from pipeline.contract.findings import MOST_TOLD
from tests.books import write


def test_a_rule_that_every_row_breaks_is_told_a_thousand_times_and_then_counted(tmp_path: Path) -> None:
    rows = "".join(f"2025-05-01,B{n},1,given\n" for n in range(MOST_TOLD + 300))
    book = write(tmp_path, blocks="block,date,mass_g,supplier\nA,2025-01-01,9,Ann", draws="date,block,mass_g,use\n" + rows)
    loaded = flow.load(book, date(2025, 6, 1))
    found = [f for f in loaded.findings if f.rule == "unknown-reference"]
    assert len(found) == MOST_TOLD + 1
    assert [f.line for f in found[:MOST_TOLD]] == list(range(2, MOST_TOLD + 2))
    assert f"300 more rows have this fault, on lines {MOST_TOLD + 2} to {MOST_TOLD + 301}" in found[-1].message
    assert (found[-1].line, found[-1].column) == (MOST_TOLD + 301, "block")
    assert [(o.log, o.rows) for o in loaded.left_out] == [("draws", MOST_TOLD + 300)]
