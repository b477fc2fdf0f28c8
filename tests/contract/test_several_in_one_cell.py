"""Hives and flaws in one cell: the question at the keyboard and the rule of ``check`` read them alike."""

from __future__ import annotations

import duckdb
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.contract.several_in_one_cell import MACROS, flaw_stem, hives_meant

DATABASE = duckdb.connect()
DATABASE.execute(MACROS)
CELLS = st.lists(st.sampled_from(["H1", "H 2", "7", "Sand", "Andy", " + ", "+", ", ", ";", " & ", " and ", " ", "cracks", "Ridges", "off center"]), max_size=6).map("".join)


@pytest.mark.parametrize(
    ("cell", "hives"),
    [("7 & 8", ["7", "8"]), ("H1, H2 and H3", ["H1", "H2", "H3"]), ("H1 + H2, H3", ["H1", "H2", "H3"]), ("H1+H2", ["H1", "H2"]),
     ("H1 + H2", []), ("Sandy", []), ("H1", []), ("H1,", ["H1"])],
)  # fmt: skip
def test_hives_as_people_part_them(cell: str, hives: list[str]) -> None:
    assert hives_meant(cell) == hives


@pytest.mark.parametrize(
    ("word", "stem"), [("Cracks", "crack"), ("wet spots", "wet spot"), ("off center", "off centre"), ("crackss", "cracks")]
)
def test_a_flaw_in_several_and_in_either_spelling(word: str, stem: str) -> None:
    assert flaw_stem(word) == stem


@given(CELLS)
def test_the_database_reads_a_cell_as_python_does(cell: str) -> None:
    assert DATABASE.execute("SELECT hives_meant($1), flaw_stem($1)", [cell]).fetchone() == (hives_meant(cell), flaw_stem(cell))
