"""The rules that the columns themselves imply: keys stand once, references lead somewhere, one of several is filled."""

from __future__ import annotations

from collections.abc import Collection, Iterable

from pipeline.checks.rule_files import SqlRule
from pipeline.contract.columns import Column, Log
from pipeline.contract.log_columns import LOGS
from pipeline.database.shipped_queries import Query

_HEADERS = {
    "double-key": (
        "a key that stands on two rows of one log",
        {
            "severity": "error",
            "message": "the {key} {told} stands on line {first_row} already",
            "fix": "give this row a name of its own, or delete it where it was entered twice",
            "value": "told",
            "example": "harvests: H2, -> H1,",
        },
    ),
    "unknown-reference": (
        "a name that no row of the log it refers to carries",
        {
            "severity": "error",
            "message": "{file} has no {key} named {named}",
            "message_melter": "it was loaded, but passes.csv has no pass of session {named}",
            "fix": "correct the name, or add its row to {file}",
            "fix_melter": "record its passes too, or correct its name",
            "value": "named",
            "example": "draws: P1 -> P9",
        },
    ),
    "log-missing": (
        "names that refer to a log which is missing or empty",
        {
            "severity": "note",
            "message": "{names:row names|rows name} a {key}, but {file} is missing or empty",
            "fix": "add {file} where you want them followed",
            "example": "wicks = wick,rank,from_diameter_mm,to_diameter_mm",
        },
    ),
    "one-of-several": (
        "exactly one of several columns must be filled",
        {
            "severity": "error",
            "message": "{filled} of {listed} are filled; one must be",
            "fix": "fill one of them",
            "example": "blocks: S1,, -> S1,neighbour,",
        },
    ),
    "any-of-several": (
        "at least one of several columns must be filled",
        {
            "severity": "error",
            "message": "none of {listed} is filled; at least one must be",
            "fix": "fill at least one of them",
            "example": "harvests: white comb,500 -> white comb,",
        },
    ),
}  # fmt: skip
"""What each of them finds, and its header as a rule's file has one."""


def rules_from_columns(held: Collection[str] = tuple(LOGS)) -> list[SqlRule]:
    """The rules made from the columns, as SELECTs like those in ``checks/``; of the ``held`` logs, as others have no rows."""
    logs = [LOGS[name] for name in LOGS if name in held]
    referring = [(log, column) for log in logs for column in log.columns if column.refers]
    named = dict.fromkeys(column.refers for _, column in referring if column.refers in held)
    found = {
        "double-key": [_double_key(log) for log in logs if log.key],
        "unknown-reference": [_unknown(LOGS[n], [r for r in referring if r[1].refers == n]) for n in named],
        "log-missing": [_missing(log, column) for log, column in referring],
        "one-of-several": [_filled(log, names, "= 1") for log in logs for names in log.one_of],
        "any-of-several": [_filled(log, names, ">= 1") for log in logs for names in log.any_of],
    }
    return [_rule(name, parts) for name, parts in found.items() if parts]


def _rule(name: str, parts: Iterable[str]) -> SqlRule:
    about, header = _HEADERS[name]
    return SqlRule(Query(name, "\nUNION ALL\n".join(parts), about, header))


def _head(log: Log, row: str, column: str) -> str:
    return f"SELECT '{log.name}' AS log, {row} AS row, '{column}' AS \"column\""


def _double_key(log: Log) -> str:
    keys = ", ".join(log.key)
    told = " || '/' || ".join(log.key)
    present = " AND ".join(f"{k} IS NOT NULL" for k in log.key)
    return (
        f"{_head(log, 'row', log.key[0])}, '{log.key[0]}' AS key, {told} AS told, first AS first_row "
        f"FROM (SELECT row, {keys}, first FROM {log.name} JOIN (SELECT {keys}, min(row) AS first "
        f"FROM {log.name} WHERE {present} GROUP BY {keys} HAVING count(*) > 1) USING ({keys})) WHERE row > first"
    )


def _unknown(other: Log, referring: Iterable[tuple[Log, Column]]) -> str:
    """The references into a log that lead nowhere, where that log has rows."""
    named = "\nUNION ALL ".join(_naming(log, column) for log, column in referring)
    return (
        f"SELECT l.*, '{other.file}' AS file, '{other.key[0]}' AS key FROM ({named}) AS l "
        f"ANTI JOIN {other.name} AS o ON o.{other.key[0]} = l.named WHERE EXISTS (SELECT 1 FROM {other.name})"
    )


def _naming(log: Log, column: Column) -> str:
    """The names that a column holds; a session that was loaded and has no pass is still in the melter."""
    variant = "'melter'" if log.name == "loads" else "NULL"
    return (
        f"{_head(log, 'row', column.name)}, {column.name} AS named, {variant} AS variant "
        f"FROM {log.name} WHERE {column.name} IS NOT NULL"
    )


def _missing(log: Log, column: Column) -> str:
    """One line for all references into a log that is missing or empty."""
    other = LOGS[column.refers]
    return (
        f"{_head(log, 'NULL::INTEGER', column.name)}, count(*) AS names, '{other.key[0]}' AS key, '{other.file}' AS file "
        f"FROM {log.name} WHERE {column.name} IS NOT NULL "
        f"AND NOT EXISTS (SELECT 1 FROM {other.name}) HAVING count(*) > 0"
    )


def _filled(log: Log, names: tuple[str, ...], wanted: str) -> str:
    fields = [log.column(name).field for name in names]
    filled = " + ".join(f"({f} IS NOT NULL)::INTEGER" for f in fields)
    listed = ", ".join(names[:-1]) + " and " + names[-1]
    return (
        f"{_head(log, 'row', names[0])}, {filled} AS filled, '{listed}' AS listed "
        f"FROM {log.name} WHERE NOT ({filled}) {wanted} AND NOT bad"
    )
