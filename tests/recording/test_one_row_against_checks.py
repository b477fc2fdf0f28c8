"""What ``record`` says of a row is what ``check`` finds once that row stands in the log, on random books."""

import csv
import os
from collections.abc import Mapping
from datetime import date
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory

import pytest

from pipeline import flow
from pipeline.checks.rule_engine import rules
from pipeline.contract.columns import CellKind, Column, Log
from pipeline.contract.findings import Severity
from pipeline.contract.log_columns import LOGS
from pipeline.database.model_order import needed_for
from pipeline.database.shipped_queries import Query, queries
from pipeline.database.tables_a_query_reads import read_by
from pipeline.reading.reading_rule_sentences import RULES
from pipeline.recording import record_and_undo
from tests.conftest import SEED
from tests.strategies import made_book, write_book

BOOKS, EACH = 2 * int(os.environ.get("LOOK_HARDER", "1")), 4
TODAY = date(2027, 1, 1)
OFTEN = ("loads", "passes", "blocks")
ANY = [*LOGS.values(), LOGS["loads"], LOGS["loads"], LOGS["passes"], LOGS["blocks"]]
ODD = {
    CellKind.DATE: ("2025-02-30", "1825-01-01", "1.2.2025", "0025-01-01"), CellKind.CHOICE: ("marble",), CellKind.YES_NO: ("maybe",),
    CellKind.COUNT: ("0", "-1", "2.5", "2000000", "01"), CellKind.MASS: ("0", "-3", "5 stone", "2 kg", "1e3", "1,234", "0.0000001"),
    CellKind.ID: ("a;b", "x" * 41, "Zoë 1"), CellKind.PERCENT: ("101", "-1", "80 %"), CellKind.TEMPERATURE: ("-50", "500", "70 °F"),
}  # fmt: skip
PLAIN = {
    CellKind.DATE: "2026-11-05", CellKind.COUNT: "1", CellKind.MASS: "120", CellKind.PERCENT: "100", CellKind.YES_NO: "yes", CellKind.TEXT: "as it is",
    CellKind.ID: "new",
}  # fmt: skip


def ids(logs: Mapping[str, list[dict[str, str]]]) -> list[str]:
    """Every name that any log carries, bare and behind its log's word, and some that none does."""
    found = {row[log.key[0]] for log in LOGS.values() if log.key for row in logs[log.name] if row.get(log.key[0])}
    return sorted(found | {f"{kind} {name}" for kind in ("harvest", "block", "session") for name in found} | {"nobody"})


def a_cell(dice: Random, column: Column, names: list[str]) -> str:
    if dice.random() < 0.06 and column.kind in ODD:
        return dice.choice(ODD[column.kind])
    if column.kind is CellKind.ID and dice.random() < 0.85:
        return dice.choice(names)
    if column.kind is CellKind.CHOICE:
        return dice.choice(column.choices)
    return dice.choice(("1", "2", "3")) if column.kind is CellKind.COUNT else PLAIN.get(column.kind, "12")


def a_row(dice: Random, log: Log, names: list[str]) -> dict[str, str]:
    """What every row needs, nearly always, and some of the rest."""
    often = {"source": 1.0, "part": 0.4, "mass": 0.7, "wax_out": 0.7, "session": 0.9, "item": 0.8}
    chance = {c.name: 0.96 if c.required else often.get(c.name, 0.15) for c in log.columns}
    return {c.name: a_cell(dice, c, names) for c in log.columns if dice.random() < chance[c.name]}


def read(folder: Path) -> dict[str, list[dict[str, str]]]:
    held = {}
    for log in LOGS:
        file = folder / f"{log}.csv"
        held[log] = list(csv.DictReader(file.read_text("utf-8").splitlines())) if file.exists() else []
    return held


def appended(folder: Path, log: Log, row: Mapping[str, str]) -> None:
    """The row at the end of its log, whatever it says."""
    file = folder / f"{log.name}.csv"
    rows = list(csv.reader(file.read_text("utf-8").splitlines())) if file.exists() else [[]]
    header = rows[0]
    header.extend(c.field for c in log.columns if c.required and c.field not in header)
    at = {name: n for n, name in enumerate(header)}
    for name in row:
        field = {c.name: c.field for c in log.columns}[name]
        if field not in at:
            at[field] = len(header)
            header.append(field)
    cells = [""] * len(header)
    for name, text in row.items():
        cells[at[{c.name: c.field for c in log.columns}[name]]] = text
    with file.open("w", encoding="utf-8", newline="") as out:
        csv.writer(out, lineterminator="\n").writerows([*rows, cells])


Key = tuple[str, str, str | None, str]


def checked(folder: Path) -> dict[Key, set[str]]:
    """What check says, by rule, log, column and the row that it stands in: severities and sentences."""
    loaded = flow.load(folder, TODAY)
    loaded.warehouse.close()
    found: dict[Key, set[str]] = {}
    for f in loaded.findings:
        lines = (folder / f.log).read_text("utf-8").splitlines() if (folder / f.log).exists() else []
        row = lines[f.line - 1].rstrip(",") if f.line and f.line > 1 else ""
        found.setdefault((f.rule, f.log, f.column, row), set()).add(f"{f.severity} {f.message}")
    return found


def new_of(before: dict[Key, set[str]], after: dict[Key, set[str]]) -> tuple[set[str], set[str]]:
    """The rules of new errors and warnings; and those whose sentence alone is another, so that it may have grown."""
    new = {key[0] for key in after.keys() - before.keys() if any(not said.startswith("note") for said in after[key])}
    return new, {key[0] for key in after.keys() & before.keys() if after[key] != before[key]}


def judged(folder: Path, rows: dict[str, list[dict[str, str]]]) -> set[str]:
    return {f.rule for f in record_and_undo.foreseen(folder, rows, TODAY).outcome.findings if f.severity is not Severity.NOTE}


def tried(dice: Random, folder: Path, names: list[str], before: dict[Key, set[str]]) -> None:
    """A random entry: what is said of it is what check finds once it stands in the logs."""
    chosen = [LOGS[name] for name in OFTEN if dice.random() < 0.7] if dice.random() < 0.3 else [dice.choice(ANY)]
    rows = {log.name: [a_row(dice, log, names) or {log.columns[0].name: "1"}] for log in chosen}
    files = {p: p.read_bytes() for p in folder.glob("*.csv")}
    said = judged(folder, rows)
    for log in chosen:
        appended(folder, log, rows[log.name][0])
    found, grown = new_of(before, checked(folder))
    for path in folder.glob("*.csv"):
        path.unlink()
    for path, data in files.items():
        path.write_bytes(data)
    if (said | found) & RULES.keys():  # an entry with a cell that cannot be read is asked nothing more
        said, found = said & RULES.keys(), found & RULES.keys()
    assert said - grown == found - grown, rows


def asked_alone(folder: str) -> list[Query]:
    """The models that a rule reads: no other can change what is found."""
    if folder != "models":
        return queries(folder)
    read = read_by([*(rule.query for rule in rules()), *queries("checks/leaving_out")])
    return needed_for(read, queries("models"))


@pytest.mark.parametrize("seed", range(BOOKS))
def test_what_record_says_is_what_check_finds(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(flow, "queries", asked_alone)
    dice = Random(f"{os.environ[SEED]}-{seed}")
    with TemporaryDirectory() as kept:
        folder = write_book(made_book(dice), Path(kept) / "book")
        with (folder / "book.toml").open("a", encoding="utf-8") as settings:
            settings.write('[show]\nmass = "g"\n')  # a column that a log lacks gets the unit that the row is in
        before, names = checked(folder), ids(read(folder))
        for _ in range(EACH):
            tried(dice, folder, names, before)
