"""Where did everything that was loaded go?"""

from __future__ import annotations

from pipeline.answers.groups import WHOLE_BOOK, Groups, in_group, keys, rows
from pipeline.flow import Loaded

GROUPS = ("session", "season", "method")

_FIGURES = (
    "loaded_g", "blocks_g", "passed_on_g", "set_aside_g", "residue_g", "unaccounted_g", "handling_g", "casting_g"
)  # fmt: skip

READS = ("flow_by_group", "flow_by_session")
"""The models that it asks: for groups, and for single sessions."""


def flow(loaded: Loaded, group: str = WHOLE_BOOK) -> Groups:
    """Where the wax went (g), by group; every row adds up to what was loaded."""
    columns = (*keys(group), *_FIGURES)
    if group == "session":
        return Groups(group, rows(loaded.warehouse, "flow_by_session", columns, ("date", "session")))
    return Groups(group, rows(loaded.warehouse, "flow_by_group", columns, keys(group), in_group(group)))
