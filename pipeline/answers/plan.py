"""Does the wax cover the planned batches, and what would mend it?"""

from __future__ import annotations

from dataclasses import asdict, dataclass, fields

from pipeline.analyses import batch_plan
from pipeline.analyses.batch_plan import Plan, Planned
from pipeline.analyses.pending_wax import Pending
from pipeline.analyses.remedies import Mends, mends
from pipeline.answers.candle_kinds import candle_kinds
from pipeline.answers.market import on_shelf
from pipeline.answers.wax_to_come import wax_on_hand_g, wax_to_come
from pipeline.flow import Loaded


@dataclass(frozen=True, slots=True)
class PlanAnswer:
    """The forecast over planned batches, what would mend it, and the wax that it rests on (g)."""

    plan: Plan
    mends: Mends
    wax_g: float
    coming: Pending
    on_shelf: dict[str, int]
    """Candles made and not sold, by kind."""

    def in_json(self) -> dict[str, object]:
        """For other programs: the plan's fields, and the mends."""
        told = {f.name: getattr(self.plan, f.name) for f in fields(self.plan)}
        notes = told.pop("notes")
        told["batches"] = [asdict(b) | {"on_shelf": self.on_shelf.get(b.candle, 0)} for b in self.plan.batches]
        return told | {"mends": self.mends, "notes": notes}


def plan(loaded: Loaded, coming: Pending | None = None) -> PlanAnswer:
    """The plan; ``coming``: the wax to come, where the caller has it already."""
    coming = coming or wax_to_come(loaded)
    each = {c.candle: c.wax_each_g for c in candle_kinds(loaded)}
    rows = loaded.warehouse.rows("SELECT * FROM batches WHERE status = 'planned' ORDER BY row")
    batches = [Planned(r["batch"], r["date"], r["candle"], r["count"], each.get(r["candle"])) for r in rows]
    wax_g = wax_on_hand_g(loaded)
    told = batch_plan.plan(wax_g, batches, coming, loaded.today)
    return PlanAnswer(told, mends(told, coming), wax_g, coming, on_shelf(loaded.warehouse))
