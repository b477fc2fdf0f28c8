"""What share of the comb came out as wax?"""

from __future__ import annotations

from pipeline.answers.groups import WHOLE_BOOK, Groups, in_group, keys, rows
from pipeline.flow import Loaded

GROUPS = ("session", "season", "method", "comb", "apiary", "hive")

_FIGURES = ("loaded_g", "wax_g", "yield", "u", "flags")

READS = ("yields_by_group", "yields_by_session")
"""The models that it asks: for groups, and for single sessions."""


def yields(loaded: Loaded, group: str = WHOLE_BOOK) -> Groups:
    """Comb loaded, wax recovered (g), yield and its standard uncertainty (shares), flags, by group."""
    columns = (*keys(group), *_FIGURES)
    if group == "session":
        return Groups(group, rows(loaded.warehouse, "yields_by_session", columns, ("date", "session")))
    return Groups(group, rows(loaded.warehouse, "yields_by_group", columns, keys(group), in_group(group)))
