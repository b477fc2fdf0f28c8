"""What a forecast rests on and leaves open, said in the book's units."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Final

from pipeline.analyses.batch_plan import BatchForecast
from pipeline.analyses.forecast_doubts import Doubt
from pipeline.contract import shipped_files
from pipeline.wording.amounts import Units
from pipeline.wording.visible_text import listed, visible

_Values = Mapping[str, Any]


def sentence(doubt: Doubt, units: Units) -> str:
    """One doubt in a clause, without a capital and a full stop."""
    return _SAYS[doubt.what](doubt.values, units)


def batch_note(batch: BatchForecast, units: Units) -> str:
    """What is to be said of one batch beside its figures; empty where nothing is."""
    late = [f"was planned for {units.day(batch.planned)}, due today"] if batch.planned < batch.date else []
    return "; ".join(late + (["the wax in this candle cannot be worked out"] if batch.wax_g is None else []))


def usual_refining_loss(units: Units) -> str:
    """What refining usually loses, by the published figure: ``1 to 6 %``."""
    found = next(r for r in shipped_files.reference("candle_practice") if r["practice"] == "refining_loss")
    return f"{units.share_cell(float(found['low']), 0)} to {units.share(float(found['high']), 0)}"


def _own_frames(v: _Values, units: Units) -> str:
    harvests = units.plural(v["harvests"], "harvest")
    return f"{v['comb']} counted in frames, not weighed: {units.about(v['each_g'])} a frame, by {harvests} of this book"


def _judged_frames(v: _Values, units: Units) -> str:
    between = f"{units.about(v['low_g'])} to {units.about(v['high_g'])} a frame"
    return (
        f"{v['comb']} counted in frames, not weighed: {between}, a judged range: weigh one harvest of it to narrow that"
    )


def _open_ways(v: _Values, units: Units) -> str:
    ways = listed([f"{visible(method)} ({units.number(n)})" if n else visible(method) for method, n in v["ways"]])
    return f"how {v['comb']} will be melted is not said, so it was drawn among {ways}; name the method to narrow the forecast"


def _no_ready_date(v: _Values, units: Units) -> str:
    return f"no ready date for {listed(list(map(visible, v['sources'])))}: counted as there on {units.day(v['on'])}"


def _lost(v: _Values, units: Units) -> str:
    return f"{units.number(v['lost'])} of {units.plural(v['sessions'], 'session')} lost all their wax: that chance is counted in"


_SAYS: Final[dict[str, Callable[[_Values, Units], str]]] = {
    "nothing waits": lambda _v, _u: "no comb is pending and no wax is set aside: the ledger alone speaks",
    "judged ranges": lambda _v, _u: "no session has been rendered yet: the forecast rests on judged ranges alone",
    "unknown comb": lambda v, _u: f"no range is known for {visible(v['comb'])}: the widest stands in for it",
    "own frames": _own_frames,
    "judged frames": _judged_frames,
    "open ways": _open_ways,
    "no ready date": _no_ready_date,
    "judged refining": lambda _v, units: (
        f"no session has refined wax alone yet: wax set aside is counted at a loss of {usual_refining_loss(units)}, as is usual"
    ),
    "lost all": _lost,
    "below nothing": lambda v, units: (
        f"the shelf stands at {units.mass(v['stock_g'])}, below nothing: look through the ledger before planning"
    ),
    "nothing planned": lambda _v, _u: "no batch is planned",
}
