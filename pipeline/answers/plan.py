"""Does the wax cover the planned batches, and what would mend it?"""

from __future__ import annotations

from dataclasses import asdict, dataclass, fields

from pipeline.analyses import batch_plan
from pipeline.analyses.batch_plan import Plan, Planned
from pipeline.analyses.pending_wax import Pending
from pipeline.analyses.shortage_remedies import Mends, mends
from pipeline.answers.candle_kinds import candle_kinds
from pipeline.answers.market import on_shelf
from pipeline.answers.wax_to_come import wax_on_hand_g, wax_to_come, wax_u_g
from pipeline.contract import log_columns
from pipeline.flow import Loaded
from pipeline.wording import forecast_doubt_sentences
from pipeline.wording.amounts import PLAIN, Units
from pipeline.wording.forecast_doubt_sentences import batch_note


@dataclass(frozen=True, slots=True)
class PlanAnswer:
    """The forecast over planned batches, what would mend it, and the wax that it rests on (g)."""

    plan: Plan
    mends: Mends
    wax_g: float
    coming: Pending
    on_shelf: dict[str, int]
    """Candles made and not sold, by kind."""
    units: Units = PLAIN
    """Those in which its notes are told."""

    def in_json(self) -> dict[str, object]:
        """For other programs: the plan's fields, and the mends."""
        told = {f.name: getattr(self.plan, f.name) for f in fields(self.plan)}
        notes = [forecast_doubt_sentences.sentence(note, self.units) for note in told.pop("notes")]
        told["batches"] = [
            asdict(b) | {"on_shelf": self.on_shelf.get(b.candle, 0), "note": batch_note(b, self.units) or None}
            for b in self.plan.batches
        ]
        return told | {"mends": self.mends, "notes": notes}


def methods(loaded: Loaded) -> tuple[str, ...]:
    """The methods that there are: those that everybody knows and the book's own."""
    return (*log_columns.METHODS, *loaded.book.methods)


def plan(loaded: Loaded, method: str | None = None, coming: Pending | None = None) -> PlanAnswer:
    """The plan; ``method``: how comb is melted whose harvest names none; ``coming``: the wax to come, where known already."""
    coming = coming or wax_to_come(loaded, method)
    each = {c.candle: c.wax_each_g for c in candle_kinds(loaded)}
    rows = loaded.warehouse.rows("SELECT * FROM batches WHERE status = 'planned' ORDER BY row")
    batches = [Planned(r["batch"], r["date"], r["candle"], r["count"], each.get(r["candle"])) for r in rows]
    wax_g = wax_on_hand_g(loaded)
    told = batch_plan.plan(wax_g, batches, coming, loaded.today, wax_u_g(loaded))
    return PlanAnswer(told, mends(told, coming), wax_g, coming, on_shelf(loaded.warehouse), Units.of(loaded.book))
