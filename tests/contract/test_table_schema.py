"""The published format, judged by an outside validator: frictionless."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from pipeline.book.book_settings import Book
from pipeline.contract.findings import has_errors
from pipeline.contract.log_columns import LOGS
from pipeline.contract.table_schema import data_package, table_schema
from pipeline.database.connection import Warehouse
from pipeline.reading.all_logs import read_book
from tests.books import ROOT

frictionless = pytest.importorskip("frictionless")
pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning", "ignore::ResourceWarning")


def headers(folder: Path) -> dict[str, list[str]]:
    found = {}
    for name in LOGS:
        with (folder / f"{name}.csv").open(encoding="utf-8", newline="") as file:
            found[name] = next(csv.reader(file))
    return found


def judged(folder: Path, **more: tuple[str, ...]) -> list[tuple[str, int, str]]:
    """What frictionless finds in a book's logs against the data package: (log, line, field)."""
    package = frictionless.Package.from_descriptor(data_package("test", more, headers(folder)), basepath=str(folder))
    report = package.validate()
    return [(t.name, e.row_number, e.field_name) for t in report.tasks for e in t.errors]


@pytest.mark.parametrize("name", LOGS)
def test_every_logs_schema_is_a_table_schema(name: str) -> None:
    schema = frictionless.Schema.from_descriptor(table_schema(LOGS[name], {}))
    assert list(frictionless.Schema.metadata_validate(schema.to_descriptor())) == []
    assert schema.field_names == [c.field for c in LOGS[name].columns]
    assert schema.primary_key == [LOGS[name].column(key).field for key in LOGS[name].key]


def test_the_package_of_all_logs_is_a_data_package() -> None:
    descriptor = data_package("Larkmoor, Öst", {})
    assert list(frictionless.Package.metadata_validate(descriptor)) == []
    assert [r["name"] for r in descriptor["resources"]] == list(LOGS)


def kept_units(folder: Path, more: dict[str, str]) -> Path:
    """The demo's logs as this program would write them in kept units, with some cells replaced: {old: new}."""
    folder.mkdir()
    warehouse = Warehouse()
    demo = ROOT / "data" / "demo"
    reading = read_book(Book(demo, "demo"), warehouse)
    assert not has_errors(reading.findings)
    for name, log in LOGS.items():
        rows = warehouse.rows(f'SELECT {", ".join(c.field for c in log.columns)} FROM "{name}" ORDER BY row')
        with (folder / f"{name}.csv").open("w", encoding="utf-8", newline="") as file:
            writer = csv.writer(file, lineterminator="\n")
            writer.writerow(c.field for c in log.columns)
            for row in rows:
                texts = {"True": "yes", "False": "no", "None": ""}
                cells = [texts.get(str(value), str(value)) for value in row.values()]
                writer.writerow(more.get(cell, cell) for cell in cells)
    return folder


def test_the_validator_agrees_that_the_demo_is_valid(tmp_path: Path) -> None:
    folder = kept_units(tmp_path / "demo", {})
    assert judged(folder) == []
    assert not has_errors(read_book(Book(folder, "demo"), Warehouse()).findings)


@pytest.mark.parametrize(("good", "bad"), [("water bath", "water bed"), ("cappings", "kappings"), ("yes", "aye")])
def test_the_validator_agrees_on_words_that_are_not_known(tmp_path: Path, good: str, bad: str) -> None:
    folder = kept_units(tmp_path / "demo", {good: bad})
    reading = read_book(Book(folder, "demo"), Warehouse())
    columns = {c.field: c.name for log in LOGS.values() for c in log.columns}
    theirs = {(log, line, columns[field]) for log, line, field in judged(folder)}
    ours = {(f.log.removesuffix(".csv"), f.line, f.column) for f in reading.findings}
    assert theirs == ours
    assert theirs
