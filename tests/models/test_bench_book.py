"""The big books that builds are measured on are the same every time, fit together, and are spoilt as asked."""

from __future__ import annotations

import csv
from datetime import date
from pathlib import Path

import pytest

from pipeline import flow
from tests.bench.make_book import LONG, TODAY, make


def contents(folder: Path) -> dict[str, bytes]:
    return {file.name: file.read_bytes() for file in sorted(folder.iterdir())}


def records(folder: Path, log: str) -> list[dict[str, str]]:
    with (folder / f"{log}.csv").open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


def test_a_book_has_the_same_bytes_every_time(tmp_path: Path) -> None:
    make(tmp_path / "one", 200)
    make(tmp_path / "two", 200)
    assert contents(tmp_path / "one") == contents(tmp_path / "two")


def test_it_has_about_ten_and_a_half_rows_a_session(tmp_path: Path) -> None:
    assert make(tmp_path, 1000) / 1000 == pytest.approx(10.5, abs=0.5)


def test_every_weight_of_it_fits(tmp_path: Path) -> None:
    make(tmp_path, 200)
    loaded = flow.load(tmp_path, date.fromisoformat(TODAY))
    assert loaded.findings == []


def test_one_row_in_a_hundred_is_spoilt_in_one_cell(tmp_path: Path) -> None:
    make(tmp_path / "clean", 400)
    make(tmp_path / "spoilt", 400, bad=0.01)
    for log, (_, column) in LONG.items():
        pairs = zip(records(tmp_path / "clean", log), records(tmp_path / "spoilt", log), strict=True)
        differing = [[c for c in clean if clean[c] != spoilt[c]] for clean, spoilt in pairs]
        spoilt_rows = [columns for columns in differing if columns]
        assert spoilt_rows == [[column]] * (len(differing) // 100)
