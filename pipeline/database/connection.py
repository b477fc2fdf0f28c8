"""The one room with DuckDB in it: settings and logs in, models run in the order their SQL implies, checks asked."""

from __future__ import annotations

import re
from collections import deque
from collections.abc import Callable, Iterable, Mapping, Sequence
from copy import copy
from functools import cache
from itertools import count
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING, Any, TypeVar
from weakref import finalize

import duckdb

from pipeline.contract.findings import MachineFault
from pipeline.database.model_order import Readers, models_read
from pipeline.database.shipped_queries import Query, query

if TYPE_CHECKING:
    import pandas as pd

Row = dict[str, Any]
T = TypeVar("T")

_QUIET = {"threads": "1", "autoinstall_known_extensions": "false", "autoload_known_extensions": "false"}


_PAYS_ON_FEW_ROWS = ("filter_pushdown", "unused_columns")
"""The parts of DuckDB's planning that save more than they take on few rows too; to leave out the rest saves a tenth of a book."""
_FILE_OF_FEW_ROWS = 1_500_000
"""Bytes of a database file that holds at most some five thousand rows."""

_MACHINE = (duckdb.IOException, duckdb.OutOfMemoryException, duckdb.TransactionException)
"""How DuckDB says that the disk or the memory does not give what is asked; the last, that it did not when all was to be kept."""
_INTERRUPTED = "Query interrupted"
"""What DuckDB says where somebody pressed Ctrl-C while it was at work."""

_PARSED: dict[str, list[duckdb.Statement]] = {}
"""Statements by their text: to parse one takes a fifth of what it takes on few rows, and of many books each asks the same."""
_PARSING = Lock()
_MOST_PARSED = 500  # the books of a club, of a few shapes, asked 460 different ones

_AT_ONCE = 500  # rows written by one statement, each of which takes its time however short it is


@cache
def _engine() -> duckdb.DuckDBPyConnection:
    """DuckDB itself, begun once in a process: that takes as long as a tenth of a small book."""
    return duckdb.connect(":memory:", config=dict(_QUIET))


@cache
def _costly() -> str:
    """The parts of DuckDB's planning that few rows do without, by DuckDB's own names for them."""
    parts = _engine().cursor().execute("SELECT name FROM duckdb_optimizers()").fetchall()
    return ",".join(name for (name,) in parts if name not in _PAYS_ON_FEW_ROWS)


_NUMBERS = count(1)


class _Place:
    """A database of the engine, in its memory or a file only to be read; let go of with the last warehouse that works on it."""

    def __init__(self, file: Path | None) -> None:
        # of two threads that are the first each may have begun an engine: it stays with its own
        self._engine, self.name = _engine(), f"book_{next(_NUMBERS)}"
        what = "':memory:'" if file is None else quoted(str(file))
        self._engine.cursor().execute(f"ATTACH {what} AS {self.name}{' (READ_ONLY)' if file else ''}")
        finalize(self, _let_go, self._engine, self.name).atexit = False  # the process takes it with it

    def opened(self) -> duckdb.DuckDBPyConnection:
        """A connection to it."""
        return self._engine.cursor().execute(f"USE {self.name}")


def _let_go(engine: duckdb.DuckDBPyConnection, name: str) -> None:
    engine.cursor().execute(f"DETACH {name}")


class Warehouse:
    """A DuckDB database of one book, in memory or a file."""

    def __init__(self, file: Path | None = None, few_rows: bool = False, hands: int | None = None) -> None:
        """An empty one in memory, or that of a file, only to be read. Raises duckdb.Error where the file is none.

        ``few_rows``: to think a statement over would take longer than it; ``hands``: statements that run at a time.
        """
        self._place, self._hands = _Place(file), hands
        self._con = self._place.opened()
        self.execute(f"SET disabled_optimizers = {quoted(_costly() if few_rows else '')}")

    @classmethod
    def of_file(cls, file: Path) -> Warehouse | None:
        """A database file, only to be read; None where it is none, or where another program writes into it."""
        try:
            return cls(file, few_rows=file.stat().st_size < _FILE_OF_FEW_ROWS)
        except (duckdb.Error, OSError):
            return None

    @property
    def name(self) -> str:
        """What the database is called in statements that name another too."""
        return self._place.name

    def abreast(self, needs: Mapping[str, list[str]], work: Callable[[Warehouse, str], T]) -> dict[str, T]:
        """What the work gives for each name, with a warehouse for its use, see :func:`pipeline.database.scheduler.abreast`."""
        from pipeline.database import scheduler  # a question to a kept database needs no threads

        hands = self._hands or scheduler.HANDS
        free = deque(self if hands == 1 else self.beside() for _ in range(hands))

        def by_a_free_hand(name: str) -> T:
            hand = free.popleft()
            try:
                return work(hand, name)
            finally:
                free.append(hand)

        return scheduler.abreast(needs, by_a_free_hand, hands)

    def beside(self) -> Warehouse:
        """Another hand on the same database, for use in another thread."""
        other = copy(self)
        other._con = self._place.opened()
        return other

    def close(self) -> None:
        """Let go of the database, which ends with the last that works on it."""
        self._con.close()
        del self._place

    def execute(self, sql: str, parameters: Sequence[object] | dict[str, object] | None = None) -> None:
        """Run a statement for its effect. Raises MachineFault where the disk is full or may not be written."""
        try:
            self._asked(sql, parameters).fetchall()
        except _MACHINE as fault:
            raise MachineFault(f"the database could not be written: {_reason(fault)}") from fault

    def rows(self, sql: str, parameters: Sequence[object] | dict[str, object] | None = None) -> list[Row]:
        """The rows of a SELECT as dictionaries; exact masses come as Decimal."""
        cursor = self._asked(sql, parameters)
        names = [column[0] for column in cursor.description or ()]
        return [dict(zip(names, row, strict=True)) for row in cursor.fetchall()]

    def ask(self, name: str, parameters: Sequence[object] | None = None) -> list[Row]:
        """The rows of a SELECT in ``answers/queries``, by its name."""
        return self.rows(query("answers/queries", name).sql, parameters)

    def columns(self, name: str) -> dict[str, Any]:
        """The columns of a SELECT in ``answers/queries`` as arrays, masked where missing; a list in a cell is an array again."""
        return self._asked(query("answers/queries", name).sql).fetchnumpy()

    def set_aside(self, name: str, parameters: Sequence[object] | None = None) -> None:
        """Keep the rows of a SELECT in ``answers/queries`` under its name, for others to read until the book is closed."""
        self.execute(f'CREATE OR REPLACE TEMP TABLE "{name}" AS {query("answers/queries", name).sql}', parameters)

    def frame(self, sql: str, parameters: Sequence[object] | dict[str, object] | None = None) -> pd.DataFrame:
        """The rows of a SELECT as a frame; exact masses come as float64, dates as datetime64."""
        return self._asked(sql, parameters).df()

    def copy_out(self, sql: str, file: Path) -> None:
        """Write the rows of a SELECT into a Parquet file. Raises MachineFault."""
        self.execute(f"COPY ({sql}) TO {quoted(str(file))} (FORMAT parquet)")

    def insert(self, table: str, rows: Iterable[Sequence[object]]) -> None:
        """Append a few rows to a table; large data comes in through ``execute`` with a reading function."""
        values = [tuple(row) for row in rows]
        for few in (values[at : at + _AT_ONCE] for at in range(0, len(values), _AT_ONCE)):
            marks = f"({', '.join('?' * len(few[0]))})"
            self.execute(
                f'INSERT INTO "{table}" VALUES {", ".join([marks] * len(few))}', [v for row in few for v in row]
            )

    def _asked(
        self, sql: str, parameters: Sequence[object] | dict[str, object] | None = None
    ) -> duckdb.DuckDBPyConnection:
        """The answer to a statement. Raises KeyboardInterrupt, where DuckDB makes another exception of it."""
        try:
            *first, last = self._parsed(sql)
            for statement in first:
                self._con.execute(statement)
            return self._con.execute(last, _utf8(parameters))
        except RuntimeError as fault:
            if str(fault) != _INTERRUPTED:
                raise
            raise KeyboardInterrupt from fault

    def _parsed(self, sql: str) -> list[duckdb.Statement]:
        """The statements of a text; they are bound to no table or schema yet, and so fit any database."""
        with _PARSING:
            parsed = _PARSED.pop(sql, None) or self._con.extract_statements(sql)
            _PARSED[sql] = parsed  # behind the others: the first is the one that was asked longest ago
            if len(_PARSED) > _MOST_PARSED:
                del _PARSED[next(iter(_PARSED))]
        return parsed

    def run(
        self, models: Sequence[Query], questions: Sequence[Query] = (), spare: Iterable[str] = ()
    ) -> dict[str, list[Row]]:
        """Make a table or a view of each model, those first that others read; gives each question's rows by its name.

        ``spare``: tables that are needed for these alone: each is dropped when the last that reads it is done.
        """
        by_name = {q.name: q for q in (*models, *questions)}
        made = {m.name for m in models}
        readers = Readers(spare, by_name.values())

        def work(hand: Warehouse, name: str) -> list[Row]:
            rows = hand._make(by_name[name]) if name in made else hand.rows(by_name[name].sql)
            for table in readers.without(name):
                hand.execute(f'DROP TABLE "{table}"')
            return rows

        answers = self.abreast(models_read(by_name.values(), made), work)
        return {q.name: answers[q.name] for q in questions}

    def _make(self, model: Query) -> list[Row]:
        form = "VIEW" if model.is_view else "TABLE"
        self.execute(f'CREATE OR REPLACE {form} "{model.name}" AS {model.sql}')
        return []


def _reason(fault: duckdb.Error) -> str:
    """What the machine said, without what the library says around it."""
    told = re.search(r'": ([^"\n]+)\s*$', str(fault))
    return told[1] if told else str(fault).strip().splitlines()[0]


def _utf8(
    parameters: Sequence[object] | dict[str, object] | None,
) -> Sequence[object] | dict[str, object] | None:
    """The parameters; of a word that is not UTF-8, as a command line can hold one, what no log can hold has a mark instead."""
    if parameters is None:
        return None
    if isinstance(parameters, dict):
        return {name: _marked(value) for name, value in parameters.items()}
    return [_marked(value) for value in parameters]


def _marked(value: object) -> object:
    if isinstance(value, str) and not value.isascii():
        return value.encode("utf-8", "surrogatepass").decode("utf-8", "replace")
    return value


def quoted(text: str) -> str:
    """Text as a SQL literal."""
    return "'" + text.replace("'", "''") + "'"
