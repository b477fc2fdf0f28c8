"""How the figures that look ahead are shown on a terminal."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict

from pipeline.analyses.backtest import Backtest
from pipeline.answers.capacity import Capacities
from pipeline.answers.mix import MixAnswer
from pipeline.answers.plan import PlanAnswer
from pipeline.cli.tables import Head, drawn, paragraph
from pipeline.wording import plan_sentences
from pipeline.wording.amounts import Units
from pipeline.wording.forecast_doubt_sentences import batch_note, sentence


def _said(parts: Iterable[str]) -> str:
    return "\n\n".join(p for p in parts if p)


def _notes(notes: Iterable[str]) -> str:
    return "\n".join(paragraph(f"note: {n}") for n in notes)


_CAPACITY = [
    Head("candle", "candle"), Head("wax_each_g", "wax each", "each"), Head("now", "now", "number"),
    Head("low", "low", "number"), Head("mid", "middle", "number"), Head("high", "high", "number"),
    Head("cost_each", "cost", "money"), Head("margin_each", "margin", "money"),
]  # fmt: skip


def capacity(found: Capacities, units: Units) -> str:
    """How many of each kind, each row for all the wax, with cost and margin of one."""
    notes = [*(sentence(n, units) for n in found.coming.notes), *plan_sentences.unpriced(found.unpriced)]
    notes += [f"{c.candle}: {c.note}" for c in found.rows if c.note]
    head = paragraph(plan_sentences.wax_there(found.wax_g, found.coming, units), "")
    return _said([
        f"{head}\n{plan_sentences.CAPACITY_COLUMNS}", drawn(map(asdict, found.rows), _CAPACITY, units), _notes(notes)
    ])  # fmt: skip


_PLAN = [
    Head("date", "due", "day"), Head("batch", "batch"), Head("candle", "candle"), Head("count", "count", "number"),
    Head("wax_g", "wax", "mass"), Head("covered", "covered", "number"), Head("chance", "chance %", "number"),
    Head("made", "made", "number"),
]  # fmt: skip
_ON_HAND = [
    Head("date", "end of", "day"), Head("low_g", "low", "mass"), Head("mid_g", "middle", "mass"), Head("high_g", "high", "mass")
]  # fmt: skip


def plan(found: PlanAnswer, units: Units) -> str:
    """The batches with their chances, the first short day, what would mend it."""
    told = found.plan
    rows = [
        asdict(b) | {"made": found.on_shelf.get(b.candle, 0), "chance": plan_sentences.chance_cell(b, units)}
        for b in told.batches
    ]
    notes = [sentence(n, units) for n in told.notes]
    notes += [f"{b.batch} {note}" for b in told.batches if (note := batch_note(b, units))]
    return _said([
        drawn(rows, _PLAN, units, "" if rows else "planned batches"),
        plan_sentences.PLAN_COLUMNS if rows else "",
        "\n".join(paragraph(line, " " * (len(line) - len(line.lstrip()) + 3)) for line in plan_sentences.ways(found, units)),
        drawn(map(asdict, told.on_hand), _ON_HAND, units, plan_sentences.AHEAD), _notes(notes),
    ])  # fmt: skip


def mix(found: MixAnswer, units: Units) -> str:
    """The mix for people."""
    rows = [
        {"candle": c.candle, "count": c.count, "wax_g": c.count * found.each_g[c.candle]} for c in found.mix.candles
    ]
    heads = [Head("candle", "candle"), Head("count", "count", "number"), Head("wax_g", "wax", "mass")]
    return _said([
        drawn(rows, heads, units), paragraph(plan_sentences.mix(found, units)), _notes(plan_sentences.mix_notes(found))
    ])  # fmt: skip


_BACKTEST = [
    Head("date", "date", "day"), Head("session", "session"), Head("comb", "comb"), Head("low", "low", "share"),
    Head("mid", "middle", "share"), Head("high", "high", "share"), Head("came", "actual", "share"), Head("inside", ""),
]  # fmt: skip


def backtest(told: Backtest, units: Units) -> str:
    """Each session's forecast and what it gave, then the verdict."""
    rows = [asdict(h) | {"inside": "" if h.inside else "outside"} for h in told.sessions]
    return _said([
        drawn(rows, _BACKTEST, units, "" if rows else "forecasts"), paragraph(plan_sentences.backtest(told, units), ""),
        paragraph(plan_sentences.score(told), ""),
    ])  # fmt: skip
