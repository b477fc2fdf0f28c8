"""Rows entered twice: each row after the first is told, with the line of the first; a cell that differs makes it another row."""

from __future__ import annotations

from pathlib import Path

from tests.books import run, write

DRAWS = "date,block,mass_g,use,notes\n"


def lines(folder: Path, *rows: str) -> list[tuple[int, bool]]:
    """The lines told of, and whether each names line 2 as the first."""
    book = write(folder, blocks="block,date,mass_g,supplier\nB,2025-01-01,900,Aune", draws=DRAWS + "\n".join(rows))
    found = [p for p in run("check", book, "--json").json["problems"] if p["rule"] == "twice-the-same"]
    return [(p["line"], "line 2" in p["message"]) for p in found]


def test_each_row_after_the_first_is_told(tmp_path: Path) -> None:
    same = "2025-02-01,B,50,sold,"
    assert lines(tmp_path / "one", same) == []
    assert lines(tmp_path / "two", same, same) == [(3, True)]
    assert lines(tmp_path / "three", same, same, same) == [(3, True), (4, True)]


def test_one_cell_that_differs_makes_another_row(tmp_path: Path) -> None:
    assert lines(tmp_path / "mass", "2025-02-01,B,50,sold,", "2025-02-01,B,55,sold,") == []
    assert lines(tmp_path / "use", "2025-02-01,B,50,sold,", "2025-02-01,B,50,given,") == []
    assert lines(tmp_path / "notes", "2025-02-01,B,50,sold,", "2025-02-01,B,50,sold,the other half") == []
