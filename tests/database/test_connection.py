"""The room with the database in it: what queries read, in which order they run, several hands on one book."""

from __future__ import annotations

import json
import os
import signal
import sys
import threading
from functools import cache
from typing import Any

import pytest

from pipeline.checks import rule_engine
from pipeline.contract.log_columns import LOGS
from pipeline.database import connection, settings_tables
from pipeline.database.connection import Warehouse
from pipeline.database.model_order import Readers, in_order, needed_for
from pipeline.database.scheduler import abreast
from pipeline.database.shipped_queries import Query, queries
from pipeline.database.tables_a_query_reads import tables_of


def by_parser(warehouse: Warehouse, sql: str) -> set[str]:
    """The tables that the database's own parser finds in a SELECT, its named parts left out."""
    found, named, stack = set(), set(), [json.loads(warehouse.rows("SELECT json_serialize_sql(?::VARCHAR) AS t", [sql])[0]["t"])]
    while stack:
        node: Any = stack.pop()
        if isinstance(node, dict):
            if node.get("type") == "BASE_TABLE":
                found.add(node["table_name"])
            if isinstance(node.get("cte_map"), dict):
                named.update(entry["key"] for entry in node["cte_map"]["map"])
            stack.extend(node.values())
        elif isinstance(node, list):
            stack.extend(node)
    return found - named


def test_the_words_of_a_query_tell_what_it_reads() -> None:
    warehouse, models = Warehouse(), queries("models")
    shipped = [*models, *(rule.query for rule in rule_engine.rules()), *queries("checks/leaving_out"), *queries("answers/queries"), *queries("report/queries"), *queries("recording/queries"), *queries("recording/effects")]
    names = {m.name for m in models} | LOGS.keys() | settings_tables.ABOUT.keys()
    assert len(shipped) > 100
    for query in shipped:
        assert tables_of(query.sql) & names == by_parser(warehouse, query.sql) & names, query.name


def test_models_run_after_those_that_they_read() -> None:
    three = [Query(n, sql, "", {}) for n, sql in (("c", "SELECT sum(x) AS x FROM b"), ("b", "SELECT x FROM a"), ("a", "SELECT 5 AS x"))]
    warehouse = Warehouse()
    assert [m.name for m in in_order(three)] == ["a", "b", "c"]
    warehouse.run(three)
    assert warehouse.rows("FROM c") == [{"x": 5}]
    assert [m.name for m in needed_for({"b"}, three)] == ["a", "b"]


def test_the_statement_that_was_asked_longest_ago_is_parsed_again(monkeypatch: pytest.MonkeyPatch) -> None:
    warehouse, same = Warehouse(), "SELECT 1 AS x"
    monkeypatch.setattr(connection, "_PARSED", {})
    monkeypatch.setattr(connection, "_MOST_PARSED", 3)
    assert [warehouse.rows(sql)[0]["x"] for sql in (same, "SELECT 2 AS x", "SELECT 3 AS x", same, "SELECT 4 AS x")] == [1, 2, 3, 1, 4]
    assert [*connection._PARSED] == ["SELECT 3 AS x", same, "SELECT 4 AS x"]


def test_a_table_goes_with_the_last_that_reads_it() -> None:
    models = [Query(n, sql, "", {}) for n, sql in (("a", "SELECT 5 AS x"), ("b", "SELECT x FROM a"), ("c", "SELECT x FROM b"))]
    asked = [Query("one", "SELECT x FROM a, early", "", {}), Query("two", "SELECT x FROM c", "", {})]
    readers = Readers(["a", "b", "early", "unread"], [*models, *asked])
    assert [readers.without(name) for name in ("a", "b", "one", "c", "two")] == [["unread"], [], ["a", "early"], ["b"], []]
    warehouse = Warehouse()
    warehouse.execute("CREATE TABLE early AS SELECT 1 AS y; CREATE TABLE unread AS SELECT 1 AS y")
    assert warehouse.run(models, asked, ["a", "b", "early", "unread"]) == {"one": [{"x": 5}], "two": [{"x": 5}]}
    assert [row["name"] for row in warehouse.rows("SELECT table_name AS name FROM duckdb_tables() WHERE database_name = current_database()")] == ["c"]


def test_several_hands_see_one_book() -> None:
    warehouse = Warehouse()
    names = [f"t{n}" for n in range(20)]
    abreast({name: [] for name in names}, lambda name: warehouse.beside().execute(f"CREATE TABLE {name} AS SELECT '{name}' AS name"), 2)
    found = abreast({name: [] for name in names}, lambda name: warehouse.beside().rows(f"FROM {name}"), 2)
    assert found == {name: [{"name": name}] for name in names}


def test_threads_that_are_the_first_at_once_have_each_a_database_of_its_own(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(connection, "_engine", cache(connection._engine.__wrapped__))
    together, found = threading.Barrier(4), []

    def one(n: int) -> None:
        together.wait()
        for turn in range(5):
            warehouse = Warehouse()
            warehouse.execute(f"CREATE TABLE mine AS SELECT {n} AS n, {turn} AS turn")
            found.append((warehouse.beside().rows("FROM mine"), n, turn))
            warehouse.close()

    threads = [threading.Thread(target=one, args=(n,)) for n in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(found) == 20
    assert all(rows == [{"n": n, "turn": turn}] for rows, n, turn in found)
    left = connection._engine().cursor().execute("SELECT database_name FROM duckdb_databases() WHERE NOT internal").fetchall()
    assert left == [("memory",)], "a database goes with the last that works on it"


@pytest.mark.skipif(sys.platform == "win32", reason="interrupts by POSIX")
def test_an_interrupted_query_is_an_interrupt() -> None:
    usual = signal.signal(signal.SIGINT, signal.default_int_handler)  # a job of a script ignores it
    after = threading.Timer(0.3, os.kill, (os.getpid(), signal.SIGINT))
    after.start()
    with pytest.raises(KeyboardInterrupt):
        Warehouse().rows("SELECT sum(a.range * b.range) FROM range(10_000_000) AS a, range(10_000_000) AS b")
    after.join()
    signal.signal(signal.SIGINT, usual)


def test_a_word_that_is_not_utf_8_is_looked_for_and_not_found() -> None:
    asked = "SELECT ? IN ('S1', 'Sé') AS known"
    assert [Warehouse().rows(asked, [word])[0]["known"] for word in ("S1", "Sé", "S1\udcff")] == [True, True, False]
