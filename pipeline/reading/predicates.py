"""A log's pandera model told as SQL, for logs so long that pandera is shown only the rows that break a rule."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from pipeline.warehouse import quoted

if TYPE_CHECKING:
    from pipeline.logs import Schema


def as_predicates(schema: Schema) -> dict[str, str]:
    """The rules of a model as SQL, by field: true where a cell breaks one."""
    told = {}
    for field, column in schema.columns.items():
        name = f'"{field}"'
        parts = [] if column.nullable else [f"{name} IS NULL"]
        parts += [_predicate(name, check.name, check.statistics) for check in column.checks]
        if parts:
            told[field] = " OR ".join(parts)
    return told


def _predicate(name: str, rule: str, limits: dict[str, Any]) -> str:
    if rule == "unknown-word":
        listed = ", ".join(map(quoted, limits["allowed_values"]))
        return f"{name} NOT IN ({listed})"
    if "pattern" in limits:
        letters = limits["pattern"].replace(r"\w", r"\pL\pN_").removesuffix(r"\Z")
        return f"NOT regexp_matches({name}, '^{letters}$')"
    if rule == "id-form":
        return f"length({name}) > {limits['max_value']}"
    if rule == "too-high":
        return f"{name} > {limits['max_value']}"
    return f"{name} {'<=' if rule == 'not-above' else '<'} {limits['min_value']}"
