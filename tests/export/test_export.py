"""What other programs read in the files of an export: the same values, described, and nothing that runs."""

from __future__ import annotations

import csv
import json
from datetime import date, datetime
from pathlib import Path
from typing import Any

import duckdb
import openpyxl
import pandas as pd
import pytest

from pipeline import flow
from pipeline.contract.log_columns import LOGS
from pipeline.export.export import FORMS
from pipeline.export.exported_tables import exported_tables
from tests.books import ROOT, TODAY, run, write

frictionless = pytest.importorskip("frictionless")
DEMO = ROOT / "data" / "demo"
HOSTILE = {
    "harvests": 'harvest,date,comb,mass_g,apiary,notes\nH1,2026-05-01,brood comb,4000,=1+1,"@SUM(A1), ""told"""\n-2,2026-05-02,cappings,1000,+49,-3 frames\n',
}


@pytest.fixture(scope="module")
def expected() -> dict[str, list[dict[str, Any]]]:
    """The rows of every exported table of the demo, by its name."""
    loaded = flow.load(DEMO, date.fromisoformat(TODAY))
    return {t.name: loaded.warehouse.rows(t.sql) for t in exported_tables(loaded)}


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """The demo exported in every form, and once more to compare."""
    folders = {form: tmp_path_factory.mktemp(form) for form in FORMS}
    for form, folder in folders.items():
        files = run("export", DEMO, folder, "--as", form, "--json").json["files"]
        assert files
        assert sorted(map(Path, files)) == sorted(f for f in folder.rglob("*") if f.is_file())
    return folders


def plain(value: Any) -> Any:
    """A value whichever library gave it: None for missing, a day for midnight, a float for a number."""
    if value is None or pd.isna(value):
        return None
    if isinstance(value, datetime):
        return value.date()
    return float(value) if isinstance(value, int | float) and not isinstance(value, bool) else value


def same(ours: list[dict[str, Any]], theirs: list[dict[str, Any]]) -> None:
    assert [{k: plain(v) for k, v in row.items()} for row in theirs] == [{k: plain(v) for k, v in row.items()} for row in ours]


@pytest.mark.parametrize("form", FORMS)
def test_the_same_book_gives_the_same_bytes(form: str, written: dict[str, Path], tmp_path: Path) -> None:
    run("export", DEMO, tmp_path, "--as", form)
    assert {f.relative_to(tmp_path): f.read_bytes() for f in tmp_path.rglob("*") if f.is_file()} == {
        f.relative_to(written[form]): f.read_bytes() for f in written[form].rglob("*") if f.is_file()
    }


def test_parquet_read_by_duckdb_and_pandas(written: dict[str, Path], expected: dict[str, list[dict[str, Any]]]) -> None:
    for name, rows in expected.items():
        file = written["parquet"] / f"{name}.parquet"
        cursor = duckdb.execute(f"SELECT * FROM '{file}'")
        names = [c[0] for c in cursor.description]
        same(rows, [dict(zip(names, row, strict=True)) for row in cursor.fetchall()])
        if rows:
            frame = pd.read_parquet(file, engine="pyarrow") if _has_pyarrow() else duckdb.execute(f"SELECT * FROM '{file}'").df()
            assert len(frame) == len(rows)


def _has_pyarrow() -> bool:
    try:
        import pyarrow  # noqa: F401
    except ImportError:
        return False
    return True


def test_the_package_is_valid_and_pandas_reads_equal_values(written: dict[str, Path], expected: dict[str, list[dict[str, Any]]]) -> None:
    folder = written["package"]
    described = json.loads((folder / "datapackage.json").read_text("utf-8"))
    for resource in (r for r in described["resources"] if r["name"] in expected):
        fields = {f["name"]: f["type"] for f in resource["schema"]["fields"]}
        days = [n for n, kind in fields.items() if kind == "date"]
        text = {n: str for n, kind in fields.items() if kind == "string"}
        frame = pd.read_csv(folder / resource["path"], parse_dates=days, dtype=text, true_values=["yes"], false_values=["no"])
        for ours, theirs in zip(expected[resource["name"]], frame.to_dict("records"), strict=True):
            assert {k: _truth(plain(v)) for k, v in ours.items()} == {k: _truth(plain(v)) for k, v in theirs.items()}


def _truth(value: Any) -> Any:
    return {"": None, "yes": True, "no": False}.get(value, value) if isinstance(value, str) else value


@pytest.mark.filterwarnings("ignore::DeprecationWarning", "ignore::ResourceWarning")
def test_the_package_in_the_eyes_of_the_standards_own_validator(written: dict[str, Path]) -> None:
    report = frictionless.Package(str(written["package"] / "datapackage.json")).validate()
    assert report.valid, [(t.name, e.message) for t in report.tasks for e in t.errors][:5]
    assert report.stats["tasks"] > len(LOGS)


def test_the_package_says_units_sources_and_meanings(written: dict[str, Path]) -> None:
    described = json.loads((written["package"] / "datapackage.json").read_text("utf-8"))
    fields = [f for r in described["resources"] for f in r["schema"]["fields"] if not r["name"].startswith("reference-")]
    assert all(f["description"] for f in fields)
    assert all(f["unit"] == "gram" for f in fields if f["name"].endswith("_g"))
    assert any("Crane" in s["title"] for s in described["sources"])
    assert described["licenses"]


def test_a_workbook_read_by_openpyxl(written: dict[str, Path], expected: dict[str, list[dict[str, Any]]]) -> None:
    book = openpyxl.load_workbook(written["xlsx"] / "demo.xlsx")
    for name, rows in expected.items():
        header, *cells = book[name[:31]].iter_rows(values_only=True)
        for ours, theirs in zip(rows, cells, strict=True):  # a workbook's numbers have sixteen digits
            read = {k: plain(v) for k, v in zip(header, theirs, strict=True)}
            assert read == {k: pytest.approx(plain(v), rel=1e-15) if isinstance(plain(v), float) else plain(v) for k, v in ours.items()}


@pytest.mark.parametrize("form", ["csv", "xlsx"])
def test_no_cell_runs_in_a_spreadsheet(form: str, tmp_path: Path) -> None:
    book = write(tmp_path / "book", **HOSTILE)
    run("export", book, tmp_path / "out", "--as", form)
    if form == "csv":
        with (tmp_path / "out" / "harvests.csv").open(encoding="utf-8", newline="") as file:
            rows = list(csv.DictReader(file))
    else:
        header, *cells = openpyxl.load_workbook(tmp_path / "out" / "book.xlsx")["harvests"].iter_rows(values_only=True)
        rows = [dict(zip(header, row, strict=True)) for row in cells]
    assert [(r["harvest"], r["apiary"], r["notes"]) for r in rows] == [
        ("H1", "'=1+1", "'@SUM(A1), \"told\""),
        ("'-2", "'+49", "'-3 frames"),
    ]
    assert [float(r["mass_g"]) for r in rows] == [4000, 1000]


def test_a_package_keeps_the_texts_as_they_are(tmp_path: Path) -> None:
    run("export", write(tmp_path / "book", **HOSTILE), tmp_path / "out", "--as", "package")
    with (tmp_path / "out" / "harvests.csv").open(encoding="utf-8", newline="") as file:
        assert [r["apiary"] for r in csv.DictReader(file)] == ["=1+1", "+49"]


def test_a_book_with_errors_is_exported_only_when_told_to_leave_out(tmp_path: Path) -> None:
    book = write(tmp_path / "book", harvests="harvest,date,comb,mass_g\nH1,2026-05-01,brood comb,4000\nH2,never,brood comb,1")
    assert run("export", book, tmp_path / "out").code == 1
    assert run("export", book, tmp_path / "out", "--leave-out").code == 0
    assert len((tmp_path / "out" / "harvests.csv").read_text("utf-8").splitlines()) == 2
