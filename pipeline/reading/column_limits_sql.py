"""The rules of a column told as SQL: what breaks one makes its row odd, and of a long log pandera is shown no other rows."""

from __future__ import annotations

from pipeline.contract.columns import Column, ColumnLimit, rules
from pipeline.database.connection import quoted

_BREAKS = {"greater_than": "<=", "greater_than_or_equal_to": "<", "less_than_or_equal_to": ">"}


def breaks(column: Column, value: str, words: tuple[str, ...]) -> str:
    """A SQL condition, true where a value of a column breaks one of its rules, else false or NULL.

    ``value`` is its SQL; ``words`` are those a choice may have.
    """
    return " OR ".join(broken_rules(column, value, words).values()) or "false"


def broken_rules(column: Column, value: str, words: tuple[str, ...]) -> dict[str, str]:
    """The same for each rule by its name."""
    found = {"required": f"{value} IS NULL"} if column.required else {}
    for rule in rules(column, words):
        broken = _breaks(value, rule, column.stored)
        found[rule.name] = f"{found[rule.name]} OR {broken}" if rule.name in found else broken
    return found


def _breaks(value: str, rule: ColumnLimit, stored: str) -> str:
    if rule.check == "isin":
        return f"{value} NOT IN ({', '.join(map(quoted, rule.limit))})"
    if rule.check == "str_matches":
        letters = rule.limit.replace(r"\w", r"\pL\pN_").removesuffix(r"\Z")
        return f"NOT regexp_matches({value}, '^{letters}$')"
    if rule.check == "str_length":
        return f"length({value}) > {rule.limit}"
    return f"{value} {_BREAKS[rule.check]} {rule.limit}::{stored}"
