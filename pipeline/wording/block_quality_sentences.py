"""The quality of a block in words: against which published range it was held, and that this is no verdict."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from pipeline.answers.block_quality import Measured, Quality
from pipeline.wording.amounts import Units
from pipeline.wording.visible_text import listed, visible

NAMES = {
    "melting_point": "melting point", "acid_value": "acid value", "ester_value": "ester value",
    "saponification_value": "saponification value (acid + ester)",
}  # fmt: skip
NO_VERDICT = (
    "Genuine wax can miss a limit: a figure outside a range is a reason to measure again, no proof of anything."
)


def quality(found: Quality, units: Units) -> Iterator[str]:
    """A block's figures, one on a line."""
    if found.colour:
        yield f"  {units.spelled('colour')}: {visible(found.colour)}"
    if found.passes:
        hottest = f", the hottest {units.temperature(found.hottest_c)}" if found.hottest_c is not None else ""
        longest = f", the longest {units.time(found.longest_min)}" if found.longest_min is not None else ""
        yield f"  melted and strained in {units.plural(found.passes, 'pass', 'passes')}{hottest}{longest}"
    yield from (f"  {figure(m, units)}" for m in found.measured)
    if found.ratio is not None:
        yield f"  ratio of ester to acid value: {units.number(found.ratio, 2)}"
    if any(m.outside for m in found.measured):
        yield f"  {NO_VERDICT}"


def figure(measured: Measured, units: Units) -> str:
    """``acid value 22.7: outside the range of the European Pharmacopoeia, Cera flava (17 to 22)``."""
    told = value(measured.name, measured.value, units)
    if measured.low is None or measured.high is None:
        return f"{NAMES[measured.name]} {told}: no range is published here"
    span = f"{value(measured.name, measured.low, units)} to {value(measured.name, measured.high, units)}"
    return f"{NAMES[measured.name]} {told}: {'outside' if measured.outside else 'within'} the range of {measured.source} ({span})"


def value(name: str, number: float, units: Units) -> str:
    """A figure with as many decimals as it is published with at most."""
    if name == "melting_point":
        return units.temperature(number, 1)
    return units.number(number, 3).rstrip("0").rstrip(".")


METHOD = (
    "White blocks are held to the figures published for white wax, all others to those for yellow wax; what a pharmacopoeia "
    f"leaves open is taken from the food additive's specification. {NO_VERDICT} The melts are those of the block's own session."
)


def sentence(blocks: Sequence[Quality]) -> str:
    """What was measured of the blocks, in one sentence."""
    out = [visible(q.block) for q in blocks if any(m.outside for m in q.measured)]
    several = "blocks were" if len(blocks) != 1 else "block was"
    if not out:
        return f"{len(blocks)} {several} measured; every figure lies within its published range."
    return f"{len(blocks)} {several} measured; a figure of {listed(out)} lies outside its published range. {NO_VERDICT}"
