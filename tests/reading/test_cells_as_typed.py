"""What was typed in a cell, found by the line on which its record starts."""

from __future__ import annotations

from pathlib import Path

from pipeline.contract.log_columns import LOGS
from pipeline.reading.cells_as_typed import TypedCells

HARVESTS = """harvest,date,mass,comb,notes
H1,2025-05-01,4.31 kg,cappings,
H2,2025-05-02,3 lb 4 oz,cappings,"over
two lines"
H3,2025-05-03,900,cappings,"never closed
H4,2025-05-04,,cappings,

H5,2025-05-05,0.5kg,cappings,the last
"""


def cells(path: Path, *lines: int) -> list[tuple[str, str | None] | None]:
    path.write_text(HARVESTS, "utf-8")
    typed = TypedCells(LOGS["harvests"], path, set(lines))
    return [typed.cell(line, "mass") for line in lines]


def test_lines_between_are_passed_over(tmp_path: Path) -> None:
    file = tmp_path / "harvests.csv"
    assert cells(file, 2, 3, 5, 6, 8) == [("4.31 kg", "kg"), ("3 lb 4 oz", "lb"), ("900", None), None, ("0.5kg", "kg")]
    for line, expected in ((5, ("900", None)), (8, ("0.5kg", "kg")), (9, None), (40, None)):
        assert cells(file, line) == [expected]


def test_a_line_inside_the_record_before_has_no_cells(tmp_path: Path) -> None:
    """The file is not the one whose lines were noted."""
    assert cells(tmp_path / "harvests.csv", 3, 4, 8) == [("3 lb 4 oz", "lb"), None, ("0.5kg", "kg")]
