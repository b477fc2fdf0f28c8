"""How a rule's rows become findings: their order, their lines, those beyond the last one told, and how far off each is."""

from __future__ import annotations

from dataclasses import fields
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from pipeline.book.book_settings import Book
from pipeline.checks.rule_engine import Broken, broken
from pipeline.checks.rule_files import SqlRule
from pipeline.checks.rule_sentences import Sentences
from pipeline.contract.findings import Finding, Severity
from pipeline.database.shipped_queries import Query

HEADER = {
    "severity": "warning", "message": "the row is as line {first_row}, {over_g} over", "message_first": "it comes first",
    "fix": "look", "fix_first": "look twice", "value": "over_g", "grows": "over_g", "subject": "about",
}  # fmt: skip
BOOK = Book(Path(), "small")
FULL, BARE = (SqlRule(Query("full", "", "", h)) for h in (HEADER, {"severity": "note", "message": "so", "fix": "no"}))
ROW = {"log": "draws", "column": "mass", "over_g": 7, "about": "jar", "variant": None, "severity": None, "first_row": 1}


def told(*rows: dict[str, Any], rule: SqlRule = FULL, most: int | None = None) -> list[Broken]:
    """The findings; row 1 stands on line 11, row 2 on 21, and so on."""

    def lines(_: str, rows: set[int]) -> dict[int, int]:
        return {row: 10 * row + 1 for row in rows}

    return broken([rule], {rule.name: [ROW | row for row in rows]}, {"draws": "draws.CSV"}, lines, Sentences(BOOK), most)


def lines_of(found: list[Broken]) -> list[int | None]:
    return [each.finding.line for each in found]


def test_a_row_is_told_with_its_line_in_the_file_as_it_is_named() -> None:
    (found,) = told({"row": 3})
    assert found.finding == Finding(
        "draws.CSV", 31, "mass", "7 g", "full", Severity.WARNING, "the row is as line 11, 7 g over", "look"
    )
    assert (found.amount, found.subject) == (7.0, "jar")


def test_what_a_header_does_not_say_is_nothing() -> None:
    (found,) = told({"row": 3, "log": "loads"}, rule=BARE)
    assert (found.finding.log, found.finding.value, found.finding.severity) == ("loads.csv", None, Severity.NOTE)
    assert (found.amount, found.subject) == (0.0, "")
    assert Broken(found.finding) == found


def test_a_row_may_say_how_much_it_matters_and_which_sentence_fits() -> None:
    (found,) = told({"row": 3, "severity": "error", "variant": "first"})
    assert (found.finding.severity, found.finding.message, found.finding.fix) == (Severity.ERROR, "it comes first", "look twice")
    (other,) = told({"row": 3, "variant": "second", "first_row": None})
    assert (other.finding.message, other.finding.fix) == ("the row is as line , 7 g over", "look")


def test_the_rows_are_told_in_the_order_of_the_file_whatever_order_they_come_in() -> None:
    found = told({"row": 5}, {"row": 2}, {"row": None}, {"row": 9}, {"row": 3})
    assert sorted(lines_of(found), key=lambda line: line or 0) == [None, 21, 31, 51, 91]
    assert [line for line in lines_of(found) if line] == [21, 31, 51, 91]


def test_so_many_as_are_told_at_most_are_all_told_and_nothing_is_counted() -> None:
    assert lines_of(told({"row": 2}, {"row": 1}, {"row": 3}, most=3)) == [11, 21, 31]


def test_beyond_that_the_rest_is_counted_from_the_line_after_the_last_one_told() -> None:
    found = told(*({"row": row} for row in (5, 4, 3, 2, 1)), most=2)
    assert lines_of(found) == [11, 21, 51]
    assert "3 more rows have this fault, on lines 22 to 51" in found[-1].finding.message
    assert (found[-1].finding.log, found[-1].finding.severity) == ("draws.CSV", Severity.WARNING)


def test_each_log_is_counted_for_itself_and_what_is_about_no_row_never() -> None:
    found = told({"row": 1}, {"row": 2}, {"row": 3, "log": "loads"}, {"row": None}, {"row": None}, most=1)
    assert sorted((each.finding.log, each.finding.line or 0) for each in found) == [
        ("draws.CSV", 0), ("draws.CSV", 0), ("draws.CSV", 11), ("draws.CSV", 21), ("loads.csv", 31),
    ]  # fmt: skip


@pytest.mark.parametrize("kind", [Broken, SqlRule])
def test_a_finding_and_a_rule_are_values(kind: type) -> None:
    """Nobody who was handed one can change it for others (frozen), nor hang something on it (slots)."""
    assert kind.__dataclass_params__.frozen  # type: ignore[attr-defined]
    assert set(kind.__slots__) == {field.name for field in fields(kind)}  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    ("name", "value", "text"),
    [
        ("mass_g", 7, "7 g"), ("mass_g", None, ""), ("heat_c", 85.0, "85 °C"), ("over_degrees_c", 2.0, "2 °C"),
        ("height_mm", 60, "60 mm"), ("found_share", 0.754, "75 %"), ("wax_pct", 99.94, "99.94 %"), ("wax_pct", 100.0, "100 %"),
        ("early_days", 1, "1 day"), ("early_days", 2, "2 days"), ("date", date(2025, 6, 1), "2025-06-01"), ("measured", 16.9, "16.9"),
        ("measured", 1 / 3, "0.3333"), ("session", "S1", "S1"),
    ],
)  # fmt: skip
def test_a_value_is_told_by_the_end_of_its_name(name: str, value: object, text: str) -> None:
    assert Sentences(BOOK).told(name, value) == text


def test_a_count_is_told_with_its_word() -> None:
    sentence = Sentences(BOOK)
    assert sentence.fill("{n:row is|rows are} wrong", {"n": 1}) == "1 row is wrong"
    assert sentence.fill("{n:row is|rows are} wrong", {"n": 2}) == "2 rows are wrong"
