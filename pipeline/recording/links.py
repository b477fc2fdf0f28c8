"""What a source or an item means: a bare name where one log carries it, else the log's word before it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from pipeline.recording.names import Names, Row

SOURCES: dict[str, str] = {"harvest": "harvests", "block": "blocks", "session": "passes"}
ITEMS: dict[str, str] = {"harvest": "harvests", "block": "blocks", "candle": "candles"}
BARE = ((SOURCES, "loads", "source", "ambiguous-source"), (ITEMS, "stocktakes", "item", "unknown-item"))
"""Where names of several logs stand bare: the logs by their word, the log and column, the rule of two meanings."""


@dataclass(frozen=True, slots=True)
class Link:
    """What a name means: the word for its kind, and the id."""

    kind: str
    name: str


def source(names: Names, value: str) -> Link | tuple[str, ...] | None:
    """What a load's source means (as ``models/load_links.sql`` has it); several meanings, or None where it is unknown."""
    found = _link(names, value, SOURCES)
    known_comb = not names.is_empty("harvests")
    return found if found is not None or known_comb or not value else Link("harvest", value)


def item(names: Names, value: str) -> Link | tuple[str, ...] | None:
    """What a stocktake's item means; where an exact name has several meanings, a prefixed one is no help."""
    return _link(names, value, ITEMS)


def givers(names: Names, load: Row) -> list[str]:
    """The sessions that what a load names came out of."""
    link = source(names, load.get("source", ""))
    if not isinstance(link, Link) or link.kind == "harvest":
        return []
    if link.kind == "session":
        return [link.name]
    return [block["session"] for block in names.named("blocks", link.name) if block.get("session")]


def _link(names: Names, value: str, kinds: Mapping[str, str]) -> Link | tuple[str, ...] | None:
    exact = [kind for kind, log in kinds.items() if names.named(log, value)]
    if len(exact) == 1:
        return Link(exact[0], value)
    if exact:
        return tuple(f"{kind} {value}" for kind in exact)
    kind, _, name = value.partition(" ")
    return Link(kind, name) if kind in kinds and names.named(kinds[kind], name) else None
