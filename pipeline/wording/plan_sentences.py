"""The sentences on what is to come: how many candles, whether the plan is covered, how forecasts did."""

from __future__ import annotations

from pipeline.wording.amounts import THIN, Units, count, number, plural, share


def capacity(first: tuple[str, int, int, int] | None) -> str:
    """How many candles: the kind most often planned, or the first (name, now, low, high)."""
    if first is None:
        return "No kind of candle has a size and a recipe yet: record a candle and its blend to see how many the wax makes."
    name, now, low, high = first
    start = f"Made into {name} alone, the wax on hand gives {count(now)}"
    if high <= now:
        return f"{start}; no comb waits that would add to it."
    return f"{start}; with the comb that waits, between {count(low)} and {count(high)} (four times in five)."


def plan(known: int, covered: int, unknown: int, short: tuple[str, str] | None, chance_all: float | None) -> str:
    """Whether the planned batches are covered, and if not the first day short and by how much.

    ``unknown`` batches are of candles whose wax cannot be worked out; ``chance_all`` None where no comb waits.
    """
    if not known + unknown:
        return "No batch is planned from today on: record planned batches to see whether the wax covers them."
    open_end = (
        f"{plural(unknown, 'planned batch', 'planned batches')} of a candle without size or recipe cannot be told"
    )
    if not known:
        return f"{open_end}."
    rest = f"; {open_end}" if unknown else ""
    if covered == known:
        return f"The wax on hand covers {_all(known)}{rest}."
    start = f"The wax on hand covers {count(covered) if covered else 'none'} of {_planned(known)}"
    if known == 1:
        start = "The wax on hand does not cover the one planned batch"
    if short:
        start += f"; it {'runs' if known == 1 else 'first runs'} short on {short[0]}, by {short[1]}"
    waits = "" if chance_all is None or unknown else f". {_chance(chance_all, known)}"
    return f"{start}{rest}{waits}."


def _planned(batches: int) -> str:
    return plural(batches, "planned batch", "planned batches")


def _all(batches: int) -> str:
    return "the one planned batch" if batches == 1 else f"all {_planned(batches)}"


def _chance(chance: float, batches: int) -> str:
    told = "under 1" if chance < 0.005 else "over 99" if chance > 0.995 else number(100 * chance)
    return f"With the comb that waits the chance for {'it' if batches == 1 else 'all of them'} is {told}{THIN}%"


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
    if n == 1:
        start = f"The one session that could be forecast came out {'inside' if inside else 'outside'} the {share(level, 0)} range"
    if n < 10:
        return f"{start}; fewer than ten are too few to judge."
    true = low is not None and high is not None and low <= level <= high
    verdict = "as it should be" if true else "fewer than it promises" if inside / n < level else "more than it promises"
    return f"{start}, {verdict}."
