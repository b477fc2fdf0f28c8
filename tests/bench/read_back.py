"""An export of the demo read back by other programs: cells that are not equal to the gram and the day, by program.

``python -m tests.bench.read_back``; LibreOffice must be installed (Debian: libreoffice-calc), else the bench fails. Ends with 1 where
a cell differs or the package is not valid.
"""

from __future__ import annotations

import csv
import json
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from datetime import date, datetime
from functools import cache
from math import isclose
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import duckdb
import frictionless
import openpyxl
import pandas as pd

from pipeline import flow
from pipeline.export.export import FORMS
from pipeline.export.exported_tables import exported_tables
from tests.books import ROOT, TODAY, run

DEMO = ROOT / "data" / "demo"
Rows = list[dict[str, Any]]
Reader = Callable[[Path, str], Rows]
_ALL_SHEETS = "csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,false,false,false,false,-1"
"""LibreOffice's filter: comma, double quotes, UTF-8, values as they are and not as they are shown, every sheet."""


def plain(value: Any) -> Any:
    """A value whichever program gave it: None for nothing, text of a day or a truth, a float."""
    if value is None or value == "" or (not isinstance(value, str) and pd.isna(value)):
        return None
    if isinstance(value, bool) or str(value).lower() in ("true", "false", "yes", "no"):
        return str(value).lower() in ("true", "yes")
    if isinstance(value, datetime | date):
        return value.strftime("%Y-%m-%d")
    try:
        return float(value)
    except (TypeError, ValueError):
        return str(value).removeprefix("'")


def equal(ours: Any, theirs: Any) -> bool:
    a, b = plain(ours), plain(theirs)
    if isinstance(a, float) and isinstance(b, float) and not isinstance(a, bool):
        return isclose(a, b, rel_tol=1e-12)
    return bool(a == b) or (isinstance(a, bool) and b == float(a))


def by_duckdb(folder: Path, name: str) -> Rows:
    return _asked(f"SELECT * FROM '{folder / 'parquet' / name}.parquet'")


def by_duckdb_csv(folder: Path, name: str) -> Rows:
    return _asked(f"SELECT * FROM read_csv('{folder / 'csv' / name}.csv', all_varchar = true)")


def _asked(sql: str) -> Rows:
    cursor = duckdb.execute(sql)
    names = [c[0] for c in cursor.description or ()]
    return [dict(zip(names, row, strict=True)) for row in cursor.fetchall()]


def by_pandas(folder: Path, name: str) -> Rows:
    described = json.loads((folder / "package" / "datapackage.json").read_text("utf-8"))
    (path,) = (r["path"] for r in described["resources"] if r["name"] == name)
    return list(pd.read_csv(folder / "package" / path, dtype=str, keep_default_na=False).to_dict("records"))


def by_openpyxl(folder: Path, name: str) -> Rows:
    header, *rows = _workbook(folder / "xlsx" / "demo.xlsx")[name[:31]].iter_rows(values_only=True)
    return [dict(zip(header, row, strict=True)) for row in rows]


@cache
def _workbook(file: Path) -> openpyxl.Workbook:
    return openpyxl.load_workbook(file)


def by_libreoffice(folder: Path, name: str) -> Rows:
    with (folder / "office" / f"demo-{name[:31]}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def office(folder: Path) -> None:
    """Every sheet of the workbook as LibreOffice reads it, a CSV each."""
    program = shutil.which("soffice")
    if program is None:
        sys.exit("LibreOffice is not installed (Debian: apt-get install --no-install-recommends libreoffice-calc)")
    home, out = folder / "home", folder / "office"
    words = [program, f"-env:UserInstallation={home.as_uri()}", "--headless", "--convert-to", _ALL_SHEETS, "--outdir", out]
    subprocess.run([*map(str, words), str(folder / "xlsx" / "demo.xlsx")], check=True, capture_output=True, timeout=300)


READERS: dict[str, Reader] = {
    "DuckDB, parquet": by_duckdb, "DuckDB, csv": by_duckdb_csv, "pandas, package": by_pandas, "openpyxl, xlsx": by_openpyxl,
    "LibreOffice, xlsx": by_libreoffice,
}  # fmt: skip


def differing(expected: dict[str, Rows], read: Callable[[str], Rows]) -> Iterator[tuple[str, int, str, Any, Any] | None]:
    """None for each equal cell, else where it stands and both values."""
    for name, ours in expected.items():
        theirs = read(name)
        if len(theirs) != len(ours):
            yield name, 0, "rows", len(ours), len(theirs)
        for n, (a, b) in enumerate(zip(ours, theirs, strict=False), 1):
            yield from (None if equal(v, b.get(k)) else (name, n, k, v, b.get(k)) for k, v in a.items())


def main() -> None:
    """Export, read back, compare."""
    with TemporaryDirectory() as made:
        folder = Path(made)
        loaded = flow.load(DEMO, date.fromisoformat(TODAY))
        expected = {t.name: loaded.warehouse.rows(t.sql) for t in exported_tables(loaded)}
        for form in FORMS:
            assert run("export", DEMO, folder / form, "--as", form).code == 0
        office(folder)
        wrong = 0
        for reader, read in READERS.items():
            cells = list(differing(expected, lambda name, read=read: read(folder, name)))  # type: ignore[misc]
            found = [c for c in cells if c]
            wrong += len(found)
            print(f"{reader:<18} {len(expected)} tables, {len(cells):>6} cells, {len(found)} differ {found[:3] or ''}")
        report = frictionless.Package(str(folder / "package" / "datapackage.json")).validate()
        print(f"frictionless       {report.stats['tasks']} resources, {'valid' if report.valid else 'NOT VALID'}")
        sys.exit(1 if wrong or not report.valid else 0)


if __name__ == "__main__":
    main()
