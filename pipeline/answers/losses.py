"""What did each pass lose, into residue and unaccounted for?"""

from __future__ import annotations

from pipeline.answers.groups import WHOLE_BOOK, Groups, in_group, keys, rows
from pipeline.flow import Loaded

GROUPS = ("season", "method", "filter", "comb", "session")

_FIGURES = ("stage", "pass", "in_g", "wax_g", "residue_g", "unaccounted_g", "loss")

READS = ("losses_by_group", "pass_steps")
"""The models that it asks: for groups, and for single sessions."""


def losses(loaded: Loaded, group: str = WHOLE_BOOK) -> Groups:
    """What went in and what was lost (g, loss as a share), by group, stage and pass number."""
    named = keys(group)
    table, where = ("pass_steps", "counted") if group == "session" else ("losses_by_group", in_group(group))
    return Groups(group, rows(loaded.warehouse, table, (*named, *_FIGURES), (*named, "pass", "stage"), where))
