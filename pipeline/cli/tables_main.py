"""How the tables of the main job look on a terminal: their columns, headings and order."""

from __future__ import annotations

from pipeline.answers.groups import Groups
from pipeline.answers.stock import Stock
from pipeline.book.book_folder import Show
from pipeline.cli.tables import Head, drawn, weight

_FIGURES = {
    "yields": [
        Head("loaded_g", "comb", "mass"), Head("wax_g", "wax", "mass"), Head("yield", "yield", "share"),
        Head("u", "±", "spread"), Head("flags", "remarks"),
    ],
    "losses": [
        Head("stage", "stage"), Head("pass", "pass", "number"), Head("in_g", "in", "mass"), Head("wax_g", "wax", "mass"),
        Head("residue_g", "residue", "mass"), Head("unaccounted_g", "rest", "mass"), Head("loss", "loss", "share"),
    ],
    "flow": [
        Head("loaded_g", "in", "mass"), Head("blocks_g", "blocks", "mass"), Head("passed_on_g", "on", "mass"),
        Head("set_aside_g", "aside", "mass"), Head("residue_g", "slumgum", "mass"),
        Head("unaccounted_g", "rest", "mass"), Head("handling_g", "handling", "mass"), Head("casting_g", "casting", "mass"),
    ],
}  # fmt: skip
"""The columns of each figure after those of its group; ``rest`` is unaccounted for, ``on`` passed on, ``aside`` set aside."""

_LISTS = {
    "blocks": ("blocks", [Head("block", "block"), Head("mass_g", "mass", "mass")]),
    "blended": ("blended blocks", [Head("block", "block"), Head("blend", "recipe"), Head("mass_g", "mass", "mass")]),
    "set_aside": ("wax set aside", [Head("session", "session"), Head("mass_g", "mass", "mass")]),
    "pending": ("comb pending", [Head("harvest", "harvest"), Head("comb", "comb"), Head("mass_g", "mass", "mass")]),
    "store_loss": ("lost in store", [Head("harvest", "harvest"), Head("mass_g", "mass", "mass")]),
    "candles": ("candles", [Head("candle", "candle"), Head("count", "count", "number")]),
}


def heads(figure: str, found: Groups) -> list[Head]:
    """The columns of one figure's table for one kind of group."""
    return [*(Head(key, key) for key in found.named_by), *_FIGURES[figure]]


def stock(shelf: Stock, show: Show) -> str:
    """The shelf for people: the total, then a list for each kind of thing that there is."""
    total = f"wax on hand on {shelf.on}: {weight(float(shelf.total_g), show)}"
    loose = float(shelf.unplaced_g)
    if loose:
        total += f", of it {weight(loose, show)} not placed in any block"
    lists = [
        drawn(rows, columns, show, title) for key, (title, columns) in _LISTS.items() if (rows := getattr(shelf, key))
    ]
    return "\n\n".join([total, *lists])
