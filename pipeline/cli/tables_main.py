"""How the tables of the main job look on a terminal: their columns, headings and order."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pipeline.answers.groups import WHOLE_BOOK, Groups
from pipeline.answers.stock import Stock
from pipeline.cli.tables import Head, drawn, paragraph
from pipeline.wording import stock_sentences, yield_flags
from pipeline.wording.amounts import Units

_YIELDS = [
    Head("loaded_g", "comb", "mass"), Head("wax_g", "wax recovered", "mass"), Head("yield", "yield", "share"),
    Head("u", "±", "spread"), Head("flags", "remarks", "flags"),
]  # fmt: skip
_LOSSES = [
    Head("stage", "stage"), Head("pass", "pass", "number"), Head("in_g", "in", "mass"), Head("wax_g", "wax out", "mass"),
    Head("residue_g", "residue", "mass"), Head("unaccounted_g", "unaccounted", "mass"), Head("loss", "loss", "share"),
]  # fmt: skip
_FLOW = [
    Head("loaded_g", "loaded", "mass"), Head("blocks_g", "blocks", "mass"), Head("passed_on_g", "passed on", "mass"),
    Head("set_aside_g", "set aside", "mass"), Head("residue_g", "residue", "mass"),
    Head("unaccounted_g", "unaccounted", "mass"), Head("handling_g", "between passes", "mass"),
    Head("casting_g", "in pots", "mass"),
]  # fmt: skip
_PARTS = (
    ("blocks_g", "cast in blocks"), ("passed_on_g", "wax passed on to another session"), ("set_aside_g", "wax set aside"),
    ("residue_g", "residue weighed"), ("unaccounted_g", "unaccounted (water, honey, spills)"),
    ("handling_g", "lost between passes"), ("casting_g", "left in pots and moulds"), ("loaded_g", "everything loaded"),
)  # fmt: skip
_LISTS = {
    "blocks": ("blocks", [Head("block", "block"), Head("mass_g", "wax", "mass")]),
    "blended": ("blended blocks", [Head("block", "block"), Head("blend", "recipe"), Head("mass_g", "mass", "mass")]),
    "set_aside": ("wax set aside", [Head("session", "session"), Head("mass_g", "wax", "mass")]),
    "pending": ("comb waiting", [Head("harvest", "harvest"), Head("comb", "comb"), Head("mass_g", "mass", "mass")]),
    "store_loss": ("lost in store", [Head("harvest", "harvest"), Head("mass_g", "mass", "mass")]),
    "candles": ("candles", [Head("candle", "candle"), Head("count", "count", "number")]),
}


def yields(found: Groups, units: Units) -> str:
    """What share of the comb came out as wax, with what the marks mean."""
    if not found.rows:
        return drawn(found.rows, _YIELDS, units)
    legend = ["±: what the step of the scale leaves open (standard uncertainty)"]
    legend += yield_flags.legend(row["flags"] for row in found.rows)
    return "\n\n".join([_table(found, _YIELDS, units), "\n".join(map(paragraph, legend))])


def losses(found: Groups, units: Units) -> str:
    """What each pass lost."""
    return _table(found, _LOSSES, units)


def flow(found: Groups, units: Units) -> str:
    """Where everything loaded went: of the whole book as a list, of groups a row each."""
    if found.group == WHOLE_BOOK and len(found.rows) == 1:
        heads = [Head("where", "where it went"), Head("mass_g", "mass", "mass"), Head("share", "of it", "share")]
        return drawn(_parts(found.rows[0], units), heads, units)
    return _table(found, _FLOW, units)


def _parts(row: Mapping[str, Any], units: Units) -> list[dict[str, Any]]:
    whole = row["loaded_g"]
    shares = {key: float(row[key]) / float(whole) if whole and row[key] is not None else None for key, _ in _PARTS}
    return [{"where": units.spelled(words), "mass_g": row[key], "share": shares[key]} for key, words in _PARTS]


def _table(found: Groups, figures: list[Head], units: Units) -> str:
    return drawn(found.rows, [*(Head(key, key) for key in found.named_by), *figures], units)


def stock(shelf: Stock, units: Units) -> str:
    """The shelf for people: the total, then a list for each kind of thing that there is."""
    lists = [
        drawn(rows, columns, units, title) for key, (title, columns) in _LISTS.items() if (rows := getattr(shelf, key))
    ]
    estimated = stock_sentences.by_frames([r["harvest"] for r in shelf.pending if r["estimated"]])
    lists += [paragraph(estimated)] if estimated else []
    return "\n\n".join([paragraph(stock_sentences.on_hand(shelf, units)), *lists])
