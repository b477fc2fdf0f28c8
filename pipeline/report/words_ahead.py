"""The sentences on what is to come: how many candles, whether the plan is covered, how forecasts did."""

from __future__ import annotations

from pipeline.report.amounts import Units, count, plural, share


def capacity(first: tuple[str, int, int, int] | None) -> str:
    """How many candles: the kind most often planned, or the first (name, now, low, high)."""
    if first is None:
        return "No kind of candle has a size and a recipe yet: record a candle and its blend to see how many the wax makes."
    name, now, low, high = first
    start = f"Made into {name} alone, the wax on hand gives {count(now)}"
    if high <= now:
        return f"{start}; no comb waits that would add to it."
    return f"{start}; with the comb that waits, between {count(low)} and {count(high)} (four times in five)."


def plan(batches: int, covered: int, short_on: str | None, short: str, chance_all: float | None) -> str:
    """Whether the planned batches are covered, and if not the first day short and by how much."""
    if not batches:
        return "No batch is planned from today on: record planned batches to see whether the wax covers them."
    if covered == batches:
        return f"The wax on hand covers all {plural(batches, 'planned batch', 'planned batches')}."
    start = f"The wax on hand covers {count(covered)} of {plural(batches, 'planned batch', 'planned batches')}"
    if short_on:
        start += f"; it first runs short on {short_on}, by {short}"
    chance = (
        "" if chance_all is None else f". With the comb that waits the chance for all of them is {share(chance_all, 0)}"
    )
    return f"{start}{chance}."


def at_once(wax_g: float, day: str, units: Units) -> str:
    """What the step at the fan's beginning is: wax that waits without a day on which it will be there."""
    return (
        f"The step up on {day} is about {units.about(wax_g)} of wax that nobody has given a day: wax set aside, and comb "
        "without wax_expected. It is counted as if it were there at once."
    )


def backtest(n: int, inside: int, level: float, low: float | None, high: float | None) -> str:
    """How past forecasts did."""
    if not n:
        return "No session could be forecast from earlier ones yet."
    start = f"Of {plural(n, 'session')} forecast from those before them, {count(inside)} came out inside the "
    start += f"{share(level, 0)} range"
    if n < 10:
        return f"{start}; fewer than ten are too few to judge."
    true = low is not None and high is not None and low <= level <= high
    verdict = "as it should be" if true else "fewer than it promises" if inside / n < level else "more than it promises"
    return f"{start}, {verdict}."
