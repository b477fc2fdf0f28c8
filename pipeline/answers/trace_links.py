"""The steps from things to what their wax came from, or went into, walked from one to the next in the database."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from pipeline.analyses.trace_shares import UNKNOWN, Link, Thing
from pipeline.database.connection import quoted
from pipeline.flow import Loaded

_ALL_LINKS = 20_000
"""Of a book of so many passes all links are worked out once; of a longer one only those of the things that are met."""
_FEW = 500
"""So many things are named in a statement, which the database then seeks in every log; of more it reads all links."""
_SIDES = {"behind": ("kind", "id"), "ahead": ("from_kind", "from_id")}


def links(loaded: Loaded, way: str, start: Iterable[Thing]) -> list[Link]:
    """All steps ``behind`` things, or ``ahead`` of them, walked from one to the next."""
    table = "wax_links"
    if loaded.rows.get("passes", 0) <= _ALL_LINKS:  # then all at once cost less than each step by itself
        loaded.warehouse.execute("CREATE TEMP TABLE IF NOT EXISTS trace_links AS FROM wax_links")
        table = "trace_links"
    found: list[Link] = []
    seen, now = set[Thing](), set(start)
    while now:
        seen |= now
        step = [_link(r) for r in loaded.warehouse.rows(_step(loaded, table, _SIDES[way], now))]
        found += step
        now = {(s.thing if way == "ahead" else s.source) for s in step} - seen - {UNKNOWN}
    return found


def _step(loaded: Loaded, table: str, side: tuple[str, str], things: set[Thing]) -> str:
    """The SELECT of the links that have one of these things on this side."""
    kind, name = side
    if len(things) > _FEW:
        put(loaded, "trace_start", dict.fromkeys(sorted(things), 1.0))
        return f"SELECT l.* FROM {table} AS l SEMI JOIN trace_start AS s ON l.{kind} = s.kind AND l.{name} = s.id ORDER BY ALL"
    named: dict[str, list[str]] = {}
    for thing in sorted(things):
        named.setdefault(thing.kind, []).append(quoted(thing.name or ""))
    meant = " OR ".join(f"{kind} = '{k}' AND {name} IN ({', '.join(names)})" for k, names in named.items())
    return f"SELECT * FROM {table} WHERE {meant} ORDER BY ALL"


def put(loaded: Loaded, table: str, things: Mapping[Thing, float]) -> None:
    """Things and their shares as a table; there may be many thousands."""
    columns = ([t.kind for t in things], [t.name for t in things], list(things.values()))
    unnested = "unnest(?::VARCHAR[]) AS kind, unnest(?::VARCHAR[]) AS id, unnest(?::DOUBLE[]) AS share"
    loaded.warehouse.execute(f"CREATE OR REPLACE TEMP TABLE {table} AS SELECT {unnested}", columns)


def _link(row: dict[str, Any]) -> Link:
    return Link(Thing(row["kind"], row["id"]), Thing(row["from_kind"], row["from_id"]), row["share"])
