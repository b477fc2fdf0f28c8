"""How much wax is there, and how much is still to come from comb that waits and wax set aside?"""

from __future__ import annotations

from typing import Any

from pipeline.analyses.frame_weights import Counted, FrameWeights
from pipeline.analyses.pending_wax import Past, Pending, WaitingLot, expected
from pipeline.analyses.refining_loss_model import Refining
from pipeline.analyses.yield_model import MEMORY, RenderedLot
from pipeline.analyses.yield_priors import Prior, Priors
from pipeline.contract import shipped_files
from pipeline.flow import Loaded


def wax_to_come(loaded: Loaded, method: str | None = None) -> Pending:
    """Pending wax of every lot, drawn together; ``method``: how comb is melted whose harvest names none."""
    aside = loaded.warehouse.rows("SELECT session, mass_g FROM stock_set_aside ORDER BY session")
    lots = [_lot(r, method) for r in loaded.warehouse.ask("waiting_comb_to_forecast")]
    lots += [WaitingLot(f"session {r['session']}", None, float(r["mass_g"])) for r in aside]
    return expected(lots, _past(loaded), loaded.today)


def _lot(r: dict[str, Any], method: str | None) -> WaitingLot:
    """Comb that waits; counted in frames where it was never weighed."""
    counted = None if r["frames"] is None else Counted(r["frames"], r["loaded_g"])
    named = (r["wax_expected"], r["season"], r["method"] or method)
    return WaitingLot(f"harvest {r['harvest']}", r["comb"], r["mass_g"] or 0.0, *named, counted)


def _past(loaded: Loaded) -> Past:
    """What the forecast rests on."""
    warehouse, frames = loaded.warehouse, shipped_files.reference("frame_weights")
    weighed = [(r["comb"], r["frames"], r["mass_g"]) for r in warehouse.ask("frames_weighed")]
    ranges = [(r["comb"], float(r["low_g"]), float(r["high_g"])) for r in frames]
    refined = [(r["in_g"], r["wax_g"]) for r in warehouse.ask("wax_only_sessions", [loaded.today])]
    return Past(sessions_on_comb(loaded), priors(loaded), FrameWeights.of(weighed, ranges), Refining.of(refined))


def wax_on_hand_g(loaded: Loaded) -> float:
    """Pure wax on the shelf, g."""
    return float(loaded.warehouse.rows("SELECT total_g FROM stock_total")[0]["total_g"])


def wax_u_g(loaded: Loaded) -> float:
    """How far the shelf may be from its ledger, g (standard uncertainty)."""
    house, found_g2 = loaded.warehouse, 0.0
    if house.ask("shelf_counts")[0]["n"] > 1:  # the ledger is put in order only where counts are to be held against it
        found_g2 = house.ask("found_by_shelf_counts")[0]["found_g2"]
    return float(house.ask("shelf_uncertainty", [found_g2])[0]["u_g"])


def sure_wax_g(loaded: Loaded, coming: Pending) -> float:
    """The wax that is there with a chance of 90 %, pending wax counted, g: what promises are made on."""
    return max(wax_on_hand_g(loaded) + coming.total().low, 0.0)


def sessions_on_comb(loaded: Loaded) -> tuple[RenderedLot, ...]:
    """Finished sessions on comb alone, as many as the forecast and its backtest look back on, newest first."""
    return tuple(
        RenderedLot(**r) for r in loaded.warehouse.ask("sessions_to_forecast_from", [loaded.today, 2 * MEMORY])
    )


def priors(loaded: Loaded) -> Priors:
    """Shipped ranges, the book's own kinds in their place."""
    own = loaded.book.comb_kinds
    shipped_rows = [
        Prior(r["comb"], r["method"] or None, float(r["low"]), float(r["high"]))
        for r in shipped_files.reference("yield_priors")
        if r["comb"] not in own
    ]
    return Priors.of([*shipped_rows, *(Prior(k, None, low, high) for k, (low, high) in own.items())])
