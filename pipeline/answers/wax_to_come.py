"""How much wax is there, and how much is still to come from comb that waits and wax set aside?"""

from __future__ import annotations

from pipeline.analyses.pending_wax import Lot, Pending, expected, refining_yield
from pipeline.analyses.yield_model import MEMORY, Rendered
from pipeline.analyses.yield_priors import Prior, Priors
from pipeline.contract import shipped_files
from pipeline.flow import Loaded


def wax_to_come(loaded: Loaded) -> Pending:
    """Pending wax of every lot, drawn together."""
    warehouse = loaded.warehouse
    comb = warehouse.ask("comb_waiting")
    aside = warehouse.rows("SELECT session, mass_g FROM stock_set_aside ORDER BY session")
    lots = [Lot(f"harvest {r['harvest']}", r["comb"], r["mass_g"], r["wax_expected"]) for r in comb]
    lots += [Lot(f"session {r['session']}", None, float(r["mass_g"])) for r in aside]
    refined = warehouse.ask("refined", [loaded.today])[0]
    usual = refining_yield(float(refined["in_g"]), float(refined["wax_g"]))
    return expected(lots, sessions_on_comb(loaded), priors(loaded), usual, loaded.today)


def wax_on_hand_g(loaded: Loaded) -> float:
    """Pure wax on the shelf, g."""
    return float(loaded.warehouse.rows("SELECT total_g FROM stock_total")[0]["total_g"])


def sure_wax_g(loaded: Loaded, coming: Pending) -> float:
    """The wax that is there in nine cases of ten, pending wax counted, g: what promises are made on."""
    return max(wax_on_hand_g(loaded) + coming.total().low, 0.0)


def sessions_on_comb(loaded: Loaded) -> tuple[Rendered, ...]:
    """Finished sessions on comb alone, as many as the forecast and its backtest look back on, newest first."""
    return tuple(
        Rendered(r["session"], r["date"], r["comb"], r["method"], float(r["loaded_g"]), float(r["wax_g"]))
        for r in loaded.warehouse.ask("sessions_on_comb", [loaded.today, 2 * MEMORY])
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
