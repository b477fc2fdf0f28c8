"""What the trend claims, in sentences: the only words in which terminal, page and JSON say that something changed."""

from __future__ import annotations

from pipeline.analyses.filters_keeping_wax import Leak
from pipeline.analyses.last_season_against_earlier import Shift
from pipeline.analyses.season_slope import FittedLine
from pipeline.analyses.trend_claims import Claim, Outlying
from pipeline.wording.amounts import Units

NAMED = 3
"""Passes named one by one; the rest are counted."""


def text(claim: Claim, units: Units) -> str:
    """One claim as a sentence."""
    facts = claim.facts
    if isinstance(facts, Shift):
        return _refining(facts, units) if claim.kind == "refining" else _season(facts, units)
    if isinstance(facts, FittedLine):
        return _slope(facts, units)
    return _limit(facts, units) if isinstance(facts, Outlying) else _leak(facts, units)


def _season(s: Shift, units: Units) -> str:
    return (
        f"At the same comb and methods season {s.season} gave {_points(s, units)} "
        f"{'more' if s.share > 0 else 'less'} than the seasons before it: beyond what sessions differ by themselves."
    )


def _refining(s: Shift, units: Units) -> str:
    return (
        f"Refining lost {_points(s, units)} {'more' if s.share > 0 else 'less'} in season {s.season} than before: "
        "beyond what passes differ by themselves."
    )


def _points(s: Shift, units: Units) -> str:
    low, high = sorted((abs(s.low), abs(s.high)))
    between = f" (between {units.points(low)} and {units.points(high)})" if s.low * s.high > 0 else ""
    return f"{units.points(abs(s.share))} points{between}"


def _slope(line: FittedLine, units: Units) -> str:
    way = "rose" if line.per_season > 0 else "fell"
    return (
        f"At the same mix of comb yields {way} by {units.points(abs(line.per_season))} points a season, beyond chance."
    )


def _limit(found: Outlying, units: Units) -> str:
    chart = found.chart
    kind = f"{chart.method}, {'first melt' if chart.stage == 'first' else 'refining'}"
    kind += f", {chart.comb}" if chart.comb else ""
    passes = [f"session {s.session}, pass {s.number} ({units.share(s.loss or 0.0)})" for s in found.passes[:NAMED]]
    more = f" and {len(found.passes) - NAMED} more" if len(found.passes) > NAMED else ""
    return (
        f"Beyond what passes of its kind lose ({kind}, about {units.share(chart.centre or 0.0)}): "
        f"{'; '.join(passes)}{more}. Look at what was done differently there."
    )


def _leak(leak: Leak, units: Units) -> str:
    through = f"through {leak.filter}" if leak.filter else "without a filter named"
    return (
        f"Refining {through} ({leak.method}) leaves {units.share(leak.share)} of the wax unaccounted for, other refining "
        f"{units.share(leak.share_of_others)}: look at what keeps it there."
    )
