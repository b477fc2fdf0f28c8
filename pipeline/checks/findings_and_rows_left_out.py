"""What the rules say of a book whose logs are in the warehouse, and the rows that then stay out of every figure."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from pipeline.book.book_settings import Book
from pipeline.checks import rule_engine
from pipeline.checks.rule_engine import Broken
from pipeline.checks.rule_files import SqlRule
from pipeline.checks.rule_sentences import Sentences
from pipeline.contract.findings import MOST_TOLD, Severity
from pipeline.contract.log_columns import LOGS
from pipeline.database.connection import Row, Warehouse
from pipeline.database.findings_and_origin_tables import LeftOut
from pipeline.database.model_order import needed_for
from pipeline.database.shipped_queries import Query, queries
from pipeline.database.tables_a_query_reads import read_by
from pipeline.reading.all_logs import Reading


def judge(  # noqa: PLR0913, PLR0917 - a book, where it stands, and what is asked of it
    book: Book,
    warehouse: Warehouse,
    read: Reading,
    models: Sequence[Query],
    rules: Sequence[SqlRule],
    most: int | None = MOST_TOLD,
    spare: Iterable[str] = (),
) -> tuple[list[Broken], list[LeftOut]]:
    """What the rules find in the logs, and what was left out; the models are made in the warehouse.

    ``most``: so many rows of a rule in one log are told, the rest are counted (None: every one is told). ``spare``: tables
    of models that nobody reads afterwards.

    Rows with errors, and what hangs on them, are deleted from the log tables before the models are kept and the rules
    that weigh are asked: a session with a faulty load would give a wrong yield.
    """
    linking = [rule for rule in rules if rule.severity is Severity.ERROR]
    rest = [rule for rule in rules if rule not in linking]
    asked = [rule.query for rule in linking]
    first = needed_for(read_by([*asked, *queries("checks/leaving_out")]), models)
    answers = warehouse.run(first, asked)
    found = _broken(book, read, linking, answers, most)
    faulty = [(row["log"], row["row"]) for rule in linking for row in answers[rule.name]]
    warehouse.execute("CREATE OR REPLACE TABLE left_out (log VARCHAR, row INTEGER)")
    left_out = _leave_out(warehouse, faulty) if faulty or read.findings else []
    others = [model for model in models if left_out or model not in first]
    answers = warehouse.run(others, [rule.query for rule in rest], spare)
    return found + _broken(book, read, rest, answers, most), left_out


def _broken(
    book: Book, read: Reading, rules: Sequence[SqlRule], answers: dict[str, list[Row]], most: int | None
) -> list[Broken]:
    names = {log: file.name for log, file in read.files.items()}
    return rule_engine.broken(rules, answers, names, read.lines, Sentences(book), most)


def _leave_out(warehouse: Warehouse, faulty: list[tuple[str, int]]) -> list[LeftOut]:
    """Take the faulty rows, the bad ones of the reading, and all that hangs on them out of the log tables."""
    bad = " UNION ALL ".join(f"SELECT '{log}', row FROM \"{log}\" WHERE bad" for log in LOGS)
    warehouse.execute(f"INSERT INTO left_out {bad}")
    warehouse.insert("left_out", sorted(set(faulty)))
    (hanging,) = queries("checks/leaving_out")
    counted = 0
    while counted < (counted := _count(warehouse)):
        warehouse.execute(f"INSERT INTO left_out {hanging.sql}")
    logs = {row["log"] for row in warehouse.rows("SELECT DISTINCT log FROM left_out")}
    return [_taken_out(warehouse, log) for log in LOGS if log in logs]


def _count(warehouse: Warehouse) -> int:
    return int(warehouse.rows("SELECT count(*) AS n FROM left_out")[0]["n"])


def _taken_out(warehouse: Warehouse, log: str) -> LeftOut:
    """Delete a log's rows that are left out, and say how many grams they held."""
    held = next((c.field for c in LOGS[log].columns if c.name in ("mass", "wax_out")), "NULL")
    chosen = f"row IN (SELECT row FROM left_out WHERE log = '{log}')"
    sums = warehouse.rows(f'SELECT count(*) AS n, coalesce(sum({held}), 0) AS g FROM "{log}" WHERE {chosen}')[0]
    warehouse.execute(f'DELETE FROM "{log}" WHERE {chosen}')
    return LeftOut(log, int(sums["n"]), float(sums["g"]))
