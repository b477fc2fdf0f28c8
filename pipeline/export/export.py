"""A book written out for other programs, in one of four forms."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

from pipeline.contract.findings import MachineFault
from pipeline.contract.shipped_files import path, reference_names
from pipeline.export import data_package
from pipeline.export.csv_files import harmless, write_csv
from pipeline.export.exported_tables import Exported, exported_tables
from pipeline.export.xlsx_file import write_workbook
from pipeline.flow import Loaded


def export(loaded: Loaded, folder: Path, form: str) -> list[Path]:
    """Write logs and figures into ``folder`` as ``csv``, ``parquet``, ``xlsx`` or ``package``; the files, in order.

    Raises MachineFault where the folder cannot be written.
    """
    tables = list(exported_tables(loaded))
    try:
        folder.mkdir(parents=True, exist_ok=True)
        return FORMS[form](loaded, folder, tables)
    except OSError as fault:
        raise MachineFault(f"{folder} cannot be written: {fault.strerror}") from fault


def _csv(loaded: Loaded, folder: Path, tables: list[Exported]) -> list[Path]:
    return [_one_csv(loaded, folder / f"{table.name}.csv", table, harmless) for table in tables]


def _one_csv(loaded: Loaded, file: Path, table: Exported, made: Callable[[Any], Any]) -> Path:
    header, rows = _rows(loaded, table)
    write_csv(file, header, ([made(value) for value in row] for row in rows))
    return file


def _rows(loaded: Loaded, table: Exported) -> tuple[list[str], list[list[Any]]]:
    header = [r["column_name"] for r in loaded.warehouse.rows(f"DESCRIBE {table.sql}")]
    return header, [list(row.values()) for row in loaded.warehouse.rows(table.sql)]


def _parquet(loaded: Loaded, folder: Path, tables: list[Exported]) -> list[Path]:
    files = [folder / f"{table.name}.parquet" for table in tables]
    for file, table in zip(files, tables, strict=True):
        loaded.warehouse.copy_out(table.sql, file)
    return files


def _xlsx(loaded: Loaded, folder: Path, tables: list[Exported]) -> list[Path]:
    file = folder / f"{loaded.book.folder.resolve().name}.xlsx"
    write_workbook(file, ((table.name, *_rows(loaded, table)) for table in tables))
    return [file]


def _package(loaded: Loaded, folder: Path, tables: list[Exported]) -> list[Path]:
    """Exact values, so no apostrophes; read by programs that follow the schema beside them."""
    for part in ("figures", "reference"):
        (folder / part).mkdir(exist_ok=True)
    types = {
        t.name: {r["column_name"]: r["column_type"] for r in loaded.warehouse.rows(f"DESCRIBE {t.sql}")} for t in tables
    }
    described = folder / "datapackage.json"
    package = data_package.descriptor(loaded.book.name, tables, types, loaded.book.more_words())
    described.write_text(json.dumps(package, ensure_ascii=False, indent=1) + "\n", "utf-8")
    files = [described]
    for table in tables:
        place = folder if table.is_log else folder / "figures"
        files.append(_one_csv(loaded, place / f"{table.name}.csv", table, lambda value: value))
    for name in reference_names():
        files.append(Path(shutil.copyfile(path("reference", f"{name}.csv"), folder / "reference" / f"{name}.csv")))
    return files


FORMS = {"csv": _csv, "parquet": _parquet, "xlsx": _xlsx, "package": _package}
"""The forms, by the word that asks for each."""
