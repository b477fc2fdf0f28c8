"""In which order models are made, and which of them are needed: each stands after those that it reads."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from graphlib import TopologicalSorter
from threading import Lock

from pipeline.database.shipped_queries import Query
from pipeline.database.tables_a_query_reads import tables_behind, tables_of


def in_order(models: Sequence[Query]) -> list[Query]:
    """The models so that each stands after those that it reads; the same order every time."""
    by_name = {m.name: m for m in models}
    return [by_name[name] for name in TopologicalSorter(models_read(models, set(by_name))).static_order()]


def needed_for(tables: Iterable[str], models: Sequence[Query]) -> list[Query]:
    """Those models, in order, that are among these tables or that one of them reads, directly or through others."""
    needed = tables_behind(tables, models)
    return [model for model in in_order(models) if model.name in needed]


def models_read(statements: Iterable[Query], models: set[str]) -> dict[str, list[str]]:
    """Which of the models each statement reads."""
    return {q.name: sorted(tables_of(q.sql) & models) for q in statements}


class Readers:
    """Who is still to read each of some tables, and so when nobody needs it any more. Asked by several threads."""

    def __init__(self, tables: Iterable[str], statements: Iterable[Query]) -> None:
        read = {q.name: tables_of(q.sql) for q in statements}
        self._left = {table: {name for name, of in read.items() if table == name or table in of} for table in tables}
        self._lock = Lock()

    def without(self, done: str) -> list[str]:
        """The tables that nobody needs any more once this statement, which makes or reads some, is done."""
        with self._lock:
            for left in self._left.values():
                left.discard(done)
            free = [table for table, left in self._left.items() if not left]
            for table in free:
                del self._left[table]
        return free
