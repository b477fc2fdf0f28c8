"""What the wax will make: the tables of a loaded book handed to the analyses of candles, forecast, plan and mix."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import Any

from pipeline.analyses import candle_mass
from pipeline.analyses.backtest import Backtest, backtest
from pipeline.analyses.batch_plan import Plan, Planned, plan
from pipeline.analyses.candle_capacity import Candle, Capacity, Costs, capacities, kinds_for
from pipeline.analyses.candle_mix import Mix, Unfit, Wishes, best_mix
from pipeline.analyses.pending_wax import Lot, Pending, expected, refining_yield
from pipeline.analyses.pour_sheet import Block, Pour, PourSheet, Workshop, sheet
from pipeline.analyses.pour_steps import Place
from pipeline.analyses.remedies import Mends, mends
from pipeline.analyses.yield_model import MEMORY, Rendered
from pipeline.analyses.yield_priors import Prior, Priors
from pipeline.book.book_folder import Book
from pipeline.contract import shipped_files
from pipeline.database.connection import Warehouse
from pipeline.flow import Loaded

Row = dict[str, Any]


@dataclass(frozen=True, eq=False)
class Outlook:
    """A book seen ahead from its ``today``; every figure is worked out once, when it is first asked for."""

    book: Book
    today: date
    warehouse: Warehouse

    @cached_property
    def candles(self) -> tuple[Candle, ...]:
        """The kinds of candle, in the order of their log."""
        step_g = self.book.scale("candles").step_g
        return tuple(_candle(row, step_g) for row in self.warehouse.ask("candle_kinds"))

    @cached_property
    def batches(self) -> tuple[str, ...]:
        """The names of all batches, in the order of their log."""
        return tuple(r["batch"] for r in self.warehouse.rows("SELECT batch FROM batches ORDER BY row"))

    @cached_property
    def costs(self) -> Costs:
        """What materials and work cost."""
        per_kg = {item: cost for item, cost in self.book.costs.items() if item != "hour"}
        return Costs(per_kg, self.book.costs.get("hour"))

    @cached_property
    def wax_g(self) -> float:
        """Pure wax on hand."""
        return float(self.warehouse.rows("SELECT total_g FROM stock_total")[0]["total_g"])

    @cached_property
    def sessions(self) -> tuple[Rendered, ...]:
        """Finished sessions on comb alone, as many as the forecast and its backtest look back on, newest first."""
        return tuple(
            Rendered(r["session"], r["date"], r["comb"], r["method"], float(r["loaded_g"]), float(r["wax_g"]))
            for r in self.warehouse.ask("sessions_on_comb", [self.today, 2 * MEMORY])
        )

    @cached_property
    def priors(self) -> Priors:
        """Shipped ranges, the book's own kinds in their place."""
        own = self.book.comb_kinds
        shipped_rows = [
            Prior(r["comb"], r["method"] or None, float(r["low"]), float(r["high"]))
            for r in shipped_files.reference("yield_priors")
            if r["comb"] not in own
        ]
        return Priors.of([*shipped_rows, *(Prior(k, None, low, high) for k, (low, high) in own.items())])

    @cached_property
    def pending(self) -> Pending:
        """Wax still to come."""
        comb = self.warehouse.ask("comb_waiting")
        aside = self.warehouse.rows("SELECT session, mass_g FROM stock_set_aside ORDER BY session")
        lots = [Lot(f"harvest {r['harvest']}", r["comb"], r["mass_g"], r["wax_expected"]) for r in comb]
        lots += [Lot(f"session {r['session']}", None, float(r["mass_g"])) for r in aside]
        refined = self.warehouse.ask("refined", [self.today])[0]
        usual = refining_yield(float(refined["in_g"]), float(refined["wax_g"]))
        return expected(lots, self.sessions, self.priors, usual, self.today)

    @cached_property
    def capacity(self) -> tuple[Capacity, ...]:
        """How many of each kind."""
        return capacities(self.candles, self.wax_g, self.pending, self.costs)

    @cached_property
    def plan(self) -> Plan:
        """The forecast over planned batches."""
        each = {c.candle: c.wax_each_g for c in self.candles}
        rows = self.warehouse.rows("SELECT * FROM batches WHERE status = 'planned' ORDER BY row")
        batches = [Planned(r["batch"], r["date"], r["candle"], r["count"], each.get(r["candle"])) for r in rows]
        return plan(self.wax_g, batches, self.pending, self.today)

    @cached_property
    def mends(self) -> Mends:
        """What would mend a plan that falls short."""
        return mends(self.plan, self.pending)

    @cached_property
    def backtest(self) -> Backtest:
        """How past forecasts would have done."""
        return backtest(self.sessions, self.priors)

    @cached_property
    def sure_wax_g(self) -> float:
        """The wax that is there in nine cases of ten, pending wax counted: what promises are made on."""
        return max(self.wax_g + self.pending.total().low, 0.0)

    def mix(self, aim: str, wishes: Wishes, wax_g: float | None = None) -> Mix | Unfit:
        """The best mix for an aim, of the sure wax where no other mass is given."""
        wax = self.sure_wax_g if wax_g is None else wax_g
        return best_mix(kinds_for(self.candles, aim, self.costs), wax, wishes)

    def pour(self, batch: str, light: bool = False) -> PourSheet | None:
        """The sheet for a batch; None where there is no such batch."""
        rows = self.warehouse.rows("SELECT * FROM batches ORDER BY row")
        known = {c.candle: c for c in self.candles}
        pours = [
            Pour(r["batch"], r["date"], r["count"], r["status"], known[r["candle"]])
            for r in rows
            if r["candle"] in known
        ]
        this = next((p for p in pours if p.batch == batch), None)
        if this is None:
            return None
        others = [p for p in pours if p.date == this.date and p is not this and p.status == "planned"]
        shelf = [
            Block(r["block"], r["date"], float(r["mass_g"]), r["colour"]) for r in self.warehouse.ask("blocks_to_pour")
        ]
        return sheet(this, others, shelf, self._workshop(this.candle.candle, light))

    def _workshop(self, candle: str, light: bool) -> Workshop:
        find = "SELECT height_mm FROM candles WHERE candle = ?"
        show, height = self.book.show, self.warehouse.rows(find, [candle])[0]["height_mm"]
        place = Place(show.temperature, show.length, height)
        return Workshop(place, self.book.densities, self.book.scale("draws").step_g, light)


def view(loaded: Loaded) -> Outlook:
    """The outlook of a loaded book."""
    return Outlook(loaded.book, loaded.today, loaded.warehouse)


def _candle(r: Row, step_g: float) -> Candle:
    return Candle(
        candle=r["candle"],
        form=r["form"],
        fill_g=_number(r["fill_g"]),
        wax_each_g=_number(r["wax_each_g"]),
        wax_share=(r["wax_pct"] or 0.0) / 100,
        oil=r["oil"],
        oil_share=(r["oil_pct"] or 0.0) / 100,
        scent=r["scent"],
        scent_share=(r["scent_pct"] or 0.0) / 100,
        price=_number(r["price"]),
        other_cost=float(r["other_cost"] or 0),
        work_min=r["work_time_min"] or 0.0,
        per_pour=r["per_pour"] or 1,
        wick=r["wick"],
        sureness=_sureness(r, step_g),
    )


def _number(value: Any) -> float | None:
    return None if value is None else float(value)


def _sureness(r: Row, step_g: float) -> candle_mass.Sureness | None:
    """By the best measurement that the candle has: its mass, else its volume, else its lengths."""
    if r["fill_mass_g"] is not None:
        return candle_mass.weighed(step_g)
    if r["fill_g"] is None or r["g_per_ml"] is None:
        return None
    if r["fill_volume_ml"] is not None:
        return candle_mass.from_volume(r["fill_g"], r["g_per_ml"])
    vessel = candle_mass.Vessel(r["diameter_mm"], r["height_mm"], r["top_diameter_mm"], r["headspace_mm"] or 0.0)
    return candle_mass.from_vessel(vessel, r["fill_g"], r["g_per_ml"])
