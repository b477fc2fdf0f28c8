"""What is refused says what to write instead, in the trade's words: other words for a method, a number sign, a swapped date."""

from __future__ import annotations

from datetime import time, timedelta

import pytest

from pipeline.contract.log_columns import LOGS
from pipeline.contract.quantities import Marks, Refusal
from pipeline.reading.spreadsheets import as_typed
from pipeline.recording.written_cells import ColumnForm, read


@pytest.mark.parametrize(("log", "column", "typed", "says"), [
    ("passes", "method", "crock pot", "is slow cooker meant?"),
    ("passes", "method", "Crock-Pot", "is slow cooker meant?"),
    ("harvests", "comb", "caps", "is cappings meant?"),
    ("passes", "method", "marble", "use one of them"),
    ("wicks", "wick", "#2", "rename it here and wherever it is used: no. 2"),
    ("wicks", "wick", "a*b", "rename it here and wherever it is used"),
    ("passes", "date", "13/1/2025", "was 1/13/2025 meant? Correct the date"),
    ("passes", "date", "13/13/2025", "correct the date"),
    ("passes", "wax_out", "1O.5 oz", "write 10.5 oz"),
    ("passes", "wax_out", "5 lb 9", "write 5 lb 9 oz"),
    ("passes", "wax_out", "1,234", "write it without a thousands mark, and with a clear decimal mark (1234 or 1.2340, not 1.234)"),
])  # fmt: skip
def test_a_refusal_says_what_may_be_meant(log: str, column: str, typed: str, says: str) -> None:
    meant = LOGS[log].column(column)
    found = read(meant, typed, ColumnForm("lb", words=meant.choices, dates="month-first"))
    assert isinstance(found, Refusal)
    assert found.fix.startswith(says)
    assert says[-1] == "?" or found.fix.endswith(says) or meant.more


def test_the_decimal_setting_is_named_only_where_it_helps() -> None:
    column = LOGS["passes"].column("wax_out")
    told = [read(column, "1,234", ColumnForm("g"), marks) for marks in (Marks.DOT, Marks.UNSURE)]
    assert ["decimal =" in refusal.fix for refusal in told if isinstance(refusal, Refusal)] == [False, True]


@pytest.mark.parametrize(("typed", "fix"), [("1O.5 oz", "write 10.5 oz"), ("l2 lb", "write 12 lb"), ("1O lb", "write 10 lb"), ("O.5", "write 0.5"), ("6 lb 1O oz - crock", "write 6 lb 10 oz - crock")])
def test_a_letter_typed_for_a_digit_is_named_with_what_was_meant(typed: str, fix: str) -> None:
    found = read(LOGS["passes"].column("wax_out"), typed, ColumnForm("lb", vessels={"crock": 992.2}))
    assert isinstance(found, Refusal)
    assert (found.rule, found.fix) == ("number-form", fix)


@pytest.mark.parametrize(("column", "typed"), [("fill_volume", "5 l"), ("fill_mass", "5 lb 4 oz"), ("fill_mass", "1 oz"), ("fill_volume", "2l"), ("price", "10")])
def test_a_letter_that_is_a_unit_stays_one(column: str, typed: str) -> None:
    assert not isinstance(read(LOGS["candles"].column(column), typed, ColumnForm()), Refusal)


def test_a_time_that_a_spreadsheet_made_of_2_30_is_two_and_a_half_hours() -> None:
    assert [as_typed(cell) for cell in (time(2, 30), timedelta(hours=26), time(0, 0, 30))] == ["150 min", "1560 min", "0.5 min"]
