"""The names that a book's things bear, so that a new thing gets another."""

from __future__ import annotations

from pipeline.flow import Loaded


def names_in_use(loaded: Loaded) -> frozenset[str]:
    """The names of harvests, sessions and blocks."""
    return frozenset(
        r["name"]
        for r in loaded.warehouse.ask("traceable_things", [None, None])
        if r["kind"] in ("harvest", "session", "block")
    )
