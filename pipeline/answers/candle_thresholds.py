"""The judgements about burns, flaws and markets, each once in ``data/reference/candle_thresholds.csv``."""

from __future__ import annotations

from pipeline.analyses.burn_verdicts import BurnLimits
from pipeline.contract import shipped_files


def thresholds() -> dict[str, float]:
    """Every threshold by name, in the unit of its row."""
    return {r["threshold"]: float(r["value"]) for r in shipped_files.reference("candle_thresholds")}


def burn_limits() -> BurnLimits:
    """Those by which a burn is read."""
    known = thresholds()
    names = ("pool_share", "pool_hours", "pool_depth", "flame_height", "rim_low", "rim_high")
    return BurnLimits(*(known[name] for name in names))
