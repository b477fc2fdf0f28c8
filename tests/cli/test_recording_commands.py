"""What the commands around recording say where no row is written, and where their files go."""

from __future__ import annotations

from pathlib import Path

from tests.books import run, write


def test_a_session_is_recorded_from_a_file_and_not_from_columns(tmp_path: Path) -> None:
    refused = run("record", write(tmp_path / "b"), "session", "session=S1")
    assert (refused.code, refused.out) == (2, "")
    assert "--from FILE" in refused.err


def test_a_sheet_lands_where_the_report_does(tmp_path: Path) -> None:
    book = write(tmp_path / "b")
    made = run("sheet", book, "--json")
    assert {Path(file).parent for file in made.json["files"]} == {book / "reports"}


def test_a_number_of_thousands_of_digits_names_nothing(tmp_path: Path) -> None:
    book, number = write(tmp_path / "b", blocks="block,date,mass_g,supplier\nB1,2025-01-05,900,Ann"), "9" * 5_000
    assert run("change", book, "block", number, "mass=800 g", "--yes").code == 2
    assert run("trace", book, f"sale {number}").code == 2
