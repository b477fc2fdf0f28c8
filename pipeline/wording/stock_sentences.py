"""The sentences on what is there: wax on the shelf, comb that waits, candles."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from pipeline.answers.stock import Stock
from pipeline.wording.amounts import Units

_WORTH_SAYING = 0.02  # of the wax on the shelf: less is the scatter of weighings


@dataclass(frozen=True, slots=True)
class Shelf:
    """Pure wax on the shelf, in how many blocks, and what of it belongs to none (g; negative: the blocks hold more)."""

    total_g: float
    blocks: int
    unplaced_g: float = 0.0


def stock(shelf: Shelf, pending_g: float, hold_g: float, units: Units) -> str:
    """What is on the shelf, what of it belongs to no block where that is worth a word, and what still waits."""
    waits = f"; {units.mass(pending_g)} of comb waits to be rendered" if pending_g else "; no comb waits"
    held = f", and {units.mass(hold_g)} is on hold" if hold_g else ""
    return f"{_on_shelf(shelf, units)}{_beside(shelf, units)}{waits}{held}."


def on_hand(found: Stock, units: Units) -> str:
    """The shelf's total, and how it differs from its blocks."""
    total = f"Wax on hand on {units.day(found.on)}: {units.mass(found.total_g)}"
    return f"{total}{_than_blocks(float(found.unplaced_g), found.counted_on, units)}."


def _than_blocks(unplaced_g: float, counted: date | None, units: Units) -> str:
    """How the shelf differs from what its blocks add up to, and from which count."""
    if not unplaced_g:
        return ""
    since = f" (whole shelf counted on {units.day(counted)})" if counted else " (pours without draws)"
    return f", {units.mass(abs(unplaced_g))} {'more' if unplaced_g > 0 else 'less'} than the blocks add up to{since}"


def by_frames(harvests: Sequence[str]) -> str:
    """Which lots were not weighed: their frames were counted; empty where all were weighed."""
    return f"frames counted, comb not weighed: {', '.join(harvests)}" if harvests else ""


def unplaced(mass_g: float) -> str:
    """The row of what belongs to no block."""
    return "more than the blocks" if mass_g > 0 else "less than the blocks"


def _on_shelf(shelf: Shelf, units: Units) -> str:
    if shelf.total_g < 0:
        more = units.mass(-shelf.total_g)
        return f"{more} more wax went off the shelf than came onto it: count the shelf and log a stocktake"
    if not shelf.total_g and not shelf.blocks:
        return "No wax is on the shelf"
    if not shelf.blocks:
        return f"{units.mass(shelf.total_g)} of wax is on the shelf, in no block that is named"
    return f"{units.mass(shelf.total_g)} of wax lies on the shelf in {units.plural(shelf.blocks, 'block')}"


def _beside(shelf: Shelf, units: Units) -> str:
    """How a count of the whole shelf, or a pour without draws, differs from the blocks."""
    if shelf.total_g < 0 or not shelf.blocks or abs(shelf.unplaced_g) <= _WORTH_SAYING * shelf.total_g:
        return ""
    if shelf.unplaced_g > 0:
        return f", and {units.mass(shelf.unplaced_g)} of it in none of them"
    return f", {units.mass(-shelf.unplaced_g)} less than {'it holds' if shelf.blocks == 1 else 'they add up to'}"


def store(lots: int, lost_g: float, units: Units) -> str:
    """How much comb waits, and what was lost of it in store over the years."""
    waits = f"{units.plural(lots, 'lot')} of comb {'waits' if lots == 1 else 'wait'}" if lots else "No comb waits"
    lost = f"; {units.mass(lost_g)} was lost in store over the years" if lost_g > 0 else ""
    return f"{waits} to be rendered{lost}."


def shelf(most: tuple[str, str], least: tuple[str, str]) -> str:
    """When the shelf was fullest and emptiest: (day, mass) each."""
    return f"The shelf held most on {most[0]} ({most[1]}) and least on {least[0]} ({least[1]})."


def candles(there: int, income: float, units: Units) -> str:
    """How many candles are on the shelf and what the latest season's sales brought; below none, a pour is not logged."""
    if there > 0:
        start = f"{units.plural(there, 'candle')} {'is' if there == 1 else 'are'} on the shelf"
    elif there == 0:
        start = "No candle is on the shelf"
    else:
        more = "candle was" if there == -1 else "candles were"
        start = f"{units.count(-there)} more {more} sold than poured: some batch is not logged"
    sold = f"sales of the latest season brought {units.price(income)}" if income else "no sale is recorded"
    return f"{start}; {sold}."
