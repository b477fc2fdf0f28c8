"""How many of each candle does the wax make?"""

from __future__ import annotations

from dataclasses import dataclass

from pipeline.analyses.candle_capacity import Capacity, capacities
from pipeline.analyses.pending_wax import Pending
from pipeline.answers.candle_kinds import candle_kinds, costs
from pipeline.answers.wax_to_come import wax_on_hand_g, wax_to_come
from pipeline.flow import Loaded


@dataclass(frozen=True, slots=True)
class Capacities:
    """A row for each kind of candle, each for all the wax: on hand (g), and with what is to come.

    ``unpriced``: what the kinds need and the book gives no cost for; it counts as 0.
    """

    rows: tuple[Capacity, ...]
    wax_g: float
    coming: Pending
    unpriced: tuple[str, ...]

    def in_json(self) -> tuple[Capacity, ...]:
        """For other programs: the rows."""
        return self.rows


def capacity(loaded: Loaded, coming: Pending | None = None) -> Capacities:
    """How many of each kind; ``coming``: the wax to come, where the caller has it already."""
    coming = coming or wax_to_come(loaded)
    kinds, prices, wax_g = candle_kinds(loaded), costs(loaded), wax_on_hand_g(loaded)
    return Capacities(capacities(kinds, wax_g, coming, prices), wax_g, coming, prices.missing(kinds))
