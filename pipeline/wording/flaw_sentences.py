"""What went wrong in pours, why, and whether the book's own record agrees, in words."""

from __future__ import annotations

import textwrap

from pipeline.analyses.flaw_evidence import Evidence
from pipeline.answers.flaws import Flaw, FlawsAnswer
from pipeline.wording.amounts import Units
from pipeline.wording.visible_text import visible


def answer(found: FlawsAnswer, units: Units) -> str:
    """The whole answer for a terminal."""
    if not found.flaws:
        return f"No flaw is logged in {units.plural(found.poured, 'poured batch', 'poured batches')}."
    parts = ["\n".join(_flaw(f, found, units)) for f in found.flaws]
    return "\n\n".join([head(found, units), *parts, *_notes(found)])


def head(found: FlawsAnswer, units: Units) -> str:
    """How many pours had what, and how the book's record was asked."""
    told = ", ".join(f"{f.flaw} {units.number(f.batches)}" for f in found.flaws)
    return textwrap.fill(f"Flaws in {units.plural(found.poured, 'poured batch', 'poured batches')}: {told}.", 80)


def _flaw(f: Flaw, found: FlawsAnswer, units: Units) -> list[str]:
    lines = [f"{f.flaw} ({units.plural(f.batches, 'batch', 'batches')})", f"likely: {f.cause}", f"change: {f.change}"]
    wrapped = [
        textwrap.fill(line, 80, subsequent_indent="    ", initial_indent="  " if n else "")
        for n, line in enumerate(lines)
    ]
    own = evidence(f.evidence, found.level, units)
    return [*wrapped, textwrap.fill(f"own record: {own}", 80, initial_indent="  ", subsequent_indent="    ")]


def evidence(e: Evidence | None, level: float, units: Units) -> str:
    """What the book's own pours say of the factor that parts them best."""
    if e is None:
        return "too few pours on either side of any cut to say"
    (a, n), (b, m) = e.with_, e.without
    counts = f"{a} of {units.plural(n, 'pour')} with “{e.factor}”, {b} of {m} without"
    if e.p < level:
        return f"{counts}: more than chance would give (p {e.p:.2g} after counting all that was tried)"
    return f"{counts}: no more than chance may give"


def _notes(found: FlawsAnswer) -> list[str]:
    tried = "Several flaws were set against several causes: each p is raised for that (Holm), so that chance alone names none."
    free = "; ".join(f"{visible(batch)} “{visible(words)}”" for batch, words in found.free)
    told = [tried, f"note: these words are none of the flaws known here and count as other: {free}" if free else ""]
    return [textwrap.fill(t, 80, subsequent_indent="  ") for t in told if t]
