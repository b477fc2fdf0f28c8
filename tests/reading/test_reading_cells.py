"""What the database reads at once against the careful reader of single cells: where both read, they agree."""

from __future__ import annotations

import re
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.contract.columns import CellKind, Column, broken_limit
from pipeline.contract.quantities import Marks, Refusal
from pipeline.database.connection import Warehouse
from pipeline.reading.cell_reader import Conventions, read_cell
from pipeline.reading.reading_rule_sentences import MANGLED
from pipeline.reading.whole_columns_sql import PLAIN_NAME, lax, odd, plain, read, value_of

COLUMNS = {
    "date": (Column("date", CellKind.DATE, ""), None),
    "count": (Column("count", CellKind.COUNT, "", low=0, high=1e6), None),
    "grams": (Column("mass", CellKind.MASS, "", above=0, high=1e9), "g"),
    "kilos": (Column("mass", CellKind.MASS, "", above=0, high=1e9), "kg"),
    "pounds": (Column("mass", CellKind.MASS, "", above=0, high=1e9), "lb"),
    "no unit": (Column("mass", CellKind.MASS, "", above=0, high=1e9), None),
    "degrees": (Column("heat", CellKind.TEMPERATURE, "", low=-40, high=400), "f"),
    "money": (Column("price", CellKind.MONEY, "", low=0, high=1e9), None),
    "percent": (Column("pct", CellKind.PERCENT, "", low=0, high=100), None),
    "yes or no": (Column("emptied", CellKind.YES_NO, ""), None),
}
DATES = st.from_regex(r"\A[ -]?(18|19|20|21)?[0-9]{1,4}[-/. ][0-9]{1,2}[-/. ][0-9 ]{1,2}( ?[0-9a-zT:()]{1,4})?\Z")
NUMBERS = st.from_regex(r"\A ?[-+]?[0-9_]{0,10}([.,][0-9]{0,8})?([eE][-+]?[0-9]{1,3}| lb| oz|%)? ?\Z")
CELLS = st.one_of(
    DATES, NUMBERS, st.dates().map(str), st.integers(-(10**11), 10**11).map(str),
    st.sampled_from(["yes", "No", "TRUE", "0", "inf", "nan", "infinity", "epoch", "today", "0x1F", "1/2", "½", ""]),
)  # fmt: skip


@pytest.mark.parametrize("name", COLUMNS)
@pytest.mark.parametrize("marks", [Marks.DOT, Marks.COMMA, Marks.UNSURE])
@given(texts=st.lists(CELLS, min_size=1, max_size=60))
@settings(max_examples=10, deadline=None)
def test_a_value_read_at_once_is_the_careful_readers(name: str, marks: Marks, texts: list[str]) -> None:
    (column, unit), manner = COLUMNS[name], Conventions(marks)
    value = lax(column, unit, "cell", manner)
    sure = f"coalesce({plain(column, 'cell', value_of(column), manner)}, false)"
    asked = f"SELECT cell, {value_of(column)} AS lax, {read(column, 'cell', 'fits', ())} AS fast, fits AS plain"
    cells = f"SELECT cell, {value} AS {value_of(column)} FROM (SELECT unnest(?::VARCHAR[]) AS cell)"
    warehouse = Warehouse()
    for row in warehouse.rows(f"{asked} FROM (SELECT *, {sure} AS fits FROM ({cells}))", [texts]):
        careful = read_cell(row["cell"], column, unit, manner)
        if row["plain"]:
            assert row["fast"] == row["lax"]
            assert not isinstance(careful, Refusal), (row["cell"], careful)
            exact = isinstance(careful, Decimal)
            assert row["fast"] == (careful if exact or column.kind in (CellKind.DATE, CellKind.YES_NO) else pytest.approx(careful))
        else:
            assert row["fast"] is None
    warehouse.close()


@given(st.one_of(st.from_regex(PLAIN_NAME, fullmatch=True), st.from_regex(MANGLED), st.text(max_size=8)))
@settings(max_examples=250, deadline=None)
def test_a_plain_name_keeps_every_rule_of_names(name: str) -> None:
    if re.search(PLAIN_NAME, name, re.ASCII) and not name.endswith("\n"):
        assert re.search(MANGLED, name) is None
        assert broken_limit(Column("harvest", CellKind.ID, ""), name[:40], ()) is None
        assert name == name.strip()


@pytest.mark.parametrize(("text", "is_odd"), [
    ("H12", False), ("b0-1", False), ("2025-014", False), ("skep", False), ("x" * 40, False), ("x" * 41, True),
    ("jar large", False), ("H 1", False), ("Mar-25", True), ("3-4", True), ("3 Mar", True), ("H1 ", True), ("H  1", True), ("Ö1", True), ("", True), (None, True),
])  # fmt: skip
def test_an_odd_name_gets_a_second_look(text: str | None, is_odd: bool) -> None:
    column = Column("harvest", CellKind.ID, "", required=True)
    fits = f"coalesce({plain(column, 'harvest', 'harvest', Conventions())}, false)"
    (row,) = Warehouse().rows(f"SELECT {odd(column, 'harvest', fits, ())} AS odd FROM (SELECT ?::VARCHAR AS harvest)", [text])
    assert row["odd"] is is_odd
