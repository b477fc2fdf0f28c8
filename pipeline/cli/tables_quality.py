"""How suspects and the trend are shown, to people and to other programs."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from pipeline.analyses.control_limits import Chart
from pipeline.analyses.season_changes import NOTICED, Seasons
from pipeline.answers.suspects import Balanced, Fit, Placed, StepBalance
from pipeline.answers.trend import Trend
from pipeline.book.book_folder import Show
from pipeline.cli.tables import Head, drawn, weight
from pipeline.contract.quantities import GRAMS


def suspects(fit: Fit) -> str:
    """The suspects for people, a paragraph each, then steps that went off and leaks."""
    show = fit.loaded.book.show
    parts = [_told(s, show) for s in fit.suspects]
    if not fit.verdict.checkable:
        parts.append(_NOT_CHECKABLE.format(of="this book"))
    elif not parts:
        parts.append("every weight that can be checked fits")
    odd = [o for o in fit.verdict.odd_steps if o.chance >= 0.5]
    parts += [
        f"{o.name}: {_mass(abs(o.lost_g), show)} {'more' if o.lost_g > 0 else 'less'} went missing than usual, "
        "by no single slip"
        for o in odd
    ]
    parts += [leak.sentence for leak in fit.leaks]
    return "\n".join(textwrap.fill(p, 80, subsequent_indent="  ") for p in parts)


_NOT_CHECKABLE = (
    "not checkable: nothing in {of} was weighed twice; weigh what goes into a pass (mass_in) as well as what "
    "was loaded, or the wax before casting (wax_out) as well as the blocks"
)


def _told(s: Placed, show: Show) -> str:
    where = f"{s.log} line {s.line}, {s.column}" if s.line else f"{s.log}, a missing row"
    value = f": {_mass(s.value_g, show)}" if s.value_g is not None else ""
    likely = f", likely {_mass(s.likely_g, show)}" if s.likely_g is not None else ""
    return f"{where}{value}{likely} ({chance(s.chance)}): {s.reason}"


def chance(p: float) -> str:
    """A chance in whole per cent; nothing is certain."""
    return "over 99 %" if p > 0.99 else "under 1 %" if p < 0.01 else f"{100 * p:.0f} %"


def _mass(grams: float, show: Show) -> str:
    """A weight as exactly as it was read, so that a slip can be seen in it."""
    return f"{grams:,.0f} g" if show.mass in ("g", "kg") else weight(grams, show)


def balance(fit: Fit, session: str) -> str:
    """The same for people."""
    show, told = fit.loaded.book.show, fit.balance(session)
    unit = "g" if show.mass in ("g", "kg") else "oz"
    if not told.steps:
        return textwrap.fill(_NOT_CHECKABLE.format(of=f"session {session}"), 80)
    heads = [Head("step", "step"), *(Head(k, f"{w} {unit}", "number") for k, w in _STEP)]
    cells = [Head("name", "weighing"), Head("weighed_g", f"as weighed {unit}", "number"),
             Head("likely_g", f"reconciled {unit}", "number")]  # fmt: skip
    unknown = [w | {"likely_g": "not known"} if w["likely_g"] is None else w for w in _shown(told.weighings, show)]
    return "\n\n".join([
        drawn(_shown(told.steps, show), heads, show, f"session {session}, step by step"),
        drawn(unknown, cells, show, "as weighed, and as all weighings together have it"),
    ])  # fmt: skip


_STEP = (("in_g", "in"), ("out_g", "out"), ("gap_g", "gone"), ("reconciled_gap_g", "gone, reconciled"))


def _shown(rows: Sequence[StepBalance | Balanced], show: Show) -> list[dict[str, Any]]:
    """Masses in the finer unit of the two that go together, so that small gaps can be seen."""
    per, digits = (1.0, None) if show.mass in ("g", "kg") else (GRAMS["oz"], 1)
    return [{k: round(v / per, digits) if isinstance(v, float) else v for k, v in asdict(row).items()} for row in rows]


_SEASONS = [
    Head("season", "season"), Head("yield", "yield", "share"), Head("yield_fixed_mix", "same comb", "share"),
    Head("loss", "refining loss", "share"),
]  # fmt: skip
_CHANGE = [
    Head("from", "from"), Head("to", "to"), Head("total", "yield", "share"), Head("mix", "comb", "share"),
    Head("rate", "rendering", "share"),
]  # fmt: skip
_PARTS = [
    Head("from", "from"), Head("to", "to"), Head("total", "yield", "share"), Head("comb", "comb", "share"),
    Head("method", "method", "share"), Head("rendering", "rendering", "share"),
]  # fmt: skip
_LIMITS = [
    Head("pass", "pass"), Head("method", "method"), Head("since", "since"), Head("n", "n", "number"),
    Head("lower", "low", "share"), Head("centre", "loss", "share"), Head("upper", "high", "share"), Head("state", "limits"),
]  # fmt: skip


def trend(found: Trend, show: Show) -> str:
    """The verdict, the seasons, the changes between them and the limits of the steps, for people."""
    t, charts, data = found.seasons, found.charts, found.in_json()
    changes = data["change"] + ([data["whole"]] if t.whole else [])
    parts = [c | c["parts"] for c in changes if abs(c["parts"]["method"]) > NOTICED]
    told = [
        textwrap.fill(t.verdict, 80), drawn(data["seasons"], _SEASONS, show, "" if t.rows else "seasons"), _slope(t),
        drawn(changes, _CHANGE, show, "what changed, in points of yield") + _borrowed(t),
        drawn(parts, _PARTS, show, "the same with the methods apart") if parts else "",
        _limits_drawn(data["limits"], show), _fired(charts),
    ]  # fmt: skip
    return "\n\n".join(p for p in told if p)


def _borrowed(t: Seasons) -> str:
    """The comb kinds whose yield had to be taken for a season that had none of them."""
    changes = (*t.changes, *([t.whole] if t.whole else []))
    told = [
        f"{c.before}-{c.after} {', '.join(_named(k) for k in c.split.borrowed)}" for c in changes if c.split.borrowed
    ]
    words = f"kinds of one of the two seasons only, their yield taken for both: {'; '.join(told)}"
    return "\n" + textwrap.fill(words, 80) if told else ""


def _named(comb: str | None) -> str:
    return comb or "comb not logged"


def _limits_drawn(limits: list[dict[str, Any]], show: Show) -> str:
    """The limits that there are, and how many kinds of pass wait for theirs."""
    known = [_clipped(c) for c in limits if c["state"] != "none"]
    rest = len(limits) - len(known)
    waiting = (
        f"{rest} {'more ' * bool(known)}kind{'s' * (rest != 1)} of pass, too few (or all alike) for limits"
        if rest
        else ""
    )
    table = drawn(known, _LIMITS, show, "loss of single passes, with its usual limits") if known else ""
    return "\n".join(p for p in (table, waiting) if p)


def _clipped(row: dict[str, Any]) -> dict[str, Any]:
    """Limits as they can be drawn: no loss is below nothing or above all."""
    kind = f"{row['stage']}, {_named(row['comb'])}" if row["stage"] == "first" else row["stage"]
    within = {k: row[k] and min(max(row[k], 0.0), 1.0) for k in ("lower", "upper")}
    return row | within | {"pass": kind, "since": row["since"] and f"{row['since']:%Y-%m}"}


def _fired(charts: Sequence[Chart]) -> str:
    """The latest steps at which a rule fired, a line each, and how many there are in all."""
    fired = sorted((s for c in charts for s in c.signals), key=lambda s: (s.date, s.session, s.number, s.rule))
    more = f"{len(fired)} times a rule fired; the latest {_LINES} (--json has all):\n" if len(fired) > _LINES else ""
    return more + "\n".join(
        f"{s.date} {s.grade}: session {s.session} pass {s.number}, rule {s.rule} ({RULES[s.rule]})"
        for s in fired[-_LINES:]
    )


_LINES = 12
RULES = {
    1: "one beyond three sigma",
    2: "two of three beyond two sigma",
    3: "four of five beyond one sigma",
    4: "eight in a row on one side",
}
"""The Western Electric rules in words."""


def _points(share: float) -> str:
    """Points with their sign; what rounds to nothing has none."""
    return f"{100 * share:+.1f}" if abs(share) >= 0.0005 else "0.0"


def _slope(t: Seasons) -> str:
    if t.slope is None:
        return "fewer than three seasons: no slope yet"
    p = (
        "too few seasons for a p value"
        if t.slope.p is None
        else f"p {t.slope.p:.2g} (Mann-Kendall{', exact' * bool(t.slope.exact)})"
    )
    low, high = t.slope.low, t.slope.high
    between = "" if low is None or high is None else f" ({_points(low)} to {_points(high)})"
    return textwrap.fill(
        f"at the same comb: {_points(t.slope.per_season)} points a season{between}, {p}; least squares "
        f"{_points(t.least_squares.per_season if t.least_squares else 0.0)}", 80,
    )  # fmt: skip
