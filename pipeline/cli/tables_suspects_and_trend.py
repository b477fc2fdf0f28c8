"""How suspects and the trend are shown on a terminal."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from pipeline.analyses.control_limits import Chart
from pipeline.analyses.seasons_at_fixed_mix import NOTICED, Seasons
from pipeline.answers.suspects import Fit
from pipeline.answers.trend import Trend
from pipeline.cli.tables import Head, drawn, paragraph
from pipeline.wording import season_and_loss_sentences, suspect_sentences
from pipeline.wording.amounts import Units


def suspects(fit: Fit, units: Units) -> str:
    """The suspects for people, a paragraph each, then steps that went off."""
    return "\n".join(map(paragraph, suspect_sentences.each(fit, units)))


_STEP = [
    Head("step", "step"), Head("in_g", "in", "reading"), Head("out_g", "out", "reading"), Head("gap_g", "missing", "reading"),
    Head("reconciled_gap_g", "missing, reconciled", "reading"),
]  # fmt: skip
_WEIGHING = [
    Head("name", "weighing"), Head("weighed_g", "as weighed", "reading"), Head("likely_g", "reconciled", "reading"),
]  # fmt: skip


def balance(fit: Fit, session: str, units: Units) -> str:
    """One session's steps and weighings, as weighed and as reconciled."""
    told = fit.balance(session)
    if not told.steps:
        return paragraph(suspect_sentences.not_checkable(f"session {session}"), "")
    return "\n\n".join([
        drawn(map(asdict, told.steps), _STEP, units, f"session {session}, step by step"),
        drawn(map(asdict, told.weighings), _WEIGHING, units, "as weighed, and as all weighings together have it"),
    ])  # fmt: skip


_SEASONS = [
    Head("season", "season"), Head("yield", "yield", "share"), Head("yield_fixed_mix", "same comb", "share"),
    Head("loss", "refining loss", "share"),
]  # fmt: skip
_CHANGE = [
    Head("from", "from"), Head("to", "to"), Head("total", "yield", "points"), Head("mix", "by comb", "points"),
    Head("rate", "by rendering", "points"),
]  # fmt: skip
_PARTS = [
    Head("from", "from"), Head("to", "to"), Head("total", "yield", "points"), Head("comb", "by comb", "points"),
    Head("method", "by method", "points"), Head("rendering", "by rendering", "points"),
]  # fmt: skip
_LIMITS = [
    Head("pass", "kind of pass"), Head("method", "method"), Head("since", "since"), Head("n", "passes", "number"),
    Head("lower", "low", "share"), Head("centre", "loss", "share"), Head("upper", "high", "share"), Head("state", "limits"),
]  # fmt: skip


def trend(found: Trend, units: Units) -> str:
    """The verdict, the seasons, the changes between them and the limits of the steps, for people."""
    t, charts, data = found.seasons, found.charts, found.in_json()
    changes = data["change"] + ([data["whole"]] if t.whole else [])
    parts = [c | c["parts"] for c in changes if abs(c["parts"]["method"]) > NOTICED]
    told = [
        paragraph(season_and_loss_sentences.verdict(t, units), ""), _claimed(found),
        drawn(data["seasons"], _SEASONS, units, "" if t.rows else "seasons") + _lent(t), _slope(t, units),
        drawn(changes, _CHANGE, units, "what changed, in points of yield") + _borrowed(t),
        drawn(parts, _PARTS, units, "the same with the methods apart") if parts else "",
        _limits_drawn(data["limits"], units), _fired(charts, units),
    ]  # fmt: skip
    return "\n\n".join(p for p in told if p)


def _claimed(found: Trend) -> str:
    """All that is claimed; else that nothing is."""
    return "\n".join(map(paragraph, found.told() or (season_and_loss_sentences.NO_CLAIM,)))


def _lent(t: Seasons) -> str:
    """Whose yield the column of the same comb had to borrow."""
    told = season_and_loss_sentences.borrowed([(r.season, r.borrowed) for r in t.rows])
    return "\n" + paragraph(told, "") if told else ""


def _borrowed(t: Seasons) -> str:
    """The comb kinds whose yield had to be taken for a season that had none of them."""
    changes = (*t.changes, *([t.whole] if t.whole else []))
    told = [
        f"{c.before}-{c.after} {', '.join(_named(k) for k in c.split.borrowed)}" for c in changes if c.split.borrowed
    ]
    words = f"kinds of one of the two seasons only, their yield taken for both: {'; '.join(told)}"
    return "\n" + paragraph(words) if told else ""


def _named(comb: str | None) -> str:
    return comb or "comb not logged"


def _limits_drawn(limits: list[dict[str, Any]], units: Units) -> str:
    """The limits that there are, and how many kinds of pass wait for theirs."""
    known = [_clipped(c) for c in limits if c["state"] != "none"]
    rest = len(limits) - len(known)
    waiting = (
        f"{rest} {'more ' * bool(known)}kind{'s' * (rest != 1)} of pass, too few (or all alike) for limits"
        if rest
        else ""
    )
    table = (
        drawn(known, _LIMITS, units, "loss of single passes, and the limits it usually stays within") if known else ""
    )
    return "\n".join(p for p in (table, waiting) if p)


def _clipped(row: dict[str, Any]) -> dict[str, Any]:
    """Limits as they can be drawn: no loss is below nothing or above all."""
    kind = f"{row['stage']}, {_named(row['comb'])}" if row["stage"] == "first" else row["stage"]
    within = {k: row[k] and min(max(row[k], 0.0), 1.0) for k in ("lower", "upper")}
    return row | within | {"pass": kind, "since": row["since"] and f"{row['since']:%Y-%m}"}


def _fired(charts: Sequence[Chart], units: Units) -> str:
    """The latest passes at which a rule fired, a line each, and how many there are in all."""
    fired = sorted((s for c in charts for s in c.signals), key=lambda s: (s.date, s.session, s.number, s.rule))
    more = f"; the latest {_LINES} of {len(fired)} (--json has all)" if len(fired) > _LINES else ""
    head = paragraph(f"drawn apart in the charts, as some of many passes are by chance{more}:", "") + "\n"
    return (head if fired else "") + "\n".join(
        f"{units.day(s.date)}, session {s.session} pass {s.number}: {RULES[s.rule]}" for s in fired[-_LINES:]
    )


_LINES = 12
RULES = {
    1: "outside its limits",
    2: "the second of three far to one side",
    3: "the fourth of five to one side",
    4: "the eighth in a row on one side",
}
"""The four rules (Western Electric) in words."""


def _slope(t: Seasons, units: Units) -> str:
    if t.slope is None:
        return "fewer than three seasons: no slope yet"
    exact = ", exact" * bool(t.slope.exact)
    p = "too few seasons to test it" if t.slope.p is None else f"p = {t.slope.p:.2g} (Mann-Kendall{exact})"
    low, high = t.slope.low, t.slope.high
    ends = (units.points(low, signed=True), units.points(high, signed=True))
    between = "" if low is None or high is None else f" ({ends[0]} to {ends[1]})"
    pace = units.points(t.slope.per_season, signed=True)
    return paragraph(f"at the same mix of comb: {pace} points a season{between}; {p}", "")
