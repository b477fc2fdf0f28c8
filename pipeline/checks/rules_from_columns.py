"""The rules that the columns themselves imply: keys stand once, references lead somewhere, one of several is filled."""

from __future__ import annotations

from pipeline.contract.columns import Column, Log
from pipeline.contract.log_columns import LOGS
from pipeline.database.connection import Query

_SHAPE = "SELECT '{log}' AS log, {row} AS row, '{column}' AS \"column\", {value} AS value, {message} AS message, {fix} AS fix"


_LOADED = (
    "it was loaded, but passes.csv has no pass of session ",
    "finish the session (combtally record BOOK session), or correct its name",
)
"""What is said of a session that is still in the melter."""


def spec_checks() -> list[Query]:
    """The rules made from the columns of ``logs.py``, as SELECTs like those in ``checks/``."""
    return [
        _rule("double-key", "a key that stands on two rows of one log", [_double_key(g) for g in LOGS.values() if g.key]),
        _rule("unknown-reference", "a name that no row of the log it refers to carries",
              [_unknown(LOGS[name]) for name in dict.fromkeys(column.refers for _, column in _referring())]),
        _rule("log-missing", "names that refer to a log which is missing or empty",
              [_missing(log, column) for log, column in _referring()], "note"),
        _rule("one-of-several", "exactly one of several columns must be filled",
              [_filled(g, names, "= 1", "one") for g in LOGS.values() for names in g.one_of]),
        _rule("any-of-several", "at least one of several columns must be filled",
              [_filled(g, names, ">= 1", "at least one") for g in LOGS.values() for names in g.any_of]),
    ]  # fmt: skip


def _rule(name: str, about: str, parts: list[str], severity: str = "error") -> Query:
    return Query(name, "\nUNION ALL\n".join(parts), about, {"severity": severity})


def _double_key(log: Log) -> str:
    keys = ", ".join(log.key)
    told = " || '/' || ".join(log.key)
    present = " AND ".join(f"{k} IS NOT NULL" for k in log.key)
    head = _SHAPE.format(
        log=log.name, row="row", column=log.key[0], value="told",
        message=f"'the {log.key[0]} ' || told || ' stands on an earlier row already (row ' || first || ' under the header)'",
        fix="'give this row a name of its own, or delete it where it was entered twice'",
    )  # fmt: skip
    return (
        f"{head} FROM (SELECT row, {told} AS told, first FROM {log.name} JOIN (SELECT {keys}, min(row) AS first "
        f"FROM {log.name} WHERE {present} GROUP BY {keys} HAVING count(*) > 1) USING ({keys})) WHERE row > first"
    )


def _referring() -> list[tuple[Log, Column]]:
    return [(log, column) for log in LOGS.values() for column in log.columns if column.refers]


def _unknown(other: Log) -> str:
    """The references into a log that lead nowhere, where that log has rows."""
    named = "\nUNION ALL ".join(_naming(log, column) for log, column in _referring() if column.refers == other.name)
    return (
        f'SELECT log, row, "column", value, message || value AS message, fix FROM ({named}) AS l '
        f"ANTI JOIN {other.name} AS o ON o.{other.key[0]} = l.value WHERE EXISTS (SELECT 1 FROM {other.name})"
    )


def _naming(log: Log, column: Column) -> str:
    """The names that a column holds, with what is said of one that leads nowhere."""
    other = LOGS[column.refers]
    message, fix = (
        _LOADED
        if log.name == "loads"
        else (f"{other.file} has no {other.key[0]} named ", f"correct the name, or add its row to {other.file}")
    )
    head = _SHAPE.format(
        log=log.name, row="row", column=column.name, value=column.name, message=f"'{message}'", fix=f"'{fix}'"
    )
    return f"{head} FROM {log.name} WHERE {column.name} IS NOT NULL"


def _missing(log: Log, column: Column) -> str:
    """One line for all references into a log that is missing or empty."""
    other = LOGS[column.refers]
    head = _SHAPE.format(
        log=log.name, row="NULL::INTEGER", column=column.name, value="NULL::VARCHAR",
        message="count(*) || if(count(*) = 1, ' row names', ' rows name') || "
        f"' a {other.key[0]}, but {other.file} is missing or empty'",
        fix=f"'add {other.file} where you want them followed'",
    )  # fmt: skip
    return (
        f"{head} FROM {log.name} WHERE {column.name} IS NOT NULL "
        f"AND NOT EXISTS (SELECT 1 FROM {other.name}) HAVING count(*) > 0"
    )


def _filled(log: Log, names: tuple[str, ...], wanted: str, words: str) -> str:
    fields = [log.column(name).field for name in names]
    filled = " + ".join(f"({f} IS NOT NULL)::INTEGER" for f in fields)
    listed = ", ".join(names[:-1]) + " and " + names[-1]
    head = _SHAPE.format(
        log=log.name, row="row", column=names[0], value="NULL::VARCHAR",
        message=f"({filled}) || ' of {listed} are filled; {words} must be'",
        fix=f"'fill {words} of them'",
    )  # fmt: skip
    return f"{head} FROM {log.name} WHERE NOT ({filled}) {wanted} AND NOT bad"
