"""The sentences on seasons, comb and passes: a form for better, worse, the same, and too little to tell.

Shares are fractions, masses g. What is called the same, and what lies within normal variation, has one threshold here.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pipeline.analyses.season_change_parts import Split
from pipeline.analyses.season_slope import FittedLine
from pipeline.analyses.seasons_at_fixed_mix import Change, Seasons
from pipeline.wording.amounts import PAGE, Units
from pipeline.wording.visible_text import capital, listed, missing, visible

SAME = 0.005
"""Half a point of yield: less than this is called the same (a judgement; sessions differ by far more)."""
NORMAL = "normal variation"
"""How sessions of one kind differ from each other by themselves."""
FEW_SEASONS = 5
"""Up to so many seasons, a test that finds no direction cannot be expected to find one."""


NO_CLAIM = "Nothing changed beyond what sessions and passes differ by themselves."


@dataclass(frozen=True, slots=True)
class SeasonFigures:
    """A season's comb and wax (g), its yield and standard uncertainty (shares), and its flags."""

    season: str
    loaded_g: float
    wax_g: float
    value: float | None
    u: float | None = None
    flags: tuple[str, ...] = ()


def season(now: SeasonFigures | None, before: SeasonFigures | None, change: Change | None, units: Units) -> str:
    """What the season gave, against the one before it, and whether comb or rendering made the difference."""
    if now is None:
        return "Nothing has been rendered yet: record a session (what was loaded, each pass, the blocks) to begin."
    if missing(now.value):
        return (
            f"Season {now.season} has {units.mass(now.wax_g)} of wax, but the comb it came from was not weighed: "
            "weigh the comb or what goes into the first melt, and its yield can be told."
        )
    gave = (
        f"The {units.mass(now.loaded_g)} of comb rendered in season {now.season} gave {units.mass(now.wax_g)} of wax, "
        f"{units.share(now.value)}{_not_cast(now)}"
    )
    if before is None or missing(before.value):
        return f"{gave}; there is no earlier season to compare it with."
    against = _against(float(now.value or 0) - float(before.value or 0), before.season, units)
    return f"{gave}, {against}{_because(change, units)}."


def _not_cast(now: SeasonFigures) -> str:
    return " with the wax set aside at full weight" if "set_aside" in now.flags else ""


def _against(difference: float, season_before: str, units: Units) -> str:
    if abs(difference) < SAME:
        return f"about the same as in {season_before}"
    return f"{units.points(abs(difference))} points {'more' if difference > 0 else 'less'} than {season_before}"


def _because(change: Change | None, units: Units) -> str:
    return "" if change is None else f"; {_comb(change.split, units)}, {rendering(change, units)}"


def _comb(split: Split, units: Units) -> str:
    if abs(split.mix) < SAME:
        return "the comb was much the same"
    return f"{'richer' if split.mix > 0 else 'poorer'} comb makes {units.points(split.mix, signed=True)}"


def rendering(change: Change, units: Units) -> str:
    """What the rendering itself did to the yield, and whether that is more than normal variation."""
    if abs(change.rate) < SAME:
        return "the rendering itself made no difference"
    beyond = {
        None: f"too few sessions to say whether that is {NORMAL}", True: f"within {NORMAL}",
        False: f"not clearly more than {NORMAL}",
    }[change.inside_scatter] if not change.claimed else f"more than {NORMAL}"  # fmt: skip
    return f"the rendering itself makes {units.points(change.rate, signed=True)}, {beyond}"


def change(one: Change, units: Units) -> str:
    """A change from one season to another: how much, what of it came with the comb, what with the rendering."""
    if abs(one.total) < SAME:
        start = f"the yield of {one.after} is about that of {one.before}"
    else:
        start = f"{units.points(abs(one.total))} points {'gained' if one.total > 0 else 'lost'} from {one.before} to {one.after}"
    return f"{start}: {_most_moved(one.split, units)}, {rendering(one, units)}"


def _most_moved(split: Split, units: Units) -> str:
    """The kind of comb that moved the yield most, in words."""
    same_way = [k for k in split.kinds if k.mix * split.mix > 0]
    if abs(split.mix) < SAME or not same_way:
        return _comb(split, units)
    most = max(same_way, key=lambda k: abs(k.mix))
    kind = {"mixed": "mixed comb", None: "comb of a kind not logged"}.get(most.comb, visible(most.comb))
    way = "more" if most.share_to > most.share_from else "less"
    return f"other comb ({way} {kind}) makes {units.points(split.mix, signed=True)}"


def verdict(trend: Seasons, units: Units) -> str:
    """The last change, the change over all seasons, and whether they rise or fall at a fixed mix of comb."""
    if not trend.changes:
        rendered = any(r.yield_share is not None or r.yield_fixed_mix is not None for r in trend.rows)
        return "One season is no trend yet." if rendered else "No comb has been rendered yet."
    told = [capital(change(trend.changes[-1], units)) + "."]
    if trend.whole is not None:
        told.append(f"Over all seasons: {change(trend.whole, units)}.")
    if trend.slope is not None:
        told.append(f"{capital(direction(trend.slope, len(trend.rows), units, 'slope' in trend.claims))}.")
    return " ".join(told)


def direction(line: FittedLine, seasons: int, units: Units, claimed: bool = False) -> str:
    """Whether the trend claims that seasons rise or fall at the same mix of comb, as far as so many seasons can tell."""
    pace = f"at the same mix of comb yields moved by {units.points(line.per_season, signed=True)} points a season"
    if claimed:
        return f"{pace}, a clear direction"
    if line.p is None or seasons <= FEW_SEASONS:
        return f"{pace}, but {_spelled(seasons)} seasons cannot tell a direction"
    return f"{pace}, no clear direction"


def _spelled(n: int) -> str:
    return {3: "three", 4: "four", 5: "five"}.get(n, str(n))


def by_methods(part: float) -> bool:
    """Whether other methods moved a season's yield enough to be said: two times what is called the same."""
    return abs(part) >= 2 * SAME


def methods(season: str, rate: float, part: float, units: Units) -> str:
    """What other methods have to do with a season's rendering (rate and part as shares)."""
    did = "gave" if part > 0 else "took"
    if part * rate > 0 and abs(part) <= abs(rate) + SAME:
        whole = f" of the {units.points(abs(rate))} points that the rendering {'gained' if rate > 0 else 'lost'}"
        return f"Into {season}, other methods {did} {units.points(abs(part))}{whole}."
    return f"Into {season}, other methods {did} {units.points(abs(part))} points."


def seasons(rows: Sequence[SeasonFigures], line: FittedLine | None, units: Units, claimed: bool = False) -> str:
    """How the seasons run: how many there are, the best, and whether they rise or fall at a fixed mix of comb."""
    known = [r for r in rows if not missing(r.value)]
    if not known:
        return "No season has a yield yet: weigh what goes in and what comes out."
    if len(known) == 1:
        return "One season is recorded: a second one makes the first comparison."
    best = max(known, key=lambda r: float(r.value or 0))
    start = f"Of {units.plural(len(known), 'season')}, {best.season} gave most for its comb ({units.share(best.value)})"
    if line is None or len(known) < 3:
        return f"{start}; three seasons are the fewest that can show a direction."
    return f"{start}; {direction(line, len(known), units, claimed)}."


def borrowed(rows: Sequence[tuple[str, Sequence[str | None]]]) -> str:
    """Which kinds a season did not render, so that their yield of all other seasons was taken: (season, kinds)."""
    told = [f"{season} {listed([visible(k or 'comb not logged') for k in kinds])}" for season, kinds in rows if kinds]
    start = "For the same comb every season, yields were borrowed from the other seasons: "
    return f"{start}{'; '.join(told)}." if told else ""


def combs(rows: Sequence[tuple[str, float, float | None, float | None]], units: Units = PAGE) -> str:
    """Which kind of comb gave most and which lies under its usual range: (kind, yield, usual low, usual high)."""
    if not rows:
        return "No yield by kind of comb yet: name the comb of each harvest and load harvests into sessions."
    best = max(rows, key=lambda r: r[1])
    start = f"{capital(best[0])} gave {'most: ' if len(rows) > 1 else ''}{units.share(best[1])} of its weight"
    start += " as wax"
    under = [kind for kind, value, low, _ in rows if low is not None and value < low]
    over = [kind for kind, value, _, high in rows if high is not None and value > high]
    odd = [f"{listed(k)} came {way} the range known for the kind" for k, way in ((under, "under"), (over, "over")) if k]
    usual = any(low is not None or high is not None for _, _, low, high in rows)
    fits = [
        "that fits the range known for the kind"
        if len(rows) == 1
        else "every kind fits its known range, where it has one"
    ]
    return f"{'; '.join([start, *(odd or fits * usual)])}."


def losses(
    refining: Sequence[tuple[str, float, float]],
    worst: tuple[str, float] | None,
    units: Units = PAGE,
    claimed: bool = False,
) -> str:
    """What refining loses: (season, in g, lost g) in order; the kind of pass that loses most; whether a change is claimed.

    The earlier seasons together are a ratio of sums.
    """
    known = [(name, in_g, lost_g) for name, in_g, lost_g in refining if in_g > 0]
    if not known:
        return "No refining pass is recorded: weigh the wax in and out of a second melt to see what it costs."
    now_season, now = known[-1][0], known[-1][2] / known[-1][1]
    if now < 0:
        more = units.share(-now)
        return (
            f"Refining of season {now_season} gave {more} more wax than went in: no pass can, so look at its weights."
        )
    start = f"Refining lost {units.share(now)} of the wax it was given in season {now_season}"
    if len(known) > 1:
        before = sum(r[2] for r in known[:-1]) / sum(r[1] for r in known[:-1])
        start += _than(now - before, units) if claimed else ", which fits earlier seasons"
    return f"{start}; {worst[0]} loses most ({units.share(worst[1])})." if worst else f"{start}."


def _than(difference: float, units: Units) -> str:
    return f", {units.points(abs(difference))} points {'more' if difference > 0 else 'less'} than in earlier seasons"


def control(claims: Sequence[str], beyond: int, watched: int, units: Units = PAGE) -> str:
    """What the control charts say: the passes that are claimed, or that those outside their limits fit chance."""
    if not watched:
        return "No kind of pass has six weighed passes yet, the fewest from which limits can be drawn."
    if claims:
        return " ".join(claims)
    kinds = f"{units.plural(watched, 'kind')} of pass watched"
    if beyond:
        passes = units.plural(beyond, "pass", "passes")
        return f"{capital(passes)} outside the limits, no more than chance makes among so many ({kinds})."
    return f"All passes stayed within {NORMAL} ({kinds})."


def attention(errors: int, warnings: int, notes: int) -> str:
    """How much there is to look at in the records."""
    if not errors + warnings + notes:
        return "The checks of every row found no problems."
    parts = [PAGE.plural(n, w) for n, w in ((errors, "error"), (warnings, "warning"), (notes, "note")) if n]
    start = capital(listed(parts))
    if errors:
        return f"{start}: rows with errors are in no figure until they are corrected."
    if warnings:
        return f"{start}: look at the rows below; the figures use them as they stand."
    return f"{start}, nothing that changes a figure."


def latest_passes(n: int, units: Units = PAGE) -> str:
    """Which passes of a big book the page asks the rules of."""
    return (
        f"Limits come from all passes; the rules are asked of the latest {units.number(n)} of each kind, "
        "by combtally trend of all."
    )


def sentence(text: str) -> str:
    """A remark of an analysis as a sentence: with a capital and a full stop."""
    return capital(text) + ("" if text[-1:] in ".?!" else ".")


def latest(session: str, day: str, loaded: str, value: float | None, units: Units = PAGE) -> str:
    """What the latest session gave."""
    start = f"The latest session, {session} on {day}, was loaded with {loaded}"
    return f"{start}; it has no yield of its own." if value is None else f"{start} and yielded {units.share(value)}."
