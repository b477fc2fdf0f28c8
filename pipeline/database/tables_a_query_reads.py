"""Which tables a shipped SELECT reads, and which stand behind those."""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import cache

from pipeline.database.shipped_queries import Query

_SAID = re.compile(r"--[^\n]*")
_READ = re.compile(r'\b(?:FROM|JOIN)\s+((?:\w+(?: AS \w+)?, )*"?\w+)')
_NAMED = re.compile(r'(?:^|, )"?(\w+)')


@cache
def tables_of(sql: str) -> frozenset[str]:
    """The names that stand behind FROM and JOIN, one or several, in a shipped SELECT: tables, and its own named parts.

    The database's own parser is far slower; a test holds one against the other.
    """
    return frozenset(name for read in _READ.findall(_SAID.sub("", sql)) for name in _NAMED.findall(read))


def read_by(asked: Iterable[Query]) -> set[str]:
    """The tables that any of these SELECTs read."""
    return {table for query in asked for table in tables_of(query.sql)}


def tables_behind(tables: Iterable[str], models: Iterable[Query]) -> set[str]:
    """These tables and all that those among them which are models read, directly or through others."""
    by_name = {model.name: model for model in models}
    found, new = set[str](), set(tables)
    while new:
        found |= new
        new = read_by(by_name[name] for name in new if name in by_name) - found
    return found
